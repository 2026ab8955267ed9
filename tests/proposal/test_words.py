"""A proposal speaks in the units and names of the job, and never of a drop or segment by its id."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

import pytest

from estimator.layout.plan import lay_out
from estimator.model.edit import with_value
from estimator.model.finding import Finding, Phrase
from estimator.model.job import Job
from estimator.proposal.propose import propose
from estimator.proposal.types import Proposal
from estimator.reference.catalogue import catalogue
from estimator.shown.figures import figures_of
from estimator.shown.findings import Sentences
from estimator.shown.names import Names
from estimator.store.pricebooks import shipped_price_book
from estimator.units import UnitSystem

METRIC = re.compile(r"\d[ \u00a0](bar|L/min|m/s|°C|m|L)\b")


def _proposed(job: Job) -> tuple[Sentences, Proposal]:
    layout, _ = lay_out(job.site, job.design, catalogue())
    proposal = propose(job.site, job.design, layout, catalogue(), shipped_price_book(), Decimal(55))
    return Sentences(figures_of(job), Names(job.design, layout)), proposal


def _american(job: Job, *edits: tuple[tuple[str | int, ...], Any]) -> Job:
    for path, value in ((("units",), UnitSystem.US), *edits):
        job = with_value(job, path, value)
    return job


def _ids(job: Job) -> list[str]:
    return [d.id for d in job.design.drops]


def test_reasons_and_neighbours_are_in_the_units_of_the_job(gannet: Job) -> None:
    job = _american(gannet)
    said, proposal = _proposed(job)
    phrases: list[Phrase] = []
    for line in proposal.lines:
        phrases.append(line.note)
        for choice in line.choices:
            phrases.append(choice.reason)
            phrases += [near.note for near in (choice.smaller, choice.larger) if near is not None]
    told = [said.phrase(phrase) for phrase in phrases]
    assert any("psi" in text for text in told) and any("gpm" in text for text in told)
    assert [text for text in told if METRIC.search(text)] == []
    assert [text for text in told for key in _ids(job) if key in text] == []


@pytest.mark.parametrize(
    ("edit", "rule"),
    [
        ((("site", "air", "pressure"), "7 psi"), "proposal-air-pressure"),
        ((("site", "air", "pressure"), "0 psi"), "proposal-no-air"),
        ((("design", "products", 1, "viscosity"), "10000 cP"), "proposal-"),
        ((("site", "water", "temperature"), "200 °F"), "proposal-not-possible"),
    ],
)
def test_what_does_not_work_is_told_in_the_units_of_the_job(
    gannet: Job, edit: tuple[tuple[str | int, ...], Any], rule: str
) -> None:
    job = _american(gannet, edit)
    said, proposal = _proposed(job)
    found: list[Finding] = [f for f in proposal.infeasible if f.rule.startswith(rule)]
    assert found
    for finding in found:
        text = said.installer(finding)
        assert not METRIC.search(text), text
        assert not any(key in text for key in _ids(job)), text
