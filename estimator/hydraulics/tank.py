"""A day tank: its volume, and the levels between which it is filled."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from estimator.hydraulics.limits import OutOfRange, above_zero, within, zero_or_more

START_FRACTION: Final = 0.7
"""Level at which filling starts, share of the tank; generic demo data."""
STOP_FRACTION: Final = 0.95
"""Level at which filling stops, share of the tank; generic demo data."""


@dataclass(frozen=True, slots=True)
class TankLevels:
    """A tank: volume [m3], levels as volumes left [m3] at which filling starts and stops; 0 <= start < stop
    <= volume."""

    volume_m3: float
    fill_start_m3: float
    fill_stop_m3: float

    def __post_init__(self) -> None:
        """Raises OutOfRange naming the field."""
        above_zero("tank volume_m3", self.volume_m3, "m3")
        within("tank fill_stop_m3", self.fill_stop_m3, 0.0, self.volume_m3, "m3", "not above the tank's rim")
        zero_or_more("tank fill_start_m3", self.fill_start_m3, "m3")
        if self.fill_start_m3 >= self.fill_stop_m3:
            raise OutOfRange(
                "tank fill_start_m3",
                self.fill_start_m3,
                0.0,
                self.fill_stop_m3,
                "m3",
                "filling starts below where it stops",
            )


def tank(volume_m3: float, start: float = START_FRACTION, stop: float = STOP_FRACTION) -> TankLevels:
    """A tank with its levels as shares of its volume [-]; 0 <= start < stop <= 1. OutOfRange otherwise.

    >>> t = tank(0.060)
    >>> round(1e3 * t.fill_start_m3, 9), round(1e3 * t.fill_stop_m3, 9)
    (42.0, 57.0)
    """
    above_zero("volume_m3", volume_m3, "m3")
    return TankLevels(volume_m3, start * volume_m3, stop * volume_m3)
