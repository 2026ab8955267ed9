"""The country of a job, and what rules of the United States are worth elsewhere."""

from __future__ import annotations

from datetime import date

import pytest

from estimator.cli.talk import findings_document
from estimator.documents.study_json import study_document
from estimator.model.choices import Chemistry
from estimator.model.countries import Country
from estimator.model.design import Design
from estimator.model.edit import with_value
from estimator.model.finding import Finding
from estimator.model.job import Job
from estimator.model.site import Site
from estimator.reference.resolved import resolve
from estimator.safety.checks import safety_findings
from estimator.shown.cautions import cautions
from estimator.shown.entries import entries_of
from estimator.shown.findings import sentences_of
from estimator.shown.sources import country_line
from estimator.store.jobs import load_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Study, study
from tests.days import STUDIED
from tests.every_field import EXAMPLE
from tests.safety.scene import PARTS, design, product

MARK = "(United States, reference only)"


def told(country: Country | None, made: Design) -> list[Finding]:
    site = Site(country=country)
    found = safety_findings(site, made, resolve(made, PARTS), date(2026, 11, 25))
    return [f for f in found if f.rule.startswith("country")]


def test_it_is_asked_for_once_something_is_designed() -> None:
    made = design(product("foam", Chemistry.STRONG_ALKALI))
    assert [f.rule for f in told(None, made)] == ["country-missing"]
    assert told(Country.US, made) == [] == told(None, Design())
    (abroad,) = told(Country.DE, made)
    assert "the job is in Germany" in abroad.message and abroad.defer_to == "local authority"


def studied(country: Country | None) -> Study:
    job: Job = with_value(load_job(EXAMPLE), ("site", "country"), country)
    return study(job, shipped_price_book(), STUDIED)


@pytest.mark.parametrize("country", [Country.US, Country.FR, None])
def test_every_place_that_tells_a_source_tells_what_it_is_worth(country: Country | None) -> None:
    """List, check, JSON and safety notes; sources that are of no country stay as they are."""
    made = studied(country)
    say = sentences_of(made)
    shown = (
        [e.source(country) for e in entries_of(made.findings)],
        [str(d["source"]) for d in findings_document(made.findings, say, made.job)],
        [str(d["source"]) for d in study_document(made)["findings"]],
        [c.source for c in cautions(made, say)],
    )
    for sources in shown:
        of_there = [s for s in sources if "CFR" in s]
        assert of_there and all((MARK in s) is (country is Country.FR) for s in of_there)
        of_none = [s for s in sources if s.removeprefix("Source: ").startswith("common practice, no source")]
        assert of_none and not any(MARK in s for s in of_none)


def test_the_paper_says_it_once() -> None:
    assert country_line(Country.US) == ""
    assert "The job is in France" in country_line(Country.FR)
    assert "not stated" in country_line(None)
