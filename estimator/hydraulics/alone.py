"""Dry days of tanks that each refill alone, many at once.

A board of more tanks than are followed together takes each to refill with the least it can get. Then no tank knows of
another, and only whether it runs dry is asked: each day of each tank is a row of its own, and all rows are followed in
one batch from event to event. The answer is that of :func:`estimator.hydraulics.day.simulate` for each tank by itself.

Source: events of a tank that starts and stops to fill at its levels, as in `estimator/hydraulics/day.py`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from estimator.hydraulics.day import DRY, cannot_run_dry
from estimator.hydraulics.observed import share_interval
from estimator.hydraulics.sprays import LineSprays, checked, dice_of, draws_alike, openings_alike
from estimator.hydraulics.tank import TankLevels

__all__ = ["DryDays", "dry_days_alone"]

FloatArray = NDArray[np.float64]

_TOGETHER: Final = 64
"""Tanks followed in one batch: enough to spread the cost of a call, few enough to stay in the processor's cache."""


@dataclass(frozen=True, slots=True)
class DryDays:
    """Share of days on which a tank ran dry [-], with its 95 % interval `low` to `high` [-]."""

    chance: float
    low: float
    high: float


def dry_days_alone(
    lines: Sequence[LineSprays],
    tanks: Sequence[TankLevels],
    refill_m3_s: Sequence[float],
    hours: float,
    days: int,
    seed: int,
    check: Callable[[], None] = lambda: None,
) -> tuple[DryDays, ...]:
    """Dry days of each tank.

    lines, tanks, refill_m3_s [m3/s]: one a tank. hours of a day [h], above 0 to 24. days [-]. seed of the dice; each
    tank has the dice it would have by itself. check is called from event to event and raises where the days are not
    wanted any more. OutOfRange names what is wrong.

    Worked example: an open gun of 4 L/min on 30 L, refilled with 3 L/min: dry within the day, every day; with 1 L/min
    it never is.

    >>> from estimator.hydraulics.simultaneous import Guns
    >>> from estimator.hydraulics.tank import tank
    >>> two = [LineSprays((Guns(1, 1.0, q / 60000.0),), 60.0) for q in (4.0, 1.0)]
    >>> found = dry_days_alone(two, [tank(0.030)] * 2, [3 / 60000] * 2, 9.0, 100, 1)
    >>> [(dry.chance, round(dry.low, 3), dry.high) for dry in found]
    [(1.0, 0.963, 1.0), (0.0, 0.0, 0.0)]
    """
    found: list[DryDays] = []
    for first in range(0, len(lines), _TOGETHER):
        some = slice(first, first + _TOGETHER)
        drawn = _drawn(tuple(lines[some]), hours, days, seed)
        found += _Rows(tuple(tanks[some]), tuple(refill_m3_s[some]), days, drawn, 3600.0 * hours).followed(
            check
        )
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Drawn:
    """What some tanks give in their days: arrays of (tanks × days,) and (tanks × days, changes) [s, m3/s]."""

    begin: FloatArray
    at_s: FloatArray
    by: FloatArray
    most: tuple[float, ...]


# Tanks of another size on the same lines are tried next: as many batches as the largest board has.
@lru_cache(maxsize=7)
def _drawn(lines: tuple[LineSprays, ...], hours: float, days: int, seed: int) -> _Drawn:
    for line in lines:
        checked((line,), hours, days, ())
    drawn = []
    for places, seen in openings_alike([dice_of(line, 0) for line in lines], hours, days, seed):
        drawn.append((places, seen.at_s, *draws_alike([lines[at] for at in places], seen)))
    shape = (len(lines), days, max(at_s.shape[2] for _, at_s, _, _ in drawn))
    begin, all_at, all_by = np.zeros(shape[:2]), np.full(shape, 3600.0 * hours), np.zeros(shape)
    for places, at_s, morning, by in drawn:
        begin[places] = morning
        all_at[places, :, : at_s.shape[2]], all_by[places, :, : by.shape[2]] = at_s, by
    most = tuple(sum(g.number * g.flow_m3_s for g in line.guns if g.probability > 0.0) for line in lines)
    return _Drawn(begin.reshape(-1), all_at.reshape(-1, shape[2]), all_by.reshape(-1, shape[2]), most)


@dataclass(frozen=True, slots=True)
class _Rows:
    """Days of some tanks, a row each."""

    tanks: tuple[TankLevels, ...]
    refill: tuple[float, ...]
    days: int
    drawn: _Drawn
    end_s: float

    def _each(self, values: Sequence[float]) -> FloatArray:
        return np.repeat(np.asarray(values, np.float64), self.days)

    def followed(self, check: Callable[[], None]) -> list[DryDays]:
        """From event to event until every day is over."""
        missing = self._missing(check).reshape(len(self.tanks), self.days)
        told = []
        for at, tank in enumerate(self.tanks):
            dry = int(np.count_nonzero(missing[at] > DRY * tank.volume_m3))
            sure = dry == 0 and cannot_run_dry(
                tank, tank.fill_stop_m3, self.drawn.most[at], self.refill[at], self.end_s
            )
            low, high = (0.0, 0.0) if sure else share_interval(dry, self.days)
            told.append(DryDays(dry / self.days, low, high))
        return told

    def _missing(self, check: Callable[[], None]) -> FloatArray:
        """What guns asked for in vain [m3], row by row."""
        refill, at_s, by = self._each(self.refill), self.drawn.at_s, self.drawn.by
        start, stop = (
            self._each([t.fill_start_m3 for t in self.tanks]),
            self._each([t.fill_stop_m3 for t in self.tanks]),
        )
        draw, level = self.drawn.begin.copy(), stop.copy()
        filling = level <= start
        now, missing = np.zeros(draw.size), np.zeros(draw.size)
        # What is left of a sum and its parts by rounding is no draw.
        largest = np.maximum(np.abs(by).max(axis=1), draw).reshape(len(self.tanks), self.days).max(axis=1)
        least = self._each(1e-12 * largest)
        row, columns = np.arange(draw.size), at_s.shape[1]
        following = np.zeros(draw.size, np.intp)
        while True:
            check()
            upto = at_s[row, following]
            fill = np.where(filling, refill, 0.0)
            net = fill - draw
            through = (level <= 0.0) & (net < 0.0)
            net[through] = 0.0
            # The level that each tank is on its way to, and how long that takes.
            aim = np.where(filling, np.where(net > 0.0, stop, 0.0), start)
            need = np.full(draw.size, np.inf)
            np.divide(aim - level, net, out=need, where=net != 0.0)
            left = upto - now
            step = np.minimum(left, need)
            level = np.maximum(level + net * step, 0.0)
            missing += np.where(through, (draw - fill) * step, 0.0)
            hit = need <= step
            level[hit] = aim[hit]
            filling ^= hit & (~filling | (level >= stop))
            arrived = left <= step
            now = np.where(arrived, upto, now + step)
            if bool((now >= self.end_s).all()):
                return missing
            changed = draw + by[row, following]
            draw = np.where(arrived, np.where(changed > least, changed, 0.0), draw)
            following = np.where(arrived, np.minimum(following + 1, columns - 1), following)
