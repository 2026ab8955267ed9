"""Flow coefficients against fluids."""

from __future__ import annotations

import math

import fluids
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.hydraulics import valve
from estimator.hydraulics.limits import OutOfRange


@given(st.floats(0.01, 20.0), st.floats(0.002, 0.05), st.floats(0.1, 20.0))
def test_loss_against_the_library(kv: float, bore: float, speed: float) -> None:
    # Computed with fluids 1.3.1, K on the velocity in a bore; it rounds the constant, hence 1e-3.
    flow = speed * 0.25 * math.pi * bore**2
    theirs = fluids.fittings.Kv_to_K(kv, bore) * valve.KV_DENSITY_KG_M3 * speed**2 / 2.0
    assert valve.loss(flow, kv) == pytest.approx(theirs, rel=1e-3)


@given(st.floats(1e-8, 1e-3), st.floats(1e-8, 1e-3), st.floats(1e-7, 1e-3))
def test_series_loses_the_sum(gun: float, tip: float, q: float) -> None:
    both = valve.in_series(gun, tip)
    assert (q / both) ** 2 == pytest.approx((q / gun) ** 2 + (q / tip) ** 2, rel=1e-12)
    assert both < min(gun, tip)


def test_loss_is_the_definition() -> None:
    # Definition of Kv: its own flow in m3/h loses 1 bar; and density scales the loss.
    assert valve.loss(0.5 / 3600.0, 0.5) == pytest.approx(1e5, rel=1e-12)
    assert valve.loss(0.5 / 3600.0, 0.5, 1.2 * 999.1) == pytest.approx(1.2e5, rel=1e-12)
    assert valve.loss(0.0, 0.5) == 0.0


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan"), float("inf")])
def test_bad_input(bad: float) -> None:
    with pytest.raises(OutOfRange, match="kv"):
        valve.coefficient_from_kv(bad)
    with pytest.raises(ValueError, match="at least one"):
        valve.in_series()


@given(st.floats(0.05, 5.0), st.floats(0.0, 5e4), st.floats(0.0, 3.0))
def test_check_valve_never_loses_less_than_its_spring_or_its_kv(
    kv: float, cracking: float, share: float
) -> None:
    q = share * kv / 3600.0
    lost = float(valve.check_valve_losses(np.array(q), kv, cracking))
    assert lost >= max(cracking, valve.loss(q, kv)) - 1e-9 * max(1.0, lost)
    assert lost == pytest.approx(cracking + 1e5 * share**2, rel=1e-9)  # definition of Kv


def test_bad_spring() -> None:
    with pytest.raises(OutOfRange, match="cracking_pa"):
        valve.check_valve_losses(np.array(0.0), 1.0, -1.0)
