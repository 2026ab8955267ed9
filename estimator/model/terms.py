"""Commercial terms of a quote."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from estimator.model.amounts import Currency, check_order
from estimator.model.choices import ContingencyBasis, ExtraKind, PriceBasis, PriceRule, Section
from estimator.model.left_out import LeftOut
from estimator.model.spec import Amount, Frozen, Identifier, LongText, Percent, ShortText, spec
from estimator.units import Dimension, Measure, Quantity

__all__ = ["Confidence", "ExtraRow", "LabourRate", "SectionRule", "Stage", "TaxRate", "Terms"]

Confidence = Annotated[Decimal, Field(ge=1, le=99, max_digits=5, decimal_places=2)]
RulePercent = Annotated[Decimal, Field(ge=0, le=1000, max_digits=8, decimal_places=4)]


class LabourRate(Frozen):
    """Cost of an installer's hour, as a range."""

    low: Amount = spec("Low", "Lowest cost of an hour.", default=Decimal(45), demo=True)
    likely: Amount = spec("Likely", "Likely cost of an hour.", default=Decimal(55), demo=True)
    high: Amount = spec("High", "Highest cost of an hour.", default=Decimal(70), demo=True)


class SectionRule(Frozen):
    """Markup or margin of one section of the quote, in place of the job's own."""

    section: Section = spec("Section", "Section of the quote.", default=Section.PLANT)
    rule: PriceRule = spec(
        "Price rule", "Markup is a share of cost, margin a share of price.", default=PriceRule.MARGIN
    )
    percent: RulePercent = spec(
        "Markup or margin",
        "Percent for the chosen rule; a margin must be below 100 %.",
        default=Decimal(35),
        unit="%",
        demo=True,
    )

    @model_validator(mode="after")
    def _below_whole(self) -> Self:
        if self.rule is PriceRule.MARGIN and self.percent >= 100:
            raise PydanticCustomError("margin", "A margin is a share of the price and must be below 100 %.")
        return self


class ExtraRow(Frozen):
    """A row of the quote that is no part of the system, as a cost range."""

    kind: ExtraKind = spec("Kind", "What it is for.", default=ExtraKind.FREIGHT)
    description: ShortText = spec("Description", "As it is printed; the kind if left out.", default="")
    low: Amount = spec("Low", "Lowest cost.", default=Decimal(0))
    likely: Amount = spec("Likely", "Likely cost.", default=Decimal(0))
    high: Amount = spec("High", "Highest cost.", default=Decimal(0))
    taxable: bool = spec("Taxable", "Whether tax applies.", default=False)
    tax: ShortText = spec(
        "Tax rate", "Id of one of the further tax rates; empty for the main rate.", default=""
    )

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        check_order(self.description or self.kind.label, self.low, self.likely, self.high)
        return self


class TaxRate(Frozen):
    """A tax rate besides the main one."""

    id: Identifier = spec("Id", "Short name that parts refer to; letters, digits and hyphens.")
    name: ShortText = spec("Tax name", "What the tax is called on the paper.", default="")
    percent: Percent = spec("Tax", "Rate on the rows that refer to it.", default=Decimal(0), unit="%")


class Stage(Frozen):
    """One payment, as a share of the total to pay."""

    name: ShortText = spec("Stage", "When it is due, such as with the order.", default="")
    percent: Percent | None = spec(
        "Share",
        "Percent of the total; left out, the rest that the other stages leave.",
        default=None,
        unit="%",
    )


