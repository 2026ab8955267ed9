"""Issuing a revision with its paper, and withdrawing one: acts that nothing takes back.

What is issued is complete at once: text, paper and the job's ledger, in one new job. No file is written here.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from datetime import date
from typing import Any, Final

from estimator.acts.signable import not_signable
from estimator.locales import day_text
from estimator.model.edit import with_value
from estimator.model.issued import (
    MOST_PAPER_BYTES,
    Handed,
    Issued,
    Ledger,
    TextError,
    Withdrawal,
    handed,
    issued_text,
    packed_paper,
    seal,
    withdrawal_seal,
)
from estimator.model.job import Job, snapshot_of
from estimator.model.revisions import next_letter, revision
from estimator.model.seals import fingerprint
from estimator.pricing.book_changes import pin_prices, used_entries
from estimator.pricing.compare import issued_rows, lines_of
from estimator.pricing.revise import valid_until
from estimator.study import Study
from estimator.takeoff.words import row_words

__all__ = ["IssueError", "Printer", "check_lineage", "issue", "issued_ahead", "withdraw"]

Printer = Callable[[Issued], bytes]
"""Draws the paper of a revision that has none yet: its bytes."""

_MOST: Final = 200
_MOST_KEPT: Final = 40_000_000


class IssueError(ValueError):
    """The job cannot be issued as it is, or a revision not be withdrawn; the message says why."""


def issue(study: Study, reason: str, paper: Printer, *, earlier: bool = False) -> Job:
    """The job with one revision more, its paper in it.

    The job goes on holding on to the prices used, so that a change of the price book does not change the next
    revision unasked.

    Args:
        study: of the whole job, on the day of issue.
        reason: why, in the person's words.
        paper: draws the paper; what it raises is raised on, and nothing is issued then.
        earlier: the person knows that the date is before that of the revision before: a clock that was ahead once
            must not stop the job for ever.

    Raises:
        IssueError: what nobody can sign (see `signable`), a letter beyond ZZ, a date before the revision before, a
            paper that is too large, or more papers than a file keeps.
        EditError: a text that is not allowed.
    """
    job, price, on = study.job, study.price, study.on
    prices = (price, *(offer.price for offer in study.offers))
    if lacking := not_signable(study):
        raise IssueError(" ".join(lacking))
    letter = next_letter(job)
    if len(letter) > 2 or len(job.issued) >= _MOST:
        raise IssueError(
            f"The job holds {len(job.issued)} revisions up to the last letter; begin a new quote."
        )
    last = issued_ahead(job, on)
    if last is not None and not earlier:
        raise IssueError(
            f"Revision {job.issued[-1].letter} was issued on {day_text(last, job.terms.locale)}; a later one "
            f"cannot be dated {day_text(on, job.terms.locale)}."
        )
    frozen = with_value(snapshot_of(job), ("quote", "dated"), on)
    frozen = with_value(frozen, ("prices",), None)
    rows, sums = issued_rows(lines_of(price, row_words(job)))
    figures = Handed(
        letter=letter,
        dated=on,
        reason=reason,
        currency=price.currency,
        locale=job.terms.locale,
        valid_until=valid_until(on, job.terms),
        entries=used_entries(prices, study.prices),
        rows=rows,
        sums=sums,
        total=price.totals.total.likely,
        follows=job.ledger.seal,
    )
    text = issued_text(figures, frozen)
    bare = Issued(letter=letter, text=text, fingerprint=fingerprint(text))
    pdf = paper(bare)
    whole = bare.model_copy(
        update={"paper": packed_paper(pdf), "paper_fingerprint": hashlib.sha256(pdf).hexdigest()}
    )
    if len(pdf) > MOST_PAPER_BYTES:
        raise IssueError(
            f"The paper is larger than {MOST_PAPER_BYTES // 1_000_000} MB; leave something out of it."
        )
    if sum(len(r.paper) + len(r.text) for r in (*job.issued, whole)) > _MOST_KEPT:
        raise IssueError(
            f"The papers of all revisions would take more than {_MOST_KEPT // 1_000_000} MB of the job's file; begin "
            "a new quote."
        )
    live = pin_prices(job, prices, study.prices, on)
    ledger = Ledger(last=letter, seal=seal(whole), withdrawals=job.ledger.withdrawals)
    return _with_issued(live, (*job.issued, whole), ledger)


def _dated(issued: Issued) -> date | None:
    try:
        return handed(issued).dated
    except TextError:
        return None


def issued_ahead(job: Job, on: date) -> date | None:
    """The date of the revision issued last if it is after a day, as where a clock was ahead; else None."""
    last = _dated(job.issued[-1]) if job.issued else None
    return last if last is not None and on < last else None


def withdraw(job: Job, letter: str, on: date, reason: str, *, earlier: bool = False) -> Job:
    """The job with a revision marked as withdrawn. The record and its paper stay; its letter is never used again.

    Args:
        job: that holds it.
        letter: of the revision.
        on: date of the withdrawal.
        reason: why, in the person's words.
        earlier: the person knows that the date is before that of its issue.

    Raises:
        LookupError: there is no such revision, or two.
        IssueError: it was withdrawn before, there is no reason, or the date is before its issue.
    """
    issued = revision(job, letter)
    if issued.withdrawn is not None:
        raise IssueError(
            f"Revision {letter} was withdrawn on {day_text(issued.withdrawn.dated, job.terms.locale)} "
            "already."
        )
    if not reason.strip():
        raise IssueError("Say why the revision is withdrawn; the reason stays on record.")
    dated = _dated(issued)
    if dated is not None and on < dated and not earlier:
        raise IssueError(
            f"Revision {letter} was issued on {day_text(dated, job.terms.locale)}; it "
            f"cannot be withdrawn on {day_text(on, job.terms.locale)}."
        )
    withdrawn = Withdrawal(dated=on, reason=reason.strip(), follows=job.ledger.withdrawals)
    marked = issued.model_copy(update={"withdrawn": withdrawn})
    ledger = Ledger(
        last=job.ledger.last, seal=job.ledger.seal, withdrawals=withdrawal_seal(letter, withdrawn)
    )
    return _with_issued(job, tuple(marked if r is issued else r for r in job.issued), ledger)


def check_lineage(job: Job, kept: Sequence[Issued]) -> None:
    """Refuse to go over a file that holds a revision which this job does not know.

    Args:
        job: that would be written.
        kept: the revisions that the file holds.

    Raises:
        IssueError: two papers could get one letter.
    """
    known = {(r.letter, r.fingerprint, r.paper_fingerprint) for r in job.issued}
    for issued in kept:
        if (issued.letter, issued.fingerprint, issued.paper_fingerprint) not in known:
            raise IssueError(
                f"The file holds a revision {issued.letter} that was issued from another window or program; open it "
                "again before you go on."
            )


def _with_issued(job: Job, issued: tuple[Issued, ...], ledger: Ledger) -> Job:
    fields: dict[str, Any] = {name: getattr(job, name) for name in Job.model_fields}
    return Job(**{**fields, "issued": issued, "ledger": ledger})
