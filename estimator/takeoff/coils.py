"""Runs cut from stock lengths at least cost, in metres and money: coils of one colour of tube, or strut bars.

A run is never spliced: each piece comes whole from one coil. A piece that is longer than the longest coil is
reported and left out; the others are still planned.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Final

from estimator.takeoff.cutting import CuttingError, Stock, cut

__all__ = ["Length", "LengthPlan", "Reel", "TooLong", "plan_lengths"]

_UNITS_A_METRE: Final = 10_000_000
"""Lengths are counted in tenths of a micrometre: feet to three decimals and sixteenths of an inch are whole."""
_UNITS_A_MM: Final = _UNITS_A_METRE // 1000


@dataclass(frozen=True, slots=True)
class Length:
    """A length that is sold, in metres, and what one costs."""

    length_m: float
    cost: Decimal


@dataclass(frozen=True, slots=True)
class Reel:
    """One coil or bar bought and the pieces cut from it in metres, longest first; `left_m` stays over."""

    length_m: float
    cost: Decimal
    pieces_m: tuple[float, ...]
    left_m: float


@dataclass(frozen=True, slots=True)
class TooLong:
    """A piece that no stock length holds. `index` is its place among the pieces that were given."""

    index: int
    length_m: float
    longest_m: float


@dataclass(frozen=True, slots=True)
class LengthPlan:
    """What to buy for a number of pieces.

    Attributes:
        reels: the coils or bars, longest first.
        cost: of all of them.
        needed_m: sum of the pieces that could be planned.
        bought_m: sum of the stock lengths.
        too_long: pieces that are in none of them.
        proved: whether no cheaper set exists.
        note: the same in words.
    """

    reels: tuple[Reel, ...]
    cost: Decimal
    needed_m: float
    bought_m: float
    too_long: tuple[TooLong, ...]
    proved: bool
    note: str

    @property
    def complete(self) -> bool:
        """Whether every piece has its place."""
        return not self.too_long

    def counts(self) -> dict[float, int]:
        """Stock length in metres -> how many, longest first."""
        found: dict[float, int] = {}
        for reel in self.reels:
            found[reel.length_m] = found.get(reel.length_m, 0) + 1
        return found


def _whole_costs(sizes: Sequence[Length]) -> tuple[list[int], Decimal]:
    """Costs as whole numbers of a unit, and that unit."""
    places = 0
    for size in sizes:
        exponent = size.cost.normalize().as_tuple().exponent
        if isinstance(exponent, int):
            places = max(places, -exponent)
    unit = Decimal(1).scaleb(-places)
    return [int(size.cost / unit) for size in sizes], unit


def plan_lengths(pieces_m: Sequence[float], sizes: Sequence[Length], kerf_mm: int = 0) -> LengthPlan:
    """The cheapest set of stock lengths that holds every piece whole.

    Lengths are taken to the nearest tenth of a micrometre, so that what was typed in feet adds up as typed.

    Args:
        pieces_m: lengths of the pieces in metres, each above 0.
        sizes: what is sold, any number of each, each at a cost above 0.
        kerf_mm: width of the saw cut; 0 for tube, which is cut with a knife.

    Raises:
        CuttingError: a length or cost that is not a number above 0; the message says which.

    >>> sizes = [Length(100, Decimal(38)), Length(250, Decimal(85)), Length(500, Decimal(150))]
    >>> plan = plan_lengths([100] * 6 + [37], sizes)
    >>> plan.cost, plan.counts(), plan.bought_m, plan.proved
    (Decimal('226'), {500: 1, 100: 2}, 700.0, True)
    """
    for piece in pieces_m:
        if not math.isfinite(piece) or piece <= 0:
            raise CuttingError(f"piece: {piece!r} m; a length must be a number above 0 m.")
    for size in sizes:
        if (
            not math.isfinite(size.length_m)
            or size.length_m <= 0
            or not size.cost.is_finite()
            or size.cost <= 0
        ):
            raise CuttingError(f"stock length {size.length_m!r} m at {size.cost}: both must be above 0.")
    if not sizes:
        raise CuttingError("stock lengths: there is none; give at least one.")
    return _planned(tuple(pieces_m), tuple(sizes), kerf_mm)


@lru_cache(maxsize=512)
def _planned(pieces_m: tuple[float, ...], sizes: tuple[Length, ...], kerf_mm: int) -> LengthPlan:
    # Most edits leave most lines as they are: the same pieces are not planned twice.
    costs, unit = _whole_costs(sizes)
    stocks = [
        Stock(round(size.length_m * _UNITS_A_METRE), cost) for size, cost in zip(sizes, costs, strict=True)
    ]
    longest = max(stock.length for stock in stocks)
    longest_m = max(size.length_m for size in sizes)
    whole = [max(round(piece * _UNITS_A_METRE), 1) for piece in pieces_m]
    too_long = tuple(
        TooLong(i, piece, longest_m)
        for i, (piece, units) in enumerate(zip(pieces_m, whole, strict=True))
        if units > longest
    )
    fitting = [units for units in whole if units <= longest]
    plan = cut(fitting, stocks, kerf_mm * _UNITS_A_MM)
    size_of = dict(zip(stocks, sizes, strict=True))
    reels = tuple(
        Reel(
            length_m=size_of[bar.stock].length_m,
            cost=size_of[bar.stock].cost,
            pieces_m=tuple(units / _UNITS_A_METRE for units in bar.pieces),
            left_m=bar.offcut / _UNITS_A_METRE,
        )
        for bar in plan.bars
    )
    least = plan.bound * unit
    note = plan.note
    if not plan.proved:
        note = f"Not proved to be the cheapest: this costs {plan.cost * unit}; less than {least} is not possible."
    return LengthPlan(
        reels=reels,
        cost=plan.cost * unit,
        needed_m=sum(fitting) / _UNITS_A_METRE,
        bought_m=math.fsum(reel.length_m for reel in reels) if reels else 0.0,
        too_long=too_long,
        proved=plan.proved,
        note=note,
    )
