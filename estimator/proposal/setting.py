"""The settings of a regulator that a person can read on its gauge: 0.1 bar apart, 1 psi apart in a job in US units."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal

from estimator.proposal.bounds import SLACK_PA
from estimator.sizing import rules
from estimator.units import Dimension, UnitSystem, default_places, parse, preferred_unit, to_unit

__all__ = ["Gauge", "gauge_of"]

_STEP = {UnitSystem.METRIC: Decimal("0.1"), UnitSystem.US: Decimal(1)}


@dataclass(frozen=True, slots=True)
class Gauge:
    """The gauge of a regulator.

    Attributes:
        unit: what it is read in.
        step: from one setting to the next, in that unit.
        step_pa: the same [Pa].
    """

    unit: str
    step: Decimal
    step_pa: float
    _places: int

    def highest(self, most_pa: float) -> float:
        """The highest setting [Pa] that is not above a pressure; 0 or less where there is none."""
        top = math.floor((most_pa + SLACK_PA) / self.step_pa) * self.step_pa
        return top - self.step_pa if rules.above(top, most_pa) else top

    def lowest(self, least_pa: float) -> float:
        """The lowest setting [Pa] that is not below a pressure, one step at least."""
        return max(1, math.ceil((least_pa - SLACK_PA) / self.step_pa)) * self.step_pa

    @property
    def margin(self) -> int:
        """Steps either side of a setting that a gauge may be wrong by.

        >>> gauge_of(UnitSystem.METRIC).margin, gauge_of(UnitSystem.US).margin
        (3, 4)
        """
        return math.ceil(rules.SETTING_MARGIN_PA / self.step_pa)

    def steps(self, pressure_pa: float) -> int:
        """How many steps a setting is, to the nearest."""
        return round(pressure_pa / self.step_pa)

    def text(self, pressure_pa: float) -> str:
        """A setting as a person types it.

        >>> gauge_of(UnitSystem.METRIC).text(340000.0), gauge_of(UnitSystem.METRIC).text(345000.0)
        ('3.4 bar', '3.45 bar')
        >>> gauge_of(UnitSystem.US).text(50 * 6894.757293168362)
        '50 psi'
        """
        value = Decimal(repr(to_unit(pressure_pa, Dimension.PRESSURE, self.unit)))
        exact = value.quantize(Decimal(1).scaleb(-self._places - 1), ROUND_HALF_EVEN)
        least = self.step if exact == exact.quantize(self.step) else exact.normalize()
        return f"{exact.quantize(least):f} {self.unit}"


def gauge_of(system: UnitSystem) -> Gauge:
    """The gauge that a job in these units is set with."""
    unit = preferred_unit(Dimension.PRESSURE, system)
    step = _STEP[system]
    places = default_places(Dimension.PRESSURE, system)
    return Gauge(unit, step, parse(f"{step} {unit}", Dimension.PRESSURE).si, places)
