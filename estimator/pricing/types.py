"""What a price is made of. All amounts Decimal in the job's currency."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from estimator.takeoff.types import Section, TakeoffRow

__all__ = ["CostRange", "Price", "PricedRow", "SectionTotal", "Totals"]


@dataclass(frozen=True, slots=True)
class CostRange:
    """Low, likely and high of one amount."""

    low: Decimal
    likely: Decimal
    high: Decimal

    def __add__(self, other: CostRange) -> CostRange:
        return CostRange(self.low + other.low, self.likely + other.likely, self.high + other.high)


ZERO = CostRange(Decimal(0), Decimal(0), Decimal(0))


@dataclass(frozen=True, slots=True)
class PricedRow:
    """A takeoff row with its cost and price.

    Attributes:
        takeoff: the row it prices, which knows its objects.
        description, unit: from the price book (the code itself where the book has no entry).
        known: False where the price book has no entry; its cost is then not in any total and a finding says so.
        material, labour, cost: cost range of parts, of installing them, and both.
        labour_minutes: for the whole quantity.
        price: selling price range, each rounded half up to the currency's minor unit; likely is the firm price.
        unit_price: firm selling price of one unit for the paper (rounded; information only).
        taxable_price: part of the firm price that is taxed, as a range.
        source: where the price book has the figure from.
    """

    takeoff: TakeoffRow
    description: str
    unit: str
    known: bool
    material: CostRange
    labour: CostRange
    labour_minutes: Decimal
    cost: CostRange
    price: CostRange
    unit_price: Decimal
    taxable_price: CostRange
    source: str = ""


@dataclass(frozen=True, slots=True)
class SectionTotal:
    """Sum of the rounded rows of one section."""

    section: Section
    price: CostRange
    cost: CostRange


@dataclass(frozen=True, slots=True)
class Totals:
    """From rows to the sum to pay; each figure a range whose `likely` is the firm one.

    rows + contingency = subtotal; subtotal - discount = net; net + tax = total. Each is rounded once and
    every sum is of rounded figures.
    """

    cost: CostRange
    rows: CostRange
    contingency: CostRange
    subtotal: CostRange
    discount: CostRange
    net: CostRange
    taxable: CostRange
    tax: CostRange
    total: CostRange
    labour_minutes: Decimal


@dataclass(frozen=True, slots=True)
class Price:
    """The priced job."""

    currency: str
    rows: tuple[PricedRow, ...]
    sections: tuple[SectionTotal, ...]
    totals: Totals
    complete: bool

    def rows_of(self, section: Section) -> tuple[PricedRow, ...]:
        """Rows of one section in takeoff order."""
        return tuple(r for r in self.rows if r.takeoff.section is section)
