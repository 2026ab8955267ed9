"""How a quote is printed: nothing of it moves what is paid."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

from pydantic import Field

from estimator.model.spec import Frozen, spec
from estimator.units import Dimension, Measure, Quantity

__all__ = ["LabelSheet", "Presentation", "TotalsBy"]


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


class LabelSheet(Frozen):
    """A sheet of labels: a plain grid in the middle of the page."""

    columns: Annotated[int, Field(ge=1, le=10)] = spec("Columns", "Labels side by side.", default=2)
    rows: Annotated[int, Field(ge=1, le=30)] = spec("Rows", "Labels from top to bottom.", default=5)
    width: Annotated[Quantity, Measure(Dimension.LENGTH, "10 mm", "400 mm")] = spec(
        "Label width", "Of one label, as it is cut.", default="90 mm"
    )
    height: Annotated[Quantity, Measure(Dimension.LENGTH, "8 mm", "400 mm")] = spec(
        "Label height", "Of one label, as it is cut.", default="50 mm"
    )
    gap_across: Annotated[Quantity, Measure(Dimension.LENGTH, "0 mm", "100 mm")] = spec(
        "Gap across", "Between two labels side by side.", default="5 mm"
    )
    gap_down: Annotated[Quantity, Measure(Dimension.LENGTH, "0 mm", "100 mm")] = spec(
        "Gap down", "Between two labels above each other.", default="5 mm"
    )


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
    labels: LabelSheet = spec(
        "Labels",
        "The sheet that labels for containers, tanks and lines are printed on.",
        default=LabelSheet(),
    )
