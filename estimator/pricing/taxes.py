"""Tax by row, with more than one rate.

The taxable part of the net amount is found once for all rates together, so that it never passes the net, and is
shared over the rates in proportion to their rows (largest remainder). Each rate's tax is rounded once; the tax is
the sum of them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from decimal import Decimal

from estimator.model.finding import Finding, Severity, facts
from estimator.model.terms import Terms
from estimator.pricing.apportion import apportion
from estimator.pricing.types import ZERO, CostRange, PricedRow, TaxLine

__all__ = ["tax_lines", "unknown_taxes"]


def unknown_taxes(rows: Iterable[PricedRow], terms: Terms) -> tuple[Finding, ...]:
    """Rows that refer to a rate the terms do not have; they are taxed at the main rate, and that is said."""
    known = {rate.id for rate in terms.more_taxes}
    found = {}
    for row in rows:
        if row.tax and row.tax not in known:
            origin = row.takeoff.objects[0] if row.takeoff.objects else ""
            extra = origin.startswith("terms.")
            found[row.takeoff.code] = Finding(
                Severity.ERROR,
                f"{origin}.tax" if extra else f"price_book.{row.takeoff.code}",
                "tax-unknown",
                "Tax rate of “{row}”: the terms have no rate “{rate}”; add it to the further tax rates or leave the "
                "field empty. Until then the row is taxed at the main rate.",
                facts=facts(row=row.description, rate=row.tax),
            )
    return tuple(found.values())


def tax_lines(
    rows: Iterable[PricedRow], taxable: CostRange, terms: Terms, rounded: Callable[[Decimal], Decimal]
) -> tuple[TaxLine, ...]:
    """The main rate first, then each further rate that a taxable row refers to.

    Args:
        rows: priced, with the taxable part of each.
        taxable: taxable part of the net amount.
        terms: the rates.
        rounded: rounds to the currency's minor unit.
    """
    rates = {rate.id: (rate.name.strip() or rate.id, rate.percent) for rate in terms.more_taxes}
    by_rate: dict[str, CostRange] = {"": ZERO}
    for row in rows:
        if row.taxable_price is not ZERO:
            rate = row.tax if row.tax in rates else ""
            by_rate[rate] = by_rate.get(rate, ZERO) + row.taxable_price
    order = ["", *(name for name in rates if name in by_rate)]
    unit = rounded(Decimal(0)) + Decimal(1).scaleb(int(rounded(Decimal(0)).as_tuple().exponent))

    def shared(amount: Decimal, end: str) -> tuple[Decimal, ...]:
        weights = [getattr(by_rate[name], end) for name in order]
        if len(order) == 1 or not any(weights):
            return (amount, *(rounded(Decimal(0)) for _ in order[1:]))
        return apportion(amount, weights, unit)

    parts = zip(
        shared(taxable.low, "low"),
        shared(taxable.likely, "likely"),
        shared(taxable.high, "high"),
        strict=True,
    )
    lines = []
    for name, part in zip(order, parts, strict=True):
        label, percent = rates.get(name, (terms.tax_name.strip() or "Tax", terms.tax_percent))
        amounts = CostRange(*part)
        tax = CostRange(*(rounded(amount * percent / 100) for amount in part))
        lines.append(TaxLine(name, label, percent, amounts, tax))
    return tuple(lines)
