"""Acts on prices: import, export, change of a group, holding prices and taking new ones."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import cast

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from estimator.acts.prices import held, released, renewed
from estimator.desk.doing.exchange_dialog import (
    BulkDialog,
    ChangesDialog,
    ExchangeOutcome,
    ImportDialog,
    Looks,
    first_words,
)
from estimator.desk.doing.papers import Papers
from estimator.desk.doing.questions import Dialogs
from estimator.desk.session import Session
from estimator.desk.work import DiskWork, Ending, Work
from estimator.going import Going
from estimator.locales import day_text
from estimator.model.edit import EditError
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook
from estimator.pricing.book_changes import (
    BookChangeError,
    EntryChange,
    bulk_change,
    changed_since,
    completed,
    entry_changes,
)
from estimator.store.book_exchange import ImportMode, export_book, preview_of, read_book
from estimator.store.pricebooks import PriceBookError, shipped_price_book

__all__ = ["Exchange"]

_READ = "Price books (*.csv *.xlsx);;All files (*)"
_WRITE = "CSV (*.csv);;XLSX (*.xlsx)"


class Exchange(QObject):
    """What is done with prices as a whole. A dialog shows first what would change; taking it is one act.

    Args:
        session: the open job.
        dialogs: asks the person.
        papers: write files in their turn.
        parent: what a dialog stands above.

    Attributes:
        dialog: the dialog that is open, None if there is none.
        reading, holding: what reads a price book, what looks which prices are used.
    """

    def __init__(self, session: Session, dialogs: Dialogs, papers: Papers, parent: QWidget) -> None:
        super().__init__(parent)
        self._parent, self._session, self._dialogs, self._papers = parent, session, dialogs, papers
        self.reading, self.holding = DiskWork(self), Work(self)
        self.reading.left.connect(lambda: session.said.emit("Left: the price book is as it was."))
        self.holding.left.connect(lambda: session.said.emit("Left: no prices are held that were not before."))
        self.dialog: ChangesDialog | None = None
        self._name = ""
        self._later: list[Callable[[], None]] = []

    @property
    def _locale(self) -> str:
        """By which the open job writes numbers and days."""
        return self._session.whole.terms.locale

    def end(self, ending: Ending) -> None:
        """Leave what is under way, until nothing is.

        Args:
            ending: how long what hangs is waited for.
        """
        self.reading.wait(ending.left_s)
        self.holding.wait()

    def import_book(self) -> None:
        """A preview of a CSV or XLSX file, read beside the window; nothing changes before it is taken over."""
        path = self._dialogs.open_file("Import a price book", _READ)
        if path is not None:
            self._session.said.emit(f"Reading {path.name} …")
            self._look(path.name, partial(read_book, path))

    def _look(self, name: str, read: Callable[[Going], PriceBook]) -> None:
        """Show what a book would change, when it is read.

        Args:
            name: of its file.
            read: gives it.
        """
        book = self._session.book

        def look(going: Going) -> tuple[PriceBook, Looks]:
            new, looks = read(going), {}
            for mode in ImportMode:
                going.check()
                looks[mode] = _outcome(new, name, book, mode)
            return new, looks

        def show(answer: object) -> None:
            new, looks = cast(tuple[PriceBook, Looks], answer)
            if self._session.book is not book:  # edited meanwhile: what was worked out is of the book before
                self._look(name, lambda _: new)
            else:
                self._open_next(
                    lambda: self._open(
                        ImportDialog(looks, name, self._parent, self._locale), f"Import price book {name}"
                    )
                )

        def fail(error: BaseException) -> None:
            self._dialogs.tell("This price book cannot be used", _sentences(error))

        self.reading.start(look, show, fail)

    def export_book(self) -> None:
        """Write the price book for a spreadsheet, CSV or XLSX by the ending, in its turn."""
        path = self._papers.where_to("Export the price book", Path("price-book.csv"), kinds=_WRITE)
        if path is None:
            return
        book = self._session.book

        def fail(error: BaseException) -> None:
            self._dialogs.tell("The price book was not written", _sentences(error))

        self._papers.start(
            lambda going: export_book(path, book, going),
            lambda _: self._session.said.emit(f"Wrote {path.name}."),
            fail,
            path,
        )

    def change_group(self) -> None:
        """A change of a group by a percentage, with its preview."""
        book = self._session.book

        def work(percent: Decimal, group: str | None) -> tuple[PriceBook, tuple[EntryChange, ...]]:
            new = bulk_change(book, percent, self._session.today(), group)
            return new, entry_changes(book.entries, new.entries)

        groups = sorted({entry.group for entry in book.entries if entry.group})
        self._open(BulkDialog(groups, work, self._parent, self._locale), "")

    def complete(self) -> None:
        """The shipped entries that the price book lacks; taking them is one act."""
        book = self._session.book
        try:
            new = completed(book, shipped_price_book())
        except BookChangeError as error:
            self._dialogs.tell("No parts can be added", _sentences(error))
            return
        if new is book:
            self._session.said.emit("The price book lacks nothing that the shipped one has.")
            return
        dialog = ChangesDialog("Add missing parts", "Add", self._parent, self._locale)
        told = ("Their figures are invented demo data, and say so; put in your own before you quote.",)
        dialog.show_outcome(ExchangeOutcome(new, entry_changes(book.entries, new.entries), told))
        self._open(dialog, "Add missing parts to the price book")

    def _open_next(self, show: Callable[[], None]) -> None:
        """Show a dialog, or as soon as the one that is open is closed."""
        if self.dialog is None:
            show()
        else:
            self._later.append(show)

    def _show_later(self) -> None:
        if self._later and self.dialog is None:
            self._later.pop(0)()

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
        self._show_later()

    def meet(self, book: PriceBook) -> None:
        """What others changed in the price book's file, row by row; taking it is one act.

        Args:
            book: what the file holds now.
        """
        self._open_next(lambda: self._show_others(book))

    def _show_others(self, book: PriceBook) -> None:
        dialog = ChangesDialog(
            "The price book was changed by others", "Take over", self._parent, self._locale
        )
        told = (
            "A spreadsheet, a colleague or another window changed these. What you edit is in the file already.",
        )
        dialog.show_outcome(
            ExchangeOutcome(book, entry_changes(self._session.book.entries, book.entries), told)
        )
        self._open(dialog, "Take what others changed in the price book")

    # Prices of the job.

    def hold(self) -> None:
        """The job holds on to the prices that it and its options use, when it is worked out which those are."""
        session = self._session
        whole, book, work_out = session.whole, session.book, session.whole_study()

        def work(going: Going) -> Job:
            going.check()
            return held(whole, work_out(going), book)

        def done(answer: object) -> None:
            assert isinstance(answer, Job)
            if (session.whole, session.book) != (whole, book):
                self.hold()  # changed meanwhile: the prices used may be others now
            elif answer is whole:
                session.said.emit("The job holds all prices that it uses already.")
            else:
                session.act_whole("Hold these prices", answer)
                number = len(answer.prices.entries) if answer.prices is not None else 0
                session.said.emit(f"{number} prices are held: the price book no longer changes them.")

        def fail(error: BaseException) -> None:
            self._dialogs.tell("No prices are held", _sentences(error))

        session.said.emit("Looking which prices are used …")
        self.holding.start(work, done, fail)

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
        dialog = ChangesDialog("Take new prices", "Take new prices", self._parent, self._locale)
        locale = session.whole.terms.locale
        since = (
            f"Changed in the price book since {day_text(prices.taken, locale)}." if prices is not None else ""
        )
        dialog.show_outcome(ExchangeOutcome(session.book, changes, (since,)))
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
            self._show_later()


def _sentences(error: BaseException) -> list[str]:
    if isinstance(error, PriceBookError | BookChangeError | EditError):
        return [f.message for f in error.findings]
    return [str(error) or type(error).__name__]


def _outcome(new: PriceBook, name: str, book: PriceBook, mode: ImportMode) -> ExchangeOutcome:
    try:
        found = preview_of(new, name, book, mode)
    except PriceBookError as error:
        return ExchangeOutcome(None, (), first_words(error.findings))
    told = first_words(found.warnings)
    if found.same:
        entries = "1 entry of the file is" if found.same == 1 else f"{found.same} entries of the file are"
        told = (*told, f"{entries} the same in the price book already.")
    return ExchangeOutcome(found.book, found.changes, told)