class Terms(Frozen):
    """How the price is made and what the quote promises."""

    currency: Currency = spec(
        "Currency", "Three letters of ISO 4217; the price book's figures are in it.", default="USD"
    )
    locale: Annotated[str, Field(max_length=20, pattern=r"^[A-Za-z]{2,3}(_[A-Za-z0-9]+)*$")] = spec(
        "Number format",
        "Locale by which numbers, dates and money are written, such as en_US or de_DE; the words are English.",
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
    price_basis: PriceBasis = spec(
        "Firm price from",
        "Likely cost, the cost that a confidence asks for, or a price typed by hand.",
        default=PriceBasis.LIKELY,
    )
    basis_confidence: Confidence = spec(
        "Price confidence",
        "Chance that cost stays under what the price is made from; used by the basis of that name.",
        default=Decimal(80),
        unit="%",
    )
    typed_price: Amount | None = spec(
        "Typed price",
        "Rows and contingency together, before discount and tax; used by the basis of that name.",
        default=None,
    )
    section_rules: Annotated[tuple[SectionRule, ...], Field(max_length=20)] = spec(
        "Sections of their own rule", "Markup or margin of single sections.", default=()
    )
    contingency_basis: ContingencyBasis = spec(
        "Contingency from",
        "A percent of the rows, or the gap from the cost in the price to the cost at a confidence.",
        default=ContingencyBasis.PERCENT,
    )
    contingency_confidence: Confidence = spec(
        "Contingency confidence",
        "Confidence whose cost the contingency reaches; used by the basis of that name.",
        default=Decimal(80),
        unit="%",
    )
    least_margin_percent: Percent = spec(
        "Least margin",
        "Share of the net price; a discount or a typed price that leaves less is told.",
        default=Decimal(20),
        unit="%",
        demo=True,
    )
    extras: Annotated[tuple[ExtraRow, ...], Field(max_length=60)] = spec(
        "Freight, travel and fees", "Rows that are no part of the system.", default=()
    )
    tax_name: ShortText = spec("Tax name", "What the tax is called on the paper.", default="Sales tax")
    tax_percent: Percent = spec("Tax", "Rate on taxable rows.", default=Decimal(0), unit="%")
    more_taxes: Annotated[tuple[TaxRate, ...], Field(max_length=20)] = spec(
        "Further tax rates", "Rates that single parts refer to by id.", default=()
    )
    labour_taxable: bool = spec("Labour is taxable", "Whether the tax applies to labour too.", default=False)
    labour: LabourRate = spec("Labour rate", "Cost of an installer's hour.", default=LabourRate())
    round_to: Amount = spec(
        "Round total to",
        "Step that the total is rounded to, as a row of its own; 0 for none.",
        default=Decimal(0),
    )
    stages: Annotated[tuple[Stage, ...], Field(max_length=20)] = spec(
        "Payments", "Deposit and stages; together they are the total, to the cent.", default=()
    )
    stale_after: Annotated[Quantity, Measure(Dimension.TIME, "1 day", "36500 days")] = spec(
        "Prices are old after", "Age at which a price is told as old.", default="365 days"
    )
    validity: Annotated[Quantity, Measure(Dimension.TIME, "1 day", "3650 days")] = spec(
        "Valid for", "From the date of the quote.", default="30 days"
    )
    lead_time: Annotated[Quantity, Measure(Dimension.TIME, "1 day", "1000 days")] | None = spec(
        "Lead time", "From the order to the first day of work on site.", default=None
    )
    payment_terms: LongText = spec(
        "Payment terms", "How and when a payment is made; printed if given.", default=""
    )
    change_orders: LongText = spec(
        "Change orders", "How a change after the order is agreed and charged; printed if given.", default=""
    )
    warranty: LongText = spec(
        "Warranty", "What the company stands for and how long; printed if given.", default=""
    )
    insurance: LongText = spec("Insurance", "What the company is insured for; printed if given.", default="")
    assumptions: Annotated[tuple[LongText, ...], Field(max_length=200)] = spec(
        "Assumptions", "Printed on the quote, one a line.", default=()
    )
    left_out: Annotated[tuple[LeftOut, ...], Field(max_length=len(LeftOut))] = spec(
        "Left to others",
        "Usual exclusions, printed on the quote before your own. Backflow protection and permits are held against what "
        "the quote sells; of the others it sells nothing.",
        default=tuple(LeftOut),
    )
    exclusions: Annotated[tuple[LongText, ...], Field(max_length=200)] = spec(
        "Exclusions", "Your own, printed on the quote, one a line; nothing is held against them.", default=()
    )
