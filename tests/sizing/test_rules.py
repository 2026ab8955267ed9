"""The judge: one scale for the room to either end of a window, and every limit passed at its very end.

Figures are worked by hand from the definitions in `rules`; the limits themselves are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from estimator.reference.catalogue import NozzleSize, catalogue
from estimator.sizing import rules
from estimator.sizing.rules import Limit
from estimator.sizing.types import End, Verdict
from estimator.study import Study

BAR = 1e5


def test_room_is_a_ratio_at_both_ends() -> None:
    # 1.8 over 1.5 is 1.2; 5 over 4 is 1.25; 5 over 4.5 is 1.111.
    assert rules.room(1.5 * BAR, 5 * BAR, 1.8 * BAR, 4.0 * BAR) == pytest.approx(0.2)
    assert rules.room(1.5 * BAR, 5 * BAR, 2.4 * BAR, 4.0 * BAR) == pytest.approx(0.25)
    assert rules.room(1.5 * BAR, 5 * BAR, 1.8 * BAR, 4.5 * BAR) == pytest.approx(1.0 / 9.0)
    assert rules.nearest_end(1.5 * BAR, 5 * BAR, 1.8 * BAR, 4.0 * BAR) is End.LOW
    assert rules.nearest_end(1.5 * BAR, 5 * BAR, 1.8 * BAR, 4.5 * BAR) is End.HIGH


def test_room_is_negative_outside_and_least_where_nothing_comes_out() -> None:
    assert rules.room(2 * BAR, 5 * BAR, 1 * BAR, 3 * BAR) == pytest.approx(-0.5)
    assert rules.room(2 * BAR, 5 * BAR, 3 * BAR, 10 * BAR) == pytest.approx(-0.5)
    assert rules.room(2 * BAR, 5 * BAR, 0.0, 3 * BAR) == -1.0
    assert rules.room(0.0, 5 * BAR, 0.0, 0.0) == -1.0


def test_a_window_from_nothing_has_no_low_end() -> None:
    assert rules.room(0.0, 5 * BAR, 0.1 * BAR, 4 * BAR) == pytest.approx(0.25)
    assert rules.nearest_end(0.0, 5 * BAR, 0.1 * BAR, 4 * BAR) is End.HIGH
    assert rules.drop_verdict(0.0, 5 * BAR, 0.1 * BAR, 4 * BAR) is Verdict.GOOD


@pytest.mark.parametrize(
    ("together", "alone", "verdict"),
    [
        (0.0, 0.0, Verdict.NO_FLOW),
        (1.49, 3.0, Verdict.LOW),
        (1.5, 3.0, Verdict.CLOSE),
        (1.57, 3.0, Verdict.CLOSE),  # 1.575 is 5 % above the low end
        (1.58, 3.0, Verdict.GOOD),
        (3.0, 4.76, Verdict.GOOD),  # 5 over 1.05 is 4.762
        (3.0, 4.77, Verdict.CLOSE),
        (3.0, 5.0, Verdict.CLOSE),
        (3.0, 5.01, Verdict.HIGH),
        (1.49, 5.01, Verdict.LOW),
    ],
)
def test_verdict_of_a_drop(together: float, alone: float, verdict: Verdict) -> None:
    found = rules.drop_verdict(1.5 * BAR, 5 * BAR, together * BAR, alone * BAR)
    assert found is verdict
    assert found.holds is (verdict in (Verdict.GOOD, Verdict.CLOSE))


def test_a_size_with_its_own_window_stands_before_its_type() -> None:
    fan = next(n for n in catalogue().nozzles if n.key == "fan")
    own = NozzleSize(key="own", name="", colour="", l_min_at_300_kpa=1.0, min_kpa=300.0, max_kpa=600.0)
    assert rules.window_of(fan, own) == (3e5, 6e5)
    assert rules.window_of(fan, own.model_copy(update={"min_kpa": None, "max_kpa": None})) == (1.5e5, 5e5)


_FIGURES = rules.LineFigures(
    together_m3_s=np.array([2e-5, 2e-5]),
    together_pa=np.array([2e5, 3e5]),
    alone_pa=np.array([3e5, 4e5]),
    velocity_m_s=np.array([1.0, 3.0]),
    rest_pa=np.array([5e5, 6e5]),
    flow_m3_s=4e-5,
    setting_pa=5e5,
    surge_pa=np.array([1e5, 1e5]),
)
_LIMITS = rules.LineLimits(
    low_pa=np.array([2e5, 2e5]),
    high_pa=np.array([4e5, 4e5]),
    wanted_m3_s=np.array([2e-5, np.nan]),
    rating_pa=np.array([5e5, 6e5]),
    capacity_m3_s=4e-5,
    pump_max_pa=5e5,
    supply_pa=5e5,
)


def test_a_line_at_the_end_of_every_limit_works() -> None:
    assert rules.broken(_FIGURES, _LIMITS) is None


@pytest.mark.parametrize(
    ("change", "limit", "at", "verdict"),
    [
        ({"together_pa": np.array([2e5, 0.0])}, Limit.LOW, 1, Verdict.NO_FLOW),
        ({"together_pa": np.array([1.99e5, 3e5])}, Limit.LOW, 0, Verdict.LOW),
        ({"together_m3_s": np.array([1.79e-5, 2e-5])}, Limit.LOW, 0, Verdict.LOW),
        ({"alone_pa": np.array([3e5, 4.01e5])}, Limit.HIGH, 1, Verdict.HIGH),
        ({"together_m3_s": np.array([2.21e-5, 2e-5])}, Limit.MUCH, 0, Verdict.HIGH),
        ({"setting_pa": 5.01e5}, Limit.SUPPLY, 0, Verdict.SHORT),
        ({"rest_pa": np.array([5e5, 6.01e5])}, Limit.RATING, 1, Verdict.SHORT),
        ({"flow_m3_s": 4.01e-5}, Limit.CAPACITY, 0, Verdict.SHORT),
        ({"velocity_m_s": np.array([1.0, 3.01])}, Limit.VELOCITY, 1, Verdict.SHORT),
    ],
)
def test_each_limit_is_told_with_its_place(
    change: dict[str, Any], limit: Limit, at: int, verdict: Verdict
) -> None:
    found = rules.broken(replace(_FIGURES, **change), _LIMITS)
    assert found == rules.Broken(limit, at, verdict)


def test_a_surge_is_held_to_the_rating_where_that_is_asked() -> None:
    assert rules.broken(_FIGURES, replace(_LIMITS, rating_pa=np.array([6e5, 7e5]), quiet=True)) is None
    found = rules.broken(_FIGURES, replace(_LIMITS, rating_pa=np.array([6e5, 6.99e5]), quiet=True))
    assert found == rules.Broken(Limit.SURGE, 1, Verdict.SHORT)


def test_the_pump_has_a_limit_of_its_own() -> None:
    found = rules.broken(_FIGURES, replace(_LIMITS, pump_max_pa=4.9e5))
    assert found == rules.Broken(Limit.PUMP, 0, Verdict.SHORT)


def test_the_air_line_may_lose_a_tenth_of_the_supply() -> None:
    assert rules.header_verdict(0.8e5, 8e5) is Verdict.GOOD
    assert rules.header_verdict(0.81e5, 8e5) is Verdict.SHORT
    assert rules.header_verdict(None, 8e5) is Verdict.SHORT


def test_the_worst_drop_is_that_with_the_least_room(studied: Callable[..., Study]) -> None:
    """As shares of each end the glass at 3.80 of 5 bar (24 %) came before the prewash at 1.89 of 1.5 bar (26 %)."""
    job = studied().job
    at = next(i for i, unit in enumerate(job.design.plant) if unit.product == "prewash")
    drops = {d.drop: d for d in studied((("design", "plant", at, "regulator"), "3.6 bar")).proof.drops}
    worst = min(drops.values(), key=lambda d: d.room)
    assert worst.drop == "2-r-prewash"
    assert worst.room == pytest.approx(0.259, abs=1e-3)
    assert worst.nearest is worst.together
    glass = drops["3-l-glass"]
    assert glass.room == pytest.approx(0.317, abs=1e-3)
    assert glass.nearest_end is End.HIGH and glass.nearest is glass.alone
