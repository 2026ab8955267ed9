"""What changes in a price book, and the prices that a job holds on to while it does."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from pydantic import ValidationError

from estimator.model.differences import plain_value
from estimator.model.edit import with_value
from estimator.model.finding import Amount, Finding, Listed, Number, Severity, facts
from estimator.model.job import Job
from estimator.model.pricebook import PinnedPrices, PriceBook, PriceEntry
from estimator.model.problems import problems_of
from estimator.model.spec import FieldSpec, fields_of
from estimator.model.terms import Terms
from estimator.pricing.compare import ChangeKind
from estimator.pricing.types import Price
from estimator.takeoff.types import Section

__all__ = [
    "BookChangeError",
    "CellChange",
    "EntryChange",
    "book_for",
    "bulk_change",
    "changed_findings",
    "changed_since",
    "completed",
    "entry_changes",
    "pin_prices",
    "stale_findings",
    "take_new_prices",
    "used_entries",
]

_SHOWN: Final = 6
_STEP: Final = Decimal("0.0001")
_HUNDRED: Final = Decimal(100)


class BookChangeError(ValueError):
    """A change of the price book that is not allowed; nothing was changed. `findings` name the code."""

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        super().__init__(" ".join(f.message for f in findings))
        self.findings = findings


@dataclass(frozen=True, slots=True)
class CellChange:
    """One field of an entry that differs.

    Attributes:
        spec: the field.
        old, new: what it holds.
    """

    spec: FieldSpec
    old: object
    new: object

    @property
    def field(self) -> str:
        """Its name."""
        return self.spec.name

    @property
    def label(self) -> str:
        """What a person calls it."""
        return self.spec.label

    def words(self, locale: str) -> tuple[str, str]:
        """Before and after, numbers and days by a locale."""
        return plain_value(self.spec, self.old, locale=locale), plain_value(
            self.spec, self.new, locale=locale
        )


@dataclass(frozen=True, slots=True)
class EntryChange:
    """One entry that was added, removed or changed; `cells` are empty but for a changed one."""

    kind: ChangeKind
    code: str
    description: str
    cells: tuple[CellChange, ...] = ()

    def words_in(self, locale: str) -> str:
        """A sentence, numbers and days by a locale."""
        if self.kind is not ChangeKind.CHANGED:
            return f"Price of {self.code} ({self.description}): {self.kind.value}."
        cells = ", ".join(f"{c.label} {' → '.join(c.words(locale))}" for c in self.cells)
        return f"Price of {self.code} ({self.description}): {cells}."


def entry_changes(before: Iterable[PriceEntry], after: Iterable[PriceEntry]) -> tuple[EntryChange, ...]:
    """What is different, removed ones first, then in the order of the newer entries."""
    old, new = {e.code: e for e in before}, {e.code: e for e in after}
    found = [
        EntryChange(ChangeKind.REMOVED, e.code, e.description) for e in old.values() if e.code not in new
    ]
    for entry in new.values():
        known = old.get(entry.code)
        if known is None:
            found.append(EntryChange(ChangeKind.ADDED, entry.code, entry.description))
        elif known != entry:
            cells = tuple(
                CellChange(f, getattr(known, f.name), getattr(entry, f.name))
                for f in fields_of(PriceEntry)
                if getattr(known, f.name) != getattr(entry, f.name)
            )
            found.append(EntryChange(ChangeKind.CHANGED, entry.code, entry.description, cells))
    return tuple(found)


def completed(book: PriceBook, shipped: PriceBook) -> PriceBook:
    """The book with the entries of the shipped one whose codes it lacks; the book itself where it lacks none.

    A program that knows new parts cannot put them into a book that somebody keeps. No entry that is there changes; what
    is added keeps its mark of demo data.

    Args:
        book: as it is.
        shipped: the one that comes with the program.

    Raises:
        BookChangeError: the two are in different currencies.
    """
    known = {entry.code for entry in book.entries}
    lacking = tuple(entry for entry in shipped.entries if entry.code not in known)
    if not lacking:
        return book
    if book.currency != shipped.currency:
        raise BookChangeError(
            (
                _wrong(
                    "currency",
                    f"Currency: the price book is in {book.currency}, the shipped figures are in {shipped.currency}; "
                    "add rows of your own for the codes that are missing.",
                ),
            )
        )
    return book.model_copy(update={"entries": (*book.entries, *lacking)})


def bulk_change(book: PriceBook, percent: Decimal, on: date, group: str | None = None) -> PriceBook:
    """The book with low, likely and high of one group changed by a percentage, dated that day.

    Rounded half up to four decimals, the finest a price book holds. What it changes: `entry_changes(book, new)`.

    Args:
        book: as it is.
        percent: 3 makes everything 3 % dearer, -10 a tenth cheaper.
        on: day of the new figures.
        group: name of the group; every entry if left out.

    Raises:
        BookChangeError: a percentage of -100 or less or above 1000, no entry in the group, or a figure too large.
    """
    if not percent.is_finite() or not -_HUNDRED < percent <= 1000:
        raise BookChangeError(
            (_wrong("percent", f"Change: {percent} %; it must be above -100 % and at most 1000 %."),)
        )
    chosen = {e.code for e in book.entries if group is None or e.group == group}
    if not chosen:
        groups = ", ".join(sorted({e.group for e in book.entries if e.group})[:12]) or "none yet"
        raise BookChangeError(
            (_wrong("group", f"Group: no entry is in “{group}”; the groups are {groups}."),)
        )
    factor = 1 + percent / _HUNDRED
    entries, wrong = [], []
    for entry in book.entries:
        if entry.code not in chosen:
            entries.append(entry)
            continue
        fields = {name: getattr(entry, name) for name in PriceEntry.model_fields}
        for name in ("low", "likely", "high"):
            fields[name] = (fields[name] * factor).quantize(_STEP, rounding=ROUND_HALF_UP)
        try:
            entries.append(PriceEntry(**{**fields, "dated": on}))
        except ValidationError as error:
            wrong += [
                _wrong(entry.code, f"{entry.code}: {p.message}") for p in problems_of(error, PriceEntry)
            ]
    if wrong:
        raise BookChangeError(tuple(wrong))
    return PriceBook(currency=book.currency, entries=tuple(entries))


def _wrong(place: str, words: str) -> Finding:
    return Finding(Severity.ERROR, f"price_book.{place}", "price-book-change", words)


def book_for(job: Job, book: PriceBook) -> PriceBook:
    """The prices that hold for a job: those it holds on to, the book's for every other part.

    Prices held in another currency than the book's stand alone: figures of two currencies are never mixed.
    """
    held = job.prices
    if held is None:
        return book
    if held.currency != book.currency:
        return PriceBook(currency=held.currency, entries=held.entries)
    codes = {entry.code for entry in held.entries}
    rest = tuple(entry for entry in book.entries if entry.code not in codes)
    return PriceBook(currency=book.currency, entries=(*held.entries, *rest))


def used_entries(prices: Iterable[Price], book: PriceBook) -> tuple[PriceEntry, ...]:
    """The entries that stand behind some prices, in the order of the book."""
    codes = {
        row.takeoff.code
        for price in prices
        for row in price.rows
        if row.known and row.takeoff.section is not Section.EXTRAS
    }
    return tuple(entry for entry in book.entries if entry.code in codes)


def pin_prices(job: Job, prices: Iterable[Price], book: PriceBook, on: date) -> Job:
    """The job holding on to the prices it uses; those that it holds already stay as they are.

    Args:
        job: as it is.
        prices: of the base design and of any other option, worked out with `book_for(job, book)`.
        book: the price book.
        on: day on which they are taken.
    """
    whole = book_for(job, book)
    used = used_entries(prices, whole)
    held = job.prices
    taken = held.taken if held is not None else on
    entries = {e.code: e for e in used}
    if held is not None:
        entries = {e.code: e for e in held.entries} | entries
    return with_value(
        job,
        ("prices",),
        PinnedPrices(currency=whole.currency, entries=tuple(entries.values()), taken=taken),
    )


def changed_since(job: Job, book: PriceBook) -> tuple[EntryChange, ...]:
    """Which of the prices a job holds on to are others in the book now; removed ones are gone from the book."""
    if job.prices is None:
        return ()
    codes = {entry.code for entry in job.prices.entries}
    return entry_changes(job.prices.entries, (e for e in book.entries if e.code in codes))


def changed_findings(job: Job, book: PriceBook) -> tuple[Finding, ...]:
    """A note that prices changed since the job took them."""
    if job.prices is None:
        return ()
    if job.prices.currency != book.currency:
        sentence = (
            "Prices used: they are in {held} and the price book is in {book}; nothing is converted and the job keeps "
            "its own."
        )
        known = facts(held=job.prices.currency, book=book.currency)
        return (Finding(Severity.WARNING, "prices", "prices-currency", sentence, facts=known),)
    changed = changed_since(job, book)
    if not changed:
        return ()
    sentence = (
        "Prices used: {number} of them changed in the price book since {taken} ({codes}). The job keeps its own until "
        "you take the new ones."
    )
    known = facts(
        number=Number(len(changed), 0), taken=job.prices.taken, codes=_codes(c.code for c in changed)
    )
    return (Finding(Severity.NOTE, "prices", "prices-changed", sentence, facts=known),)


def take_new_prices(job: Job, book: PriceBook, on: date) -> Job:
    """The job with the book's prices for every part whose price it holds; parts gone from the book keep theirs.

    Raises:
        BookChangeError: the book is in another currency.
    """
    held = job.prices
    if held is None:
        return job
    if held.currency != book.currency:
        words = (
            f"Prices used: they are in {held.currency} and the price book is in {book.currency}; "
            "nothing is converted."
        )
        raise BookChangeError((Finding(Severity.ERROR, "prices", "prices-currency", words),))
    now = {entry.code: entry for entry in book.entries}
    entries = tuple(now.get(entry.code, entry) for entry in held.entries)
    return with_value(job, ("prices",), PinnedPrices(currency=held.currency, entries=entries, taken=on))


def _codes(codes: Iterable[str]) -> Listed:
    return Listed(tuple(codes), _SHOWN)


def stale_findings(price: Price, terms: Terms, on: date) -> tuple[Finding, ...]:
    """Prices that are older than the terms allow, or that have no date.

    Args:
        price: what is bought; rows that are not bought do not count.
        terms: age after which a price is old.
        on: day that the age is counted to.
    """
    days = int(terms.stale_after.si // 86400)
    last = on - timedelta(days=min(days, on.toordinal() - 1))
    bought = [
        r
        for r in price.rows
        if r.known and r.takeoff.quantity > 0 and r.takeoff.section is not Section.EXTRAS
    ]
    old = list(dict.fromkeys(r.takeoff.code for r in bought if r.dated is not None and r.dated < last))
    undated = list(dict.fromkeys(r.takeoff.code for r in bought if r.dated is None))
    found = []
    if old:
        sentence = (
            "Price book: {number} of the prices used are older than {age} ({codes}); ask for new ones or widen their "
            "ranges."
        )
        known = facts(number=Number(len(old), 0), age=Amount.of(terms.stale_after), codes=_codes(old))
        found.append(Finding(Severity.WARNING, f"price_book.{old[0]}", "prices-old", sentence, facts=known))
    if undated:
        sentence = (
            "Price book: {number} of the prices used have no date ({codes}); enter when they were taken."
        )
        known = facts(number=Number(len(undated), 0), codes=_codes(undated))
        found.append(
            Finding(Severity.NOTE, f"price_book.{undated[0]}", "prices-undated", sentence, facts=known)
        )
    return tuple(found)
