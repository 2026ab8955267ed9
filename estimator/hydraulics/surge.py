"""Water hammer: the surge when a gun shuts, and pressure that warmth makes in a shut line.

Sources
-------
.. [1] Joukowsky (1898): ``dp = rho a dv``; speed of the wave in a thin elastic tube, Korteweg (1878):
   ``a = sqrt(K/rho) / sqrt(1 + (K/E)(D/e))``, free to move lengthways. Any text on water hammer.
.. [2] Michaud (1878): a shutting slower than the wave's way there and back. From memory.
.. [3] Bulk modulus of water 2.2 GPa: handbook value, from memory; moduli of plastics differ by grade, temperature
   and speed of load, by a factor of two and more: the maker's data wins.
.. [4] Closed line that warms: free expansion of liquid less that of the tube, over what both yield; elasticity.
"""

from __future__ import annotations

import math
from typing import Final

from estimator.hydraulics.limits import above_zero, zero_or_more

WATER_BULK_PA: Final = 2.2e9
"""Bulk modulus of water, Pa (source [3])."""


def wave_speed(
    bore_m: float, wall_m: float, modulus_pa: float, density_kg_m3: float, bulk_pa: float = WATER_BULK_PA
) -> float:
    """Speed of a pressure wave in a tube [m/s]: ``a = sqrt(K/rho) / sqrt(1 + (K/E)(D/e))``.

    D bore [m], e wall [m], E modulus of the tube's material [Pa], rho density [kg/m3], K bulk modulus of the liquid
    [Pa]; all above 0. Thin wall, no air in the liquid: a little air slows the wave much. Source [1]_.

    Worked example: bore 6 mm, wall 1 mm, E 0.25 GPa (soft polyethylene, from memory).

    >>> round(wave_speed(6e-3, 1e-3, 0.25e9, 998.2), 2)
    202.4
    """
    above_zero("bore_m", bore_m, "m")
    above_zero("wall_m", wall_m, "m")
    above_zero("modulus_pa", modulus_pa, "Pa")
    above_zero("density_kg_m3", density_kg_m3, "kg/m3")
    above_zero("bulk_pa", bulk_pa, "Pa")
    return math.sqrt(bulk_pa / density_kg_m3 / (1.0 + bulk_pa / modulus_pa * bore_m / wall_m))


def surge(density_kg_m3: float, wave_m_s: float, stopped_m_s: float) -> float:
    """Rise of pressure when a flow is stopped at once [Pa]: ``dp = rho a dv``.

    rho density [kg/m3], a speed of the wave [m/s], dv velocity stopped [m/s], 0 or more. It comes on top of the
    pressure while the water flows. Source [1]_.

    Worked example: 1.62 m/s at 202.40 m/s.

    >>> round(1e-5 * surge(998.2, 202.40, 1.62), 3)
    3.273
    """
    above_zero("density_kg_m3", density_kg_m3, "kg/m3")
    above_zero("wave_m_s", wave_m_s, "m/s")
    return density_kg_m3 * wave_m_s * zero_or_more("stopped_m_s", stopped_m_s, "m/s")


def surge_of_closing(
    density_kg_m3: float, wave_m_s: float, stopped_m_s: float, length_m: float, closing_s: float
) -> float:
    """Rise of pressure when a flow is stopped in a time [Pa]: ``rho a dv``, or ``2 rho L dv / t`` where less.

    L length of tube to the next tank or wide line [m], t closing time [s], 0 or more; the rest as :func:`surge`. The
    wave needs ``2 L / a`` to come back: a gun that shuts within it makes the full surge. Sources [1]_, [2]_.

    Worked example: 25 m of the tube above shut in half a second, and in a tenth (the wave is back after 0.247 s).

    >>> round(1e-5 * surge_of_closing(998.2, 202.40, 1.62, 25.0, 0.5), 3)
    1.617
    >>> surge_of_closing(998.2, 202.40, 1.62, 25.0, 0.1) == surge(998.2, 202.40, 1.62)
    True
    """
    full = surge(density_kg_m3, wave_m_s, stopped_m_s)
    zero_or_more("length_m", length_m, "m")
    back = 2.0 * length_m / wave_m_s
    return full if zero_or_more("closing_s", closing_s, "s") <= back else full * back / closing_s


def trapped_rise(
    warming_k: float,
    bore_m: float,
    wall_m: float,
    modulus_pa: float,
    liquid_expansion_1_k: float,
    tube_expansion_1_k: float,
    bulk_pa: float = WATER_BULK_PA,
) -> float:
    """Rise of pressure in a full, shut tube that warms [Pa]: ``(b - 3 c) dT / (1/K + D/(E e))``.

    dT warming [K], 0 or more; b volume expansion of the liquid and c linear one of the tube [1/K], 0 or more; the rest
    as :func:`wave_speed`. Where the tube grows more than the liquid it is 0. Thin wall, no air, nothing yields but the
    tube; a plastic tube creeps, so it is an upper end. Source [4]_.

    Worked example: water from 15 to 30 degC (0.00022 per K, handbook, from memory) in a tube that hardly expands.

    >>> round(1e-5 * trapped_rise(15.0, 6e-3, 1e-3, 0.25e9, 2.2e-4, 1e-5), 2)
    1.17
    """
    zero_or_more("warming_k", warming_k, "K")
    above_zero("bore_m", bore_m, "m")
    above_zero("wall_m", wall_m, "m")
    above_zero("modulus_pa", modulus_pa, "Pa")
    above_zero("bulk_pa", bulk_pa, "Pa")
    zero_or_more("liquid_expansion_1_k", liquid_expansion_1_k, "1/K")
    zero_or_more("tube_expansion_1_k", tube_expansion_1_k, "1/K")
    free = (liquid_expansion_1_k - 3.0 * tube_expansion_1_k) * warming_k
    return max(free, 0.0) / (1.0 / bulk_pa + bore_m / (modulus_pa * wall_m))
