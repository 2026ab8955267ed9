"""The pipeline and the example job from end to end, without a window."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from random import Random

import pytest

from estimator.acts.options import with_option
from estimator.model.choices import Answer, Chemistry, SideName
from estimator.model.edit import value_at, with_value
from estimator.model.finding import Severity, in_order
from estimator.model.job import Job
from estimator.model.option_designs import option_ids
from estimator.model.options import BASE
from estimator.model.pricebook import PriceBook
from estimator.model.sheet import SafetySheet
from estimator.pricing.types import CostRange, PricedRow
from estimator.reference.catalogue import catalogue
from estimator.store.jobs import load_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Pipeline, Study, followed, study
from estimator.takeoff.types import Section
from estimator.units import Dimension, parse
from tests.days import STUDIED
from tests.every_field import changed, fields_in, others, scenes
from tests.large_jobs import large_job
from tests.random_edits import edited_design

EXAMPLES = Path(__file__).parents[1] / "resources" / "examples"


@pytest.fixture(scope="module")
def book() -> PriceBook:
    return shipped_price_book()


@pytest.fixture(scope="module")
def job() -> Job:
    return load_job(EXAMPLES / "gannet-quay.baydrop")


@pytest.fixture(scope="module")
def made(job: Job, book: PriceBook) -> Study:
    return study(job, book, STUDIED)


def test_gannet_quay_has_22_drops_on_five_liquid_lines_and_air(made: Study) -> None:
    """Counted by hand from the job's words.

    Bays 1 and 2: two sides each with pre-wash, remover and degreaser: 4 drops a product. Bay 3: two
    sides with glass cleaner and sanitiser: 2 drops a product. Air at all six sides: 6.
    4 + 4 + 4 + 2 + 2 + 6 = 22.
    """
    design = made.job.design
    services = ["prewash", "remover", "degreaser", "glass", "sanitiser", "air"]
    assert [sum(d.service == s for d in design.drops) for s in services] == [4, 4, 4, 2, 2, 6]
    assert len(design.drops) == 22
    assert [line.id for line in made.layout.lines] == services
    assert set(made.layout.drop_points) == {d.id for d in design.drops}
    assert len(made.layout.stations) == 6


@pytest.mark.parametrize("example", ["gannet-quay", "harrow-mill"])
def test_the_examples_are_priced_whole_and_have_no_error(example: str, book: PriceBook) -> None:
    made = study(load_job(EXAMPLES / f"{example}.baydrop"), book, STUDIED)
    assert [f for f in made.findings if f.severity is Severity.ERROR] == []
    assert made.price.complete
    total = made.price.totals.total
    assert 0 < total.low <= total.likely <= total.high


def test_every_row_can_be_asked_why(made: Study) -> None:
    assert all(row.takeoff.objects for row in made.price.rows)
    assert tuple(row.takeoff for row in made.price.rows) == made.takeoff


def _material(rows: list[PricedRow]) -> CostRange:
    total = CostRange(Decimal(0), Decimal(0), Decimal(0))
    for row in rows:
        total = total + row.material
    return total


def test_the_plant_of_five_products_costs_what_practice_says(made: Study) -> None:
    """Common practice (no source): 500 to 1,000 USD supply cost a product, 2,500 to 5,000 for five."""
    parts = catalogue()
    codes = {x.code for table in (parts.proportioners, parts.tanks, parts.pumps) for x in table}
    codes |= {parts.codes[name] for name in ("regulator", "foot_valve", "tip_set", "suction_tube")}
    codes |= {one.code for made_of in parts.proportioners for one in made_of.pick_up.values()}
    rows = [r for r in made.price.rows_of(Section.PLANT) if r.takeoff.code in codes]
    products = {p.id for p in made.job.design.products}
    assert {name for r in rows for name in r.takeoff.objects} == products
    # Seven parts for each of five products.
    assert sum(r.takeoff.quantity for r in rows) == 35
    supply = _material(rows)
    assert Decimal(2500) <= supply.low <= supply.high <= Decimal(5000)


@pytest.mark.parametrize("bay", ["bay-1", "bay-2", "bay-3"])
@pytest.mark.parametrize("side", list(SideName))
def test_the_set_of_a_bay_side_costs_what_practice_says(
    bay: str, side: SideName, job: Job, book: PriceBook
) -> None:
    """Common practice (no source): hoses, guns and mounting of a bay side, 500 to 1,000 USD supply cost.

    The job is cut down to that side, with a board that stands already, so that every row left belongs to it.
    """
    drops = tuple(d for d in job.design.drops if d.bay == bay and d.side is side)
    alone = with_value(with_value(job, ("design", "drops"), drops), ("design", "common", "existing"), True)
    made = study(alone, book, STUDIED)
    rows = [*made.price.rows_of(Section.DROPS), *made.price.rows_of(Section.MOUNTING)]
    bought = {name for r in rows if r.takeoff.quantity > 0 for name in r.takeoff.objects}
    assert bought - {"board"} == {d.id for d in drops} | {f"{bay}-{side.value}"}
    supply = _material(rows)
    assert Decimal(500) <= supply.low <= supply.high <= Decimal(1000)


def test_the_same_job_gives_the_same_study(job: Job, book: PriceBook, made: Study) -> None:
    assert study(job, book, STUDIED) == made
    again = load_job(EXAMPLES / "gannet-quay.baydrop")
    assert Pipeline().study(again, book, STUDIED) == made


def test_a_study_changes_neither_job_nor_book(job: Job, book: PriceBook) -> None:
    before = job.model_dump_json(), book.model_dump_json()
    study(job, book, STUDIED)
    assert (job.model_dump_json(), book.model_dump_json()) == before


def test_findings_stand_in_their_order(job: Job, book: PriceBook) -> None:
    """What can hurt first; of the rest errors first, whatever stage found them."""
    bare = PriceBook(currency=book.currency, entries=book.entries[1:])
    findings = study(job, bare, STUDIED).findings
    assert findings == in_order(findings)
    assert findings[0].hurts
    severities = [f.severity for f in findings if not f.hurts]
    order = [Severity.ERROR, Severity.WARNING, Severity.NOTE]
    assert severities == sorted(severities, key=order.index)
    assert severities[0] is Severity.ERROR


def test_of_sixty_wet_drops_what_can_hurt_is_first() -> None:
    """20 drops below their window, and an acid without an eyewash, which stood behind all of them."""
    whole = large_job(60 / 1600, options=False)
    no = SafetySheet(oxidiser=Answer.NO, reducer=Answer.NO, amine=Answer.NO)
    kinds = [Chemistry.MINERAL_ACID, *[Chemistry.NEUTRAL_DETERGENT] * (len(whole.design.products) - 1)]
    products = tuple(
        p.model_copy(update={"sheet": no.model_copy(update={"classes": (kind,)})})
        for p, kind in zip(whole.design.products, kinds, strict=True)
    )
    drops = tuple(d.model_copy(update={"nozzle_size": "08"}) for d in whole.design.drops)
    design = whole.design.model_copy(update={"products": products, "drops": drops})
    found = study(with_value(whole, ("design",), design), shipped_price_book(), STUDIED).findings
    assert len(drops) == 60
    assert sum(f.rule == "drop-pressure-low" for f in found) >= 20
    assert found[0].rule == "eyewash-missing"


def test_what_has_not_changed_is_kept_as_the_same_object(job: Job, book: PriceBook) -> None:
    pipeline = Pipeline()
    first = pipeline.study(job, book, STUDIED)

    renamed = pipeline.study(with_value(job, ("customer", "name"), "Somebody else"), book, STUDIED)
    assert renamed.layout is first.layout
    assert renamed.takeoff is first.takeoff
    assert renamed.price is first.price
    assert renamed.findings == first.findings

    dearer = pipeline.study(with_value(job, ("terms", "rule_percent"), Decimal(36)), book, STUDIED)
    assert dearer.layout is first.layout and dearer.takeoff is first.takeoff
    assert dearer.price is not first.price
    assert dearer.price.totals.total.likely > first.price.totals.total.likely
    assert dearer.price.totals.cost == first.price.totals.cost

    taller = pipeline.study(
        with_value(job, ("site", "floor", "run_height"), job.site.floor.ceiling_height), book, STUDIED
    )
    assert taller.layout is not first.layout
    assert taller == study(taller.job, book, STUDIED)


def test_an_edit_there_and_back_gives_the_first_study(job: Job, book: PriceBook, made: Study) -> None:
    pipeline = Pipeline()
    pipeline.study(job, book, STUDIED)
    fewer = with_value(job, ("design", "drops"), job.design.drops[:-1])
    assert pipeline.study(fewer, book, STUDIED) == study(fewer, book, STUDIED)
    assert pipeline.study(job, book, STUDIED) == made


@pytest.mark.parametrize("seed", range(4))
def test_what_is_kept_of_the_studies_before_changes_nothing(seed: int, job: Job, book: PriceBook) -> None:
    """Random edits of the design and of the site one after the other, some taken back: as worked out from nothing."""
    rng, pipeline, jobs = Random(seed), Pipeline(), [job]
    for turn in range(8):
        now = jobs[-1]
        match rng.randrange(5):
            case 0:
                now = with_value(now, ("site", "floor", "run_height"), f"{rng.uniform(2.6, 4.4):.2f} m")
            case 1:
                now = with_value(now, ("site", "use", "vehicles_per_hour"), rng.choice([1.0, 2.5, 4.0]))
            case 2 if len(jobs) > 1:
                now = jobs[-2]
            case _:
                now = now.model_copy(update={"design": edited_design(rng, now.design)})
        on = STUDIED + timedelta(days=rng.choice([0, 0, 700]))
        assert pipeline.study(now, book, on) == study(now, book, on), f"seed {seed}, edit {turn}"
        jobs.append(now)


def test_equal_numbers_written_otherwise_do_not_change_the_text(job: Job, book: PriceBook) -> None:
    # Decimal("5") == Decimal("5.000"): a kept answer must read like a fresh one.
    pipeline = Pipeline()
    pipeline.study(job, book, STUDIED)
    longer = PriceBook(
        currency=book.currency,
        entries=tuple(
            e.model_copy(update={"labour_minutes": e.labour_minutes + Decimal("0.000")}) for e in book.entries
        ),
    )
    assert longer == book
    assert repr(pipeline.study(job, longer, STUDIED).price) == repr(study(job, longer, STUDIED).price)


def test_the_day_is_an_input(job: Job, book: PriceBook) -> None:
    """Old prices and an expired quote are the study's own findings; the day alone brings them."""
    dated = with_value(job, ("quote", "dated"), date(2026, 11, 20))
    rules = {on: {f.rule for f in study(dated, book, on).findings} for on in (STUDIED, date(2028, 12, 1))}
    assert not rules[STUDIED] & {"prices-old", "quote-expired"}
    assert rules[date(2028, 12, 1)] >= {"prices-old", "quote-expired"}


