"""The price book in and out, changed as a whole, held by a job: shown first, taken as one act, undone."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TypeVar

import pytest
from PySide6.QtWidgets import QApplication, QDialogButtonBox

from estimator.desk.doing.exchange_dialog import BulkDialog, ChangesDialog, ImportDialog
from estimator.desk.form.pages import BookPage
from estimator.going import Going
from estimator.model.pricebook import PriceBook
from estimator.pricing.book_changes import entry_changes
from estimator.store.book_exchange import export_book, read_book
from estimator.study import Study
from tests.desk.hands import Hands, room_of
from tests.desk.test_revisions import written

DAY = date(2027, 3, 1)
D = TypeVar("D", bound=ChangesDialog)


def opened(desk: Hands, kind: type[D]) -> D:
    """The dialog that is open."""
    dialog = desk.window.exchange.dialog
    assert isinstance(dialog, kind)
    return dialog


def import_book(desk: Hands) -> None:
    """Choose the command, and wait until the file is read."""
    exchange = desk.window.exchange
    exchange.import_book()
    desk.bot.waitUntil(lambda: not exchange.reading.is_busy, timeout=60_000)


def is_open(desk: Hands) -> bool:
    """Whether one is open."""
    return desk.window.exchange.dialog is not None


def dearer(book: PriceBook, codes: set[str]) -> PriceBook:
    """Some entries at another likely and high cost (invented figures)."""
    entries = tuple(
        e.model_copy(update={"likely": e.likely + 5, "high": e.high + 9}) if e.code in codes else e
        for e in book.entries
    )
    return book.model_copy(update={"entries": entries})


def test_the_choice_of_an_import_is_read_whole(desk: Hands, tmp_path: Path) -> None:
    """What happens to the entries that the file does not hold was cut off after its first words."""
    path = tmp_path / "new.csv"
    export_book(path, desk.window.session.book)
    desk.said.opens = path
    import_book(desk)
    mode = opened(desk, ImportDialog).mode
    QApplication.processEvents()
    for at in range(mode.count()):
        assert room_of(mode) >= mode.fontMetrics().horizontalAdvance(mode.itemText(at)), mode.itemText(at)


@pytest.mark.parametrize("ending", ["csv", "xlsx"])
def test_import_is_shown_row_by_row_first(desk: Hands, tmp_path: Path, ending: str) -> None:
    """Cancel leaves everything; take over makes just what was shown, as one act; export reads the same again."""
    window, session = desk.window, desk.window.session
    book = session.book
    codes = {e.code for e in book.entries[:3]}
    new = dearer(book, codes)
    path = tmp_path / f"new.{ending}"
    export_book(path, new.model_copy(update={"entries": new.entries[:3]}))
    desk.said.opens = path
    import_book(desk)
    dialog = opened(desk, ImportDialog)
    wanted = entry_changes(book.entries, new.entries)
    assert len(dialog.table.lines) == sum(len(c.cells) for c in wanted) == 6
    assert {line.cells[0].split(":")[0] for line in dialog.table.lines} == codes
    dialog.mode.setCurrentIndex(dialog.mode.findData("replace"))
    assert sum(line.cells[1] == "removed" for line in dialog.table.lines) == len(book.entries) - 3
    dialog.mode.setCurrentIndex(dialog.mode.findData("merge"))
    position = session.history.position
    desk.press(dialog.buttons.button(QDialogButtonBox.StandardButton.Cancel))
    assert not is_open(desk)
    assert session.book == book
    assert session.history.position == position
    import_book(desk)
    again = opened(desk, ImportDialog)
    desk.press(again.take)
    assert session.book == new
    assert session.history.position == position + 1
    desk.said.saves = tmp_path / f"out.{ending}"
    window.exchange.export_book()
    written(desk)
    assert read_book(tmp_path / f"out.{ending}") == new
    session.undo()
    assert session.book == book


@pytest.fixture
def reader(monkeypatch: pytest.MonkeyPatch) -> Iterator[Reader]:
    """The reading of price books, counted, and held up while its gate is closed."""
    made = Reader()
    monkeypatch.setattr("estimator.desk.doing.exchange.read_book", made)
    yield made
    made.gate.set()


class Reader:
    """Reads as the store does."""

    def __init__(self) -> None:
        self.gate = threading.Event()
        self.asks: list[Going] = []
        self.threads: list[threading.Thread] = []

    def __call__(self, path: Path, going: Going) -> PriceBook:
        self.asks.append(going)
        self.threads.append(threading.current_thread())
        while not self.gate.wait(0.01):
            going.check()
        return read_book(path, going)


def dearer_book(desk: Hands, tmp_path: Path) -> PriceBook:
    """A file with the first three entries dearer, which the dialog for opening will give."""
    book = desk.window.session.book
    new = dearer(book, {e.code for e in book.entries[:3]})
    desk.said.opens = tmp_path / "new.csv"
    export_book(desk.said.opens, new.model_copy(update={"entries": new.entries[:3]}))
    return new


def test_a_file_is_read_once_beside_the_window(desk: Hands, tmp_path: Path, reader: Reader) -> None:
    """It was read in the window's thread, three times; now there is progress, and both modes come of one reading."""
    window = desk.window
    dearer_book(desk, tmp_path)
    window.exchange.import_book()
    desk.bot.waitUntil(lambda: bool(reader.asks))
    assert (window.busy.isVisible(), window.busy.what.text()) == (True, "Reading a price book")
    assert not is_open(desk)
    reader.gate.set()
    desk.bot.waitUntil(lambda: is_open(desk), timeout=30_000)
    dialog = opened(desk, ImportDialog)
    (tmp_path / "new.csv").unlink()
    for mode in ("replace", "merge"):
        dialog.mode.setCurrentIndex(dialog.mode.findData(mode))
        assert dialog.take.isEnabled()
    assert len(reader.threads) == 1
    assert reader.threads[0] is not threading.main_thread()
    dialog.reject()


