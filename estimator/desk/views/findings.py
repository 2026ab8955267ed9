"""What is missing or wrong, always in view; each entry leads to its field."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from estimator.desk.plain import Label
from estimator.desk.session import Session
from estimator.desk.tables import Line, ReadTable, distinct
from estimator.desk.theme import MARKS, current_theme
from estimator.model.finding import Finding, Severity
from estimator.model.options import BASE
from estimator.shown.findings import sentences_of, sentences_of_job

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
        self._shown: object = None
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
        """Show what holds; of what is still worked out, that it is."""
        session = self._session
        if session.known is None:
            findings, say, more = session.kept_back, sentences_of_job(session.whole), session.meanwhile
            more = f"What is missing or wrong: {more}"
        else:
            findings, say = session.findings, sentences_of(session.listed, session.whole)
            more = self._missing_words()
        told = [say.installer(finding) for finding in findings]
        # A new name or another system of units leaves the findings as they are and changes their sentences.
        shown = (findings, told, more)
        if shown == self._shown and not colours_changed:
            return
        self._shown = shown
        keys = distinct(f"{f.rule} {f.place} {f.option}" for f in findings)
        self._found = dict(zip(keys, findings, strict=True))
        lines = [self._line(*one) for one in zip(keys, findings, told, strict=True)]
        if more:
            lines.append(Line("", (more,), colour=current_theme().faint))
        self.table.show_lines(lines or [Line("", ("✓ Nothing is missing or wrong.",))])

    def _missing_words(self) -> str:
        """That options on the quote are not in the list yet."""
        studies = self._session.studies
        missing = [option for option in studies.missing if option != BASE]
        offered = [a.id for a in self._session.whole.alternatives if a.offered and a.id in missing]
        if not offered:
            return ""
        number = "1 offered option" if len(offered) == 1 else f"{len(offered)} offered options"
        if studies.is_left:
            verb = "was" if len(offered) == 1 else "were"
            return f"▲ {number} {verb} not worked out: what is wrong there is not in this list."
        verb = "is" if len(offered) == 1 else "are"
        return f"… {number} {verb} still being worked out."

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
