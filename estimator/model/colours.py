"""Colours of the lines: which one a new product gets, and which tube each line of a design is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Final

from estimator.model.choices import LineColour
from estimator.model.design import AIR, Design

__all__ = ["AIR_COLOUR", "free_colour", "line_colours"]

AIR_COLOUR: Final = "grey"
"""Compressed air's own; no product can have it."""


def free_colour(taken: Sequence[LineColour], position: int) -> LineColour:
    """The colour for a product that comes in before that position: not its neighbours', and the least used.

    >>> free_colour([LineColour.BLUE, LineColour.ORANGE], 2).value
    'green'
    >>> free_colour([*LineColour, *LineColour], 1) in (list(LineColour)[0], list(LineColour)[1])
    False
    """
    beside = taken[max(position - 1, 0) : position + 1]
    uses = Counter(taken)
    order = list(LineColour)
    return min(order, key=lambda colour: (colour in beside, uses[colour], order.index(colour)))


def line_colours(design: Design) -> dict[str, str]:
    """Service id -> name of its line's colour: products in order, compressed air last."""
    return {**{product.id: product.colour.value for product in design.products}, AIR: AIR_COLOUR}
