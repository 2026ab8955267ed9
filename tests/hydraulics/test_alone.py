"""Tanks that each refill alone, in one batch: held against the same tanks one by one, and against plain sums."""

from __future__ import annotations

import numpy as np
import pytest

from estimator.going import Stopped
from estimator.hydraulics.alone import dry_days_alone
from estimator.hydraulics.day import Alone, cannot_run_dry, simulate
from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.simultaneous import Guns
from estimator.hydraulics.sprays import LineSprays, thrown_draws
from estimator.hydraulics.tank import TankLevels, tank
from tests.work import calls_of

L_MIN = 1.0 / 60_000.0


def _some(count: int) -> tuple[list[LineSprays], list[TankLevels], list[float]]:
    """Lines of one to five guns, some of which draw nothing or are never or always open; invented demo data."""
    dice = np.random.default_rng(7)
    lines, tanks, refill = [], [], []
    for at in range(count):
        chances = dice.choice([0.0, 0.05, 0.2, 0.45, 1.0], 3)
        guns = tuple(
            Guns(int(dice.integers(1, 3)), float(p), float(dice.choice([0.0, 0.6, 1.2, 2.4])) * L_MIN)
            for p in chances[: 1 + at % 3]
        )
        lines.append(LineSprays(guns, float(dice.choice([20.0, 240.0]))))
        tanks.append(tank(float(dice.choice([0.010, 0.030, 0.060]))))
        refill.append(float(dice.choice([0.0, 0.4, 1.1, 3.0])) * L_MIN)
    return lines, tanks, refill


def test_a_batch_tells_of_each_tank_what_its_own_days_tell() -> None:
    """Computed with the simulation of a board of that one tank, which keeps account of all that happens in it."""
    lines, tanks, refill = _some(150)
    found = dry_days_alone(lines, tanks, refill, 9.0, 40, 3)
    assert len(found) == 150
    for line, vessel, fill, dry in zip(lines, tanks, refill, found, strict=True):
        draws = thrown_draws((line,), 9.0, 40, 3)
        own = simulate((vessel,), Alone((fill,), (0.0,)), draws).tanks[0]
        assert (dry.chance, dry.low, dry.high) == (own.dry, own.dry_low, own.dry_high)
    chances = {dry.chance for dry in found}
    assert {0.0, 1.0} < chances, "some run dry on some days only"


@pytest.mark.parametrize("gun", [0.5, 2.9, 3.2, 6.0])
def test_an_open_gun_runs_a_tank_dry_where_it_takes_more_than_comes(gun: float) -> None:
    """Sum by hand: what is in it, and what came since the start level, is less than what is drawn in the day."""
    (found,) = dry_days_alone(
        [LineSprays((Guns(1, 1.0, gun * L_MIN),))], [tank(0.030)], [3 * L_MIN], 9.0, 100, 1
    )
    assert found.chance == (1.0 if gun > 3.0 else 0.0)
    assert (found.high == 0.0) == cannot_run_dry(tank(0.030), 0.0285, gun * L_MIN, 3 * L_MIN, 32_400.0)


def test_no_tank_and_a_tank_without_a_gun() -> None:
    assert dry_days_alone([], [], [], 9.0, 100, 1) == ()
    (found,) = dry_days_alone([LineSprays(())], [tank(0.030)], [0.0], 9.0, 100, 1)
    assert (found.chance, found.low, found.high) == (0.0, 0.0, 0.0)


def test_four_hundred_tanks_take_a_twentieth_of_the_calls_of_each_by_itself() -> None:
    """Counted: of a batch a step costs as many calls as of one tank."""
    lines = [
        LineSprays((Guns(2, 0.2, (1.0 + at / 400) * L_MIN), Guns(2, 0.2, 0.8 * L_MIN)), 90.0)
        for at in range(400)
    ]
    tanks, refill = [tank(0.030)] * 400, [1.1 * L_MIN] * 400
    batch = calls_of(lambda: dry_days_alone(lines, tanks, refill, 9.0, 100, 1))
    one = calls_of(lambda: dry_days_alone(lines[:1], tanks[:1], refill[:1], 9.0, 100, 1))
    assert batch <= 20 * one, f"{batch / one:.0f} times the calls of one"


def test_it_stops_when_it_is_not_wanted_and_names_what_is_wrong() -> None:
    def stop() -> None:
        raise Stopped

    lines, tanks, refill = _some(3)
    with pytest.raises(Stopped):
        dry_days_alone(lines, tanks, refill, 9.0, 40, 3, stop)
    with pytest.raises(OutOfRange, match="hours"):
        dry_days_alone(lines, tanks, refill, 0.0, 40, 3)
