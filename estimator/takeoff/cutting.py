"""Cutting pieces out of stock lengths at least cost, with the width of the saw cut (kerf).

A bar of length L holds pieces l_1 ... l_n where sum(l) + (n - 1) k <= L. Adding one kerf to the bar and to every
piece makes that a plain packing: sum(l + k) <= L + k. Lengths are whole numbers of one unit, the caller's.

The order of work, each step only where the one before could not prove its answer:

1. Fill bars by best fit decreasing and by fullest bar first, for each stock size and mixed.
2. Bound by length: the cheapest set of bars that is long enough altogether.
3. Try the sets of bars between the bound and the answer, cheapest first, by a search that ends; a set that
   provably holds not all pieces is ruled out.
4. Bound and patterns by the linear relaxation (`cutting_lp`), rounded down, the rest by steps 1 and 3.

Of more than thirty bars, steps 1 to 4 end where no more than half a percent of the cost could still be saved.
The search counts its steps and not the time, so the answer is the same on every machine. `Cutting.proved` says
whether cost and bound meet; where they do not, `Cutting.note` says how far they may be apart.
"""

from __future__ import annotations

import math
from bisect import bisect_left, insort
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from operator import mul
from typing import Final, TypeAlias

__all__ = ["Bar", "Cutting", "CuttingError", "PieceTooLongError", "Stock", "cut"]

_SEARCH_STEPS: Final = 4_000
_FILL_STEPS: Final = 400
_LEAST_FILL_STEPS: Final = 40
# Steps of the fillings of all bars of one simple way: of many bars each gets less.
_WAY_STEPS: Final = 6_000
# Steps of all that follows the simple ways, times different lengths, times bars: of many each set, pattern and filling
# costs more, and the one bar that it may save is less of the whole.
_WORK: Final = 8_000_000
_LEAST_WORK: Final = 2_000
# A change of the relaxation's basis counts as so many of the search's steps.
_BASIS_STEPS: Final = 20
# Of more bars than that a search ends where it could save no more than this share of the cost.
_FEW_BARS: Final = 30
_NEAR_ENOUGH: Final = 200
_MOST_SETS: Final = 40
_LISTED_SETS: Final = 5_000
_MOST_BARS: Final = 60
# The search stands as deep as it has placed pieces.
_MOST_SEARCHED: Final = 400
_MOST_WIDTHS: Final = 150
_MOST_PIECES: Final = 5_000
_MOST_LENGTH: Final = 10**11
_ALL_NODES: Final = 30_000
_NEAR: Final = 1e-6


class CuttingError(ValueError):
    """Input that nothing can be cut from; the message names the field."""


class PieceTooLongError(CuttingError):
    """Pieces longer than the longest stock length. `pieces` names them; they are never joined from parts."""

    def __init__(self, pieces: tuple[int, ...], longest: int) -> None:
        self.pieces = pieces
        self.longest = longest
        super().__init__(
            f"{len(pieces)} piece(s) are longer than the longest stock length of {longest}; the longest is "
            f"{max(pieces)}."
        )


