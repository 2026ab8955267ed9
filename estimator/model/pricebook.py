"""The price book: what each part costs, as a range, with where the figure comes from."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Annotated, Final, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from estimator.model.amounts import Currency, check_order
from estimator.model.spec import Amount, Frozen, ShortText, spec

__all__ = ["MOST_ENTRIES", "PinnedPrices", "PriceBook", "PriceEntry", "is_demo_source"]

MOST_ENTRIES: Final = 20_000
_DEMO_SOURCE: Final = "invented demo figure, inside common practice"

Code = Annotated[str, Field(min_length=2, max_length=24, pattern=r"^[A-Z][A-Z0-9-]*$")]


def is_demo_source(source: object) -> bool:
    """Whether an entry without a mark is one of the demo price book, which states this very source."""
    return source == _DEMO_SOURCE


class PriceEntry(Frozen):
    """One part."""

    code: Code = spec("Code", "Capital letters, digits and hyphens.")
    description: ShortText = spec("Description", "As it is printed on the quote.")
    group: ShortText = spec("Group", "Section of the price book.", default="")
    unit: ShortText = spec("Unit of sale", "each, m, set.", default="each")
    low: Amount = spec("Low", "Lowest cost of one unit.", default=Decimal(0))
    likely: Amount = spec("Likely", "Likely cost of one unit.", default=Decimal(0))
    high: Amount = spec("High", "Highest cost of one unit.", default=Decimal(0))
    taxable: bool = spec("Taxable", "Whether tax applies.", default=True)
    labour_minutes: Annotated[Decimal, Field(ge=0, le=100_000, max_digits=10, decimal_places=3)] = spec(
        "Labour", "Minutes to install one unit.", default=Decimal(0), unit="min"
    )
    source: ShortText = spec("Source", "Where the figure comes from.", default="")
    dated: date | None = spec("Date", "When the figure was taken.", default=None)
    correlation: ShortText = spec(
        "Moves with", "Name of the shared cause (supplier, crew) it moves with.", default=""
    )
    tax: ShortText = spec(
        "Tax rate", "Id of one of the terms' further tax rates; empty for the main rate.", default=""
    )

    demo: bool = spec(
        "Demo figure",
        "An invented figure of the demo price book; the quote says that it binds nobody.",
        default=False,
    )

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        check_order(self.code, self.low, self.likely, self.high)
        return self


class PriceBook(Frozen):
    """All prices, in one currency."""

    currency: Currency = spec("Currency", "Three letters of ISO 4217.", default="USD")
    entries: Annotated[tuple[PriceEntry, ...], Field(max_length=MOST_ENTRIES)] = spec(
        "Entries", "One a code.", default=()
    )

    @model_validator(mode="after")
    def _unique(self) -> Self:
        seen: set[str] = set()
        for entry in self.entries:
            if entry.code in seen:
                raise PydanticCustomError(
                    "duplicate_code",
                    "{reason}",
                    {"reason": f"The code “{entry.code}” stands twice; codes must differ."},
                )
            seen.add(entry.code)
        return self

    def entry(self, code: str) -> PriceEntry | None:
        """The entry of that code, None if the book has none."""
        return next((e for e in self.entries if e.code == code), None)


class PinnedPrices(PriceBook):
    """The prices a job was worked out with: a newer price book changes nothing until they are taken anew."""

    taken: date = spec("Taken", "Day on which the prices were taken from the price book.")
