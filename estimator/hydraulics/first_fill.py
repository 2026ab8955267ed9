"""The first fill of an empty board: all at once, one group after the other, or a time apart.

When all tanks fill at once the water is shared by all, so it is the weakest moment a board has; and a tank that was
filled with a weak mixture keeps it until it is used up. Filled in turn, each gets its own mixture. No gun is open
meanwhile.

Sources
-------
.. [1] Volume balance: what went in with each set of tanks that filled together, added up.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np
from numpy.typing import NDArray

from estimator.hydraulics.day import TankFill
from estimator.hydraulics.limits import OutOfRange, zero_or_more
from estimator.hydraulics.mixture import parts_of
from estimator.hydraulics.tank import TankLevels

FloatArray = NDArray[np.float64]

SEARCHED_MAX: Final = 8
"""Tanks up to which every grouping is looked at for the shortest, -."""


@dataclass(frozen=True, slots=True)
class FirstFill:
    """How empty tanks were filled.

    ``groups`` positions of tanks opened together, in order. By tank: ``opened_s``, ``full_s`` [s] (infinite: never),
    ``parts_water`` dilution it ends with [parts of water to one], infinite for plain water, nan where it is never
    full; ``least_flow_m3_s`` smallest flow while it filled [m3/s]. ``total_s`` until the last is full [s], infinite
    where one never is. ``most_at_once`` tanks that filled at once [-].
    """

    groups: tuple[tuple[int, ...], ...]
    opened_s: tuple[float, ...]
    full_s: tuple[float, ...]
    parts_water: tuple[float, ...]
    least_flow_m3_s: tuple[float, ...]
    total_s: float
    most_at_once: int


def first_fill(
    tanks: Sequence[TankLevels],
    fill: TankFill,
    groups: Sequence[Sequence[int]] | None = None,
    apart_s: float | None = None,
) -> FirstFill:
    """Fill empty tanks to their stop levels.

    fill: as in :func:`estimator.hydraulics.day.simulate`. groups: positions opened together, each tank once; all at
    once where none are given. apart_s: the next group is opened that long after the last was [s], full or not; None:
    when the last is full. Where a set gets no water it stands still until the next group is opened, and for ever where
    there is none. OutOfRange names what is wrong. Source [1]_.

    Worked example: two of 28.5 L; alone 4 L/min of 64:1, together 3 L/min each of 100:1. In turn takes longer.

    >>> from estimator.hydraulics.day import ByCount
    >>> from estimator.hydraulics.tank import tank
    >>> board, fill = [tank(0.030)] * 2, ByCount((4 / 60000, 3 / 60000), (64.0, 100.0))
    >>> at_once, in_turn = first_fill(board, fill), first_fill(board, fill, [[0], [1]])
    >>> [(round(found.total_s, 6), round(found.parts_water[0], 9)) for found in (at_once, in_turn)]
    [(570.0, 100.0), (855.0, 64.0)]
    """
    many = len(tanks)
    order = tuple(tuple(group) for group in ([range(many)] if groups is None else groups) if len(group))
    if sorted(at for group in order for at in group) != list(range(many)):
        raise OutOfRange("groups", len(order), 1, many, "-", "name each tank once")
    if apart_s is not None:
        zero_or_more("apart_s", apart_s, "s")
    run = _Filling(tanks, fill)
    for number, group in enumerate(order):
        last = number == len(order) - 1
        run.open(group)
        run.go(math.inf if last or apart_s is None else apart_s)
        if not last and apart_s is None and run.filling.any():
            break  # it never is full, so the next is never opened
    return run.told(order)


class _Filling:
    """Tanks that fill: level [m3], content of concentrate [m3], and which ones fill, (tanks,) each."""

    def __init__(self, tanks: Sequence[TankLevels], fill: TankFill) -> None:
        many = len(tanks)
        self._fill = fill
        self._stop = np.array([t.fill_stop_m3 for t in tanks])
        self.now = 0.0
        self.level, self.content = np.zeros(many), np.zeros(many)
        self.filling = np.zeros(many, np.bool_)
        self.opened, self.full = np.full(many, math.inf), np.full(many, math.inf)
        self.least = np.full(many, math.inf)
        self.most = 0

    def open(self, group: Sequence[int]) -> None:
        """Open the valves of a group."""
        self.filling[list(group)] = True
        self.opened[list(group)] = self.now

    def go(self, for_s: float) -> None:
        """Until all that are open are full, or for a time [s] at most; time that is left is waited for."""
        until = self.now + for_s
        while self.filling.any():
            given = self._fill(self.filling[None, :])
            flow = np.where(self.filling, given.flow_m3_s[0], 0.0)
            share = np.where(self.filling, given.share[0], 0.0)
            if not (np.isfinite(flow).all() and (flow >= 0.0).all()):
                raise OutOfRange("fill flow_m3_s", float(flow.min()), 0.0, math.inf, "m3/s")
            self.most = max(self.most, int(self.filling.sum()))
            self.least = np.where(self.filling, np.minimum(self.least, flow), self.least)
            left = self._stop - self.level
            need = np.divide(left, flow, out=np.full(flow.shape, math.inf), where=flow > 0.0)
            step = min(float(need[self.filling].min()), until - self.now)
            if math.isinf(step):
                return
            self.level = self.level + flow * step
            self.content = self.content + flow * share * step
            self.now += step
            done = self.filling & (need <= step)
            self.level[done] = self._stop[done]
            self.full[done] = self.now
            self.filling &= ~done
            if self.now >= until:
                return
        if math.isfinite(until):
            self.now = until

    def told(self, groups: tuple[tuple[int, ...], ...]) -> FirstFill:
        """The answer."""
        share = np.divide(self.content, self.level, out=np.zeros(self.level.shape), where=self.level > 0.0)
        parts = np.where(np.isfinite(self.full), parts_of(share), math.nan)
        least = np.where(np.isfinite(self.least), self.least, 0.0)
        return FirstFill(
            groups,
            tuple(self.opened.tolist()),
            tuple(self.full.tolist()),
            tuple(parts.tolist()),
            tuple(least.tolist()),
            float(self.full.max(initial=0.0)),
            self.most,
        )


@dataclass(frozen=True, slots=True)
class Commissioning:
    """The shortest order that keeps every tank right, None where there is none; ``wrong`` tanks that are not right
    even alone. ``all_at_once`` for comparison."""

    order: FirstFill | None
    wrong: tuple[int, ...]
    all_at_once: FirstFill


def commissioning(
    tanks: Sequence[TankLevels], fill: TankFill, richest: Sequence[float], leanest: Sequence[float]
) -> Commissioning:
    """The order of filling an empty board that is done soonest, each tank ending inside its range of dilution.

    richest, leanest: by tank, ends of the range [parts of water to one]. Up to 8 tanks all groupings are looked at;
    with more, either all at once or one by one. OutOfRange where the lengths do not agree. Source [1]_.

    >>> from estimator.hydraulics.day import ByCount
    >>> from estimator.hydraulics.tank import tank
    >>> fill = ByCount((4 / 60000, 3 / 60000, 2 / 60000), (64.0, 70.0, 100.0))
    >>> found = commissioning([tank(0.030), tank(0.060), tank(0.020)], fill, [60.0] * 3, [80.0] * 3)
    >>> len(found.order.groups), found.order.most_at_once, round(found.all_at_once.parts_water[2], 9)
    (2, 2, 100.0)
    """
    many = len(tanks)
    for name, ends in (("richest", richest), ("leanest", leanest)):
        if len(ends) != many:
            raise OutOfRange(name, len(ends), many, many, "-", "give one for each tank")

    def right(found: FirstFill, group: Sequence[int]) -> bool:
        return all(richest[at] <= found.parts_water[at] <= leanest[at] for at in group)

    def alone(group: Sequence[int]) -> FirstFill:
        # Others stay shut: what they hold does not matter to the group.
        run = _Filling(tanks, fill)
        run.open(group)
        run.go(math.inf)
        return run.told((tuple(group),))

    everyone = tuple(range(many))
    at_once = first_fill(tanks, fill)
    wrong = tuple(at for at in everyone if not right(alone((at,)), (at,)))
    if right(at_once, everyone):
        return Commissioning(at_once, wrong, at_once)
    if wrong:
        return Commissioning(None, wrong, at_once)
    if many > SEARCHED_MAX:
        return Commissioning(first_fill(tanks, fill, [[at] for at in everyone]), (), at_once)
    groups = _shortest(
        many,
        {
            group: max(found.full_s[at] for at in group)
            for size in range(1, many + 1)
            for group in combinations(everyone, size)
            if right(found := alone(group), group)
        },
    )
    return Commissioning(first_fill(tanks, fill, groups), (), at_once)


def _shortest(many: int, times: dict[tuple[int, ...], float]) -> tuple[tuple[int, ...], ...]:
    """The grouping of tanks 0 to many - 1 with the least sum of times; each alone is among the groups."""
    best: dict[int, tuple[float, tuple[tuple[int, ...], ...]]] = {0: (0.0, ())}
    masks = [(sum(1 << at for at in group), group, time) for group, time in times.items()]
    for mask in range(1, 1 << many):
        lowest = mask & -mask
        best[mask] = min(
            (best[mask ^ own][0] + time, (group, *best[mask ^ own][1]))
            for own, group, time in masks
            if own & lowest and own & mask == own
        )
    return best[(1 << many) - 1][1]
