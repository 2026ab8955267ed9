"""A compressor that starts and stops, its dryer and its receiver: what is there, at what pressure, and for how long.

A compressor runs between cut-in and cut-out. Just before it starts nothing in the shop has more than cut-in less what
dryer and header lose, so that is the pressure to prove at. What it gives is its plate's free air at the site, less what
a dryer blows off and what leaks. A burst above that lives on the receiver, until the pressure is down.

Air is an ideal gas and the receiver keeps its temperature. Quick bursts cool it, so that they are a little shorter.

Sources
-------
.. [1] Isothermal receiver, ``V = t Q pa / (p1 - p2)``: US Department of Energy, MEASUR calculators, and its Compressed
   Air Sourcebook.
.. [2] The same, Sourcebook, leak section: leaks from load and unload times, ``T / (T + t)``.
.. [3] Choked opening: see :mod:`estimator.hydraulics.air`, source [3].
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from estimator.hydraulics.air import FreeAir, gun_air, header_drop, leak_share, site_delivery, viscosity
from estimator.hydraulics.coil import coil_group_and_slope
from estimator.hydraulics.friction import friction
from estimator.hydraulics.limits import OutOfRange, above_zero, within, zero_or_more

_TIMES: Final = 200


@dataclass(frozen=True, slots=True)
class Compressor:
    """A compressor with what stands behind it.

    ``plate`` free air delivery (0: there is none). ``cut_in_pa``, ``cut_out_pa`` gauge pressures at which it starts
    and stops [Pa], cut-in below cut-out. ``receiver_m3`` volume of receiver and main [m3], 0 where there is none.
    ``dryer_loss_pa`` pressure that the dryer takes [Pa]; ``dryer_purge`` share of the delivery that it blows off [-], 0
    to below 1. ``leak`` share of the delivery that leaks [-], 0 to 1.
    """

    plate: FreeAir
    cut_in_pa: float
    cut_out_pa: float
    receiver_m3: float = 0.0
    dryer_loss_pa: float = 0.0
    dryer_purge: float = 0.0
    leak: float = 0.0

    def __post_init__(self) -> None:
        """Raises OutOfRange naming the field."""
        above_zero("cut_in_pa", self.cut_in_pa, "Pa")
        if not (math.isfinite(self.cut_out_pa) and self.cut_out_pa > self.cut_in_pa):
            raise OutOfRange(
                "cut_out_pa",
                self.cut_out_pa,
                self.cut_in_pa,
                math.inf,
                "Pa",
                "it stops above where it starts",
                True,
            )
        zero_or_more("receiver_m3", self.receiver_m3, "m3")
        within(
            "dryer_loss_pa", self.dryer_loss_pa, 0.0, self.cut_in_pa, "Pa", "no more than there is at cut-in"
        )
        zero_or_more("dryer_purge", self.dryer_purge, "-")
        if self.dryer_purge >= 1.0:
            raise OutOfRange("dryer_purge", self.dryer_purge, 0.0, 1.0, "-", "a dryer leaves some air")
        within("leak", self.leak, 0.0, 1.0, "-")

    def available(self, barometric_pa: float, temperature_k: float = 293.15) -> FreeAir:
        """What it gives to the shop for as long as one likes, at the conditions of its plate.

        ``site delivery (1 - purge)(1 - leak)``; barometer [Pa], intake temperature [K].

        >>> from estimator.hydraulics.air_reference import ANR
        >>> c = Compressor(FreeAir(0.010, ANR), 6e5, 8e5, 0.2, 2e4, 0.15, 0.10)
        >>> round(60000.0 * c.available(100e3).flow_m3_s, 6)
        459.0
        """
        there = site_delivery(self.plate, barometric_pa, temperature_k).flow_m3_s
        return FreeAir(there * (1.0 - self.dryer_purge) * (1.0 - self.leak), self.plate.reference)

    @property
    def proof_pa(self) -> float:
        """Gauge pressure at the start of the header just before the compressor starts [Pa]."""
        return self.cut_in_pa - self.dryer_loss_pa


def leak_of(typed: float | None, loaded_s: float | None = None, unloaded_s: float | None = None) -> float:
    """Share of the delivery that leaks [-]: from the times of a test with every tool shut where there are such, else
    as typed.

    typed share [-], 0 to 1; loaded, unloaded times [s], both or neither. OutOfRange names what is wrong or missing.
    Source [2]_.

    Worked example: 1.5 min on, 8.5 min off: 15 %.

    >>> leak_of(0.10), leak_of(0.10, 90.0, 510.0)
    (0.1, 0.15)
    """
    if loaded_s is not None or unloaded_s is not None:
        for name, value in (("loaded_s", loaded_s), ("unloaded_s", unloaded_s)):
            if value is None:
                raise OutOfRange(name, math.nan, 0.0, math.inf, "s", "give both times of the test")
        assert loaded_s is not None and unloaded_s is not None
        return leak_share(loaded_s, unloaded_s)
    if typed is None:
        raise OutOfRange("leak", math.nan, 0.0, 1.0, "-", "type it, or give the times of a test")
    return within("leak", typed, 0.0, 1.0, "-")


def usable_air(volume_m3: float, from_pa: float, to_pa: float, barometric_pa: float) -> float:
    """Free air that a receiver gives while its pressure falls [m3, at the barometer]: ``V (p1 - p2) / pa``.

    V volume [m3]; p1, p2 gauge pressures [Pa], p2 not above p1; pa barometer [Pa]. Source [1]_.

    Worked example: 660 gal from 110 to 100 psi, 14.7 psi: 60.02 scf.

    >>> from estimator.hydraulics.air_reference import PSI_PA
    >>> q = usable_air(660 * 3.785411784e-3, 110 * PSI_PA, 100 * PSI_PA, 14.7 * PSI_PA)
    >>> round(q / 0.3048**3, 3)
    60.02
    """
    zero_or_more("volume_m3", volume_m3, "m3")
    zero_or_more("from_pa", from_pa, "Pa")
    within("to_pa", to_pa, 0.0, from_pa, "Pa", "the pressure falls")
    above_zero("barometric_pa", barometric_pa, "Pa")
    return volume_m3 * (from_pa - to_pa) / barometric_pa


def receiver_for(
    short_m3_s: float, time_s: float, from_pa: float, to_pa: float, barometric_pa: float
) -> float:
    """Volume of a receiver that carries a burst [m3]: ``V = t Q pa / (p1 - p2)``.

    Q free air asked for beyond what the compressor gives [m3/s, at the barometer], t its time [s]; p1, p2 gauge
    pressures [Pa], p2 below p1; pa barometer [Pa]. Source [1]_.

    Worked example: 100 cfm for half a minute from 110 to 100 psi: 549.8 gal.

    >>> from estimator.hydraulics.air_reference import PSI_PA
    >>> v = receiver_for(100 * 0.3048**3 / 60, 30.0, 110 * PSI_PA, 100 * PSI_PA, 14.7 * PSI_PA)
    >>> round(v / 3.785411784e-3, 3)
    549.818
    """
    zero_or_more("short_m3_s", short_m3_s, "m3/s")
    zero_or_more("time_s", time_s, "s")
    above_zero("from_pa", from_pa, "Pa")
    if not 0.0 <= to_pa < from_pa:
        raise OutOfRange("to_pa", to_pa, 0.0, from_pa, "Pa", "the pressure falls")
    above_zero("barometric_pa", barometric_pa, "Pa")
    return time_s * short_m3_s * barometric_pa / (from_pa - to_pa)


def burst_s(
    compressor: Compressor,
    demand: FreeAir,
    least_pa: float,
    barometric_pa: float,
    temperature_k: float = 293.15,
) -> float:
    """How long a demand lasts on the receiver, begun at the worst moment, just above cut-in [s].

    ``V (p_cut-in - p_least) / (pa (Q - Q_available))``, flows at the site; the compressor runs all along. demand free
    air; least gauge pressure at the receiver that still will do [Pa]; barometer [Pa]; temperature [K]. Infinite where
    the compressor keeps up; 0 where there is no receiver, or cut-in will not do. Source [1]_.

    Worked example: 300 L, 600 L/min against 400, from 7 down to 6 bar: a minute and a half.

    >>> from estimator.hydraulics.air import site_reference
    >>> here = site_reference(1e5)
    >>> c = Compressor(FreeAir(400.0 / 60000.0, here), 7e5, 8e5, 0.300)
    >>> round(burst_s(c, FreeAir(600.0 / 60000.0, here), 6e5, 1e5), 6)
    90.0
    """
    zero_or_more("least_pa", least_pa, "Pa")
    short = _short_at_site(compressor, demand, barometric_pa, temperature_k)
    if short <= 0.0:
        return math.inf
    if least_pa >= compressor.cut_in_pa:
        return 0.0
    return usable_air(compressor.receiver_m3, compressor.cut_in_pa, least_pa, barometric_pa) / short


def _short_at_site(
    compressor: Compressor, demand: FreeAir, barometric_pa: float, temperature_k: float
) -> float:
    """What is asked for beyond what is given [m3/s, at the barometer]; negative where some is left."""
    plate = compressor.plate.reference
    short = demand.to(plate).flow_m3_s - compressor.available(barometric_pa, temperature_k).flow_m3_s
    return short * plate.pressure_pa / barometric_pa * temperature_k / plate.temperature_k


@dataclass(frozen=True, slots=True)
class Cycle:
    """A compressor at a steady demand: ``loaded_s`` it runs, ``unloaded_s`` it stands [s], ``starts_per_hour`` [-].

    One that never stops runs for ever and starts 0 times; one that nothing is asked of stands for ever.
    """

    loaded_s: float
    unloaded_s: float
    starts_per_hour: float


def cycle(
    compressor: Compressor, demand: FreeAir, barometric_pa: float, temperature_k: float = 293.15
) -> Cycle:
    """How long a compressor runs and stands at a steady demand: the receiver's air between cut-in and cut-out over what
    is left, and over what goes out.

    What leaks and what the dryer blows off is part of what goes out, while it stands too. demand free air of the
    tools; barometer [Pa]; temperature [K]. Source [1]_.

    >>> from estimator.hydraulics.air import site_reference
    >>> here = site_reference(1e5)
    >>> c = Compressor(FreeAir(400.0 / 60000.0, here), 7e5, 8e5, 0.300)
    >>> at = cycle(c, FreeAir(100.0 / 60000.0, here), 1e5)
    >>> round(at.loaded_s, 6), round(at.unloaded_s, 6), round(at.starts_per_hour, 6)
    (60.0, 180.0, 15.0)
    """
    plate = compressor.plate.reference
    given = site_delivery(compressor.plate, barometric_pa, temperature_k).flow_m3_s
    lost = given - compressor.available(barometric_pa, temperature_k).flow_m3_s
    factor = plate.pressure_pa / barometric_pa * temperature_k / plate.temperature_k
    out = (demand.to(plate).flow_m3_s + lost) * factor
    left = given * factor - out
    held = usable_air(compressor.receiver_m3, compressor.cut_out_pa, compressor.cut_in_pa, barometric_pa)
    loaded = held / left if left > 0.0 else math.inf
    unloaded = held / out if out > 0.0 else math.inf
    both = loaded + unloaded
    if both == 0.0:
        return Cycle(0.0, 0.0, math.inf)
    return Cycle(loaded, unloaded, 0.0 if math.isinf(both) else 3600.0 / both)


@dataclass(frozen=True, slots=True)
class GunOnHeader:
    """A gun behind its header: air it uses, and gauge pressure at it [Pa]."""

    air: FreeAir
    gun_pa: float


def gun_on_header(
    stated: FreeAir,
    stated_pa: float,
    start_pa: float,
    length_m: float,
    bore_m: float,
    minor_k: float = 0.0,
    roughness_m: float = 1.5e-6,
    barometric_pa: float = 101325.0,
    temperature_k: float = 293.15,
    curvature: float = 0.0,
) -> GunOnHeader:
    """Air and pressure of a gun at the end of a tube: it uses what its own pressure drives, and that is what the tube
    leaves it.

    stated free air at a stated gauge pressure [Pa]; gauge pressure at the start of the tube [Pa]; tube as
    :func:`estimator.hydraulics.air.header_drop`; barometer [Pa]; temperature [K]; curvature bore over coil diameter of
    a coil hose [-] (0 straight), see :mod:`estimator.hydraulics.coil`. To a billionth: the more a gun is given the more
    it takes, and the more it takes the less is left. Source [3]_.

    Worked example: a gun of 200 L/min at 6 bar behind 30 m of 6 mm at 6 bar gets 4.95 bar and uses 170 L/min.

    >>> from estimator.hydraulics.air_reference import ANR
    >>> at = gun_on_header(FreeAir(200.0 / 60000.0, ANR), 6e5, 6e5, 30.0, 0.006)
    >>> round(1e-5 * at.gun_pa, 2), round(60000.0 * at.air.flow_m3_s, 1)
    (4.95, 170.0)
    """
    zero_or_more("start_pa", start_pa, "Pa")

    def left(middle: float) -> float:
        """Gauge pressure that the tube leaves a gun which has so much."""
        mass = gun_air(stated, stated_pa, middle, barometric_pa).mass_flow_kg_s
        longer = _coil_length(mass, bore_m, roughness_m, curvature, temperature_k) * length_m
        try:
            at = header_drop(
                mass, start_pa + barometric_pa, temperature_k, longer, bore_m, roughness_m, minor_k
            )
        except OutOfRange as error:
            if error.quantity != "mass_flow_kg_s":
                raise
            return 0.0  # so much does not pass
        return at.outlet_pa - barometric_pa

    # What is left less what the gun has falls from the start pressure to below nothing: the false position after
    # Illinois, and the middle where that is slow.
    low, high = 0.0, start_pa
    above, below = start_pa, left(start_pa) - start_pa if start_pa > 0.0 else 0.0
    if below >= 0.0:
        low, high = start_pa, start_pa
    last = 0.0
    for turn in range(_TIMES):
        if high - low <= 1e-9 * start_pa:
            break
        middle = (low * -below + high * above) / (above - below) if turn % 4 < 3 else 0.5 * (low + high)
        gap = left(middle) - middle
        if gap >= 0.0:
            low, above, below = middle, gap, 0.5 * below if last > 0.0 else below
        else:
            high, below, above = middle, gap, 0.5 * above if last < 0.0 else above
        last = gap
        if abs(gap) <= 1e-9 * start_pa:
            low = middle
            break
    return GunOnHeader(gun_air(stated, stated_pa, low, barometric_pa), low)


def _coil_length(
    mass_flow_kg_s: float, bore_m: float, roughness_m: float, curvature: float, temperature_k: float
) -> float:
    """How many times its own length a coil hose counts [-]: its friction over that of a straight one."""
    if curvature <= 0.0 or mass_flow_kg_s <= 0.0:
        return 1.0
    reynolds = 4.0 * mass_flow_kg_s / (math.pi * bore_m * viscosity(temperature_k))
    straight = friction(reynolds, roughness_m / bore_m).factor * reynolds**2
    return max(1.0, coil_group_and_slope(reynolds, roughness_m / bore_m, curvature)[0] / straight)
