"""A bored tip as a short orifice, with viscosity.

Sources
-------
.. [1] Lichtarowicz, A., Duggins, R. K. and Markland, E. (1965). Discharge coefficients for incompressible
   non-cavitating flow through long orifices. J. Mech. Eng. Sci. 7(2), 210-219. Formula from memory; the paper
   was not seen, and which velocity its Reynolds number is meant on could not be confirmed.
"""

from __future__ import annotations

import math
from typing import Final

from estimator.hydraulics.limits import above_zero, within

LENGTH_RATIO_RANGE: Final = (2.0, 10.0)
"""Length over diameter covered by source [1], -."""
REYNOLDS_RANGE: Final = (10.0, 20000.0)
"""Reynolds number covered by source [1], -."""


def discharge_coefficient(reynolds: float, length_ratio: float) -> float:
    """Discharge coefficient of a short orifice [-].

    ``1/Cd = 1/Cdu + (20/Re)(1 + 2.25 l/d) - 0.005 (l/d) / (1 + 7.5 log10(0.00015 Re)**2)``,
    ``Cdu = 0.827 - 0.0085 l/d``. Re Reynolds number on the ideal velocity ``sqrt(2 dp/rho)`` [-], above 0;
    l/d length over diameter [-], above 0. With the mean velocity instead, the equation would be implicit and
    have no solution below an ideal Re of ``20 (1 + 2.25 l/d)``. Valid 2 <= l/d <= 10, 10 < Re < 20 000.
    Source [1]_.

    Worked example: l/d 4 at Re 1000.

    >>> round(discharge_coefficient(1000.0, 4.0), 4)
    0.686
    """
    above_zero("reynolds", reynolds, "-")
    _length_ratio(length_ratio)
    return _cd(reynolds, length_ratio)


def _length_ratio(length_ratio: float) -> None:
    # Beyond this Cdu nears 0 and the formula has no meaning left.
    above_zero("length_ratio", length_ratio, "-")
    within("length_ratio", length_ratio, 0.0, 40.0, "-", "the tip's length over its bore")


def _cd(reynolds: float, length_ratio: float) -> float:
    ultimate = 0.827 - 0.0085 * length_ratio
    bump = 0.005 * length_ratio / (1.0 + 7.5 * math.log10(0.00015 * reynolds) ** 2)
    return 1.0 / (1.0 / ultimate + 20.0 / reynolds * (1.0 + 2.25 * length_ratio) - bump)


def outside_limits(reynolds: float, length_ratio: float) -> tuple[str, ...]:
    """Which limits of source [1]_ a tip does not keep; empty means valid. Re [-] above 0, l/d [-].

    >>> outside_limits(5.0, 4.0)
    ('tip: Reynolds number 5 is outside 10 to 20000 of the orifice formula',)
    """
    notes: list[str] = []
    if not LENGTH_RATIO_RANGE[0] <= length_ratio <= LENGTH_RATIO_RANGE[1]:
        notes.append(f"tip: length over diameter {length_ratio:g} is outside 2 to 10 of the orifice formula")
    if not REYNOLDS_RANGE[0] < reynolds < REYNOLDS_RANGE[1]:
        notes.append(f"tip: Reynolds number {reynolds:.0f} is outside 10 to 20000 of the orifice formula")
    return tuple(notes)
