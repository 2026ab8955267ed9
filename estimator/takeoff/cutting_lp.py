"""The linear relaxation of the cutting-stock problem by column generation.

Gilmore and Gomory, "A Linear Programming Approach to the Cutting-Stock Problem", Operations Research 9(6), 1961:
minimise the cost of the bars cut by each pattern so that every length is cut at least as often as it is needed;
patterns are made when they are wanted, by a knapsack over the dual prices y of the lengths. With v the most that
any bar is worth per cost at those prices (at least 1), sum(d y) / v is a bound that no cutting can go below
(Farley, "A note on bounding a class of linear programming problems", Operations Research 38(5), 1990), also
where the work was cut short.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

__all__ = ["CutPattern", "Relaxed", "relax"]

_EPS: Final = 1e-9
_NODES: Final = 4_000


@dataclass(frozen=True, slots=True)
class CutPattern:
    """How one bar is cut: index of the stock size, and how many of each length."""

    stock: int
    counts: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Relaxed:
    """Solution of the relaxation.

    Attributes:
        bound: cost below which no cutting lies, 0 where none could be shown.
        used: patterns and how often each is cut, fractions included.
        steps: work that it took.
    """

    bound: float
    used: tuple[tuple[CutPattern, float], ...]
    steps: int


class _Knapsack:
    """Most valuable filling of one bar with bounded counts, by branch and bound."""

    def __init__(self, widths: list[int], demand: list[int], worth: list[float]) -> None:
        self._order = sorted(
            (i for i in range(len(widths)) if worth[i] > _EPS), key=lambda i: -worth[i] / widths[i]
        )
        self._widths = widths
        self._demand = demand
        self._worth = worth
        self._best = 0.0
        self._counts = [0] * len(widths)
        self._found: list[int] = []
        self._nodes = 0
        self.nodes = 0

    def fill(self, room: int, above: float) -> tuple[float, list[int], bool]:
        """(value, counts, whether the search was complete) of a filling worth more than `above`.

        Where there is none the value is `above` and the counts are empty.
        """
        self._best, self._found, self._nodes = above, [], 0
        self._search(0, room, 0.0)
        self.nodes += self._nodes
        return self._best, self._found, self._nodes < _NODES

    def _search(self, place: int, room: int, value: float) -> None:
        self._nodes += 1
        if value > self._best + _EPS:
            self._best, self._found = value, self._counts.copy()
        for at in range(place, len(self._order)):
            i = self._order[at]
            width, worth = self._widths[i], self._worth[i]
            if self._nodes >= _NODES or value + room * worth / width <= self._best + _EPS:
                return
            for n in range(min(self._demand[i], room // width), 0, -1):
                self._counts[i] = n
                self._search(at + 1, room - n * width, value + n * worth)
            self._counts[i] = 0


def relax(
    widths: list[int],
    demand: list[int],
    rooms: list[int],
    costs: list[int],
    most_steps: int,
    basis_steps: int,
    iterations: int = 400,
) -> Relaxed:
    """Solve the relaxation.

    Args:
        widths: lengths to cut, kerf included; each fits in the largest room.
        demand: how many of each.
        rooms, costs: of each stock size, kerf included in the room.
        most_steps: work after which it stops, in nodes of the knapsack's search; a run cut short still gives a true
            bound.
        basis_steps: what a change of the basis counts as.
        iterations: most changes of the basis.
    """
    m = len(widths)
    wanted = np.array(demand, dtype=np.float64)
    columns: list[CutPattern | None] = []
    inverse = np.zeros((m, m))
    prices = np.zeros(m)
    for i, width in enumerate(widths):
        # To start with, one pattern a length, on the bar that does it cheapest.
        fits = [
            (cost / min(demand[i], room // width), s)
            for s, (room, cost) in enumerate(zip(rooms, costs, strict=True))
            if room >= width
        ]
        s = min(fits)[1]
        n = min(demand[i], rooms[s] // width)
        columns.append(CutPattern(s, tuple(n if j == i else 0 for j in range(m))))
        inverse[i, i] = 1.0 / n
        prices[i] = costs[s]
    level = inverse @ wanted
    bound = 0.0
    nodes = 0
    for _ in range(iterations):
        nodes += basis_steps
        duals = prices @ inverse
        lowest = int(np.argmin(duals))
        entering: CutPattern | None = None
        if duals[lowest] < -_EPS:
            # More of this length than is needed costs nothing.
            column = np.zeros(m)
            column[lowest] = -1.0
            cost = 0.0
        else:
            worth = [max(float(y), 0.0) for y in duals]
            knapsack = _Knapsack(widths, demand, worth)
            most, complete, gain = 1.0, True, _EPS
            for s, (room, price) in enumerate(zip(rooms, costs, strict=True)):
                value, counts, whole = knapsack.fill(room, price * (1.0 + _EPS))
                complete = complete and whole
                most = max(most, value / price)
                if counts and value - price > gain:
                    gain, entering = value - price, CutPattern(s, tuple(counts))
            nodes += knapsack.nodes
            if complete:
                bound = max(bound, float(np.dot(wanted, worth)) / most)
            if entering is None or nodes > most_steps:
                break
            column = np.array(entering.counts, dtype=np.float64)
            cost = float(costs[entering.stock])
        direction = inverse @ column
        rising = np.where(direction > _EPS)[0]
        if len(rising) == 0:
            break
        ratios = level[rising] / direction[rising]
        leaving = int(rising[int(np.argmin(ratios))])
        step = max(float(level[leaving] / direction[leaving]), 0.0)
        level -= step * direction
        level[leaving] = step
        inverse[leaving] /= direction[leaving]
        others = direction.copy()
        others[leaving] = 0.0
        inverse -= np.outer(others, inverse[leaving])
        prices[leaving] = cost
        columns[leaving] = entering
    used = tuple(
        (pattern, float(times))
        for pattern, times in zip(columns, level, strict=True)
        if pattern is not None and times > _EPS
    )
    return Relaxed(bound, used, nodes)
