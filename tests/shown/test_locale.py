"""Numbers, days and money follow the one setting of the job, in everything that a person reads.

Gannet Quay is invented demo data.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

import pytest

from estimator.documents.quote import write_quote
from estimator.model.edit import with_value
from estimator.pricing.policy import what_it_buys
from estimator.shown.findings import sentences_of
from estimator.shown.proof_tables import drop_table, line_table, plant_table, sentences
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Study, study
from estimator.units import UnitSystem
from tests.days import STUDIED
from tests.documents.studies import text_of
from tests.layout.examples import gannet_quay

_ISO_DAY = re.compile(r"\b\d{4}-\d\d-\d\d\b")
_KEPT = (
    r"\bCFR \d+\.\d+( and \d+\.\d+)?",  # numbers of rules
    r"\bUPC \d+ [\d.]+",
)


@pytest.fixture(scope="module", params=[UnitSystem.METRIC, UnitSystem.US])
def german(request: pytest.FixtureRequest) -> Study:
    job = with_value(with_value(gannet_quay(), ("units",), request.param), ("terms", "locale"), "de_DE")
    return study(job, shipped_price_book(), STUDIED)


def _read(of: Study) -> Iterator[str]:
    say = sentences_of(of)
    for finding in of.findings:
        yield say.installer(finding)
        yield say.customer(finding) or ""
    for table in (drop_table(of), line_table(of), plant_table(of)):
        for row in table.rows:
            yield row.told
            yield from (cell.text for cell in row.cells)
    yield from (sentence.text for sentence in sentences(of))


def _points(text: str) -> list[str]:
    """Decimal points and days of a file in a text; thousands have three digits after the point."""
    for kept in _KEPT:
        text = re.sub(kept, "", text)
    points = [m[0] for m in re.finditer(r"(?<![\w.,-])\d+\.\d+(?![\w,-])", text) if not _thousands(m[0])]
    return [*points, *_ISO_DAY.findall(text)]


def _thousands(number: str) -> bool:
    return re.fullmatch(r"[1-9]\d{0,2}(\.\d{3})+", number) is not None


def test_sentences_and_tables_have_no_point_in_german(german: Study) -> None:
    told = list(_read(german))
    assert len(told) > 100
    assert [(p, text) for text in told for p in _points(text)] == []
    assert any(re.search(r"\d,\d", text) for text in told)


def test_the_paper_has_no_point_in_german(german: Study) -> None:
    text = text_of(write_quote(replace(german, on=STUDIED)))
    # A person's own words and the names of parts stand as they are.
    own = [
        *german.job.terms.assumptions,
        *german.job.terms.exclusions,
        *(r.description for r in german.price.rows),
    ]
    for words in own:
        text = text.replace(" ".join(words.split()), "")
    assert [(p, text[text.index(p) - 40 : text.index(p) + 40]) for p in _points(text)] == []
    assert re.search(r"\d\.\d{3},\d\d\s\$", text)


def test_in_english_no_comma_parts_decimals() -> None:
    told = list(_read(study(gannet_quay(), shipped_price_book(), STUDIED)))
    assert [text for text in told if re.search(r"\d,\d{1,2}(?!\d)", text)] == []
    assert [text for text in told if _ISO_DAY.search(text)] == []


def test_the_margin_has_a_decimal_comma_in_german(german: Study) -> None:
    words = what_it_buys(german.price, german.job.terms, german.risk.result).words
    assert _points(words) == []
    assert re.search(r"margin is \d+,\d %|margin is \d+ %", words)
