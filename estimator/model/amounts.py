"""What price entries, extra rows and terms check alike: a known currency, a range in order."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated

from pydantic import AfterValidator, Field
from pydantic_core import PydanticCustomError

from estimator.money import CurrencyError, check_currency

__all__ = ["Currency", "check_order"]


def _known_currency(code: str) -> str:
    try:
        return check_currency(code)
    except CurrencyError as error:
        raise PydanticCustomError("currency", "{reason}", {"reason": str(error)}) from None


Currency = Annotated[str, Field(max_length=12), AfterValidator(_known_currency)]
"""A currency code of ISO 4217."""


def check_order(name: str, low: Decimal, likely: Decimal, high: Decimal) -> None:
    """Refuse a range that is not in order.

    Args:
        name: whose range it is, for the message.
        low, likely, high: of one amount.

    Raises:
        PydanticCustomError: low <= likely <= high does not hold.
    """
    if not low <= likely <= high:
        raise PydanticCustomError(
            "range",
            "{reason}",
            {"reason": f"{name}: low {low}, likely {likely}, high {high}; low ≤ likely ≤ high must hold."},
        )
