"""Quantities as typed against published factors, and that nothing but a quantity gets through."""

from __future__ import annotations

import math
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator import units
from estimator.units import (
    MAX_TEXT,
    Dimension,
    QuantityError,
    UnitSystem,
    display,
    parse,
    preferred_unit,
    to_unit,
    units_of,
)

D = Dimension

# Litre, millilitre and metre figures: NIST SP 811 (2008), appendix B.8, and NIST Handbook 44, appendix C; the
# gallon of 231 cubic inches confirmed in an archived copy of Handbook 44, the rest exact by the definitions
# 1 in = 25.4 mm and 1 lb = 0.453 592 37 kg (computed with pint).
_IN_M = 0.0254
_FACTORS = [
    ("1 gal", D.VOLUME, 231 * _IN_M**3, 1e-12),
    ("1 gal", D.VOLUME, 3.785_411_784e-3, 1e-12),
    ("1 gal", D.VOLUME, 128 * 29.573_529_562_5e-6, 1e-12),
    ("1 fl oz", D.VOLUME, 29.573_529_562_5e-6, 1e-12),
    ("1 qt", D.VOLUME, 946.352_946e-6, 1e-9),
    ("1 L", D.VOLUME, 1e-3, 1e-12),
    ("1 psi", D.PRESSURE, 6_894.757_293_168, 1e-10),
    ("14.503773773 psi", D.PRESSURE, 100_000.0, 1e-9),
    ("1 bar", D.PRESSURE, 100_000.0, 1e-12),
    ("1 MPa", D.PRESSURE, 1e6, 1e-12),
    ("1 mbar", D.PRESSURE, 100.0, 1e-12),
    ("1 ft", D.LENGTH, 0.3048, 1e-12),
    ("1 in", D.LENGTH, 0.0254, 1e-12),
    ("1 yd", D.LENGTH, 0.9144, 1e-12),
    ("12 ft 6 in", D.LENGTH, 3.81, 1e-12),
    ("1 gpm", D.FLOW, 3.785_411_784e-3 / 60, 1e-9),
    ("1 gpm", D.FLOW, 0.227_124_707 / 3600, 1e-9),
    ("1 gph", D.FLOW, 3.785_411_784e-3 / 3600, 1e-9),
    ("128 fl oz/min", D.FLOW, 3.785_411_784e-3 / 60, 1e-9),
    ("1 m3/h", D.FLOW, 1 / 3600, 1e-12),
    ("1 cfm", D.FREE_AIR, 28.316_846_592e-3 / 60, 1e-10),
    ("1 scfm", D.FREE_AIR, 7.480_519_48 * 3.785_411_784e-3 / 60, 1e-9),
    # Definitions: 0 °C is 273.15 K; 32 °F is 0 °C; 1 °F is 5/9 K.
    ("0 °C", D.TEMPERATURE, 273.15, 1e-12),
    ("32 °F", D.TEMPERATURE, 273.15, 1e-12),
    ("60 °F", D.TEMPERATURE, 273.15 + 28 * 5 / 9, 1e-12),
    ("1 cP", D.VISCOSITY, 1e-3, 1e-12),
    ("180 °", D.ANGLE, math.pi, 1e-12),
    ("30 days", D.TIME, 30 * 86_400.0, 1e-12),
]


_SPELLED = {(pints, d.si_unit) for d, spellings in units._SPELLINGS.items() for pints in spellings.values()}


@pytest.mark.parametrize("unit", units._COMMON)
def test_every_common_factor_is_pints_own(unit: str) -> None:
    (si_unit,) = {si for spelled, si in _SPELLED if spelled == unit}
    assert units._COMMON[unit] == units._by_pint(unit, si_unit)


@pytest.mark.parametrize(
    ("typed", "loaded"),
    [
        ('parse("5 yd", Dimension.LENGTH).si - 4.572', True),
        ('parse("60 psi", Dimension.PRESSURE).si - 413685.4375901', False),
    ],
)
def test_pint_is_loaded_for_an_uncommon_unit_only(typed: str, loaded: bool) -> None:
    # 5 yd = 15 ft = 4.572 m and 60 lbf/in2, from the definitions of the foot and the pound.
    script = (
        "import sys; from estimator.units import Dimension, parse; assert 'pint' not in sys.modules; "
        f"assert abs({typed}) < 1e-6; print('pint' in sys.modules)"
    )
    told = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == str(loaded)


@pytest.mark.parametrize(("text", "dimension", "si", "tolerance"), _FACTORS)
def test_factor(text: str, dimension: Dimension, si: float, tolerance: float) -> None:
    quantity = parse(text, dimension)
    assert quantity.si == pytest.approx(si, rel=tolerance)
    assert quantity.text == text


def test_the_gallon_is_the_us_gallon() -> None:
    # Imperial gallon 4.546 09 L, exact by definition (NIST SP 811 B.8): a fifth more.
    imperial_m3 = 4.546_09e-3
    assert parse("1 gal", D.VOLUME).si < 0.9 * imperial_m3


