"""Every list of a job has a limit that is told by its field, and what looks through a list looks once."""

from __future__ import annotations

import typing
from collections.abc import Iterator
from datetime import date
from functools import partial

import annotated_types
import pytest
from pydantic import BaseModel, ValidationError

from estimator.layout.plan import lay_out
from estimator.model.design import Design, Product
from estimator.model.issued import Handed
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook
from estimator.model.problems import problems_of
from estimator.model.site import Site
from estimator.model.snapshot import _doubled_segments
from estimator.reference.catalogue import Catalogue, catalogue
from estimator.reference.resolved import resolve
from estimator.safety.checks import safety_findings
from estimator.store.jobs import job_from_text, job_text
from tests.large_jobs import large_job
from tests.work import calls_of


def _lists(model: type[BaseModel], seen: set[type[BaseModel]]) -> Iterator[tuple[str, int | None]]:
    """Every list below a model with the most that it may hold."""
    if model in seen:
        return
    seen.add(model)
    for name, info in model.model_fields.items():
        for part in _parts(info.annotation):
            if typing.get_origin(part) is tuple:
                most = [m.max_length for m in info.metadata if isinstance(m, annotated_types.MaxLen)]
                yield f"{model.__name__}.{name}", most[0] if most else None
            elif isinstance(part, type) and issubclass(part, BaseModel):
                yield from _lists(part, seen)


def _parts(annotation: object) -> Iterator[object]:
    yield annotation
    for argument in typing.get_args(annotation):
        yield from _parts(argument)


@pytest.mark.parametrize("model", [Job, PriceBook, Handed])
def test_every_list_has_a_limit(model: type[BaseModel]) -> None:
    found = dict(_lists(model, set()))
    assert found
    assert [name for name, most in found.items() if most is None] == []


def test_the_limits_are_those_that_a_large_shop_needs() -> None:
    found = dict(_lists(Job, set()))
    wanted = {"bays": 100, "drops": 1600, "products": 400, "plant": 400, "lines": 401}
    assert {name: found[f"Design.{name}"] for name in wanted} == wanted
    assert (found["Job.alternatives"], found["Job.issued"]) == (50, 200)


def test_one_more_than_the_limit_is_told_by_field_and_number() -> None:
    with pytest.raises(ValidationError) as caught:
        Design(products=tuple(Product(id=f"p{i}") for i in range(401)))
    (problem,) = problems_of(caught.value, Design)
    assert problem.message == "Products: There are too many; 400 at most."


def test_a_whole_large_job_comes_back() -> None:
    job = large_job()
    sizes = [len(job.design.products), len(job.design.bays), len(job.design.drops), len(job.alternatives)]
    assert sizes == [400, 100, 1600, 50]
    assert job_from_text(job_text(job), "large") == job


def test_measured_lengths_are_looked_through_once() -> None:
    """A look back from each at all before it took 40,000 of them 14 s; no clock here, so the work is that of a list
    whose members count what they are compared with."""
    compared = 0

    class Counted(str):
        __slots__ = ()

        def __eq__(self, other: object) -> bool:
            nonlocal compared
            compared += 1
            return str.__eq__(self, other) is True

        __hash__ = str.__hash__

    names = [Counted(f"s{i}") for i in range(2000)]
    assert _doubled_segments((), [*names, *names[:2]])
    assert compared < 100


def test_a_layout_and_the_cautions_grow_with_the_job() -> None:
    """Twice the job, at most a little more than twice the calls."""
    jobs = [large_job(share, options=False) for share in (0.05, 0.1)]
    parts = catalogue()

    def cautions(site: Site, design: Design, parts: Catalogue) -> object:
        return safety_findings(site, design, resolve(design, parts), date(2026, 11, 25))

    for stage in (lay_out, cautions):
        stage(jobs[0].site, jobs[0].design, parts)  # what is kept for all jobs is loaded
        small, large = (calls_of(partial(stage, job.site, job.design, parts)) for job in jobs)
        assert large < 2.4 * small
