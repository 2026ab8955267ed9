"""The water supply: pressure at the tie-in by the flow drawn, from one test with a bucket and a watch.

The curve holds for the place of the test, and its street for the hour of the test: the day has a low and a high.
Beyond the flow of the test it is extrapolated, and the answer says so.

Sources
-------
.. [1] NFPA 291, flow test: available flow ``Q = QF (hr / hf)**0.54``, hr and hf drops from static pressure;
   the exponent is that of the Hazen-Williams formula, 1/1.852. Second-hand: texts that restate it.
.. [2] A test that drops the pressure by less than 10 % of static does not tell enough: second-hand, as [1]_
   restated (older editions; newer ones ask for 25 % of fire mains).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final, TypeAlias

import numpy as np

from estimator.hydraulics.friction import FloatArray
from estimator.hydraulics.limits import OutOfRange, above_zero, zero_or_more

FlowRange: TypeAlias = tuple[float, float]
"""Least and largest flow [m3/s] that a part is known for."""
ANY_FLOW: Final[FlowRange] = (0.0, math.inf)
"""A part that a formula describes at every flow."""
FLOW_EXPONENT: Final = 0.54
"""Exponent of the drop in the flow (source [1])."""
_DEEPEST_PA: Final = 1e6
DROP_LIMIT: Final = 0.1
"""Share of static pressure that a test must drop to be relied on, - (source [2])."""


@dataclass(frozen=True, slots=True)
class SupplyCurve:
    """Pressure of the street at one hour, by the flow drawn.

    ``static_pa`` gauge pressure with nothing drawn [Pa], above 0; ``test_flow_m3_s`` a flow drawn [m3/s], above
    0; ``test_pa`` gauge pressure while it flows [Pa], 0 or more and below static. Raises OutOfRange naming the
    field.
    """

    static_pa: float
    test_flow_m3_s: float
    test_pa: float

    def __post_init__(self) -> None:
        """Raises OutOfRange naming the field."""
        above_zero("supply static_pa", self.static_pa, "Pa", "without pressure there is no supply")
        above_zero("supply test_flow_m3_s", self.test_flow_m3_s, "m3/s")
        zero_or_more("supply test_pa", self.test_pa, "Pa")
        if not self.test_pa < self.static_pa:
            raise OutOfRange(
                "supply test_pa",
                self.test_pa,
                0.0,
                self.static_pa,
                "Pa",
                "while water flows the pressure is lower than static",
            )

    @property
    def drop_share(self) -> float:
        """Drop of the test over static pressure [-].

        >>> SupplyCurve(4e5, 25.0 / 60000.0, 3.5e5).drop_share
        0.125
        """
        return (self.static_pa - self.test_pa) / self.static_pa

    @property
    def reliable(self) -> bool:
        """Whether the test dropped the pressure enough to tell the supply's strength. Source [2]_.

        >>> SupplyCurve(4e5, 25.0 / 60000.0, 3.7e5).reliable
        False
        """
        return self.drop_share >= DROP_LIMIT

    @property
    def known(self) -> FlowRange:
        """From no flow to one that only a suction of 1 MPa would draw: no board is low enough to have it."""
        return 0.0, self.flow(-_DEEPEST_PA)

    @property
    def largest_m3_s(self) -> float:
        """Flow into the open, at a gauge pressure of 0 [m3/s]; extrapolated."""
        return self.flow(0.0)

    def flow(self, pressure_pa: float) -> float:
        """Flow at a pressure [m3/s]: ``Q = QF ((ps - p)/(ps - pF))**0.54``.

        p gauge pressure [Pa], at most static (OutOfRange above: nothing would flow out); ps static, pF and QF
        of the test. Source [1]_.

        Worked example: static 60 psi, 20 gpm at 45 psi: 33.9667 gpm at 20 psi.

        >>> psi, gpm = 6894.757293168, 3.785411784e-3 / 60.0
        >>> round(SupplyCurve(60 * psi, 20 * gpm, 45 * psi).flow(20 * psi) / gpm, 4)
        33.9667
        """
        if not (math.isfinite(pressure_pa) and pressure_pa <= self.static_pa):
            raise OutOfRange(
                "pressure_pa", pressure_pa, -math.inf, self.static_pa, "Pa", "no more than static pressure"
            )
        drop = (self.static_pa - pressure_pa) / (self.static_pa - self.test_pa)
        return self.test_flow_m3_s * math.pow(drop, FLOW_EXPONENT)

    def pressure(self, flow_m3_s: FloatArray) -> FloatArray:
        """Gauge pressure at flows [Pa]: ``p = ps - (ps - pF) (Q/QF)**(1/0.54)``, shaped like the flows.

        Q flow [m3/s], 0 or more (not checked here). More than the street can give comes out below 0: there is no
        such flow without suction. Source [1]_.

        >>> street = SupplyCurve(4e5, 25.0 / 60000.0, 3.5e5)
        >>> [round(float(p)) for p in street.pressure(np.array([0.0, 25.0, 53.5603]) / 60000.0)]
        [400000, 350000, 195000]
        """
        share = np.power(flow_m3_s / self.test_flow_m3_s, 1.0 / FLOW_EXPONENT)
        left: FloatArray = self.static_pa - (self.static_pa - self.test_pa) * share
        return left

    def extrapolated(self, flow_m3_s: float) -> bool:
        """Whether a flow [m3/s] is more than the test drew."""
        return flow_m3_s > self.test_flow_m3_s

    def at_static(self, static_pa: float) -> SupplyCurve:
        """The same street at another hour: another static pressure [Pa], the same loss in its pipes.

        At the test's flow the same drop. Where static is less than that drop, the test point moves down to the
        flow that empties the street to 0 gauge.

        Worked example: static 3 bar at the busy hour, of a street that loses 0.5 bar at 25 L/min.

        >>> low = SupplyCurve(4e5, 25.0 / 60000.0, 3.5e5).at_static(3e5)
        >>> round(low.test_pa), round(60000.0 * low.test_flow_m3_s, 6)
        (250000, 25.0)
        """
        above_zero("supply static_pa", static_pa, "Pa", "without pressure there is no supply")
        drop = self.static_pa - self.test_pa
        if drop <= static_pa:
            return replace(self, static_pa=static_pa, test_pa=static_pa - drop)
        flow = self.test_flow_m3_s * math.pow(static_pa / drop, FLOW_EXPONENT)
        return SupplyCurve(static_pa, flow, 0.0)


@dataclass(frozen=True, slots=True)
class SupplyDay:
    """The supply over a day: ``low`` at the busy hour of the street, ``high`` at its quiet one.

    Raises OutOfRange where the low hour has more static pressure than the high one.
    """

    low: SupplyCurve
    high: SupplyCurve

    def __post_init__(self) -> None:
        """Raises OutOfRange naming the field."""
        if self.low.static_pa > self.high.static_pa:
            raise OutOfRange(
                "low static_pa",
                self.low.static_pa,
                0.0,
                self.high.static_pa,
                "Pa",
                "the low of the day is not above its high",
            )


def day(test: SupplyCurve, low_static_pa: float, high_static_pa: float) -> SupplyDay:
    """The two ends of a day, from a test at one hour and static pressures [Pa] of the low and the high.

    The street's pipes are the same: each end loses what the test lost at its flow (:meth:`SupplyCurve.at_static`).

    >>> ends = day(SupplyCurve(4e5, 25.0 / 60000.0, 3.5e5), 3e5, 4.5e5)
    >>> round(60000.0 * ends.low.flow(2e5), 3), round(60000.0 * ends.high.flow(2e5), 3)
    (36.349, 59.619)
    """
    return SupplyDay(test.at_static(low_static_pa), test.at_static(high_static_pa))
