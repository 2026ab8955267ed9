"""What a part costs installed. Figures are invented and worked by hand."""

from __future__ import annotations

from decimal import Decimal

from estimator.model.pricebook import PriceEntry
from estimator.pricing.installed import installed_cost


def test_material_and_minutes() -> None:
    # 2.50 and 12 minutes of 50.00 an hour: 2.50 + 10.00.
    entry = PriceEntry(
        code="TUB-08",
        description="Tube",
        low=Decimal(1),
        likely=Decimal("2.50"),
        high=Decimal(4),
        labour_minutes=Decimal(12),
    )
    assert installed_cost(entry, Decimal(50)) == Decimal("12.50")
