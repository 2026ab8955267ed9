"""The highest pressure of the compressed air line: what its own regulator is set to, else the compressor's cut-out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from estimator.model.design import AIR, LinePlan
from estimator.model.site import AirSupply
from estimator.units import Quantity

__all__ = ["HighestAir", "highest_air"]


@dataclass(frozen=True, slots=True)
class HighestAir:
    """The highest pressure of the air line.

    Attributes:
        pressure: gauge, as it was typed.
        regulated: it is the setting of the line's own regulator.
        place: where that stands in a job.
    """

    pressure: Quantity
    regulated: bool
    place: str


def highest_air(air: AirSupply, lines: Sequence[LinePlan]) -> HighestAir:
    """Of an air line at rest; a regulator gives no more than the compressor.

    Args:
        air: the compressor.
        lines: what was decided about lines; of two for air the first counts.
    """
    for at, plan in enumerate(lines):
        if plan.service != AIR:
            continue
        if plan.regulator is not None and plan.regulator.si < air.pressure.si:
            return HighestAir(plan.regulator, True, f"design.lines.{at}.regulator")
        break
    return HighestAir(air.pressure, False, "site.air.pressure")
