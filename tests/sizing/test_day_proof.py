"""The day of the tanks, from survey to finding. Equipment figures are invented demo data."""

from __future__ import annotations

import json
import math
import random
from collections.abc import Callable
from dataclasses import replace
from functools import partial

import numpy as np
import pytest

from estimator.documents.study_json import study_json
from estimator.going import Going, Stopped
from estimator.hydraulics.day import Alone, simulate
from estimator.hydraulics.observed import share_interval
from estimator.hydraulics.simultaneous import Guns
from estimator.hydraulics.sprays import LineSprays, thrown_draws
from estimator.hydraulics.tank import tank
from estimator.model.finding import Finding, Severity
from estimator.model.makers import MakerData, OwnProportioner, VacuumPoint
from estimator.shown.findings import sentences_of
from estimator.shown.proof_tables import assumed, plant_table
from estimator.sizing import day_proof
from estimator.sizing.board_rates import BoardRates, rates_of
from estimator.sizing.day_case import DayCase
from estimator.sizing.day_proof import DAYS, day_of, dry_chance
from estimator.sizing.types import DayProof, PlantProof, Verdict
from estimator.study import Study
from estimator.units import Dimension, parse
from tests.hydraulics.test_day import in_steps
from tests.sizing.conftest import rules

Studied = Callable[..., Study]
FLOW, STATIC = ("site", "water", "flow"), ("site", "water", "static_pressure")
VEHICLES, HOURS = ("site", "use", "vehicles_per_hour"), ("site", "use", "hours_per_day")
USE = ("design", "products", 0, "use_per_vehicle")
TANK = ("design", "plant", 0, "tank")
L_MIN = 1.0 / 60000.0

WEAK = ((STATIC, "4.6 bar"), (FLOW, "0.6 L/min"), (VEHICLES, 4.0))
"""A street so weak that the refill is near what the first line draws: dice decide."""


CURVE = (("0.0001 bar", "20 kPa"), ("1 bar", "20 kPa"), ("2 bar", "45 kPa"), ("3 bar", "62 kPa"))
"""A vacuum that is known from next to no pressure on: the refill may be as weak as a test wants it."""
KNOWN = OwnProportioner(
    key="known-from-nothing",
    vacuum=tuple(
        VacuumPoint(inlet=parse(inlet, Dimension.PRESSURE), vacuum=parse(vacuum, Dimension.PRESSURE))
        for inlet, vacuum in (*CURVE, ("4 bar", "72 kPa"), ("6 bar", "80 kPa"))
    ),
)


@pytest.fixture(scope="module")
def studied(on_the_street: Studied) -> Studied:
    """Studies of the example on the street, which its mixtures then depend on."""
    known = (
        (("design", "makers"), MakerData(proportioners=(KNOWN,))),
        *((("design", "plant", at, "proportioner"), KNOWN.key) for at in range(5)),
    )
    return partial(on_the_street, *known)


def day(made: Study) -> DayProof:
    assert made.proof.day is not None
    return made.proof.day


def first(made: Study) -> PlantProof:
    return made.proof.plant[0]


def dry_finding(made: Study) -> Finding:
    (found,) = (f for f in made.findings if f.rule == "tank-runs-dry" and f.place == "design.plant.0.tank")
    return found


def test_tanks_that_no_gun_can_empty_need_no_dice(studied: Studied) -> None:
    made = studied((FLOW, "80 L/min"))
    assert day(made).days == 0 and day(made).mixtures == ()
    for unit in made.proof.plant:
        assert (unit.dry_chance, unit.dry_low, unit.dry_high, unit.smallest_tank) == (
            0.0,
            0.0,
            0.0,
            "tank-30",
        )
    assert "cannot run dry" in plant_table(made).rows[0].told
    assert not any("simulated days" in told for told in assumed(made))


def test_each_line_sprays_as_long_as_its_vehicle_takes(studied: Studied) -> None:
    made = studied()
    # By hand: 12 L a vehicle through a gun of the line's mean flow.
    job = made.job
    for unit, line in zip(made.proof.plant, made.proof.lines, strict=True):
        product = next(p for p in job.design.products if p.id == unit.product)
        flows = [d.alone.flow_m3_s for d in made.proof.drops if d.line == line.line]
        assert unit.spray_s == pytest.approx(product.use_per_vehicle.si * len(flows) / sum(flows), abs=2e-3)
    longer = studied((USE, "24 L"))
    assert first(longer).spray_s == pytest.approx(2.0 * first(made).spray_s, rel=1e-5)


