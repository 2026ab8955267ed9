"""What a quote calls itself: a draft until it is issued, a revision with its fingerprint afterwards; and its file."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from estimator.model.issued import Issued
from estimator.model.job import Job
from estimator.model.seals import short

__all__ = ["Mark", "draft_mark", "draft_path", "mark_of", "paper_stem"]

_MOST_BYTES: Final = 180
"""Of the 255 that a disk has for a whole name, so that what the paper is and its ending have room beside it."""


@dataclass(frozen=True, slots=True)
class Mark:
    """What a paper is.

    Attributes:
        letter: of the revision; "" for a draft.
        after: letter of the revision issued last before a draft; "" where there was none.
        fingerprint: of the revision's text; "" for a draft.
    """

    letter: str = ""
    after: str = ""
    fingerprint: str = ""

    @property
    def is_draft(self) -> bool:
        """Whether it was not issued."""
        return not self.letter

    @property
    def name(self) -> str:
        """What it calls itself.

        >>> Mark(letter="B").name, Mark().name, Mark(after="B").name
        ('Revision B', 'Draft', 'Draft after revision B')
        """
        if self.letter:
            return f"Revision {self.letter}"
        return f"Draft after revision {self.after}" if self.after else "Draft"

    @property
    def short(self) -> str:
        """Short form of the fingerprint."""
        return short(self.fingerprint)


def draft_mark(job: Job) -> Mark:
    """Of the job as it is now, which is not issued."""
    return Mark(after=job.ledger.last)


def mark_of(issued: Issued) -> Mark:
    """Of an issued revision."""
    return Mark(letter=issued.letter, fingerprint=issued.fingerprint)


def paper_stem(job: Job, issued: Issued | None = None, *, letter: str = "") -> str:
    """Name of a paper's file without its ending: letters, digits and hyphens alone.

    Args:
        job: names the quote.
        issued: one of its revisions; a draft of the job as it is now if left out.
        letter: of a revision that is about to be issued.

    >>> paper_stem(Job()), paper_stem(Job(), letter="A")
    ('job-draft', 'job-a')
    """
    mark = Mark(letter=letter) if letter else draft_mark(job) if issued is None else mark_of(issued)
    state = mark.name.removeprefix("Revision ").replace("revision ", "")
    if issued is not None and issued.withdrawn is not None:
        state += " withdrawn"
    words = job.quote.number or job.quote.title or job.customer.name or "job"
    stem = _plain(words)[:60].encode()[:_MOST_BYTES].decode(errors="ignore").strip("-") or "job"
    return f"{stem}-{_plain(state)}"


def draft_path(wanted: Path) -> Path:
    """Where a draft goes: a file whose name says that it is one, wherever a person wants it.

    Args:
        wanted: a name with its ending.

    >>> [draft_path(Path(name)).name for name in ("offer.pdf", "Offer v1.2.PDF", "q-7-draft.pdf", "My DRAFT 2.pdf")]
    ['offer-draft.pdf', 'Offer v1.2-draft.PDF', 'q-7-draft.pdf', 'My DRAFT 2.pdf']
    """
    words = _plain(wanted.stem).split("-")
    return wanted if "draft" in words else wanted.with_name(f"{wanted.stem}-draft{wanted.suffix}")


def _plain(words: str) -> str:
    return "-".join("".join(c if c.isalnum() else " " for c in words).split()).lower()
