"""Rows, sections and totals of a price from a takeoff, the terms and a price book.

How a figure comes about, in this order:

1. Quantity. The takeoff's float becomes Decimal through its shortest text (`repr`) and is rounded half up to
   0.001 of the unit of sale.
2. Cost of a row. material = quantity x unit cost; labour = quantity x minutes / 60 x hourly rate; each for
   low, likely and high, each rounded half up to the currency's ISO 4217 minor unit; cost = material + labour.
3. Extras (freight, travel and fees) are rows like the others.
4. Firm cost of a row: its likely cost, or its part of the cost at a confidence (`policy`).
5. Price of a row. The price rule of its section on the rounded cost (markup: cost (1 + p/100); margin:
   cost / (1 - p/100)), rounded half up; the firm price is that of the firm cost. A typed price replaces the rows'
   prices (`policy`). Sections and all totals are sums of these rounded rows.
6. Contingency = rows x percent, or the gap to a confidence; discount = (rows + contingency) x percent, each
   rounded once. A rule in percent makes contingency on the price the same as the marked up contingency on the cost.
7. Tax. Of a taxable row the material is taxed, its labour only where the terms say so; of any other row
   nothing. Contingency and discount are shared out in proportion: step 6 is run once more on the taxable part
   of the rows alone, shared over the rates, and each rate on its part is rounded once. The taxable part so never
   passes the net amount.
8. The total is rounded half up to the step of the terms; the difference is a sum of its own.

Worked by hand, margin 40 %, cost 600.00: price 600 / 0.6 = 1000.00; with a markup of 40 % it is 840.00.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from estimator.locales import number_text
from estimator.model.choices import ContingencyBasis, PriceBasis
from estimator.model.finding import (
    Finding,
    IdKind,
    Listed,
    Money,
    Number,
    Phrase,
    Ref,
    Severity,
    facts,
)
from estimator.model.pricebook import PriceBook, PriceEntry
from estimator.model.terms import Terms
from estimator.pricing.apportion import apportion
from estimator.pricing.extras import extra_rows
from estimator.pricing.installed import installed_cost, labour_cost
from estimator.pricing.policy import CostOdds, OddsMaker, Rules, firm_costs, policy_findings
from estimator.pricing.stages import stage_amounts
from estimator.pricing.taxes import tax_lines, unknown_taxes
from estimator.pricing.types import (
    ZERO,
    CostRange,
    FirmBasis,
    Price,
    PricedRow,
    SectionTotal,
    TaxLine,
    Totals,
)
from estimator.takeoff.types import Section, TakeoffRow

__all__ = ["PricingError", "price_rows", "quantity_of"]

_THOUSANDTH: Final = Decimal("0.001")
_MOST: Final = Decimal(10_000_000)
_SHOWN_OBJECTS: Final = 6
_HUNDRED: Final = Decimal(100)


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
    low = likely = high = Decimal(0)
    for amount in amounts:
        low, likely, high = low + amount.low, likely + amount.likely, high + amount.high
    return CostRange(low, likely, high)


def _minus(whole: CostRange, part: CostRange) -> CostRange:
    return CostRange(whole.low - part.low, whole.likely - part.likely, whole.high - part.high)


@dataclass(frozen=True, slots=True)
class _Costed:
    """A row with its costs, before any price."""

    row: TakeoffRow
    entry: PriceEntry
    material: CostRange
    labour: CostRange
    cost: CostRange
    minutes: Decimal
    quantity: Decimal


def _costed(row: TakeoffRow, entry: PriceEntry, rules: Rules) -> _Costed:
    quantity = quantity_of(row)
    rounded, rate, minutes = rules.rounded, rules.rate, quantity * entry.labour_minutes
    material = CostRange(
        rounded(entry.low * quantity), rounded(entry.likely * quantity), rounded(entry.high * quantity)
    )
    labour = CostRange(
        rounded(labour_cost(minutes, rate.low)),
        rounded(labour_cost(minutes, rate.likely)),
        rounded(labour_cost(minutes, rate.high)),
    )
    return _Costed(row, entry, material, labour, material + labour, minutes, quantity)


def _firm_material(part: _Costed, firm: Decimal, rules: Rules) -> Decimal:
    """Material's part of a firm cost: the row's way from likely cost is shared as its range is."""
    cost, gap = part.cost, firm - part.cost.likely
    if not gap:
        return part.material.likely
    if gap > 0:
        whole, own = cost.high - cost.likely, part.material.high - part.material.likely
    else:
        whole, own = cost.likely - cost.low, part.material.likely - part.material.low
    return part.material.likely + rules.rounded(gap * own / whole)


def _priced(part: _Costed, firm: Decimal, rules: Rules) -> PricedRow:
    entry, cost, section = part.entry, part.cost, part.row.section

    def sold(amounts: CostRange, likely: Decimal) -> CostRange:
        return CostRange(
            rules.price(amounts.low, section),
            rules.price(likely, section),
            rules.price(amounts.high, section),
        )

    price = sold(cost, firm)
    if not entry.taxable:
        taxable = ZERO
    elif rules.terms.labour_taxable:
        taxable = price
    else:
        taxable = sold(part.material, _firm_material(part, firm, rules))
    if firm == cost.likely:
        unit_cost = installed_cost(entry, rules.rate.likely)
        unit_price = rules.price(unit_cost, section)
    else:
        unit_price = rules.rounded(price.likely / part.quantity)
    return PricedRow(
        takeoff=part.row,
        description=entry.description,
        unit=entry.unit,
        known=True,
        material=part.material,
        labour=part.labour,
        # Written to the thousandth, so that a book with 5 and one with 5.000 minutes give the same text.
        labour_minutes=part.minutes.quantize(_THOUSANDTH, rounding=ROUND_HALF_UP),
        cost=cost,
        price=price,
        unit_price=unit_price,
        taxable_price=taxable,
        source=entry.source,
        firm_cost=firm,
        tax=entry.tax,
        correlation=entry.correlation,
        dated=entry.dated,
        demo=entry.demo,
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


def _typed(rows: tuple[PricedRow, ...], wanted: Decimal, rules: Rules) -> tuple[PricedRow, ...] | None:
    """The rows at prices that add up to a wanted sum, None where there is nothing to share it over."""
    prices = [row.price.likely for row in rows]
    if wanted and not any(prices):
        return None
    made = []
    for row, price in zip(rows, apportion(wanted, prices, rules.unit), strict=True):
        taxed = row.taxable_price.likely
        taxable = rules.rounded(price * taxed / row.price.likely) if taxed else Decimal(0)
        quantity = quantity_of(row.takeoff)
        made.append(
            replace(
                row,
                price=CostRange(price, price, price),
                unit_price=rules.rounded(price / quantity) if quantity else row.unit_price,
                taxable_price=CostRange(taxable, taxable, taxable) if taxed else ZERO,
            )
        )
    return tuple(made)


@dataclass(frozen=True, slots=True)
class _Contingency:
    """A percent of the rows, or a fixed amount that the taxable part has its share of."""

    percent: Decimal | None
    amount: CostRange = ZERO

    def of(self, amounts: CostRange, whole: CostRange, rules: Rules) -> CostRange:
        """The part that goes with `amounts` of the `whole` rows."""
        if self.percent is not None:
            return rules.share(amounts, self.percent)

        def part(fixed: Decimal, some: Decimal, all_rows: Decimal) -> Decimal:
            return rules.rounded(fixed * some / all_rows) if all_rows else rules.rounded(Decimal(0))

        return CostRange(
            part(self.amount.low, amounts.low, whole.low),
            part(self.amount.likely, amounts.likely, whole.likely),
            part(self.amount.high, amounts.high, whole.high),
        )


def _step_of(rules: Rules) -> tuple[Decimal, tuple[Finding, ...]]:
    step = rules.terms.round_to
    if step % rules.unit:
        sentence = (
            "Round total to: {step} is no whole number of the smallest unit of {currency}, {unit}; enter a multiple of "
            "it, or 0 for none. The total is not rounded."
        )
        known = facts(step=Number(step, 4), currency=rules.terms.currency, unit=Number(rules.unit, 4))
        return Decimal(0), (
            Finding(Severity.ERROR, "terms.round_to", "rounding-step", sentence, facts=known),
        )
    return step, ()


def _totals(
    rows: tuple[PricedRow, ...], contingent: _Contingency, step: Decimal, rules: Rules
) -> tuple[Totals, tuple[TaxLine, ...]]:
    terms = rules.terms
    # ZERO has no decimals; rounding gives every total the currency's own number of them.
    row_sum = _each(_sum(r.price for r in rows), rules.rounded)

    def discounted(amounts: CostRange) -> tuple[CostRange, CostRange, CostRange, CostRange]:
        contingency = contingent.of(amounts, row_sum, rules)
        subtotal = amounts + contingency
        discount = rules.share(subtotal, terms.discount_percent)
        return contingency, subtotal, discount, _minus(subtotal, discount)

    contingency, subtotal, discount, net = discounted(row_sum)
    if contingent.percent is None and not row_sum.likely:
        # Nothing to share it over, but asked for all the same.
        contingency = contingent.amount
        subtotal = row_sum + contingency
        discount = rules.share(subtotal, terms.discount_percent)
        net = _minus(subtotal, discount)
    taxed_rows = _each(_sum(r.taxable_price for r in rows), rules.rounded)
    taxed_contingency, _, taxed_discount, taxable = discounted(taxed_rows)
    lines = tax_lines(rows, taxable, terms, rules.rounded)
    tax = _each(_sum(line.tax for line in lines), rules.rounded)
    due = net + tax
    total = _each(due, lambda amount: rules.rounded(_to_step(amount, step)))
    totals = Totals(
        cost=_each(_sum(r.cost for r in rows), rules.rounded),
        rows=row_sum,
        contingency=contingency,
        subtotal=subtotal,
        discount=discount,
        net=net,
        taxable=taxable,
        tax=tax,
        total=total,
        labour_minutes=sum((r.labour_minutes for r in rows), Decimal(0)),
        rounding=_minus(total, due),
        taxed_rows=taxed_rows,
        taxed_contingency=taxed_contingency,
        taxed_discount=taxed_discount,
    )
    return totals, lines


def _to_step(amount: Decimal, step: Decimal) -> Decimal:
    return (amount / step).quantize(Decimal(1), rounding=ROUND_HALF_UP) * step if step else amount


def _where(rows: list[TakeoffRow]) -> Phrase:
    objects = dict.fromkeys(name for row in rows for name in row.objects)
    sections = "; ".join(dict.fromkeys(row.section.value for row in rows))
    told = Listed(tuple(Ref(IdKind.OBJECT, name) for name in objects), _SHOWN_OBJECTS)
    return Phrase(
        "{sections}: {objects}" if objects else "{sections}", facts(sections=sections, objects=told)
    )


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
                "Price book: there is no entry “{code}”, used in {where}. Add a row with this code to the price book, "
                "or take over what the shipped book has of it."
                + (" Until then its cost is in no total." if bought else " It stays and costs nothing here."),
                facts=facts(code=code, where=_where(rows)),
            )
        )
    return tuple(found)


def price_rows(
    takeoff: tuple[TakeoffRow, ...],
    terms: Terms,
    book: PriceBook,
    odds: OddsMaker | None = None,
) -> tuple[Price, tuple[Finding, ...]]:
    """Price a takeoff. See the module for the order of the steps and for what is rounded where.

    Args:
        takeoff: what to buy; rows with quantity 0 (all of it exists) cost nothing.
        terms: price rule, contingency, discount, tax, labour rate, currency, extras, stages.
        book: costs. A book in another currency prices nothing: figures are never converted.
        odds: makes the distribution of the cost; asked only where the terms speak of a confidence. Left out,
            it is worked out here.

    Returns:
        The price and its findings: a code that the book lacks, a book in another currency, a labour
        rate of zero where labour is needed, payments that do not add up. `Price.complete` is False where
        something to buy has no price.

    Raises:
        PricingError: a quantity is not finite, negative or absurd.
        ValueError: a margin of 100 % or more (a whole `Job` never holds one).
    """
    rules = Rules(terms)
    known = {entry.code: entry for entry in book.entries}
    findings: list[Finding] = list(_missing(takeoff, known))
    same_currency = book.currency == terms.currency
    if not same_currency:
        findings.insert(0, _other_currency(terms, book))
    parts: list[_Costed | PricedRow] = []
    for row in takeoff:
        entry = known.get(row.code)
        if entry and same_currency:
            parts.append(_costed(row, entry, rules))
        else:
            quantity_of(row)
            parts.append(_unpriced(row, entry))
    parts.extend(_costed(row, entry, rules) for row, entry in extra_rows(terms))
    step, step_findings = _step_of(rules)
    findings += step_findings

    chances = _Chances(parts, book, rules, odds)
    firm, basis = _firm(parts, chances, rules)
    findings += basis.findings
    priced = tuple(
        part if isinstance(part, PricedRow) else _priced(part, cost, rules)
        for part, cost in zip(parts, firm, strict=True)
    )
    contingent, priced, more = _contingency(priced, sum(firm, Decimal(0)), chances, rules)
    findings += more
    totals, taxes = _totals(priced, contingent, step, rules)
    stages, stage_findings = stage_amounts(totals.total.likely, terms.stages, rules.unit)
    findings += stage_findings
    price = Price(
        terms.currency,
        priced,
        _sections(priced, rules),
        totals,
        all(r.known or r.takeoff.quantity == 0 for r in priced),
        taxes,
        stages,
        FirmBasis(basis.kind, basis.confidence, rules.rounded(sum(firm, Decimal(0))), basis.words),
    )
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
    findings += unknown_taxes(priced, terms)
    findings += policy_findings(price, terms)
    return price, tuple(findings)


def _other_currency(terms: Terms, book: PriceBook) -> Finding:
    return Finding(
        Severity.ERROR,
        "terms.currency",
        "price-currency",
        "Currency: the job is in {job} and the price book in {book}. Prices are not converted, so nothing is priced; "
        "set the job's currency to {book} or use a price book in {job}.",
        facts=facts(job=terms.currency, book=book.currency),
    )


def _sections(rows: tuple[PricedRow, ...], rules: Rules) -> tuple[SectionTotal, ...]:
    sections = []
    for section in Section:
        of_section = [r for r in rows if r.takeoff.section is section]
        if of_section:
            sections.append(
                SectionTotal(
                    section,
                    price=_each(_sum(r.price for r in of_section), rules.rounded),
                    cost=_each(_sum(r.cost for r in of_section), rules.rounded),
                )
            )
    return tuple(sections)


class _Chances:
    """The distribution of the cost, worked out when first asked for."""

    def __init__(
        self, parts: list[_Costed | PricedRow], book: PriceBook, rules: Rules, odds: OddsMaker | None
    ) -> None:
        self._parts, self._book, self._rules, self._odds = parts, book, rules, odds
        self._made: CostOdds | None = None

    def cost_at(self, percent: Decimal) -> Decimal:
        """Cost that is not passed with that chance in percent."""
        if self._made is None:
            rules = self._rules
            rows = tuple(
                p if isinstance(p, PricedRow) else _priced(p, p.cost.likely, rules) for p in self._parts
            )
            totals, _ = _totals(rows, _Contingency(Decimal(0)), Decimal(0), rules)
            plain = Price(rules.terms.currency, rows, _sections(rows, rules), totals, True)
            self._made = self._odds(plain) if self._odds else _odds(plain, self._book)
        return self._rules.rounded(self._made.cost_at(float(percent / _HUNDRED)))


def _odds(price: Price, book: PriceBook) -> CostOdds:
    from estimator.pricing.risk import RiskModel, items_of  # loaded, numpy with it, when a spread is wanted

    return RiskModel(items_of(price, book.entries), price.currency).result


@dataclass(frozen=True, slots=True)
class _Basis:
    kind: PriceBasis
    words: str
    confidence: Decimal | None = None
    findings: tuple[Finding, ...] = ()


def _firm(
    parts: list[_Costed | PricedRow], chances: _Chances, rules: Rules
) -> tuple[tuple[Decimal, ...], _Basis]:
    """The cost that each row's firm price is made from."""
    terms = rules.terms
    costs = tuple(part.cost for part in parts)
    likely = tuple(cost.likely for cost in costs)
    if terms.price_basis is PriceBasis.CONFIDENCE and costs:
        wanted = chances.cost_at(terms.basis_confidence)
        in_hundred = number_text(terms.basis_confidence, 4, terms.locale)
        words = (
            f"The firm price is made from the cost that is not passed in {in_hundred} of "
            "100 such jobs; the way from likely cost to it is shared over the rows in proportion to their ranges."
        )
        return firm_costs(costs, wanted, rules.unit), _Basis(
            PriceBasis.CONFIDENCE, words, terms.basis_confidence
        )
    plain = _Basis(PriceBasis.LIKELY, "The firm price is made from likely cost.")
    if terms.price_basis is not PriceBasis.TYPED:
        return likely, plain
    if terms.typed_price is None or rules.rounded(terms.typed_price) != terms.typed_price:
        what = (
            Phrase("none is typed")
            if terms.typed_price is None
            else Phrase(
                "{typed} has more decimals than {currency}",
                facts(typed=Number(terms.typed_price, 4), currency=terms.currency),
            )
        )
        finding = Finding(
            Severity.ERROR,
            "terms.typed_price",
            "price-typed",
            "Typed price: {what}; enter what rows and contingency cost together, before discount and tax. Until then "
            "the price is made from likely cost.",
            facts=facts(what=what),
        )
        return likely, replace(plain, findings=(finding,))
    words = (
        "The firm price was typed; it is shared over the rows in proportion to their prices by the rule, from "
        "likely cost."
    )
    return likely, _Basis(PriceBasis.TYPED, words)


