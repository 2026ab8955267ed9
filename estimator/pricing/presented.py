"""A price as a customer is shown it: the allowance folded into the rows, the sum told by bay side or by product.

Nothing here moves a total. What is shared out is shared by largest remainder (`apportion`), so every sum holds to the
minor unit.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from estimator.layout.types import Layout
from estimator.model.design import Design
from estimator.model.presentation import TotalsBy
from estimator.money import minor_units
from estimator.pricing.apportion import apportion
from estimator.pricing.compare import Lines
from estimator.pricing.types import CostRange, Price, PricedRow
from estimator.takeoff.types import Section, TakeoffRow

__all__ = ["SHARED", "GroupTotal", "folded", "folded_lines", "totals_of"]

SHARED: Final = ""
"""Key of what serves several, or all."""

_ALLOWANCE: Final = "Contingency"
_THOUSANDTH: Final = Decimal("0.001")


def _unit(currency: str) -> Decimal:
    return Decimal(1).scaleb(-minor_units(currency))


def _one(amount: Decimal) -> CostRange:
    """An amount as it is shown: firm, without a range."""
    return CostRange(amount, amount, amount)


def folded(price: Price) -> Price:
    """The price with its allowance in the prices of the rows; firm figures alone, as they are shown.

    A price whose rows come to nothing has nothing to fold into and stays as it is.
    """
    totals = price.totals
    allowance = totals.contingency.likely
    before = [row.price.likely for row in price.rows]
    if not allowance or not any(before):
        return price
    unit = _unit(price.currency)
    prices = [old + part for old, part in zip(before, apportion(allowance, before, unit), strict=True)]
    taxable = _taxable(price, prices, unit)
    rows = tuple(
        replace(
            row, price=_one(new), taxable_price=_one(taxed) if row.taxable_price.likely else row.taxable_price
        )
        for row, new, taxed in zip(price.rows, prices, taxable, strict=True)
    )
    sections = tuple(
        replace(
            section,
            price=_one(sum((r.price.likely for r in rows if r.takeoff.section is section.section), unit * 0)),
        )
        for section in price.sections
    )
    nothing = _one(unit * 0)
    return replace(
        price,
        rows=rows,
        sections=sections,
        totals=replace(
            totals,
            rows=totals.subtotal,
            contingency=nothing,
            taxed_rows=_one(totals.taxed_rows.likely + totals.taxed_contingency.likely),
            taxed_contingency=nothing,
        ),
    )


def _taxable(price: Price, prices: Sequence[Decimal], unit: Decimal) -> list[Decimal]:
    """Taxable parts of the rows with that of the allowance; none is above the price of its row."""
    parts = [row.taxable_price.likely for row in price.rows]
    extra = price.totals.taxed_contingency.likely
    if not extra or not any(parts):
        return parts
    made = [old + part for old, part in zip(parts, apportion(extra, parts, unit), strict=True)]
    # A remainder of one unit may have gone to a row that is taxed as a whole and has no room for it.
    over = sum((max(part - whole, unit * 0) for part, whole in zip(made, prices, strict=True)), unit * 0)
    made = [min(part, whole) for part, whole in zip(made, prices, strict=True)]
    for i, whole in enumerate(prices):
        if parts[i]:
            taken = min(over, whole - made[i])
            made[i] += taken
            over -= taken
    return made


def folded_lines(lines: Lines) -> Lines:
    """The same of the rows and sums that a comparison is made of."""
    allowance = sum((amount for name, amount in lines.sums if name == _ALLOWANCE), Decimal(0))
    before = [row.price for row in lines.rows]
    if not allowance or not any(before):
        return lines
    parts = apportion(allowance, before, _unit(lines.currency))
    rows = tuple(replace(row, price=row.price + part) for row, part in zip(lines.rows, parts, strict=True))
    return replace(lines, rows=rows, sums=tuple(s for s in lines.sums if s[0] != _ALLOWANCE))


@dataclass(frozen=True, slots=True)
class GroupTotal:
    """What one bay side or product comes to; `key` is the id of the station or the service, or `SHARED`."""

    key: str
    price: Decimal


def totals_of(price: Price, by: TotalsBy, design: Design, layout: Layout) -> tuple[GroupTotal, ...]:
    """The sum of the items by bay side or by product: in the order of the design, what is shared last.

    A row that is bought for several is shared out by what of it is bought for each alone; what serves more than one
    is shared. The totals add up to that of the rows.

    Args:
        price: of the design; folded or not.
        by: side or product.
        design, layout: that the price was worked out from.

    Raises:
        ValueError: by section, which the price knows itself.
    """
    if by is TotalsBy.SECTION:
        raise ValueError("the totals of the sections stand in the price")
    where = _by_side(layout) if by is TotalsBy.SIDE else _by_product(design)
    unit = _unit(price.currency)
    sums: dict[str, Decimal] = {}
    for row in price.rows:
        for key, amount in _shared_out(row, where, unit):
            sums[key] = sums.get(key, unit * 0) + amount
    order = (
        [station.id for station in layout.stations]
        if by is TotalsBy.SIDE
        else [*(p.id for p in design.products), *(key for key in sums if key)]
    )
    return tuple(GroupTotal(key, sums[key]) for key in dict.fromkeys((*order, SHARED)) if sums.get(key))


_Where = Callable[[TakeoffRow, str], str]


def _by_side(layout: Layout) -> _Where:
    stations = {station.id for station in layout.stations}
    drops = {drop: station.id for station in layout.stations for drop in station.drops}

    def where(row: TakeoffRow, name: str) -> str:
        if row.section is Section.DROPS:
            return drops.get(name, SHARED)
        return name if row.section is Section.MOUNTING and name in stations else SHARED

    return where


def _by_product(design: Design) -> _Where:
    services = {drop.id: drop.service for drop in design.drops}

    def where(row: TakeoffRow, name: str) -> str:
        if row.section is Section.DROPS:
            return services.get(name, SHARED)
        if row.section is Section.LINES:
            return name.partition("/")[0]
        return name if row.section in (Section.PLANT, Section.SERVICE) else SHARED

    return where


def _shared_out(row: PricedRow, where: _Where, unit: Decimal) -> list[tuple[str, Decimal]]:
    takeoff, amount = row.takeoff, row.price.likely
    alone: dict[str, Decimal] = {}
    for name, quantity in zip(takeoff.objects, takeoff.by_object, strict=False):
        key = where(takeoff, name)
        alone[key] = alone.get(key, Decimal(0)) + _thousandths(quantity)
    rest = max(_thousandths(takeoff.quantity) - sum(alone.values(), Decimal(0)), Decimal(0))
    # Rounding of the parts of a long row leaves a few thousandths over, which serve nobody.
    if rest > _THOUSANDTH * len(takeoff.objects) or not any(alone.values()):
        alone[SHARED] = alone.get(SHARED, Decimal(0)) + (rest or Decimal(1))
    keys = list(alone)
    return list(zip(keys, apportion(amount, [alone[key] for key in keys], unit), strict=True))


def _thousandths(quantity: float) -> Decimal:
    return Decimal(repr(float(quantity))).quantize(_THOUSANDTH, rounding=ROUND_HALF_UP)
