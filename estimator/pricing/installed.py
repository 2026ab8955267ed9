"""What a part costs to buy and to install: the one place where minutes become money."""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from estimator.model.pricebook import PriceEntry

__all__ = ["installed_cost", "labour_cost"]

_MINUTES_AN_HOUR: Final = Decimal(60)


def labour_cost(minutes: Decimal, hour: Decimal) -> Decimal:
    """Cost of minutes at the cost of an hour, not rounded.

    >>> labour_cost(Decimal(90), Decimal(50))
    Decimal('75')
    """
    return minutes * hour / _MINUTES_AN_HOUR


def installed_cost(entry: PriceEntry, hour: Decimal) -> Decimal:
    """Likely cost of one unit of sale with its labour, not rounded.

    Args:
        entry: of the price book.
        hour: cost of an installer's hour, in the book's currency.
    """
    return entry.likely + labour_cost(entry.labour_minutes, hour)
