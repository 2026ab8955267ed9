"""Straight tubes against textbook examples and computed tables."""

from __future__ import annotations

import doctest
import math

import pytest

from tests.hydraulics import by_hand as module
from tests.hydraulics.by_hand import reynolds, tube_loss, velocity

LPM = 1.0 / 60000.0
FOOT = 0.3048
# Drawn tubing roughness as printed on Moody diagram sheets; status: confirmed.
DRAWN_M = 1.5e-6


def test_worked_examples_in_the_module_run() -> None:
    result = doctest.testmod(module)
    assert result.attempted > 0 and result.failed == 0


# Water 20 C (998.207 kg/m3, 1.0016 mPa s), 10 m of drawn tubing.
# Source: fluids.friction.Colebrook with Darcy-Weisbach; status: computed with fluids 1.x. Tolerance 0.5 %.
SMALL_TUBES = [
    (4.318, 1.5, 1.7072, 7346.7, 0.034020, 114.609),
    (6.35, 0.5, 0.2631, 1665.3, 0.038432, 2.092),
    (6.35, 3.0, 1.5788, 9991.5, 0.031252, 61.230),
    (9.525, 8.0, 1.8712, 17762.7, 0.026974, 49.490),
    (12.7, 15.0, 1.9735, 24978.9, 0.024815, 37.983),
]


@pytest.mark.parametrize(("bore_mm", "lpm", "speed", "re", "factor", "kpa"), SMALL_TUBES)
def test_small_tubes(bore_mm: float, lpm: float, speed: float, re: float, factor: float, kpa: float) -> None:
    loss = tube_loss(lpm * LPM, 10.0, bore_mm * 1e-3, DRAWN_M, 998.207, 1.0016e-3)
    assert loss.velocity_m_s == pytest.approx(speed, rel=3e-4)
    assert loss.reynolds == pytest.approx(re, rel=1e-4)
    assert loss.factor == pytest.approx(factor, rel=1e-3)
    assert loss.loss_pa / 1000.0 == pytest.approx(kpa, rel=5e-3)


def flow_at(speed: float, bore_m: float) -> float:
    return speed * 0.25 * math.pi * bore_m**2


def test_white_example_6_6() -> None:
    # White, Fluid Mechanics, Ex. 6.6 (after Moody 1944): 200 ft of 6 in asphalted cast iron, 6 ft/s.
    # Printed 280 lbf/ft2, h 4.5 ft; status: confirmed (course excerpt). Tolerance 3 % (read from the
    # diagram).
    bore, nu, weight = 0.5 * FOOT, 1.1e-5 * FOOT**2, 62.4 * 157.0874638
    density = weight / 9.80665
    loss = tube_loss(flow_at(6.0 * FOOT, bore), 200.0 * FOOT, bore, 0.0004 * FOOT, density, nu * density)
    assert loss.loss_pa / 47.88026 == pytest.approx(280.0, rel=0.03)
    assert loss.loss_pa / weight / FOOT == pytest.approx(4.5, rel=0.03)


def test_white_example_6_7() -> None:
    # White, Ex. 6.7: oil, 0.2 m3/s, 500 m of 200 mm cast iron, down 10 degrees.
    # V 6.4, Re 128 000, f 0.0225 confirmed; 265 kPa from memory. Tolerance 3 %.
    loss = tube_loss(0.2, 500.0, 0.2, 0.0013 * 0.2, 900.0, 900.0 * 1e-5)
    assert loss.velocity_m_s == pytest.approx(6.4, rel=0.03)
    assert loss.reynolds == pytest.approx(128000.0, rel=0.03)
    assert loss.factor == pytest.approx(0.0225, rel=0.03)
    fall = 900.0 * 9.80665 * 500.0 * math.sin(math.radians(10.0))
    assert (loss.loss_pa - fall) / 1000.0 == pytest.approx(265.0, rel=0.03)


