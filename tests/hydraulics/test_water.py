"""Water against IAPWS values."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.hydraulics import water
from estimator.hydraulics.limits import OutOfRange

# (degC, kg/m3, mPa s, mm2/s, kPa) at 101.325 kPa; computed with iapws (IAPWS95) and CoolProp, both agree.
TABLE = [
    (5, 999.967, 1.51817, 1.51822, 0.8726),
    (10, 999.702, 1.30590, 1.30629, 1.2282),
    (15, 999.103, 1.13757, 1.13859, 1.7058),
    (20, 998.207, 1.00160, 1.00340, 2.3393),
    (25, 997.048, 0.89002, 0.89266, 3.1699),
    (30, 995.649, 0.79722, 0.80071, 4.2470),
    (40, 992.216, 0.65273, 0.65785, 7.3849),
    (50, 988.035, 0.54652, 0.55313, 12.3519),
    (60, 983.196, 0.46604, 0.47400, 19.9464),
]


@pytest.mark.parametrize(("celsius", "rho", "mu", "nu", "psat"), TABLE)
def test_table(celsius: float, rho: float, mu: float, nu: float, psat: float) -> None:
    w = water.water(celsius + 273.15)
    assert w.density_kg_m3 == pytest.approx(rho, rel=2e-5)  # asked: 0.05 %
    assert 1e3 * w.viscosity_pa_s == pytest.approx(mu, rel=1e-4)  # asked: 0.5 %
    assert 1e6 * w.viscosity_pa_s / w.density_kg_m3 == pytest.approx(nu, rel=1e-4)
    assert 1e-3 * w.vapour_pressure_pa == pytest.approx(psat, rel=1e-3)


def test_release_check_points() -> None:
    # IAPWS R12-08, table of check values with the critical enhancement left out: confirmed by computation.
    assert 1e6 * water.iapws_viscosity(298.15, 998.0) == pytest.approx(889.735100, rel=1e-9)
    assert 1e6 * water.iapws_viscosity(373.15, 1000.0) == pytest.approx(307.883623, rel=3e-9)


def test_iso_reference_viscosity() -> None:
    # ISO/TR 3666: water at 20 degC 1.0016 mPa s, from memory.
    assert 1e3 * water.viscosity(293.15) == pytest.approx(1.0016, abs=5e-5)


@pytest.mark.parametrize("kelvin", [273.0, 368.15, math.nan, math.inf, -math.inf])
def test_outside(kelvin: float) -> None:
    for call in (water.water, water.density, water.viscosity, water.vapour_pressure):
        with pytest.raises(OutOfRange, match="temperature_k"):
            call(kelvin)


def test_at_freezing_point_is_liquid() -> None:
    assert water.density(273.15) == pytest.approx(999.84, abs=0.01)  # Kell 1975, second-hand


@given(st.floats(273.15, 333.15))
def test_finite_and_hotter_is_thinner(kelvin: float) -> None:
    w = water.water(kelvin)
    assert all(math.isfinite(x) and x > 0 for x in (w.density_kg_m3, w.viscosity_pa_s, w.vapour_pressure_pa))
    if kelvin < 333.0:
        assert water.viscosity(kelvin + 0.1) < w.viscosity_pa_s
        assert water.vapour_pressure(kelvin + 0.1) > w.vapour_pressure_pa
