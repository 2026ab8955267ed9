"""How parts are sold: coils of tube, stock lengths of strut, packs of small parts.

What is in `resources/stock.json` is generic demo data, marked as such there. A part that is not in it is sold by
the piece or cut to length.
"""

from __future__ import annotations

from decimal import Decimal
from functools import lru_cache
from typing import Annotated, Self

from pydantic import Field, model_validator

from estimator.model.spec import Frozen
from estimator.shipped import shipped

__all__ = ["BarStock", "CoilStock", "LengthSize", "PackSize", "PackStock", "StockBook", "stock_book"]

Factor = Annotated[Decimal, Field(gt=0, le=100)]


class LengthSize(Frozen):
    """A length that is sold. Its price is length x cost of a metre in the price book x factor."""

    length_m: Annotated[float, Field(gt=0, le=1000, allow_inf_nan=False)]
    price_factor: Factor = Decimal(1)


class PackSize(Frozen):
    """A pack. Its price is count x cost of one in the price book x factor."""

    count: Annotated[int, Field(ge=1, le=100_000)]
    price_factor: Factor = Decimal(1)


class CoilStock(Frozen):
    """Price book codes that are sold in coils."""

    codes: tuple[str, ...]
    sizes: Annotated[tuple[LengthSize, ...], Field(min_length=1)]


class BarStock(CoilStock):
    """Price book codes that are sold in stock lengths and sawn; `kerf_mm` is the width of the saw cut."""

    kerf_mm: Annotated[float, Field(ge=0, le=50, allow_inf_nan=False)]


class PackStock(Frozen):
    """Price book codes that are sold in packs."""

    codes: tuple[str, ...]
    sizes: Annotated[tuple[PackSize, ...], Field(min_length=1)]


class StockBook(Frozen):
    """All stock sizes; a code stands in one place only."""

    note: str = ""
    coils: tuple[CoilStock, ...] = ()
    bars: tuple[BarStock, ...] = ()
    packs: tuple[PackStock, ...] = ()

    @model_validator(mode="after")
    def _once(self) -> Self:
        seen: set[str] = set()
        tables = [stock.codes for stock in (*self.coils, *self.bars)] + [stock.codes for stock in self.packs]
        for code in (code for codes in tables for code in codes):
            if code in seen:
                raise ValueError(f"{code}: stands twice; a code is sold in one way.")
            seen.add(code)
        return self

    def coils_of(self, code: str) -> CoilStock | None:
        """Coils of that code, None if it is not sold in coils."""
        return next((stock for stock in self.coils if code in stock.codes), None)

    def bars_of(self, code: str) -> BarStock | None:
        """Stock lengths of that code, None if it is not sold in bars."""
        return next((stock for stock in self.bars if code in stock.codes), None)

    def packs_of(self, code: str) -> PackStock | None:
        """Packs of that code, None if it is not sold in packs."""
        return next((stock for stock in self.packs if code in stock.codes), None)


@lru_cache(maxsize=1)
def stock_book() -> StockBook:
    """The shipped stock sizes, checked on first use."""
    text = shipped("stock.json").read_text(encoding="utf-8")
    return StockBook.model_validate_json(text)
