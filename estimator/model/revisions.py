"""The revisions of a job: which there are, which still hold, what the next is called, whether they are as issued."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Final

from estimator.model.finding import Finding, Phrase, Severity, facts
from estimator.model.issued import (
    Issued,
    Ledger,
    PaperError,
    TextError,
    handed,
    job_then,
    kept_paper,
    paper_was_kept,
    seal,
    withdrawal_seal,
)
from estimator.model.job import Job
from estimator.model.seals import fingerprint, following, place_of, short

__all__ = ["issue_findings", "next_letter", "revision", "revision_findings", "revision_notes", "standing"]

_COMPARE: Final = "Compare it with the paper that the customer has."
_GONE: Final = "one was removed, changed or given another paper."


def next_letter(job: Job) -> str:
    """Letter of the next revision; one that was used is never used again, though its revision be gone or withdrawn.

    >>> next_letter(Job())
    'A'
    """
    last = max((job.ledger.last, *(r.letter for r in job.issued)), key=place_of)
    return following(last) if last else job.quote.first_letter


def revision(job: Job, letter: str) -> Issued:
    """The revision of that letter.

    Raises:
        LookupError: there is none, or the file holds two.
    """
    of_letter = [r for r in job.issued if r.letter == letter]
    if not of_letter:
        raise LookupError(f"There is no revision {letter}.")
    if len(of_letter) > 1:
        raise LookupError(
            f"The file holds {len(of_letter)} revisions {letter}; nothing tells which was issued."
        )
    return of_letter[0]


def standing(job: Job) -> Issued | None:
    """The last revision that was not withdrawn: the one a customer holds, None where there is none."""
    return next((r for r in reversed(job.issued) if r.withdrawn is None), None)


def issue_findings(job: Job) -> tuple[Finding, ...]:
    """Revisions that are not what was issued, and those that are missing."""
    return revision_findings(job.issued, job.ledger)


def revision_notes(job: Job) -> tuple[Finding, ...]:
    """What a paper in hand is held against: a note for each revision, with the short form of its fingerprint."""
    notes = []
    for i, issued in enumerate(job.issued):
        try:
            dated = Phrase(" of {day}", facts(day=handed(issued).dated))
        except TextError:
            dated = Phrase("")
        withdrawn = Phrase("")
        if issued.withdrawn is not None:
            told = facts(day=issued.withdrawn.dated, reason=issued.withdrawn.reason.removesuffix("."))
            withdrawn = Phrase(", withdrawn on {day}: {reason}", told)
        notes.append(
            Finding(
                Severity.NOTE,
                f"issued.{i}",
                "revision",
                "Revision {letter}{dated}: fingerprint {fingerprint}, its paper {kept} in the file{withdrawn}.",
                facts=facts(
                    letter=issued.letter,
                    dated=dated,
                    fingerprint=short(issued.fingerprint),
                    kept="is" if issued.paper else "is not",
                    withdrawn=withdrawn,
                ),
            )
        )
    return tuple(notes)


def revision_findings(revisions: Sequence[Issued], ledger: Ledger) -> tuple[Finding, ...]:
    """The same of the revisions and the ledger alone, in the order of issue."""
    found = []
    before: Issued | None = None
    counts = Counter(r.letter for r in revisions)
    for i, issued in enumerate(revisions):
        told = [*_of_text(issued), *_of_order(issued, before), *_of_paper(issued)]
        if counts[issued.letter] > 1:
            words = (
                f"Revision {issued.letter}: the file holds {counts[issued.letter]} of this letter; only one was "
                "issued."
            )
            told.append(("revision-doubled", words))
        found += [Finding(Severity.ERROR, f"issued.{i}", rule, words) for rule, words in told]
        before = issued
    found += [Finding(Severity.ERROR, "ledger", rule, words) for rule, words in _of_ledger(revisions, ledger)]
    return tuple(found)


def _of_text(issued: Issued) -> Iterator[tuple[str, str]]:
    name = f"Revision {issued.letter}"
    if fingerprint(issued.text) != issued.fingerprint:
        yield (
            "revision-changed",
            f"{name}: its content is not what was issued; the file was changed outside the program. {_COMPARE}",
        )
    try:
        letter = handed(issued).letter
        job_then(issued)
    except TextError as error:
        yield "revision-unreadable", f"{name}: {error}"
        return
    if letter != issued.letter:
        yield "revision-letter", f"{name}: its content says that it was issued as revision {letter}."


def _of_order(issued: Issued, before: Issued | None) -> Iterator[tuple[str, str]]:
    name = f"Revision {issued.letter}"
    try:
        follows = handed(issued).follows
        first = job_then(issued).quote.first_letter
    except TextError:
        return
    if follows != (seal(before) if before is not None else ""):
        yield (
            "revision-order",
            f"{name}: the revision before it is not the one it was issued after; {_GONE}",
        )
    elif issued.letter != (following(before.letter) if before is not None else first):
        yield "revision-gap", f"{name}: a revision before it is not in the file; letters follow one another."


def _of_paper(issued: Issued) -> Iterator[tuple[str, str]]:
    if not issued.paper and not paper_was_kept(issued):
        return
    try:
        paper = kept_paper(issued)
    except PaperError as error:
        yield "paper-damaged", f"{error} Its content and the other revisions can be used."
        return
    if issued.fingerprint.encode("ascii") not in paper:
        yield (
            "paper-other",
            f"Revision {issued.letter}: the paper in the file is another one; it lacks this content's fingerprint.",
        )


def _of_ledger(revisions: Sequence[Issued], ledger: Ledger) -> Iterator[tuple[str, str]]:
    last = revisions[-1] if revisions else None
    if ledger.last != (last.letter if last is not None else ""):
        there = f"the last in the file is {last.letter}" if last is not None else "the file holds none"
        if place_of(ledger.last) > (place_of(last.letter) if last is not None else 0):
            yield (
                "revision-missing",
                f"Revision {ledger.last} was issued last, and {there}; revisions were removed.",
            )
        else:
            ends = f"ends at {ledger.last}" if ledger.last else "is empty"
            yield (
                "ledger-changed",
                f"The ledger of issued revisions {ends}, and {there}; one of them was changed.",
            )
    elif ledger.seal != (seal(last) if last is not None else ""):
        yield (
            "ledger-changed",
            "The ledger of issued revisions does not fit the last one; one of them was changed outside the program.",
        )
    if not _withdrawals_fit(revisions, ledger):
        yield (
            "withdrawal-changed",
            "Withdrawn revisions: a withdrawal was removed, added or changed outside the program.",
        )


def _withdrawals_fit(revisions: Sequence[Issued], ledger: Ledger) -> bool:
    waiting = {r.withdrawn.follows: withdrawal_seal(r.letter, r.withdrawn) for r in revisions if r.withdrawn}
    at, count = "", sum(r.withdrawn is not None for r in revisions)
    while at in waiting:
        at = waiting.pop(at)
        count -= 1
    return count == 0 and at == ledger.withdrawals
