"""A liquid in the line: ready-to-use solution or concentrate.

A ready-to-use solution is taken as water unless the product says otherwise. Real solutions with polymers or
much surfactant may be shear-thinning; one viscosity then is an approximation and the maker's data wins.

Sources
-------
.. [1] Definition of relative density (specific gravity): ISO 80000-4, item 4-3. From memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from estimator.hydraulics.limits import within
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
    within("viscosity_pa_s", mu, *VISCOSITY_RANGE_PA_S, "Pa s", "water is about 0.001")
    return Liquid(specific_gravity * base.density_kg_m3, mu, specific_gravity)
