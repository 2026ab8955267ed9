"""What is missing or wrong, always in view; each entry leads to its field."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from estimator.desk.plain import Label
from estimator.desk.session import Session
from estimator.desk.tables import Line, ReadTable, distinct
from estimator.desk.theme import MARKS, current_theme
from estimator.model.finding import Finding, Severity
from estimator.shown.findings import sentences_of

__all__ = ["FindingsView"]


class FindingsView(QWidget):
    """The list of findings.

    Signals:
        wanted: place of a finding to go to, and id of the option that it is of ("" where it is of what is seen).
    """

    wanted = Signal(str, str)

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._shown: tuple[Finding, ...] | None = None
        self._told: list[str] = []
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 4, 0, 0)
        column.setSpacing(4)
        title = Label("What is missing or &wrong", self)
        title.setObjectName("paneTitle")
        self.table = ReadTable(
            "What is missing or wrong",
            "Enter goes to the field of a finding.",
            ("Finding",),
            self,
            sentences=True,
            always=True,
        )
        self.table.setMinimumHeight(64)
        self.table.entered.connect(self._go)
        self._found: dict[str, Finding] = {}
        title.setBuddy(self.table)
        column.addWidget(title)
        column.addWidget(self.table, 1)

    def refresh(self, *, colours_changed: bool = False) -> None:
        """Show what holds."""
        findings = self._session.findings
        say = sentences_of(self._session.study)
        told = [say.installer(finding) for finding in findings]
        # A new name or another system of units leaves the findings as they are and changes their sentences.
        if (findings, told) == (self._shown, self._told) and not colours_changed:
            return
        self._shown, self._told = findings, told
        keys = distinct(f"{f.rule} {f.place} {f.option}" for f in findings)
        self._found = dict(zip(keys, findings, strict=True))
        lines = [self._line(*one) for one in zip(keys, findings, told, strict=True)]
        self.table.show_lines(lines or [Line("", ("✓ Nothing is missing or wrong.",))])

    @staticmethod
    def _line(key: str, finding: Finding, sentence: str) -> Line:
        more = [f"Source: {finding.source}."] if finding.source else []
        if finding.defer_to:
            more.append(f"Decided by: {finding.defer_to}.")
        text = f"{MARKS[finding.severity]} {finding.severity.value.capitalize()}: {sentence}"
        return Line(key, (text,), " ".join(more), current_theme().of(finding.severity))

    def _go(self, key: str) -> None:
        finding = self._found[key]
        self.wanted.emit(finding.place, finding.option)

    def show_severity(self, severity: Severity) -> None:
        """Put the keyboard on the first finding of a severity."""
        for key, finding in self._found.items():
            if finding.severity is severity:
                self.table.select(key)
                self.table.setFocus(Qt.FocusReason.OtherFocusReason)
                return
