"""The conditions that a free air figure is stated at, in words."""

from __future__ import annotations

from collections.abc import Iterable

from estimator.hydraulics.air_reference import REFERENCES
from estimator.model.choices import AirReference
from estimator.shown.figures import Figures
from estimator.units import Dimension

__all__ = ["air_choices", "free_air_at"]

_PLACES = 5
"""Decimals of bar that tell one standard atmosphere from another."""


def free_air_at(reference: AirReference, figures: Figures) -> str:
    """Name and conditions.

    >>> from estimator.units import UnitSystem
    >>> free_air_at(AirReference.NORMAL, Figures("en_US", "USD", UnitSystem.METRIC)).replace("\\xa0", " ")
    'Normal, DIN 1343: 1.01325 bar absolute, 0 °C, dry'
    """
    at = REFERENCES[reference.value]
    pressure = figures.amount(at.pressure_pa, Dimension.PRESSURE, _PLACES)
    temperature = figures.amount(at.temperature_k, Dimension.TEMPERATURE)
    humidity = f"{figures.number(100 * at.relative_humidity, 0)}\u00a0% humidity"
    wet = humidity if at.relative_humidity else "dry"
    return f"{reference.label}: {pressure} absolute, {temperature}, {wet}"


def air_choices(choices: Iterable[tuple[str, str]], figures: Figures) -> tuple[tuple[str, str], ...]:
    """The choices of the reference conditions with their figures.

    Args:
        choices: key and name of each.
    """
    return tuple((key, free_air_at(AirReference(key), figures)) for key, _ in choices)
