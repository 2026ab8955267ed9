"""One part at a time, as by hand: tube, coil hose, fittings and tip by the program's friction and discharge factors.

The program solves whole networks in arrays and asks only for factors; here the same factors make single losses, so
that textbook examples of a single tube can be held against them, and a solved network against the sum of its parts.

Sources
-------
.. [1] Darcy-Weisbach, as in White, F. M., Fluid Mechanics, chapter 6.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from estimator.hydraulics.coil import coil_group_and_slope, coil_outside
from estimator.hydraulics.friction import friction
from estimator.hydraulics.limits import above_zero, zero_or_more
from estimator.hydraulics.orifice import discharge_coefficient, outside_limits


@dataclass(frozen=True, slots=True)
class TubeLoss:
    """What a flow does in a tube.

    ``loss_pa`` friction loss [Pa], ``velocity_m_s`` mean velocity [m/s], ``reynolds`` [-], ``factor`` Darcy
    factor [-] (0 at rest), ``outside`` the limits of validity that are not kept (empty: valid).
    """

    loss_pa: float
    velocity_m_s: float
    reynolds: float
    factor: float
    outside: tuple[str, ...]


def velocity(flow_m3_s: float, bore_m: float) -> float:
    """Mean velocity [m/s]: ``V = 4 q / (pi d**2)``.

    q flow [m3/s], d bore [m]. Valid for any q and d > 0. Source [1]_. Raises ValueError naming the field.

    Worked example: 15 L/min in 12.7 mm is 1.9735 m/s.

    >>> round(velocity(15.0 / 60000.0, 0.0127), 4)
    1.9735
    """
    _finite("flow_m3_s", flow_m3_s)
    require_positive("bore_m", bore_m)
    return 4.0 * flow_m3_s / (math.pi * bore_m * bore_m)


def reynolds(flow_m3_s: float, bore_m: float, density_kg_m3: float, viscosity_pa_s: float) -> float:
    """Reynolds number [-]: ``Re = 4 rho |q| / (pi d mu)``.

    q flow [m3/s], d bore [m], rho density [kg/m3], mu dynamic viscosity [Pa s]; all but q above 0. Source
    [1]_.

    Worked example: water at 20 C, 15 L/min in 12.7 mm: Re 24 979.

    >>> round(reynolds(15.0 / 60000.0, 0.0127, 998.207, 1.0016e-3))
    24979
    """
    require_positive("density_kg_m3", density_kg_m3)
    require_positive("viscosity_pa_s", viscosity_pa_s)
    return density_kg_m3 * abs(velocity(flow_m3_s, bore_m)) * bore_m / viscosity_pa_s


def tube_loss(
    flow_m3_s: float,
    length_m: float,
    bore_m: float,
    roughness_m: float,
    density_kg_m3: float,
    viscosity_pa_s: float,
) -> TubeLoss:
    """Friction loss of a straight tube: ``dp = f (L/d) rho V**2 / 2``.

    dp loss [Pa], signed like the flow; f Darcy factor [-]; L length [m]; d bore [m]; rho density [kg/m3]; V
    mean velocity [m/s]. Valid as ``friction``. Source [1]_.
    Raises ValueError naming the field for a length or roughness below 0, or a bore, density or viscosity not
    above 0.

    Worked example: water at 20 C, 10 m of 12.7 mm drawn tubing at 15 L/min loses 37.98 kPa.

    >>> loss = tube_loss(15.0 / 60000.0, 10.0, 0.0127, 1.5e-6, 998.207, 1.0016e-3)
    >>> round(loss.loss_pa)
    37983
    """
    require_not_negative("length_m", length_m)
    require_not_negative("roughness_m", roughness_m)
    speed = velocity(flow_m3_s, bore_m)
    re = reynolds(flow_m3_s, bore_m, density_kg_m3, viscosity_pa_s)
    at = friction(re, roughness_m / bore_m)
    loss = at.group * length_m * viscosity_pa_s**2 / (2.0 * density_kg_m3 * bore_m**3)
    return TubeLoss(math.copysign(loss, flow_m3_s), speed, re, at.factor, at.outside)


def require_positive(field: str, value: float) -> None:
    """Raise ValueError naming the field unless the value is finite and above 0."""
    if not (math.isfinite(value) and value > 0.0):
        raise ValueError(f"{field}: {value!r} is not usable; give a finite number above 0")


def require_not_negative(field: str, value: float) -> None:
    """Raise ValueError naming the field unless the value is finite and 0 or more."""
    if not (math.isfinite(value) and value >= 0.0):
        raise ValueError(f"{field}: {value!r} is not usable; give a finite number of 0 or more")


def _finite(field: str, value: float) -> None:
    if not math.isfinite(value):
        raise ValueError(f"{field}: {value!r} is not usable; give a finite number")


def coil_loss(
    flow_m3_s: float,
    length_m: float,
    bore_m: float,
    coil_diameter_m: float,
    roughness_m: float,
    density_kg_m3: float,
    viscosity_pa_s: float,
) -> TubeLoss:
    """Friction loss of a coil hose: ``dp = f (L/d) rho V**2 / 2`` with f the largest of three (see the
    module).

    dp loss [Pa], signed like the flow; L stretched-out length [m]; d bore [m]; D mean coil diameter [m],
    above d. Valid 0.00116 < d/D < 0.1 and Re <= 2e5; a result outside says so. Sources as coil.py.
    Raises ValueError naming the field.

    Worked example: 4.572 m of 4.318 mm hose, coil 63.5 mm, water at 20 C, 1 L/min: near 36 kPa, where the
    same hose straight loses near 26 kPa.

    >>> loss = coil_loss(1.0 / 60000.0, 4.572, 4.318e-3, 63.5e-3, 0.0, 998.207, 1.0016e-3)
    >>> round(loss.loss_pa / 1000.0, 1)
    36.0
    """
    require_not_negative("length_m", length_m)
    require_not_negative("roughness_m", roughness_m)
    require_positive("coil_diameter_m", coil_diameter_m)
    speed = velocity(flow_m3_s, bore_m)
    if coil_diameter_m <= bore_m:
        raise ValueError(f"coil_diameter_m: {coil_diameter_m!r} must be larger than the bore, {bore_m!r} m")
    re = reynolds(flow_m3_s, bore_m, density_kg_m3, viscosity_pa_s)
    curvature = bore_m / coil_diameter_m
    group, _ = coil_group_and_slope(re, roughness_m / bore_m, curvature)
    loss = group * length_m * viscosity_pa_s**2 / (2.0 * density_kg_m3 * bore_m**3)
    factor = group / re**2 if re > 0.0 else 0.0
    outside = coil_outside(re, roughness_m / bore_m, curvature)
    return TubeLoss(math.copysign(loss, flow_m3_s), speed, re, factor, outside)


def fitting_loss(
    flow_m3_s: float, k1: float, k: float, bore_m: float, density_kg_m3: float, viscosity_pa_s: float
) -> float:
    """Pressure loss of fittings [Pa]: ``dp = K1 mu V / (2 d) + K rho V**2 / 2``.

    q flow [m3/s], 0 or more; V mean velocity [m/s]; K1, K as ``sum_of`` [-]; d bore [m]; rho density
    [kg/m3]; mu viscosity [Pa s]. The same as ``(K1/Re + K) rho V**2/2``, and 0 at rest. Source [1]_.

    Worked example: one elbow (800, 0.40) in 6.35 mm, water of 20 degC at 1 m/s (Re 6328).

    >>> q = 3.14159265 / 4.0 * 0.00635**2
    >>> round(fitting_loss(q, 800.0, 2.0, 0.00635, 998.207, 1.0016e-3))
    1061
    """
    zero_or_more("flow_m3_s", flow_m3_s, "m3/s")
    zero_or_more("k1", k1, "-")
    zero_or_more("k", k, "-")
    above_zero("bore_m", bore_m, "m")
    above_zero("density_kg_m3", density_kg_m3, "kg/m3")
    above_zero("viscosity_pa_s", viscosity_pa_s, "Pa s")
    speed = flow_m3_s / (0.7853981633974483 * bore_m * bore_m)
    return 0.5 * k1 * viscosity_pa_s * speed / bore_m + 0.5 * k * density_kg_m3 * speed * speed


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


def orifice_flow(
    diameter_m: float, length_ratio: float, loss_pa: float, density_kg_m3: float, viscosity_pa_s: float
) -> OrificeFlow:
    """Flow through a bored tip: ``q = Cd pi d**2/4 sqrt(2 dp/rho)``, Cd as ``discharge_coefficient``.

    d bore [m], l/d length over bore [-], dp pressure over the tip [Pa] (0 or more), rho density [kg/m3], mu
    viscosity [Pa s]. Valid as that, no cavitation; ``outside`` says what is not
    kept. As Re falls the formula goes over into a flow in proportion to dp/mu, as it should. Source [1]_.

    Worked example: 1.0 mm, l/d 4, 20 kPa, 1000 kg/m3, 20 mPa s: 0.1575 L/min, a third less than with water.

    >>> round(60000.0 * orifice_flow(1e-3, 4.0, 20e3, 1000.0, 0.020).flow_m3_s, 4)
    0.1575
    """
    above_zero("diameter_m", diameter_m, "m")
    above_zero("length_ratio", length_ratio, "-")
    zero_or_more("loss_pa", loss_pa, "Pa")
    above_zero("density_kg_m3", density_kg_m3, "kg/m3")
    above_zero("viscosity_pa_s", viscosity_pa_s, "Pa s")
    ideal = math.sqrt(2.0 * loss_pa / density_kg_m3)
    reynolds = density_kg_m3 * ideal * diameter_m / viscosity_pa_s
    if reynolds == 0.0:
        return OrificeFlow(0.0, 0.0, 0.0, ())
    cd = discharge_coefficient(reynolds, length_ratio)
    area = 0.25 * math.pi * diameter_m * diameter_m
    return OrificeFlow(cd * area * ideal, reynolds, cd, outside_limits(reynolds, length_ratio))
