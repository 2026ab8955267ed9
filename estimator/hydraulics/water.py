"""Water between freezing and 60 degC: density, viscosity, vapour pressure.

At atmospheric pressure; 1 MPa more adds 0.05 % to the density and changes the viscosity by less than 0.1 %.

Sources
-------
.. [1] Kell, G. S. (1975). Density, thermal expansivity, and compressibility of liquid water from 0 to 150
   degC. J. Chem. Eng. Data 20, 97-105, equation 16.
.. [2] IAPWS R12-08 (2008). Release on the IAPWS Formulation 2008 for the Viscosity of Ordinary Water
   Substance, with the critical enhancement left out (its industrial form).
.. [3] Wagner, W. and Pruss, A. (1993). International equations for the saturation properties of ordinary
   water substance. J. Phys. Chem. Ref. Data 22, 783-787.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from estimator.hydraulics.limits import above_zero, within

FREEZING_K: Final = 273.15
"""0 degC in kelvin, exact by definition."""
TEMPERATURE_MIN_K: Final = 273.15
"""Coldest water taken, K (0 degC)."""
TEMPERATURE_MAX_K: Final = 333.15
"""Hottest water taken, K (60 degC)."""

_T_CRITICAL_K: Final = 647.096
_RHO_CRITICAL_KG_M3: Final = 322.0
_P_CRITICAL_PA: Final = 22.064e6
_KELL: Final = (999.83952, 16.945176, -7.9870401e-3, -46.170461e-6, 105.56302e-9, -280.54253e-12)
_KELL_BELOW: Final = 16.879850e-3
_VISCOSITY_0: Final = (1.67752, 2.20462, 0.6366564, -0.241605)
# (power of 1/T - 1, power of rho - 1, coefficient), both reduced.
_VISCOSITY_1: Final = (
    (0, 0, 5.20094e-1),
    (1, 0, 8.50895e-2),
    (2, 0, -1.08374),
    (3, 0, -2.89555e-1),
    (0, 1, 2.22531e-1),
    (1, 1, 9.99115e-1),
    (2, 1, 1.88797),
    (3, 1, 1.26613),
    (5, 1, 1.20573e-1),
    (0, 2, -2.81378e-1),
    (1, 2, -9.06851e-1),
    (2, 2, -7.72479e-1),
    (3, 2, -4.89837e-1),
    (4, 2, -2.57040e-1),
    (0, 3, 1.61913e-1),
    (1, 3, 2.57399e-1),
    (0, 4, -3.25372e-2),
    (3, 4, 6.98452e-2),
    (4, 5, 8.72102e-3),
    (3, 6, -4.35673e-3),
    (5, 6, -5.93264e-4),
)
_SATURATION: Final = (
    (1.0, -7.85951783),
    (1.5, 1.84408259),
    (3.0, -11.7866497),
    (3.5, 22.6807411),
    (4.0, -15.9618719),
    (7.5, 1.80122502),
)


@dataclass(frozen=True, slots=True)
class Water:
    """Water at one temperature: temperature [K], density [kg/m3], dynamic viscosity [Pa s], vapour pressure
    [Pa]."""

    temperature_k: float
    density_kg_m3: float
    viscosity_pa_s: float
    vapour_pressure_pa: float


@lru_cache(maxsize=64)  # every drop and every tank of a shop asks for the same few temperatures
def water(temperature_k: float) -> Water:
    """All properties of water at one temperature.

    Equations, symbols and sources: :func:`density`, :func:`viscosity`, :func:`vapour_pressure`.
    Temperature [K], valid 273.15 to 333.15 K; outside it :class:`~estimator.hydraulics.limits.OutOfRange` is
    raised.

    Worked example: 20 degC.

    >>> w = water(293.15)
    >>> round(w.density_kg_m3, 1), round(1e3 * w.viscosity_pa_s, 4), round(1e-3 * w.vapour_pressure_pa, 3)
    (998.2, 1.0016, 2.339)
    """
    rho = density(temperature_k)
    return Water(temperature_k, rho, viscosity(temperature_k, rho), vapour_pressure(temperature_k))


def density(temperature_k: float) -> float:
    """Density of water at 101.325 kPa [kg/m3]: ``rho = sum(a_i t**i) / (1 + b t)``, i = 0..5.

    t temperature [degC] (argument [K]), a_i and b the coefficients of source [1]_. Valid 273.15 to 333.15 K
    (the source goes to 150 degC); OutOfRange outside.

    Worked example: 20 degC.

    >>> round(density(293.15), 2)
    998.2
    """
    t = _temperature(temperature_k) - FREEZING_K
    top = 0.0
    for coefficient in reversed(_KELL):
        top = top * t + coefficient
    return top / (1.0 + _KELL_BELOW * t)


def viscosity(temperature_k: float, density_kg_m3: float | None = None) -> float:
    """Dynamic viscosity of water [Pa s]: ``mu = 1e-6 mu0(T) mu1(T, rho)``.

    ``mu0 = 100 sqrt(Tr) / sum(H_i / Tr**i)``, ``mu1 = exp(rr sum(H_ij (1/Tr - 1)**i (rr - 1)**j))``,
    ``Tr = T / 647.096 K``, ``rr = rho / 322 kg/m3``; T temperature [K], rho density [kg/m3] (from
    :func:`density` if not given), H the coefficients of source [2]_. Valid 273.15 to 333.15 K here (the
    source goes to 1173 K); OutOfRange outside.

    Worked example: the check point of the source, 298.15 K and 998 kg/m3, is 889.735100 uPa s.

    >>> f"{1e6 * viscosity(298.15, 998.0):.6f}"
    '889.735100'
    """
    temperature = _temperature(temperature_k)
    rho = (
        density(temperature) if density_kg_m3 is None else above_zero("density_kg_m3", density_kg_m3, "kg/m3")
    )
    return iapws_viscosity(temperature, rho)


def iapws_viscosity(temperature_k: float, density_kg_m3: float) -> float:
    """The equation of :func:`viscosity` over the whole range of its source [2]_: 273.15 to 1173.15 K [Pa s].

    T temperature [K], rho density [kg/m3]. Worked example: the check point 373.15 K, 1000 kg/m3: 307.883623
    uPa s.

    >>> f"{1e6 * iapws_viscosity(373.15, 1000.0):.5f}"
    '307.88362'
    """
    within("temperature_k", temperature_k, 273.15, 1173.15, "K")
    above_zero("density_kg_m3", density_kg_m3, "kg/m3")
    reduced_t = temperature_k / _T_CRITICAL_K
    reduced_rho = density_kg_m3 / _RHO_CRITICAL_KG_M3
    below = sum(h / reduced_t**i for i, h in enumerate(_VISCOSITY_0))
    x, y = 1.0 / reduced_t - 1.0, reduced_rho - 1.0
    exponent = reduced_rho * math.fsum(h * x**i * y**j for i, j, h in _VISCOSITY_1)
    return 1e-6 * 100.0 * math.sqrt(reduced_t) / below * math.exp(exponent)


def vapour_pressure(temperature_k: float) -> float:
    """Saturation pressure of water [Pa]: ``ln(p/pc) = (Tc/T) sum(a_i x**n_i)``, ``x = 1 - T/Tc``.

    T temperature [K], Tc 647.096 K, pc 22.064 MPa, a_i and n_i the coefficients of source [3]_. Valid 273.15
    to 333.15 K here (the source goes to the critical point); OutOfRange outside.

    Worked example: 20 degC, 2.339 kPa.

    >>> round(vapour_pressure(293.15))
    2339
    """
    reduced = _temperature(temperature_k) / _T_CRITICAL_K
    x = 1.0 - reduced
    return _P_CRITICAL_PA * math.exp(sum(a * math.pow(x, n) for n, a in _SATURATION) / reduced)


def _temperature(temperature_k: float) -> float:
    return within("temperature_k", temperature_k, TEMPERATURE_MIN_K, TEMPERATURE_MAX_K, "K")
