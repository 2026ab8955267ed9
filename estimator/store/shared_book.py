"""The price book as others change it too: an edit writes that edit and nothing else.

A spreadsheet, a colleague or another window may have changed the file since it was read. Row by row, what an edit
leaves alone stays as the file has it now; what both changed otherwise is no one's to decide but the person's.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path
from typing import NoReturn

from pydantic import ValidationError

from estimator.model.finding import Finding, Severity
from estimator.model.pricebook import PriceBook, PriceEntry
from estimator.pricing.book_changes import EntryChange, entry_changes
from estimator.store.files import exists, shown
from estimator.store.lock import Lock, Locked, wait_for_lock
from estimator.store.pricebooks import PriceBookError, load_price_book, save_price_book

__all__ = ["BookConflict", "keep_edit"]


class BookConflict(Exception):
    """An edit and somebody else changed the same cells of a price book; nothing was written.

    Attributes:
        codes: of the entries.
        changes: what the file would change by taking the edit's entries.
    """

    def __init__(self, path: Path, codes: frozenset[str], changes: tuple[EntryChange, ...]) -> None:
        super().__init__(
            f"“{shown(path.name)}” was changed by somebody else, in the same cells: {', '.join(sorted(codes)[:8])}."
        )
        self.codes = codes
        self.changes = changes


@dataclass(frozen=True, slots=True)
class _Merged:
    entries: tuple[PriceEntry, ...]
    conflicts: frozenset[str]


def keep_edit(
    path: Path,
    before: PriceBook,
    after: PriceBook,
    *,
    mine: Collection[str] = (),
    theirs: Collection[str] = (),
) -> PriceBook:
    """Write an edit of a price book into its file as that is now.

    Args:
        path: of the file; it is made where there is none.
        before, after: the book before the edit and after it.
        mine, theirs: codes of entries of which the edit's hold, or the file's, whatever the other says.

    Returns:
        What the file holds now; it differs from `after` by what was changed outside.

    Raises:
        BookConflict: somebody else changed the same cells.
        PriceBookError: the file cannot be read or written; it is unharmed.
    """
    lock = _short_lock(path)
    try:
        if not exists(path):
            save_price_book(path, after)
            return after
        now = load_price_book(path)
        if now == before and not theirs:
            save_price_book(path, after)
            return after
        if now.currency not in (before.currency, after.currency):
            _refuse(
                f"“{shown(path.name)}” is in {now.currency} now and the edit in {after.currency}; figures are not "
                "converted. Start again with the book as it is now."
            )
        merged = _merge(before, after, now, frozenset(mine), frozenset(theirs))
        if merged.conflicts:
            own = {e.code: e for e in after.entries}
            changes = entry_changes(
                (e for e in now.entries if e.code in merged.conflicts),
                (own[code] for code in sorted(merged.conflicts) if code in own),
            )
            raise BookConflict(path, merged.conflicts, changes)
        currency = after.currency if after.currency != before.currency else now.currency
        book = PriceBook(currency=currency, entries=merged.entries)
        if book != now:
            save_price_book(path, book)
        return book
    finally:
        if lock is not None:
            lock.release()


def _refuse(sentence: str) -> NoReturn:
    raise PriceBookError((Finding(Severity.ERROR, "file", "price-book-outside", sentence),)) from None


def _short_lock(path: Path) -> Lock | None:
    try:
        return wait_for_lock(path)
    except Locked as locked:
        _refuse(f"{locked} The price book was not written.")


def _merge(
    before: PriceBook, after: PriceBook, now: PriceBook, mine: frozenset[str], theirs: frozenset[str]
) -> _Merged:
    old, new, there = ({e.code: e for e in book.entries} for book in (before, after, now))
    conflicts: set[str] = set()
    rows: dict[str, PriceEntry | None] = dict(there)
    for code in dict.fromkeys((*old, *new)):
        a, b, c = old.get(code), new.get(code), there.get(code)
        if a == b or b == c or code in theirs:
            continue
        if c == a or code in mine:
            rows[code] = b
            continue
        row = _fields(a, b, c) if a is not None and b is not None and c is not None else None
        if row is None:
            conflicts.add(code)
        else:
            rows[code] = row
    return _Merged(tuple(row for row in rows.values() if row is not None), frozenset(conflicts))


def _fields(old: PriceEntry, new: PriceEntry, there: PriceEntry) -> PriceEntry | None:
    """An entry with the cells that each of two changed, None where they changed the same one otherwise."""
    cells = {}
    for name in PriceEntry.model_fields:
        a, b, c = getattr(old, name), getattr(new, name), getattr(there, name)
        if a != b and a != c and b != c:
            return None
        cells[name] = c if a == b else b
    try:
        return PriceEntry(**cells)
    except ValidationError:
        return None  # together they are no entry: a low figure above the likely one
