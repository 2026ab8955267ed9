"""Solution and air in a foam gun: the two laws and the shared outlet, each way in which it moves, and both shut out."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from scipy.optimize import brentq

from estimator.hydraulics.air import FreeAir
from estimator.hydraulics.air_reference import ANR
from estimator.hydraulics.foam import Foam, FoamGun, foam, outlet_area
from estimator.hydraulics.limits import OutOfRange

L_MIN = 1.0 / 60000.0
BARO = 1e5
AIR = FreeAir(90.0 * L_MIN, ANR)
GUN = FoamGun(1.3 * L_MIN, 2e5, AIR.mass_flow_kg_s, 4e5, outlet_area(AIR, 3e4, BARO))


def at(solution_bar: float, air_bar: float, gun: FoamGun = GUN) -> Foam:
    return foam(gun, 1e5 * solution_bar, 1e5 * air_bar, 1000.0, BARO)


def _through(area_m2: float, up_pa: float, down_pa: float) -> float:
    """Air through an opening [kg/s], written anew from the isentropic relations (any gas dynamics text)."""
    k, rt = 1.4, 287.05 * 293.15
    ratio = max(down_pa / up_pa, (2.0 / (k + 1.0)) ** (k / (k - 1.0)))
    mach = math.sqrt(2.0 / (k - 1.0) * (ratio ** (-(k - 1.0) / k) - 1.0))
    through: float = area_m2 * up_pa * math.sqrt(k / rt) * mach * (1.0 + 0.2 * mach**2) ** (-3.0)
    return through


@pytest.mark.parametrize(("solution", "air"), [(2.0, 4.0), (1.0, 6.0), (4.0, 1.2), (3.0, 0.9), (0.4, 7.0)])
def test_it_is_the_balance_of_the_two_laws(solution: float, air: float) -> None:
    """Against a bracketing solver on the same two laws written anew (computed with scipy)."""
    hole = AIR.mass_flow_kg_s / _through(1.0, 5e5, BARO)
    outlet = AIR.mass_flow_kg_s / _through(1.0, 1.3e5, BARO)

    def gap(chamber: float) -> float:
        liquid = 1.3 * L_MIN * math.sqrt(max(1e5 * solution - chamber, 0.0) / 2e5)
        gas = _through(hole, BARO + 1e5 * air, BARO + chamber) if chamber < 1e5 * air else 0.0
        return liquid / math.sqrt(2.0 * chamber / 1000.0) + gas / _through(1.0, BARO + chamber, BARO) - outlet

    chamber = brentq(gap, 1.0, 1e5 * max(solution, air), xtol=1e-6)
    assert at(solution, air).chamber_pa == pytest.approx(chamber, rel=1e-6)


def test_each_alone_is_what_it_was_stated_as() -> None:
    """Air alone at its stated pressure: its stated flow, and the chamber that the outlet was made from."""
    air_alone = at(0.0, 4.0)
    assert air_alone.solution_m3_s == 0.0 and air_alone.ratio == math.inf
    assert air_alone.chamber_pa == pytest.approx(3e4, rel=1e-6)
    assert air_alone.air_kg_s == pytest.approx(
        AIR.mass_flow_kg_s, rel=1e-6
    )  # choked: no chamber below 1.6 bar counts
    wet = at(2.0, 0.0)
    assert wet.air_kg_s == 0.0 and wet.ratio == 0.0 and 0.0 < wet.chamber_pa < 3e4
    assert at(0.0, 0.0).chamber_pa == 0.0


def test_both_pressures_act() -> None:
    by_air = [at(2.0, p) for p in (0.5, 1.0, 2.0, 4.0, 6.0)]
    by_solution = [at(p, 4.0) for p in (0.5, 1.0, 2.0, 4.0, 6.0)]
    for some, falls in ((by_air, "solution_m3_s"), (by_solution, "air_kg_s")):
        assert [s.chamber_pa for s in some] == sorted(s.chamber_pa for s in some)
        values = [getattr(s, falls) for s in some]
        # Air that is choked does not notice what the chamber has.
        assert values == sorted(values, reverse=True)
    assert [s.ratio for s in by_air] == sorted(s.ratio for s in by_air)
    assert [s.ratio for s in by_solution] == sorted((s.ratio for s in by_solution), reverse=True)


def test_what_has_less_than_the_chamber_is_shut_out() -> None:
    narrow = replace(GUN, outlet_m2=GUN.outlet_m2 / 20.0)
    dry = at(0.5, 6.0, narrow)
    assert dry.chamber_pa > 0.5e5 and dry.solution_m3_s == 0.0 and dry.ratio == math.inf
    soaked = at(6.0, 0.1, narrow)
    assert soaked.chamber_pa > 0.1e5 and soaked.air_kg_s == 0.0 and soaked.ratio == 0.0


def test_absurd_figures_are_refused_by_name() -> None:
    for name in ("solution_m3_s", "solution_pa", "air_kg_s", "air_pa", "outlet_m2"):
        with pytest.raises(OutOfRange, match=name):
            replace(GUN, **{name: 0.0})
    with pytest.raises(OutOfRange, match="air_pa"):
        at(2.0, -1.0)
    with pytest.raises(OutOfRange, match="back_pa"):
        outlet_area(AIR, 0.0, BARO)
