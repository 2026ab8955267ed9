"""The new-system example, ready to be changed and proved."""

from __future__ import annotations

from collections.abc import Callable
from importlib import resources
from typing import Any

import pytest

from estimator.model.edit import with_value
from estimator.model.job import Job
from estimator.store.jobs import load_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Study, study
from tests.days import STUDIED


@pytest.fixture(scope="session")
def gannet() -> Job:
    """The shipped new-system job."""
    with resources.as_file(resources.files("resources") / "examples" / "gannet-quay.baydrop") as path:
        return load_job(path)


@pytest.fixture(scope="session")
def studied(gannet: Job) -> Callable[..., Study]:
    """Study of the example after edits: studied((("site", "water", "temperature"), "40 °C"), ...)."""

    def make(*edits: tuple[tuple[str | int, ...], Any]) -> Study:
        job = gannet
        for path, value in edits:
            job = with_value(job, path, value)
        return study(job, shipped_price_book(), STUDIED)

    return make


@pytest.fixture(scope="session")
def on_the_street(gannet: Job) -> Callable[..., Study]:
    """The same without the break tank of the example: its board stands under the pressure of the street."""

    def make(*edits: tuple[tuple[str | int, ...], Any]) -> Study:
        common = ("design", "common")
        street = (((*common, "backflow"), "backflow-device"), ((*common, "booster"), "no-booster"))
        job = gannet
        for path, value in (*street, *edits):
            job = with_value(job, path, value)
        return study(job, shipped_price_book(), STUDIED)

    return make


def rules(made: Study) -> set[str]:
    """Names of the rules that found something."""
    return {f.rule for f in made.findings}
