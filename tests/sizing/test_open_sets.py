"""Design cases: which guns are open together."""

from __future__ import annotations

import numpy as np
import pytest

from estimator.hydraulics.friction import FloatArray
from estimator.hydraulics.network import compile_network
from estimator.hydraulics.network_model import Network
from estimator.sizing import open_sets
from estimator.sizing.open_sets import (
    EXACT_SETS,
    MOST_PAIRS,
    all_sets,
    hurt,
    likely_pairs,
    members,
    pair_sets,
    rival_sets,
    rivals_from_pairs,
    worst_sets,
)
from tests.hydraulics.network_cases import outlet_pressures


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
    pressure = np.array(list(hurt.values()))
    assert pair_sets(outlets) == list(hurt)
    found = rivals_from_pairs(outlets, 3, pair_sets(outlets), pressure)
    assert found[0] == (0, 2, 3)  # partners give 9, 7, 5: the two lowest are 2 and 3
    assert found[3] == (1, 2, 3)  # partners give 8, 6, 2: the two lowest are 2 and 1


@pytest.mark.parametrize("together", [1, 2, 5])
def test_every_outlet_is_in_its_own_design_case(together: int) -> None:
    outlets = 6
    rng = np.random.default_rng(3)
    pressure = rng.uniform(1.0, 2.0, (len(pair_sets(outlets)), 2))
    found = rivals_from_pairs(outlets, together, pair_sets(outlets), pressure)
    assert all(i in which and len(which) == together for i, which in enumerate(found))


def _line(drops: int) -> Network:
    """A main with two drops at each branch, their hoses and nozzles not alike. Invented."""
    branches = drops // 2
    rng = np.random.default_rng(11)
    main = list(range(branches))
    ends = [1 + i // 2 for i in range(drops)]
    segments = branches + drops
    return Network.build(
        elevation_m=[3.0] * (branches + 1) + [1.0] * drops,
        tube_from=[*main, *ends],
        tube_to=list(range(1, segments + 1)),
        length_m=[*rng.uniform(1.0, 4.0, branches), *rng.uniform(3.0, 9.0, drops)],
        bore_m=[0.012] * branches + [0.008] * drops,
        roughness_m=1.5e-6,
        minor_k=[0.5] * segments,
        minor_k1=[0.0] * segments,
        coil_diameter_m=[0.0] * segments,
        outlet_node=list(range(branches + 1, segments + 1)),
        outlet_coefficient=rng.uniform(1.5e-8, 4e-8, drops),
        source_node=0,
        source_pressure_pa=5e5,
        source_linear_pa_s_m3=2e8,
        source_quadratic_pa_s2_m6=0.0,
        density_kg_m3=1000.0,
        viscosity_pa_s=1e-3,
    )


def _alone(line: Network) -> FloatArray:
    return compile_network(line).solve([(i,) for i in range(line.outlet_node.size)]).flow_m3_s


@pytest.mark.parametrize("together", [2, 4, 9])
def test_the_likeliest_pairs_give_the_rivals_that_all_pairs_give(
    together: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    line = _line(60)
    alone = _alone(line)
    exact = rival_sets(line, together, alone)
    monkeypatch.setattr(open_sets, "MOST_PAIRS", 60 * 13)
    pairs = likely_pairs(hurt(line, alone), together)
    assert len(pairs) <= 60 * 13 < len(pair_sets(60))
    assert rival_sets(line, together, alone) == exact


def test_where_there_are_more_rivals_than_pairs_to_solve_the_shared_way_decides(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    line = _line(40)
    alone = _alone(line)
    exact = rival_sets(line, 20, alone)
    monkeypatch.setattr(open_sets, "MOST_PAIRS", 100)
    assert likely_pairs(hurt(line, alone), 20) == []
    found = rival_sets(line, 20, alone)
    # Not the same to the last drop, but what it comes to: the pressure at each in its own case, within two percent.
    at = [
        outlet_pressures(compile_network(line).solve(sets))[np.arange(40), np.arange(40)]
        for sets in (exact, found)
    ]
    assert at[1] == pytest.approx(at[0], rel=0.02)


def test_an_outlet_further_down_the_same_way_hurts_more_than_one_near_the_pump() -> None:
    line = _line(20)
    fall = hurt(line, np.full(20, 1e-5))
    assert fall[19, 17] > fall[19, 9] > fall[19, 0] > 0.0


def test_one_gun_has_no_rivals_and_the_pairs_of_a_long_line_are_bounded() -> None:
    line = _line(600)
    alone = np.full(600, 1e-5)
    assert rival_sets(line, 1, alone) == [(i,) for i in range(600)]
    assert 0 < len(likely_pairs(hurt(line, alone), 3)) <= MOST_PAIRS
