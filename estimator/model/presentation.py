"""How a quote is printed: nothing of it moves what is paid."""

from __future__ import annotations

from enum import StrEnum

from estimator.model.spec import Frozen, spec

__all__ = ["Presentation", "TotalsBy"]


class TotalsBy(StrEnum):
    """What the sum of the items is told by."""

    SECTION = "section"
    SIDE = "side"
    PRODUCT = "product"

    @property
    def label(self) -> str:
        """The words a person reads."""
        return {
            TotalsBy.SECTION: "Section of the quote",
            TotalsBy.SIDE: "Bay side",
            TotalsBy.PRODUCT: "Product",
        }[self]


class Presentation(Frozen):
    """What of the price is shown, and how it is summed up."""

    unit_prices: bool = spec(
        "Unit prices", "A column with the price of one beside that of the row.", default=True
    )
    totals_by: TotalsBy = spec(
        "Totals by",
        "What the sum of the items is told by; what serves several sides or products is a row of its own.",
        default=TotalsBy.SECTION,
    )
    fold_allowance: bool = spec(
        "Allowance in the rows",
        "The contingency is shared over the prices of the rows and has no row of its own; the total stays.",
        default=False,
    )