def _contingency(
    rows: tuple[PricedRow, ...], firm: Decimal, chances: _Chances, rules: Rules
) -> tuple[_Contingency, tuple[PricedRow, ...], tuple[Finding, ...]]:
    """The contingency, and the rows, which a typed price changes so that both make it together."""
    terms = rules.terms
    findings: list[Finding] = []
    if terms.contingency_basis is ContingencyBasis.PERCENT:
        contingent = _Contingency(terms.contingency_percent)
    else:
        gap = chances.cost_at(terms.contingency_confidence) - firm if rows else Decimal(0)
        if gap <= 0:
            gap = Decimal(0)
            findings.append(
                Finding(
                    Severity.NOTE,
                    "terms.contingency_confidence",
                    "contingency-none",
                    "Contingency: the price is already made from a cost that covers {covered}, so there is no gap and "
                    "no contingency.",
                    facts=facts(covered=Number(terms.contingency_confidence, 4, "%")),
                )
            )
        amount = rules.price(gap)
        contingent = _Contingency(None, CostRange(amount, amount, amount))
    typed = terms.typed_price
    if terms.price_basis is not PriceBasis.TYPED or typed is None or rules.rounded(typed) != typed:
        return contingent, rows, tuple(findings)
    if contingent.percent is not None:
        wanted = rules.rounded(typed / (1 + contingent.percent / _HUNDRED))
    else:
        wanted = rules.rounded(typed - contingent.amount.likely)
    made = _typed(rows, wanted, rules) if wanted >= 0 else None
    if made is None:
        currency = terms.currency
        why = (
            Phrase(
                "the contingency alone is {contingency}",
                facts(contingency=Money(contingent.amount.likely, currency)),
            )
            if wanted < 0
            else Phrase("no row has a price that it could be shared over")
        )
        findings.append(
            Finding(
                Severity.ERROR,
                "terms.typed_price",
                "price-typed",
                "Typed price: {typed} cannot be used, as {why}; the price is made from likely cost.",
                facts=facts(typed=Money(typed, currency), why=why),
            )
        )
        return contingent, rows, tuple(findings)
    rest = rules.rounded(typed) - sum((row.price.likely for row in made), Decimal(0))
    return _Contingency(None, CostRange(rest, rest, rest)), made, tuple(findings)
