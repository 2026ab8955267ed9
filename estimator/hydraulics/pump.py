"""Air-operated diaphragm pump, ratio 1:1.

The liquid leaves at the air pressure set at the regulator, less a droop that grows with the flow. The shipped
coefficients are generic demo data; a maker's points make a curve by :func:`fit_curve`.

Sources
-------
.. [1] Droop linear and quadratic in flow: an empirical fit, common practice (no source).
.. [2] Positive displacement at a ratio of 1:1: each stroke fills the liquid's volume with air at line
   pressure; ideal gas. A real pump uses more (dead volume, overdrive), by a factor that only its maker or a
   test can give.
.. [3] U.S. Standard Atmosphere 1976 (ISO 2533), troposphere.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from estimator.hydraulics.limits import OutOfRange, above_zero, within, zero_or_more

STANDARD_ATMOSPHERE_PA: Final = 101325.0
"""Standard atmosphere, Pa, exact."""
ALTITUDE_RANGE_M: Final = (-430.0, 5000.0)
"""Altitude taken for a shop, m."""


@dataclass(frozen=True, slots=True)
class PumpCurve:
    """Droop and limits of a pump.

    ``linear_pa_s_m3`` a [Pa s/m3] and ``quadratic_pa_s2_m6`` b [Pa s2/m6] of the droop ``a q + b q**2``, both
    0 or more; ``max_flow_m3_s`` [m3/s]; ``max_air_pa`` highest air pressure allowed, gauge [Pa];
    ``air_factor`` air used over ideal air [-], 1 or more. They go straight into a network's source.
    """

    linear_pa_s_m3: float
    quadratic_pa_s2_m6: float
    max_flow_m3_s: float
    max_air_pa: float
    air_factor: float

    def __post_init__(self) -> None:
        """Raises OutOfRange naming the field."""
        zero_or_more("linear_pa_s_m3", self.linear_pa_s_m3, "Pa s/m3")
        zero_or_more("quadratic_pa_s2_m6", self.quadratic_pa_s2_m6, "Pa s2/m6")
        above_zero("max_flow_m3_s", self.max_flow_m3_s, "m3/s")
        above_zero("max_air_pa", self.max_air_pa, "Pa")
        within("air_factor", self.air_factor, 1.0, 10.0, "-", "a pump uses at least the ideal air")


@dataclass(frozen=True, slots=True)
class PumpState:
    """A pump at one flow: discharge gauge pressure [Pa] and what is not kept (empty: valid)."""

    pressure_pa: float
    outside: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MakerPoint:
    """One point of a maker's curve: air pressure (gauge) [Pa], flow [m3/s], discharge pressure (gauge)
    [Pa]."""

    air_pa: float
    flow_m3_s: float
    discharge_pa: float


@dataclass(frozen=True, slots=True)
class PumpFit:
    """A curve through a maker's points: the coefficients [Pa s/m3], [Pa s2/m6], the worst error [Pa], the droop that
    is left out ("linear", "quadratic", "" for none), and the points that are missed: number from 1, how much [Pa]."""

    linear_pa_s_m3: float
    quadratic_pa_s2_m6: float
    worst_error_pa: float
    left_out: str
    missed: tuple[tuple[int, float], ...]


def discharge(curve: PumpCurve, regulator_pa: float, flow_m3_s: float) -> PumpState:
    """Discharge pressure of the pump, gauge: ``p = p_reg - a q - b q**2``.

    p_reg regulator setting, gauge [Pa], 0 or more; q flow [m3/s], 0 or more; a, b of the curve. Beyond its
    flow or air limit the point says so; a flow that the setting cannot push comes out below 0 and says so.
    Source [1]_.

    Worked example: 4 bar, droop 2 kPa per L/min and 0.5 kPa per (L/min)2, 10 L/min: 330 kPa.

    >>> c = PumpCurve(2e3 * 60000.0, 0.5e3 * 60000.0**2, 20.0 / 60000.0, 7e5, 1.5)
    >>> round(discharge(c, 4e5, 10.0 / 60000.0).pressure_pa)
    330000
    """
    zero_or_more("regulator_pa", regulator_pa, "Pa")
    zero_or_more("flow_m3_s", flow_m3_s, "m3/s")
    pressure = regulator_pa - flow_m3_s * (curve.linear_pa_s_m3 + curve.quadratic_pa_s2_m6 * flow_m3_s)
    notes: list[str] = []
    if regulator_pa > curve.max_air_pa:
        notes.append(
            f"pump: air at {1e-3 * regulator_pa:.0f} kPa is above the {1e-3 * curve.max_air_pa:.0f} kPa "
            "it may have"
        )
    if flow_m3_s > curve.max_flow_m3_s:
        notes.append(
            f"pump: {60000.0 * flow_m3_s:.3g} L/min is above the {60000.0 * curve.max_flow_m3_s:.3g} L/min "
            "it moves"
        )
    if pressure < 0.0:
        notes.append(f"pump: {60000.0 * flow_m3_s:.3g} L/min is more than this air pressure pushes")
    return PumpState(pressure, tuple(notes))


def fit_curve(points: Sequence[MakerPoint]) -> PumpFit:
    """Droop coefficients from a maker's points, by least squares of ``p_air - p = a q + b q**2`` with a, b >=
    0.

    points: two or more, at two or more flows above 0. Raises ValueError that names the point for a discharge
    above the air pressure or too few points. Where the free fit has a negative coefficient the other one
    alone is fitted and ``left_out`` names it; ``missed`` are the points missed by more than 5 % of their air
    pressure. Source [1]_.

    Worked example: points made with a 1 kPa per L/min and b 0.2 kPa per (L/min)2 give these back.

    >>> made = [MakerPoint(5e5, q / 60000.0, 5e5 - 1e3 * q - 200.0 * q * q) for q in (2.0, 5.0, 10.0)]
    >>> fit = fit_curve(made)
    >>> round(fit.linear_pa_s_m3 / 60000.0), round(fit.quadratic_pa_s2_m6 / 60000.0**2)
    (1000, 200)
    """
    droops, flows = [], []
    for number, point in enumerate(points, 1):
        zero_or_more(f"point {number} air_pa", point.air_pa, "Pa")
        zero_or_more(f"point {number} flow_m3_s", point.flow_m3_s, "m3/s")
        zero_or_more(f"point {number} discharge_pa", point.discharge_pa, "Pa")
        if point.discharge_pa > point.air_pa:
            raise OutOfRange(
                f"point {number} discharge_pa",
                point.discharge_pa,
                0.0,
                point.air_pa,
                "Pa",
                "a pump of ratio 1:1 cannot give more than its air pressure",
            )
        droops.append(point.air_pa - point.discharge_pa)
        flows.append(point.flow_m3_s)
    if len({flow for flow in flows if flow > 0.0}) < 2:
        raise ValueError("points: give points at two or more flows above 0")
    scale = max(flows)
    x = np.asarray(flows) / scale
    y = np.asarray(droops)
    left_out = ""
    (a, b), *_ = np.linalg.lstsq(np.column_stack((x, x * x)), y, rcond=None)
    # A coefficient of rounding size below 0 is 0.
    tiny = 1e-9 * max(float(y.max()), 1.0)
    if a < -tiny:
        left_out = "linear"
    elif b < -tiny:
        left_out = "quadratic"
    if a < 0.0:
        a, b = 0.0, float(x**2 @ y / (x**2 @ x**2))
    elif b < 0.0:
        a, b = float(x @ y / (x @ x)), 0.0
    error = np.abs(a * x + b * x * x - y)
    missed = tuple(
        (number, float(miss))
        for number, (miss, point) in enumerate(zip(error, points, strict=True), 1)
        if miss > 0.05 * point.air_pa
    )
    return PumpFit(float(a) / scale, float(b) / scale**2, float(error.max()), left_out, missed)


def barometric_pressure(altitude_m: float) -> float:
    """Barometric pressure [Pa]: ``p = 101325 (1 - 0.0065 H / 288.15)**5.255876``, ``H = 6356766 h/(6356766 +
    h)``.

    h altitude [m], H geopotential altitude [m]. Valid -430 to 5000 m here (the source goes to 11 km);
    OutOfRange outside. Weather moves it by some 3 % either way. Source [3]_.

    Worked example: 3500 m.

    >>> round(barometric_pressure(3500.0))
    65780
    """
    within("altitude_m", altitude_m, *ALTITUDE_RANGE_M, "m")
    geopotential = 6356766.0 * altitude_m / (6356766.0 + altitude_m)
    # 5.255876 = g0 M / (R L) = 9.80665 * 28.9644 / (8314.32 * 0.0065)
    return STANDARD_ATMOSPHERE_PA * math.pow(1.0 - 0.0065 * geopotential / 288.15, 5.255876113)


def ideal_free_air(flow_m3_s: float, air_pa: float, barometric_pa: float = STANDARD_ATMOSPHERE_PA) -> float:
    """Least free air that a 1:1 pump can use [m3/s at the barometer]: ``Q = q (p + pa) / pa``.

    q liquid flow [m3/s], 0 or more; p air pressure at the pump, gauge [Pa], 0 or more; pa barometric pressure
    [Pa]. Isothermal, no dead volume: a lower bound. Source [2]_.

    Worked example: 2 gal/min at 80 psig: 1.72278 ft3/min.

    >>> q = 2.0 * 3.785411784e-3 / 60.0
    >>> air = ideal_free_air(q, 80.0 * 6894.757293168, 14.696 * 6894.757293168)
    >>> round(air * 60.0 / 0.3048**3, 5)
    1.72278
    """
    zero_or_more("flow_m3_s", flow_m3_s, "m3/s")
    zero_or_more("air_pa", air_pa, "Pa")
    above_zero("barometric_pa", barometric_pa, "Pa")
    return flow_m3_s * (air_pa + barometric_pa) / barometric_pa


def free_air_used(
    curve: PumpCurve, flow_m3_s: float, regulator_pa: float, barometric_pa: float = STANDARD_ATMOSPHERE_PA
) -> float:
    """Free air that the pump uses [m3/s at the barometer]: :func:`ideal_free_air` times the curve's air
    factor.

    Arguments as there; the factor is the user's, 1 or more. Source [2]_.

    Worked example: factor 1.5, 6 L/min at 4 bar: 44.5 L/min of free air.

    >>> c = PumpCurve(1e8, 1e12, 4e-4, 7e5, 1.5)
    >>> round(60000.0 * free_air_used(c, 6.0 / 60000.0, 4e5), 1)
    44.5
    """
    return curve.air_factor * ideal_free_air(flow_m3_s, regulator_pa, barometric_pa)
