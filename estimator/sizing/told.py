"""What sizing speaks of, as facts: pressures, flows and the objects of a line."""

from __future__ import annotations

import math
from typing import Final

from estimator.hydraulics.limits import OutOfRange
from estimator.model.finding import Amount, Kind, Listed, Number, Phrase, Ref, facts
from estimator.units import Dimension

__all__ = [
    "drop",
    "flow",
    "length",
    "others",
    "out_of_range",
    "pressure",
    "product",
    "segment",
    "share",
    "speed",
]

_UNITS: Final = {
    "K": Dimension.TEMPERATURE,
    "Pa": Dimension.PRESSURE,
    "m3/s": Dimension.FLOW,
    "m": Dimension.LENGTH,
}


def pressure(si: float, places: int = 2) -> Amount:
    """A pressure [Pa]."""
    return Amount(si, Dimension.PRESSURE, places)


def flow(si: float, places: int = 2) -> Amount:
    """A flow [m3/s]."""
    return Amount(si, Dimension.FLOW, places)


def length(si: float) -> Amount:
    """A length [m]."""
    return Amount(si, Dimension.LENGTH, 0)


def speed(si: float) -> Amount:
    """A velocity [m/s]."""
    return Amount(si, Dimension.VELOCITY, 1)


def share(value: float, places: int = 0) -> Number:
    """A share as percent."""
    return Number(100.0 * value, places, "%")


def drop(key: str) -> Ref:
    """A drop."""
    return Ref(Kind.DROP, key)


def product(key: str) -> Ref:
    """A product."""
    return Ref(Kind.PRODUCT, key)


def segment(key: str, line: str) -> Ref:
    """A segment of a line."""
    return Ref(Kind.SEGMENT, key, line)


def others(rivals: tuple[str, ...]) -> Phrase:
    """The other drops that are open in a design case; nothing where there are none."""
    if not rivals:
        return Phrase("")
    return Phrase(" with {drops} open too", facts(drops=Listed(tuple(drop(key) for key in rivals))))


def out_of_range(error: OutOfRange) -> Phrase:
    """What is outside the range in which the physics has an answer."""
    dimension = _UNITS.get(error.unit)
    if dimension is None or not math.isfinite(error.low) or not math.isfinite(error.high):
        return Phrase("{error}", facts(error=str(error)))
    return Phrase(
        "{value} is outside {low} to {high}, and nothing is known there",
        facts(
            value=Amount(error.value, dimension),
            low=Amount(error.low, dimension),
            high=Amount(error.high, dimension),
        ),
    )
