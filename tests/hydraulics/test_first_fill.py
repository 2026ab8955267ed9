"""First fill of a board. Shop figures are invented demo data; what is expected is worked out by hand."""

from __future__ import annotations

import math
from itertools import permutations

import numpy as np
import pytest

from estimator.hydraulics.day import Alone, ByCount, Contents, simulate
from estimator.hydraulics.first_fill import commissioning, first_fill
from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.sprays import given_draws
from estimator.hydraulics.tank import TankLevels, tank

L_MIN = 1.0 / 60000.0
# By how many fill: weaker and slower the more there are.
SHARED = ByCount((4.0 * L_MIN, 3.0 * L_MIN, 2.2 * L_MIN), (64.0, 80.0, 120.0))
TANKS = (tank(0.030), tank(0.060), tank(0.020))


def test_all_at_once_by_hand() -> None:
    # 19, 28.5 and 57 L: 19/2.2 min with three, 9.5/3 min more with two, 28.5/4 min more alone.
    found = first_fill(TANKS, SHARED)
    three, two, one = 19.0 / 2.2, 9.5 / 3.0, 28.5 / 4.0
    assert [t / 60.0 for t in found.full_s] == pytest.approx([three + two, three + two + one, three])
    assert found.parts_water[2] == pytest.approx(120.0)
    assert found.parts_water[0] == pytest.approx(1.0 / ((19.0 / 121.0 + 9.5 / 81.0) / 28.5) - 1.0)
    assert found.parts_water[1] == pytest.approx(
        1.0 / ((19.0 / 121.0 + 9.5 / 81.0 + 28.5 / 65.0) / 57.0) - 1.0
    )
    assert found.most_at_once == 3 and found.total_s == found.full_s[1]
    assert found.least_flow_m3_s == pytest.approx([2.2 * L_MIN] * 3)


def test_in_turn_each_gets_its_own() -> None:
    found = first_fill(TANKS, SHARED, [[2], [0], [1]])
    assert found.parts_water == pytest.approx([64.0] * 3) and found.most_at_once == 1
    assert found.total_s == pytest.approx(60.0 * (19.0 + 28.5 + 57.0) / 4.0)
    assert found.opened_s == pytest.approx([60.0 * 19.0 / 4.0, 60.0 * 47.5 / 4.0, 0.0])


def test_a_time_apart_lies_between() -> None:
    # The second opens after 3 min, 12 L into the first: 16.5 L more at 3 L/min of 80:1.
    found = first_fill(TANKS[:2], SHARED, [[0], [1]], apart_s=180.0)
    assert found.full_s[0] == pytest.approx(180.0 + 60.0 * 16.5 / 3.0)
    assert found.parts_water[0] == pytest.approx(1.0 / ((12.0 / 65.0 + 16.5 / 81.0) / 28.5) - 1.0)
    # Longer apart than one takes is as in turn, with a wait between.
    late = first_fill(TANKS[:2], SHARED, [[0], [1]], apart_s=1000.0)
    assert late.opened_s == (0.0, 1000.0) and late.parts_water == pytest.approx([64.0, 64.0])
    at_once = first_fill(TANKS[:2], SHARED, [[0], [1]], apart_s=0.0)
    assert at_once.full_s == pytest.approx(first_fill(TANKS[:2], SHARED).full_s)


def test_is_what_the_day_does_with_empty_tanks() -> None:
    empty = Contents(np.zeros((3, 1)), np.zeros((3, 1)), np.zeros((3, 1), np.bool_))
    day = simulate(TANKS, SHARED, given_draws(3, [0.0] * 3, [], 7200.0), empty)
    found = first_fill(TANKS, SHARED)
    assert (1.0 / day.evening.share[:, 0] - 1.0).tolist() == pytest.approx(list(found.parts_water), rel=1e-12)
    seconds = [one.filling * 7200.0 for one in day.tanks]
    assert seconds == pytest.approx(list(found.full_s), rel=1e-12)


def test_what_gets_no_water_is_never_full() -> None:
    stuck = ByCount((4.0 * L_MIN, 0.0), (64.0, 64.0))
    found = first_fill(TANKS[:2], stuck)
    assert found.full_s == (math.inf, math.inf) and math.isinf(found.total_s)
    assert all(math.isnan(parts) for parts in found.parts_water) and found.least_flow_m3_s == (0.0, 0.0)
    assert first_fill(TANKS[:2], stuck, [[0], [1]]).parts_water == pytest.approx([64.0, 64.0])
    waits = first_fill(TANKS[:2], Alone((0.0, 4.0 * L_MIN), (64.0, 64.0)), [[0], [1]])
    assert math.isinf(waits.opened_s[1]) and math.isinf(waits.full_s[1])


def test_the_order_found_is_the_shortest_that_keeps_all_right() -> None:
    board = (tank(0.030), tank(0.060), tank(0.020), tank(0.040))
    found = commissioning(board, SHARED, [60.0] * 4, [75.0, 90.0, 90.0, 70.0])
    assert found.order is not None and found.wrong == ()
    # By brute force: each order of the tanks, cut in every way into groups.
    shortest = math.inf
    for order in permutations(range(4)):
        for cuts in range(8):
            groups: list[list[int]] = [[order[0]]]
            for k in range(1, 4):
                if cuts >> (k - 1) & 1:
                    groups.append([])
                groups[-1].append(order[k])
            one = first_fill(board, SHARED, groups)
            if all(
                60.0 <= p <= lean for p, lean in zip(one.parts_water, (75.0, 90.0, 90.0, 70.0), strict=True)
            ):
                shortest = min(shortest, one.total_s)
    assert found.order.total_s == pytest.approx(shortest)
    assert found.all_at_once.parts_water[2] == pytest.approx(120.0)
    assert found.all_at_once.total_s < shortest


def test_no_order_helps_a_tank_that_is_wrong_alone_and_none_is_needed_where_all_are_right() -> None:
    found = commissioning(TANKS, SHARED, [60.0] * 3, [75.0, 75.0, 62.0])
    assert found.order is None and found.wrong == (2,)
    easy = commissioning(TANKS, SHARED, [60.0] * 3, [150.0] * 3)
    assert easy.order is not None and easy.order.groups == ((0, 1, 2),)
    many = commissioning([tank(0.030)] * 9, SHARED, [60.0] * 9, [70.0] * 9)
    assert many.order is not None and many.order.most_at_once == 1 and len(many.order.groups) == 9
    assert commissioning([], SHARED, [], []).order is not None


def test_says_what_is_wrong() -> None:
    for groups in ([[0], [0, 1]], [[0]], [[0, 1, 2]]):
        with pytest.raises(OutOfRange, match="groups"):
            first_fill([TankLevels(0.03, 0.02, 0.028)] * 2, SHARED, groups)
    with pytest.raises(OutOfRange, match="apart_s"):
        first_fill(TANKS, SHARED, None, -1.0)
    with pytest.raises(OutOfRange, match="fill flow_m3_s"):
        first_fill(TANKS, Alone((math.nan,) * 3, (64.0,) * 3))
    with pytest.raises(OutOfRange, match="leanest"):
        commissioning(TANKS, SHARED, [60.0] * 3, [70.0])