@dataclass(frozen=True, slots=True)
class Stock:
    """A stock size: length and cost, each in whole units (a tenth of a millimetre, a cent, ...)."""

    length: int
    cost: int = 1


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar and the pieces cut from it, longest first.

    `offcut` is what is left at the end, the last saw cut taken off where there is room for one.
    """

    stock: Stock
    pieces: tuple[int, ...]
    offcut: int


@dataclass(frozen=True, slots=True)
class Cutting:
    """How to cut.

    Attributes:
        bars: largest first.
        cost: sum of the bars' costs.
        bound: cost that no cutting can go below.
        proved: whether the cost meets the bound, so that nothing cheaper exists.
    """

    bars: tuple[Bar, ...]
    cost: int
    bound: int
    proved: bool

    @property
    def note(self) -> str:
        """What is known about the answer, for a person."""
        if self.proved:
            return "Proved: no cheaper set of stock lengths holds these pieces."
        return (
            f"Not proved to be the cheapest: this costs {self.cost}, and a set that costs as little as "
            f"{self.bound} has not been ruled out."
        )


_Counts: TypeAlias = "list[int]"
_Filling: TypeAlias = "tuple[int, tuple[int, ...]]"  # stock index, count of each width


class _Problem:
    """Widths (falling, kerf included) with their counts; rooms and costs of the stock sizes."""

    def __init__(self, widths: list[int], rooms: list[int], costs: list[int]) -> None:
        self.widths = widths
        self.rooms = rooms
        self.costs = costs
        self.by_room = sorted(range(len(rooms)), key=lambda s: (rooms[s], costs[s]))
        self.work = 0
        """Steps that the search took so far: in fillings, sets and the relaxation."""

    def most_work(self, counts: Sequence[int]) -> int:
        """Steps that the search may take."""
        bars = self.length(counts) // max(self.rooms) + 1
        return max(_WORK // (len(self.widths) * bars), _LEAST_WORK)

    def cost(self, fillings: Iterable[_Filling]) -> int:
        return sum(self.costs[s] for s, _ in fillings)

    def near(self, fillings: Sequence[_Filling], bound: int, doubt: int = 1) -> bool:
        """Whether nothing worth a search is left to be saved, where the bound may be so many times as far off."""
        cost = self.cost(fillings)
        return cost <= bound or (len(fillings) > _FEW_BARS and (cost - bound) * _NEAR_ENOUGH <= doubt * cost)

    def length(self, counts: Sequence[int]) -> int:
        return sum(map(mul, self.widths, counts))

    def cheapest_for(self, length: int) -> int:
        """Index of the cheapest single bar that is long enough."""
        return min(
            (s for s in self.by_room if self.rooms[s] >= length), key=lambda s: (self.costs[s], self.rooms[s])
        )

    def fullest(self, room: int, counts: Sequence[int], most_steps: int) -> tuple[int, ...]:
        """Counts that fill a bar as full as a short search finds, with the longest piece left in it."""
        # Only the widths that are left are looked at, the longest first, and of those only what is not too wide.
        left_of = [i for i, n in enumerate(counts) if n]
        widths, counted = [self.widths[i] for i in left_of], [counts[i] for i in left_of]
        narrowing = [-width for width in widths]
        counted[0] -= 1
        now = [0] * len(widths)
        now[0] = 1
        most = now
        best = -1
        steps = 0

        def search(i: int, left: int) -> bool:
            nonlocal best, most, steps
            steps += 1
            if room - left > best:
                best, most = room - left, now.copy()
            if left == 0 or steps > most_steps:
                return True
            for j in range(bisect_left(narrowing, -left, i), len(widths)):
                width, before, fits = widths[j], now[j], left // widths[j]
                for n in range(min(fits, counted[j]), 0, -1):
                    now[j] = before + n
                    if search(j + 1, left - n * width):
                        return True
                now[j] = before
            return False

        search(0, room - widths[0])
        self.work += steps
        filling = [0] * len(self.widths)
        for i, n in zip(left_of, most, strict=True):
            filling[i] = n
        return tuple(filling)

    def best_fit(self, stock: int, counts: Sequence[int]) -> list[_Filling] | None:
        """Best fit decreasing into one stock size; each bar is then changed for the cheapest that holds it."""
        room = self.rooms[stock]
        lefts: list[tuple[int, int]] = []  # (room left, bar), the fullest first
        bars: list[_Counts] = []
        for i, width in enumerate(self.widths):
            if counts[i] and width > room:
                return None
            for _ in range(counts[i]):
                place = bisect_left(lefts, (width, 0))
                if place < len(lefts):
                    left, at = lefts.pop(place)
                else:
                    left, at = room, len(bars)
                    bars.append([0] * len(self.widths))
                insort(lefts, (left - width, at))
                bars[at][i] += 1
        by_bar = sorted(lefts, key=lambda found: found[1])
        return [
            (self.cheapest_for(room - left), tuple(bar)) for (left, _), bar in zip(by_bar, bars, strict=True)
        ]

    def fill_up(self, allowed: list[int], counts: Sequence[int]) -> list[_Filling] | None:
        """Bar after bar, each time the one that costs least for what it holds."""
        left = list(counts)
        made: list[_Filling] = []
        bars = self.length(counts) // max(self.rooms[s] for s in allowed) + 1
        most_steps = min(max(_WAY_STEPS // bars, _LEAST_FILL_STEPS), _FILL_STEPS)
        while any(left):
            longest = self.widths[next(i for i, n in enumerate(left) if n)]
            rest = self.length(left)
            choices = []
            for s in allowed:
                if self.rooms[s] < longest:
                    continue
                filling = self.fullest(self.rooms[s], left, most_steps)
                choices.append((self.costs[s] / self.length(filling), s, filling))
            if not choices:
                return None
            _, s, filling = min(choices)
            held = self.length(filling)
            s = self.cheapest_for(held) if held == rest or len(allowed) > 1 else s
            times = min(n // f for n, f in zip(left, filling, strict=True) if f)
            made += [(s, filling)] * times
            left = [n - f * times for n, f in zip(left, filling, strict=True)]
        return made

    def quick(self, counts: Sequence[int]) -> list[_Filling]:
        """The best of the simple ways; one as near to the bound by length as is worth it is not looked beyond."""
        best: list[_Filling] | None = None
        length = self.length(counts)
        # Whole numbers throughout: the smallest of the ceilings of length x cost / room.
        least = min(-(-length * c // room) for c, room in zip(self.costs, self.rooms, strict=True))
        closer = True  # the sets of bars bound closer, at a price that is paid once, where it may be enough
        for way, floor in self._simple_ways(counts, length):
            if best is not None and self.cost(best) <= floor:
                continue
            tried = way()
            if tried is not None and (best is None or self.cost(tried) < self.cost(best)):
                best = tried
                if closer and self.near(best, least, doubt=2):
                    closer, least = False, max(least, self.least(length, self.cost(best)))
                if self.near(best, least):
                    break
        assert best is not None  # the longest stock holds every piece
        return best

    def _simple_ways(
        self, counts: Sequence[int], length: int
    ) -> Iterator[tuple[Callable[[], list[_Filling] | None], int]]:
        """Each way, and a cost that it cannot go below."""
        if sum(counts) <= 2_000:
            for s in self.by_room:
                yield partial(self.best_fit, s, counts), 0
        for s in self.by_room:
            # All but the last are bars of this one size.
            full = -(-length // self.rooms[s]) - 1
            yield partial(self.fill_up, [s], counts), full * self.costs[s] + min(self.costs)
        if len(self.by_room) > 1:
            yield partial(self.fill_up, self.by_room, counts), 0

    def sets(self, length: int, below: int) -> list[tuple[int, tuple[int, ...]]] | None:
        """All sets of bars (cost, number of each) at least that long and cheaper than `below`, cheapest first.

        None where they are too many to list.
        """
        order = sorted(self.by_room, key=lambda s: (self.costs[s] / self.rooms[s], -self.rooms[s]))
        density = [self.costs[s] / self.rooms[s] for s in order]
        found: list[tuple[int, tuple[int, ...]]] = []
        numbers = [0] * len(self.rooms)

        def search(place: int, need: int, cost: int) -> None:
            if need <= 0:
                if cost < below:
                    found.append((cost, tuple(numbers)))
                return
            if place == len(order) or cost + need * density[place] >= below - _NEAR:
                return
            s = order[place]
            most = -(-need // self.rooms[s])
            for n in range(most, -1, -1):
                numbers[s] = n
                search(place + 1, need - n * self.rooms[s], cost + n * self.costs[s])
                if len(found) > _LISTED_SETS:
                    break
            numbers[s] = 0

        search(0, length, 0)
        if len(found) > _LISTED_SETS:
            return None
        # One bar more of any kind is a set of its own: the pieces may need it. It is dearer than its own subset.
        more: set[tuple[int, tuple[int, ...]]] = set(found)
        fresh = list(found)
        while fresh:
            if len(more) > _LISTED_SETS:
                return None
            grown = []
            for cost, numbers_of in fresh:
                for s in self.by_room:
                    if cost + self.costs[s] < below:
                        bigger = (
                            cost + self.costs[s],
                            tuple(n + (i == s) for i, n in enumerate(numbers_of)),
                        )
                        if bigger not in more:
                            more.add(bigger)
                            grown.append(bigger)
            fresh = grown
        return sorted(more)

    def least(self, length: int, cost: int) -> int:
        """Cost that no set of bars of that length altogether goes below, given one that costs `cost`."""
        sets = self.sets(length, cost)
        if sets is None:
            # Whole numbers throughout: the smallest of the ceilings of length x cost / room.
            return min(-(-length * c // room) for c, room in zip(self.costs, self.rooms, strict=True))
        return sets[0][0] if sets else cost

    def fit(self, numbers: Sequence[int], counts: Sequence[int]) -> tuple[list[_Filling] | None, bool]:
        """Pack everything into exactly these bars: (fillings or None, whether the search was complete)."""
        held = sum(n * room for n, room in zip(numbers, self.rooms, strict=True))
        slack = held - self.length(counts)
        if slack < 0:
            return None, True
        bars = [s for s in reversed(self.by_room) for _ in range(numbers[s])]
        left = list(counts)
        made: list[_Filling] = []
        widths = self.widths
        steps = 0

        def bar(b: int, slack: int) -> bool:
            if not any(left):
                return True
            if b == len(bars):
                return False
            s = bars[b]
            room = self.rooms[s]
            now = [0] * len(widths)
            # Where all bars left are alike, the longest piece may as well go into this one.
            alike = bars[-1] == s
            first = next(i for i, n in enumerate(left) if n)

            def fill(i: int, free: int) -> bool:
                nonlocal steps
                steps += 1
                if steps > _SEARCH_STEPS:
                    return False
                for j in range(first if alike and not any(now) else i, len(widths)):
                    for n in range(min(left[j], free // widths[j]), 0, -1):
                        now[j] += n
                        left[j] -= n
                        if fill(j + 1, free - n * widths[j]):
                            return True
                        now[j] -= n
                        left[j] += n
                        if steps > _SEARCH_STEPS:
                            return False
                    if alike and not any(now):
                        return False
                if free > slack:
                    return False
                made.append((s, tuple(now)))
                if bar(b + 1, slack - free):
                    return True
                made.pop()
                return False

            return fill(0, room)

        done = bar(0, slack)
        self.work += steps
        return (list(made) if done else None), steps <= _SEARCH_STEPS

    def by_sets(self, counts: Sequence[int], best: list[_Filling], bound: int) -> tuple[list[_Filling], int]:
        """Better fillings among the sets of bars from the bound upwards, and the bound raised where sets fail."""
        cost = self.cost(best)
        small = len(best) <= _MOST_BARS and sum(counts) <= _MOST_SEARCHED
        sets = self.sets(self.length(counts), cost) if small else None
        if sets is None:
            return best, bound
        ruled_out = True
        most_work = self.most_work(counts)
        tried = [found for found in sets if found[0] >= bound]
        for price, numbers in tried[:_MOST_SETS]:
            if ruled_out:
                bound = price
            if self.work >= most_work:
                return best, bound
            fillings, complete = self.fit(numbers, counts)
            if fillings is not None:
                return fillings, bound
            ruled_out = ruled_out and complete
        if ruled_out:
            bound = tried[_MOST_SETS][0] if len(tried) > _MOST_SETS else cost
        return best, bound


def _rounded(problem: _Problem, counts: list[int], best: list[_Filling]) -> tuple[list[_Filling], int]:
    """Patterns of the relaxation rounded, what is left packed anew; and the relaxation's bound."""
    from estimator.takeoff.cutting_lp import (
        relax,
    )  # loaded, numpy with it, when the quick searches leave a gap

    most_work = problem.most_work(counts)
    room = min(_ALL_NODES, max(most_work - problem.work, 0))
    relaxed = relax(problem.widths, counts, problem.rooms, problem.costs, room, _BASIS_STEPS)
    problem.work += relaxed.steps
    # The duals are floats: what they may be off by is taken off before the bound is rounded up.
    bound = math.ceil(relaxed.bound * (1.0 - 4e-9) - _NEAR)
    used = sorted(relaxed.used, key=lambda u: -(u[1] % 1.0))
    base: list[_Filling] = []
    left = list(counts)

    def take(pattern: tuple[int, ...], stock: int, times: int, into: list[_Filling], rest: list[int]) -> None:
        for _ in range(times):
            held = tuple(min(n, r) for n, r in zip(pattern, rest, strict=True))
            if not any(held):
                return
            into.append((problem.cheapest_for(problem.length(held)) if held != pattern else stock, held))
            for i, n in enumerate(held):
                rest[i] -= n

    for pattern, times in used:
        take(pattern.counts, pattern.stock, int(times + _NEAR), base, left)
    # Where hardly a length comes twice, rounding up pattern after pattern finds nothing the filling did not.
    tries = len(used) + 1 if sum(counts) > 2 * len(counts) else 4
    for ups in range(min(tries, len(used) + 1)):
        if problem.cost(best) <= bound or (ups and problem.work >= most_work):
            break
        made, rest = list(base), list(left)
        for pattern, _ in used[:ups]:
            take(pattern.counts, pattern.stock, 1, made, rest)
        if any(rest):
            tail = problem.quick(rest)
            if problem.cost(made) + problem.cost(tail) > bound and ups < 2:
                floor = max(bound - problem.cost(made), 0)
                tail, _ = problem.by_sets(rest, tail, floor)
            made += tail
        if problem.cost(made) < problem.cost(best):
            best = made
    return best, bound


