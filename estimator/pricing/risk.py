"""How sure a cost is: the distribution of the sum of beta-PERT rows.

Rows of one group share a cause (supplier, crew, freight, or simply the same part bought twice) and move
together: at each draw all of them stand at the same percentile of their own distribution (comonotone). Groups
are independent of each other.

Percentiles of ten thousand plain draws are off by about 1 % of the range from P10 to P90, and change when
nothing has. So the figures shown come from the distribution itself, and the draws are made to agree with it:

1. In a group the quantile functions add: Q(p) = sum of the rows' Q_i(p), exact for rows that move together.
2. Independent groups convolve. Each group's probability is laid on a grid of N = 4096 points by hat functions
   (which keeps its mean) and Fourier transformed; the product of the transforms is the transform of the total.
   The grid spans 16 to 32 standard deviations of the total, in steps of a power of two, so that the same job
   has the same grid however it was reached. The little variance that the hats add (at most step^2 / 4 a group)
   is taken out by drawing the result in about the mean.
3. The products stand in a binary tree, so that a changed row costs its own transform and one product a level.
   A model made from the one before and a model made from nothing do the same operations and give the same
   figures to the last bit.
4. Ten thousand draws of the total: each group draws its quantiles in the order of a fixed shuffle, seeded by
   the group's name (common random numbers: two versions of a job meet the same luck). The sorted draws are then
   replaced by the exact quantiles at (i + 1/2) / 10000.

Amounts come in as Decimal and go out as Decimal, rounded half up to the currency's minor unit. Floats never
leave this module as money, nothing here changes a row.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from functools import cached_property, lru_cache
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from estimator.model.pricebook import PriceEntry
from estimator.money import minor_units
from estimator.pricing import pert
from estimator.pricing.pert import FloatArray
from estimator.pricing.types import Price

__all__ = ["DRAWS", "RiskError", "RiskItem", "RiskModel", "RiskResult", "items_of"]

DRAWS: Final = 10_000
_GRID: Final = 4096
_SPAN_SD: Final = 16.0
_SHARED_POINTS: Final = 2049
_FIRM: Final = 1e-9
_MOST: Final = Decimal(10) ** 15

ComplexArray: TypeAlias = NDArray[np.complex128]
IntArray: TypeAlias = NDArray[np.int64]

_CHANCES: Final[FloatArray] = (np.arange(DRAWS) + 0.5) / DRAWS
_SHARED: Final[FloatArray] = np.sin(np.linspace(0.0, np.pi / 2.0, _SHARED_POINTS)) ** 2


class RiskError(ValueError):
    """An amount that has no distribution; the message names the row and what would be right."""


@dataclass(frozen=True, slots=True)
class RiskItem:
    """One uncertain amount.

    Attributes:
        key: names the row; unique in a model.
        low, likely, high: cost of the whole row in the job's currency.
        group: rows of the same group move together; "" stands alone.

    Raises:
        RiskError: not finite, out of order, or beyond 10^15.
    """

    key: str
    low: Decimal
    likely: Decimal
    high: Decimal
    group: str = ""

    def __post_init__(self) -> None:
        for name, amount in (("low", self.low), ("likely", self.likely), ("high", self.high)):
            if not amount.is_finite() or abs(amount) > _MOST:
                raise RiskError(
                    f"{self.key}: {name} is {amount}; it must be a number of at most {_MOST:.0E}."
                )
        if not self.low <= self.likely <= self.high:
            raise RiskError(
                f"{self.key}: low {self.low}, likely {self.likely}, high {self.high}; "
                "low ≤ likely ≤ high must hold."
            )

    @property
    def firm(self) -> bool:
        """Whether it has no range."""
        return float(self.high - self.low) < _FIRM

    def firmed(self) -> RiskItem:
        """The same row with its likely cost for certain."""
        return RiskItem(self.key, self.likely, self.likely, self.likely, self.group)


def items_of(price: Price, entries: Iterable[PriceEntry]) -> tuple[RiskItem, ...]:
    """The uncertain amounts of a priced job.

    The group is the entry's "moves with"; without one, rows of the same code still move together, as one
    price stands behind them. Rows that have no price are in no total and not in here either.

    Args:
        price: the priced job.
        entries: the price book entries it was priced with.
    """
    causes = {entry.code: entry.correlation for entry in entries}
    return tuple(
        RiskItem(
            key=row.takeoff.key,
            low=row.cost.low,
            likely=row.cost.likely,
            high=row.cost.high,
            group=causes.get(row.takeoff.code) or f"part {row.takeoff.code}",
        )
        for row in price.rows
        if row.known
    )


def _product_integral(a: FloatArray, b: FloatArray, chances: FloatArray) -> float:
    """Integral of a(p) b(p) dp of two functions that are straight between the points."""
    a0, a1, b0, b1 = a[:-1], a[1:], b[:-1], b[1:]
    return float(np.dot(np.diff(chances), 2.0 * (a0 * b0 + a1 * b1) + a0 * b1 + a1 * b0)) / 6.0


class _Group:
    """Rows that move together, as deviations from their mean.

    Attributes:
        deviation, cumulated: the distribution function as straight pieces; same shape (n,).
        variance: of the sum. `covariance[i]`: of row i with the sum, in the order of `items`.
    """

    def __init__(self, name: str, items: tuple[RiskItem, ...]) -> None:
        self.name = name
        self.items = items
        ranges = [float(item.high - item.low) for item in items]
        places = [float(item.likely - item.low) / r for item, r in zip(items, ranges, strict=True)]
        means = [(1.0 + 4.0 * t) / 6.0 for t in places]
        shapes = [pert.shape(t) for t in places]
        if len(items) == 1:
            self.deviation: FloatArray = ranges[0] * (shapes[0].x - means[0])
            self.cumulated: FloatArray = shapes[0].cumulated
            self.variance = float(pert.exact_variance(items[0].low, items[0].likely, items[0].high))
            self.covariance: tuple[float, ...] = (self.variance,)
        else:
            self.cumulated = _SHARED
            rows = [r * (s.quantiles(_SHARED) - m) for r, s, m in zip(ranges, shapes, means, strict=True)]
            self.deviation = np.sum(rows, axis=0)
            self.covariance = tuple(_product_integral(row, self.deviation, _SHARED) for row in rows)
            self.variance = math.fsum(self.covariance)
        self._step = 0.0
        self._spectrum: ComplexArray | None = None
        self._grid_variance = 0.0

    def on_grid(self, step: float) -> tuple[ComplexArray, float]:
        """Fourier transform of its probability on a grid of that step, and the variance it has there."""
        if self._spectrum is None or self._step != step:
            self._spectrum, self._grid_variance = self._transform(step)
            self._step = step
        return self._spectrum, self._grid_variance

    def _transform(self, step: float) -> tuple[ComplexArray, float]:
        x, f = self.deviation, self.cumulated
        first = math.floor(x[0] / step) - 1
        last = math.ceil(x[-1] / step) + 1
        places = np.arange(first, last + 1) * step
        width = np.diff(x)
        area = np.concatenate(([0.0], np.cumsum(width * (f[:-1] + f[1:]) * 0.5)))
        cell = np.clip(np.searchsorted(x, places, side="right") - 1, 0, len(x) - 2)
        into = np.clip(places, x[0], x[-1]) - x[cell]
        slope = np.diff(f) / np.where(width > 0.0, width, 1.0)
        below = area[cell] + into * (f[cell] + 0.5 * slope[cell] * into)
        below += np.maximum(places - x[-1], 0.0)
        # The second difference of the twice cumulated density is the probability under each hat.
        mass = np.maximum(np.diff(below, 2), 0.0) / step
        index = np.arange(first + 1, last)
        mass /= mass.sum()
        centre = float(np.dot(mass, index))
        variance = float(np.dot(mass, (index - centre) ** 2)) * step * step
        ring = np.zeros(_GRID)
        ring[index % _GRID] = mass
        return np.fft.rfft(ring), variance

    def draws(self) -> FloatArray:
        """Ten thousand deviations in the group's own order."""
        return np.interp(_CHANCES, self.cumulated, self.deviation)[_shuffle(self.name)]


