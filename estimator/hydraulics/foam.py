"""Solution and compressed air that meet in a foam gun: what each of the two pressures lets in, and the ratio.

Solution comes through its nozzle and air through its opening into one chamber, and both leave it by one outlet, side by
side. So the chamber's pressure is where both just fit through the outlet: more of one leaves less room for the other,
and where the chamber has more than one of the two brings, that one is shut out (and the other would push back into its
line, were there no check valve).

Liquid and gas pass the outlet separately, each as if the rest of it were not there: no slip, no friction between them.
Real foam is slower than that and wetter; the ratio is a guide to be confirmed at commissioning, not a measurement.

Sources
-------
.. [1] Torricelli's law for the solution, in nozzle and outlet: hydraulics texts.
.. [2] Choked and subsonic opening for the air: :func:`estimator.hydraulics.air.orifice_mass_flow`.
.. [3] Outlet shared by area between liquid and gas (separated flow with each at the whole pressure): the simplest model
   in texts on two-phase flow, from memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from estimator.hydraulics.air import GAS_CONSTANT_J_KG_K, FreeAir, orifice_mass_flow, site_reference
from estimator.hydraulics.limits import above_zero, zero_or_more

_TIMES: Final = 100
_UNIT_AREA_M: Final = math.sqrt(4.0 / math.pi)
"""Diameter of an opening of 1 m2."""


@dataclass(frozen=True, slots=True)
class FoamGun:
    """A foam gun's openings.

    ``solution_m3_s`` through the nozzle at ``solution_pa`` gauge, with no air. ``air_kg_s`` through the air opening at
    ``air_pa`` gauge out to the barometer. ``outlet_m2`` area of the outlet, discharge coefficient in it.
    """

    solution_m3_s: float
    solution_pa: float
    air_kg_s: float
    air_pa: float
    outlet_m2: float

    def __post_init__(self) -> None:
        """Raises OutOfRange naming the field."""
        for name in ("solution_m3_s", "solution_pa", "air_kg_s", "air_pa", "outlet_m2"):
            above_zero(name, float(getattr(self, name)), "-")


def outlet_area(air: FreeAir, back_pa: float, barometric_pa: float, temperature_k: float = 293.15) -> float:
    """Area of an outlet that keeps the chamber at a gauge pressure while so much air alone passes [m2].

    >>> from estimator.hydraulics.air_reference import ANR
    >>> round(1e6 * outlet_area(FreeAir(90.0 / 60000.0, ANR), 5e4, 1e5), 2)
    5.26
    """
    above_zero("back_pa", back_pa, "Pa")
    return air.mass_flow_kg_s / _flux(back_pa, barometric_pa, temperature_k)


def _flux(gauge_pa: float, barometric_pa: float, temperature_k: float) -> float:
    """Air through an opening of 1 m2 out to the barometer [kg/s]."""
    return orifice_mass_flow(_UNIT_AREA_M, gauge_pa + barometric_pa, barometric_pa, temperature_k)


@dataclass(frozen=True, slots=True)
class Foam:
    """What a foam gun makes: gauge pressure in its chamber [Pa], solution [m3/s], air [kg/s], and free air at the
    barometer to solution by volume [-] (0 without air, infinite without solution)."""

    chamber_pa: float
    solution_m3_s: float
    air_kg_s: float
    ratio: float


def foam(
    gun: FoamGun,
    solution_pa: float,
    air_pa: float,
    density_kg_m3: float = 1000.0,
    barometric_pa: float = 101325.0,
    temperature_k: float = 293.15,
) -> Foam:
    """What comes of both pressures: ``q / (A sqrt(2 p/rho)) + m / (A g(p)) = 1``, p in the chamber.

    ``q = q_0 sqrt((p_s - p) / p_0)`` of the solution, 0 where the chamber has more; ``m`` of the air from its gauge
    pressure into the chamber, ``g`` its flux out. solution, air gauge pressures at the gun [Pa], 0 or more; density
    [kg/m3]; barometer [Pa]; temperature [K]. Sources [1]_, [2]_, [3]_.

    Worked example: 1.3 L/min of solution at 2 bar and 90 L/min of air at 4 bar, an outlet that keeps half a bar with
    the air alone: with 2 and 4 bar the chamber has 0.87 bar, the solution falls to 0.98 L/min, and there are 92 parts
    of air to one.

    >>> from estimator.hydraulics.air_reference import ANR
    >>> air = FreeAir(90.0 / 60000.0, ANR)
    >>> gun = FoamGun(1.3 / 60000.0, 2e5, air.mass_flow_kg_s, 4e5, outlet_area(air, 5e4, 1e5))
    >>> at = foam(gun, 2e5, 4e5, 1000.0, 1e5)
    >>> round(1e-5 * at.chamber_pa, 2), round(60000.0 * at.solution_m3_s, 2), round(at.ratio)
    (0.87, 0.98, 92)
    """
    zero_or_more("solution_pa", solution_pa, "Pa")
    zero_or_more("air_pa", air_pa, "Pa")
    above_zero("density_kg_m3", density_kg_m3, "kg/m3")
    above_zero("barometric_pa", barometric_pa, "Pa")
    # The air opening, from what passes it at its stated pressure.
    opening = gun.air_kg_s / _flux(gun.air_pa, barometric_pa, temperature_k)

    def parts(chamber_pa: float) -> tuple[float, float]:
        solution = 0.0
        if chamber_pa < solution_pa:
            solution = gun.solution_m3_s * math.sqrt((solution_pa - chamber_pa) / gun.solution_pa)
        air = 0.0
        if chamber_pa < air_pa:
            air = opening * orifice_mass_flow(
                _UNIT_AREA_M, air_pa + barometric_pa, chamber_pa + barometric_pa, temperature_k
            )
        return solution, air

    def filled(chamber_pa: float) -> float:
        """Share of the outlet that both would take; falls with the chamber's pressure."""
        solution, air = parts(chamber_pa)
        speed = math.sqrt(2.0 * chamber_pa / density_kg_m3)
        flux = _flux(chamber_pa, barometric_pa, temperature_k)
        return solution / (gun.outlet_m2 * speed) + air / (gun.outlet_m2 * flux)

    low, high = 0.0, max(solution_pa, air_pa)
    for _ in range(_TIMES):
        if high - low <= 1e-10 * high:
            break
        middle = 0.5 * (low + high)
        if filled(middle) > 1.0:
            low = middle
        else:
            high = middle
    solution, air = parts(high)
    here = site_reference(barometric_pa, temperature_k)
    free = air * GAS_CONSTANT_J_KG_K * here.temperature_k / barometric_pa
    ratio = free / solution if solution > 0.0 else math.inf if free > 0.0 else 0.0
    return Foam(high, solution, air, ratio)