def test_the_day_says_what_the_board_does_to_the_tanks(studied: Studied) -> None:
    made = studied(*WEAK)
    case, unit = day(made).case, first(made)
    assert case.board is not None and not case.certain(0)
    assert day(made).days == DAYS
    # The chance is that of the guns thrown on the shared board, not that of a proportioner that has it alone.
    shared = simulate(case.tanks, BoardRates(case.board), thrown_draws(case.lines, case.hours, DAYS, 1))
    assert unit.dry_chance == shared.tanks[0].dry
    assert 0.0 < unit.dry_low < unit.dry_chance < unit.dry_high <= 1.0
    own = [float(rates_of(case.board)(np.eye(5, dtype=np.bool_)).flow_m3_s[k, k]) for k in range(5)]
    alone = simulate(case.tanks, Alone(tuple(own), (9.0,) * 5), thrown_draws(case.lines, case.hours, DAYS, 1))
    assert unit.dry_chance >= alone.tanks[0].dry


def test_the_coupled_board_against_steps_of_ten_seconds(studied: Studied) -> None:
    # Brute force on the same guns: levels are looked at every ten seconds, the board is solved for whoever fills then.
    case = day(studied((STATIC, "4.4 bar"), (FLOW, "8 L/min"), (VEHICLES, 8.0), (TANK, "tank-30"))).case
    assert case.board is not None
    draws, rates = thrown_draws(case.lines, case.hours, DAYS, 1), BoardRates(case.board)
    found, steps = simulate(case.tanks, rates, draws), in_steps(case.tanks, rates, draws, 10.0)
    assert found.at_once[2] > 0.01  # they feel each other
    off = []
    for at, one in enumerate(found.tanks):
        assert one.drawn_m3 == pytest.approx(steps["drawn"][at].mean(), rel=1e-3)
        mixed = steps["drawn"][at].sum() / steps["content"][at].sum() - 1.0
        off.append(one.mixture.mean_parts_water / mixed - 1.0)
        low, high = share_interval(int((steps["missing"][at] > 1e-6).sum()), DAYS)
        assert low <= one.dry <= high
    # A tank that begins a step late meets others, so that days part: half a percent on the whole, one for each.
    assert np.abs(off).mean() < 5e-3 and np.abs(off).max() < 1e-2


def test_longer_sprays_of_fewer_vehicles_empty_a_tank_that_short_ones_do_not(studied: Studied) -> None:
    street = (STATIC, "4.6 bar"), (FLOW, "0.5 L/min"), (TANK, "tank-30")
    short = first(studied(*street, (VEHICLES, 6.0), (USE, "3 L")))
    nine_minutes = first(studied(*street, (VEHICLES, 1.25), (USE, "14.4 L")))
    assert short.busy_hour_draw_m3 == pytest.approx(nine_minutes.busy_hour_draw_m3, rel=1e-6)
    assert short.spray_s == pytest.approx(114.0, abs=2.0) and nine_minutes.spray_s == pytest.approx(
        546.0, abs=5.0
    )
    assert nine_minutes.dry_low > short.dry_high


def test_a_dry_tank_is_told_with_its_doubt(studied: Studied) -> None:
    made = studied(*WEAK)
    found, unit = dry_finding(made), first(made)
    assert (found.severity, unit.verdict) == (Severity.ERROR, Verdict.SHORT)
    text = sentences_of(made).installer(found)
    assert f"about {100 * unit.dry_chance + 1e-9:.0f}\xa0% of days" in text
    assert (
        f"({100 * unit.dry_low:.0f}\xa0% to {100 * unit.dry_high:.0f}\xa0% by {DAYS} simulated days)" in text
    )
    assert "sprayed at a go" in text and unit.product not in text
    assert "about" in (sentences_of(made).customer(found) or "")
    assert any(f"{DAYS} simulated days" in told for told in assumed(made))


