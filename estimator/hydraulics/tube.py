"""Loss of pressure in a straight round tube that runs full.

Sources
-------
.. [1] Darcy-Weisbach, as in White, F. M., Fluid Mechanics, chapter 6.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from estimator.hydraulics.friction import friction


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
    mean velocity [m/s]. Valid as :func:`estimator.hydraulics.friction.friction`. Source [1]_.
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
