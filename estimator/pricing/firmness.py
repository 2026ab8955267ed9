"""How firm a figure is: the width of its range against the estimate classes of AACE 18R-97, as a label only.

18R-97 is for the process industries, and there the maturity of the definition decides the class, not the width of a
range. Here only the width is compared, to give a person a feeling for it; the words say so.

Sources
-------
.. [1] AACE International Recommended Practice 18R-97, table 1: accuracy ranges of estimate classes. The widest ends of
   each class are second-hand (two glossaries that restate the table); the document itself was not seen.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

__all__ = ["CLASSES", "Firmness", "firmness"]

CLASSES: Final[tuple[tuple[int, Decimal, Decimal], ...]] = (
    (1, Decimal(10), Decimal(15)),
    (2, Decimal(15), Decimal(20)),
    (3, Decimal(20), Decimal(30)),
    (4, Decimal(30), Decimal(50)),
    (5, Decimal(50), Decimal(100)),
)
"""Class, and the widest percent below and above the figure that it allows (source [1]_), the firmest first."""


@dataclass(frozen=True, slots=True)
class Firmness:
    """The range of one figure in percent of its likely value.

    Attributes:
        below_percent, above_percent: from likely down to low and up to high, both 0 or more.
        like_class: firmest class of AACE 18R-97 whose ends hold the range, None where it is wider than class 5.
        words: a sentence for a person.
    """

    below_percent: Decimal
    above_percent: Decimal
    like_class: int | None
    words: str


def _whole(percent: Decimal) -> str:
    return str(percent.quantize(Decimal(1), rounding=ROUND_HALF_UP))


def firmness(low: Decimal, likely: Decimal, high: Decimal) -> Firmness | None:
    """Label a range by its width; None where likely is 0, since nothing is a share of nothing.

    below = 100 (likely - low) / likely, above = 100 (high - likely) / likely, in percent.

    Args:
        low, likely, high: of one figure in one currency; 0 <= low <= likely <= high.

    Raises:
        ValueError: the range is not in order.

    Worked example: 90, 100, 125 goes 10 % below and 25 % above: as wide as class 3 allows.

    >>> firmness(Decimal(90), Decimal(100), Decimal(125)).like_class
    3
    """
    if not 0 <= low <= likely <= high:
        raise ValueError(f"range: low {low}, likely {likely}, high {high}; 0 ≤ low ≤ likely ≤ high must hold")
    if likely == 0:
        return None
    below = 100 * (likely - low) / likely
    above = 100 * (high - likely) / likely
    found = next(
        (n for n, most_below, most_above in CLASSES if below <= most_below and above <= most_above), None
    )
    told = f"a class {found} estimate allows" if found else "any class allows"
    width = "as wide as" if found else "wider than"
    return Firmness(
        below,
        above,
        found,
        f"−{_whole(below)} % to +{_whole(above)} % around the likely figure: {width} {told} in AACE 18R-97 "
        "(by width alone; there the maturity of the definition decides).",
    )
