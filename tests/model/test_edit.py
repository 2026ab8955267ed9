"""Edits give a new job, leave the old one alone, and keep what they do not touch as the same objects."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from estimator.model.design import AIR, Bay, Design, Drop, Product
from estimator.model.edit import EditError, inserted, moved, removed, value_at, with_value
from estimator.model.job import Job
from tests.random_jobs import jobs

JOB = Job(
    design=Design(
        products=(Product(id="wash"), Product(id="wax")),
        bays=(Bay(id="b1"), Bay(id="b2")),
        drops=(Drop(id="d1", bay="b1", service="wash"), Drop(id="d2", bay="b2", service=AIR)),
    )
)


def test_a_changed_value_and_what_stays() -> None:
    new = with_value(JOB, ("design", "drops", 1, "hose_length"), "25 ft")
    assert new.design.drops[1].hose_length.si == pytest.approx(7.62, rel=1e-12)
    assert JOB.design.drops[1].hose_length.text == "6 m"
    assert new.design.drops[0] is JOB.design.drops[0]
    assert all(a is b for a, b in zip(new.design.products, JOB.design.products, strict=True))
    assert new.site is JOB.site


@pytest.mark.parametrize(
    ("path", "value", "place", "words"),
    [
        (
            ("design", "drops", 1, "hose_length"),
            "5 psi",
            "design.drops.1.hose_length",
            "Drops 2, Hose length: ",
        ),
        (("design", "drops", 1, "bay"), "b9", "design.drops.1.bay", "There is no bay “b9”"),
        (("design", "bays", 0, "id"), "b2", "design.bays.0.id", "stands 2 times"),
        (("site", "floor", "width"), 20, "site.floor.width", "text with a number and a unit"),
        (("terms", "currency"), "usd", "terms.currency", "ISO 4217"),
    ],
)
def test_what_is_not_allowed_changes_nothing(
    path: tuple[str | int, ...], value: object, place: str, words: str
) -> None:
    before = JOB.model_dump_json()
    with pytest.raises(EditError) as caught:
        with_value(JOB, path, value)
    finding = next(f for f in caught.value.findings if f.place == place)
    assert words in finding.message
    assert JOB.model_dump_json() == before


def test_rows_put_in_taken_out_and_moved() -> None:
    more = inserted(JOB, ("design", "drops"), 1, Drop(id="d3", bay="b1", service=AIR))
    assert [d.id for d in more.design.drops] == ["d1", "d3", "d2"]
    assert [d.id for d in moved(more, ("design", "drops"), 0, 2).design.drops] == ["d3", "d2", "d1"]
    assert removed(more, ("design", "drops"), 1) == JOB


def test_a_bay_that_drops_hang_in_cannot_be_taken_out() -> None:
    with pytest.raises(EditError, match="There is no bay “b1”"):
        removed(JOB, ("design", "bays"), 0)


@pytest.mark.parametrize(
    "path", [("nothing",), ("design", "drops", 9), ("design", "drops", 0, "x"), ("format", 1)]
)
def test_nothing_there(path: tuple[str | int, ...]) -> None:
    with pytest.raises(LookupError):
        value_at(JOB, path)
    with pytest.raises(LookupError):
        with_value(JOB, path, 1)


@settings(
    deadline=None, max_examples=30, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)
@given(jobs(), st.data())
def test_taking_out_and_putting_back_is_the_same_job(job: Job, data: st.DataObject) -> None:
    drops = job.design.drops
    if not drops:
        return
    at = data.draw(st.integers(0, len(drops) - 1))
    less = removed(job, ("design", "drops"), at)
    assert len(less.design.drops) == len(drops) - 1
    assert inserted(less, ("design", "drops"), at, drops[at]) == job
    to = data.draw(st.integers(0, len(drops) - 1))
    assert moved(moved(job, ("design", "drops"), at, to), ("design", "drops"), to, at) == job
