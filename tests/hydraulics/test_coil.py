"""Coil hoses against published formulas and the rule that a coil never beats the straight hose."""

from __future__ import annotations

import doctest

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.hydraulics import coil as module
from estimator.hydraulics.coil import (
    coil_group_and_slope,
    coil_groups,
    critical_reynolds_ito,
    critical_reynolds_schmidt,
)
from estimator.hydraulics.friction import group_and_slope, groups_and_slopes
from tests.hydraulics.by_hand import coil_loss, tube_loss

LPM = 1.0 / 60000.0


def test_worked_examples_in_the_module_run() -> None:
    result = doctest.testmod(module)
    assert result.attempted > 0 and result.failed == 0


# Critical Reynolds numbers. Source: formulas as printed in the fluids documentation; confirmed there, values
# computed with fluids 1.x.
@pytest.mark.parametrize(
    ("bore_mm", "coil_mm", "ito", "schmidt"),
    [
        (4.318, 63.5, 8461.2, 8200.0),
        (6.35, 76.2, 9030.1, 8765.4),
        (1.0, 7.0, 10729.97, 10540.09),
    ],
)
def test_critical_reynolds(bore_mm: float, coil_mm: float, ito: float, schmidt: float) -> None:
    assert critical_reynolds_ito(bore_mm / coil_mm) == pytest.approx(ito, rel=1e-5)
    assert critical_reynolds_schmidt(bore_mm / coil_mm) == pytest.approx(schmidt, rel=1e-5)


def test_critical_reynolds_schmidt_of_a_wide_coil() -> None:
    # 20 mm on 500 mm: fluids documentation, confirmed
    assert critical_reynolds_schmidt(20.0 / 500.0) == pytest.approx(6946.79, rel=1e-6)


def test_white_and_mori_nakayama_equal_the_library() -> None:
    # fluids.friction.helical_laminar_fd_White(250, .02, .1), helical_turbulent_fd_Mori_Nakayama(1e4, .01,
    # .2): computed with fluids 1.x. Same equation: 1e-6. Each is the largest of the three where it is taken.
    assert coil_group_and_slope(250.0, 0.0, 0.2)[0] / 250.0**2 == pytest.approx(0.40632818, rel=1e-6)
    assert coil_group_and_slope(1.0e4, 0.0, 0.05)[0] / 1.0e8 == pytest.approx(0.037311802, rel=1e-6)


# Factor to use, by Re and d/D. Source: White 1929 (laminar rows), mean of Ito 1959 and
# Mori-Nakayama 1967 (turbulent rows); computed with fluids 1.x, formulas of Ito from memory. 10 % across
# authors.
TABLE = [
    (1000.0, 4.318 / 63.5, 0.13712),
    (5000.0, 4.318 / 63.5, 0.05198),
    (15000.0, 4.318 / 63.5, 0.03508),
    (30000.0, 4.318 / 63.5, 0.03053),
    (2000.0, 6.35 / 76.2, 0.09325),
    (20000.0, 6.35 / 76.2, 0.03378),
]


@pytest.mark.parametrize(("re", "curvature", "factor"), TABLE)
def test_factor_is_near_every_author(re: float, curvature: float, factor: float) -> None:
    found = coil_group_and_slope(re, 0.0, curvature)[0] / re**2
    assert found == pytest.approx(factor, rel=0.10)


# Whole hoses, water 20 C. Source: White / Mori-Nakayama by fluids 1.x; status: computed. Tolerance 10 %.
@pytest.mark.parametrize(
    ("bore_mm", "coil_mm", "length", "lpm", "kpa", "straight_kpa"),
    [
        (4.318, 63.5, 4.572, 1.0, 36.02, 25.75),
        (4.318, 63.5, 4.572, 2.0, 105.1, 85.0),
        (6.35, 76.2, 7.62, 6.0, 200.9, 154.6),
    ],
)
def test_hoses(
    bore_mm: float, coil_mm: float, length: float, lpm: float, kpa: float, straight_kpa: float
) -> None:
    loss = coil_loss(lpm * LPM, length, bore_mm * 1e-3, coil_mm * 1e-3, 0.0, 998.207, 1.0016e-3)
    assert loss.loss_pa / 1000.0 == pytest.approx(kpa, rel=0.10)
    plain = tube_loss(lpm * LPM, length, bore_mm * 1e-3, 0.0, 998.207, 1.0016e-3)
    assert plain.loss_pa / 1000.0 == pytest.approx(straight_kpa, rel=0.01)


@given(st.floats(0.0, 3e5), st.floats(1e-4, 0.2), st.floats(0.0, 0.01))
def test_a_coil_never_loses_less_than_the_straight_hose(
    re: float, curvature: float, roughness: float
) -> None:
    assert coil_group_and_slope(re, roughness, curvature)[0] >= group_and_slope(re, roughness)[0]


@given(st.floats(0.0, 3e5), st.floats(1e-4, 0.2), st.floats(0.0, 0.01))
def test_scalar_and_array_forms_agree(re: float, curvature: float, roughness: float) -> None:
    straight, slope = groups_and_slopes([re], [roughness])
    group, steep = coil_groups(np.array([re]), np.array([curvature]), straight, slope)
    alone = coil_group_and_slope(re, roughness, curvature)
    assert float(group[0]) == pytest.approx(alone[0], rel=1e-10)
    if re >= 1.0:
        assert float(steep[0]) == pytest.approx(alone[1], rel=1e-6)


@pytest.mark.parametrize("curvature", [0.002, 0.068, 0.0833])
def test_no_jump_anywhere_and_the_slope_is_the_derivative(curvature: float) -> None:
    re = np.geomspace(1.0, 2e5, 20001)
    straight, slope = groups_and_slopes(re, 1e-4)
    group, steep = coil_groups(re, np.full_like(re, curvature), straight, slope)
    assert (np.diff(group) > 0.0).all()
    assert (np.diff(group) / group[:-1]).max() < 4e-3
    numeric = np.gradient(group, re)
    # a kink where one formula takes over is allowed; elsewhere the slope is the derivative
    assert np.mean(np.abs(steep / numeric - 1.0) < 1e-4) > 0.999


def test_outside_the_range_is_said() -> None:
    near = coil_loss(1.7 * LPM, 4.572, 4.318e-3, 63.5e-3, 0.0, 998.207, 1.0016e-3)
    assert 8200.0 < near.reynolds < 8461.2 and any("critical" in text for text in near.outside)
    tight = coil_loss(LPM, 1.0, 4.318e-3, 20e-3, 0.0, 998.207, 1.0016e-3)
    assert any("coil diameter" in text for text in tight.outside)


@pytest.mark.parametrize(("field", "coil"), [("coil_diameter_m", 0.0), ("coil_diameter_m", 4e-3)])
def test_bad_input_names_the_field(field: str, coil: float) -> None:
    with pytest.raises(ValueError, match=field):
        coil_loss(LPM, 1.0, 4.318e-3, coil, 0.0, 998.2, 1e-3)
