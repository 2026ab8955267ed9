"""Stages between the street and the board. Equipment figures are invented demo data."""

from __future__ import annotations

import fluids
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from estimator.hydraulics import losses
from estimator.hydraulics.fittings import sum_of
from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.solution import Liquid
from tests.hydraulics.by_hand import fitting_loss, tube_loss

L_MIN = 1.0 / 60000.0
WATER = Liquid(998.207, 1.0016e-3, 1.0)
STAGES: tuple[losses.Passage, ...] = (
    losses.GENERIC_ASSEMBLY,
    losses.ReducingValve(3e5, 2.5, 1e3 / L_MIN),
    losses.HoseRun(5.0, 0.012, WATER, k1=800.0, k=3.0),
    losses.Check(2.0, 3e3),
    losses.Rise(2.0, 998.2),
    losses.Rise(-2.0, 998.2),
)


@pytest.mark.parametrize("stage", STAGES, ids=lambda stage: type(stage).__name__)
@given(data=st.data())
def test_more_before_gives_no_less_after_and_more_flow_no_more(
    stage: losses.Passage, data: st.DataObject
) -> None:
    low, high = sorted(data.draw(st.tuples(st.floats(0.0, 1e6), st.floats(0.0, 1e6))))
    slow, fast = sorted(data.draw(st.tuples(st.floats(0.0, 80 * L_MIN), st.floats(0.0, 80 * L_MIN))))
    before = np.array([low, high, high])
    after = stage.after(before, np.array([slow, slow, fast]))
    slack = 1e-9 * max(1.0, high)
    assert after[0] <= after[1] + slack
    assert after[2] <= after[1] + slack


@given(st.floats(0.0, 80.0))
def test_curves_against_scipy(l_min: float) -> None:
    # Computed with scipy 1.17 PchipInterpolator.
    flows, lost = zip(*losses.GENERIC_ASSEMBLY.points, strict=True)
    theirs = float(PchipInterpolator(flows, lost)(l_min * L_MIN))
    assert losses.GENERIC_ASSEMBLY.loss(l_min * L_MIN) == pytest.approx(theirs, rel=1e-9)
    flow = np.array(min(l_min, 55.0) * L_MIN)
    flows, rise = zip(*losses.GENERIC_BOOSTER.points, strict=True)
    theirs = float(PchipInterpolator(flows, rise)(flow))
    assert float(losses.GENERIC_BOOSTER.pressure(flow)) == pytest.approx(theirs, rel=1e-9)


def test_a_loss_curve_ends_where_it_ends() -> None:
    for l_min in (80.1, -0.1, float("nan")):
        with pytest.raises(OutOfRange, match="the loss curve ends there"):
            losses.GENERIC_ASSEMBLY.loss(l_min * L_MIN)
    late = losses.LossCurve(((10 * L_MIN, 5e4), (20 * L_MIN, 6e4)))
    with pytest.raises(OutOfRange, match="flow_m3_s"):
        late.loss(9.9 * L_MIN)
    assert losses.GENERIC_ASSEMBLY.demo and losses.GENERIC_BOOSTER.demo and not late.demo


@given(st.floats(0.0, 100.0), st.floats(0.0, 30.0), st.floats(0.004, 0.04))
def test_hose_is_its_tube_and_its_fittings(l_min: float, length: float, bore: float) -> None:
    # The parts have their own tests against published values.
    k1, k = sum_of({"elbow": 2, "shut-off valve": 1}, bore)
    hose = losses.HoseRun(length, bore, WATER, k1=k1, k=k)
    q = l_min * L_MIN
    tube = tube_loss(q, length, bore, 1.5e-6, WATER.density_kg_m3, WATER.viscosity_pa_s).loss_pa
    fits = fitting_loss(q, k1, k, bore, WATER.density_kg_m3, WATER.viscosity_pa_s)
    assert float(hose.loss(np.array(q))) == pytest.approx(tube + fits, rel=1e-9, abs=1e-9)


# Water of 20 degC, 10 m, drawn tubing; computed with the Colebrook equation: (bore mm, L/min, kPa).
@pytest.mark.parametrize(
    ("bore", "l_min", "kpa"), [(6.35, 3.0, 61.230), (9.525, 8.0, 49.490), (12.7, 15.0, 37.983)]
)
def test_hose_figures(bore: float, l_min: float, kpa: float) -> None:
    hose = losses.HoseRun(10.0, 1e-3 * bore, WATER)
    assert float(hose.loss(np.array(l_min * L_MIN))) == pytest.approx(1e3 * kpa, rel=5e-3)


@given(st.floats(0.5e5, 10e5), st.floats(0.0, 60.0))
def test_reducing_valve(before: float, l_min: float) -> None:
    valve = losses.ReducingValve(3e5, 2.5)
    after = float(valve.after(np.array(before), np.array(l_min * L_MIN)))
    # Computed with fluids 1.3.1: K of the Kv on the velocity in 15 mm.
    k = fluids.fittings.Kv_to_K(2.5, 0.015)
    speed = l_min * L_MIN / (0.25 * np.pi * 0.015**2)
    opened = before - 0.5 * k * 999.1 * speed**2
    assert after == pytest.approx(min(3e5, opened), rel=1e-3, abs=50.0)


def test_head_of_water() -> None:
    # Computed: 10.2156 m of water of 998.2 kg/m3 is 1 bar.
    after = losses.Rise(10.2156, 998.2).after(np.array([3e5]), np.array([0.0]))
    assert after[0] == pytest.approx(2e5, rel=1e-4)


def test_check_valve_is_the_definition_and_its_spring() -> None:
    # Definition of Kv: its own flow in m3/h loses 1 bar; the spring comes on top.
    after = losses.Check(0.5, 3e3).after(np.array([3e5, 3e5]), np.array([0.0, 0.5 / 3600.0]))
    assert after == pytest.approx(np.array([297e3, 197e3]), rel=1e-12)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: losses.LossCurve(((0.0, 5e4), (1e-3, 4e4))), "loss must not fall .* point 2"),
        (lambda: losses.LossCurve(((0.0, 5e4),)), "loss curve: give two or more"),
        (lambda: losses.LossCurve(((0.0, -1.0), (1e-3, 4e4))), "loss curve point 1 loss"),
        (
            lambda: losses.BoosterPump(((0.0, 3e5), (1e-3, 3.1e5))),
            "rise of pressure must not grow .* point 2",
        ),
        (lambda: losses.BoosterPump(((0.0, 3e5), (1e-3, 1e5)), suction_pa=-60e3), "suction_pa"),
        (lambda: losses.ReducingValve(0.0, 2.5), "setting_pa"),
        (lambda: losses.ReducingValve(3e5, 0.0), "kv"),
        (lambda: losses.ReducingValve(3e5, 2.5, -1.0), "fall_off"),
        (lambda: losses.HoseRun(-1.0, 0.01, WATER), "hose length_m"),
        (lambda: losses.HoseRun(1.0, 0.0, WATER), "hose bore_m"),
        (lambda: losses.HoseRun(1.0, 0.01, WATER, k1=-1.0), "hose k1"),
        (lambda: losses.Check(0.0), "valve kv"),
        (lambda: losses.Check(1.0, -1.0), "valve cracking_pa"),
        (lambda: losses.Rise(float("nan"), 998.2), "rise_m"),
        (lambda: losses.Rise(101.0, 998.2), "rise_m"),
    ],
)
def test_bad_parts_name_their_field(make: object, message: str) -> None:
    assert callable(make)
    with pytest.raises(ValueError, match=message):
        make()
