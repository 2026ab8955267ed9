"""What moved between two revisions, or since the last one; and how long one holds.

Rows and totals of an issued revision are read from what was handed over, never worked out again.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from typing import Any, Final

from pydantic import BaseModel

from estimator.model.called import row_names
from estimator.model.design import Design
from estimator.model.differences import Difference, differences, name_of_row, plain_value
from estimator.model.finding import Finding, Severity, facts
from estimator.model.issued import Issued, TextError, handed, job_then, paper_was_kept
from estimator.model.job import Job, Snapshot, snapshot_of
from estimator.model.makers import MakerData
from estimator.model.option_designs import design_of, option_ids, option_name, place_of_option
from estimator.model.options import BASE
from estimator.model.pricebook import PriceBook, PriceEntry
from estimator.model.revisions import standing
from estimator.model.spec import FieldSpec
from estimator.model.terms import Terms
from estimator.money import money_text
from estimator.pricing.book_changes import (
    EntryChange,
    book_for,
    entry_changes,
    used_entries,
)
from estimator.pricing.compare import CompareError, Comparison, Lines, compare, lines_of, lines_of_issued
from estimator.pricing.types import Price
from estimator.reference.catalogue import catalogue
from estimator.reference.own_parts import with_makers
from estimator.takeoff.words import row_words

__all__ = ["Changes", "changes_between", "changes_since", "expired", "job_changes", "valid_until"]

_SKIPPED: Final = frozenset({"format", "units", "quote.first_letter", "quote.dated", "prices", "signed"})


def valid_until(dated: date, terms: Terms) -> date | None:
    """Last day on which a quote holds, None where the calendar ends before.

    >>> valid_until(date(2027, 3, 1), Terms())
    datetime.date(2027, 3, 31)
    """
    try:
        return dated + timedelta(days=int(terms.validity.si // 86400))
    except OverflowError:
        return None


def expired(job: Job, on: date) -> tuple[Finding, ...]:
    """A warning where the revision that stands, or a quote dated by hand, no longer holds on a day."""
    stands = standing(job)
    if stands is not None:
        try:
            end = handed(stands).valid_until
        except TextError:
            return ()
        what = f"Revision {stands.letter}"
    elif job.quote.dated is not None and not job.issued:
        end, what = valid_until(job.quote.dated, job.terms), "The quote"
    else:
        return ()
    if end is None or on <= end:
        return ()
    words = "{what} expired: it was valid until {end}. Check the prices and issue a new revision."
    told = facts(what=what, end=end)
    return (Finding(Severity.WARNING, "quote.dated", "quote-expired", words, facts=told),)


@dataclass(frozen=True, slots=True)
class Changes:
    """What moved since a revision.

    Attributes:
        letter: of the older revision.
        price: row by row, with the difference of the totals.
        job: what was decided otherwise. `prices`: which of the prices used became others.
        locale: of the newer job.
    """

    letter: str
    price: Comparison
    job: tuple[Difference, ...]
    prices: tuple[EntryChange, ...]
    locale: str

    @property
    def difference(self) -> Decimal:
        """Of the total to pay; positive where it is dearer now."""
        return self.price.difference

    @property
    def words(self) -> tuple[str, ...]:
        """The list of what moved, a sentence each."""
        return (*(d.words for d in self.job), *(c.words_in(self.locale) for c in self.prices))


class _Namer:
    """Names of parts as the catalogue and the makers' data of any of some jobs have them; the last one wins."""

    def __init__(self, *jobs: Snapshot) -> None:
        self._locale, self._system = jobs[-1].terms.locale, jobs[-1].units
        designs = [design_of(job, option) for job in jobs for option in reversed(option_ids(job))]
        makers = dict.fromkeys(d.makers for d in designs if d.makers != MakerData())
        self._parts = [catalogue(), *(with_makers(own, catalogue())[0] for own in makers)]

    def __call__(self, field: FieldSpec, value: Any, beside: Any) -> str:
        if not field.catalogue:
            return plain_value(field, value, beside, locale=self._locale, system=self._system)
        names = dict(pair for parts in self._parts for pair in parts.choices(field.catalogue))
        return names.get(value, str(value))


class _Rows:
    """Names of the rows of two designs; the later one's win."""

    def __init__(self, then: Design, after: Design) -> None:
        self._names = row_names(then)
        for place, names in row_names(after).items():
            self._names[place].update(names)

    def __call__(self, field: FieldSpec, key: str, row: BaseModel) -> str:
        return self._names.get(field.name, {}).get(key) or name_of_row(row)