def test_reading_can_be_left_and_ends_with_the_window(desk: Hands, tmp_path: Path, reader: Reader) -> None:
    """Cancel: nothing opens, the book is as it was. Closing tells what reads that nobody waits for it."""
    window, book = desk.window, desk.window.session.book
    dearer_book(desk, tmp_path)
    window.exchange.import_book()
    desk.bot.waitUntil(lambda: bool(reader.asks))
    desk.press(window.busy.cancel)
    assert "as it was" in window.statusBar().currentMessage()
    reader.gate.set()
    desk.bot.waitUntil(lambda: not window.exchange.reading.is_busy, timeout=30_000)
    assert not is_open(desk)
    assert window.session.book == book
    reader.gate.clear()
    window.exchange.import_book()
    desk.bot.waitUntil(lambda: len(reader.asks) == 2)
    window.close()
    assert reader.asks[1].is_left
    assert not is_open(desk)


def test_what_is_edited_while_a_file_is_read_stays(desk: Hands, tmp_path: Path, reader: Reader) -> None:
    """The preview is against the book as it is when it is shown; the file is not read again for it."""
    window, session = desk.window, desk.window.session
    new = dearer_book(desk, tmp_path)
    window.exchange.import_book()
    desk.bot.waitUntil(lambda: bool(reader.asks))
    last = session.book.entries[-1].model_copy(update={"description": "Mine"})
    session.act("Mine", book=session.book.model_copy(update={"entries": (*session.book.entries[:-1], last)}))
    reader.gate.set()
    desk.bot.waitUntil(lambda: is_open(desk), timeout=30_000)
    desk.press(opened(desk, ImportDialog).take)
    assert session.book.entries == (*new.entries[:-1], last)
    assert len(reader.threads) == 1


def test_what_others_changed_is_shown_after_the_dialog_that_is_open(desk: Hands) -> None:
    """It was passed over while one was open, and never offered again."""
    window, book = desk.window, desk.window.session.book
    window.exchange.change_group()
    bulk = opened(desk, BulkDialog)
    theirs = dearer(book, {book.entries[0].code})
    window.files.book_outside.emit(theirs)
    assert opened(desk, BulkDialog) is bulk
    bulk.reject()
    desk.press(opened(desk, ChangesDialog).take)
    assert window.session.book == theirs


