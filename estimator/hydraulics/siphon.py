"""Liquid at rest: pressure at a drop with the pump stopped, siphons, and water drawn back into the street.

Heights are over one level, up positive.

Sources
-------
.. [1] Hydrostatics, ``p = rho g h``; Torricelli and Bernoulli for a siphon: any hydraulics text.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from estimator.hydraulics.limits import above_zero, finite, within
from estimator.hydraulics.proportioner import GRAVITY_M_S2


def rest_pressure(at_pa: float, at_m: float, point_m: float, density_kg_m3: float) -> float:
    """Gauge pressure at rest at one point of a full line [Pa]: ``p = p0 + rho g (z0 - z)``.

    p0 gauge pressure [Pa] at height z0 [m], z height of the point [m], rho density [kg/m3]. With all guns shut a pump
    holds its regulator's whole setting, no droop. Source [1]_.

    Worked example: 4 bar at a pump 0.4 m up, gun hanging at 1.2 m.

    >>> round(rest_pressure(4e5, 0.4, 1.2, 1000.0))
    392155
    """
    above_zero("density_kg_m3", density_kg_m3, "kg/m3")
    drop = finite("at_m", at_m, "m") - finite("point_m", point_m, "m")
    return finite("at_pa", at_pa, "Pa") + density_kg_m3 * GRAVITY_M_S2 * drop


@dataclass(frozen=True, slots=True)
class Siphon:
    """A line from an open tank over its highest point to an outlet, pump stopped.

    ``head_pa`` gauge pressure at the shut outlet from the tank's level alone [Pa], below 0 where it lies higher;
    ``crest_pa`` absolute pressure at the highest point at rest [Pa], 0 where the column has parted there;
    ``runs`` whether an outlet that is opened, or that leaks, empties the tank down to it once the line is full.
    """

    head_pa: float
    crest_pa: float
    runs: bool


def siphon(
    level_m: float,
    crest_m: float,
    outlet_m: float,
    density_kg_m3: float,
    barometric_pa: float = 101325.0,
    vapour_pa: float = 0.0,
) -> Siphon:
    """What an open tank does by its height alone.

    level, crest (highest point of the line, at least as high as the outlet) and outlet heights [m]; density [kg/m3];
    barometer and vapour pressure of the liquid [Pa]. It runs where the outlet is below the level and the liquid holds
    together over the crest: ``p_air - rho g (crest - level) > p_v``. A pump's own valves may stop it, which only the
    maker can tell: taken as open. Air let in at the crest stops it. OutOfRange names the field. Source [1]_.

    Worked example: level 0.9 m, line along the wall at 3 m, a gun left open on the floor.

    >>> found = siphon(0.9, 3.0, 0.0, 1000.0)
    >>> round(found.head_pa), round(found.crest_pa), found.runs
    (8826, 80731, True)
    >>> siphon(0.9, 3.0, 1.2, 1000.0).runs
    False
    """
    above_zero("density_kg_m3", density_kg_m3, "kg/m3")
    above_zero("barometric_pa", barometric_pa, "Pa")
    within("vapour_pa", vapour_pa, 0.0, barometric_pa, "Pa", "at more the liquid boils by itself")
    finite("level_m", level_m, "m")
    finite("outlet_m", outlet_m, "m")
    within(
        "crest_m", crest_m, outlet_m, math.inf, "m", "the highest point of the line is not below its outlet"
    )
    weight = density_kg_m3 * GRAVITY_M_S2
    head = weight * (level_m - outlet_m)
    crest = barometric_pa - weight * (crest_m - level_m)
    holds = crest > vapour_pa
    return Siphon(head, crest if holds else 0.0, head > 0.0 and holds)


def drawn_back(street_pa: float, rise_m: float, density_kg_m3: float) -> bool:
    """Whether a street under suction draws from a vessel that its unprotected line reaches into.

    street gauge pressure [Pa], below 0 in suction; rise from the liquid's surface up to the highest point of the line
    [m], below 0 where the surface stands higher. It draws where ``-p > rho g rise``. No valve that may fail is counted
    on: what has to stand between is for the local code to say. Source [1]_.

    >>> drawn_back(-20e3, 1.0, 1000.0), drawn_back(-20e3, 2.5, 1000.0), drawn_back(0.0, -0.5, 1000.0)
    (True, False, True)
    """
    above_zero("density_kg_m3", density_kg_m3, "kg/m3")
    rise = density_kg_m3 * GRAVITY_M_S2 * finite("rise_m", rise_m, "m")
    return -finite("street_pa", street_pa, "Pa") > rise
