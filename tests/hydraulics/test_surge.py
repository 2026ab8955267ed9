"""Water hammer and trapped pressure. Equipment figures are invented demo data."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.hydraulics import surge as sg
from estimator.hydraulics.limits import OutOfRange


# Computed from Joukowsky (1898) and Korteweg's wave speed: K 2.2 GPa, 998.2 kg/m3, bore 6, wall 1 mm, 1.62 m/s.
# Moduli of polyethylene from memory.
@pytest.mark.parametrize(("gpa", "speed", "bar"), [(0.25, 202.40, 3.2730), (0.8, 354.88, 5.7387)])
def test_figures(gpa: float, speed: float, bar: float) -> None:
    a = sg.wave_speed(6e-3, 1e-3, 1e9 * gpa, 998.2)
    assert a == pytest.approx(speed, rel=1e-4)
    assert sg.surge(998.2, a, 1.62) == pytest.approx(1e5 * bar, rel=1e-4)


def test_in_a_rigid_tube_it_is_the_speed_of_sound() -> None:
    # Speed of sound in water of 20 degC, 1482 m/s: handbook value, from memory; the bulk modulus is a round figure.
    assert sg.wave_speed(6e-3, 1e-3, 1e30, 998.2) == pytest.approx(1482.0, rel=5e-3)


@given(st.floats(1e-3, 0.1), st.floats(1e-4, 0.02), st.floats(1e6, 1e12), st.floats(1.01, 10.0))
def test_stiffer_and_thicker_is_faster(bore: float, wall: float, modulus: float, more: float) -> None:
    a = sg.wave_speed(bore, wall, modulus, 1000.0)
    assert a < math.sqrt(sg.WATER_BULK_PA / 1000.0)
    assert sg.wave_speed(bore, more * wall, modulus, 1000.0) > a
    assert sg.wave_speed(bore, wall, more * modulus, 1000.0) > a
    assert sg.wave_speed(more * bore, wall, modulus, 1000.0) < a


@given(st.floats(0.0, 5.0), st.floats(0.0, 100.0), st.floats(0.0, 10.0), st.floats(0.0, 10.0))
def test_slower_shutting_never_raises_more(v: float, length: float, fast: float, slower: float) -> None:
    first = sg.surge_of_closing(1000.0, 300.0, v, length, fast)
    assert sg.surge_of_closing(1000.0, 300.0, v, length, fast + slower) <= first
    assert 0.0 <= first <= sg.surge(1000.0, 300.0, v)
    back = 2.0 * length / 300.0
    assert sg.surge_of_closing(1000.0, 300.0, v, length, back) == sg.surge(1000.0, 300.0, v)


def test_slow_shutting_is_the_mean_force() -> None:
    # Momentum: a column of length L and velocity v stopped evenly in t needs rho L v/t in the mean; Michaud doubles it.
    slow = sg.surge_of_closing(1000.0, 300.0, 2.0, 30.0, 4.0)
    assert slow == pytest.approx(2.0 * 1000.0 * 30.0 * 2.0 / 4.0, rel=1e-12)


def test_trapped_liquid() -> None:
    # Definition of the bulk modulus: in a rigid tube K times the volume strain kept back.
    rigid = sg.trapped_rise(10.0, 6e-3, 1e-3, 1e30, 2e-4, 0.0)
    assert rigid == pytest.approx(2.2e9 * 2e-3, rel=1e-9)
    # Thin tube, elasticity: hoop strain p D/(2 E e) widens the section by p D/(E e); the liquid yields p/K.
    soft = sg.trapped_rise(10.0, 6e-3, 1e-3, 0.25e9, 2e-4, 0.0)
    assert soft / 2.2e9 + soft * 6e-3 / (0.25e9 * 1e-3) == pytest.approx(2e-3, rel=1e-12)
    assert soft < 0.02 * rigid
    # Polyethylene grows by some 2e-4 per K lengthways (from memory), three times that in volume: more than water.
    assert sg.trapped_rise(10.0, 6e-3, 1e-3, 0.25e9, 2e-4, 2e-4) == 0.0


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_bad_input_names_the_field(bad: float) -> None:
    with pytest.raises(OutOfRange, match="bore_m"):
        sg.wave_speed(bad, 1e-3, 1e9, 1000.0)
    with pytest.raises(OutOfRange, match="wall_m"):
        sg.wave_speed(6e-3, bad, 1e9, 1000.0)
    with pytest.raises(OutOfRange, match="modulus_pa"):
        sg.wave_speed(6e-3, 1e-3, bad, 1000.0)
    with pytest.raises(OutOfRange, match="wave_m_s"):
        sg.surge(1000.0, bad, 1.0)
    with pytest.raises(OutOfRange, match="modulus_pa"):
        sg.trapped_rise(1.0, 6e-3, 1e-3, bad, 2e-4, 0.0)


def test_bad_times_and_speeds() -> None:
    with pytest.raises(OutOfRange, match="closing_s"):
        sg.surge_of_closing(1000.0, 300.0, 1.0, 10.0, -1.0)
    with pytest.raises(OutOfRange, match="stopped_m_s"):
        sg.surge(1000.0, 300.0, -1.0)
    with pytest.raises(OutOfRange, match="warming_k"):
        sg.trapped_rise(-1.0, 6e-3, 1e-3, 1e9, 2e-4, 0.0)
