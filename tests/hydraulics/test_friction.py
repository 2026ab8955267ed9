"""Friction against tabulated Colebrook values and its own derivative."""

from __future__ import annotations

import doctest
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.hydraulics import friction as module
from estimator.hydraulics.friction import friction, group_and_slope, groups_and_slopes

# Darcy factor by Reynolds number and relative roughness.
# Source: fluids.friction.Colebrook(Re, eD), fluids 1.x; status: computed with that library. Tolerance 1e-4
# (the table carries five figures); laminar rows are 64/Re exactly.
COLEBROOK = [
    (500.0, 0.0, 0.128000),
    (1500.0, 0.0, 0.0426667),
    (4.0e3, 0.0, 0.039907),
    (8.0e3, 0.00035, 0.033271),
    (1.0e4, 0.0, 0.030883),
    (1.0e4, 0.001, 0.032382),
    (1.0e4, 0.01, 0.043127),
    (3.0e4, 0.00024, 0.024122),
    (1.0e5, 0.0, 0.017990),
    (1.0e5, 1e-4, 0.018514),
    (1.0e5, 0.001, 0.022175),
    (1.0e5, 0.01, 0.038504),
    (1.0e6, 1e-4, 0.013441),
    (1.0e6, 0.001, 0.019943),
    (1.0e7, 1e-4, 0.012166),
    (1.0e8, 0.05, 0.071551),
]


def test_worked_examples_in_the_module_run() -> None:
    result = doctest.testmod(module)
    assert result.attempted > 0 and result.failed == 0


@pytest.mark.parametrize(("re", "roughness", "expected"), COLEBROOK)
def test_factor_equals_the_colebrook_table(re: float, roughness: float, expected: float) -> None:
    assert friction(re, roughness).factor == pytest.approx(expected, rel=1e-4)
    group, _ = groups_and_slopes([re], [roughness])
    assert float(group[0]) / re**2 == pytest.approx(expected, rel=1e-4)


@given(st.floats(4000.0, 1e8), st.one_of(st.just(0.0), st.floats(1e-7, 0.05)))
def test_turbulent_factor_satisfies_the_colebrook_equation(re: float, roughness: float) -> None:
    # the equation itself is the yardstick (Colebrook 1939): put f back in, both sides must agree
    f = friction(re, roughness).factor
    right = -2.0 * math.log10(roughness / 3.7 + 2.51 / (re * math.sqrt(f)))
    assert 1.0 / math.sqrt(f) == pytest.approx(right, rel=3e-9)


@given(st.floats(0.0, 1e7), st.floats(0.0, 0.05))
def test_scalar_and_array_forms_agree(re: float, roughness: float) -> None:
    group, slope = groups_and_slopes([re], [roughness])
    alone = group_and_slope(re, roughness)
    assert float(group[0]) == pytest.approx(alone[0], rel=1e-12)
    assert float(slope[0]) == pytest.approx(alone[1], rel=1e-12)


@given(st.floats(1.0, 1e7), st.floats(0.0, 0.05))
def test_slope_is_the_derivative(re: float, roughness: float) -> None:
    step = 1e-5 * re
    for edge in (2300.0, 4000.0):
        if abs(re - edge) <= step:
            return
    high, low = group_and_slope(re + step, roughness)[0], group_and_slope(re - step, roughness)[0]
    assert group_and_slope(re, roughness)[1] == pytest.approx((high - low) / (2.0 * step), rel=1e-5)


@pytest.mark.parametrize("edge", [2300.0, 4000.0])
@pytest.mark.parametrize("roughness", [0.0, 0.0003, 0.01, 0.05])
def test_no_jump_in_value_or_slope_at_the_ends_of_the_bridge(edge: float, roughness: float) -> None:
    below, above = group_and_slope(edge - 1e-6, roughness), group_and_slope(edge + 1e-6, roughness)
    assert below[0] == pytest.approx(above[0], rel=1e-8)
    assert below[1] == pytest.approx(above[1], rel=1e-6)


@pytest.mark.parametrize("roughness", [0.0, 0.001, 0.05])
def test_group_always_rises(roughness: float) -> None:
    group, slope = groups_and_slopes(np.linspace(0.0, 6000.0, 4001), roughness)
    assert (np.diff(group) > 0.0).all() and (slope > 0.0).all()


def test_at_rest_nothing_is_divided_by_zero() -> None:
    at = friction(0.0)
    assert (at.group, at.slope, at.factor, at.outside) == (0.0, 64.0, 0.0, ())


def test_outside_the_range_is_said() -> None:
    assert friction(3000.0).outside and friction(2.0e8).outside and friction(1e5, 0.06).outside
    assert friction(2300.0).outside == () and friction(4000.0, 0.05).outside == ()


@pytest.mark.parametrize(
    ("field", "re", "roughness"),
    [("reynolds", -1.0, 0.0), ("reynolds", math.nan, 0.0), ("relative_roughness", 1e4, math.inf)],
)
def test_bad_input_names_the_field(field: str, re: float, roughness: float) -> None:
    with pytest.raises(ValueError, match=field):
        friction(re, roughness)
