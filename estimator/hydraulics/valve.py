"""Guns and valves by their flow coefficient.

Sources
-------
.. [1] Definition: Kv is the flow of water [m3/h] at 1 bar loss; IEC 60534-2-1, water of 15 degC, 999.1 kg/m3
   (from memory).
.. [2] A spring that holds its cracking pressure at every flow: common practice (no source).
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from estimator.hydraulics.friction import FloatArray
from estimator.hydraulics.limits import above_zero, zero_or_more

KV_DENSITY_KG_M3: Final = 999.1
"""Density of the water that Kv is defined with, kg/m3 (source [1])."""
BAR_PA: Final = 1e5
"""1 bar in Pa, exact."""


def coefficient_from_kv(kv: float, density_kg_m3: float = KV_DENSITY_KG_M3) -> float:
    """Coefficient C [m3/(s Pa**0.5)] of ``q = C sqrt(dp)``: ``C = Kv/3600 sqrt(999.1/rho) / sqrt(1e5)``.

    Kv [m3/h at 1 bar], rho density of the liquid [kg/m3], both above 0. Turbulent flow only: a thick liquid
    loses more. Source [1]_.

    Worked example: Kv 0.36 passes 6 L/min of that water at 1 bar.

    >>> round(60000.0 * coefficient_from_kv(0.36) * 1e5 ** 0.5, 9)
    6.0
    """
    above_zero("kv", kv, "m3/h at 1 bar")
    above_zero("density_kg_m3", density_kg_m3, "kg/m3")
    return kv / 3600.0 * math.sqrt(KV_DENSITY_KG_M3 / density_kg_m3 / BAR_PA)


def k_from_kv(kv: float, bore_m: float) -> float:
    """Loss coefficient of a valve in a bore [-], for ``dp = K rho V**2 / 2``: ``K = 2 A**2 / (rho C**2)``.

    Kv [m3/h at 1 bar], d bore [m] whose area A the velocity V is of, both above 0; C as in
    :func:`coefficient_from_kv`, so that it is the same for every liquid. Source [1]_.

    Worked example: Kv 0.45 in 6 mm.

    >>> round(k_from_kv(0.45, 6e-3), 2)
    10.24
    """
    area = 0.25 * math.pi * above_zero("bore_m", bore_m, "m") ** 2
    return 2.0 * area**2 / (KV_DENSITY_KG_M3 * coefficient_from_kv(kv) ** 2)


def loss(flow_m3_s: float, kv: float, density_kg_m3: float = KV_DENSITY_KG_M3) -> float:
    """Pressure loss of a gun or valve [Pa]: ``dp = (q / C)**2``, C as in :func:`coefficient_from_kv`.

    q flow [m3/s], 0 or more; Kv [m3/h at 1 bar]; rho density [kg/m3]. Source [1]_.

    Worked example: 3 L/min through Kv 0.36 loses a quarter of a bar.

    >>> round(loss(3.0 / 60000.0, 0.36))
    25000
    """
    zero_or_more("flow_m3_s", flow_m3_s, "m3/s")
    return (flow_m3_s / coefficient_from_kv(kv, density_kg_m3)) ** 2


def check_valve_losses(
    flow_m3_s: FloatArray, kv: float, cracking_pa: float, density_kg_m3: float = KV_DENSITY_KG_M3
) -> FloatArray:
    """Pressure loss of a check valve with a spring [Pa]: ``dp = p_crack + (q / C)**2``, shaped like the flows.

    q flow [m3/s], 0 or more (not checked here); Kv of the open valve [m3/h at 1 bar], p_crack pressure that begins
    to open it [Pa], both from its maker. At rest it holds p_crack back. The spring counts in full at every flow: the
    safe side, as a maker may have measured Kv with the spring in it; the loss is never less than the larger of the
    two. Sources [1]_, [2]_.

    Worked example: Kv 0.36 and 3 kPa at 3 L/min.

    >>> check_valve_losses(np.array([0.0, 3.0 / 60000.0]), 0.36, 3e3).round(6).tolist()
    [3000.0, 28000.0]
    """
    zero_or_more("cracking_pa", cracking_pa, "Pa")
    lost: FloatArray = cracking_pa + np.square(flow_m3_s / coefficient_from_kv(kv, density_kg_m3))
    return lost


def in_series(*coefficients: float) -> float:
    """One coefficient [m3/(s Pa**0.5)] for parts passed one after another: ``1/C**2 = sum(1/Ci**2)``.

    Ci coefficient of each part [m3/(s Pa**0.5)], all above 0; at least one. It joins the gun to its nozzle.
    The pressure at the nozzle is then ``(q / C_nozzle)**2``. Losses that go as q**2 add up: source [1]_.

    Worked example: two equal parts pass 1/sqrt(2) of one.

    >>> round(in_series(1.0e-7, 1.0e-7) * 1e7, 6)
    0.707107
    """
    if not coefficients:
        raise ValueError("coefficients: give at least one")
    resistance = sum(above_zero("coefficients", c, "m3/(s Pa^0.5)") ** -2 for c in coefficients)
    return 1.0 / math.sqrt(resistance)
