"""The work of a quote, in calls: a share of what the library needs for the plain text of the same pages.

The same is timed by `tests/benchmarks/paper_speed.py`, where the plain text is defined.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from estimator.documents.quote import write_quote
from tests.benchmarks.paper_speed import flow, pages_of
from tests.documents.studies import DAY, made, raw
from tests.documents.test_large import _large
from tests.work import calls_of


def _times_the_plain_text(job: dict[str, object]) -> float:
    pages = pages_of(write_quote(replace(made(job), on=DAY)))
    fresh = replace(made(job), on=DAY)
    return calls_of(partial(write_quote, fresh)) / calls_of(partial(flow, pages))


def test_a_quote_takes_few_times_the_calls_of_its_plain_text() -> None:
    found = _times_the_plain_text(raw())
    assert found <= 3.0, f"{found:.2f} times the calls of the plain text"


def test_a_quote_of_six_hundred_drops_too() -> None:
    found = _times_the_plain_text(_large())
    assert found <= 7.0, f"{found:.2f} times the calls of the plain text"
