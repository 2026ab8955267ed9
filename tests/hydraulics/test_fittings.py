"""Two-K fittings against fluids."""

from __future__ import annotations

import math

import fluids
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.hydraulics import fittings
from estimator.hydraulics.limits import OutOfRange
from tests.hydraulics.by_hand import fitting_loss


def test_hooper_examples() -> None:
    # Computed with fluids 1.3.1 Hooper2K: threaded elbow.
    assert fittings.two_k(800.0, 0.40, 1000.0, 0.25 * 0.0254) == pytest.approx(2.800, rel=1e-3)
    assert fittings.two_k(800.0, 0.40, 1e5, 0.0254) == pytest.approx(0.808, rel=1e-3)


# Names of the table in fluids 1.3.1 (second-hand for Hooper 1981).
@pytest.mark.parametrize(
    ("key", "theirs"),
    [
        ("elbow", "Elbow, 90°, Standard (R/D = 1), Screwed"),
        ("tee-run", "Tee, Run, Screwed"),
        ("tee-branch", "Elbow, Used as, Standard, Screwed"),
        ("shut-off valve", "Valve, Ball, Reduced trim, Beta = 0.9"),
        ("check valve", "Valve, Check, Lift"),
    ],
)
def test_table_against_library(key: str, theirs: str) -> None:
    part = fittings.fitting(key)
    assert fluids.fittings.Hooper[theirs] == (part.k1, part.k_infinity)
    assert "second-hand" in part.status


def test_entrance_and_exit() -> None:
    # Exit: computed with fluids 1.3.1. Entrance: Crane TP-410 from memory; fluids takes 0.57 (Rennels).
    assert fluids.fittings.exit_normal() == fittings.EXIT_K
    assert fittings.ENTRANCE_SHARP_K == 0.5 < fluids.fittings.entrance_sharp()


@given(st.floats(1e-7, 1e-3), st.floats(0.002, 0.05), st.floats(1e-4, 1.0))
def test_loss_is_k_times_velocity_head(q: float, bore: float, mu: float) -> None:
    k1, k = fittings.sum_of({"elbow": 2, "tee-run": 1}, bore)
    speed = q / (math.pi / 4 * bore**2)
    whole = k1 / (1000.0 * speed * bore / mu) + k
    assert fitting_loss(q, k1, k, bore, 1000.0, mu) == pytest.approx(whole * 500.0 * speed**2, rel=1e-9)


def test_nothing_flows_nothing_lost() -> None:
    assert fitting_loss(0.0, 800.0, 2.0, 0.006, 1000.0, 1e-3) == 0.0


def test_bad_input_names_the_field() -> None:
    with pytest.raises(LookupError, match="bend"):
        fittings.sum_of({"bend": 1}, 0.006)
    with pytest.raises(OutOfRange, match="elbow"):
        fittings.sum_of({"elbow": -1}, 0.006)
    with pytest.raises(OutOfRange, match="bore_m"):
        fittings.sum_of({"elbow": 1}, 0.0)
    with pytest.raises(OutOfRange, match="reynolds"):
        fittings.two_k(800.0, 0.4, 0.0, 0.006)