@lru_cache(maxsize=512)
def _shuffle(name: str) -> IntArray:
    """The fixed order of a group's draws."""
    seed = int.from_bytes(hashlib.sha256(name.encode("utf-8")).digest(), "big")
    return np.random.Generator(np.random.PCG64(seed)).permutation(DRAWS)


_Level: TypeAlias = "list[ComplexArray]"


def _tree(leaves: _Level, before: list[_Level]) -> list[_Level]:
    """Levels of products from the leaves to the root; products whose factors are those of before are kept."""
    levels = [leaves]
    while len(levels[-1]) > 1:
        below = levels[-1]
        depth = len(levels)
        known = len(before) > depth and len(before[depth - 1]) == len(below)
        old_below = before[depth - 1] if known else below
        level: _Level = []
        for i in range(0, len(below) - 1, 2):
            same = known and below[i] is old_below[i] and below[i + 1] is old_below[i + 1]
            level.append(before[depth][i // 2] if same else below[i] * below[i + 1])
        if len(below) % 2:
            level.append(below[-1])
        levels.append(level)
    return levels


@dataclass(frozen=True, slots=True, eq=False)
class RiskResult:
    """The distribution of the total cost.

    Attributes:
        currency: ISO 4217.
        p10, p50, p90: cost that is not passed with 10, 50 and 90 % chance, rounded to the minor unit.
        mean: closed form, rounded to the minor unit.
        sd: standard deviation on the exact beta variance, in currency units; information only.
        classic_sd: the same with (high - low) / 6 a row after Malcolm et al. 1959, to compare with.
        floor, ceiling: hard limits, sums of the lows and of the highs.
        likely: sum of the likely costs.
        centre, places, cumulated: chance (0 to 1) at or below centre + place, in currency units; shape (n,) each,
            empty where all is firm.
    """

    currency: str
    p10: Decimal
    p50: Decimal
    p90: Decimal
    mean: Decimal
    sd: float
    classic_sd: float
    floor: Decimal
    ceiling: Decimal
    likely: Decimal
    centre: float
    places: FloatArray
    cumulated: FloatArray

    def confidence(self, cost: Decimal) -> float:
        """Chance (0 to 1) that the cost is `cost` or less.

        Raises:
            RiskError: `cost` is not a finite number.
        """
        if not cost.is_finite():
            raise RiskError(f"cost: it is {cost}; it must be a number.")
        if cost >= self.ceiling:
            return 1.0
        if cost <= self.floor or len(self.places) == 0:
            return 0.0
        return float(np.interp(float(cost) - self.centre, self.places, self.cumulated))

    def cost_at(self, chance: float) -> Decimal:
        """Cost that is not passed with that chance (0 to 1), rounded half up to the minor unit.

        Raises:
            RiskError: `chance` is not from 0 to 1.
        """
        if not 0.0 <= chance <= 1.0:
            raise RiskError(f"confidence: it is {chance!r}; it must be from 0 to 1 (0.8 for P80).")
        return _quantile(chance, self)


def _rounded(amount: Decimal, currency: str) -> Decimal:
    return amount.quantize(Decimal(1).scaleb(-minor_units(currency)), rounding=ROUND_HALF_UP)


def _quantile(chance: float, result: RiskResult) -> Decimal:
    if len(result.places) == 0:
        return _rounded(result.likely, result.currency)
    if chance <= 0.0:
        return _rounded(result.floor, result.currency)
    if chance >= 1.0:
        return _rounded(result.ceiling, result.currency)
    place = result.centre + float(np.interp(chance, result.cumulated, result.places))
    inside = min(max(Decimal(place), result.floor), result.ceiling)
    return _rounded(inside, result.currency)


class RiskModel:
    """The rows of a job and the distribution of their sum. A value: a change makes a new model.

    Args:
        items: the rows; keys must differ.
        currency: ISO 4217, for the rounding of what comes out.
        before: an earlier model to take over what has not changed from. It never changes a figure.

    Raises:
        RiskError: two rows with one key.

    Attributes:
        items, currency: as given.
        result: the distribution of the total.
        groups, levels: the workings that the next model takes over; of no use elsewhere.
    """

    def __init__(
        self, items: Sequence[RiskItem], currency: str = "USD", *, before: RiskModel | None = None
    ) -> None:
        self.items: tuple[RiskItem, ...] = tuple(items)
        self.currency = currency
        self._by_key = {item.key: item for item in self.items}
        if len(self._by_key) != len(self.items):
            double = next(i.key for i in self.items if self._by_key[i.key] is not i)
            raise RiskError(f"{double}: stands twice; each row needs a key of its own.")
        members: dict[str, list[RiskItem]] = {}
        for item in self.items:
            if not item.firm:
                # A row alone and a group must not meet by name.
                name = f"group {item.group}" if item.group else f"row {item.key}"
                members.setdefault(name, []).append(item)
        known = before.groups if before is not None else {}
        self.groups: dict[str, _Group] = {}
        for name, rows in members.items():
            old = known.get(name)
            kept = tuple(rows)
            self.groups[name] = old if old is not None and old.items == kept else _Group(name, kept)
        self.levels: list[_Level] = []
        self.result = self._solve(before.levels if before is not None else [])

    def changed(self, item: RiskItem) -> RiskModel:
        """The model with the row of the same key replaced; costs only that row's group.

        Raises:
            RiskError: there is no row of that key.
        """
        if item.key not in self._by_key:
            raise RiskError(f"{item.key}: there is no such row.")
        rows = [item if old.key == item.key else old for old in self.items]
        return RiskModel(rows, self.currency, before=self)

    def moved_to(self, items: Sequence[RiskItem]) -> RiskModel:
        """The model of other rows, taking over every group that is the same."""
        return RiskModel(items, self.currency, before=self)

    def item(self, key: str) -> RiskItem:
        """The row of that key.

        Raises:
            RiskError: there is none.
        """
        if key not in self._by_key:
            raise RiskError(f"{key}: there is no such row.")
        return self._by_key[key]

    def covariances(self) -> dict[str, float]:
        """For each row that has a range: covariance of its cost with the total; they add up to the variance."""
        return {
            item.key: share
            for group in self.groups.values()
            for item, share in zip(group.items, group.covariance, strict=True)
        }

    @cached_property
    def draws(self) -> FloatArray:
        """Ten thousand draws of the total cost in currency units; shape (10000,).

        Draw i of two models is the same luck for every group they share. Sorted, they are the exact quantiles.
        """
        result = self.result
        if not self.groups:
            return np.full(DRAWS, float(result.likely))
        raw = np.sum([group.draws() for group in self.groups.values()], axis=0)
        exact = np.interp(_CHANCES, result.cumulated, result.places) + result.centre
        total = np.empty(DRAWS)
        total[np.argsort(raw, kind="stable")] = exact
        return total

    def _solve(self, before: list[_Level]) -> RiskResult:
        groups = list(self.groups.values())
        variance = math.fsum(group.variance for group in groups)
        if not groups:
            places = cumulated = np.zeros(0)
        elif len(groups) == 1:
            places, cumulated = groups[0].deviation, groups[0].cumulated
        else:
            places, cumulated = self._convolved(groups, variance, before)
        lows = sum((item.low for item in self.items), Decimal(0))
        highs = sum((item.high for item in self.items), Decimal(0))
        likely = sum((item.likely for item in self.items), Decimal(0))
        mean = (lows + 4 * likely + highs) / 6
        classic = [float(sum(pert.classic_sd(i.low, i.high) for i in group.items)) for group in groups]
        zero = Decimal(0)
        result = RiskResult(
            currency=self.currency,
            p10=zero,
            p50=zero,
            p90=zero,
            mean=_rounded(mean, self.currency),
            sd=math.sqrt(variance),
            classic_sd=math.hypot(*classic),
            floor=lows,
            ceiling=highs,
            likely=likely,
            centre=float(mean),
            places=places,
            cumulated=cumulated,
        )
        for name, chance in (("p10", 0.1), ("p50", 0.5), ("p90", 0.9)):
            object.__setattr__(result, name, _quantile(chance, result))
        return result

    def _convolved(
        self, groups: list[_Group], variance: float, before: list[_Level]
    ) -> tuple[FloatArray, FloatArray]:
        step: float = 2.0 ** math.ceil(math.log2(_SPAN_SD * math.sqrt(variance) / _GRID))
        on_grid = [group.on_grid(step) for group in groups]
        self.levels = _tree([spectrum for spectrum, _ in on_grid], before)
        mass = np.maximum(np.fft.fftshift(np.fft.irfft(self.levels[-1][0], _GRID)), 0.0)
        mass /= mass.sum()
        draw_in = math.sqrt(variance / math.fsum(v for _, v in on_grid))
        # The chance at or below the far edge of a cell.
        half = 0.5 * _GRID - 0.5
        places = np.linspace(-half * step * draw_in, half * step * draw_in, _GRID)
        cumulated = np.cumsum(mass)
        cumulated /= cumulated[-1]
        return places, cumulated
