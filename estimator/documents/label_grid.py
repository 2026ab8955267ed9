"""Where the labels of a sheet lie: a plain grid in the middle of the page, or why it does not fit there."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from estimator.documents.refused import QuoteError
from estimator.documents.sheet import PageSize
from estimator.model.finding import Finding, Severity
from estimator.model.presentation import LabelSheet
from estimator.units import UnitSystem

__all__ = ["LabelGrid", "label_grid", "length_words"]

_POINTS_A_METRE: Final = 72.0 / 0.0254
_SLACK: Final = 0.5
"""Points by which a sheet may be too large: half of what a rule shows."""


def length_words(points: float, system: UnitSystem) -> str:
    """A length on paper as one reads it from a rule.

    >>> length_words(72.0, UnitSystem.METRIC), length_words(72.0, UnitSystem.US)
    ('25.4 mm', '1.00 in')
    """
    inches = points / 72.0
    return f"{inches:.2f} in" if system is UnitSystem.US else f"{inches * 25.4:.1f} mm"


@dataclass(frozen=True, slots=True)
class LabelGrid:
    """A grid of labels on a page, in points."""

    page: PageSize
    columns: int
    rows: int
    width: float
    height: float
    gap_across: float
    gap_down: float

    @property
    def wide(self) -> float:
        """Of all columns."""
        return self.columns * self.width + (self.columns - 1) * self.gap_across

    @property
    def high(self) -> float:
        """Of all rows."""
        return self.rows * self.height + (self.rows - 1) * self.gap_down

    def corners(self) -> Iterator[tuple[float, float]]:
        """Left and bottom of each label, row by row from the top left."""
        left, top = (self.page.width - self.wide) / 2, (self.page.height + self.high) / 2
        for row in range(self.rows):
            for column in range(self.columns):
                yield (
                    left + column * (self.width + self.gap_across),
                    top - self.height - row * (self.height + self.gap_down),
                )


def label_grid(typed: LabelSheet, page: PageSize, system: UnitSystem) -> LabelGrid:
    """The grid of a sheet.

    Args:
        typed: from the job.
        page: that it is printed on.
        system: units of what is told.

    Raises:
        QuoteError: it is larger than the page.
    """
    sides = (typed.width, typed.height, typed.gap_across, typed.gap_down)
    grid = LabelGrid(page, typed.columns, typed.rows, *(side.si * _POINTS_A_METRE for side in sides))
    found = []
    for place, name, needed, has, count in (
        ("width", "Label width", grid.wide, page.width, f"{grid.columns} columns"),
        ("height", "Label height", grid.high, page.height, f"{grid.rows} rows"),
    ):
        if needed > has + _SLACK:
            message = (
                f"Presentation, Labels, {name}: {count} with their gaps need {length_words(needed, system)}, and a "
                f"page of {page.name} has {length_words(has, system)}. Type what the sheet of labels has."
            )
            found.append(Finding(Severity.ERROR, f"presentation.labels.{place}", "paper-labels", message))
    if found:
        raise QuoteError(tuple(found))
    return grid
