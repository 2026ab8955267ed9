"""What a price is made of. All amounts Decimal in the job's currency."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from estimator.model.choices import PriceBasis
from estimator.takeoff.types import Section, TakeoffRow

__all__ = [
    "CostRange",
    "FirmBasis",
    "Price",
    "PricedRow",
    "SectionTotal",
    "StageAmount",
    "TaxLine",
    "Totals",
]


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
        firm_cost: the cost that the firm price is made from, inside the cost range (see `FirmBasis`).
        tax: id of its tax rate, "" the main one. `correlation`: name of the cause it moves with, "" none.
        dated: when its figure was taken, None where not stated. `demo`: it is an invented one.
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
    firm_cost: Decimal = Decimal(0)
    tax: str = ""
    correlation: str = ""
    dated: date | None = None
    demo: bool = False


@dataclass(frozen=True, slots=True)
class SectionTotal:
    """Sum of the rounded rows of one section."""

    section: Section
    price: CostRange
    cost: CostRange


@dataclass(frozen=True, slots=True)
class Totals:
    """From rows to the sum to pay; each figure a range whose `likely` is the firm one.

    rows + contingency = subtotal; subtotal - discount = net; net + tax + rounding = total. Each is rounded
    once and every sum is of rounded figures. `rounding` is zero unless the terms round the total to a step;
    it may be negative. `tax` is the sum of all tax lines. taxed rows + taxed contingency - taxed discount = taxable.
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
    rounding: CostRange = ZERO
    taxed_rows: CostRange = ZERO
    taxed_contingency: CostRange = ZERO
    taxed_discount: CostRange = ZERO


@dataclass(frozen=True, slots=True)
class TaxLine:
    """One tax rate: `tax` = `taxable` x percent, rounded. `id` is "" for the main rate."""

    id: str
    name: str
    percent: Decimal
    taxable: CostRange
    tax: CostRange


@dataclass(frozen=True, slots=True)
class StageAmount:
    """One payment. `percent` is None for the stage that takes the rest."""

    name: str
    percent: Decimal | None
    amount: Decimal


@dataclass(frozen=True, slots=True)
class FirmBasis:
    """What the firm price is made from.

    Attributes:
        kind: likely cost, cost at a confidence, or a price typed by hand.
        confidence_percent: of the price, None unless `kind` is the confidence.
        cost: sum of the rows' firm costs.
        words: one sentence that says how.
    """

    kind: PriceBasis = PriceBasis.LIKELY
    confidence_percent: Decimal | None = None
    cost: Decimal = Decimal(0)
    words: str = ""


@dataclass(frozen=True, slots=True)
class Price:
    """The priced job: rows add up to sections, sections to `totals.rows`, stages to `totals.total.likely`."""

    currency: str
    rows: tuple[PricedRow, ...]
    sections: tuple[SectionTotal, ...]
    totals: Totals
    complete: bool
    taxes: tuple[TaxLine, ...] = ()
    stages: tuple[StageAmount, ...] = ()
    basis: FirmBasis = FirmBasis()

    def rows_of(self, section: Section) -> tuple[PricedRow, ...]:
        """Rows of one section in takeoff order."""
        return tuple(r for r in self.rows if r.takeoff.section is section)
