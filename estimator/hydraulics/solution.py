"""A liquid in the line: ready-to-use solution or concentrate.

A ready-to-use solution is taken as water unless the product says otherwise. Real solutions with polymers or
much surfactant may be shear-thinning; one viscosity then is an approximation and the maker's data wins.

Sources
-------
.. [1] Definition of relative density (specific gravity): ISO 80000-4, item 4-3. From memory.
.. [2] Viscosity of a liquid by temperature: ``ln mu`` linear in ``1/T`` (Andrade 1930, de Guzman 1913); any text on
   the properties of liquids, from memory. Through two points it has no constant left to choose.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from estimator.hydraulics.limits import OutOfRange, above_zero, within
from estimator.hydraulics.water import water

SPECIFIC_GRAVITY_RANGE: Final = (0.5, 2.5)
"""Relative density taken, -; common practice, no source."""
VISCOSITY_RANGE_PA_S: Final = (1e-4, 100.0)
"""Dynamic viscosity taken, Pa s: from a thin solvent to beyond honey; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Liquid:
    """A liquid: density [kg/m3], dynamic viscosity [Pa s], and the specific gravity it was made with [-]."""

    density_kg_m3: float
    viscosity_pa_s: float
    specific_gravity: float


def liquid(
    temperature_k: float, specific_gravity: float = 1.0, viscosity_pa_s: float | None = None
) -> Liquid:
    """A solution or concentrate at one temperature: ``rho = SG rho_water(T)``, ``mu`` as stated or water's.

    T temperature [K], 273.15 to 333.15; SG specific gravity [-], 0.5 to 2.5, against water at the same
    temperature; mu dynamic viscosity [Pa s], 1e-4 to 100. A stated viscosity is not changed with temperature:
    it is the viscosity at working temperature. OutOfRange outside. Source [1]_.

    Worked example: a concentrate of SG 1.05 and 20 mPa s at 20 degC.

    >>> c = liquid(293.15, 1.05, 0.020)
    >>> round(c.density_kg_m3, 1), c.viscosity_pa_s
    (1048.1, 0.02)
    >>> round(liquid(293.15).viscosity_pa_s, 7)
    0.0010016
    """
    base = water(temperature_k)
    within("specific_gravity", specific_gravity, *SPECIFIC_GRAVITY_RANGE, "-", "water is 1")
    mu = base.viscosity_pa_s if viscosity_pa_s is None else viscosity_pa_s
    within("viscosity_pa_s", mu, *VISCOSITY_RANGE_PA_S, "Pa s")
    return Liquid(specific_gravity * base.density_kg_m3, mu, specific_gravity)


def viscosity_at(temperature_k: float, first: tuple[float, float], second: tuple[float, float]) -> float:
    """Dynamic viscosity at a temperature [Pa s] through two points: ``ln mu = a + b/T``.

    first, second: (T temperature [K], mu dynamic viscosity [Pa s]), all above 0, at two temperatures (OutOfRange
    otherwise). Beyond the points it is extrapolated, as no liquid of a board is far from them. Source [2]_.

    Worked example: water, 1.51817 mPa s at 5 degC and 0.79722 mPa s at 30 degC, gives 1.1577 mPa s at 15 degC; the
    tables have 1.1376 mPa s, 1.7 % less.

    >>> round(1000.0 * viscosity_at(288.15, (278.15, 1.51817e-3), (303.15, 0.79722e-3)), 4)
    1.1577
    """
    for name, (at, mu) in (("first", first), ("second", second)):
        above_zero(f"{name} temperature_k", at, "K")
        above_zero(f"{name} viscosity_pa_s", mu, "Pa s")
    above_zero("temperature_k", temperature_k, "K")
    if first[0] == second[0]:
        raise OutOfRange(
            "second temperature_k", second[0], 0.0, math.inf, "K", "give it at another temperature"
        )
    share = (1.0 / temperature_k - 1.0 / first[0]) / (1.0 / second[0] - 1.0 / first[0])
    return math.exp((1.0 - share) * math.log(first[1]) + share * math.log(second[1]))
