"""Number drills: the sizes metering tips are bored with.

Sources
-------
.. [1] ASME B94.11M, diameters in inches. #80 to #39 second-hand (several public tables agree), #38 to #30
   from memory.
"""

from __future__ import annotations

from typing import Final

INCH_M: Final = 0.0254
"""1 inch in m, exact."""

# fmt: off
_THOUSANDTHS: Final = {
    80: 13.5, 79: 14.5, 78: 16.0, 77: 18.0, 76: 20.0, 75: 21.0, 74: 22.5, 73: 24.0, 72: 25.0, 71: 26.0,
    70: 28.0, 69: 29.2, 68: 31.0, 67: 32.0, 66: 33.0, 65: 35.0, 64: 36.0, 63: 37.0, 62: 38.0, 61: 39.0,
    60: 40.0, 59: 41.0, 58: 42.0, 57: 43.0, 56: 46.5, 55: 52.0, 54: 55.0, 53: 59.5, 52: 63.5, 51: 67.0,
    50: 70.0, 49: 73.0, 48: 76.0, 47: 78.5, 46: 81.0, 45: 82.0, 44: 86.0, 43: 89.0, 42: 93.5, 41: 96.0,
    40: 98.0, 39: 99.5, 38: 101.5, 37: 104.0, 36: 106.5, 35: 110.0, 34: 111.0, 33: 113.0, 32: 116.0,
    31: 120.0, 30: 128.5,
}
# fmt: on

NUMBER_DRILLS: Final = {number: thousandths * 1e-3 * INCH_M for number, thousandths in _THOUSANDTHS.items()}
"""Diameter [m] by drill number, smallest (80) first (source [1])."""


def drill_diameter(number: int) -> float:
    """Diameter of a number drill [m]. Numbers 80 (smallest) to 30; LookupError otherwise. Source [1]_.

    Worked example: #60 is 0.0400 in.

    >>> round(1e3 * drill_diameter(60), 3)
    1.016
    """
    if number not in NUMBER_DRILLS:
        raise LookupError(f"drill: there is no number {number} in the table; give 30 to 80")
    return NUMBER_DRILLS[number]


def status(number: int) -> str:
    """How well a row is confirmed. LookupError as :func:`drill_diameter`.

    >>> status(35)
    'from memory'
    """
    drill_diameter(number)
    return "second-hand" if number >= 39 else "from memory"
