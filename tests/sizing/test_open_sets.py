"""Design cases: which guns are open together."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from estimator.sizing.open_sets import EXACT_SETS, all_sets, members, pair_sets, rivals_from_pairs, worst_sets


def test_all_sets_up_to_the_bound() -> None:
    assert all_sets(4, 2) == [(0, 1), (0, 2), (0, 3), (1, 2), (1, 3), (2, 3)]
    assert all_sets(24, 6) is None  # C(24, 6) = 134,596 by the binomial coefficient
    assert len(all_sets(24, 2) or []) == 276 <= EXACT_SETS


def test_worst_set_is_the_one_with_the_least_flow_that_holds_the_outlet() -> None:
    sets = [(0, 1), (0, 2), (1, 2)]
    flow = np.array([[5.0, 4.0, 0.0], [3.0, 0.0, 9.0], [0.0, 6.0, 2.0]])
    # Outlet 0 is in sets 0 (5) and 1 (3); outlet 1 in 0 (4) and 2 (6); outlet 2 in 1 (9) and 2 (2). By hand.
    assert worst_sets(members(sets, 3), flow).tolist() == [1, 0, 2]


def test_of_equally_bad_sets_the_one_with_the_most_flow_is_taken_whatever_the_rounding() -> None:
    sets = [(0, 1), (0, 2), (0, 3)]
    flow = np.array([[5.0, 4.0, 0.0, 0.0], [5.0, 0.0, 6.0, 0.0], [5.0, 0.0, 0.0, 6.0]])
    for noise in (-1e-12, 0.0, 1e-12):
        flow[0, 0], flow[1, 0] = 5.0 + noise, 5.0 - noise
        flow[2, 3] = 6.0 + noise
        assert worst_sets(members(sets, 4), flow)[0] == 1


def test_rivals_are_those_that_hurt_most_in_pairs() -> None:
    outlets = 4
    hurt = {
        (0, 1): (9.0, 8.0),
        (0, 2): (7.0, 8.0),
        (0, 3): (5.0, 8.0),
        (1, 2): (6, 6),
        (1, 3): (7, 6),
        (2, 3): (1, 2),
    }
    pressure = np.zeros((6, outlets))
    for row, (i, j) in enumerate(combinations(range(outlets), 2)):
        pressure[row, i], pressure[row, j] = hurt[i, j]
    assert pair_sets(outlets) == list(hurt)
    found = rivals_from_pairs(outlets, 3, pressure)
    assert found[0] == (0, 2, 3)  # partners give 9, 7, 5: the two lowest are 2 and 3
    assert found[3] == (1, 2, 3)  # partners give 8, 6, 2: the two lowest are 2 and 1


@pytest.mark.parametrize("together", [1, 2, 5])
def test_every_outlet_is_in_its_own_design_case(together: int) -> None:
    outlets = 6
    rng = np.random.default_rng(3)
    pressure = rng.uniform(1.0, 2.0, (len(pair_sets(outlets)), outlets))
    found = rivals_from_pairs(outlets, together, pressure)
    assert all(i in which and len(which) == together for i, which in enumerate(found))