def test_holding_prices_is_worked_out_beside_the_window(desk: Hands, monkeypatch: pytest.MonkeyPatch) -> None:
    """A study of all options: seconds on a large job. An edit meanwhile is in what is held, as one act."""
    window, session = desk.window, desk.window.session
    session.today = lambda: DAY
    desk.quick()
    whole_study, gate, threads = session.whole_study, threading.Event(), list[threading.Thread]()

    def studied(going: Going) -> Study:
        threads.append(threading.current_thread())
        assert gate.wait(30)
        return whole_study()(going)

    monkeypatch.setattr(session, "whole_study", lambda: studied)
    window.exchange.hold()
    desk.bot.waitUntil(lambda: bool(threads))
    assert window.busy.what.text() == "Looking which prices are used"
    assert session.whole.model_dump()["prices"] is None
    desk.put(desk.editor("quote", "title"), "Edited meanwhile")
    gate.set()
    desk.bot.waitUntil(lambda: not window.exchange.holding.is_busy, timeout=60_000)
    assert threading.main_thread() not in threads
    assert session.whole.prices is not None
    assert session.whole.quote.title == "Edited meanwhile"
    assert session.history.undo_name == "Hold these prices"


def test_the_export_is_written_beside_the_window(
    desk: Hands, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In the row of the papers: closing waits for it."""
    threads: list[threading.Thread] = []

    def write(path: Path, book: PriceBook, going: Going) -> None:
        threads.append(threading.current_thread())
        export_book(path, book, going)

    monkeypatch.setattr("estimator.desk.doing.exchange.export_book", write)
    desk.said.saves = tmp_path / "out.xlsx"
    desk.window.exchange.export_book()
    assert desk.window.files.papers.queue.names == ("out.xlsx",)
    written(desk)
    assert read_book(tmp_path / "out.xlsx") == desk.window.session.book
    assert threading.main_thread() not in threads
    desk.said.saves = tmp_path / "no such folder" / "out.csv"
    desk.window.exchange.export_book()
    written(desk)
    assert desk.said.told[-1][0] == "The price book was not written"


def test_a_bad_sheet_opens_no_dialog(desk: Hands, tmp_path: Path) -> None:
    """Row and column are told, nothing is imported."""
    session = desk.window.session
    book = session.book
    export_book(tmp_path / "bad.csv", book)
    lines = (tmp_path / "bad.csv").read_text(encoding="utf-8").splitlines()
    (tmp_path / "bad.csv").write_text("\n".join([*lines, lines[-1]]) + "\n", encoding="utf-8")
    desk.said.opens = tmp_path / "bad.csv"
    import_book(desk)
    assert not is_open(desk)
    title, sentences = desk.said.told[-1]
    assert title == "This price book cannot be used"
    assert any(f"row {len(lines) + 1}" in s for s in sentences), sentences
    assert session.book == book


def test_a_group_changes_by_a_percentage(desk: Hands) -> None:
    """Only the group changes, low, likely and high alike; what is no number cannot be taken over."""
    window, session = desk.window, desk.window.session
    session.today = lambda: DAY
    book = session.book
    group = next(e.group for e in book.entries if e.group)
    window.exchange.change_group()
    dialog = opened(desk, BulkDialog)
    dialog.group.setCurrentIndex(dialog.group.findData(group))
    assert not dialog.take.isEnabled()
    desk.type(dialog.percent, "1e")
    assert not dialog.take.isEnabled()
    assert "no number" in dialog.told.text()
    dialog.percent.clear()
    desk.type(dialog.percent, "-100")
    assert not dialog.take.isEnabled()
    dialog.percent.clear()
    desk.type(dialog.percent, "10")
    desk.press(dialog.take)
    for old, new in zip(book.entries, session.book.entries, strict=True):
        if old.group == group:
            assert new.dated == DAY
            assert abs(new.likely - old.likely * Decimal("1.1")) <= Decimal("0.00005")
        else:
            assert new == old
    session.undo()
    assert session.book == book


def test_held_prices_stay_until_new_ones_are_taken(desk: Hands) -> None:
    """A newer price book leaves the price alone and is listed; taking the new ones is one act."""
    window, session = desk.window, desk.window.session
    session.today = lambda: DAY
    desk.quick()
    page = window.go_to_page("book")
    assert isinstance(page, BookPage)
    panel = page.panel
    desk.press(panel.buttons["book.hold"])
    desk.bot.waitUntil(lambda: not window.exchange.holding.is_busy, timeout=60_000)
    before = session.study.price
    assert session.whole.prices is not None
    used = sorted({r.takeoff.code for r in before.rows})[:2]
    book = session.book
    session.act("Newer book", book=dearer(book, set(used)))
    assert session.study.price == before
    assert "2 changed since" in panel.held.text()
    assert any(f.rule == "prices-changed" for f in session.findings)
    desk.press(panel.buttons["book.take-new"])
    dialog = opened(desk, ChangesDialog)
    assert {line.cells[0].split(":")[0] for line in dialog.table.lines} == set(used)
    desk.press(dialog.take)
    assert session.study.price.totals.total.likely > before.totals.total.likely
    assert not any(f.rule == "prices-changed" for f in session.findings)
    session.undo()
    assert session.study.price == before
    window.exchange.release()
    assert session.whole.model_dump()["prices"] is None
    assert session.study.price.totals.total.likely > before.totals.total.likely


def test_buying_shows_bought_against_needed(desk: Hands) -> None:
    """Every row of the study is there; never less is bought than needed."""
    desk.quick()
    window = desk.window
    desk.command("view.buying")
    assert window.buying.isVisible()
    bought = window.session.study.bought
    assert bought
    assert len(window.buying.table.lines) == len(bought)
    for row, line in zip(bought, window.buying.table.lines, strict=True):
        assert row.bought >= row.needed - 1e-9
        needed, got, over = (float(line.cells[i].split()[0]) for i in (1, 2, 4))
        assert got - needed == pytest.approx(over, abs=0.011)
    window.buying.table.select("0")
    assert bought[0].note in window.buying.cuts.text()


@pytest.mark.parametrize(
    ("same", "sentence"),
    [
        (0, ""),
        (1, "1 entry of the file is the same in the price book already."),
        (2, "2 entries of the file are the same in the price book already."),
    ],
)
def test_how_much_of_a_file_is_in_the_book_already(
    desk: Hands, tmp_path: Path, same: int, sentence: str
) -> None:
    """It read “0 entries of the file are in the price book just so.”"""
    book = desk.window.session.book
    three = book.model_copy(update={"entries": book.entries[:3]})
    others = {entry.code for entry in three.entries[same:]}
    desk.said.opens = tmp_path / "new.csv"
    export_book(desk.said.opens, dearer(three, others))
    import_book(desk)
    dialog = opened(desk, ImportDialog)
    assert dialog.told.text() == sentence
    dialog.reject()


def test_a_book_of_before_gets_the_parts_that_it_lacks(desk: Hands) -> None:
    """Shown first, taken as one act, with the person's own figures as they were; again there is nothing to add."""
    session, exchange = desk.window.session, desk.window.exchange
    whole = session.book
    mine = dearer(whole, {e.code for e in whole.entries[:2]})
    old = mine.model_copy(update={"entries": mine.entries[:-3]})
    session.act("A book of before", book=old)
    exchange.complete()
    dialog = opened(desk, ChangesDialog)
    assert [line.cells[1] for line in dialog.table.lines] == ["added"] * 3
    assert "demo" in dialog.told.text()
    desk.press(dialog.take)
    assert session.book == mine
    exchange.complete()
    assert not is_open(desk) and session.book == mine
    session.undo()
    assert session.book == old