def _with_amount(difference: Difference, job: Snapshot) -> Difference:
    """A fee that was added with its likely cost; for the customer the price stands in its place."""
    *above, place = difference.place.split(".")
    if above != ["terms", "extras"] or difference.before or not place.isdigit():
        return difference
    extra = job.terms.extras[int(place)]
    name = extra.description.strip() or extra.kind.label
    cost = f"{name}, likely cost {money_text(extra.likely, job.terms.currency, job.terms.locale)}"
    return replace(difference, label="Freight, travel and fees", after=cost)


def _of_options(then: Snapshot, after: Snapshot, namer: _Namer) -> Iterator[Difference]:
    """What is otherwise in an option and not in the base design alike: told as in a design, not as it is kept."""
    told = set(_design_differences(then, after, BASE, namer))
    for option in option_ids(after)[1:]:
        if option not in option_ids(then):
            continue  # told as an option that was added
        place = f"alternatives.{place_of_option(after, option)}"
        for difference in _design_differences(then, after, option, namer):
            if difference not in told:
                label = f"Option “{option_name(after, option)}”, {difference.label}"
                yield replace(difference, place=f"{place}.{difference.place}", label=label)


def _design_differences(
    then: Snapshot, after: Snapshot, option: str, namer: _Namer
) -> tuple[Difference, ...]:
    before, now = design_of(then, option), design_of(after, option)
    return differences(before, now, namer=namer, rows=_Rows(before, now))


def _of_signatures(then: Snapshot, after: Snapshot) -> Iterator[Difference]:
    """Who signed for what since, and what was taken back."""
    for job, other in ((then, after), (after, then)):
        for i, sign in enumerate(job.signed):
            if sign not in other.signed:
                label = f"Signed for {', '.join(f'“{name}”' for name in sign.objects) or 'a finding'}"
                words = ("there", "") if job is then else ("", f"by {sign.name}")
                yield Difference(f"signed.{i}", label, *words)


def job_changes(then: Snapshot, after: Snapshot) -> tuple[Difference, ...]:
    """What is decided otherwise in a later job than in an earlier one."""
    namer = _Namer(then, after)
    kept_as = {f"alternatives.{i}.changes" for i in range(len(after.alternatives))}
    rows = _Rows(then.design, after.design)
    moved = differences(then, after, namer=namer, rows=rows, skip=_SKIPPED | kept_as)
    signed = _of_signatures(then, after)
    return tuple(_with_amount(d, after) for d in (*moved, *_of_options(then, after, namer), *signed))


def _changes(before: Issued, after: Snapshot, lines: Lines, entries: Iterable[PriceEntry]) -> Changes:
    moved = job_changes(_job_then(before), after)
    if not paper_was_kept(before):
        # A job of format 1 had no line colours; those it was given to be looked at are no decision of anybody.
        moved = tuple(d for d in moved if not d.place.endswith(".colour"))
    prices = _price_changes(handed(before).entries, entries)
    return Changes(
        before.letter,
        compare(lines_of_issued(before), lines, own=(change.code for change in prices)),
        moved,
        prices,
        after.terms.locale,
    )


def _job_then(issued: Issued) -> Snapshot:
    try:
        return job_then(issued)
    except TextError as error:
        raise CompareError(f"Revision {issued.letter} cannot be compared: {error}") from None


def _price_changes(before: Iterable[PriceEntry], after: Iterable[PriceEntry]) -> tuple[EntryChange, ...]:
    """Only parts used both times: one that came or went with the design is told there."""
    # Whether a figure is marked as invented is no change of it; revisions of format 1 have no mark.
    old, new = ({e.code: e.model_copy(update={"demo": False}) for e in side} for side in (before, after))
    both = old.keys() & new.keys()
    return entry_changes(
        (e for e in old.values() if e.code in both), (e for e in new.values() if e.code in both)
    )


def changes_since(job: Job, price: Price, book: PriceBook) -> Changes | None:
    """What moved since the revision that stands, None where nothing was issued yet or all of it was withdrawn.

    Args:
        job: as it is now.
        price: of its base design, worked out with `book_for(job, book)`.
        book: the price book.

    Raises:
        CompareError: the job's currency was changed since, or the revision cannot be read.
    """
    before = standing(job)
    if before is None:
        return None
    entries = used_entries((price,), book_for(job, book))
    return _changes(before, snapshot_of(job), lines_of(price, row_words(job)), entries)


def changes_between(before: Issued, after: Issued) -> Changes:
    """What a later revision changed, for its paper.

    Raises:
        CompareError: they are in two currencies, or one cannot be read.
    """
    return _changes(before, _job_then(after), lines_of_issued(after), handed(after).entries)
