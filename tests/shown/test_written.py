"""Sentences, tables and papers of examples and random jobs write numbers, days and units as the job's settings say.

The examples are invented demo data.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

import pytest
from hypothesis import Phase, assume, given, settings
from hypothesis import strategies as st

from estimator.documents.quote import write_quote
from estimator.documents.write import QuoteError
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook
from estimator.shown.findings import sentences_of
from estimator.shown.options import own_words
from estimator.shown.proof_tables import drop_table, line_table, plant_table, sentences
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Study, study
from estimator.units import UnitSystem
from tests.days import STUDIED
from tests.documents.studies import pages_of
from tests.layout.examples import gannet_quay, harrow_mill, tern_bank
from tests.random_jobs import jobs
from tests.written import Written, lived_with, names_in, printable, set_to, wrong_in

_NO_FIGURE = re.compile(r"∞|\b(?:inf|nan)\b", re.IGNORECASE)
LOCALES = ("en_US", "de_DE", "fr_FR", "en_IN", "de_CH", "sv_SE", "ar_EG")
"""Every decimal mark, way to part thousands and order of a day; ar_EG is of a language with digits of its own."""


def told_by(of: Study) -> Iterator[tuple[str, str]]:
    """What is shown of a study, whatever shows it."""
    say = sentences_of(of)
    for finding in of.findings:
        for text in (say.installer(finding), say.customer(finding) or "", finding.source, finding.defer_to):
            yield finding.rule, text
    for table in (drop_table(of), line_table(of), plant_table(of)):
        for column in table.columns:
            yield column.key, f"{column.heading} {column.meaning}"
        for row in table.rows:
            yield row.place, row.told
            for column, cell in zip(table.columns, row.cells, strict=True):
                yield column.key, f"{cell.text} {column.heading.split()[-1]}"
    for sentence in sentences(of):
        yield "sentence", sentence.text


EVERY = [
    *(
        (example, locale, units)
        for example in (gannet_quay, harrow_mill)
        for locale in LOCALES
        for units in UnitSystem
    ),
    (tern_bank, "de_DE", UnitSystem.US),
    (tern_bank, "fr_FR", UnitSystem.METRIC),
    (tern_bank, "en_IN", UnitSystem.US),
    (tern_bank, "en_US", UnitSystem.METRIC),
]


@pytest.mark.parametrize(("example", "locale", "units"), EVERY)
def test_examples_and_their_papers_are_written_as_the_job_says(
    example: object, locale: str, units: UnitSystem
) -> None:
    assert callable(example)
    job = lived_with(set_to(example(), locale, units))
    of = study(job, shipped_price_book(), STUDIED)
    written = Written(locale, units, names_in(job, shipped_price_book()))
    own = [(w.what, f"{w.own} {w.base}") for w in own_words(job, job.alternatives[0].id)]
    assert wrong_in([*told_by(of), *own], written) == []
    if locale == "ar_EG":
        return  # no font of the paper has its letters, which the job's findings say
    pages = pages_of(write_quote(replace(of, on=STUDIED)))
    assert wrong_in([(f"page {i + 1}", page) for i, page in enumerate(pages)], written) == []


# Unshrunk: a whole job takes minutes to make smaller.
@settings(max_examples=25, phases=(Phase.explicit, Phase.reuse, Phase.generate))
@given(jobs(), st.sampled_from(LOCALES), st.sampled_from(UnitSystem), st.booleans())
def test_random_jobs_are_written_as_the_job_says(
    drawn: Job, locale: str, units: UnitSystem, priced: bool
) -> None:
    job = set_to(printable(drawn), locale, units)
    # A bay or a product that somebody calls so is no figure.
    assume(_NO_FIGURE.search(job.model_dump_json()) is None)
    of = study(job, shipped_price_book() if priced else PriceBook(), STUDIED)
    written = Written(locale, units, names_in(job, shipped_price_book()))
    told = [*told_by(of)]
    try:
        pages = pages_of(write_quote(replace(of, on=STUDIED)))
    except QuoteError:
        pages = []  # its findings say why there is none
    told += [(f"page {i + 1}", page) for i, page in enumerate(pages)]
    assert wrong_in(told, written) == []
    # What has no end or is no number is said in words.
    assert [text for _, text in told if _NO_FIGURE.search(text)] == []


@pytest.mark.parametrize(
    ("locale", "right", "wrong"),
    [
        ("en_US", "1,234.5 and 03/31/2027", "1.234,5 and 2,5 and 31.03.2027"),
        ("de_DE", "1.234,5 and 31.03.2027", "1,234.5 and 2.5 and 03/31/2027 and June 2027"),
        ("fr_FR", "1\u202f234,5", "1.234,5 and 2.5"),
        ("en_IN", "12,34,567.5", "1,234,567.5"),
        ("de_CH", "1\u2019234.5", "1,234.5"),
    ],
)
def test_the_reader_notices_another_format(locale: str, right: str, wrong: str) -> None:
    written = Written(locale, UnitSystem.METRIC)
    assert list(written.wrong(right)) == []
    for part in wrong.split(" and "):
        assert list(written.wrong(part)), part


def test_the_reader_notices_units_of_the_other_system_but_not_names() -> None:
    us = Written("en_US", UnitSystem.US, ["Tube 6 x 4 mm", "Tank 20 L"])
    assert list(us.wrong("36 psi in Tube 6 x 4 mm and Tank 20 L")) == []
    for text in ("2.5\xa0bar", "Flow L/min", "7 m", "25 °C"):
        assert list(us.wrong(text)), text
    metric = Written("en_US", UnitSystem.METRIC)
    for text in ("36\xa0psi", "Flow gpm", "7 ft", "77 °F", "3 gal"):
        assert list(metric.wrong(text)), text
