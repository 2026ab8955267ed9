"""Rows, sections and totals of a price from a takeoff, the terms and a price book.

How a figure comes about, in this order:

1. Quantity. The takeoff's float becomes Decimal through its shortest text (`repr`) and is rounded half up to
   0.001 of the unit of sale.
2. Cost of a row. material = quantity x unit cost; labour = quantity x minutes / 60 x hourly rate; each for
   low, likely and high, each rounded half up to the currency's ISO 4217 minor unit; cost = material + labour.
3. Price of a row. The price rule on the rounded cost (markup: cost (1 + p/100); margin: cost / (1 - p/100)),
   rounded half up. Sections and all totals are sums of these rounded rows.
4. Contingency = rows x percent, discount = (rows + contingency) x percent, each rounded once. A rule in
   percent makes contingency on the price the same as the marked up contingency on the cost.
5. Tax. Of a taxable row the material is taxed, its labour only where the terms say so; of any other row
   nothing. Contingency and discount are shared out in proportion: step 4 is run once more on the taxable part
   of the rows alone, and the tax rate on what comes out is rounded once. The taxable part so never passes the
   net amount.

Worked by hand, margin 40 %, cost 600.00: price 600 / 0.6 = 1000.00; with a markup of 40 % it is 840.00.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from estimator.model.choices import PriceRule
from estimator.model.finding import Finding, Severity
from estimator.model.pricebook import PriceBook, PriceEntry
from estimator.model.terms import Terms
from estimator.money import minor_units, price_at_margin, price_at_markup
from estimator.pricing.types import ZERO, CostRange, Price, PricedRow, SectionTotal, Totals
from estimator.takeoff.types import Section, TakeoffRow

__all__ = ["PricingError", "price_rows", "quantity_of"]

_THOUSANDTH: Final = Decimal("0.001")
_MOST: Final = Decimal(10_000_000)
_SHOWN_OBJECTS: Final = 6
_HUNDRED: Final = Decimal(100)
_MINUTES_AN_HOUR: Final = Decimal(60)


class PricingError(ValueError):
    """A takeoff row that no price can be made of: its quantity is not a number, negative or absurd."""


def quantity_of(row: TakeoffRow) -> Decimal:
    """The quantity to buy as Decimal, rounded half up to 0.001 of the unit of sale.

    Raises:
        PricingError: not finite, negative, or above ten million.

    >>> quantity_of(TakeoffRow("TUB-08", Section.LINES, 12.3456, 0.0, ()))
    Decimal('12.346')
    """
    if not math.isfinite(row.quantity) or row.quantity < 0 or row.quantity > _MOST:
        raise PricingError(
            f"{row.code}: the quantity {row.quantity!r} must be a number from 0 to {_MOST} units of sale."
        )
    return Decimal(repr(float(row.quantity))).quantize(_THOUSANDTH, rounding=ROUND_HALF_UP)


def _each(amounts: CostRange, step: Callable[[Decimal], Decimal]) -> CostRange:
    return CostRange(step(amounts.low), step(amounts.likely), step(amounts.high))


def _sum(amounts: Iterable[CostRange]) -> CostRange:
    total = ZERO
    for amount in amounts:
        total = total + amount
    return total


def _minus(whole: CostRange, part: CostRange) -> CostRange:
    return CostRange(whole.low - part.low, whole.likely - part.likely, whole.high - part.high)


class _Rules:
    """The terms as arithmetic: what a cost sells for, what a percentage takes, all rounded half up."""

    def __init__(self, terms: Terms) -> None:
        self.terms = terms
        self.rate = CostRange(terms.labour.low, terms.labour.likely, terms.labour.high)
        # Kept for speed: rounding is most of the work of pricing a job.
        self._quantum = Decimal(1).scaleb(-minor_units(terms.currency))
        self._sell = price_at_margin if terms.rule is PriceRule.MARGIN else price_at_markup

    def rounded(self, amount: Decimal) -> Decimal:
        return amount.quantize(self._quantum, rounding=ROUND_HALF_UP)

    def price(self, cost: Decimal) -> Decimal:
        return self.rounded(self._sell(cost, self.terms.rule_percent))

    def share(self, amounts: CostRange, percent: Decimal) -> CostRange:
        return _each(amounts, lambda amount: self.rounded(amount * percent / _HUNDRED))


def _priced(row: TakeoffRow, entry: PriceEntry, rules: _Rules) -> PricedRow:
    quantity = quantity_of(row)
    rate = rules.rate
    unit_cost = CostRange(entry.low, entry.likely, entry.high)
    material = _each(unit_cost, lambda cost: rules.rounded(cost * quantity))
    minutes = quantity * entry.labour_minutes
    labour = _each(rate, lambda hour: rules.rounded(minutes * hour / _MINUTES_AN_HOUR))
    cost = material + labour
    price = _each(cost, rules.price)
    if not entry.taxable:
        taxable = ZERO
    elif rules.terms.labour_taxable:
        taxable = price
    else:
        taxable = _each(material, rules.price)
    unit_labour = entry.labour_minutes * rate.likely / _MINUTES_AN_HOUR
    return PricedRow(
        takeoff=row,
        description=entry.description,
        unit=entry.unit,
        known=True,
        material=material,
        labour=labour,
        # Written to the thousandth, so that a book with 5 and one with 5.000 minutes give the same text.
        labour_minutes=minutes.quantize(_THOUSANDTH, rounding=ROUND_HALF_UP),
        cost=cost,
        price=price,
        unit_price=rules.price(entry.likely + unit_labour),
        taxable_price=taxable,
        source=entry.source,
    )


def _unpriced(row: TakeoffRow, entry: PriceEntry | None) -> PricedRow:
    return PricedRow(
        takeoff=row,
        description=entry.description if entry else row.code,
        unit=entry.unit if entry else "",
        known=False,
        material=ZERO,
        labour=ZERO,
        labour_minutes=Decimal(0),
        cost=ZERO,
        price=ZERO,
        unit_price=Decimal(0),
        taxable_price=ZERO,
    )


def _totals(rows: tuple[PricedRow, ...], rules: _Rules) -> Totals:
    terms = rules.terms

    def discounted(amounts: CostRange) -> tuple[CostRange, CostRange, CostRange, CostRange]:
        contingency = rules.share(amounts, terms.contingency_percent)
        subtotal = amounts + contingency
        discount = rules.share(subtotal, terms.discount_percent)
        return contingency, subtotal, discount, _minus(subtotal, discount)

    # ZERO has no decimals; rounding gives every total the currency's own number of them.
    row_sum = _each(_sum(r.price for r in rows), rules.rounded)
    contingency, subtotal, discount, net = discounted(row_sum)
    *_, taxable = discounted(_each(_sum(r.taxable_price for r in rows), rules.rounded))
    tax = rules.share(taxable, terms.tax_percent)
    return Totals(
        cost=_each(_sum(r.cost for r in rows), rules.rounded),
        rows=row_sum,
        contingency=contingency,
        subtotal=subtotal,
        discount=discount,
        net=net,
        taxable=taxable,
        tax=tax,
        total=net + tax,
        labour_minutes=sum((r.labour_minutes for r in rows), Decimal(0)),
    )


def _where(rows: list[TakeoffRow]) -> str:
    objects = list(dict.fromkeys(name for row in rows for name in row.objects))
    sections = list(dict.fromkeys(row.section.value for row in rows))
    shown = ", ".join(objects[:_SHOWN_OBJECTS]) + (", …" if len(objects) > _SHOWN_OBJECTS else "")
    return f"{'; '.join(sections)}" + (f": {shown}" if shown else "")


def _missing(takeoff: tuple[TakeoffRow, ...], known: dict[str, PriceEntry]) -> tuple[Finding, ...]:
    absent: dict[str, list[TakeoffRow]] = {}
    for row in takeoff:
        if row.code not in known:
            absent.setdefault(row.code, []).append(row)
    found = []
    for code, rows in absent.items():
        bought = any(row.quantity > 0 for row in rows)
        found.append(
            Finding(
                Severity.ERROR if bought else Severity.WARNING,
                f"price_book.{code}",
                "price-missing",
                f"Price book: there is no entry “{code}”, used in {_where(rows)}. Add a row with this code "
                "to the price book."
                + (" Until then its cost is in no total." if bought else " It stays and costs nothing here."),
            )
        )
    return tuple(found)


def price_rows(
    takeoff: tuple[TakeoffRow, ...], terms: Terms, book: PriceBook
) -> tuple[Price, tuple[Finding, ...]]:
    """Price a takeoff. See the module for the order of the steps and for what is rounded where.

    Args:
        takeoff: what to buy; rows with quantity 0 (all of it exists) cost nothing.
        terms: price rule, contingency, discount, tax, labour rate, currency.
        book: costs. A book in another currency prices nothing: figures are never converted.

    Returns:
        The price and its findings: a code that the book lacks, a book in another currency, a labour
        rate of zero where labour is needed. `Price.complete` is False where something to buy has no price.

    Raises:
        PricingError: a quantity is not finite, negative or absurd.
        ValueError: a margin of 100 % or more (a whole `Job` never holds one).
    """
    rules = _Rules(terms)
    known = {entry.code: entry for entry in book.entries}
    findings: list[Finding] = list(_missing(takeoff, known))
    same_currency = book.currency == terms.currency
    if not same_currency:
        findings.insert(
            0,
            Finding(
                Severity.ERROR,
                "terms.currency",
                "price-currency",
                f"Currency: the job is in {terms.currency} and the price book in {book.currency}. Prices "
                f"are not converted, so nothing is priced; set the job's currency to {book.currency} or use "
                f"a price book in {terms.currency}.",
            ),
        )
    rows = []
    for row in takeoff:
        quantity_of(row)
        entry = known.get(row.code)
        rows.append(_priced(row, entry, rules) if entry and same_currency else _unpriced(row, entry))
    priced = tuple(rows)
    totals = _totals(priced, rules)
    if totals.labour_minutes > 0 and terms.labour.likely == 0:
        findings.append(
            Finding(
                Severity.WARNING,
                "terms.labour.likely",
                "labour-rate-zero",
                "Labour rate, Likely: it is 0 while the parts need installing; enter the cost of an "
                "installer's hour.",
                "common practice, no source",
            )
        )
    sections = []
    for section in Section:
        of_section = [r for r in priced if r.takeoff.section is section]
        if of_section:
            sections.append(
                SectionTotal(
                    section,
                    price=_each(_sum(r.price for r in of_section), rules.rounded),
                    cost=_each(_sum(r.cost for r in of_section), rules.rounded),
                )
            )
    complete = all(r.known or r.takeoff.quantity == 0 for r in priced)
    return Price(terms.currency, priced, tuple(sections), totals, complete), tuple(findings)
