"""Eyewash and drench shower: whether one is there, where, and what feeds it."""

from __future__ import annotations

from typing import Annotated

from estimator.model.choices import Answer
from estimator.model.spec import Frozen, spec
from estimator.units import Dimension, Measure, Quantity

__all__ = ["Washing"]

_D = Dimension


class Washing(Frozen):
    """What the eyewash of the design is like; without one, where the next one hangs is asked."""

    shower: bool = spec(
        "Drench shower", "Quote a shower beside the eyewash; needed where skin can be burnt.", default=False
    )
    stays: bool = spec(
        "Eyewash stays",
        "Eyewash, and the shower where there is one, hang there already: counted in the design, not priced.",
        default=False,
    )
    x: Annotated[Quantity, Measure(_D.LENGTH, "0 m", "500 m")] | None = spec(
        "Eyewash from the west wall", "Its place on the plan; the way to it is measured there.", default=None
    )
    y: Annotated[Quantity, Measure(_D.LENGTH, "0 m", "500 m")] | None = spec(
        "Eyewash from the south wall", "Its place on the plan; the way to it is measured there.", default=None
    )
    water: Annotated[Quantity, Measure(_D.TEMPERATURE, "0 °C", "95 °C")] | None = spec(
        "Rinse water",
        "Temperature of the water that eyewash and shower give; it must be tepid.",
        default=None,
    )
    ahead: Answer = spec(
        "Fed ahead of the backflow protection",
        "Eyewash and shower are fed by drinking water that branches off before the dispenser's backflow protection.",
        default=Answer.NOT_KNOWN,
    )
