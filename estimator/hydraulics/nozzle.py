"""Spray nozzle: flow by the square-root law, spray width, flow sizes.

Droplet size classes are comparisons with reference nozzles and cannot be computed from size and pressure;
they are not here. Fine droplets of a corrosive can be breathed in: that caution belongs to whoever chooses
the nozzle.

Sources
-------
.. [1] Square-root law of an orifice, any hydraulics text (Torricelli 1643).
.. [2] ISO 10625:2018, colour code and nominal flow at 300 kPa (standard not seen; flows second-hand from
   public agricultural calculators that cite it; colours and US gpm at 40 psi from McCloskey, Andrade-Sanchez
   and Brown, Univ. of Arizona Cooperative Extension, June 2012, table 1).
.. [3] Plane geometry of a triangle.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from estimator.hydraulics.limits import OutOfRange, above_zero, zero_or_more

NOMINAL_PRESSURE_PA: Final = 300e3
"""Pressure of the nominal flows of ISO 10625, Pa (source [2])."""
FLOW_TOLERANCE: Final = 0.05
"""Flow tolerance of a new nozzle in ISO 10625, - (second-hand)."""
WIDTH_NOTE: Final = "theoretical width; the real spray is narrower away from the nozzle"
"""What must stand beside every computed width."""


@dataclass(frozen=True, slots=True)
class IsoNozzle:
    """A flow size of ISO 10625.

    ``key`` the size, ``colour`` in that standard, ``flow_m3_s`` nominal flow of water at 300 kPa [m3/s],
    ``gpm_at_40_psi`` nominal flow in the US table [US gal/min] (None where not tabulated; both columns are
    nominal and do not convert exactly), ``status`` how well the row is confirmed.
    """

    key: str
    colour: str
    flow_m3_s: float
    gpm_at_40_psi: float | None
    status: str


_TABULATED: Final = "colour and gpm confirmed (source 2, table 1); L/min second-hand"
_FROM_MEMORY: Final = "from memory of ISO 10625"


def _size(key: str, colour: str, l_min: float, gpm: float | None, status: str = _TABULATED) -> IsoNozzle:
    return IsoNozzle(key, colour, l_min / 60000.0, gpm, status)


NOZZLE_SIZES: Final = {
    size.key: size
    for size in (
        _size("01", "orange", 0.40, 0.10),
        _size("015", "green", 0.60, 0.15),
        _size("02", "yellow", 0.80, 0.20),
        _size("025", "lilac", 1.00, 0.25),
        _size("03", "blue", 1.20, 0.30),
        _size("04", "red", 1.60, 0.40),
        _size("05", "brown", 2.00, 0.50),
        _size("06", "grey", 2.40, 0.60),
        _size("08", "white", 3.20, 0.80),
        _size("10", "light blue", 4.00, None, _FROM_MEMORY),
        _size("15", "light green", 6.00, None, _FROM_MEMORY),
    )
}
"""Flow sizes by key, smallest first (source [2])."""


def nozzle_size(key: str) -> IsoNozzle:
    """The flow size of that key. Raises LookupError that lists the sizes. Source [2]_.

    >>> nozzle_size("03").colour
    'blue'
    """
    if key not in NOZZLE_SIZES:
        raise LookupError(f"nozzle size: there is no size {key!r}; give one of {', '.join(NOZZLE_SIZES)}")
    return NOZZLE_SIZES[key]


def emitter_coefficient(
    reference_flow_m3_s: float,
    reference_pressure_pa: float = NOMINAL_PRESSURE_PA,
    specific_gravity: float = 1.0,
) -> float:
    """Coefficient C [m3/(s Pa**0.5)] of ``q = C sqrt(p)``: ``C = q_ref / sqrt(p_ref) / sqrt(SG)``.

    q_ref flow of water [m3/s] at p_ref gauge pressure [Pa], SG specific gravity of the liquid [-]. Valid for
    turbulent flow in the nozzle: viscosity is not covered, and a liquid much thicker than water (say above
    10 mPa s) passes less. All arguments above 0, OutOfRange otherwise. Source [1]_.

    Worked example: size 03 (1.2 L/min at 300 kPa): 0.69282 L/min at 1 bar.

    >>> c = emitter_coefficient(1.2 / 60000.0)
    >>> round(60000.0 * c * 1e5 ** 0.5, 5)
    0.69282
    """
    above_zero("reference_flow_m3_s", reference_flow_m3_s, "m3/s")
    above_zero("reference_pressure_pa", reference_pressure_pa, "Pa")
    above_zero("specific_gravity", specific_gravity, "-")
    return reference_flow_m3_s / math.sqrt(reference_pressure_pa * specific_gravity)


def flow(coefficient: float, pressure_pa: float) -> float:
    """Flow of a nozzle [m3/s]: ``q = C sqrt(p)``.

    C coefficient [m3/(s Pa**0.5)], p gauge pressure at the nozzle [Pa], 0 or more. Source [1]_.

    Worked example: size 02 at 4 bar gives 0.92376 L/min.

    >>> round(60000.0 * flow(emitter_coefficient(0.8 / 60000.0), 400e3), 5)
    0.92376
    """
    above_zero("coefficient", coefficient, "m3/(s Pa^0.5)")
    return coefficient * math.sqrt(zero_or_more("pressure_pa", pressure_pa, "Pa"))


def spray_width(distance_m: float, angle_rad: float) -> float:
    """Theoretical width of the spray [m]: ``W = 2 d tan(theta/2)``.

    d distance from the nozzle [m], 0 or more; theta full spray angle [rad], 0 to below pi. The angle holds at
    the nozzle's rated pressure, and the real spray is narrower away from the nozzle: show :data:`WIDTH_NOTE`
    with the figure. OutOfRange outside. Source [3]_.

    Worked example: 65 degrees at 12 (any unit) is 15.29 wide.

    >>> round(spray_width(12.0, math.radians(65.0)), 2)
    15.29
    """
    zero_or_more("distance_m", distance_m, "m")
    zero_or_more("angle_rad", angle_rad, "rad")
    if angle_rad >= math.pi:
        raise OutOfRange("angle_rad", angle_rad, 0.0, math.pi, "rad", "a spray angle is below 180 degrees")
    return 2.0 * distance_m * math.tan(0.5 * angle_rad)
