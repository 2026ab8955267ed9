"""A bored tip as a short orifice, with viscosity.

Sources
-------
.. [1] Lichtarowicz, A., Duggins, R. K. and Markland, E. (1965). Discharge coefficients for incompressible
   non-cavitating flow through long orifices. J. Mech. Eng. Sci. 7(2), 210-219. Formula from memory; the paper
   was not seen, and which velocity its Reynolds number is meant on could not be confirmed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from estimator.hydraulics.limits import above_zero, within, zero_or_more

LENGTH_RATIO_RANGE: Final = (2.0, 10.0)
"""Length over diameter covered by source [1], -."""
REYNOLDS_RANGE: Final = (10.0, 20000.0)
"""Reynolds number covered by source [1], -."""


@dataclass(frozen=True, slots=True)
class OrificeFlow:
    """Flow through a tip.

    ``flow_m3_s`` [m3/s], ``reynolds`` on the ideal velocity [-], ``discharge_coefficient`` [-], ``outside``
    the limits of the source that are not kept (empty: valid).
    """

    flow_m3_s: float
    reynolds: float
    discharge_coefficient: float
    outside: tuple[str, ...]


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


def orifice_flow(
    diameter_m: float, length_ratio: float, loss_pa: float, density_kg_m3: float, viscosity_pa_s: float
) -> OrificeFlow:
    """Flow through a bored tip: ``q = Cd pi d**2/4 sqrt(2 dp/rho)``, Cd as :func:`discharge_coefficient`.

    d bore [m], l/d length over bore [-], dp pressure over the tip [Pa] (0 or more), rho density [kg/m3], mu
    viscosity [Pa s]. Valid as :func:`discharge_coefficient`, no cavitation; ``outside`` says what is not
    kept. As Re falls the formula goes over into a flow in proportion to dp/mu, as it should. Source [1]_.

    Worked example: 1.0 mm, l/d 4, 20 kPa, 1000 kg/m3, 20 mPa s: 0.1575 L/min, a third less than with water.

    >>> round(60000.0 * orifice_flow(1e-3, 4.0, 20e3, 1000.0, 0.020).flow_m3_s, 4)
    0.1575
    """
    above_zero("diameter_m", diameter_m, "m")
    _length_ratio(length_ratio)
    zero_or_more("loss_pa", loss_pa, "Pa")
    above_zero("density_kg_m3", density_kg_m3, "kg/m3")
    above_zero("viscosity_pa_s", viscosity_pa_s, "Pa s")
    ideal = math.sqrt(2.0 * loss_pa / density_kg_m3)
    reynolds = density_kg_m3 * ideal * diameter_m / viscosity_pa_s
    if reynolds == 0.0:
        return OrificeFlow(0.0, 0.0, 0.0, ())
    cd = _cd(reynolds, length_ratio)
    area = 0.25 * math.pi * diameter_m * diameter_m
    return OrificeFlow(cd * area * ideal, reynolds, cd, outside_limits(reynolds, length_ratio))
