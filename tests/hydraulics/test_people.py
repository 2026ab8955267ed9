"""Air that people ask for, against throwing dice and against Hunter's criterion; shop figures are invented."""

from __future__ import annotations

import math
import random
from itertools import product

import numpy as np
import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.people import (
    AirUse,
    bays_manned,
    demand_of_people,
    flow_of_all_moments,
    people_distribution,
    share_of_time,
)
from estimator.hydraulics.simultaneous import Guns, flow_at_once, guns_at_once_alike

L_MIN = 1.0 / 60000.0


def test_two_at_work_may_both_blow() -> None:
    # Six guns of 200 L/min, 90 s a vehicle, four vehicles an hour. Guns taken one by one, each open a sixtieth of the
    # time, give the air of one; whoever blows finds another of the three at it in 7.3 moments of a hundred.
    blow = AirUse(200.0 * L_MIN, share_of_time(4.0, 90.0, 4), 6)
    found = demand_of_people(4, [blow])
    assert flow_at_once([Guns(6, 4.0 * 90.0 / 3600.0 / 6.0, 200.0 * L_MIN)]).flow_m3_s == pytest.approx(
        200.0 * L_MIN
    )
    assert found.flow_m3_s == pytest.approx(400.0 * L_MIN)
    # Computed with scipy 1.17: one more of three people is binomial.
    assert scipy.stats.binom.sf(0, 3, 0.025) == pytest.approx(0.0731, abs=1e-4)
    assert found.not_exceeded == pytest.approx(float(scipy.stats.binom.cdf(1, 3, 0.025)), rel=1e-12)
    assert (found.use, found.people) == (0, 4)


def test_a_shop_with_hardly_any_traffic_needs_its_largest_gun() -> None:
    people = 3
    uses = [
        AirUse(200.0 * L_MIN, share_of_time(0.2, 90.0, people), 6),
        AirUse(90.0 * L_MIN, share_of_time(0.2, 150.0, people), 6),
    ]
    found = demand_of_people(people, uses)
    assert flow_of_all_moments(people, uses) == pytest.approx(90.0 * L_MIN)  # of all moments most are quiet
    assert found.flow_m3_s == pytest.approx(200.0 * L_MIN)


def test_one_person_opens_one_gun() -> None:
    uses = [AirUse(200.0 * L_MIN, 0.4, 6), AirUse(120.0 * L_MIN, 0.6, 6)]
    assert demand_of_people(1, uses).flow_m3_s == pytest.approx(200.0 * L_MIN)
    # And two do two things at most: both blow in four of ten moments.
    assert demand_of_people(2, uses).flow_m3_s == pytest.approx(400.0 * L_MIN)


def test_no_more_at_once_than_there_are_guns() -> None:
    uses = [AirUse(200.0 * L_MIN, 0.5, 1), AirUse(50.0 * L_MIN, 0.3, 2)]
    assert demand_of_people(8, uses).flow_m3_s == pytest.approx(300.0 * L_MIN)


def test_a_stated_number_counts() -> None:
    def of(stated: int | None, people: int = 4) -> float:
        uses = [AirUse(200.0 * L_MIN, 0.025, 6, stated), AirUse(60.0 * L_MIN, 0.001, 6)]
        return 60000.0 * demand_of_people(people, uses).flow_m3_s

    assert of(None) == pytest.approx(400.0)
    # With one gun blowing at most, the worst off is who uses the other: there somebody blows meanwhile.
    assert of(1) == pytest.approx(260.0) and of(3) == pytest.approx(600.0) and of(6) == pytest.approx(1200.0)
    # No more than there are, at least one.
    assert of(9) == pytest.approx(1200.0) and of(0) == pytest.approx(260.0)
    assert of(3, people=1) == pytest.approx(600.0)  # three guns are held by three


def test_of_all_moments_it_is_hunters_criterion_where_each_person_has_a_gun() -> None:
    # One use, as many guns as people: who is open is binomial, as in Hunter (BMS65); exact in both.
    for people, share in product((1, 2, 5, 12, 40), (0.03, 0.1, 0.25, 0.6)):
        found = demand_of_people(people, [AirUse(1.0, share, people)])
        assert (
            round(flow_of_all_moments(people, [AirUse(1.0, share, people)]))
            == guns_at_once_alike(people, share).count
        )
        # Who uses one finds the others as one person less would be.
        assert round(found.others_m3_s) == guns_at_once_alike(people - 1, share).count


def test_many_people_come_to_what_guns_by_themselves_do() -> None:
    # Shares of many people, small for each: as many independent guns. What the user adds is one gun.
    people = 200
    uses = [AirUse(200.0 * L_MIN, 0.03, people), AirUse(90.0 * L_MIN, 0.05, people)]
    alone = flow_at_once([Guns(people, 0.03, 200.0 * L_MIN), Guns(people, 0.05, 90.0 * L_MIN)]).flow_m3_s
    found = demand_of_people(people, uses)
    assert flow_of_all_moments(people, uses) == pytest.approx(alone, rel=0.02)
    assert alone * 0.98 <= found.flow_m3_s <= alone + 200.0 * L_MIN


