"""What can be ordered by one quote: the base design and each offered option, with the sum that is paid for it."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from estimator.documents.sheet import Sheet
from estimator.pricing.types import StageAmount

__all__ = ["TO_BE_CONFIRMED", "OrderChoice", "choices_of"]

TO_BE_CONFIRMED = "to be confirmed"


@dataclass(frozen=True, slots=True)
class OrderChoice:
    """What can be ordered: its name and what is paid for it; `complete` unless parts have no price yet."""

    name: str
    total: Decimal
    stages: tuple[StageAmount, ...]
    complete: bool


def choices_of(sheet: Sheet) -> tuple[OrderChoice, ...]:
    """The base option first; itself alone where there is nothing to choose."""
    price = sheet.study.price
    offers = sheet.enclosed.offers
    if not offers:
        return (OrderChoice("Amount", price.totals.total.likely, price.stages, price.complete),)
    return tuple(
        OrderChoice(
            f"{offer.figures.name} (base option)" if i == 0 else offer.figures.name,
            offer.figures.total.likely,
            offer.study.price.stages,
            offer.figures.complete,
        )
        for i, offer in enumerate(offers)
    )
