"""Sizes are compared by what pricing would charge for them."""

from __future__ import annotations

from decimal import Decimal

import pytest

from estimator.model.terms import LabourRate, Terms
from estimator.pricing.price import price_rows
from estimator.proposal.cost import size_costs
from estimator.reference.catalogue import catalogue
from estimator.store.pricebooks import shipped_price_book
from estimator.takeoff.types import Section, TakeoffRow

HOUR = Decimal(55)


def test_each_size_costs_what_pricing_gives_for_it() -> None:
    parts, book = catalogue(), shipped_price_book()
    costs = size_costs(parts, book, HOUR)
    compared = {t.code: costs.tube_m[t.key] for t in parts.tubes}
    compared |= {p.code: costs.pumps[p.key] for p in parts.pumps}
    compared |= {t.code: costs.tanks[t.key] for t in parts.tanks}
    compared |= {
        t.fitting_codes[kind]: costs.fittings[t.key, kind] for t in parts.tubes for kind in t.fitting_codes
    }
    # A thousand of each, so that rounding a row to cents is far below what is compared.
    rows = tuple(TakeoffRow(code, Section.LINES, 1000.0, 0.0, ()) for code in compared)
    terms = Terms(currency=book.currency, labour=LabourRate(low=HOUR, likely=HOUR, high=HOUR))
    priced, _ = price_rows(rows, terms, book)
    assert len(priced.rows) == len(compared) > 20
    for row in priced.rows:
        assert compared[row.takeoff.code] == pytest.approx(float(row.cost.likely) / 1000.0, abs=1e-5)
