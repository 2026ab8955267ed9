"""What to buy against what is needed: whole coils, stock lengths and packs.

- Tube: coils for each colour of a size, no splice inside a run. Each line has its own colour unless told
  otherwise; lines of one colour share coils.
- Strut: stock lengths with the width of the saw cut, all of a code together.
- Small parts: whole packs, all of a code together.

The set that is cheapest at the likely costs is chosen; its cost is given as a range. Amounts are Decimal, each
stock length or pack rounded half up to the currency's minor unit. A price of zero cannot choose, so the shortest
total length (times its factor) is taken and the row says that it has no price.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Final

from estimator.going import ALONE, Going
from estimator.model.finding import Amount, Finding, IdKind, Listed, Ref, Severity, facts
from estimator.model.pricebook import PriceBook, PriceEntry
from estimator.money import round_money
from estimator.reference.stock import LengthSize, PackSize, PackStock, StockBook
from estimator.takeoff.coils import Length, LengthPlan, plan_lengths
from estimator.takeoff.types import TakeoffRow
from estimator.units import Dimension

__all__ = ["AmountRange", "BoughtRow", "Pack", "buy"]

_THOUSANDTH: Final = Decimal("0.001")


@dataclass(frozen=True, slots=True)
class AmountRange:
    """Low, likely and high of a cost."""

    low: Decimal
    likely: Decimal
    high: Decimal

    def __sub__(self, other: AmountRange) -> AmountRange:
        return AmountRange(self.low - other.low, self.likely - other.likely, self.high - other.high)


@dataclass(frozen=True, slots=True)
class Pack:
    """So many of one stock size. `size` is its content in the unit of sale (metres, pieces)."""

    size: float
    count: int


@dataclass(frozen=True, slots=True)
class BoughtRow:
    """One thing to buy.

    Attributes:
        code: price book code.
        services: for tube, the products or air that its lines carry, in the order of the takeoff.
        colour: of the tube; "" where each line has its own.
        unit: unit of sale.
        needed, bought, offcut: in the unit of sale; offcut is what stays over, saw cuts included.
        packs: stock sizes, largest first.
        needed_cost: the needed quantity at the price book's cost, as the price counts it.
        cost: what the packs cost.
        extra: cost less needed_cost: what buying in whole packs costs more.
        cuts: for each coil or bar its length and the pieces to cut from it, in metres.
        proved: whether no cheaper set exists (at the likely costs).
        priced: False where the price book has no cost; the amounts are then zero.
        note: what is known about the answer.
    """

    code: str
    services: tuple[str, ...]
    colour: str
    unit: str
    needed: float
    bought: float
    offcut: float
    packs: tuple[Pack, ...]
    needed_cost: AmountRange
    cost: AmountRange
    extra: AmountRange
    cuts: tuple[tuple[float, tuple[float, ...]], ...]
    proved: bool
    priced: bool
    note: str


class _Costs:
    """Cost of stock sizes from the price book."""

    def __init__(self, entry: PriceEntry | None, currency: str) -> None:
        zero = Decimal(0)
        self._unit = (entry.low, entry.likely, entry.high) if entry else (zero, zero, zero)
        self._currency = currency
        self.unit = entry.unit if entry else ""
        self.priced = entry is not None and entry.likely > 0

    def of(self, content: float, factor: Decimal = Decimal(1)) -> AmountRange:
        quantity = Decimal(repr(float(content))).quantize(_THOUSANDTH) * factor
        return AmountRange(*(round_money(quantity * cost, self._currency) for cost in self._unit))

    def weights(self, sizes: Sequence[tuple[float, Decimal]]) -> list[Decimal]:
        """What the choice among (content, factor) goes by: likely costs, or contents where one is nothing."""
        likely = [self.of(content, factor).likely for content, factor in sizes]
        if all(cost > 0 for cost in likely):
            return likely
        return [Decimal(repr(float(content))).quantize(_THOUSANDTH) * factor for content, factor in sizes]

    def total(self, bought: Sequence[tuple[float, Decimal, int]]) -> AmountRange:
        each = [(self.of(content, factor), count) for content, factor, count in bought]
        return AmountRange(
            sum((cost.low * n for cost, n in each), Decimal(0)),
            sum((cost.likely * n for cost, n in each), Decimal(0)),
            sum((cost.high * n for cost, n in each), Decimal(0)),
        )


@dataclass(frozen=True, slots=True)
class _Kind:
    """What is bought together. Lines of one colour share coils; one without a colour shares with none."""

    code: str
    colour: str = ""
    alone: str = ""


def _services(rows: Iterable[TakeoffRow]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(row.of.service for row in rows if row.of.service))


def _row(
    kind: _Kind,
    rows: Sequence[TakeoffRow],
    costs: _Costs,
    needed: float,
    bought: Sequence[tuple[float, Decimal, int]],
    plan: LengthPlan | None,
) -> BoughtRow:
    content = math.fsum(size * count for size, _, count in bought)
    needed_cost, cost = costs.of(needed), costs.total(bought)
    note = plan.note if plan else "Proved: no cheaper set of packs holds this number."
    if not costs.priced:
        note = f"The price book has no cost for {kind.code}: chosen by content alone."
    return BoughtRow(
        code=kind.code,
        services=_services(rows),
        colour=kind.colour,
        unit=costs.unit,
        needed=needed,
        bought=content,
        offcut=round(content - needed, 3),
        packs=tuple(Pack(size, count) for size, _, count in bought),
        needed_cost=needed_cost,
        cost=cost,
        extra=cost - needed_cost,
        cuts=tuple((reel.length_m, reel.pieces_m) for reel in plan.reels) if plan else (),
        proved=plan.proved if plan else True,
        priced=costs.priced,
        note=note,
    )


def _lengths(
    kind: _Kind, rows: Sequence[TakeoffRow], costs: _Costs, sizes: Sequence[LengthSize], kerf_mm: int
) -> tuple[BoughtRow | None, LengthPlan]:
    weights = costs.weights([(size.length_m, size.price_factor) for size in sizes])
    sold = [Length(size.length_m, weight) for size, weight in zip(sizes, weights, strict=True)]
    plan = plan_lengths([piece for row in rows for piece in row.pieces_m], sold, kerf_mm)
    factor = {size.length_m: size.price_factor for size in sizes}
    bought = [(length, factor[length], count) for length, count in plan.counts().items()]
    return (_row(kind, rows, costs, plan.needed_m, bought, plan) if bought else None), plan


def _fewest_packs(number: int, sizes: Sequence[PackSize], costs: _Costs) -> list[tuple[float, Decimal, int]]:
    """The cheapest packs with at least that many pieces: content, price factor and how many of each, largest first."""
    weights = costs.weights([(float(size.count), size.price_factor) for size in sizes])
    counts = _packs(number, tuple(size.count for size in sizes), tuple(weights))
    order = sorted(range(len(sizes)), key=lambda i: -sizes[i].count)
    return [(float(sizes[i].count), sizes[i].price_factor, counts[i]) for i in order if counts[i]]


def _packs(number: int, contents: tuple[int, ...], weights: tuple[Decimal, ...]) -> tuple[int, ...]:
    """How many packs of each content: those of the number, one after the other, off a table that goes beyond it."""
    last = _last_packs(1 << max(number, 1).bit_length(), contents, weights)
    counts = [0] * len(contents)
    while number > 0:
        counts[last[number]] += 1
        number -= contents[last[number]]
    return tuple(counts)


@lru_cache(maxsize=128)
def _last_packs(most: int, contents: tuple[int, ...], weights: tuple[Decimal, ...]) -> tuple[int, ...]:
    """For each number up to `most` the pack that the cheapest packs of it end with, by dynamic programming; the first
    of those that are equally dear."""
    # Most edits change a number by a few: the table of the next power of two is there already. Whole numbers, for a
    # table of thousands is made in one go.
    unit = min(int(weight.normalize().as_tuple().exponent) for weight in weights)
    costs = [int(weight.scaleb(-min(unit, 0))) for weight in weights]
    choices = list(zip(range(len(contents)), contents, costs, strict=True))
    best, last = [0], [-1]
    for n in range(1, most + 1):
        cost, pick = -1, -1
        for i, content, own in choices:
            whole = own + (best[n - content] if n > content else 0)
            if cost < 0 or whole < cost:
                cost, pick = whole, i
        best.append(cost)
        last.append(pick)
    return tuple(last)


def _packed(kind: _Kind, rows: Sequence[TakeoffRow], stock: PackStock, costs: _Costs) -> BoughtRow | None:
    number = math.ceil(math.fsum(row.quantity for row in rows) - 1e-9)
    if number <= 0:
        return None
    largest = max(stock.sizes, key=lambda size: size.count)
    # Far more than a shop needs: whole large packs first, so that the table below stays small.
    bulk = max(0, (number - 20_000) // largest.count)
    bought = _fewest_packs(number - bulk * largest.count, stock.sizes, costs)
    if bulk:
        bought = [(s, f, n + bulk * (s == largest.count)) for s, f, n in bought]
    return _row(kind, rows, costs, float(number), bought, None)


def _too_long(code: str, rows: Sequence[TakeoffRow], plan: LengthPlan) -> list[Finding]:
    where = [(row, i) for row in rows for i in range(len(row.pieces_m))]
    found = []
    for piece in plan.too_long:
        row, i = where[piece.index]
        # Objects and pieces stand side by side where nothing of the row exists already.
        one = row.objects[i] if len(row.objects) == len(row.pieces_m) else ""
        found.append(
            Finding(
                Severity.ERROR,
                one or f"stock.{code}",
                "longer-than-stock",
                "{where}: a piece of {length} {code} is longer than the longest stock length of {longest}. It is not "
                "spliced; shorten the run, divide it at a joint, or add a longer stock length.",
                "common practice, no source",
                facts=facts(
                    where=Listed(
                        tuple(Ref(IdKind.OBJECT, name) for name in ([one] if one else row.objects)), 6
                    ),
                    length=Amount(piece.length_m, Dimension.LENGTH),
                    code=code,
                    longest=Amount(piece.longest_m, Dimension.LENGTH),
                ),
            )
        )
    return found


def buy(
    rows: Sequence[TakeoffRow],
    stock: StockBook,
    book: PriceBook,
    colours: Mapping[str, str] | None = None,
    *,
    going: Going = ALONE,
) -> tuple[tuple[BoughtRow, ...], tuple[Finding, ...]]:
    """What to buy in whole coils, stock lengths and packs, in the order of the takeoff.

    Args:
        rows: the takeoff. Codes that `stock` does not name are bought as counted and are not listed.
        stock: the sizes that are sold.
        book: costs of the unit of sale.
        colours: product id, or air's -> colour of its tube; lines without one have a colour of their own.
        going: asked from kind to kind whether the answer is still wanted.

    Returns:
        The rows, and a finding for each piece that is longer than the longest stock length; such a piece is in
        no row.

    Raises:
        Stopped: it is not wanted any more.
    """
    groups: dict[_Kind, list[TakeoffRow]] = {}
    for row in rows:
        if stock.coils_of(row.code):
            colour = (colours or {}).get(row.of.service, "")
            kind = _Kind(row.code, colour, "" if colour else row.key)
            groups.setdefault(kind, []).append(row)
        elif stock.bars_of(row.code) or stock.packs_of(row.code):
            groups.setdefault(_Kind(row.code), []).append(row)
    bought: list[BoughtRow] = []
    findings: list[Finding] = []
    for kind, members in groups.items():
        going.check()
        costs = _Costs(book.entry(kind.code), book.currency)
        packs = stock.packs_of(kind.code)
        if packs:
            made = _packed(kind, members, packs, costs)
        else:
            lengths = stock.coils_of(kind.code) or stock.bars_of(kind.code)
            bars = stock.bars_of(kind.code)
            if not lengths or not any(row.pieces_m for row in members):
                continue
            kerf_mm = math.ceil(bars.kerf_mm) if bars else 0
            made, plan = _lengths(kind, members, costs, lengths.sizes, kerf_mm)
            findings += _too_long(kind.code, members, plan)
        if made:
            bought.append(made)
    return tuple(bought), tuple(findings)
