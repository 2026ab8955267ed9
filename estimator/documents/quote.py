"""The quote: what a customer reads, ticks and signs."""

from __future__ import annotations

from typing import Final

from estimator.documents.pages.acceptance import ACCEPTANCE
from estimator.documents.pages.basis import BASIS
from estimator.documents.pages.changes import CHANGES
from estimator.documents.pages.conditions import CONDITIONS
from estimator.documents.pages.cover import COVER
from estimator.documents.pages.items import ITEMS
from estimator.documents.pages.labels import LABELS
from estimator.documents.pages.options import OPTIONS
from estimator.documents.pages.picture import KEY, PICTURE, WALL_PLAN
from estimator.documents.pages.safety import SAFETY
from estimator.documents.pages.scope import SCOPE
from estimator.documents.pages.sides import SIDES
from estimator.documents.paper import Audience, Paper
from estimator.documents.printable import unprintable
from estimator.documents.write import QuoteError, write_paper
from estimator.going import ALONE, Going
from estimator.model.issued import Issued, TextError, job_then
from estimator.model.job import Job
from estimator.model.revisions import standing
from estimator.model.snapshot import snapshot_of
from estimator.pricing.revise import job_changes
from estimator.study import Study

__all__ = [
    "LABEL_SHEETS",
    "PAPERS",
    "QUOTE",
    "SAFETY_NOTES",
    "QuoteError",
    "notes_of",
    "unprintable",
    "write_labels",
    "write_notes",
    "write_quote",
    "write_revision",
]

QUOTE: Final = Paper(
    "quote",
    "Quote",
    Audience.CUSTOMER,
    (COVER, CHANGES, SCOPE, KEY, PICTURE, SIDES, ITEMS, OPTIONS, CONDITIONS, ACCEPTANCE, BASIS, SAFETY),
    covered=True,
)
"""A new chapter is a module of its own and a place in this list."""

SAFETY_NOTES: Final = Paper("safety", "Safety notes", Audience.CREW, (SAFETY, KEY, WALL_PLAN))
"""For the wall beside the board: the notes, and the plan with the board on it."""

LABEL_SHEETS: Final = Paper("labels", "Labels", Audience.CREW, (LABELS,))
"""To stick on containers, day tanks and lines."""

PAPERS: Final = (QUOTE, SAFETY_NOTES, LABEL_SHEETS)
"""All that can be written of a study."""


def write_quote(study: Study, going: Going = ALONE) -> bytes:
    """A draft of the quote as a PDF, with its offered options and what changed since the revision that stands.

    Args:
        study: what is quoted; only its selling prices are printed. Its day is the day of printing, and the date of
            a quote that has none of its own.
        going: asked on the way whether it is still wanted.

    Returns:
        The file's bytes, the same for the same study and day. A4 for metric jobs, Letter for US units.

    Raises:
        QuoteError, Stopped: as of `write_paper`.
    """
    return write_paper(QUOTE, study, None, going)


def write_revision(study: Study, issued: Issued, going: Going = ALONE) -> bytes:
    """The quote of a revision that is being issued: drawn this once, kept and only copied from then on.

    Args:
        study: what is issued, of a job with the revisions before this one.
        issued: the revision, without a paper yet.
        going: asked on the way whether it is still wanted.

    Raises:
        QuoteError, Stopped, TextError: as of `write_paper`.
    """
    return write_paper(QUOTE, study, issued, going)


def notes_of(job: Job) -> Issued | None:
    """The revision that the safety notes of a job are for: the one that stands, as long as nothing was decided
    otherwise since; None for a draft."""
    stands = standing(job)
    if stands is None:
        return None
    try:
        moved = job_changes(job_then(stands), snapshot_of(job))
    except TextError:
        return None  # nobody can tell whether it is the same
    return None if moved else stands


def write_notes(study: Study, going: Going = ALONE) -> bytes:
    """The safety notes as a PDF for the wall beside the board, a draft where the job is not as it was handed over.

    Raises:
        QuoteError, Stopped, TextError: as of `write_paper`.
    """
    return write_paper(SAFETY_NOTES, study, notes_of(study.job), going)


def write_labels(study: Study, going: Going = ALONE) -> bytes:
    """The labels for containers, day tanks and lines as a PDF of label sheets; each tells of what quote it is.

    Raises:
        QuoteError, Stopped, TextError: as of `write_paper`; QuoteError too where a label has no room for its text or
            the sheet does not fit the page, or nothing is stated of a product's hazards.
    """
    return write_paper(LABEL_SHEETS, study, notes_of(study.job), going)
