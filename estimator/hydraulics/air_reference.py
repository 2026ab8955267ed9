"""Conditions that a free air figure is stated at.

Apart from `air`, which computes with arrays: whoever only words them needs none of that.

References:
    ISO 8778 (ANR); two readings of scfm; DIN 1343 (normal). See `air`, source [1].
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from estimator.hydraulics.limits import above_zero, within

PSI_PA: Final = 6894.757293168
"""1 psi in Pa."""
TEMPERATURE_RANGE_K: Final = (233.15, 373.15)
"""Air temperature taken, K."""


@dataclass(frozen=True, slots=True)
class FreeAirReference:
    """Conditions that a free air figure is stated at: pressure [Pa absolute], temperature [K], humidity
    [-]."""

    key: str
    pressure_pa: float
    temperature_k: float
    relative_humidity: float

    def __post_init__(self) -> None:
        """Raises OutOfRange naming the field."""
        above_zero("reference pressure_pa", self.pressure_pa, "Pa")
        within("reference temperature_k", self.temperature_k, *TEMPERATURE_RANGE_K, "K")
        within("reference relative_humidity", self.relative_humidity, 0.0, 1.0, "-")


ANR: Final = FreeAirReference("anr", 100e3, 293.15, 0.65)
SCFM_60F: Final = FreeAirReference("scfm-60f", 14.696 * PSI_PA, 288.15 + 5.0 / 9.0, 0.0)
SCFM_68F: Final = FreeAirReference("scfm-68f", 14.5 * PSI_PA, 293.15, 0.0)
NORMAL: Final = FreeAirReference("normal", 101325.0, 273.15, 0.0)
REFERENCES: Final = {reference.key: reference for reference in (ANR, SCFM_60F, SCFM_68F, NORMAL)}
"""Reference conditions by key: ISO 8778, two readings of scfm, DIN 1343."""
