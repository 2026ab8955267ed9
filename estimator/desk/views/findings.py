"""What is missing or wrong, always in view; each entry leads to its field."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QLabel, QListView, QListWidget, QListWidgetItem, QVBoxLayout, QWidget

from estimator.desk.session import Session
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
        title = QLabel("What is missing or &wrong", self)
        title.setObjectName("paneTitle")
        self.list = QListWidget(self)
        self.list.setWordWrap(True)
        self.list.setTextElideMode(Qt.TextElideMode.ElideNone)
        self.list.setResizeMode(QListView.ResizeMode.Adjust)
        self.list.setAccessibleName("What is missing or wrong")
        self.list.setAccessibleDescription("Enter goes to the field of a finding.")
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.itemActivated.connect(self._go)
        self.list.setMinimumHeight(64)
        title.setBuddy(self.list)
        column.addWidget(title)
        column.addWidget(self.list, 1)

    def refresh(self, *, colours_changed: bool = False) -> None:
        """Show what holds."""
        findings = self._session.findings
        say = sentences_of(self._session.study)
        told = [say.installer(finding) for finding in findings]
        # A new name or another system of units leaves the findings as they are and changes their sentences.
        if (findings, told) == (self._shown, self._told) and not colours_changed:
            return
        self._shown, self._told = findings, told
        at = self.list.currentRow()
        self.list.clear()
        theme = current_theme()
        for finding, sentence in zip(findings, told, strict=True):
            word = finding.severity.value.capitalize()
            item = QListWidgetItem(f"{MARKS[finding.severity]} {word}: {sentence}")
            item.setForeground(QColor(theme.of(finding.severity)))
            item.setData(Qt.ItemDataRole.UserRole, (finding.place, finding.option))
            more = [f"Source: {finding.source}."] if finding.source else []
            if finding.defer_to:
                more.append(f"Decided by: {finding.defer_to}.")
            item.setToolTip(" ".join(more))
            item.setData(Qt.ItemDataRole.AccessibleDescriptionRole, " ".join(more))
            self.list.addItem(item)
        if not findings:
            nothing = QListWidgetItem("✓ Nothing is missing or wrong.")
            nothing.setFlags(Qt.ItemFlag.ItemIsEnabled)
            self.list.addItem(nothing)
        self.list.setCurrentRow(min(max(at, 0), self.list.count() - 1))

    def _go(self, item: QListWidgetItem) -> None:
        there = item.data(Qt.ItemDataRole.UserRole)
        if isinstance(there, tuple | list):
            place, option = there
            self.wanted.emit(str(place), str(option))

    def show_severity(self, severity: Severity) -> None:
        """Put the keyboard on the first finding of a severity."""
        for row, finding in enumerate(self._shown or ()):
            if finding.severity is severity:
                self.list.setCurrentRow(row)
                self.list.scrollToItem(self.list.item(row))
                self.list.setFocus(Qt.FocusReason.OtherFocusReason)
                return