def test_more_water_a_larger_tank_and_fewer_vehicles_lift_it(studied: Studied) -> None:
    worse = first(studied(*WEAK, (TANK, "tank-30"))).dry_chance
    here = first(studied(*WEAK)).dry_chance
    larger = first(studied(*WEAK, (TANK, "tank-120"))).dry_chance
    assert worse >= here >= larger and worse > larger
    assert first(studied(*WEAK, (FLOW, "25 L/min"))).dry_chance == 0.0
    assert first(studied(*WEAK, (VEHICLES, 0.5))).dry_chance < here


@pytest.mark.parametrize(
    ("vehicles", "dry"),
    [(0.0, 0.0), (200.0, 1.0)],
)
def test_no_vehicle_and_two_hundred(studied: Studied, vehicles: float, dry: float) -> None:
    made = studied(*WEAK[:2], (VEHICLES, vehicles))
    assert first(made).dry_chance == dry
    assert ("tank-runs-dry" in rules(made)) is (dry > 0.0)
    assert (day(made).days > 0) is (dry > 0.0)


def test_a_day_of_no_hours_still_has_its_busy_hour(studied: Studied) -> None:
    assert day(studied((HOURS, 0.0))).case.hours == 1.0


def test_nothing_reaches_a_board_without_water(studied: Studied) -> None:
    made = studied((FLOW, "0 L/min"))
    assert made.proof.board is None
    assert all(math.isfinite(p.dry_chance) for p in made.proof.plant)


def test_what_is_sprayed_over_the_day_is_judged(on_the_street: Studied) -> None:
    made = on_the_street((STATIC, "4.4 bar"), (FLOW, "8 L/min"), (VEHICLES, 5.0))
    (found,) = (f for f in made.findings if f.rule == "dilution-day")
    of = next(m for m in day(made).mixtures if m.product == "sanitiser")
    board = made.proof.board
    assert board is not None
    alone = next(s.alone.dilution for s in board.products if s.product == "sanitiser") or 0.0
    # Nothing is ever stronger than alone, on this curve, and a tank holds a mixture of what went in.
    assert alone == pytest.approx(of.rich, rel=0.02) and of.lean > 1.1 * alone
    text = sentences_of(made).installer(found)
    assert f"from {of.rich:.0f}:1 to {of.lean:.0f}:1" in text and "sanitiser" in text
    assert "dilution-day" not in rules(on_the_street((STATIC, "4.4 bar"), (VEHICLES, 5.0)))


def test_it_is_on_the_record(studied: Studied) -> None:
    made = studied(*WEAK)
    proof = json.loads(study_json(made))["proof"]
    assert proof["day"]["days"] == DAYS and proof["day"]["sprays_as_one"] == 1.0
    assert {m["product"] for m in proof["day"]["mixtures"]} == {p.product for p in made.proof.plant}
    assert proof["plant"][0]["dry_high"] == first(made).dry_high


def test_the_same_job_has_the_same_days(studied: Studied, monkeypatch: pytest.MonkeyPatch) -> None:
    before = first(studied(*WEAK))
    monkeypatch.setattr(day_proof, "_KEPT", day_proof._KeptDays(32))
    assert first(studied(*WEAK)) == before


def _case(number: int, flow: float, litres: float = 30.0, spray_s: float = 540.0) -> DayCase:
    line = LineSprays((Guns(number, 0.25, flow * L_MIN),), spray_s)
    return DayCase((line,), (tank(litres * 1e-3),), None, (2.0 * L_MIN,), 9.0)


def _dry_days(number: int, flow_l_min: float, days: int, seed: int) -> float:
    """Share of days on which 30 L run dry, from event to event with dice and code of its own.

    Guns that are open half the time, nine minutes on end; shut for as long on average, without a memory. The tank
    starts full at 28.5 L, fills with 2.0 L/min from 21 L down until it is full again; nine hours.
    """
    dice, dry = random.Random(seed), 0
    for _ in range(days):
        # One that is open at the opening was opened at any time of the nine minutes before.
        opened = [dice.random() < 0.5 for _ in range(number)]
        turns = [540.0 * dice.random() if is_open else dice.expovariate(1 / 540.0) for is_open in opened]
        now, level, fills = 0.0, 28.5, False
        while now < 9 * 3600.0:
            net = ((2.0 if fills else 0.0) - flow_l_min * sum(opened)) / 60.0
            goal = 0.0 if net < 0.0 and fills else 21.0 if net < 0.0 else 28.5
            reach = (goal - level) / net if net and (fills or net < 0.0) else math.inf
            upto = min(*turns, 9 * 3600.0)
            if now + reach <= upto:
                now, level = now + reach, goal
                if goal == 0.0:
                    dry += 1
                    break
                fills = goal == 21.0
                continue
            level += net * (upto - now)
            now = upto
            for gun, turn in enumerate(turns):
                if turn <= now:
                    opened[gun] = not opened[gun]
                    turns[gun] = now + (540.0 if opened[gun] else dice.expovariate(1 / 540.0))
    return dry / days


