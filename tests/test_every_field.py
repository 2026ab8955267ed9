"""Every field of a job moves something: a figure, a finding or a word on the paper."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import Final

import pytest

from estimator.documents.quote import QuoteError, write_labels, write_quote
from estimator.model.edit import value_at
from estimator.model.job import Job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Pipeline, Study
from tests.days import STUDIED
from tests.every_field import Field, changed, fields_in, others, scenes

REASONS: Final[dict[str, str]] = {
    "Alternative.id": "what the option is known by; a person reads its name",
    "Bay.id": "what the bay is known by; a person reads its name",
    "Design.pinned": "what a proposal leaves alone; a study proposes nothing",
    "Job.format": "how the file is read",
    "Product.id": "what the product is known by, and all that refers to it with it; a person reads its name",
    "QuoteInfo.first_letter": "what the first revision is called once it is issued; a study issues nothing",
    "Product.container_price": "counts in the savings, which are not worked out yet",
}
"""Fields that move nothing, each with its reason."""

GLANCES = 2
BOOK = shipped_price_book()
SCENES = scenes()
FIELDS = {field.name: field for job in SCENES for field in fields_in(job)}


@lru_cache(maxsize=8)
def _pipeline(scene: int) -> Pipeline:
    return Pipeline()


@lru_cache(maxsize=8)
def _before(scene: int) -> Study:
    return _pipeline(scene).study(SCENES[scene], BOOK, STUDIED)


@lru_cache(maxsize=8)
def _paper_before(scene: int) -> tuple[bytes | str, ...]:
    return _paper(_before(scene))


def _paper(study: Study) -> tuple[bytes | str, ...]:
    printed: list[bytes | str] = []
    for write in (write_quote, write_labels):
        try:
            printed.append(write(study))
        except QuoteError as refused:
            printed.append(str(refused))
    return tuple(printed)


def _figures(study: Study) -> list[object]:
    rows = [
        (r.takeoff.code, r.takeoff.section, r.takeoff.quantity, r.takeoff.existing, r.cost, r.price)
        for r in study.price.rows
    ]
    return [
        study.layout,
        study.proof,
        rows,
        study.price.totals,
        study.price.taxes,
        study.price.stages,
        study.bought,
    ]


def _tries(field: Field, scenes: int, places: int) -> Iterator[tuple[int, Job]]:
    """The scenes with another value in a place of the field, as far as one is allowed."""
    for scene, job in enumerate(SCENES[:scenes]):
        for place in field.places[:places]:
            try:
                value = value_at(job, place)
            except LookupError:
                continue  # this scene has no such row
            for other in others(field.spec, value, job):
                new = changed(job, place, other)
                if new is not None and new != job:
                    yield scene, new


def what_moves(field: Field, scenes: int = len(SCENES), places: int = 5) -> str:
    """The first thing found that one of the other values moves: "figure", "finding", "paper"; "" if nothing is."""
    # A glance at each scene first, without paper: printing takes far longer than all else.
    glances = [0] * scenes
    for scene, new in _tries(field, scenes, 1):
        glances[scene] += 1
        if glances[scene] <= GLANCES and (moved := _moved(scene, _study(scene, new))):
            return moved
    tried = 0
    for scene, new in _tries(field, scenes, places):
        tried += 1
        after = _study(scene, new)
        if moved := _moved(scene, after):
            return moved
        if _paper(after) != _paper_before(scene):
            return "paper"
    assert tried or field.name in REASONS, f"{field.name}: no other value was allowed, so nothing was tried"
    return ""


def _study(scene: int, job: Job) -> Study:
    return _pipeline(scene).study(job, BOOK, STUDIED)


def _moved(scene: int, after: Study) -> str:
    """What moves in the study alone, without its paper."""
    before = _before(scene)
    if _figures(after) != _figures(before):
        return "figure"
    if [(f.rule, f.message) for f in after.findings] != [(f.rule, f.message) for f in before.findings]:
        return "finding"
    if [_figures(o) for o in after.options] != [_figures(o) for o in before.options]:
        return "figure"
    return ""


@pytest.mark.parametrize("name", sorted(FIELDS))
def test_a_field_moves_something_or_carries_its_reason(name: str) -> None:
    if name in REASONS:
        # One place is enough to see that a reason has become untrue.
        assert what_moves(FIELDS[name], scenes=1, places=1) == "", (
            "moves something: its reason is out of date"
        )
    else:
        assert what_moves(FIELDS[name]), "moves nothing"


def test_every_reason_is_of_a_field_that_there_is() -> None:
    assert set(REASONS) <= set(FIELDS)
