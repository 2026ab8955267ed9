"""The papers of a list of jobs that are unlike each other, printed once for all tests, and what stands on their pages.

Invented demo data.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache, partial
from typing import Final

import pypdf
import pypdfium2

from estimator.acts.alternates import with_guns, with_mounts
from estimator.acts.issue import issue
from estimator.acts.options import with_option
from estimator.acts.quick_build import GunGrade, QuickBuild, built
from estimator.documents.paper import Paper
from estimator.documents.quote import PAPERS, QUOTE, write_revision
from estimator.documents.write import write_paper
from estimator.model.choices import HoseKind, Mount
from estimator.model.edit import with_value
from estimator.model.issued import kept_paper
from estimator.model.job import Job
from estimator.model.revisions import revision
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Study, study
from estimator.units import Dimension, UnitSystem, parse
from tests.documents.studies import DAY, made, raw, reader

__all__ = ["JOBS", "Box", "Printed", "headings", "letters", "lines", "printed"]

_LATER: Final = date(2027, 3, 9)
_DRAFT_LETTERS: Final = 60.0
"""Points: the word across a draft is larger than anything else."""


def _twelve_bays() -> Job:
    length = partial(parse, dimension=Dimension.LENGTH)
    inputs = QuickBuild(
        bays=12, products=8, drops_per_side=8, floor_width=length("230 ft"), floor_depth=length("60 ft")
    )
    return with_value(built(made(raw()).job, inputs), ("units",), UnitSystem.US)


def _german() -> Job:
    job = raw("harrow-mill")
    job["units"] = "metric"
    job["terms"] |= {
        "locale": "de_DE",
        "currency": "EUR",
        "tax_name": "Umsatzsteuer",
        "tax_percent": "19",
        "more_taxes": [
            {"id": "less", "name": "Ermäßigte Umsatzsteuer", "percent": "7"},
            {"id": "fee", "name": "Abwasserabgabe", "percent": "2.5"},
        ],
        "extras": [
            {"kind": "freight", "description": "Anlieferung mit Kranwagen", "low": "150", "likely": "180",
             "high": "260", "taxable": True, "tax": "less"},
            {"kind": "permits", "description": "Anzeige bei der Behörde", "low": "80", "likely": "90",
             "high": "140", "taxable": True, "tax": "fee"},
        ],
        "stages": [
            {"name": "Bei Auftrag", "percent": "30"},
            {"name": "Nach der Montage der Leitungen", "percent": "50"},
            {"name": "Nach der Abnahme", "percent": "20"},
        ],
    }  # fmt: skip
    return _with_options(made(job).job)


def _with_options(job: Job) -> Job:
    job, _ = with_option(job, "Pistolen aus Metall", with_guns(job.design, GunGrade.METAL), offered=True)
    job, _ = with_option(job, "Platten", with_mounts(job.design, Mount.PANEL), offered=True)
    return job


def _air_only() -> Job:
    job = raw()
    design = job["design"]
    design["drops"] = [d for d in design["drops"] if d["service"] == "air"]
    design["products"], design["plant"], design["lines"] = [], [], []
    return made(job).job


def _issue(job: Job, on: date, reason: str) -> Job:
    whole = study(job, shipped_price_book(), on)
    return issue(whole, reason, partial(write_revision, whole))


@cache
def _revised() -> Job:
    job = _issue(_with_options(made(raw()).job), DAY, "First quote")
    job = with_value(job, ("design", "drops", 0, "hose"), HoseKind.STRAIGHT)
    return _issue(job, _LATER, "As agreed at the counter.")


JOBS: Final[dict[str, Callable[[], Job]]] = {
    "gannet-quay": lambda: made(raw()).job,
    "harrow-mill": lambda: made(raw("harrow-mill")).job,
    "tern-bank": lambda: made(raw("tern-bank")).job,
    "twelve bays on Letter": _twelve_bays,
    "German, three taxes, stages, two options": _german,
    "revision B": _revised,
    "air alone": _air_only,
    "empty": lambda: made({}).job,
}


@dataclass(frozen=True)
class Box:
    """What stands in a rectangle of a page, in points from its bottom left."""

    page: int
    text: str
    left: float
    bottom: float
    right: float
    top: float


@dataclass(frozen=True)
class Printed:
    """A paper of one of the jobs."""

    study: Study
    paper: Paper
    pdf: bytes


@cache
def _study(name: str) -> Study:
    job = JOBS[name]()
    book = shipped_price_book().model_copy(update={"currency": job.terms.currency})
    return study(job, book, _LATER if name == "revision B" else DAY)


@cache
def printed(name: str, key: str) -> Printed:
    """A paper of a job of the list, made once."""
    paper = next(p for p in PAPERS if p.key == key)
    whole = _study(name)
    if name == "revision B" and paper is QUOTE:
        return Printed(whole, paper, kept_paper(revision(whole.job, "B")))
    return Printed(whole, paper, write_paper(paper, whole))


@cache
def letters(pdf: bytes) -> tuple[tuple[Box, ...], ...]:
    """The letters of each page in the order they are read, without spaces and the word across a draft."""
    document = pypdfium2.PdfDocument(pdf)
    return tuple(tuple(_letters(document[number], number)) for number in range(len(document)))


def _letters(page: pypdfium2.PdfPage, number: int) -> Iterator[Box]:
    text = page.get_textpage()
    letters = text.get_text_range()
    # Beyond the first plane a letter counts twice; none of these papers has one.
    for i, letter in enumerate(letters):
        if not letter.strip():
            continue
        left, bottom, right, top = text.get_charbox(i)
        if right - left < _DRAFT_LETTERS and top - bottom < _DRAFT_LETTERS:
            yield Box(number, letter, left, bottom, right, top)


def lines(page: Sequence[Box]) -> tuple[Box, ...]:
    """Letters of a page that follow each other on one line, as one box each."""
    found: list[list[Box]] = []
    for box in page:
        last = found[-1][-1] if found else None
        if (
            last is not None
            and -1.0 < box.left - last.right < 6.0
            and min(box.top, last.top) - max(box.bottom, last.bottom) > -2.0
        ):
            found[-1].append(box)
        else:
            found.append([box])
    return tuple(
        Box(
            line[0].page,
            "".join(box.text for box in line),
            min(box.left for box in line),
            min(box.bottom for box in line),
            max(box.right for box in line),
            max(box.top for box in line),
        )
        for line in found
    )


def headings(pdf: bytes) -> tuple[tuple[int, str, int, float], ...]:
    """Depth, words, page (from 0) and height on it of each entry of the outline."""
    document = reader(pdf)

    def walk(entries: Sequence[object], depth: int) -> Iterator[tuple[int, str, int, float]]:
        for entry in entries:
            if isinstance(entry, list):
                yield from walk(entry, depth + 1)
            elif isinstance(entry, pypdf.generic.Destination):
                number = document.get_destination_page_number(entry)
                assert number is not None and entry.top is not None
                yield depth, str(entry.title), number, float(entry.top)

    return tuple(walk(document.outline, 0))
