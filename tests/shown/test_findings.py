"""Findings in the units and names of the job: psi, ft and gpm in US units, and never an id."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import date
from decimal import Decimal
from itertools import count

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.documents.quote import write_quote
from estimator.model.design import AIR, Bay, Design
from estimator.model.finding import (
    Amount,
    Count,
    Fact,
    Finding,
    IdKind,
    Listed,
    Money,
    Number,
    Phrase,
    Ref,
    Severity,
    facts,
)
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook
from estimator.shown.figures import Figures
from estimator.shown.findings import CUSTOMER, Sentences, sentences_of
from estimator.shown.names import Names
from estimator.store.pricebooks import shipped_price_book
from estimator.study import study
from estimator.units import Dimension, UnitSystem, parse
from tests.documents.studies import made, raw, text_of
from tests.random_jobs import jobs
from tests.telling import saying

P, L = Dimension.PRESSURE, Dimension.LENGTH
_METRIC_ONLY = re.compile(r"\d\s(?:m|cm|mm|bar|mbar|kPa|MPa|Pa|L|mL|m3|L/min|L/h|L/s|°C|m/s)(?![\w/])")
_US_ONLY = re.compile(r"\d\s(?:ft|in|yd|psi|gpm|gph|gal|qt|cfm|scfm|°F|ft/s|fl oz)(?![\w/])")


def told(system: UnitSystem, sentence: str, locale: str = "en_US", **named: Fact) -> str:
    job = Job()
    return Sentences(Figures(locale, "EUR", system), Names(job.design)).installer(saying(sentence, **named))


@pytest.mark.parametrize(
    ("system", "locale", "words"),
    [
        # 1 bar = 14.503 774 psi (NIST SP 811): 2.5 bar = 36.26 psi.
        (UnitSystem.METRIC, "en_US", "2.5\xa0bar, 6\xa0m"),
        (UnitSystem.METRIC, "de_DE", "2,5\xa0bar, 6\xa0m"),
        (UnitSystem.US, "en_US", "36.3\xa0psi, 19.7\xa0ft"),
    ],
)
def test_amounts_are_told_in_the_units_and_the_language_of_the_job(
    system: UnitSystem, locale: str, words: str
) -> None:
    assert told(system, "{a}, {b}", locale, a=Amount(250_000.0, P), b=Amount.of(parse("6 m", L))) == words


def test_what_was_typed_in_the_jobs_own_system_keeps_its_unit() -> None:
    assert told(UnitSystem.US, "{a}", a=Amount.of(parse("12 ft 6 in", L))) == "12.5\xa0ft"
    assert told(UnitSystem.US, "{a}", a=Amount.of(parse("6 in", L))) == "6\xa0in"
    assert told(UnitSystem.METRIC, "{a}", "de_DE", a=Amount.of(parse("1250.5 mm", L))) == "1.250,5\xa0mm"


def test_amounts_to_be_compared_are_told_in_one_unit() -> None:
    # By hand: 9 in = 0.75 ft (exact).
    a, b = Amount.of(parse("9 in", L)), Amount.of(parse("0.7 ft", L))
    assert told(UnitSystem.US, "{a} above {b}", a=a, b=b) == "0.8\xa0ft above 0.7\xa0ft"
    a, b = Amount.of(parse("900 mm", L)), Amount.of(parse("890 mm", L))
    assert told(UnitSystem.METRIC, "{a} above {b}", a=a, b=b) == "900\xa0mm above 890\xa0mm"


def test_amounts_that_differ_do_not_read_alike() -> None:
    sentence = told(UnitSystem.METRIC, "{a} is above {b}", a=Amount(300_100.0, P), b=Amount(300_000.0, P))
    assert sentence == "3.001\xa0bar is above 3\xa0bar"


def test_facts_of_each_kind_in_the_language_of_the_job() -> None:
    sentence = told(
        UnitSystem.METRIC,
        "{money}; {share}; {guns}; {list}{more}{text}",
        "de_DE",
        money=Money(Decimal("1234.50"), "EUR"),
        share=Number(Decimal("12.5"), 4, "%"),
        guns=Count(1200, "gun"),
        list=Listed(("a", "b", "c"), 2),
        more=Phrase(" at {a}", facts(a=Amount(1.5, L))),
        text=" {a}",
    )
    money, rest = sentence.split("; ", 1)
    assert money == "1.234,50\xa0€"
    assert rest == "12,5\xa0%; 1.200 guns; “a”, “b” and 1 more at 1,5\xa0m {a}"


def _with_plain_ids(job: Job) -> Job:
    """The job with ids that no name, word or figure can hold."""
    raw = job.model_dump(mode="json")
    design, numbers = raw["design"], count()
    known: dict[tuple[str, str], str] = {("service", AIR): AIR}

    def renamed(kind: str, old: str) -> str:
        return known.setdefault((kind, old), f"Zq{next(numbers)}qZ")

    for product in design["products"]:
        product["id"] = renamed("service", product["id"])
    for bay in design["bays"]:
        bay["id"] = renamed("bay", bay["id"])
    for drop in design["drops"]:
        drop["id"] = renamed("drop", drop["id"])
        drop["bay"] = renamed("bay", drop["bay"])
        drop["service"] = renamed("service", drop["service"])
    for unit in design["plant"]:
        unit["product"] = renamed("service", unit["product"])
    for line in design["lines"]:
        line["service"] = renamed("service", line["service"])
        for row in (*line["segment_tubes"], *line["measured"]):
            row["segment"] = f"Zq{next(numbers)}qZ"
    raw["alternatives"], raw["issued"], design["pinned"] = [], [], []
    return Job.model_validate_json(json.dumps(raw))


@settings(max_examples=20)
@given(jobs(), st.sampled_from(UnitSystem), st.booleans())
def test_a_finding_never_shows_an_id_or_a_unit_of_the_other_system(
    drawn: Job, system: UnitSystem, priced: bool
) -> None:
    job = _with_plain_ids(drawn).model_copy(update={"units": system})
    found = study(job, shipped_price_book() if priced else PriceBook(), date(2027, 3, 1))
    say = sentences_of(found)
    other = _METRIC_ONLY if system is UnitSystem.US else _US_ONLY
    for finding in found.findings:
        for sentence in (say.installer(finding), say.customer(finding) or ""):
            assert not re.search(r"Zq\d+qZ", sentence), (finding.rule, sentence)
            # The name of a part may hold its nominal size.
            assert not other.search(re.sub("“[^”]*”", "", sentence)), (finding.rule, sentence)


def test_findings_of_an_example_in_us_units_stand_in_psi_and_feet() -> None:
    """An air compressor of 8 bar is one of 116 psi (1 bar = 14.503774 psi, NIST SP 811)."""
    job = raw()
    job["units"] = "us"
    made_us = made(job)
    say = sentences_of(made_us)
    (blow_off,) = [say.installer(f) for f in made_us.findings if f.rule == "blow-off-pressure"]
    assert "116\xa0psi reaches the air drops (“Bay 1 left”, “Bay 1 right”" in blow_off
    assert "below 30\xa0psi" in blow_off and "bar" not in blow_off


def test_a_finding_of_an_option_names_the_option_and_its_own_objects() -> None:
    job = Job(
        design=Design(bays=(Bay(id="b", name="Base bay"),)),
    )
    other = Names(Design(bays=(Bay(id="b", name="Other bay"),)), options={"o": "Wider"})
    say = Sentences(Figures("en_US", "USD", UnitSystem.US), Names(job.design), {"o": other})
    finding = Finding(Severity.ERROR, "x", "test", "{bay} is wrong.", facts=facts(bay=Ref(IdKind.BAY, "b")))
    assert say.installer(finding) == "“Base bay” is wrong."
    assert say.installer(replace(finding, option="o")) == "Option “Wider”: “Other bay” is wrong."


def test_the_customer_reads_what_concerns_them_and_nothing_else() -> None:
    """The compressor of 8 bar at blow-off guns concerns who signs (29 CFR 1910.242(b)); a price list's age does not."""
    found = made(raw())
    say = sentences_of(found)
    told_by_rule = {f.rule: say.customer(f) for f in found.findings}
    blow_off = told_by_rule["blow-off-pressure"]
    assert blow_off is not None and blow_off.startswith(
        "Your compressor's 8\xa0bar reaches the air guns at “Bay 1 left”"
    )
    assert say.customer(Finding(Severity.WARNING, "prices", "prices-old", "Old.")) is None


