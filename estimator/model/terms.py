"""Commercial terms of a quote."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated

from pydantic import AfterValidator, Field
from pydantic_core import PydanticCustomError

from estimator.model.choices import PriceRule
from estimator.model.spec import Amount, Frozen, LongText, Percent, ShortText, spec
from estimator.money import CurrencyError, check_currency
from estimator.units import Dimension, Measure, Quantity

__all__ = ["LabourRate", "Terms"]


def _known_currency(code: str) -> str:
    try:
        return check_currency(code)
    except CurrencyError as error:
        raise PydanticCustomError("currency", "{reason}", {"reason": str(error)}) from None


class LabourRate(Frozen):
    """Cost of an installer's hour, as a range."""

    low: Amount = spec("Low", "Lowest cost of an hour.", default=Decimal(45), demo=True)
    likely: Amount = spec("Likely", "Likely cost of an hour.", default=Decimal(55), demo=True)
    high: Amount = spec("High", "Highest cost of an hour.", default=Decimal(70), demo=True)


class Terms(Frozen):
    """How the price is made and what the quote promises."""

    currency: Annotated[str, Field(max_length=12), AfterValidator(_known_currency)] = spec(
        "Currency", "Three letters of ISO 4217; the price book's figures are in it.", default="USD"
    )
    locale: Annotated[str, Field(max_length=20, pattern=r"^[A-Za-z]{2,3}(_[A-Za-z0-9]+)*$")] = spec(
        "Number format",
        "Locale that money and dates are written in, such as en_US or de_DE.",
        default="en_US",
    )
    rule: PriceRule = spec(
        "Price rule", "Markup is a share of cost, margin a share of price.", default=PriceRule.MARGIN
    )
    rule_percent: Annotated[Decimal, Field(ge=0, le=1000, max_digits=8, decimal_places=4)] = spec(
        "Markup or margin",
        "Percent for the chosen rule; a margin must be below 100 %.",
        default=Decimal(35),
        unit="%",
        demo=True,
    )
    contingency_percent: Percent = spec(
        "Contingency", "Added to cost for what is not known yet.", default=Decimal(5), unit="%", demo=True
    )
    discount_percent: Percent = spec(
        "Discount", "Taken off the sum of rows and contingency.", default=Decimal(0), unit="%"
    )
    tax_name: ShortText = spec("Tax name", "What the tax is called on the paper.", default="Sales tax")
    tax_percent: Percent = spec("Tax", "Rate on taxable rows.", default=Decimal(0), unit="%")
    labour_taxable: bool = spec("Labour is taxable", "Whether the tax applies to labour too.", default=False)
    labour: LabourRate = spec("Labour rate", "Cost of an installer's hour.", default=LabourRate())
    validity: Annotated[Quantity, Measure(Dimension.TIME, "1 day", "3650 days")] = spec(
        "Valid for", "From the date of the quote.", default="30 days"
    )
    assumptions: tuple[LongText, ...] = spec("Assumptions", "Printed on the quote, one a line.", default=())
    exclusions: tuple[LongText, ...] = spec("Exclusions", "Printed on the quote, one a line.", default=())
