"""Freight, travel, permits, disposal: rows of the quote that are no part of the system.

They are priced like any other row, with the rule of their section.
"""

from __future__ import annotations

from collections import Counter
from decimal import Decimal
from typing import Final

from estimator.model.choices import ExtraKind
from estimator.model.pricebook import PriceEntry
from estimator.model.terms import Terms
from estimator.takeoff.types import Section, TakeoffRow

__all__ = ["UNIT", "extra_rows"]

UNIT: Final = "sum"
"""Unit of sale of an extra row."""


def extra_rows(terms: Terms) -> tuple[tuple[TakeoffRow, PriceEntry], ...]:
    """Each extra as a row to buy with its cost; codes are the kind and the number in that kind (FREIGHT-1)."""
    made = []
    counts: Counter[ExtraKind] = Counter()
    for i, extra in enumerate(terms.extras):
        counts[extra.kind] += 1
        code = f"{extra.kind.value.upper()}-{counts[extra.kind]}"
        row = TakeoffRow(code, Section.EXTRAS, 1.0, 0.0, (f"terms.extras.{i}",))
        entry = PriceEntry(
            code=code,
            description=extra.description.strip() or extra.kind.label,
            group=Section.EXTRAS.value,
            unit=UNIT,
            low=extra.low,
            likely=extra.likely,
            high=extra.high,
            taxable=extra.taxable,
            labour_minutes=Decimal(0),
            source="terms of this job",
            tax=extra.tax,
        )
        made.append((row, entry))
    return tuple(made)
