"""What stands between the street and the board: backflow assembly, reducing valve, hose, height, booster.

Each stage turns the pressure before it into the pressure after it, at a flow: more pressure before never gives
less after, more flow never gives more. So a chain of stages has one answer, whatever their order.

Whether an air gap, an assembly or a device is right is for the local code and the water supplier to decide.

Sources
-------
.. [1] Backflow assembly: its maker's loss by flow; nothing is known outside. The generic curve is demo data; that
   an assembly with a relief valve takes some 0.7 to 1 bar is from memory.
.. [2] Reducing valve: setting less a fall-off with flow, and never more than what comes in less the loss of the
   open valve; Kv by :mod:`estimator.hydraulics.valve`. That the fall-off is linear: common practice, no source.
.. [3] Hose: :mod:`estimator.hydraulics.friction`; fittings: :mod:`estimator.hydraulics.fittings`.
.. [4] Height: hydrostatics, ``dp = rho g h``.
.. [5] Centrifugal booster: its maker's rise by flow, falling; nothing is known outside.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Protocol

import numpy as np

from estimator.hydraulics.curve import Points, require_points, values
from estimator.hydraulics.friction import FloatArray, groups_and_slopes
from estimator.hydraulics.limits import above_zero, within, zero_or_more
from estimator.hydraulics.proportioner import GRAVITY_M_S2
from estimator.hydraulics.solution import Liquid
from estimator.hydraulics.supply import ANY_FLOW, FlowRange
from estimator.hydraulics.valve import check_valve_losses, coefficient_from_kv


def _one_way(name: str, what: str, points: Points, sign: float) -> None:
    for number in range(1, len(points)):
        if sign * (points[number][1] - points[number - 1][1]) < 0.0:
            word = "fall" if sign > 0.0 else "grow"
            raise ValueError(
                f"{name}: the {what} must not {word} with the flow, as it does at point {number + 1}"
            )


class Passage(Protocol):
    """A part that the water passes."""

    @property
    def known(self) -> FlowRange:
        """Flows [m3/s] that the part is known for."""

    def after(self, before_pa: FloatArray, flow_m3_s: FloatArray) -> FloatArray:
        """Gauge pressure behind the part [Pa] at pressures before it [Pa] and flows [m3/s] within ``known``."""


class Source(Protocol):
    """Where the water comes from under pressure."""

    @property
    def known(self) -> FlowRange:
        """Flows [m3/s] that the source is known for."""

    def pressure(self, flow_m3_s: FloatArray) -> FloatArray:
        """Gauge pressure [Pa] at flows [m3/s]; never rising with the flow."""


@dataclass(frozen=True, slots=True)
class BoosterPump:
    """A centrifugal pump behind a break tank.

    ``points``: (flow [m3/s], rise of pressure [Pa]), two or more, flows rising, rise never growing with the flow;
    ``suction_pa`` gauge pressure at its inlet [Pa], from the height of the water in the tank over it, below 0
    where the tank stands lower; ``demo`` True for a made-up curve. Raises OutOfRange or ValueError naming the
    point. Source [5]_.
    """

    points: Points
    suction_pa: float = 0.0
    demo: bool = False

    def __post_init__(self) -> None:
        """Raises OutOfRange or ValueError naming the point."""
        require_points("booster", self.points, ("flow", "m3/s"), ("rise", "Pa"))
        _one_way("booster", "rise of pressure", self.points, -1.0)
        within("booster suction_pa", self.suction_pa, -50e3, 100e3, "Pa", "a tank stands beside its pump")

    @property
    def known(self) -> FlowRange:
        """First and last flow of the points [m3/s]."""
        return self.points[0][0], self.points[-1][0]

    def pressure(self, flow_m3_s: FloatArray) -> FloatArray:
        """Gauge pressure behind the pump [Pa]: suction plus rise, by monotone interpolation.

        >>> pump = BoosterPump(((0.0, 4e5), (30.0 / 60000.0, 3e5), (60.0 / 60000.0, 1e5)))
        >>> pump.pressure(np.array([0.0, 30.0]) / 60000.0).tolist()
        [400000.0, 300000.0]
        """
        rise: FloatArray = self.suction_pa + values(self.points, flow_m3_s)
        return rise

    def after(self, before_pa: FloatArray, flow_m3_s: FloatArray) -> FloatArray:
        """Gauge pressure behind it [Pa] where it is fed under pressure and not from a tank: ``p + rise``.

        >>> pump = BoosterPump(((0.0, 4e5), (30.0 / 60000.0, 3e5)))
        >>> pump.after(np.array([1e5]), np.array([30.0 / 60000.0])).tolist()
        [400000.0]
        """
        behind: FloatArray = before_pa + values(self.points, flow_m3_s)
        return behind


GENERIC_BOOSTER: Final = BoosterPump(
    (
        (0.0, 420e3),
        (10.0 / 60000.0, 410e3),
        (20.0 / 60000.0, 385e3),
        (40.0 / 60000.0, 300e3),
        (55.0 / 60000.0, 200e3),
    ),
    demo=True,
)
"""A made-up pump: generic demo data, and it says so."""


@dataclass(frozen=True, slots=True)
class LossCurve:
    """Loss of a backflow assembly or device, by flow.

    ``points``: (flow [m3/s], loss [Pa]), two or more, flows rising, loss never falling with the flow (where a
    maker's curve dips, its higher loss is the safe one); ``demo`` True for a made-up curve. Raises OutOfRange or
    ValueError naming the point. Source [1]_.
    """

    points: Points
    demo: bool = False

    def __post_init__(self) -> None:
        """Raises OutOfRange or ValueError naming the point."""
        require_points("loss curve", self.points, ("flow", "m3/s"), ("loss", "Pa"))
        _one_way("loss curve", "loss", self.points, 1.0)

    @property
    def known(self) -> FlowRange:
        """First and last flow of the points [m3/s]."""
        return self.points[0][0], self.points[-1][0]

    def loss(self, flow_m3_s: float) -> float:
        """Loss at a flow [Pa], by monotone interpolation.

        Flow [m3/s] within the points: OutOfRange outside, since nothing is known there.

        >>> device = LossCurve(((0.0, 3e4), (20.0 / 60000.0, 5e4), (40.0 / 60000.0, 9e4)))
        >>> round(device.loss(20.0 / 60000.0))
        50000
        """
        within("flow_m3_s", flow_m3_s, *self.known, "m3/s", "the loss curve ends there")
        return float(values(self.points, np.asarray(flow_m3_s)))

    def after(self, before_pa: FloatArray, flow_m3_s: FloatArray) -> FloatArray:
        """Gauge pressure behind it [Pa]."""
        left: FloatArray = before_pa - values(self.points, flow_m3_s)
        return left


GENERIC_ASSEMBLY: Final = LossCurve(
    ((0.0, 70e3), (20.0 / 60000.0, 75e3), (40.0 / 60000.0, 85e3), (80.0 / 60000.0, 110e3)), demo=True
)
"""A made-up assembly with a relief valve, of 0.7 to 1.1 bar: generic demo data, and it says so."""


@dataclass(frozen=True, slots=True)
class ReducingValve:
    """A pressure-reducing valve.

    ``setting_pa`` gauge pressure behind it at no flow [Pa], above 0; ``fall_off_pa_s_m3`` how much that falls by
    flow [Pa s/m3], 0 or more; ``kv`` of the open valve [m3/h at 1 bar], above 0. Raises OutOfRange naming the
    field. Source [2]_.
    """

    setting_pa: float
    kv: float
    fall_off_pa_s_m3: float = 0.0

    def __post_init__(self) -> None:
        """Raises OutOfRange naming the field."""
        above_zero("reducing valve setting_pa", self.setting_pa, "Pa")
        above_zero("reducing valve kv", self.kv, "m3/h at 1 bar")
        zero_or_more("reducing valve fall_off_pa_s_m3", self.fall_off_pa_s_m3, "Pa s/m3")

    @property
    def known(self) -> FlowRange:
        """Every flow."""
        return ANY_FLOW

    def after(self, before_pa: FloatArray, flow_m3_s: FloatArray) -> FloatArray:
        """Gauge pressure behind it [Pa]: ``min(p_set - a q, p - (q/C)**2)``.

        p_set setting [Pa], a fall-off [Pa s/m3], q flow [m3/s], p before it [Pa], C from Kv.

        Worked example: 3 bar setting, 1 kPa per L/min, Kv 3: 20 L/min from 5 bar, and from 2.5 bar.

        >>> valve = ReducingValve(3e5, 3.0, 1e3 * 60000.0)
        >>> q = np.array([20.0, 20.0]) / 60000.0
        >>> [round(float(p)) for p in valve.after(np.array([5e5, 2.5e5]), q)]
        [280000, 234000]
        """
        opened = before_pa - np.square(flow_m3_s / coefficient_from_kv(self.kv))
        held: FloatArray = np.minimum(self.setting_pa - self.fall_off_pa_s_m3 * flow_m3_s, opened)
        return held


@dataclass(frozen=True, slots=True)
class HoseRun:
    """A hose, or the manifold: ``length_m``, ``bore_m``, ``roughness_m`` [m], its fittings' ``k1`` and ``k`` in that
    bore [-] (:func:`estimator.hydraulics.fittings.sum_of`), and the ``water`` in it.

    Raises OutOfRange naming the field. Source [3]_.
    """

    length_m: float
    bore_m: float
    water: Liquid
    roughness_m: float = 1.5e-6
    k1: float = 0.0
    k: float = 0.0

    def __post_init__(self) -> None:
        """Raises OutOfRange naming the field."""
        zero_or_more("hose length_m", self.length_m, "m")
        above_zero("hose bore_m", self.bore_m, "m")
        zero_or_more("hose roughness_m", self.roughness_m, "m")
        zero_or_more("hose k1", self.k1, "-")
        zero_or_more("hose k", self.k, "-")

    @property
    def known(self) -> FlowRange:
        """Every flow."""
        return ANY_FLOW

    def loss(self, flow_m3_s: FloatArray) -> FloatArray:
        """Loss [Pa]: ``G L mu**2/(2 rho d**3) + K1 mu V/(2 d) + K rho V**2/2``, ``G = f Re**2``.

        flow [m3/s], 0 or more; V mean velocity [m/s], d bore [m], L length [m], rho density [kg/m3], mu
        viscosity [Pa s].

        Worked example: water of 20 degC, 10 m of 12.7 mm drawn tubing at 15 L/min.

        >>> hose = HoseRun(10.0, 0.0127, Liquid(998.207, 1.0016e-3, 1.0))
        >>> round(float(hose.loss(np.asarray(15.0 / 60000.0))))
        37983
        """
        rho, mu, bore = self.water.density_kg_m3, self.water.viscosity_pa_s, self.bore_m
        speed = flow_m3_s / (0.25 * math.pi * bore * bore)
        group, _ = groups_and_slopes(rho * bore / mu * speed, self.roughness_m / bore)
        fittings = 0.5 * speed * (self.k1 * mu / bore + self.k * rho * speed)
        lost: FloatArray = group * (self.length_m * mu * mu / (2.0 * rho * bore**3)) + fittings
        return lost

    def after(self, before_pa: FloatArray, flow_m3_s: FloatArray) -> FloatArray:
        """Gauge pressure behind it [Pa]."""
        left: FloatArray = before_pa - self.loss(flow_m3_s)
        return left


@dataclass(frozen=True, slots=True)
class Rise:
    """Height: ``rise_m`` from the point before up to the point behind [m], below 0 where that lies lower.

    Raises OutOfRange beyond 100 m either way. Source [4]_.
    """

    rise_m: float
    density_kg_m3: float

    def __post_init__(self) -> None:
        """Raises OutOfRange naming the field."""
        within("rise_m", self.rise_m, -100.0, 100.0, "m")
        above_zero("density_kg_m3", self.density_kg_m3, "kg/m3")

    @property
    def known(self) -> FlowRange:
        """Every flow."""
        return ANY_FLOW

    def after(self, before_pa: FloatArray, flow_m3_s: FloatArray) -> FloatArray:
        """Gauge pressure behind it [Pa]: ``p - rho g h``.

        >>> round(float(Rise(10.2156, 998.2).after(np.asarray(3e5), np.asarray(0.0))), -1)
        200000.0
        """
        left: FloatArray = before_pa - self.density_kg_m3 * GRAVITY_M_S2 * self.rise_m + 0.0 * flow_m3_s
        return left


@dataclass(frozen=True, slots=True)
class Check:
    """A check, float or stop valve by its maker's figures: ``kv`` [m3/h at 1 bar], above 0, and ``cracking_pa``, the
    pressure that opens it [Pa], 0 or more. Loss: :func:`estimator.hydraulics.valve.check_valve_losses`.

    Raises OutOfRange naming the field.
    """

    kv: float
    cracking_pa: float = 0.0

    def __post_init__(self) -> None:
        """Raises OutOfRange naming the field."""
        above_zero("valve kv", self.kv, "m3/h at 1 bar")
        zero_or_more("valve cracking_pa", self.cracking_pa, "Pa")

    @property
    def known(self) -> FlowRange:
        """Every flow."""
        return ANY_FLOW

    def after(self, before_pa: FloatArray, flow_m3_s: FloatArray) -> FloatArray:
        """Gauge pressure behind it [Pa].

        >>> round(float(Check(0.36, 3e3).after(np.asarray(3e5), np.asarray(6.0 / 60000.0))))
        197000
        """
        left: FloatArray = before_pa - check_valve_losses(flow_m3_s, self.kv, self.cracking_pa)
        return left
