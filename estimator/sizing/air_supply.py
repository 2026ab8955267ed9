"""The shop's compressor as the survey gives it: the pressure at the board, what there is of air, what the survey lacks.

Just before a compressor starts nothing has more than cut-in less what is lost on the way. So regulators, pumps and air
lines are proved there; what bursts or hurts is judged at cut-out, the most there is.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from estimator.hydraulics.air import FreeAir, site_delivery, site_reference
from estimator.hydraulics.air_reference import REFERENCES
from estimator.hydraulics.pump import barometric_pressure
from estimator.hydraulics.receiver import Compressor, burst_s, leak_of, receiver_for
from estimator.model.finding import Amount, Finding, Severity, facts
from estimator.model.site import AirSupply, Site
from estimator.sizing import rules, told
from estimator.units import Dimension

__all__ = ["AIR_TEMPERATURE_K", "Supply", "supply_findings", "supply_of"]

AIR_TEMPERATURE_K = 293.15
"""Temperature of the air in intake and line [K]; assumed."""


@dataclass(frozen=True, slots=True)
class Supply:
    """What a compressor brings to the board; flows in m3/s at the conditions of its plate, gauge pressures in Pa.

    Attributes:
        barometer_pa: absolute pressure of the air at the site [Pa].
        cut_out_pa: at which it stops, the most there is.
        cut_in_pa: at which it starts again, never above cut-out.
        cut_in_assumed: nobody read it.
        loss_pa: on the way to the board.
        delivery_m3_s: at the site, purge and leaks still in it.
        purge_m3_s: that the dryer blows off.
        leak_m3_s: that leaks behind it.
        leak_share: of what the dryer leaves [-].
        leak_tested: whether that comes from a leak test.
        receiver_m3: 0 where there is none; None where nobody said.
    """

    barometer_pa: float
    cut_out_pa: float
    cut_in_pa: float
    cut_in_assumed: bool
    loss_pa: float
    delivery_m3_s: float
    purge_m3_s: float
    leak_m3_s: float
    leak_share: float
    leak_tested: bool
    receiver_m3: float | None

    @property
    def board_pa(self) -> float:
        """Gauge pressure at the board just before the compressor starts [Pa], 0 or more."""
        return max(self.cut_in_pa - self.loss_pa, 0.0)

    @property
    def given_m3_s(self) -> float:
        """What tools may take for as long as one likes."""
        return self.delivery_m3_s - self.purge_m3_s - self.leak_m3_s

    def burst_s(self, asked: FreeAir, needed_pa: float) -> float | None:
        """How long the receiver carries what is asked for beyond what is given, begun just above cut-in [s]; see
        `hydraulics.receiver.burst_s`. None where nobody said what the receiver holds, or cut-in is not below cut-out.

        Args:
            asked: in the design case.
            needed_pa: gauge pressure that must be left at the board.
        """
        if self.receiver_m3 is None or not 0.0 < self.cut_in_pa < self.cut_out_pa:
            return None
        # What purge and leaks leave is what the plate would give without them.
        given = FreeAir(self.given_m3_s, asked.reference)
        plate = given.to(site_reference(self.barometer_pa, AIR_TEMPERATURE_K))
        compressor = Compressor(plate, self.cut_in_pa, self.cut_out_pa, self.receiver_m3)
        return burst_s(compressor, asked, needed_pa + self.loss_pa, self.barometer_pa, AIR_TEMPERATURE_K)

    def receiver_for(self, asked: FreeAir, needed_pa: float, use_s: float) -> float | None:
        """The receiver that would carry the same for so long [m3]; None where none does, or none is needed.

        Args:
            asked, needed_pa: as `burst_s`.
            use_s: how long it is to last.
        """
        least = needed_pa + self.loss_pa
        short = FreeAir(max(asked.flow_m3_s - self.given_m3_s, 0.0), asked.reference)
        at_site = short.to(site_reference(self.barometer_pa, AIR_TEMPERATURE_K)).flow_m3_s
        if at_site <= 0.0 or not least < self.cut_in_pa:
            return None
        return receiver_for(at_site, use_s, self.cut_in_pa, least, self.barometer_pa)


def supply_of(site: Site) -> Supply:
    """The supply that a survey gives; what is wrong with it is told by `supply_findings`."""
    return _supply(site.air, site.altitude.si)


@lru_cache(maxsize=64)
def _supply(air: AirSupply, altitude_m: float) -> Supply:
    barometer = barometric_pressure(altitude_m)
    delivery = site_delivery(
        FreeAir(air.free_air.si, REFERENCES[air.reference.value]), barometer, AIR_TEMPERATURE_K
    ).flow_m3_s
    tested = air.leak_loaded is not None and air.leak_unloaded is not None
    leak = leak_of(
        float(air.leak_percent) / 100.0,
        air.leak_loaded.si if air.leak_loaded is not None and tested else None,
        air.leak_unloaded.si if air.leak_unloaded is not None and tested else None,
    )
    purge = delivery * min(float(air.dryer_purge) / 100.0, 1.0)
    cut_out = air.pressure.si
    return Supply(
        barometer_pa=barometer,
        cut_out_pa=cut_out,
        cut_in_pa=rules.CUT_IN_SHARE * cut_out if air.cut_in is None else min(air.cut_in.si, cut_out),
        cut_in_assumed=air.cut_in is None,
        loss_pa=air.supply_loss.si,
        delivery_m3_s=delivery,
        purge_m3_s=purge,
        leak_m3_s=(delivery - purge) * leak,
        leak_share=leak,
        leak_tested=tested,
        receiver_m3=None if air.receiver is None else air.receiver.si,
    )


def supply_findings(site: Site) -> Iterator[Finding]:
    """What is wrong with the survey of the compressor, or missing in it; for a design that needs air."""
    air, supply = site.air, supply_of(site)
    source = "cut-in and cut-out of a compressor, common practice"
    if air.free_air.si <= 0.0 and supply.cut_out_pa > 0.0:
        return  # that there is none is told with what is asked for; without pressure nothing asks
    if air.cut_in is None and supply.cut_out_pa > 0.0:
        yield Finding(
            Severity.NOTE,
            "site.air.cut_in",
            "air-cut-in-missing",
            "Cut-in pressure: nobody read it. The proof takes {share} of the compressor pressure, {taken}; read at "
            "which pressure the compressor starts.",
            source,
            facts=facts(share=told.share(rules.CUT_IN_SHARE), taken=told.pressure(supply.cut_in_pa)),
        )
    elif air.cut_in is not None and air.cut_in.si >= air.pressure.si:
        yield Finding(
            Severity.ERROR,
            "site.air.cut_in",
            "air-cut-in-high",
            "Cut-in pressure: {cut_in} is not below the compressor pressure (cut-out), {cut_out}. A compressor starts "
            "below where it stops; read both from its switch.",
            source,
            facts=facts(cut_in=Amount.of(air.cut_in), cut_out=Amount.of(air.pressure)),
        )
    if supply.cut_out_pa <= 0.0:
        yield Finding(
            Severity.ERROR,
            "site.air.pressure",
            "air-nothing-left",
            "Compressor pressure: with none no air gun blows and no pump runs. State the pressure at which the "
            "compressor stops.",
            source,
        )
    elif supply.board_pa <= 0.0:
        yield Finding(
            Severity.ERROR,
            "site.air.supply_loss" if supply.cut_in_pa > 0.0 else "site.air.cut_in",
            "air-nothing-left",
            "Loss before the board: of {cut_in} at cut-in {loss} are lost, so no pressure is left at the board. A "
            "higher cut-in pressure or a smaller loss lifts it.",
            source,
            facts=facts(cut_in=told.pressure(supply.cut_in_pa), loss=Amount.of(air.supply_loss)),
        )
    if (air.leak_loaded is None) != (air.leak_unloaded is None):
        lacks = "leak_loaded" if air.leak_loaded is None else "leak_unloaded"
        yield Finding(
            Severity.WARNING,
            f"site.air.{lacks}",
            "air-leak-test-half",
            "Leak test: one of its two times is missing, so the leak allowance of {leak} is taken; give both, or "
            "neither.",
            "US Department of Energy, Compressed Air Sourcebook, leaks",
            facts=facts(leak=told.share(supply.leak_share, 1)),
        )
    if supply.given_m3_s <= 0.0:
        yield Finding(
            Severity.ERROR,
            "site.air.dryer_purge" if air.dryer_purge >= 100 else "site.air.leak_percent",
            "air-all-lost",
            "Compressor free air: dryer and leaks take all {delivery} of it, so nothing is left to work with. Mend the "
            "leaks, or look at both shares again.",
            "US Department of Energy, Compressed Air Sourcebook, leaks",
            facts=facts(delivery=Amount(supply.delivery_m3_s, Dimension.FREE_AIR, 0)),
        )