def test_what_concerns_the_customer_stands_on_the_paper() -> None:
    job = raw()
    job["design"]["common"]["containment"] = False
    text = text_of(write_quote(made(job)))
    open_points = text[text.index("To be settled") :]
    assert "This quote holds no containment tray under the concentrates." in open_points


def test_every_sentence_for_the_customer_belongs_to_a_rule_and_its_facts() -> None:
    """Rules that the examples and a poor design raise have every fact that their sentence for the customer names."""
    job = raw()
    job["site"]["air"]["pressure"] = "1.5 bar"
    job["site"]["water"]["temperature"] = "2 °C"
    job["design"]["common"]["containment"] = False
    found = made(job)
    say = sentences_of(found)
    rules = {f.rule for f in found.findings}
    assert {"drop-pressure-low", "water-freezing", "containment-missing"} <= rules
    assert all(say.customer(f) for f in found.findings if f.rule in CUSTOMER)


@pytest.mark.parametrize("parts", [1e-313, 1e-3])
def test_a_dilution_far_from_the_wanted_one_is_told_without_a_figure_that_no_number_can_hold(
    parts: float,
) -> None:
    """A thousandth of a part of water, or a number hardly above nothing: the figure is cut at ten times."""
    job = Job.model_validate_json(json.dumps(raw()))
    product = job.design.products[0].model_copy(update={"dilution": parts})
    changed = job.design.model_copy(update={"products": (product, *job.design.products[1:])})
    found = study(job.model_copy(update={"design": changed}), shipped_price_book(), date(2027, 3, 1))
    (told,) = [
        f
        for f in found.findings
        if f.rule == "dilution-off" and dict(f.facts)["product"] == Ref(IdKind.PRODUCT, product.id)
    ]
    assert "more than 1,000% leaner" in sentences_of(found).installer(told).replace("\xa0", "")