def cut(pieces: Sequence[int], stocks: Sequence[Stock], kerf: int = 0) -> Cutting:
    """The cheapest set of stock lengths found for these pieces. See the module for the method.

    Args:
        pieces: lengths to cut, whole units, each above 0.
        stocks: what can be bought, any number of each; costs above 0.
        kerf: width of the saw cut.

    Raises:
        PieceTooLongError: a piece is longer than the longest stock.
        CuttingError: a length, cost or kerf that is not a whole number in range, or no stock at all.

    >>> plan = cut([1450] * 7 + [1210] * 9 + [860] * 11 + [520] * 14, [Stock(6000)], kerf=3)
    >>> plan.cost, plan.bound, plan.proved
    (7, 7, True)
    """
    if not stocks:
        raise CuttingError("stock lengths: there is none; give at least one.")
    for stock in stocks:
        if not 0 < stock.length <= _MOST_LENGTH or stock.cost <= 0:
            raise CuttingError(
                f"stock length {stock.length} at {stock.cost}: the length must be from 1 to {_MOST_LENGTH} "
                "and the cost above 0."
            )
    if not 0 <= kerf <= min(stock.length for stock in stocks):
        raise CuttingError(f"kerf: {kerf}; it must be from 0 to the shortest stock length.")
    if len(pieces) > _MOST_PIECES:
        raise CuttingError(f"pieces: {len(pieces)}; at most {_MOST_PIECES}.")
    if any(piece <= 0 for piece in pieces):
        raise CuttingError(f"pieces: {min(pieces)}; each must be above 0.")
    longest = max(stock.length for stock in stocks)
    if too_long := tuple(piece for piece in pieces if piece > longest):
        raise PieceTooLongError(too_long, longest)
    if not pieces:
        return Cutting((), 0, 0, proved=True)

    number = Counter(pieces)
    lengths = sorted(number, reverse=True)
    counts = [number[length] for length in lengths]
    unit = math.gcd(*(s.cost for s in stocks))
    problem = _Problem(
        [length + kerf for length in lengths],
        [s.length + kerf for s in stocks],
        [s.cost // unit for s in stocks],
    )
    best = problem.quick(counts)
    problem.work = 0  # the simple ways are always gone
    bound = problem.least(problem.length(counts), problem.cost(best))
    if not problem.near(best, bound):
        best, bound = problem.by_sets(counts, best, bound)
    if not problem.near(best, bound) and len(lengths) <= _MOST_WIDTHS:
        best, relaxed = _rounded(problem, counts, best)
        bound = max(bound, relaxed)
    bars = []
    for s, filling in best:
        pieces = tuple(length for length, n in zip(lengths, filling, strict=True) for _ in range(n))
        end = stocks[s].length - sum(pieces) - kerf * (len(pieces) - 1)
        bars.append(Bar(stocks[s], pieces, max(end - kerf, 0)))
    bars.sort(key=lambda bar: (-bar.stock.length, [-p for p in bar.pieces]))
    cost = problem.cost(best)
    return Cutting(tuple(bars), cost * unit, bound * unit, proved=cost == bound)
