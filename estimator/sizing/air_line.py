"""The compressed air line: what each of its segments carries, and the pressure that is left at its outlets.

What a segment carries follows from the guns behind it, whatever its tube. So that is worked out once, and for other
tubes only what lies behind a changed one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache

from estimator.hydraulics.air import FreeAir, header_drop
from estimator.hydraulics.air_reference import REFERENCES
from estimator.hydraulics.pump import barometric_pressure
from estimator.hydraulics.simultaneous import Guns, flow_at_once
from estimator.layout.types import LineLayout
from estimator.model.site import Site
from estimator.reference.catalogue import Tube
from estimator.sizing.line_network import TUBE_ROUGHNESS_M, fitting_losses

__all__ = ["AIR_TEMPERATURE_K", "AirLine", "at_once", "grouped"]

AIR_TEMPERATURE_K = 293.15
"""Temperature of the air in intake and line [K]; assumed."""


def grouped(guns: Iterable[Guns]) -> tuple[Guns, ...]:
    """Guns that are alike put together."""
    alike: dict[tuple[float, float], int] = {}
    for gun in guns:
        alike[gun.probability, gun.flow_m3_s] = alike.get((gun.probability, gun.flow_m3_s), 0) + gun.number
    return tuple(Guns(number, p, q) for (p, q), number in alike.items())


@lru_cache(maxsize=512)
def at_once(groups: tuple[Guns, ...]) -> float:
    """Flow that is not exceeded 99 % of the busy hour [m3/s]; see `flow_at_once`."""
    # Most edits leave most air outlets as they are: the same groups are not added up twice.
    return flow_at_once(groups).flow_m3_s


class AirLine:
    """An air line with its demand.

    Args:
        site: the survey.
        line: the air line.
        by_drop: air of each gun at the compressor's reference conditions.
    """

    def __init__(self, site: Site, line: LineLayout, by_drop: Mapping[str, Guns]) -> None:
        self.line = line
        self.supply_pa = site.air.pressure.si
        self.barometer_pa = barometric_pressure(site.altitude.si)
        plate = REFERENCES[site.air.reference.value]
        self._by_id = {segment.id: segment for segment in line.segments}
        self._mass = [FreeAir(_flow(s.drops, by_drop), plate).mass_flow_kg_s for s in line.segments]
        self._kept: dict[tuple[int, float, float], float] = {}

    def left_pa(self, at: int, bore_m: float, inlet_pa: float) -> float:
        """Gauge pressure at the end of a segment.

        Args:
            at: position of the segment.
            bore_m: of its tube.
            inlet_pa: gauge pressure at its start.

        Raises:
            OutOfRange: the tube chokes.
        """
        known = self._kept.get((at, bore_m, inlet_pa))
        if known is not None:
            return known
        segment = self.line.segments[at]
        _, k = fitting_losses(segment, self._by_id.get(segment.upstream), bore_m)
        drop = header_drop(
            self._mass[at],
            inlet_pa + self.barometer_pa,
            AIR_TEMPERATURE_K,
            segment.length_m,
            bore_m,
            TUBE_ROUGHNESS_M,
            k,
        )
        left = self._kept[at, bore_m, inlet_pa] = drop.outlet_pa - self.barometer_pa
        return left

    def worst(self, tubes: Sequence[Tube]) -> tuple[str, float]:
        """The outlet with the lowest pressure ("" where nothing is lost), and that gauge pressure [Pa].

        Args:
            tubes: one a segment.

        Raises:
            OutOfRange: a tube chokes.
        """
        at_end: dict[str, float] = {"": self.supply_pa}
        worst, lowest = "", self.supply_pa
        for at, (segment, tube) in enumerate(zip(self.line.segments, tubes, strict=True)):
            left = at_end[segment.id] = self.left_pa(at, tube.bore_mm / 1000.0, at_end[segment.upstream])
            if segment.ends_at_drop and left < lowest:
                worst, lowest = segment.ends_at_drop, left
        return worst, lowest


def _flow(drops: Iterable[str], by_drop: Mapping[str, Guns]) -> float:
    """What passes a segment [m3/s], at the plate's reference conditions."""
    guns = [by_drop[d] for d in drops if d in by_drop]
    # Never less than the largest single gun behind it: that one must run whenever it is picked up.
    return max([at_once(grouped(guns)) if guns else 0.0, *(g.flow_m3_s for g in guns)])
