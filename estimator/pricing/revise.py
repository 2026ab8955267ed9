"""Revisions: issuing a quote, telling whether an issued one is still what it was, and what moved since.

Issuing freezes the job, the prices used, every priced row and the sums. Nothing of it is ever worked out again, so
neither a newer price book nor a newer version of the program changes what a customer was given.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any, Final

from estimator.model.differences import Difference, differences, plain_value
from estimator.model.edit import with_value
from estimator.model.finding import Finding, Severity
from estimator.model.issued import Issued, IssuedRow, IssuedSum, fingerprint, seal
from estimator.model.job import Job, Snapshot, job_of, snapshot_of
from estimator.model.pricebook import PinnedPrices, PriceBook, PriceEntry
from estimator.model.spec import FieldSpec
from estimator.model.terms import Terms
from estimator.pricing.book_changes import (
    EntryChange,
    book_for,
    entry_changes,
    pin_prices,
    used_entries,
)
from estimator.pricing.compare import Comparison, Lines, compare, lines_of, lines_of_issued
from estimator.pricing.types import Price
from estimator.reference.catalogue import catalogue
from estimator.takeoff.words import RowWords, row_words

__all__ = [
    "Changes",
    "IssueError",
    "as_job",
    "changes_between",
    "changes_since",
    "expired",
    "issue",
    "issue_findings",
    "next_letter",
    "revision",
    "revision_findings",
    "valid_until",
    "with_paper",
]

_SKIPPED: Final = frozenset({"format", "units", "quote.revision", "quote.dated", "prices"})


class IssueError(ValueError):
    """The job cannot be issued as it is, or a revision not be given a paper; the message says why."""


def next_letter(job: Job) -> str:
    """Letter of the next revision: A, B, … Z, AA, AB …

    >>> next_letter(Job())
    'A'
    """
    if not job.issued:
        return "A"
    number = 0
    for letter in job.issued[-1].letter:
        number = number * 26 + ord(letter) - ord("A") + 1
    number += 1
    text = ""
    while number:
        number, rest = divmod(number - 1, 26)
        text = chr(ord("A") + rest) + text
    return text


def revision(job: Job, letter: str) -> Issued:
    """The revision of that letter.

    Raises:
        LookupError: there is none.
    """
    for issued in job.issued:
        if issued.letter == letter:
            return issued
    raise LookupError(f"There is no revision {letter}.")


def _lines(price: Price, words: RowWords) -> tuple[tuple[IssuedRow, ...], tuple[IssuedSum, ...]]:
    lines = lines_of(price, words)
    rows = tuple(
        IssuedRow(
            key=r.key,
            code=r.code,
            section=r.section,
            detail=r.detail,
            description=r.description,
            unit=r.unit,
            quantity=r.quantity,
            price=r.price,
        )
        for r in lines.rows
    )
    return rows, tuple(IssuedSum(name=name, amount=amount) for name, amount in lines.sums)


def issue(
    job: Job, price: Price, book: PriceBook, on: date, reason: str, others: Sequence[Price] = ()
) -> Job:
    """The job with one revision more.

    The revision holds the job under its letter and date. The job goes on under the next letter, holding on to the
    prices used, so that a change of the price book does not change the next revision unasked.

    Args:
        job: what is issued.
        price: of its base design, worked out with `book_for(job, book)`.
        book: the price book.
        on: date of issue.
        reason: why, in the person's words.
        others: prices of the options that the quote offers.

    Raises:
        IssueError: parts without a price, a price in another currency than the job's, a letter beyond ZZ, or a
            date before the revision before.
        EditError: a text that is not allowed.
    """
    if not all(p.complete for p in (price, *others)):
        raise IssueError(
            "Parts of the job have no price yet; a quote is issued when everything to buy has one."
        )
    if price.currency != job.terms.currency:
        raise IssueError(f"The price is in {price.currency} and the job in {job.terms.currency}.")
    letter = next_letter(job)
    if len(letter) > 2:
        raise IssueError("There are more revisions than letters up to ZZ; begin a new quote.")
    if job.issued and on < job.issued[-1].dated:
        raise IssueError(
            f"Revision {job.issued[-1].letter} was issued on {job.issued[-1].dated.isoformat()}; a later one cannot "
            f"be dated {on.isoformat()}."
        )
    if len(job.issued) >= 200:
        raise IssueError("The job holds 200 revisions already; begin a new quote.")
    frozen = snapshot_of(job)
    frozen = with_value(frozen, ("quote", "revision"), letter)
    frozen = with_value(frozen, ("quote", "dated"), on)
    frozen = with_value(frozen, ("prices",), None)
    rows, sums = _lines(price, row_words(job))
    total = price.totals.total
    made = Issued(
        letter=letter,
        dated=on,
        reason=reason,
        snapshot=frozen,
        entries=used_entries((price, *others), book_for(job, book)),
        rows=rows,
        sums=sums,
        total_low=total.low,
        total_likely=total.likely,
        total_high=total.high,
        follows=seal(job.issued[-1]) if job.issued else "",
    )
    made = made.model_copy(update={"fingerprint": fingerprint(made)})
    live = pin_prices(job, (price, *others), book, on)
    live = _with_issued(live, (*job.issued, made))
    return with_value(live, ("quote", "revision"), next_letter(live))


def _with_issued(job: Job, issued: tuple[Issued, ...]) -> Job:
    fields: dict[str, Any] = {name: getattr(job, name) for name in Job.model_fields}
    return Job(**{**fields, "issued": issued})


def with_paper(job: Job, letter: str, paper: bytes) -> Job:
    """The job with the fingerprint of the PDF that was given out for its last revision; once only.

    Raises:
        LookupError: there is no such revision.
        IssueError: it has another paper already, or is not the last one.
    """
    issued = revision(job, letter)
    found = hashlib.sha256(paper).hexdigest()
    if issued.pdf_fingerprint == found:
        return job
    if issued.pdf_fingerprint:
        raise IssueError(f"Revision {letter} was given out as another PDF; it cannot be given a second one.")
    if issued is not job.issued[-1]:
        raise IssueError(f"Revision {letter} is not the last one; its paper can no longer be added.")
    return _with_issued(job, (*job.issued[:-1], issued.model_copy(update={"pdf_fingerprint": found})))


def as_job(issued: Issued) -> Job:
    """A revision as a job of its own, with the prices of then: for its paper and for looking at it."""
    prices = PinnedPrices(currency=issued.snapshot.terms.currency, entries=issued.entries, taken=issued.dated)
    return with_value(job_of(issued.snapshot), ("prices",), prices)


def issue_findings(job: Job) -> tuple[Finding, ...]:
    """Revisions that are not what was issued. To be asked when a job is loaded."""
    return revision_findings(job.issued)


def revision_findings(revisions: tuple[Issued, ...]) -> tuple[Finding, ...]:
    """The same of the revisions alone, in the order of issue."""
    found = []
    before = None
    for i, issued in enumerate(revisions):
        place = f"issued.{i}"
        if fingerprint(issued) != issued.fingerprint:
            words = (
                f"Revision {issued.letter}: its content is not what was issued; the file was changed outside the "
                "program. Compare it with the paper that the customer has."
            )
            found.append(Finding(Severity.ERROR, place, "revision-changed", words))
        if issued.follows != (seal(before) if before is not None else ""):
            words = (
                f"Revision {issued.letter}: the revision before it is not the one it was issued after; one was "
                "removed, changed or given another paper."
            )
            found.append(Finding(Severity.ERROR, place, "revision-order", words))
        before = issued
    return tuple(found)


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
    """A warning where the last revision, or a quote dated by hand, no longer holds on a day."""
    if job.issued:
        last = job.issued[-1]
        dated, terms, what = last.dated, last.snapshot.terms, f"Revision {last.letter}"
    elif job.quote.dated is not None:
        dated, terms, what = job.quote.dated, job.terms, "The quote"
    else:
        return ()
    end = valid_until(dated, terms)
    if end is None or on <= end:
        return ()
    words = (
        f"{what} expired: it was valid until {end.isoformat()}. Check the prices and issue a new revision."
    )
    return (Finding(Severity.WARNING, "quote.dated", "quote-expired", words),)


@dataclass(frozen=True, slots=True)
class Changes:
    """What moved since a revision.

    Attributes:
        letter: of the older revision.
        price: row by row, with the difference of the totals.
        job: what was decided otherwise. `prices`: which of the prices used became others.
    """

    letter: str
    price: Comparison
    job: tuple[Difference, ...]
    prices: tuple[EntryChange, ...]

    @property
    def difference(self) -> Decimal:
        """Of the total to pay; positive where it is dearer now."""
        return self.price.difference

    @property
    def words(self) -> tuple[str, ...]:
        """The list of what moved, a sentence each."""
        return (*(d.words for d in self.job), *(c.words for c in self.prices))


def _named(field: FieldSpec, value: Any) -> str:
    if field.catalogue:
        return dict(catalogue().choices(field.catalogue)).get(value, str(value))
    return plain_value(field, value)


def _changes(before: Issued, after: Snapshot, lines: Lines, entries: Iterable[PriceEntry]) -> Changes:
    return Changes(
        before.letter,
        compare(lines_of_issued(before), lines),
        differences(before.snapshot, after, namer=_named, skip=_SKIPPED),
        _price_changes(before.entries, entries),
    )


def _price_changes(before: Iterable[PriceEntry], after: Iterable[PriceEntry]) -> tuple[EntryChange, ...]:
    """Only parts used both times: one that came or went with the design is told there."""
    old, new = {e.code: e for e in before}, {e.code: e for e in after}
    both = old.keys() & new.keys()
    return entry_changes(
        (e for e in old.values() if e.code in both), (e for e in new.values() if e.code in both)
    )


def changes_since(job: Job, price: Price, book: PriceBook) -> Changes | None:
    """What moved since the last revision, None where nothing was issued yet.

    Args:
        job: as it is now.
        price: of its base design, worked out with `book_for(job, book)`.
        book: the price book.

    Raises:
        CompareError: the job's currency was changed since.
    """
    if not job.issued:
        return None
    entries = used_entries((price,), book_for(job, book))
    return _changes(job.issued[-1], snapshot_of(job), lines_of(price, row_words(job)), entries)


def changes_between(before: Issued, after: Issued) -> Changes:
    """What a later revision changed, for its paper.

    Raises:
        CompareError: they are in two currencies.
    """
    return _changes(before, after.snapshot, lines_of_issued(after), after.entries)
