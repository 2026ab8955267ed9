"""What happened to a row of a price, in words."""

from __future__ import annotations

from estimator.pricing.compare import ChangeKind, RowChange
from estimator.shown.figures import Figures

__all__ = ["quantity_words", "row_change_words"]


def quantity_words(change: RowChange, figures: Figures) -> tuple[str, str]:
    """How much there was and is, in the units and the number format of the job."""
    before, after = (
        " ".join(filter(None, figures.quantity(float(quantity), change.unit)))
        for quantity in (change.quantity_before, change.quantity_after)
    )
    return before, after


def row_change_words(change: RowChange, figures: Figures) -> str:
    """A sentence without money."""
    name = f"{change.description}, {change.detail}" if change.detail else change.description
    old, new = quantity_words(change, figures)
    if change.kind is ChangeKind.ADDED:
        return f"{name}: added, {new}."
    if change.kind is ChangeKind.REMOVED:
        return f"{name}: removed, {old}."
    return f"{name}: {old} → {new}." if old != new else f"{name}: the price changed."
