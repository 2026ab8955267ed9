"""Acts on prices: import, export, change of a group, holding prices and taking new ones."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from estimator.acts.prices import held, released, renewed
from estimator.desk.doing.exchange_dialog import BulkDialog, ChangesDialog, ImportDialog, Outcome
from estimator.desk.doing.questions import Dialogs
from estimator.desk.session import Session
from estimator.locales import day_text
from estimator.model.edit import EditError
from estimator.model.pricebook import PriceBook
from estimator.pricing.book_changes import (
    BookChangeError,
    EntryChange,
    bulk_change,
    changed_since,
    entry_changes,
)
from estimator.store.book_exchange import ImportMode, ImportPreview, export_book, preview_import
from estimator.store.pricebooks import PriceBookError

__all__ = ["Exchange"]

_READ = "Price books (*.csv *.xlsx);;All files (*)"
_WRITE = "CSV (*.csv);;XLSX (*.xlsx)"


class Exchange(QObject):
    """What is done with prices as a whole. A dialog shows first what would change; taking it is one act.

    Attributes:
        dialog: the dialog that is open, None if there is none.
    """

    def __init__(self, session: Session, dialogs: Dialogs, parent: QWidget) -> None:
        super().__init__(parent)
        self._parent, self._session, self._dialogs = parent, session, dialogs
        self.dialog: ChangesDialog | None = None
        self._name = ""

    def import_book(self) -> None:
        """A preview of a CSV or XLSX file; nothing changes before it is taken over."""
        path = self._dialogs.open_file("Import a price book", _READ)
        if path is None:
            return
        book = self._session.book

        def look(mode: ImportMode) -> ImportPreview:
            return preview_import(path, book, mode)

        try:
            look(ImportMode.REPLACE)
        except PriceBookError as error:
            self._dialogs.tell("This price book cannot be used", [f.message for f in error.findings])
            return
        self._open(ImportDialog(look, path.name, self._parent), f"Import price book {path.name}")

    def export_book(self) -> None:
        """Write the price book for a spreadsheet, CSV or XLSX by the ending."""
        path = self._dialogs.where_to("Export the price book", _WRITE, Path("price-book.csv"))
        if path is None:
            return
        try:
            export_book(path, self._session.book)
        except PriceBookError as error:
            self._dialogs.tell("The price book was not written", [f.message for f in error.findings])
            return
        self._session.said.emit(f"Wrote {path.name}.")

    def change_group(self) -> None:
        """A change of a group by a percentage, with its preview."""
        book = self._session.book

        def work(percent: Decimal, group: str | None) -> tuple[PriceBook, tuple[EntryChange, ...]]:
            new = bulk_change(book, percent, self._session.today(), group)
            return new, entry_changes(book.entries, new.entries)

        groups = sorted({entry.group for entry in book.entries if entry.group})
        self._open(BulkDialog(groups, work, self._parent), "")

    def _open(self, dialog: ChangesDialog, name: str) -> None:
        self.dialog, self._name = dialog, name
        dialog.finished.connect(self._closed)
        dialog.open()

    def _closed(self, result: int) -> None:
        dialog, self.dialog = self.dialog, None
        if dialog is None:
            return
        outcome = dialog.outcome
        if result and outcome.book is not None:
            name = self._name
            if isinstance(dialog, BulkDialog):
                name = f"Prices of {dialog.group.currentText().lower()}: {dialog.percent.text().strip()} %"
            self._session.book_holder.forget(())
            self._session.act(name, book=outcome.book)
            self._session.said.emit(f"{name}: {len(outcome.changes)} entries changed. Undo brings them back.")
        else:
            self._session.said.emit("The price book is as it was.")
        dialog.deleteLater()

    def meet(self, book: PriceBook) -> None:
        """What others changed in the price book's file, row by row; taking it is one act.

        Args:
            book: what the file holds now.
        """
        if self.dialog is not None:
            return
        dialog = ChangesDialog("The price book was changed by others", "Take over", self._parent)
        told = (
            "A spreadsheet, a colleague or another window changed these. What you edit is in the file already.",
        )
        dialog.show_outcome(Outcome(book, entry_changes(self._session.book.entries, book.entries), told))
        self._open(dialog, "Take what others changed in the price book")

    # Prices of the job.

    def hold(self) -> None:
        """The job holds on to the prices that it and its options use."""
        session = self._session
        new = held(session.whole, session.whole_study()(), session.book)
        if new is session.whole:
            session.said.emit("The job holds all prices that it uses already.")
            return
        session.act_whole("Hold these prices", new)
        number = len(new.prices.entries) if new.prices is not None else 0
        session.said.emit(f"{number} prices are held: the price book no longer changes them.")

    def release(self) -> None:
        """The price book's prices hold again."""
        session = self._session
        if session.whole.prices is None:
            session.said.emit("The job holds no prices; those of the price book hold.")
            return
        try:
            session.act_whole("Let go of held prices", released(session.whole))
        except EditError as error:
            session.said.emit(str(error))

    def has_new(self) -> bool:
        """Whether prices that the job holds changed since."""
        return bool(changed_since(self._session.whole, self._session.book))

    def take_new(self) -> None:
        """A list of held prices that changed since; taking it is one act."""
        session = self._session
        changes = changed_since(session.whole, session.book)
        if not changes:
            words = "No price changed since." if session.whole.prices else "The job holds no prices."
            session.said.emit(words)
            return
        try:
            renewed(session.whole, session.book, session.today())
        except BookChangeError as error:
            self._dialogs.tell("New prices cannot be taken", [f.message for f in error.findings])
            return
        prices = session.whole.prices
        dialog = ChangesDialog("Take new prices", "Take new prices", self._parent)
        locale = session.whole.terms.locale
        since = (
            f"Changed in the price book since {day_text(prices.taken, locale)}." if prices is not None else ""
        )
        dialog.show_outcome(Outcome(session.book, changes, (since,)))
        self.dialog = dialog
        dialog.finished.connect(self._new_taken)
        dialog.open()

    def _new_taken(self, result: int) -> None:
        dialog, self.dialog = self.dialog, None
        session = self._session
        if dialog is not None:
            if result:
                taken = renewed(session.whole, session.book, session.today())
                session.act_whole("Take new prices", taken)
                session.said.emit(
                    f"{len(dialog.outcome.changes)} prices are new. Undo brings the held ones back."
                )
            else:
                session.said.emit("The job keeps its prices.")
            dialog.deleteLater()
