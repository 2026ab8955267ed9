"""Air-operated diaphragm pump."""

from __future__ import annotations

import math

import pytest
from fluids.atmosphere import ATMOSPHERE_1976
from hypothesis import given
from hypothesis import strategies as st

from estimator.hydraulics import pump
from estimator.hydraulics.limits import OutOfRange

PSI = 6894.757293168
GPM = 3.785411784e-3 / 60.0
CFM = 0.3048**3 / 60.0
L_MIN = 1.0 / 60000.0
# Invented demo data.
CURVE = pump.PumpCurve(2e3 / L_MIN, 0.5e3 / L_MIN**2, 20 * L_MIN, 7e5, 1.5)


# Computed: q (231/1728) (pg + pa)/pa with pa 14.696 psia; (gpm, psig, scfm).
@pytest.mark.parametrize(("gpm", "psig", "scfm"), [(1, 60, 0.67946), (2, 80, 1.72278), (5, 100, 5.21660)])
def test_ideal_air(gpm: float, psig: float, scfm: float) -> None:
    ideal = pump.ideal_free_air(gpm * GPM, psig * PSI, 14.696 * PSI)
    assert ideal / CFM == pytest.approx(scfm, rel=1e-5)
    assert pump.free_air_used(CURVE, gpm * GPM, psig * PSI, 14.696 * PSI) == pytest.approx(
        1.5 * ideal, rel=1e-12
    )


# Computed with fluids 1.3.1 ATMOSPHERE_1976 (US Standard Atmosphere 1976).
@pytest.mark.parametrize("altitude", [-430.0, 0.0, 500.0, 1600.0, 3500.0, 5000.0])
def test_barometer(altitude: float) -> None:
    assert pump.barometric_pressure(altitude) == pytest.approx(ATMOSPHERE_1976(altitude).P, rel=1e-6)


def test_barometer_at_3500_m() -> None:
    # US Standard Atmosphere 1976, tables: 6.5780e4 Pa at 3500 m geometric, from memory.
    assert pump.barometric_pressure(3500.0) == pytest.approx(65780.0, rel=1e-4)
    for bad in (9000.0, -1000.0, math.nan):
        with pytest.raises(OutOfRange, match="altitude_m"):
            pump.barometric_pressure(bad)


def test_thin_air_uses_more_of_it() -> None:
    low = pump.ideal_free_air(GPM, 4e5, pump.barometric_pressure(0.0))
    high = pump.ideal_free_air(GPM, 4e5, pump.barometric_pressure(3500.0))
    assert high > 1.3 * low


def test_outside_is_said_and_nothing_is_moved() -> None:
    assert pump.discharge(CURVE, 4e5, 10 * L_MIN).outside == ()
    over = pump.discharge(CURVE, 8e5, 30 * L_MIN)
    assert len(over.outside) == 2
    assert over.pressure_pa == pytest.approx(8e5 - 60e3 - 450e3, rel=1e-12)
    dead = pump.discharge(CURVE, 1e5, 19 * L_MIN)
    assert dead.pressure_pa < 0.0 and "more than this air pressure" in dead.outside[0]


@given(
    st.floats(0, 2e4), st.floats(0, 2e3), st.lists(st.floats(0.5, 20), min_size=2, max_size=6, unique=True)
)
def test_fit_gives_back_what_made_the_points(a: float, b: float, flows: list[float]) -> None:
    if max(flows) - min(flows) < 0.5:
        return
    points = [pump.MakerPoint(3e6, q * L_MIN, 3e6 - a * q - b * q * q) for q in flows]
    fit = pump.fit_curve(points)
    assert fit.linear_pa_s_m3 >= 0.0 and fit.quadratic_pa_s2_m6 >= 0.0
    assert fit.worst_error_pa <= 1.0
    for q in flows:
        found = fit.linear_pa_s_m3 * q * L_MIN + fit.quadratic_pa_s2_m6 * (q * L_MIN) ** 2
        assert found == pytest.approx(a * q + b * q * q, abs=1.0)


def test_fit_checks_its_points() -> None:
    good = pump.MakerPoint(5e5, 2 * L_MIN, 4.9e5)
    with pytest.raises(ValueError, match="two or more flows"):
        pump.fit_curve([good, good])
    with pytest.raises(OutOfRange, match="point 2 discharge_pa"):
        pump.fit_curve([good, pump.MakerPoint(5e5, 5 * L_MIN, 6e5)])
    with pytest.raises(OutOfRange, match="point 1 flow_m3_s"):
        pump.fit_curve([pump.MakerPoint(5e5, math.nan, 4e5), good])


def test_fit_says_when_a_coefficient_is_left_out() -> None:
    # Invented points whose droop flattens: the quadratic term would be negative.
    flat = [pump.MakerPoint(5e5, q * L_MIN, 5e5 - d) for q, d in ((2, 40e3), (6, 70e3), (12, 90e3))]
    fit = pump.fit_curve(flat)
    assert fit.quadratic_pa_s2_m6 == 0.0 and fit.linear_pa_s_m3 > 0.0
    assert fit.left_out == "quadratic"
    # Invented points whose droop starts late: the linear term would be negative.
    late = [pump.MakerPoint(5e5, q * L_MIN, 5e5 - d) for q, d in ((2, 0.0), (6, 20e3), (12, 300e3))]
    fit = pump.fit_curve(late)
    assert fit.linear_pa_s_m3 == 0.0 and fit.left_out == "linear"
    # By hand: told above 5 % of 500 kPa, so 25 kPa.
    assert fit.missed and all(25e3 < miss <= fit.worst_error_pa for _, miss in fit.missed)


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ((-1.0, 0.0, 1e-4, 7e5, 1.5), "linear_pa_s_m3"),
        ((0.0, math.inf, 1e-4, 7e5, 1.5), "quadratic_pa_s2_m6"),
        ((0.0, 0.0, 0.0, 7e5, 1.5), "max_flow_m3_s"),
        ((0.0, 0.0, 1e-4, 0.0, 1.5), "max_air_pa"),
        ((0.0, 0.0, 1e-4, 7e5, 0.9), "air_factor"),
    ],
)
def test_bad_curve_names_the_field(values: tuple[float, float, float, float, float], field: str) -> None:
    with pytest.raises(OutOfRange, match=field):
        pump.PumpCurve(*values)
