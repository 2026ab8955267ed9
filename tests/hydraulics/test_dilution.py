"""Dilution arithmetic."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.hydraulics import dilution
from estimator.hydraulics.limits import OutOfRange

GALLON_M3 = 3.785411784e-3  # exact, NIST Handbook 44 appendix C


# Definition; percentages computed.
@pytest.mark.parametrize(
    ("parts", "percent"),
    [
        (1, 50),
        (4, 20),
        (10, 9.0909),
        (15, 6.25),
        (20, 4.7619),
        (30, 3.2258),
        (64, 1.53846),
        (128, 0.775194),
        (256, 0.389105),
    ],
)
def test_percent(parts: float, percent: float) -> None:
    assert 100 * dilution.concentrate_fraction(parts) == pytest.approx(percent, rel=1e-5)
    assert dilution.concentrate_fraction(parts) == pytest.approx(1 / (parts + 1), rel=1e-12)


# Computed: 128/(N+1) and 128/N, 128 fl oz in a gallon exact.
@pytest.mark.parametrize(("parts", "ounces"), [(15, 8.0), (64, 1.96923), (128, 0.99225)])
def test_ounces_per_gallon_made(parts: float, ounces: float) -> None:
    assert dilution.fl_oz_per_gallon_made(parts) == pytest.approx(ounces, rel=1e-5)


@pytest.mark.parametrize(("parts", "ounces"), [(4, 32), (16, 8), (64, 2), (128, 1), (256, 0.5)])
def test_ounces_per_gallon_of_water(parts: float, ounces: float) -> None:
    assert dilution.fl_oz_per_gallon_of_water(parts) == pytest.approx(ounces, rel=1e-9)


def test_stock() -> None:
    # Computed, C1 V1 = C2 V2: 10 % to 2 %, 50 L.
    parts = dilution.parts_for_strength(10.0, 2.0)
    made = dilution.mix(0.050, parts)
    assert parts == pytest.approx(4.0, rel=1e-12)
    assert made.concentrate_m3 == pytest.approx(0.010, rel=1e-9)
    assert made.water_m3 == pytest.approx(0.040, rel=1e-9)
    # Public guidance on chlorine solutions, from memory: 5 % to 0.5 % is 9 parts, 3.5 % to 0.5 % is 6.
    assert dilution.parts_for_strength(5.0, 0.5) == pytest.approx(9.0, rel=1e-12)
    assert dilution.parts_for_strength(3.5, 0.5) == pytest.approx(6.0, rel=1e-12)


def test_day_tank() -> None:
    # Computed: 35 gal at 1:20.
    made = dilution.mix(35 * GALLON_M3, 20.0)
    assert made.concentrate_m3 / GALLON_M3 == pytest.approx(1.66667, rel=2e-6)
    assert made.concentrate_m3 / GALLON_M3 * 128 == pytest.approx(213.3333, rel=1e-6)
    assert made.water_m3 / GALLON_M3 == pytest.approx(33.3333, rel=2e-6)


@pytest.mark.parametrize("bad", [-1.0, float("nan"), float("inf")])
def test_bad_parts(bad: float) -> None:
    with pytest.raises(OutOfRange, match="parts_water"):
        dilution.concentrate_fraction(bad)


def test_bad_strengths() -> None:
    with pytest.raises(OutOfRange, match="strengthen"):
        dilution.parts_for_strength(2.0, 10.0)
    with pytest.raises(OutOfRange, match="fraction"):
        dilution.parts_of_water(0.0)
    with pytest.raises(OutOfRange, match="fraction"):
        dilution.parts_of_water(1.5)


@given(st.floats(0.0, 2000.0), st.floats(1e-6, 10.0))
def test_mix_adds_up_and_inverts(parts: float, volume: float) -> None:
    made = dilution.mix(volume, parts)
    assert made.concentrate_m3 + made.water_m3 == pytest.approx(volume, rel=1e-12)
    assert dilution.parts_of_water(dilution.concentrate_fraction(parts)) == pytest.approx(
        parts, rel=1e-9, abs=1e-9
    )