def test_against_dice() -> None:
    # Brute force: each person is thrown onto one thing, those beyond the guns wait; with others of a user alike.
    uses = [AirUse(200.0, 0.06, 2), AirUse(110.0, 0.15, 3), AirUse(35.0, 0.4, 6)]
    people, trials = 5, 40_000
    flows, chances, rounded = people_distribution(people, uses)
    assert rounded == 0.0 and chances.sum() == pytest.approx(1.0, abs=1e-12)
    dice = random.Random(3)
    edges = np.cumsum([u.share for u in uses]).tolist()
    counted: dict[float, int] = {}
    for _ in range(trials):
        busy = [0] * len(uses)
        for _ in range(people):
            die = dice.random()
            for at, edge in enumerate(edges):
                if die < edge:
                    busy[at] += 1
                    break
        flow = sum(min(n, u.guns) * u.flow_m3_s for n, u in zip(busy, uses, strict=True))
        counted[flow] = counted.get(flow, 0) + 1
    table = dict(zip(np.round(flows, 6).tolist(), chances.tolist(), strict=True))
    assert set(counted) <= set(table)
    for flow, chance in table.items():
        assert counted.get(flow, 0) / trials == pytest.approx(
            chance, abs=5.0 * math.sqrt(chance / trials) + 1e-4
        )


def test_is_the_multinomial() -> None:
    # Computed with scipy 1.17: all ways in which four people spread over three uses and none, guns enough.
    uses = [AirUse(1.0, 0.1, 9), AirUse(10.0, 0.2, 9), AirUse(100.0, 0.3, 9)]
    flows, chances, _ = people_distribution(4, uses)
    for a, b, c in product(range(5), repeat=3):
        if a + b + c <= 4:
            theirs = scipy.stats.multinomial.pmf([a, b, c, 4 - a - b - c], 4, [0.1, 0.2, 0.3, 0.4])
            at = int(np.argmin(np.abs(flows - (a + 10 * b + 100 * c))))
            assert chances[at] == pytest.approx(float(theirs), rel=1e-9)


@given(
    st.integers(1, 7),
    st.lists(
        st.tuples(st.floats(1.0, 300.0), st.floats(0.0, 0.24), st.integers(1, 8)), min_size=1, max_size=4
    ),
)
@settings(max_examples=40, deadline=None)
def test_lies_between_the_largest_user_and_every_gun(
    people: int, given: list[tuple[float, float, int]]
) -> None:
    uses = [AirUse(*one) for one in given]
    found = demand_of_people(people, uses)
    used = [u for u in uses if u.share > 0.0]
    assert found.flow_m3_s >= max((u.flow_m3_s for u in used), default=0.0)
    assert found.flow_m3_s >= flow_of_all_moments(people, uses) * (1.0 - 1e-9)
    assert found.flow_m3_s <= sum(u.flow_m3_s * min(u.guns, people) for u in used) * (1.0 + 1e-9)
    more = demand_of_people(people + 1, uses)
    assert more.flow_m3_s >= found.flow_m3_s * (1.0 - 1e-9)


def test_very_many_sums_are_rounded_up_and_say_by_how_much() -> None:
    uses = [AirUse(10.0 + math.sqrt(k), 0.02 + 0.003 * k, 12) for k in range(12)]
    found = demand_of_people(14, uses)
    assert 0.0 < found.resolution_m3_s < 0.03 * found.flow_m3_s
    flows, chances, _ = people_distribution(14, uses)
    assert flows @ chances == pytest.approx(14.0 * sum(u.flow_m3_s * u.share for u in uses), rel=0.02)


def test_bays() -> None:
    # Computed with scipy 1.17: six bays, each worked in a third of the time.
    assert bays_manned(6, 2.0, 60.0) == int(scipy.stats.binom.ppf(0.99, 6, 1.0 / 3.0))
    assert bays_manned(6, 0.0, 60.0) == 1 and bays_manned(6, 200.0, 60.0) == 6
    assert [bays_manned(4, v, 45.0) for v in (0.2, 1.0, 3.0, 5.0)] == sorted(
        bays_manned(4, v, 45.0) for v in (0.2, 1.0, 3.0, 5.0)
    )


def test_nothing_asks_for_air() -> None:
    assert demand_of_people(3, []).flow_m3_s == 0.0
    none = demand_of_people(3, [AirUse(0.0, 0.5, 2), AirUse(100.0, 0.0, 2)])
    assert none.use is None and none.flow_m3_s == 0.0


def test_says_what_is_wrong() -> None:
    with pytest.raises(OutOfRange, match=r"use share.*time"):
        demand_of_people(2, [AirUse(1.0, 0.7, 2), AirUse(1.0, 0.6, 2)])
    with pytest.raises(OutOfRange, match="people"):
        demand_of_people(0, [])
    with pytest.raises(OutOfRange, match="criterion"):
        demand_of_people(1, [], 0.0)
    for bad in ((-1.0, 0.1, 1), (1.0, -0.1, 1), (1.0, 0.1, 0), (math.nan, 0.1, 1)):
        with pytest.raises(OutOfRange, match="use"):
            AirUse(*bad)
    with pytest.raises(OutOfRange, match="bays"):
        bays_manned(0, 1.0, 1.0)