def test_every_option_is_studied_and_what_only_an_offer_has_is_told(job: Job, book: PriceBook) -> None:
    """A drop that no pump reaches stands in the option alone: the study of the whole job knows it and its option."""
    high = with_value(job.design, ("drops", 0, "wanted_flow"), parse("50 L/min", Dimension.FLOW))
    whole, offered = with_option(job, "Much more", high, offered=True)
    whole, kept = with_option(whole, "Only kept", high)
    made = study(whole, book, STUDIED)
    assert [o.option for o in made.options] == [offered, kept]
    assert [o.option for o in made.offers] == [offered]
    assert made.options[0] == Pipeline().option(whole, book, STUDIED, offered)
    told = [f for f in made.findings if f.rule == "drop-wanted-flow"]
    assert [f.option for f in told] == [offered]
    assert [f.rule for f in study(job, book, STUDIED).findings if f.rule == "drop-wanted-flow"] == []


def _but_for_the_job(made: Study) -> Study:
    return replace(made, job=Job(), options=())


@pytest.mark.parametrize("option", [BASE, "option-1"])
def test_what_is_not_followed_moves_no_study(option: str, book: PriceBook) -> None:
    """Each declared field of a job in turn: where what a study follows from stays equal, so does the study."""
    job = scenes()[0]
    pipeline = Pipeline()
    before, follows = pipeline.alone(job, book, STUDIED, option), followed(job, book, STUDIED, option)
    kept: set[str] = set()
    for field in fields_in(job):
        place = field.places[0]
        for value in others(field.spec, value_at(job, place), job):
            other = changed(job, place, value)
            if other is None or option not in option_ids(other):
                continue
            if followed(other, book, STUDIED, option) == follows:
                kept.add(field.name)
                after = pipeline.alone(other, book, STUDIED, option)
                assert _but_for_the_job(after) == _but_for_the_job(before), field.name
            break
    # Who quotes and who is quoted, the quote's own words, the names of designs.
    assert {"Party.name", "QuoteInfo.title", "Design.name", "Alternative.name"} <= kept
    assert {"Drop.gun", "Use.vehicles_per_hour", "Terms.discount_percent", "QuoteInfo.dated"}.isdisjoint(kept)


def test_an_option_worked_on_is_seen_with_what_else_can_be_signed(job: Job, book: PriceBook) -> None:
    """Its own findings are its own; those that only the base or another offered option has know whose they are."""
    for name, size, offered in (("Large", "08", True), ("Larger", "15", True), ("Kept back", "15", False)):
        job, _ = with_option(
            job, name, with_value(job.design, ("drops", 0, "nozzle_size"), size), offered=offered
        )
    pipeline = Pipeline()
    whole = pipeline.study(job, book, STUDIED)
    alone = pipeline.option(job, book, STUDIED, "option-1")
    seen = alone.seen_with(whole)
    assert [f for f in seen.findings if f.option == "option-1"] == [
        replace(f, option="option-1") for f in alone.findings
    ]
    others = {f.option for f in seen.findings} - {"option-1"}
    assert "option-2" in others
    assert "option-3" not in others
    own = {replace(f, option=BASE) for f in alone.findings}
    assert not [f for f in seen.findings if f.option != "option-1" and replace(f, option=BASE) in own]
    assert [o.option for o in seen.options] == [BASE, "option-2", "option-3"]