def test_munson_example_8_5() -> None:
    # Munson, Fundamentals of Fluid Mechanics, Ex. 8.5: air in 0.1 m of 4 mm drawn tube at 50 m/s.
    # Re 13 700, 1.076 kPa with f read as 0.028; status: from memory. Tolerance 4 %.
    loss = tube_loss(flow_at(50.0, 4e-3), 0.1, 4e-3, DRAWN_M, 1.23, 1.79e-5)
    assert loss.reynolds == pytest.approx(13700.0, rel=0.04)
    assert loss.loss_pa / 1000.0 == pytest.approx(1.076, rel=0.04)


def test_crane_example_7_1_smooth_pipe() -> None:
    # Crane TP-410 Ex. 7.1 as solved in the fluids documentation: water 30 C, 52.5 mm, 200 L/min.
    # Re 100 600, f 0.0179; status: confirmed. Tolerance 1 %. Properties at 30 C: IAPWS-95, 995.65, 0.7972e-3.
    loss = tube_loss(200.0 * LPM, 100.0, 52.5e-3, 0.0, 995.65, 0.7972e-3)
    assert loss.reynolds == pytest.approx(100600.0, rel=0.01)
    assert loss.factor == pytest.approx(0.0179, rel=0.01)


def test_crane_example_7_8_laminar_pipe_and_valve() -> None:
    # Crane TP-410 Ex. 7.8 as solved in the fluids documentation: SAE 30, 130 cP, 600 barrels an hour, 60 m of
    # 202.74 mm, globe valve K 4.76: 6 382 Pa; status: confirmed. Tolerance 0.5 %.
    flow = 600.0 * 0.158987294928 / 3600.0
    loss = tube_loss(flow, 60.0, 0.20274, 0.0, 869.2, 0.130)
    valve = 4.76 * 869.2 * loss.velocity_m_s**2 / 2.0
    assert loss.loss_pa + valve == pytest.approx(6382.0, rel=5e-3)


def test_laminar_loss_is_hagen_poiseuille() -> None:
    # dp = 128 mu L q/(pi d^4), exact. 200 mPa s, 3 m of 6.35 mm, 20 kPa: 0.0798114 L/min; computed.
    loss = tube_loss(0.0798114 * LPM, 3.0, 6.35e-3, 0.0, 1000.0, 0.2)
    assert loss.loss_pa == pytest.approx(20000.0, rel=1e-5)


def test_loss_turns_with_the_flow() -> None:
    there = tube_loss(3.0 * LPM, 10.0, 6.35e-3, DRAWN_M, 998.2, 1e-3).loss_pa
    back = tube_loss(-3.0 * LPM, 10.0, 6.35e-3, DRAWN_M, 998.2, 1e-3).loss_pa
    assert back == -there < 0.0


def test_honey_and_a_three_kilometre_run_stay_finite() -> None:
    # honey, near 10 Pa s (common practice, no source)
    loss = tube_loss(1.0 * LPM, 3000.0, 9.525e-3, DRAWN_M, 1420.0, 10.0)
    assert math.isfinite(loss.loss_pa) and loss.loss_pa > 1e9


@pytest.mark.parametrize(
    ("field", "values"),
    [
        ("bore_m", (1e-5, 1.0, 0.0, 0.0, 1000.0, 1e-3)),
        ("length_m", (1e-5, -1.0, 5e-3, 0.0, 1000.0, 1e-3)),
        ("roughness_m", (1e-5, 1.0, 5e-3, -1e-6, 1000.0, 1e-3)),
        ("density_kg_m3", (1e-5, 1.0, 5e-3, 0.0, 0.0, 1e-3)),
        ("viscosity_pa_s", (1e-5, 1.0, 5e-3, 0.0, 1000.0, 0.0)),
        ("flow_m3_s", (math.nan, 1.0, 5e-3, 0.0, 1000.0, 1e-3)),
    ],
)
def test_bad_input_names_the_field(
    field: str, values: tuple[float, float, float, float, float, float]
) -> None:
    with pytest.raises(ValueError, match=field):
        tube_loss(*values)


def test_velocity_and_reynolds() -> None:
    assert velocity(0.0, 0.01) == 0.0
    assert reynolds(-1e-5, 0.01, 1000.0, 1e-3) == pytest.approx(4e-2 / (math.pi * 1e-5))
