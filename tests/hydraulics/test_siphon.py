"""Liquid at rest."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.hydraulics import siphon as si
from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.pump import barometric_pressure
from estimator.hydraulics.water import vapour_pressure


def test_head_of_water() -> None:
    # Computed: water of 998.2 kg/m3, 10.2156 m per bar.
    assert si.rest_pressure(1e5, 0.0, 10.2156, 998.2) == pytest.approx(0.0, abs=10.0)
    assert si.rest_pressure(4e5, 2.0, 0.0, 998.2) == pytest.approx(4e5 + 2e5 / 10.2156, rel=1e-5)


@given(st.floats(-5.0, 5.0), st.floats(-5.0, 5.0), st.floats(0.0, 20.0), st.floats(600.0, 2000.0))
def test_it_runs_down_and_only_while_it_holds_together(
    level: float, outlet: float, over: float, rho: float
) -> None:
    found = si.siphon(level, outlet + over, outlet, rho, 101325.0, 2339.0)
    assert found.head_pa == pytest.approx(si.rest_pressure(0.0, level, outlet, rho), abs=1e-6)
    assert not found.runs or outlet < level
    assert found.crest_pa == 0.0 or found.crest_pa > 2339.0
    assert found.runs == (found.head_pa > 0.0 and found.crest_pa > 0.0)
    # A lower outlet and a lower crest never stop it.
    assert not found.runs or si.siphon(level, outlet + over - 1.0, outlet - 1.0, rho, 101325.0, 2339.0).runs


# How high a siphon reaches, computed: (p_air - p_v)/(rho g) with the US Standard Atmosphere 1976 and IAPWS vapour.
@pytest.mark.parametrize(("metres", "kelvin"), [(0.0, 288.15), (3500.0, 288.15), (0.0, 333.15)])
def test_highest_crest(metres: float, kelvin: float) -> None:
    air, vapour = barometric_pressure(metres), vapour_pressure(kelvin)
    highest = (air - vapour) / (1000.0 * 9.80665)
    assert si.siphon(0.0, highest - 0.01, -1.0, 1000.0, air, vapour).runs
    parted = si.siphon(0.0, highest + 0.01, -1.0, 1000.0, air, vapour)
    assert (parted.runs, parted.crest_pa) == (False, 0.0)


@given(st.floats(-1e5, 1e5), st.floats(-5.0, 12.0), st.floats(0.01, 5.0))
def test_a_higher_loop_never_helps_the_suction(street: float, rise: float, more: float) -> None:
    assert si.drawn_back(street, rise, 1000.0) or not si.drawn_back(street, rise + more, 1000.0)
    assert si.drawn_back(-101325.0, 10.3, 1000.0)
    assert not si.drawn_back(-101325.0, 10.4, 1000.0)


def test_bad_input_names_the_field() -> None:
    with pytest.raises(OutOfRange, match="crest_m"):
        si.siphon(1.0, 0.5, 0.8, 1000.0)
    with pytest.raises(OutOfRange, match="density_kg_m3"):
        si.siphon(1.0, 2.0, 0.8, 0.0)
    with pytest.raises(OutOfRange, match="vapour_pa"):
        si.siphon(1.0, 2.0, 0.8, 1000.0, 50e3, 60e3)
    for bad in (math.nan, math.inf):
        with pytest.raises(OutOfRange, match="level_m"):
            si.siphon(bad, 2.0, 0.8, 1000.0)
        with pytest.raises(OutOfRange, match="street_pa"):
            si.drawn_back(bad, 1.0, 1000.0)
        with pytest.raises(OutOfRange, match="point_m"):
            si.rest_pressure(1e5, 0.0, bad, 1000.0)
