"""Dilution: how much concentrate makes how much solution.

One convention throughout: "1:N" is one part of concentrate to N parts of water, so concentrate is 1/(N+1) of
the solution. (The other convention, one part in N, would give 1/N.) By volume, and volumes are taken to add
up.

Sources
-------
.. [1] Definition above; ``C1 V1 = C2 V2`` is conservation of the dissolved matter.
.. [2] Parts of water per part of bleach, C1/C2 - 1, as in public guidance on chlorine solutions (from
   memory).
.. [3] 1 US gallon = 128 US fluid ounces, exact: NIST Handbook 44, appendix C.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from estimator.hydraulics.limits import OutOfRange, above_zero, zero_or_more

FL_OZ_PER_GALLON: Final = 128.0
"""US fluid ounces in a US gallon, exact (source [3])."""


@dataclass(frozen=True, slots=True)
class Mix:
    """Volumes that make a batch: concentrate [m3] and water [m3]."""

    concentrate_m3: float
    water_m3: float


def concentrate_fraction(parts_water: float) -> float:
    """Volume fraction of concentrate in the solution [-]: ``1 / (N + 1)``.

    N parts of water to one of concentrate [-], 0 (undiluted) or more. OutOfRange below 0. Source [1]_.

    >>> concentrate_fraction(4.0)
    0.2
    """
    return 1.0 / (zero_or_more("parts_water", parts_water, "-") + 1.0)


def parts_of_water(fraction: float) -> float:
    """Parts of water to one of concentrate [-]: ``N = 1/x - 1``.

    x volume fraction of concentrate [-], above 0 to 1; OutOfRange outside. Source [1]_.

    >>> parts_of_water(0.0625)
    15.0
    """
    above_zero("fraction", fraction, "-")
    if fraction > 1.0:
        raise OutOfRange("fraction", fraction, 0.0, 1.0, "-", "a solution cannot hold more than itself")
    return 1.0 / fraction - 1.0


def mix(volume_made_m3: float, parts_water: float) -> Mix:
    """Volumes for a batch: ``Vc = V / (N + 1)``, ``Vw = N Vc``.

    V volume made [m3], N parts of water [-], both 0 or more. Source [1]_.

    Worked example: 50 L of 2 % from 10 % stock is 1:4, so 10 L of stock and 40 L of water.

    >>> m = mix(0.050, 4.0)
    >>> round(1e3 * m.concentrate_m3, 9), round(1e3 * m.water_m3, 9)
    (10.0, 40.0)
    """
    zero_or_more("volume_made_m3", volume_made_m3, "m3")
    concentrate = volume_made_m3 * concentrate_fraction(parts_water)
    return Mix(concentrate, parts_water * concentrate)


def parts_for_strength(stock_strength: float, wanted_strength: float) -> float:
    """Parts of water to bring a stock down to a strength [-]: ``N = C1/C2 - 1``.

    C1 strength of the stock, C2 wanted strength, in the same unit (both fractions by volume, or percent).
    Valid 0 < C2 <= C1; OutOfRange outside. Sources [1]_, [2]_.

    >>> round(parts_for_strength(5.0, 0.5), 9), round(parts_for_strength(3.5, 0.5), 9)
    (9.0, 6.0)
    """
    above_zero("stock_strength", stock_strength, "-")
    above_zero("wanted_strength", wanted_strength, "-")
    if wanted_strength > stock_strength:
        raise OutOfRange(
            "wanted_strength", wanted_strength, 0.0, stock_strength, "-", "water cannot strengthen a stock"
        )
    return stock_strength / wanted_strength - 1.0


def fl_oz_per_gallon_made(parts_water: float) -> float:
    """US fluid ounces of concentrate in a US gallon of finished solution: ``128 / (N + 1)``. Sources [1]_,
    [3]_.

    N parts of water [-], 0 or more.

    >>> fl_oz_per_gallon_made(15.0)
    8.0
    """
    return FL_OZ_PER_GALLON * concentrate_fraction(parts_water)


def fl_oz_per_gallon_of_water(parts_water: float) -> float:
    """US fluid ounces of concentrate added to a US gallon of water: ``128 / N``. Sources [1]_, [3]_.

    N parts of water [-], above 0.

    >>> fl_oz_per_gallon_of_water(64.0)
    2.0
    """
    return FL_OZ_PER_GALLON / above_zero("parts_water", parts_water, "-")
