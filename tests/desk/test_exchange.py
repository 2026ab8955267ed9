"""The price book in and out, changed as a whole, held by a job: shown first, taken as one act, undone."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TypeVar

import pytest
from PySide6.QtWidgets import QDialogButtonBox

from estimator.desk.doing.exchange_dialog import BulkDialog, ChangesDialog, ImportDialog
from estimator.desk.form.pages import BookPage
from estimator.model.pricebook import PriceBook
from estimator.pricing.book_changes import entry_changes
from estimator.store.book_exchange import export_book, read_book
from tests.desk.hands import Hands

DAY = date(2027, 3, 1)
D = TypeVar("D", bound=ChangesDialog)


def opened(desk: Hands, kind: type[D]) -> D:
    """The dialog that is open."""
    dialog = desk.window.exchange.dialog
    assert isinstance(dialog, kind)
    return dialog


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
    window.exchange.import_book()
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
    window.exchange.import_book()
    again = opened(desk, ImportDialog)
    desk.press(again.take)
    assert session.book == new
    assert session.history.position == position + 1
    desk.said.saves = tmp_path / f"out.{ending}"
    window.exchange.export_book()
    assert read_book(tmp_path / f"out.{ending}") == new
    session.undo()
    assert session.book == book


def test_a_bad_sheet_opens_no_dialog(desk: Hands, tmp_path: Path) -> None:
    """Row and column are told, nothing is imported."""
    window, session = desk.window, desk.window.session
    book = session.book
    export_book(tmp_path / "bad.csv", book)
    lines = (tmp_path / "bad.csv").read_text(encoding="utf-8").splitlines()
    (tmp_path / "bad.csv").write_text("\n".join([*lines, lines[-1]]) + "\n", encoding="utf-8")
    desk.said.opens = tmp_path / "bad.csv"
    window.exchange.import_book()
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
