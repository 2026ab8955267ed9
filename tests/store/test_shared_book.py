"""The price book with others at work in it: an edit writes that edit; what both changed is asked about."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from estimator.model.pricebook import PriceBook
from estimator.store.pricebooks import load_price_book, save_price_book, shipped_price_book
from estimator.store.shared_book import BookConflict, keep_edit


def with_cell(book: PriceBook, at: int, **cells: object) -> PriceBook:
    entry = book.entries[at].model_copy(update=cells)
    return book.model_copy(update={"entries": (*book.entries[:at], entry, *book.entries[at + 1 :])})


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "book.csv"
    save_price_book(path, shipped_price_book())
    return path


def test_a_colleagues_edits_stay(path: Path) -> None:
    """Another row, another cell of the same row, a row that was added or removed."""
    base = shipped_price_book()
    theirs = with_cell(with_cell(base, 0, description="Theirs"), 1, description="Theirs too")
    new = base.entries[2].model_copy(update={"code": "THEIRS-NEW"})
    theirs = theirs.model_copy(update={"entries": (*theirs.entries[:4], *theirs.entries[5:], new)})
    save_price_book(path, theirs)
    mine = with_cell(base, 0, high=Decimal(9999))
    now = keep_edit(path, base, mine)
    assert load_price_book(path) == now == with_cell(theirs, 0, high=Decimal(9999))


def test_the_same_cell_is_asked_about(path: Path) -> None:
    base = shipped_price_book()
    theirs, mine = with_cell(base, 0, high=Decimal(8888)), with_cell(base, 0, high=Decimal(9999))
    code = base.entries[0].code
    save_price_book(path, theirs)
    with pytest.raises(BookConflict, match=code) as caught:
        keep_edit(path, base, mine)
    assert caught.value.codes == {code}
    assert "8,888 → 9,999" in caught.value.changes[0].words_in("en_US")
    assert load_price_book(path) == theirs
    assert keep_edit(path, base, mine, theirs={code}) == theirs
    assert keep_edit(path, base, mine, mine={code}) == mine == load_price_book(path)


def test_an_entry_that_both_halves_together_would_break_is_asked_about(path: Path) -> None:
    """They raise the low figure, I lower the likely one: together low would be above likely."""
    base = shipped_price_book()
    at = next(i for i, e in enumerate(base.entries) if 0 < e.low < e.likely < e.high)
    entry = base.entries[at]
    save_price_book(path, with_cell(base, at, low=entry.likely))
    with pytest.raises(BookConflict):
        keep_edit(path, base, with_cell(base, at, likely=entry.low))


def test_two_windows_by_turns_lose_nothing(path: Path) -> None:
    """Each edits rows of its own from the book that it knows; all 40 edits are in the file."""
    base = shipped_price_book()
    views = [base, base]
    for i in range(40):
        new = with_cell(views[i % 2], i, description=f"Edit {i}")
        keep_edit(path, views[i % 2], new)
        views[i % 2] = new
    assert [e.description for e in load_price_book(path).entries[:40]] == [f"Edit {i}" for i in range(40)]


def test_a_file_that_is_gone_is_made_again(path: Path) -> None:
    path.unlink()
    base = shipped_price_book()
    assert keep_edit(path, base, with_cell(base, 0, description="Mine")) == load_price_book(path)
