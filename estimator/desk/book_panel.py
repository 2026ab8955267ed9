"""The price book as a table: edit, filter, add, remove, import and export."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from estimator.desk.fields import FieldEditor
from estimator.desk.holder import Path
from estimator.desk.rows import RowsEditor
from estimator.desk.session import Session
from estimator.model.pricebook import PriceBook, PriceEntry
from estimator.model.spec import fields_of
from estimator.units import UnitSystem

__all__ = ["BookPanel"]


class BookPanel(QWidget):
    """Table and form of the price book.

    Args:
        take: reads a price book from a file the person picks.
        give: writes it to a file the person picks.
    """

    def __init__(self, session: Session, take: Callable[[], None], give: Callable[[], None]) -> None:
        super().__init__()
        self._session = session
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(6)
        row = QHBoxLayout()
        row.setSpacing(6)
        currency = next(f for f in fields_of(PriceBook) if f.name == "currency")
        self.currency = FieldEditor(session.book_holder, PriceBook, currency, self)
        self.currency.bind([()])
        self.currency.input.setMaximumWidth(80)
        row.addWidget(self.currency.label)
        row.addWidget(self.currency.box)
        row.addStretch(1)
        for text, action, help_text in (
            ("Import CSV…", take, "Replace the price book by a spreadsheet's; undo brings the old one back."),
            ("Export CSV…", give, "Write the price book for a spreadsheet."),
        ):
            button = QPushButton(text, self)
            button.setAutoDefault(False)
            button.setToolTip(help_text)
            button.setAccessibleDescription(help_text)
            button.clicked.connect(lambda _=False, do=action: do())
            row.addWidget(button)
        column.addLayout(row)
        column.addWidget(self.currency.error)
        self.rows = RowsEditor(session.book_holder, PriceEntry, "Price book", with_filter=True)
        self.rows.bind(("entries",))
        self.rows.said.connect(session.said)
        column.addWidget(self.rows, 1)
        self.state = QLabel(self)
        self.state.setObjectName("faint")
        self.state.setTextFormat(Qt.TextFormat.PlainText)
        column.addWidget(self.state)

    def refresh(self, system: UnitSystem) -> None:
        """Show what holds."""
        self.currency.refresh(system)
        self.rows.refresh(system)
        used = {r.takeoff.code for r in self._session.study.price.rows}
        count = len(self._session.book.entries)
        self.state.setText(f"{count} entries, {len(used)} parts used by this job")

    def editor_at(self, path: Path) -> FieldEditor | None:
        """The editor at a path of the entries, or of the currency."""
        return self.currency if path == ("currency",) else self.rows.editor_at(path)
