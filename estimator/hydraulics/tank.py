"""Day tank: a shop's day, many times over, and the chance that the tank runs dry in it.

Guns open at random as in :mod:`estimator.hydraulics.simultaneous`, anew every spray; the proportioner refills
from the start level to the stop level. One seed, so the same question always has the same answer, and tanks
compared see the same days.

Sources
-------
.. [1] Volume balance, by simulation; the distribution of the draw as in Hunter (1940), NBS BMS65.
.. [2] Wilson (1927), see :mod:`estimator.hydraulics.observed`: interval of an observed share.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from estimator.hydraulics.limits import OutOfRange, above_zero, within, zero_or_more
from estimator.hydraulics.observed import share_interval
from estimator.hydraulics.simultaneous import Guns, flow_distribution

FloatArray = NDArray[np.float64]

DRY_LIMIT: Final = 0.01
"""Chance of running dry in a day that a tank must stay under, -."""
START_FRACTION: Final = 0.7
"""Level at which filling starts, share of the tank; generic demo data."""
STOP_FRACTION: Final = 0.95
"""Level at which filling stops, share of the tank; generic demo data."""
_ROUNDING: Final = 1e-9
_BINS: Final = 4096


@dataclass(frozen=True, slots=True)
class ShopDay:
    """A day's demand on one tank.

    ``guns`` groups alike: number, probability that one is open in the busy hour [-], flow [m3/s].
    ``refill_m3_s`` solution made while filling [m3/s]. ``hours`` of work [h], above 0 to 24. ``open_s``
    length of one spray [s], 5 to 3600. ``profile`` share of the busy hour, hour by hour [-], each 0 to 1;
    empty: every hour is the busy hour, which is the safe side. ``days`` simulated [-], 100 to 100 000.
    ``seed`` of the dice.
    """

    guns: tuple[Guns, ...]
    refill_m3_s: float
    hours: float = 9.0
    open_s: float = 60.0
    profile: tuple[float, ...] = ()
    days: int = 1000
    seed: int = 1

    def __post_init__(self) -> None:
        """Raises OutOfRange naming the field."""
        for group in self.guns:
            zero_or_more("guns flow_m3_s", group.flow_m3_s, "m3/s")
            within("guns probability", group.probability, 0.0, 1.0, "-")
            within("guns number", group.number, 0, 1000, "-")
        zero_or_more("refill_m3_s", self.refill_m3_s, "m3/s")
        above_zero("hours", self.hours, "h")
        within("hours", self.hours, 0.0, 24.0, "h")
        within("open_s", self.open_s, 5.0, 3600.0, "s")
        for share in self.profile:
            within("profile", share, 0.0, 1.0, "-", "a share of the busy hour")
        if self.profile and len(self.profile) < self.hours:
            raise OutOfRange("hours", self.hours, 0.0, len(self.profile), "h", "give a share for every hour")
        within("days", self.days, 100, 100_000, "-")

    @property
    def mean_draw_m3_s(self) -> float:
        """Mean draw in the busy hour [m3/s]."""
        return math.fsum(g.number * g.probability * g.flow_m3_s for g in self.guns)

    @property
    def largest_draw_m3_s(self) -> float:
        """Draw with every gun open [m3/s]."""
        return math.fsum(g.number * g.flow_m3_s for g in self.guns)


@dataclass(frozen=True, slots=True)
class Tank:
    """A tank: volume [m3], levels as volumes left [m3] at which filling starts and stops; 0 <= start < stop
    <= volume."""

    volume_m3: float
    fill_start_m3: float
    fill_stop_m3: float

    def __post_init__(self) -> None:
        """Raises OutOfRange naming the field."""
        above_zero("tank volume_m3", self.volume_m3, "m3")
        within("tank fill_stop_m3", self.fill_stop_m3, 0.0, self.volume_m3, "m3", "not above the tank's rim")
        zero_or_more("tank fill_start_m3", self.fill_start_m3, "m3")
        if self.fill_start_m3 >= self.fill_stop_m3:
            raise OutOfRange(
                "tank fill_start_m3",
                self.fill_start_m3,
                0.0,
                self.fill_stop_m3,
                "m3",
                "filling starts below where it stops",
            )


def tank(volume_m3: float, start: float = START_FRACTION, stop: float = STOP_FRACTION) -> Tank:
    """A tank with its levels as shares of its volume [-]; 0 <= start < stop <= 1. OutOfRange otherwise.

    >>> t = tank(0.060)
    >>> round(1e3 * t.fill_start_m3, 9), round(1e3 * t.fill_stop_m3, 9)
    (42.0, 57.0)
    """
    above_zero("volume_m3", volume_m3, "m3")
    return Tank(volume_m3, start * volume_m3, stop * volume_m3)


@dataclass(frozen=True, slots=True)
class TankDay:
    """What a tank does in the day.

    ``chance_dry`` share of days on which it ran dry [-]; ``upper_95`` upper end of that share's 95 % interval
    [-] (the share itself where it is exact); ``exact`` True where no dice are needed: it cannot run dry;
    ``lowest_m3`` level that 99 % of days stay above [m3] (0 where it runs dry more often; the sure bound
    where exact); ``unmet_m3`` mean volume missing in a day [m3].
    """

    tank: Tank
    chance_dry: float
    upper_95: float
    exact: bool
    lowest_m3: float
    unmet_m3: float


def simulate(day: ShopDay, tanks: Sequence[Tank]) -> tuple[TankDay, ...]:
    """Simulate the day for each tank, all on the same dice.

    Level [m3]: ``V += (refill if filling else 0) dt - draw dt``, refill and draw [m3/s], dt [s], in steps of
    one spray, from full; filling starts at the start level, looked at once a step, and ends at the stop
    level; an empty tank gives nothing and what is missing is counted. Where every gun open all the time
    cannot empty it, no dice are thrown. Source [1]_.

    Worked example: 4 guns of 1.2 L/min, open one moment in five, refill 3 L/min, 60 L: it never runs dry.

    >>> day = ShopDay((Guns(4, 0.2, 1.2 / 60000.0),), 3.0 / 60000.0)
    >>> simulate(day, [tank(0.060)])[0].chance_dry
    0.0
    """
    return _simulate(day, tuple(tanks))


@lru_cache(maxsize=256)
def _simulate(day: ShopDay, tanks: tuple[Tank, ...]) -> tuple[TankDay, ...]:
    sure = [_sure_lowest(day, t) for t in tanks]
    open_question = tuple(t for t, lowest in zip(tanks, sure, strict=True) if lowest is None)
    thrown = iter(_throw(day, open_question) if open_question else ())
    return tuple(
        next(thrown) if lowest is None else TankDay(t, 0.0, 0.0, True, lowest, 0.0)
        for t, lowest in zip(tanks, sure, strict=True)
    )


def _sure_lowest(day: ShopDay, t: Tank) -> float | None:
    """Level that cannot be undercut whatever the guns do, or None if they might empty the tank."""
    worst = day.largest_draw_m3_s
    without_refill = t.fill_stop_m3 - worst * (day.hours * 3600.0 + day.open_s)
    if without_refill >= 0.0:
        return without_refill
    before_refill = t.fill_start_m3 - worst * day.open_s
    if worst <= day.refill_m3_s and before_refill >= 0.0:
        return before_refill
    return None


def _throw(day: ShopDay, tanks: tuple[Tank, ...]) -> list[TankDay]:
    draws = _draws(day)
    start = np.array([[t.fill_start_m3] for t in tanks])
    stop = np.array([[t.fill_stop_m3] for t in tanks])
    gain = day.refill_m3_s * day.open_s
    level: FloatArray = np.repeat(stop, day.days, axis=1)
    lowest = level.copy()
    filling = np.zeros(level.shape, np.bool_)
    missing = np.zeros(level.shape)
    for draw in draws:
        filling |= level <= start
        level += gain * filling
        level -= draw
        full = level >= stop
        filling &= ~full
        np.minimum(level, stop, out=level)
        np.minimum(lowest, level, out=lowest)
        if level.min() < 0.0:
            missing -= np.minimum(level, 0.0)
            np.maximum(level, 0.0, out=level)
    results = []
    for row, t in enumerate(tanks):
        count = int(np.count_nonzero(lowest[row] < -_ROUNDING * t.volume_m3))
        share = count / day.days
        one_in_hundred = float(np.sort(lowest[row])[day.days // 100])
        results.append(
            TankDay(
                t,
                share,
                share_interval(count, day.days)[1],
                False,
                max(0.0, one_in_hundred),
                float(missing[row].mean()),
            )
        )
    return results


def _draws(day: ShopDay) -> FloatArray:
    """Volume drawn by step and day [m3], shape (steps, days)."""
    steps = math.ceil(day.hours * 3600.0 / day.open_s - 1e-9)
    rng = np.random.default_rng(day.seed)
    dice = rng.random((steps, day.days))
    drawn = np.empty_like(dice)
    hour = np.floor(np.arange(steps) * day.open_s / 3600.0).astype(np.int64)
    shares = day.profile or (1.0,) * (int(hour[-1]) + 1)
    for share in sorted(set(shares)):
        guns = tuple(Guns(g.number, share * g.probability, g.flow_m3_s) for g in day.guns)
        flows, pmf = flow_distribution(guns)
        cdf = np.cumsum(pmf)
        # The last step of the sum is 1 but for rounding: a die above it must not fall off the table.
        cdf[-1] = 1.0
        rows = np.nonzero(np.isin(hour, [h for h, s in enumerate(shares) if s == share]))[0]
        drawn[rows] = (flows * day.open_s)[_outcomes(cdf, dice[rows])]
    return drawn


def _outcomes(cdf: FloatArray, dice: FloatArray) -> NDArray[np.int64]:
    """Outcome of each die: ``searchsorted(cdf, dice, side="right")``, by a table where one bin has one
    outcome."""
    edges = np.searchsorted(cdf, np.arange(_BINS + 1) / _BINS, side="right")
    table = np.where(edges[:-1] == edges[1:], edges[:-1], -1)
    # A power of two times a die below 1 is exact, so a die cannot land in the wrong bin.
    found: NDArray[np.int64] = table[(dice * _BINS).astype(np.int64)]
    unsure = found < 0
    found[unsure] = np.searchsorted(cdf, dice[unsure], side="right")
    return found


@dataclass(frozen=True, slots=True)
class TankChoice:
    """The smallest tank that keeps the chance of running dry under the limit; None with a note where none
    does."""

    smallest: TankDay | None
    all: tuple[TankDay, ...]
    note: str


def smallest_tank(day: ShopDay, tanks: Sequence[Tank], limit: float = DRY_LIMIT) -> TankChoice:
    """Smallest of the tanks whose chance of running dry in a day is under the limit.

    tanks: one or more; limit chance [-], above 0 to 1. The chance compared is the simulated share. Sources
    [1]_, [2]_.

    Worked example: 6 guns of 1.2 L/min half the time open, refill 4 L/min: 30 L is too small.

    >>> day = ShopDay((Guns(6, 0.5, 1.2 / 60000.0),), 4.0 / 60000.0)
    >>> choice = smallest_tank(day, [tank(0.030), tank(0.060), tank(0.120)])
    >>> choice.smallest.tank.volume_m3
    0.06
    """
    above_zero("limit", limit, "-")
    within("limit", limit, 0.0, 1.0, "-")
    if not tanks:
        raise ValueError("tanks: give one or more")
    found = simulate(day, sorted(tanks, key=lambda t: t.volume_m3))
    for result in found:
        if result.chance_dry < limit:
            return TankChoice(result, found, "")
    largest = found[-1]
    note = (
        f"day tank: the largest, {1e3 * largest.tank.volume_m3:.0f} L, runs dry on "
        f"{100.0 * largest.chance_dry:.0f} % of days; the busy hour draws "
        f"{60000.0 * day.mean_draw_m3_s:.2g} L/min against a refill of "
        f"{60000.0 * day.refill_m3_s:.2g} L/min: more water pressure or a larger proportioner would lift it"
    )
    return TankChoice(None, found, note)


@dataclass(frozen=True, slots=True)
class Balance:
    """Refill against the busy hour: mean draw and refill [m3/s], margin (refill - draw)/refill [-], validity,
    note."""

    draw_m3_s: float
    refill_m3_s: float
    margin: float
    valid: bool
    note: str


def busy_hour(day: ShopDay) -> Balance:
    """Mean draw of the busy hour against the refill [m3/s]: valid if the refill is not below it. Source [1]_.

    A margin of -1 stands for no refill at all.

    >>> round(busy_hour(ShopDay((Guns(4, 0.25, 1.2 / 60000.0),), 3.0 / 60000.0)).margin, 9)
    0.6
    """
    draw, refill = day.mean_draw_m3_s, day.refill_m3_s
    valid = refill >= draw
    without = 0.0 if valid else -1.0
    margin = (refill - draw) / refill if refill > 0.0 else without
    note = (
        ""
        if valid
        else (
            f"water: the busy hour draws {60000.0 * draw:.2g} L/min on average, "
            f"the refill gives {60000.0 * refill:.2g} L/min"
        )
    )
    return Balance(draw, refill, margin, valid, note)
