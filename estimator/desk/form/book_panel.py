"""The price book as a table: edit, filter, add, remove, import and export."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from estimator.acts.typed import Path
from estimator.desk.doing.exchange import Exchange
from estimator.desk.form.fields import FieldEditor
from estimator.desk.form.rows import RowsEditor
from estimator.desk.session import Session
from estimator.model.pricebook import PriceBook, PriceEntry
from estimator.model.spec import fields_of
from estimator.pricing.book_changes import changed_since, stale_findings
from estimator.units import UnitSystem

__all__ = ["BookPanel"]


class BookPanel(QWidget):
    """Table and form of the price book.

    Args:
        session: the open job.
        exchange: import, export, change of a group, prices held by the job.
    """

    def __init__(self, session: Session, exchange: Exchange) -> None:
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
            ("Import…", exchange.import_book, "From CSV or XLSX; shows first what would change."),
            ("Export…", exchange.export_book, "Write the price book as CSV or XLSX."),
            (
                "Percent…",
                exchange.change_group,
                "Change a group by a percentage; shows first what would change.",
            ),
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
        row = QHBoxLayout()
        row.setSpacing(6)
        self.held = QLabel(self)
        self.held.setObjectName("faint")
        self.held.setWordWrap(True)
        self.held.setTextFormat(Qt.TextFormat.PlainText)
        self.held.setAccessibleName("Prices of this job")
        row.addWidget(self.held, 1)
        self.hold = QPushButton("Hold these prices", self)
        self.hold.setToolTip("The job keeps the prices it uses, whatever the price book becomes.")
        self.hold.clicked.connect(lambda _=False: exchange.hold())
        self.fresh = QPushButton("Take new prices…", self)
        self.fresh.setToolTip("Shows the held prices that changed since, and takes them.")
        self.fresh.clicked.connect(lambda _=False: exchange.take_new())
        for button in (self.hold, self.fresh):
            button.setAutoDefault(False)
            button.setAccessibleDescription(button.toolTip())
            row.addWidget(button)
        column.addLayout(row)

    def refresh(self, system: UnitSystem) -> None:
        """Show what holds."""
        self.currency.refresh(system)
        self.rows.refresh(system)
        used = {r.takeoff.code for r in self._session.study.price.rows}
        count = len(self._session.book.entries)
        job, price = self._session.job, self._session.study.price
        old = " ".join(f.message for f in stale_findings(price, job.terms, self._session.today()))
        self.state.setText(f"{count} entries, {len(used)} parts used by this job")
        self.state.setToolTip(old)
        if old:
            self.state.setText(f"{self.state.text()} · ▲ some of them old or undated")
        self.fresh.setEnabled(False)
        if job.prices is None:
            self.held.setText("This job follows the price book.")
            return
        changed = changed_since(job, self._session.book)
        words = f"This job holds {len(job.prices.entries)} prices of {job.prices.taken.isoformat()}"
        codes = ", ".join(c.code for c in changed[:4]) + (", …" if len(changed) > 4 else "")
        self.held.setText(f"{words}; {len(changed)} changed since: {codes}." if changed else f"{words}.")
        self.fresh.setEnabled(bool(changed))

    def editor_at(self, path: Path) -> FieldEditor | None:
        """The editor at a path of the entries, or of the currency."""
        return self.currency if path == ("currency",) else self.rows.editor_at(path)
