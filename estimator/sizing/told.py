"""What sizing speaks of, as facts: pressures, flows and the objects of a line."""

from __future__ import annotations

import math
from typing import Final

from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.network_errors import ConvergenceError, NetworkError
from estimator.model.finding import Amount, Fact, IdKind, Listed, Number, Phrase, Ref, facts
from estimator.units import Dimension

__all__ = [
    "about",
    "drop",
    "excess",
    "flow",
    "length",
    "not_solved",
    "others",
    "out_of_range",
    "pressure",
    "product",
    "seconds",
    "segment",
    "share",
    "speed",
]

_UNITS: Final = {
    "K": Dimension.TEMPERATURE,
    "Pa": Dimension.PRESSURE,
    "m3/s": Dimension.FLOW,
    "m": Dimension.LENGTH,
    "m3": Dimension.VOLUME,
    "Pa s": Dimension.VISCOSITY,
    "rad": Dimension.ANGLE,
    "s": Dimension.TIME,
}
_PLACES: Final = 3
"""Decimals of a number whose unit is the same everywhere."""


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


def seconds(si: float) -> Amount:
    """A time [s]."""
    return Amount(si, Dimension.TIME, 0)


def share(value: float, places: int = 0) -> Number:
    """A share as percent."""
    return Number(100.0 * value, places, "%")


def about(value: float) -> Number:
    """A share as percent that is only known about: a decimal where it is small.

    >>> about(0.004).places, about(0.31).places
    (1, 0)
    """
    return share(value, 1 if value < 0.02 else 0)


def excess(ratio: float) -> Number | Phrase:
    """How far something is off as percent; beyond ten times the figure itself tells nobody anything (and may be
    more than a number can hold), so that much is said and no more.

    >>> excess(0.25).value
    25.0
    """
    most = 10.0
    return share(ratio) if ratio <= most else Phrase("more than {most}", facts(most=share(most)))


def drop(key: str) -> Ref:
    """A drop."""
    return Ref(IdKind.DROP, key)


def product(key: str) -> Ref:
    """A product."""
    return Ref(IdKind.PRODUCT, key)


def segment(key: str, line: str) -> Ref:
    """A segment of a line."""
    return Ref(IdKind.SEGMENT, key, line)


def others(rivals: tuple[str, ...]) -> Phrase:
    """The other drops that are open in a design case; nothing where there are none."""
    if not rivals:
        return Phrase("")
    return Phrase(" with {drops} open too", facts(drops=Listed(tuple(drop(key) for key in rivals))))


def out_of_range(error: OutOfRange) -> Phrase:
    """What is outside the range in which the physics has an answer."""
    value = _told(error.value, error.unit) if math.isfinite(error.value) else "what is not a number"
    hint = f"; {error.hint}" if error.hint else ""
    low, high = (_told(end, error.unit) for end in (error.low, error.high))
    if math.isfinite(error.low) and math.isfinite(error.high):
        sentence = f"{{value}} is outside {{low}} to {{high}}, and nothing is known there{hint}"
        return Phrase(sentence, facts(value=value, low=low, high=high))
    if math.isfinite(error.low):
        enough = "more than {low}" if error.open_low else "{low} or more"
        return Phrase(f"{{value}} is too little; {enough} would be right{hint}", facts(value=value, low=low))
    return Phrase(f"{{value}} is no finite number{hint}", facts(value=value))


def _told(value: float, unit: str) -> Fact:
    dimension = _UNITS.get(unit)
    if dimension is not None:
        return Amount(value, dimension)
    return Number(value, _PLACES, "" if unit == "-" else f"\u00a0{unit}")


def not_solved(error: NetworkError) -> Fact:
    """Why a line has no answer."""
    if isinstance(error, ConvergenceError):
        return Phrase(
            "no balance of flow and pressure was found; {out} are still open",
            facts(out=Amount(error.residual_pa, Dimension.PRESSURE)),
        )
    return str(error)