@pytest.mark.parametrize(("number", "flow", "dry"), [(1, 3.2, 0.922), (2, 1.6, 0.304), (4, 0.8, 0.010)])
def test_draw_1_6_and_refill_2_0_by_the_guns_that_draw(number: int, flow: float, dry: float) -> None:
    # Draw 1.6 L/min on average, refill 2.0, 30 L, sprays of nine minutes; computed here with other dice and code, and
    # the same with 40,000 days (the figures). One gun that draws more than the refill empties the tank where four that
    # draw as much together do not.
    case = DayCase(
        (LineSprays((Guns(number, 0.5, flow * L_MIN),), 540.0),), (tank(0.030),), None, (2.0 * L_MIN,), 9.0
    )
    found = day_of(case).dry[0]
    trials = 4000
    theirs = _dry_days(number, flow, trials, 31 + number)
    spread = 4.0 * math.sqrt(dry * (1.0 - dry) * (1.0 / DAYS + 1.0 / trials))
    assert theirs == pytest.approx(dry, abs=4.0 * math.sqrt(dry * (1.0 - dry) / trials))
    assert found.chance == pytest.approx(theirs, abs=spread)
    assert found.low <= found.chance <= found.high


def test_a_tank_of_one_litre_and_a_refill_that_is_less_than_the_draw() -> None:
    assert dry_chance(_case(4, 1.6, litres=1.0), 0) == 1.0
    assert dry_chance(_case(4, 1.6), 0) > 0.5 > dry_chance(_case(4, 1.6, litres=1000.0), 0)
    slow = replace(_case(4, 1.6), least_m3_s=(0.1 * L_MIN,))
    assert dry_chance(slow, 0) == 1.0
    assert dry_chance(replace(_case(4, 1.6), least_m3_s=(6.4 * L_MIN,)), 0) == 0.0


def test_sprays_that_are_taken_together_empty_a_tank_sooner(monkeypatch: pytest.MonkeyPatch) -> None:
    case = _case(4, 1.6, spray_s=200.0)
    as_they_are = day_of(case).dry[0].chance
    monkeypatch.setattr(day_proof, "_MOST_SPRAYS", 80)
    monkeypatch.setattr(day_proof, "_KEPT", day_proof._KeptDays(4))
    assert day_proof._crowding(case.lines, case.hours) > 2.0
    assert day_of(case).dry[0].chance > as_they_are + 0.05


def test_more_tanks_than_are_followed_together_are_each_refilled_the_least() -> None:
    one = _case(4, 1.6)
    many = DayCase(one.lines * 130, one.tanks * 130, None, one.least_m3_s * 130, 1.0)
    assert len(day_of(many).dry) == 130


def test_days_that_nobody_wants_any_more_are_left() -> None:
    going = Going()
    going.leave()
    with pytest.raises(Stopped):
        day_of(_case(3, 1.234), going)


def test_a_large_board_is_followed_on_fewer_days_and_says_so() -> None:
    assert [day_proof._days_of(n) for n in (0, 5, 12, 24, 60)] == [DAYS, DAYS, DAYS, DAYS // 2, 100]


def test_the_smallest_tank_has_few_dry_days_and_the_next_smaller_does_not(studied: Studied) -> None:
    made = studied(*WEAK, (VEHICLES, 1.5), (TANK, "tank-120"))
    unit, case = first(made), day(made).case
    assert unit.smallest_tank in {"tank-60", "tank-120"} and unit.dry_chance < 0.01
    assert dry_chance(case.with_all(tank(0.030)), 0) >= 0.01
    smaller = studied(*WEAK, (VEHICLES, 1.5), (TANK, "tank-30"))
    text = sentences_of(smaller).installer(dry_finding(smaller))
    assert "keeps it under" in text and "No tank" not in text and first(smaller).smallest_tank != "tank-30"
