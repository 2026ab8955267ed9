"""Compressed air: free air that carries its reference conditions, header drop, orifices, leaks, compressor.

Air is a dry ideal gas here. The humidity of a reference (ANR: 65 %) is not taken into account in conversions;
it holds at most 1.6 % of vapour, most of which falls out as water after compression.

Sources
-------
.. [1] ISO 8778 (ANR), DIN 1343 (normal), US practice (scfm at 60 degF), ISO 1217 and compressed air practice
   (68 degF, 14.5 psia): from memory.
.. [2] Isothermal flow of a gas in a pipe: Crane TP-410, equation 1-6; fluids 1.3.1 ``isothermal_gas``.
.. [3] Choked and subsonic isentropic flow of an ideal gas: any gas dynamics text.
.. [4] US Department of Energy, Compressed Air Tip Sheet 3 (2004) and Sourcebook, leak section.
.. [5] Sutherland's law for the viscosity of air, US Standard Atmosphere 1976.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from estimator.hydraulics.air_reference import TEMPERATURE_RANGE_K, FreeAirReference
from estimator.hydraulics.friction import friction
from estimator.hydraulics.limits import OutOfRange, above_zero, within, zero_or_more

GAS_CONSTANT_J_KG_K: Final = 287.05
"""Specific gas constant of dry air, J/(kg K)."""
HEAT_RATIO: Final = 1.4
"""Ratio of specific heats of air, -."""


@dataclass(frozen=True, slots=True)
class FreeAir:
    """A volume flow of free air [m3/s] with the conditions it is stated at."""

    flow_m3_s: float
    reference: FreeAirReference

    def __post_init__(self) -> None:
        """Raises OutOfRange naming the field."""
        zero_or_more("free air flow_m3_s", self.flow_m3_s, "m3/s")

    def to(self, reference: FreeAirReference) -> FreeAir:
        """The same mass of air at other conditions: ``Q2 = Q1 (p1/p2) (T2/T1)``, p absolute [Pa], T [K].

        Dry ideal gas, source [1]_. Worked example: 1 scfm at 60 degF and 14.696 psia is 1.02912 at 68 degF
        and 14.5.

        >>> from estimator.hydraulics.air_reference import SCFM_60F, SCFM_68F
        >>> round(FreeAir(1.0, SCFM_60F).to(SCFM_68F).flow_m3_s, 6)
        1.02912
        """
        here = self.reference
        ratio = here.pressure_pa / reference.pressure_pa * reference.temperature_k / here.temperature_k
        return FreeAir(self.flow_m3_s * ratio, reference)

    @property
    def mass_flow_kg_s(self) -> float:
        """Mass flow [kg/s]: ``m = p Q / (R T)``, R 287.05 J/(kg K)."""
        at = self.reference
        return at.pressure_pa * self.flow_m3_s / (GAS_CONSTANT_J_KG_K * at.temperature_k)

    def __add__(self, other: FreeAir) -> FreeAir:
        """Sum, at the conditions of the left one."""
        return FreeAir(self.flow_m3_s + other.to(self.reference).flow_m3_s, self.reference)


def site_reference(barometric_pa: float, temperature_k: float = 293.15) -> FreeAirReference:
    """The air as it is at the site, as reference conditions: barometer [Pa], temperature [K].

    >>> site_reference(65780.0).pressure_pa
    65780.0
    """
    above_zero("barometric_pa", barometric_pa, "Pa")
    within("temperature_k", temperature_k, *TEMPERATURE_RANGE_K, "K")
    return FreeAirReference("site", barometric_pa, temperature_k, 0.0)


def line_flow(air: FreeAir, gauge_pa: float, barometric_pa: float, temperature_k: float = 293.15) -> float:
    """Actual volume flow inside a line under pressure [m3/s]: ``Q = Q_ref (p_ref/(p+pa)) (T/T_ref)``.

    p gauge pressure [Pa], pa barometer [Pa], T temperature in the line [K]. Source [1]_.

    Worked example: 10 scfm (68 degF, 14.5 psia) at 80 psig, 68 degF, 14.696 psia barometer: 1.53122.

    >>> from estimator.hydraulics.air_reference import PSI_PA, SCFM_68F
    >>> round(line_flow(FreeAir(10.0, SCFM_68F), 80.0 * PSI_PA, 14.696 * PSI_PA), 5)
    1.53122
    """
    zero_or_more("gauge_pa", gauge_pa, "Pa")
    above_zero("barometric_pa", barometric_pa, "Pa")
    return air.to(site_reference(gauge_pa + barometric_pa, temperature_k)).flow_m3_s


def viscosity(temperature_k: float) -> float:
    """Dynamic viscosity of air [Pa s]: ``mu = 1.458e-6 T**1.5 / (T + 110.4)``.

    T temperature [K]; valid 233.15 to 373.15 K here. Independent of pressure to about 1 % at 1 MPa. Source
    [5]_.

    >>> round(1e6 * viscosity(293.15), 2)
    18.13
    """
    within("temperature_k", temperature_k, *TEMPERATURE_RANGE_K, "K")
    return 1.458e-6 * math.pow(temperature_k, 1.5) / (temperature_k + 110.4)


@dataclass(frozen=True, slots=True)
class HeaderDrop:
    """Air through a pipe: outlet pressure [Pa absolute], drop [Pa], velocities [m/s], Re [-], Darcy f [-],
    limits."""

    outlet_pa: float
    drop_pa: float
    inlet_velocity_m_s: float
    outlet_velocity_m_s: float
    reynolds: float
    factor: float
    outside: tuple[str, ...]


def header_drop(
    mass_flow_kg_s: float,
    inlet_pa: float,
    temperature_k: float,
    length_m: float,
    bore_m: float,
    roughness_m: float = 1.5e-6,
    minor_k: float = 0.0,
    viscosity_pa_s: float | None = None,
) -> HeaderDrop:
    """Pressure drop of air in a pipe at constant temperature.

    ``m**2 (f L/d + K + 2 ln(p1/p2)) = (pi d**2/4)**2 (p1**2 - p2**2) / (R T)``; m mass flow [kg/s], f Darcy
    factor [-], L length [m], d bore [m], K fittings [-], p absolute pressures [Pa], T temperature [K], R
    287.05 J/(kg K). Valid for a level pipe and below choking: a flow above that raises OutOfRange with the
    largest that passes. ``outside`` as :func:`estimator.hydraulics.friction.friction`. Source [2]_.

    Worked example: 10 scfm (68 degF, 14.696 psia) through 30 m of 9.525 mm from 100 psig loses 3.498 psi.

    >>> from estimator.hydraulics.air_reference import PSI_PA
    >>> at = header_drop(5.68283e-3, 114.696 * PSI_PA, 293.15, 30.0, 9.525e-3, 1.5e-6, 0.0, 1.82e-5)
    >>> round(at.drop_pa / PSI_PA, 3)
    3.498
    """
    zero_or_more("mass_flow_kg_s", mass_flow_kg_s, "kg/s")
    above_zero("inlet_pa", inlet_pa, "Pa")
    zero_or_more("length_m", length_m, "m")
    above_zero("bore_m", bore_m, "m")
    zero_or_more("roughness_m", roughness_m, "m")
    zero_or_more("minor_k", minor_k, "-")
    mu = (
        viscosity(temperature_k)
        if viscosity_pa_s is None
        else above_zero("viscosity_pa_s", viscosity_pa_s, "Pa s")
    )
    within("temperature_k", temperature_k, *TEMPERATURE_RANGE_K, "K")
    area = 0.25 * math.pi * bore_m * bore_m
    reynolds = 4.0 * mass_flow_kg_s / (math.pi * bore_m * mu)
    at = friction(reynolds, roughness_m / bore_m)
    resistance = at.factor * length_m / bore_m + minor_k
    rt = GAS_CONSTANT_J_KG_K * temperature_k
    # g is the square of the flow per area over that of sound at the inlet; y is (p2/p1)**2.
    g = (mass_flow_kg_s / area) ** 2 * rt / inlet_pa**2
    limit = _choking(resistance)
    if g > limit:
        # Friction falls as the flow grows, so the largest flow has a factor of its own.
        most = area * inlet_pa * math.sqrt(limit / rt)
        for _ in range(30):
            at = friction(4.0 * most / (math.pi * bore_m * mu), roughness_m / bore_m)
            most = area * inlet_pa * math.sqrt(_choking(at.factor * length_m / bore_m + minor_k) / rt)
        raise OutOfRange(
            "mass_flow_kg_s",
            mass_flow_kg_s,
            0.0,
            most,
            "kg/s",
            "the flow chokes at the end of the pipe; use a wider one",
        )
    y = 1.0
    for _ in range(100):
        # Newton from the right of the root on a concave function: it comes down on it without passing.
        step = (1.0 - y - g * (resistance - math.log(y))) / (1.0 - g / y) if y > g else 0.0
        y += step
        if abs(step) <= 1e-14 * y:
            break
    outlet = inlet_pa * math.sqrt(y)
    inlet_velocity = mass_flow_kg_s * rt / (inlet_pa * area)
    return HeaderDrop(
        outlet,
        inlet_pa - outlet,
        inlet_velocity,
        inlet_velocity * inlet_pa / outlet,
        reynolds,
        at.factor,
        at.outside,
    )


def _choking(resistance: float) -> float:
    # At choking y = g, so 1 - y = y (resistance - ln y): solve for x = 1/y, x - 1 - ln x = resistance, x >=
    # 1.
    x = 1.0 + resistance + math.sqrt(2.0 * resistance)
    for _ in range(60):
        if x <= 1.0:
            return 1.0
        step = (x - 1.0 - math.log(x) - resistance) * x / (x - 1.0)
        x -= step
        if abs(step) <= 1e-13 * x:
            break
    return 1.0 / x


def critical_ratio(heat_ratio: float = HEAT_RATIO) -> float:
    """Outlet over inlet pressure below which an orifice chokes [-]: ``(2/(k+1))**(k/(k-1))``.

    k ratio of specific heats [-], above 1. Source [3]_.

    >>> round(critical_ratio(), 6)
    0.528282
    """
    if not (math.isfinite(heat_ratio) and heat_ratio > 1.0):
        raise OutOfRange("heat_ratio", heat_ratio, 1.0, math.inf, "-", open_low=True)
    return math.pow(2.0 / (heat_ratio + 1.0), heat_ratio / (heat_ratio - 1.0))


def orifice_mass_flow(
    diameter_m: float, inlet_pa: float, outlet_pa: float, temperature_k: float = 293.15, cd: float = 1.0
) -> float:
    """Air through a hole [kg/s], choked or not.

    Choked (p2/p1 at or below 0.528282): ``m = Cd A p1 sqrt(k/(R T)) (2/(k+1))**((k+1)/(2(k-1)))``. Else
    ``m = Cd A p1 sqrt(2k/((k-1) R T) (r**(2/k) - r**((k+1)/k)))``, ``r = p2/p1``. d diameter [m], A area
    [m2], p absolute pressures [Pa], T inlet temperature [K], Cd discharge coefficient [-] (1 smooth, about
    0.61 sharp), k 1.4. Valid p2 <= p1; OutOfRange otherwise. Source [3]_.

    Worked example: a 1/16 in hole, Cd 1, 100 psig, 60 degF: 6.45 scfm (60 degF).

    >>> from estimator.hydraulics.air_reference import PSI_PA, SCFM_60F
    >>> m = orifice_mass_flow(0.0254 / 16, 114.696 * PSI_PA, 14.696 * PSI_PA, SCFM_60F.temperature_k)
    >>> per_scfm = FreeAir(0.3048**3 / 60, SCFM_60F).mass_flow_kg_s
    >>> round(m / per_scfm, 2)
    6.45
    """
    above_zero("diameter_m", diameter_m, "m")
    above_zero("inlet_pa", inlet_pa, "Pa")
    above_zero("outlet_pa", outlet_pa, "Pa")
    above_zero("cd", cd, "-")
    within("temperature_k", temperature_k, *TEMPERATURE_RANGE_K, "K")
    if outlet_pa > inlet_pa:
        raise OutOfRange("outlet_pa", outlet_pa, 0.0, inlet_pa, "Pa", "air flows from the higher pressure")
    k = HEAT_RATIO
    rt = GAS_CONSTANT_J_KG_K * temperature_k
    flux = cd * 0.25 * math.pi * diameter_m**2 * inlet_pa
    ratio = outlet_pa / inlet_pa
    if ratio <= critical_ratio():
        return flux * math.sqrt(k / rt) * math.pow(2.0 / (k + 1.0), (k + 1.0) / (2.0 * (k - 1.0)))
    return flux * math.sqrt(
        2.0 * k / ((k - 1.0) * rt) * (math.pow(ratio, 2.0 / k) - math.pow(ratio, (k + 1.0) / k))
    )


def isentropic_power(air: FreeAir, gauge_pa: float) -> float:
    """Least power to compress free air [W]: ``P = Q p1 k/(k-1) ((p2/p1)**((k-1)/k) - 1)``, ``p2 = p1 + p``.

    Q free air [m3/s] at p1 [Pa], p gauge pressure reached [Pa], k 1.4. No efficiency in it. Source [3]_.

    Worked example: 1 scfm (60 degF) to 100 psig: 0.17926 hp.

    >>> from estimator.hydraulics.air_reference import PSI_PA, SCFM_60F
    >>> round(isentropic_power(FreeAir(0.3048**3 / 60, SCFM_60F), 100.0 * PSI_PA) / 745.6998716, 4)
    0.1793
    """
    zero_or_more("gauge_pa", gauge_pa, "Pa")
    p1, k = air.reference.pressure_pa, HEAT_RATIO
    ratio = math.pow((p1 + gauge_pa) / p1, (k - 1.0) / k)
    return air.flow_m3_s * p1 * k / (k - 1.0) * (ratio - 1.0)


def leak_share(loaded_s: float, unloaded_s: float) -> float:
    """Share of a compressor's output that leaks, from its cycle with all tools shut [-]: ``T / (T + t)``.

    T time loaded [s], t time unloaded [s]. Source [4]_.

    Worked example: 1.5 min on, 8.5 min off: 15 %.

    >>> leak_share(90.0, 510.0)
    0.15
    """
    above_zero("loaded_s", loaded_s, "s")
    zero_or_more("unloaded_s", unloaded_s, "s")
    return loaded_s / (loaded_s + unloaded_s)


def leak_from_pump_down(
    volume_m3: float, from_pa: float, to_pa: float, time_s: float, barometric_pa: float
) -> float:
    """Leak at working pressure from the fall of pressure, compressor off [m3/s free]: ``1.25 V (p1-p2)/(T
    pa)``.

    V volume of receiver and lines [m3], p1, p2 gauge pressures at start and end [Pa], T time [s], pa
    barometer [Pa]. The 1.25 brings the leak up from the lower mean pressure (p2 about half of p1). Source
    [4]_.

    Worked example: 80 gal from 100 to 50 psig in 10 min: 4.547 ft3/min.

    >>> from estimator.hydraulics.air_reference import PSI_PA
    >>> q = leak_from_pump_down(80 * 3.785411784e-3, 100 * PSI_PA, 50 * PSI_PA, 600.0, 14.7 * PSI_PA)
    >>> round(q * 60 / 0.3048**3, 3)
    4.547
    """
    above_zero("volume_m3", volume_m3, "m3")
    above_zero("from_pa", from_pa, "Pa")
    within("to_pa", to_pa, 0.0, from_pa, "Pa", "the pressure falls")
    above_zero("time_s", time_s, "s")
    above_zero("barometric_pa", barometric_pa, "Pa")
    return 1.25 * volume_m3 * (from_pa - to_pa) / (time_s * barometric_pa)


def gun_air(stated: FreeAir, stated_pa: float, working_pa: float, barometric_pa: float) -> FreeAir:
    """Air that a foam or blow-off gun uses at another pressure than the one it is stated at.

    The opening that lets the stated air through at the stated pressure, at the working one: ``Q = Q_stated
    m(p) / m(p_stated)``, m as :func:`orifice_mass_flow` out to the barometer. Where both choke, that is above ``pa
    (1/0.528282 - 1)``, about 0.9 bar at sea level, this is ``(p + pa) / (p_stated + pa)``. Q free air [m3/s], p gauge
    pressures at the gun [Pa], stated above 0, working 0 or more, pa barometer [Pa]. Source [3]_.

    Worked example: 200 L/min at 6 bar is 142.9 L/min at 4 bar (pa 1 bar).

    >>> from estimator.hydraulics.air_reference import ANR
    >>> round(60000.0 * gun_air(FreeAir(200.0 / 60000.0, ANR), 6e5, 4e5, 1e5).flow_m3_s, 1)
    142.9
    """
    above_zero("stated_pa", stated_pa, "Pa")
    zero_or_more("working_pa", working_pa, "Pa")
    above_zero("barometric_pa", barometric_pa, "Pa")
    # Bore and coefficient fall out of the ratio.
    here = orifice_mass_flow(1.0, working_pa + barometric_pa, barometric_pa)
    there = orifice_mass_flow(1.0, stated_pa + barometric_pa, barometric_pa)
    return FreeAir(stated.flow_m3_s * here / there, stated.reference)


def site_delivery(plate: FreeAir, barometric_pa: float, temperature_k: float = 293.15) -> FreeAir:
    """What a compressor gives at the site, at the conditions of its plate: ``Q (pa/p_ref) (T_ref/T)``.

    A displacement compressor takes in its plate volume of whatever air there is. Q plate free air [m3/s], pa
    barometer [Pa], T intake temperature [K]. Thin air costs capacity; the loss of volumetric efficiency on
    top of that is not covered. Source [1]_ (conversion), common practice for the constant volume.

    Worked example: 600 L/min (ANR) at 3500 m and 20 degC: 394.7 L/min.

    >>> from estimator.hydraulics.air_reference import ANR
    >>> round(60000.0 * site_delivery(FreeAir(0.010, ANR), 65780.0).flow_m3_s, 1)
    394.7
    """
    at_site = FreeAir(plate.flow_m3_s, site_reference(barometric_pa, temperature_k))
    return at_site.to(plate.reference)
