"""Flow coefficients against fluids."""

from __future__ import annotations

import fluids
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.hydraulics import valve
from estimator.hydraulics.limits import OutOfRange


def test_cv() -> None:
    # Computed with fluids 1.3.1 (Cv_to_Kv, Cv_to_K).
    assert valve.cv_to_kv(1.0) == pytest.approx(0.864978, rel=1e-6)
    assert valve.cv_to_kv(1.0) == pytest.approx(fluids.fittings.Cv_to_Kv(1.0), rel=1e-6)
    assert valve.kv_to_k(valve.cv_to_kv(1.0), 6.35e-3) == pytest.approx(3.4770, rel=1e-3)
    assert valve.kv_to_k(valve.cv_to_kv(5.0), 9.525e-3) == pytest.approx(0.70409, rel=1e-3)


@given(st.floats(0.01, 20.0), st.floats(0.002, 0.05))
def test_k_against_library(kv: float, bore: float) -> None:
    # Computed with fluids 1.3.1; it rounds the constant, hence 1e-3.
    assert valve.kv_to_k(kv, bore) == pytest.approx(fluids.fittings.Kv_to_K(kv, bore), rel=1e-3)


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
    with pytest.raises(OutOfRange, match="cv"):
        valve.cv_to_kv(bad)
    with pytest.raises(OutOfRange, match="bore_m"):
        valve.kv_to_k(1.0, bad)
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
