"""Mixtures over the day and the year, their limits, what holds them, and bad input. Equipment is invented demo data."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from estimator.documents.study_json import study_json
from estimator.hydraulics.board import Reason
from estimator.hydraulics.drills import NUMBER_DRILLS, drill_diameter
from estimator.hydraulics.solution import viscosity_at
from estimator.model.choices import Reading
from estimator.model.edit import with_value
from estimator.model.finding import Finding, Severity, filled, plain
from estimator.model.job import Job
from estimator.model.makers import MakerData, OwnProportioner, VacuumPoint
from estimator.reference.catalogue import catalogue
from estimator.reference.resolved import resolve
from estimator.shipped import shipped
from estimator.shown.findings import sentences_of
from estimator.shown.proof_tables import plant_table
from estimator.sizing.dilution import Mixer, over_the_day, proportioner_of, remarks, suction_of
from estimator.sizing.feed import feed_of
from estimator.sizing.remedy import MOST_TRIED
from estimator.sizing.rules import dilution_limits, misses
from estimator.store.jobs import load_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Study, study
from estimator.units import Dimension, parse
from tests.days import STUDIED
from tests.sizing.conftest import rules

Studied = Callable[..., Study]
WATER, COMMON = ("site", "water"), ("design", "common")
STREET = (((*COMMON, "backflow"), "backflow-device"), ((*COMMON, "booster"), "no-booster"))
"""The example without its break tank: its board stands under the pressure of the street."""
LARGER = (
    (
        ("design", "makers"),
        MakerData(
            proportioners=(
                OwnProportioner(
                    key="own-large",
                    flow=parse("900 L/min", Dimension.FLOW),
                    at=parse("3 bar", Dimension.PRESSURE),
                    vacuum=tuple(
                        VacuumPoint(
                            inlet=parse(f"{bar} bar", Dimension.PRESSURE),
                            vacuum=parse(f"{kpa} kPa", Dimension.PRESSURE),
                        )
                        for bar, kpa in ((1, 20), (3, 60), (6, 80))
                    ),
                ),
            )
        ),
    ),
    (("design", "plant", 0, "proportioner"), "own-large"),
)
"""A proportioner that asks for more water than the street has, and than the booster pump gives. Invented figures."""
READ = (((*WATER, "low_static"), "3.4 bar"), ((*WATER, "high_static"), "4.6 bar"))


def found(made: Study, rule: str) -> list[Finding]:
    return [f for f in made.findings if f.rule == rule]


def words(made: Study, rule: str) -> str:
    say = sentences_of(made)
    return " ".join(say.installer(f) for f in found(made, rule))


def mixer_of(job: Job, at: int = 0) -> tuple[Any, Mixer]:
    known = resolve(job.design, catalogue())
    feed = feed_of(job.site, job.design.common, known)
    unit = known.plant[at]
    assert feed is not None and unit.proportioner is not None
    product = next(p for p in job.design.products if p.id == unit.unit.product)
    return feed, Mixer(proportioner_of(unit.proportioner), suction_of(unit.unit), product, feed.barometric_pa)


def changed(job: Job, *edits: tuple[tuple[str | int, ...], Any]) -> Job:
    for path, value in edits:
        job = with_value(job, path, value)
    return job


def test_low_and_high_of_the_day_against_scipy(gannet: Job) -> None:
    # Computed with scipy: the street keeps the drop of its test (0.5 bar at 25 L/min, NFPA 291 form, second-hand).
    feed, mixer = mixer_of(changed(gannet, *STREET, *READ))
    (part,) = (b for b in catalogue().backflow if b.key == "backflow-device")
    flows, losses = ([point[at] for point in part.loss_kpa] for at in (0, 1))
    device = PchipInterpolator(flows, losses)
    expected = []
    for static in (4.0e5, 3.4e5, 4.6e5):

        def spare(q: float, static: float = static) -> float:
            street = static - 0.5e5 * math.pow(q / 25.0, 1 / 0.54)
            return street - 1000.0 * float(device(q)) - 3e5 * (q / 11.6) ** 2

        expected.append(3e5 * (float(brentq(spare, 1e-9, 150.0, rtol=1e-14)) / 11.6) ** 2)
    assert [hour.alone(mixer.made).inlet_pa for hour in feed.hours] == pytest.approx(expected, rel=1e-6)
    drill = mixer.tip(feed.test, expected[0])
    day = over_the_day(feed, mixer, drill)
    ends = [mixer.drawn(feed.test, p, drill_diameter(drill)).parts_water for p in expected]
    assert day.lean is not None and day.rich is not None
    assert day.rich <= min(e or 0.0 for e in ends) * (1.0 + 1e-12)
    assert day.lean >= max(e or 0.0 for e in ends) * (1.0 - 1e-12)


def test_a_low_and_a_high_that_were_not_read_are_assumed_and_said_so(studied: Studied) -> None:
    tight = (
        (("design", "products", 0, "label_strongest"), 39.0),
        (("design", "products", 0, "label_weakest"), 40.9),
    )
    made = studied(*STREET, *tight)
    (day,) = [f for f in found(made, "dilution-hours") if f.place == "design.plant.0.tip_drill"]
    assert day.severity is Severity.NOTE and "assumed at ± 20\u00a0%" in words(made, "dilution-hours")
    tighter = (("design", "products", 0, "label_weakest"), 41.0)
    read = studied(*STREET, *tight, tighter, *READ)
    (day,) = [f for f in found(read, "dilution-hours") if f.place == "design.plant.0.tip_drill"]
    assert day.severity is Severity.WARNING and "assumed" not in words(read, "dilution-hours")


def test_behind_a_break_tank_the_day_of_the_street_moves_no_mixture(studied: Studied) -> None:
    for before, after in zip(studied().proof.plant, studied(*READ).proof.plant, strict=True):
        assert before == after and before.lean == before.rich == pytest.approx(before.dilution, rel=1e-9)


def test_a_wider_day_is_never_a_narrower_range(studied: Studied) -> None:
    last = (math.inf, 0.0)
    for low, high in (("4 bar", "4 bar"), ("3.4 bar", "4.6 bar"), ("2.4 bar", "5.4 bar")):
        made = studied(*STREET, ((*WATER, "low_static"), low), ((*WATER, "high_static"), high))
        plant = made.proof.plant[0]
        assert plant.lean is not None and plant.rich is not None
        assert plant.rich <= last[0] + 1e-9 and plant.lean >= last[1] - 0.2
        last = plant.rich, plant.lean


def test_outside_the_vacuum_curve_nothing_is_clipped(studied: Studied) -> None:
    made = studied(*STREET, ((*WATER, "low_static"), "1.2 bar"), ((*WATER, "high_static"), "4.6 bar"))
    unknown = found(made, "dilution-hours-unknown")
    assert len(unknown) == 5 and all(f.severity is Severity.WARNING for f in unknown)
    assert all(p.lean is None and p.rich is None for p in made.proof.plant)
    table = plant_table(made)
    assert all("not known over the whole day" in row.told for row in table.rows)
    assert "inlet_pa" not in words(made, "dilution-hours-unknown")


@pytest.mark.parametrize(
    ("edits", "fields"),
    [
        ((((*WATER, "low_static"), "4.2 bar"),), {"low_static"}),
        ((((*WATER, "high_static"), "3.8 bar"),), {"high_static"}),
        # The high of the day is above the static pressure of the survey, as it should be: only the low is blamed.
        ((((*WATER, "low_static"), "20 bar"), ((*WATER, "high_static"), "4.6 bar")), {"low_static"}),
        (
            (((*WATER, "low_static"), "5 bar"), ((*WATER, "high_static"), "3 bar")),
            {"low_static", "high_static"},
        ),
    ],
)
def test_ends_of_the_day_in_the_wrong_order_are_told_and_not_used(
    studied: Studied, edits: tuple[Any, ...], fields: set[str]
) -> None:
    made = studied(*STREET, *edits)
    wrong = found(made, "water-day-order")
    assert {f.place for f in wrong} == {f"site.water.{field}" for field in fields}
    assert all(f.severity is Severity.ERROR for f in wrong) and made.proof.plant


def test_no_water_for_a_part_of_the_day_is_told(studied: Studied) -> None:
    (dry,) = found(studied(*STREET, ((*WATER, "low_static"), "0 bar")), "water-none")
    assert (dry.severity, dry.place) == (Severity.ERROR, "site.water.low_static")


def test_viscosity_between_two_points(studied: Studied, gannet: Job) -> None:
    # Water at 5, 15 and 30 degC: 1.51817, 1.13757 and 0.79722 mPa s (computed with IAPWS formulas); an Andrade line
    # through the ends is within 2 % of the middle.
    assert viscosity_at(288.15, (278.15, 1.51817e-3), (303.15, 0.79722e-3)) == pytest.approx(
        1.13757e-3, rel=0.02
    )
    cold = (("design", "products", 0, "cold_viscosity"), "60 mPa·s"), ((*WATER, "winter"), "5 °C")
    feed, mixer = mixer_of(changed(gannet, *cold))
    winter = feed.day[0]
    inlet = winter.alone(mixer.made).inlet_pa
    tip = drill_diameter(mixer.tip(feed.test, inlet))
    thin, thick = (mixer.drawn(hour, inlet, tip).parts_water for hour in (feed.test, winter))
    assert thin is not None and thick is not None and thick > 1.2 * thin
    warm, frozen = studied().proof.plant[0], studied(*cold).proof.plant[0]
    assert (frozen.lean or 0.0) > 1.2 * (warm.lean or math.inf)


def test_a_worn_tip_is_shown_richer(studied: Studied) -> None:
    made = studied()
    for plant, row in zip(made.proof.plant, plant_table(made).rows, strict=True):
        # A bore 5 % wider has 10.25 % more area; what is drawn grows by about that, less what the tube then loses.
        assert plant.worn is not None
        assert 1.02 < plant.dilution / plant.worn < 1.13
        assert "worn 5 % wider" in row.told


@pytest.mark.parametrize("drill", [70, 60])
def test_a_wrong_tip_is_told_with_one_that_was_tried(studied: Studied, drill: int) -> None:
    made = studied((("design", "plant", 4, "tip_drill"), drill))
    (off,) = found(made, "dilution-off")
    assert off.place == "design.plant.4.tip_drill"
    named = next(str(f) for n, f in off.facts if n == "remedy")
    assert "Tip drill" in words(made, "dilution-off") and named
    right = next(d for d in NUMBER_DRILLS if f"Tip drill {d} holds" in words(made, "dilution-off"))
    assert "dilution-off" not in rules(studied((("design", "plant", 4, "tip_drill"), right)))


def test_a_weak_busy_hour_is_told_with_what_holds_it(studied: Studied) -> None:
    busy = (("site", "use", "vehicles_per_hour"), 60.0), ((*WATER, "flow"), "12 L/min"), *READ
    made = studied(*STREET, *busy)
    weak = [f for f in found(made, "dilution-busy") if f.place == "design.plant.4.proportioner"]
    assert len(weak) == 1 and "A supply of twice the flow" in words(made, "dilution-busy")
    larger = studied(*STREET, *busy, ((*WATER, "flow"), "24 L/min"))
    assert not [f for f in found(larger, "dilution-busy") if f.place == "design.plant.4.proportioner"]


def test_remedies_are_tried_for_a_few_products_only(studied: Studied, gannet: Job) -> None:
    tips = [(("design", "plant", at, "tip_drill"), 80) for at in range(len(gannet.design.plant))]
    made = studied(*tips)
    assert len(found(made, "dilution-off")) == 5 <= MOST_TRIED
    assert words(made, "dilution-off").count("Tip drill") == 5


def test_every_remark_of_the_formulas_has_its_words(gannet: Job) -> None:
    # Thick, thin, high up, cold: whatever the formula says, as many phrases.
    said = 0
    for thick in ("0.3 mPa·s", "5 mPa·s", "900 mPa·s", "15000 mPa·s"):
        for metres in ("0 m", "5000 m"):
            job = changed(
                gannet,
                (("design", "products", 3, "concentrate_viscosity"), thick),
                (("site", "altitude"), metres),
            )
            feed, mixer = mixer_of(job, 3)
            inlet = feed.test.alone(mixer.made).inlet_pa
            for drill in (30, 50, 80):
                drawn = mixer.drawn(feed.test, inlet, drill_diameter(drill))
                if drawn.parts_water is not None:
                    phrases = remarks(drawn, feed.barometric_pa, feed.test.vapour_pa)
                    assert len(phrases) == len(drawn.outside), drawn.outside
                    said += len(phrases)
    assert said > 5


def test_limits_of_a_mixture(gannet: Job) -> None:
    sanitiser = next(p for p in gannet.design.products if p.id == "sanitiser")
    assert dilution_limits(sanitiser) == (50.0, 70.0)  # of the label: invented demo data
    free = sanitiser.model_copy(update={"label_strongest": None, "label_weakest": None})
    assert dilution_limits(free) == pytest.approx((57.6, 70.4))  # 10 %: common practice, no source
    outside = sanitiser.model_copy(update={"dilution": 100.0})
    assert dilution_limits(outside) == pytest.approx((90.0, 110.0))


@given(st.floats(1.0, 1000.0), st.floats(1.0, 1000.0))
@settings(max_examples=60)
def test_what_is_wanted_is_never_wrong(gannet: Job, wanted: float, label: float) -> None:
    product = gannet.design.products[0]
    product = product.model_copy(update={"dilution": wanted, "label_weakest": label})
    assert not misses(product, wanted)


def harrow(*edits: tuple[tuple[str | int, ...], Any]) -> Study:
    job = load_job(Path(str(shipped("examples/harrow-mill.baydrop"))))
    return study(changed(job, *edits), shipped_price_book(), STUDIED)


def test_three_filling_at_harrow_mill_on_a_weak_street() -> None:
    """By hand: 62 psi static, 50 psi at 3.2 gpm; a device, then three proportioners.

    Alone the shampoo comes out near its 100:1; with three filling the water at the board is so weak that it is far
    leaner than its label allows, and a proof at the surveyed pressure alone would not see it.
    """
    made = harrow((("site", "water", "flow"), "3.2 gpm"))
    board = made.proof.board
    assert board is not None
    shampoo = board.products[0]
    conductances = [
        part.flow_l_min / math.sqrt(1000.0 * part.at_kpa)
        for unit in made.job.design.plant
        for part in catalogue().proportioners
        if part.key == unit.proportioner
    ]
    psi, gpm = 6894.757293168, 3.785411784
    (device,) = (b for b in catalogue().backflow if b.key == "backflow-device")
    flows, losses = ([point[at] for point in device.loss_kpa] for at in (0, 1))
    loss = PchipInterpolator(flows, losses)

    def spare(q: float) -> float:
        street = 62 * psi - 12 * psi * math.pow(q / (3.2 * gpm), 1 / 0.54)
        return street - 1000.0 * float(loss(q)) - (q / sum(conductances)) ** 2

    inlet = (float(brentq(spare, 1e-9, 100.0, rtol=1e-14)) / sum(conductances)) ** 2
    assert shampoo.first.inlet_pa == pytest.approx(inlet, rel=1e-6)
    assert shampoo.alone.dilution is not None and shampoo.first.dilution is not None
    assert shampoo.alone.dilution == pytest.approx(100.0, rel=0.1)
    assert shampoo.first.dilution > 2.0 * shampoo.alone.dilution
    (first,) = found(made, "dilution-first-fill")
    assert first.severity is Severity.WARNING and "one after another" in words(made, "dilution-first-fill")


def test_a_first_fill_at_the_low_of_the_day_is_judged_too() -> None:
    """At the survey's hour and alone all is right; with all filling at the day's low the shampoo is far too lean."""
    assert not found(harrow(), "dilution-first-fill")
    read = harrow((("site", "water", "low_static"), "36 psi"))
    (told,) = found(read, "dilution-first-fill")
    assert told.severity is Severity.WARNING
    assert "at the lowest pressure of the day" in words(read, "dilution-first-fill")
    assert not found(read, "dilution-hours")
    assumed = harrow(
        (("site", "water", "low_static"), None), (("design", "products", 0, "label_weakest"), 116.0)
    )
    (told,) = found(assumed, "dilution-first-fill")
    assert told.severity is Severity.NOTE
    assert "(assumed)" in words(assumed, "dilution-first-fill")


@pytest.mark.parametrize(
    ("edits", "rule", "place"),
    [
        ((((*WATER, "flow"), "0 L/min"),), "water-none", "site.water.flow"),
        ((((*WATER, "static_pressure"), "2 bar"),), "water-static-low", "site.water.static_pressure"),
        ((((*WATER, "temperature"), "70 °C"),), "plant-out-of-range", "site.water.temperature"),
        ((((*WATER, "winter"), "70 °C"),), "plant-out-of-range", "site.water.winter"),
        (((("site", "altitude"), "5000 m"),), "dilution-doubt", "design.plant.0.tip_drill"),
        (((("design", "plant", 0, "lift"), "8 m"),), "no-concentrate", "design.plant.0.lift"),
        ((((*WATER, "flow"), "1 L/min"), *STREET), "plant-out-of-range", "site.water.pressure"),
        ((((*WATER, "hardness"), 400.0),), "water-hard", "site.water.hardness"),
        ((((*WATER, "pressure"), "0 bar"), ((*WATER, "flow"), "0 L/min")), "water-none", "site.water.flow"),
        (
            (((*WATER, "pressure"), "0 bar"), ((*WATER, "static_pressure"), None)),
            "water-none",
            "site.water.pressure",
        ),
        ((((*WATER, "rise"), "50 m"), *STREET), "plant-out-of-range", "site.water.rise"),
        (((("design", "plant"), ()),), "no-plant", "design.products.0"),
        (
            ((("site", "use", "vehicles_per_hour"), 200.0),),
            "line-too-slow",
            "design.products.0.use_per_vehicle",
        ),
        ((*LARGER, *STREET), "plant-out-of-range", "site.water.pressure"),
        ((*LARGER,), "plant-out-of-range", "design.common.booster"),
    ],
)
def test_bad_input_is_a_finding_with_its_field_and_no_code_name(
    studied: Studied, edits: tuple[Any, ...], rule: str, place: str
) -> None:
    made = studied(*edits)
    assert place in {f.place for f in found(made, rule)}
    text = words(made, rule)
    for code in ("_pa", "_m3", "nan", "inf ", "m3/s", "None", "degC"):
        assert code not in text

    def finite(value: Any) -> bool:
        if isinstance(value, dict):
            return all(finite(v) for v in value.values())
        if isinstance(value, list):
            return all(finite(v) for v in value)
        return not isinstance(value, float) or math.isfinite(value)

    assert finite(json.loads(study_json(made)))


def test_no_plant_says_nothing_of_the_feed(studied: Studied) -> None:
    made = studied((("design", "plant"), ()), ((*WATER, "flow"), "0 L/min"))
    assert "water-none" not in rules(made) and made.proof.board is None


def test_a_board_of_more_than_its_parts_are_known_for_says_which(gannet: Job) -> None:
    feed, mixer = mixer_of(gannet)
    large = Mixer(
        type(mixer.made)(1.0, 1e5, mixer.made.vacuum), mixer.suction, mixer.product, mixer.barometric_pa
    )
    assert isinstance(feed.test.alone(large.made), Reason)
    day = over_the_day(feed, large, 60)
    assert day.unknown is not None and day.unknown[1] == "design.common.booster" and day.lean is None
    told = filled(day.unknown[2].sentence, day.unknown[2].facts, plain)
    assert "booster pump" in told and "a larger one, a smaller proportioner" in told


@pytest.mark.parametrize(
    ("reading", "asked"),
    [(Reading.ASSUMED, "is assumed"), (Reading.TOLD, "somebody told it"), (Reading.MEASURED, "")],
)
def test_hardness_says_where_it_comes_from(studied: Studied, reading: Reading, asked: str) -> None:
    # Classes of the United States Geological Survey, second-hand: more than 180 mg/L is very hard, 180 is not.
    marked = ((*WATER, "hardness_reading"), reading)
    hard = words(studied(((*WATER, "hardness"), 181.0), marked), "water-hard")
    assert asked in hard and ("test strip" in hard) is (reading is not Reading.MEASURED)
    assert "water-hard" not in rules(studied(((*WATER, "hardness"), 180.0), marked))
