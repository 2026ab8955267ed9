"""The price book as a table: edit, filter, add, remove, import and export."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtGui import QAction
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from estimator.acts.typed import Path
from estimator.desk.form.fields import FieldEditor
from estimator.desk.form.form import Form
from estimator.desk.form.inputs import button_of
from estimator.desk.form.rows import RowsEditor
from estimator.desk.plain import Label, tip
from estimator.desk.session import Session
from estimator.model.pricebook import PriceBook, PriceEntry
from estimator.model.spec import fields_of
from estimator.pricing.book_changes import changed_since, stale_findings
from estimator.shown.figures import figures_of
from estimator.shown.findings import sentences_of_job
from estimator.units import UnitSystem

__all__ = ["BookPanel"]


class BookPanel(QWidget):
    """Table and form of the price book.

    Args:
        session: the open job.
        acts: what is done with the prices as a whole, for buttons above the table.
        held: what is done with the prices that the job holds, for buttons below.

    Attributes:
        buttons: by the names of their actions.
    """

    def __init__(self, session: Session, acts: Sequence[QAction], held: Sequence[QAction]) -> None:
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
        self.buttons = {action.objectName(): button_of(action, self) for action in (*acts, *held)}
        for action in acts:
            row.addWidget(self.buttons[action.objectName()])
        column.addLayout(row)
        column.addWidget(self.currency.error)
        self.rows = RowsEditor(session.book_holder, PriceEntry, "Price book", form=Form, with_filter=True)
        self.rows.bind(("entries",))
        self.rows.said.connect(session.said)
        column.addWidget(self.rows, 1)
        self.state = Label("", self)
        self.state.setObjectName("faint")
        column.addWidget(self.state)
        row = QHBoxLayout()
        row.setSpacing(6)
        self.held = Label("", self)
        self.held.setObjectName("faint")
        self.held.setWordWrap(True)
        self.held.setAccessibleName("Prices of this job")
        row.addWidget(self.held, 1)
        for action in held:
            row.addWidget(self.buttons[action.objectName()])
        column.addLayout(row)

    def refresh(self, system: UnitSystem) -> None:
        """Show what holds."""
        self.currency.refresh(system)
        self.rows.refresh(system)
        session, job = self._session, self._session.job
        count, known = len(session.book.entries), session.known
        if known is None:
            self.state.setText(f"{count} entries, parts used by this job: {session.meanwhile}")
            self.state.setToolTip("")
        else:
            used = {r.takeoff.code for r in known.price.rows}
            stale = stale_findings(known.price, job.terms, session.today())
            old = " ".join(map(sentences_of_job(job).installer, stale))
            aged = " · ▲ some of them old or undated" if old else ""
            self.state.setText(f"{count} entries, {len(used)} parts used by this job{aged}")
            self.state.setToolTip(tip(old))
        if job.prices is None:
            self.held.setText("This job follows the price book.")
            return
        changed = changed_since(job, self._session.book)
        words = f"This job holds {len(job.prices.entries)} prices of {figures_of(job).day(job.prices.taken)}"
        codes = ", ".join(c.code for c in changed[:4]) + (", …" if len(changed) > 4 else "")
        self.held.setText(f"{words}; {len(changed)} changed since: {codes}." if changed else f"{words}.")

    def editor_at(self, path: Path) -> FieldEditor | None:
        """The editor at a path of the entries, or of the currency."""
        return self.currency if path == ("currency",) else self.rows.editor_at(path)