def test_standard_atmosphere_in_psi() -> None:
    # 101 325 Pa by definition; 14.695 949 psi computed with pint.
    assert to_unit(101_325.0, D.PRESSURE, "psi") == pytest.approx(14.695_949, rel=1e-7)


@pytest.mark.parametrize(
    ("text", "dimension", "same_as"),
    [
        ("7,5 m", D.LENGTH, "7.5 m"),
        ("0,125 in", D.LENGTH, "0.125 in"),
        ("  25 ft ", D.LENGTH, "25 ft"),
        ("25ft", D.LENGTH, "25 ft"),
        ("12'6\"", D.LENGTH, "150 in"),
        ("2.5 m³/h", D.FLOW, "2.5 m3/h"),
        ("2.5 m^3/h", D.FLOW, "2.5 m3/h"),
        ("60 PSI", D.PRESSURE, "60 psi"),
        ("4 BAR", D.PRESSURE, "4 bar"),
        ("6 gal/min", D.FLOW, "6 gpm"),
        ("1e2 kPa", D.PRESSURE, "1 bar"),
        ("-3 °C", D.TEMPERATURE, "270.15 K"),
        ("5 mPa.s", D.VISCOSITY, "5 mPa·s"),
    ],
)
def test_ways_to_write_the_same(text: str, dimension: Dimension, same_as: str) -> None:
    assert parse(text, dimension).si == pytest.approx(parse(same_as, dimension).si, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "dimension", "told"),
    [
        ("5 psi", D.LENGTH, "“psi” does not measure length"),
        ("5", D.LENGTH, "has no unit"),
        ("m", D.LENGTH, "one number and a unit"),
        ("", D.LENGTH, "one number and a unit"),
        ("nan m", D.LENGTH, "one number and a unit"),
        ("inf bar", D.PRESSURE, "one number and a unit"),
        ("1e999 bar", D.PRESSURE, "too large"),
        ("5 furlong", D.LENGTH, "“furlong” does not measure length"),
        ("1,500 m", D.LENGTH, "two ways"),
        ("1 ft 1,250 in", D.LENGTH, "two ways"),
        ("1.5.2 m", D.LENGTH, "one number and a unit"),
        ("5 mpa", D.PRESSURE, "“mpa”"),
        ("__import__('os')", D.LENGTH, "one number and a unit"),
        ("2*3 m", D.LENGTH, "no length"),
        ("=1+1", D.LENGTH, "one number and a unit"),
        ("9" * 200 + " m", D.LENGTH, "too long"),
    ],
)
def test_what_is_no_quantity_is_told(text: str, dimension: Dimension, told: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse(text, dimension)
    assert told in str(caught.value)
    assert len(str(caught.value)) < 320


@given(st.text(max_size=MAX_TEXT + 20), st.sampled_from(Dimension))
def test_any_text_is_a_finite_quantity_or_a_message(text: str, dimension: Dimension) -> None:
    try:
        quantity = parse(text, dimension)
    except QuantityError as error:
        assert str(error)
    else:
        assert math.isfinite(quantity.si)
        assert quantity.text == text.strip()


_NUMBERS = st.floats(min_value=-1e9, max_value=1e9, allow_nan=False).map(
    lambda x: 0.0 if abs(x) < 1e-9 else x
)


@given(
    st.sampled_from(Dimension).flatmap(lambda d: st.tuples(st.just(d), st.sampled_from(units_of(d)))),
    _NUMBERS,
)
def test_in_and_out_of_every_unit(of: tuple[Dimension, str], number: float) -> None:
    dimension, unit = of
    quantity = parse(f"{number!r} {unit}", dimension)
    # A temperature near its zero loses what the offset of 273.15 K takes: absolute floor of 1e-9 of a degree.
    assert to_unit(quantity.si, dimension, unit) == pytest.approx(number, rel=1e-9, abs=1e-9)
    assert parse(quantity.text, dimension) == quantity


@given(st.sampled_from(Dimension), st.sampled_from(UnitSystem), st.floats(min_value=0.001, max_value=1e5))
def test_what_is_shown_can_be_typed(dimension: Dimension, system: UnitSystem, si: float) -> None:
    shown = display(si, dimension, system)
    unit = preferred_unit(dimension, system)
    assert shown.endswith(unit)
    typed = parse(shown, dimension)
    # Off by no more than half of the last digit shown.
    digits = len(shown.removesuffix(unit).strip().partition(".")[2])
    off = abs(to_unit(typed.si, dimension, unit) - to_unit(si, dimension, unit))
    assert off <= 0.5 * 10.0**-digits * (1 + 1e-9) + 1e-9 * abs(to_unit(si, dimension, unit))


def test_no_minus_zero_is_shown() -> None:
    assert display(-1e-9, D.LENGTH, UnitSystem.METRIC) == "0.00 m"
