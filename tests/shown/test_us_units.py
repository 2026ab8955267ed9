"""A job in US units is read in US units in every number format, but for names that parts are sold by."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from estimator.model.edit import with_value
from estimator.shown.findings import sentences_of
from estimator.shown.proof_tables import drop_table, line_table, plant_table, sentences
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Study, study
from estimator.units import UnitSystem
from tests.days import STUDIED
from tests.layout.examples import gannet_quay

_METRIC = re.compile(r"\d\s(?:bar|kPa|L/min|L|m|cm|m/s|°C)(?![\w/])")
_NAMES = re.compile(r"[\w.]+ x [\w.]+ mm|[\d.,]+ L day tank|Day tank,? [\d.,]+ L")


def metric(text: str) -> list[str]:
    """Metric quantities in a text, without the names that tubes and tanks are sold by."""
    return [found[0] for found in _METRIC.finditer(_NAMES.sub("", text.replace("\u00a0", " ")))]


def _read(of: Study) -> Iterator[str]:
    say = sentences_of(of)
    for finding in of.findings:
        yield say.installer(finding)
        yield say.customer(finding) or ""
    for table in (drop_table(of), line_table(of), plant_table(of)):
        for column in table.columns:
            yield f"1 {column.heading.split()[-1]}"
        for row in table.rows:
            yield row.told
    yield from (sentence.text for sentence in sentences(of))


@pytest.mark.parametrize("locale", ["en_US", "de_DE", "fr_FR", "de_CH", "en_IN"])
def test_sentences_and_tables_of_a_us_job_are_in_us_units(locale: str) -> None:
    job = with_value(with_value(gannet_quay(), ("units",), UnitSystem.US), ("terms", "locale"), locale)
    told = list(_read(study(job, shipped_price_book(), STUDIED)))
    assert [text for text in told if metric(text)] == []
    assert sum(" psi" in text.replace("\u00a0", " ") for text in told) > 20


def test_a_metric_quantity_is_noticed() -> None:
    assert metric("9.2 psi, then 2,5\u00a0bar and 7 m of 6 x 4 mm tube") == ["5 bar", "7 m"]
