"""The compressed air line: what each of its segments carries, and the pressure that is left at its outlets.

What a segment carries follows from the guns behind it and the people at work, whatever its tube: each gun is taken with
what it uses behind its own hose at the head of the line, which is the most that it can. So that is worked out once, and
for other tubes only what lies behind a changed one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from estimator.hydraulics.air import FreeAir, header_drop
from estimator.hydraulics.air_reference import REFERENCES
from estimator.hydraulics.people import AirUse, demand_of_people
from estimator.hydraulics.receiver import GunOnHeader, gun_on_header
from estimator.hydraulics.simultaneous import Guns, flow_at_once
from estimator.layout.types import LineLayout
from estimator.model.choices import HoseKind
from estimator.model.design import LinePlan
from estimator.model.site import Site
from estimator.reference.catalogue import Tube
from estimator.reference.resolved import KnownDrop
from estimator.sizing import rules
from estimator.sizing.air_supply import AIR_TEMPERATURE_K, Supply, supply_of
from estimator.sizing.line_network import TUBE_ROUGHNESS_M, cracking_pa, fitting_losses

__all__ = ["AIR_TEMPERATURE_K", "AirGun", "AirLine", "Crew", "gun_at", "head_of_line"]

_ANR = REFERENCES["anr"]
_L_MIN = 1e-3 / 60.0

_MANY = 20
"""People up to which they are taken one by one."""


@dataclass(frozen=True, slots=True)
class AirGun:
    """A gun that asks for air while it is open, flows as free air at the compressor's reference conditions.

    Attributes:
        service: of its drop.
        chance: share of the busy hour that it is open [-].
        own_m3_s: what the gun itself takes, through the header.
        pump_m3_s: what its line's pump takes meanwhile.
    """

    service: str
    chance: float
    own_m3_s: float
    pump_m3_s: float


@dataclass(frozen=True, slots=True)
class Crew:
    """Who is at work in the busy hour: people, and the guns open at once on a line where the survey states them."""

    people: int
    stated: int | None

    @classmethod
    def of(cls, bays: int, guns: Iterable[AirGun], stated: int | None) -> Crew:
        """One in each bay; more where all that is sprayed in the hour is more than they have time for."""
        sprayed = math.fsum(gun.chance for gun in guns)
        return cls(max(1, bays, math.ceil(sprayed - 1e-9)), stated)

    def asks(self, guns: Iterable[tuple[AirGun, float]]) -> float:
        """Air that must be there [m3/s] for guns with the flow [m3/s] that each asks for; see `demand_of_people`."""
        alike: dict[tuple[str, float, float], int] = {}
        for gun, flow in guns:
            key = gun.service, gun.chance, flow
            alike[key] = alike.get(key, 0) + 1
        return _asked(self, tuple((*key, number) for key, number in alike.items()))


@lru_cache(maxsize=512)
def _asked(crew: Crew, alike: tuple[tuple[str, float, float, int], ...]) -> float:
    # Most edits leave most air outlets as they are: the same guns are not added up twice.
    uses: dict[tuple[str, float], tuple[float, int]] = {}
    if not alike:
        return 0.0
    largest = {service: max(flow for of, _, flow, _ in alike if of == service) for service, *_ in alike}
    for service, chance, flow, number in alike:
        # A stated number is one of the line, whichever of its guns: they count as its largest.
        key = service, flow if crew.stated is None else largest[service]
        time, guns = uses.get(key, (0.0, 0))
        uses[key] = time + number * chance / crew.people, guns + number
    if crew.people > _MANY:
        return _of_many(crew, uses)
    # Guns that would spray longer than the hour has are open all the time; nobody has more time than there is.
    over = max(1.0, math.fsum(time for time, _ in uses.values()))
    return demand_of_people(
        crew.people,
        [AirUse(flow, time / over, guns, crew.stated) for (_, flow), (time, guns) in uses.items()],
    ).flow_m3_s


def _of_many(crew: Crew, uses: Mapping[tuple[str, float], tuple[float, int]]) -> float:
    """The same with a person to every gun, on the safe side: nobody is kept from one gun by holding another.

    People one by one take too long where they are very many.
    """
    most = math.fsum(flow * guns for (_, flow), (_, guns) in uses.items())
    held = [1 if crew.stated is None else max(1, min(crew.stated, guns)) for _, guns in uses.values()]
    own = max(many * flow for many, (_, flow) in zip(held, uses, strict=True))
    groups = [
        Guns(guns, min(1.0, time * crew.people / guns), flow) for (_, flow), (time, guns) in uses.items()
    ]
    return min(most, own + flow_at_once(groups).flow_m3_s)


def head_of_line(supply: Supply, plan: LinePlan | None) -> float:
    """Gauge pressure at the head of the air line just before the compressor starts [Pa]: no more than its own
    regulator is set to."""
    if plan is None or plan.regulator is None:
        return supply.board_pa
    return rules.pump_pressure(plan.regulator.si, supply.board_pa)


class AirLine:
    """An air line with its demand.

    Args:
        site: the survey.
        line: the air line.
        by_drop: air of each gun.
        crew: who is at work.
        plan: what was decided about the line.
    """

    def __init__(
        self,
        site: Site,
        line: LineLayout,
        by_drop: Mapping[str, AirGun],
        crew: Crew,
        plan: LinePlan | None = None,
    ) -> None:
        self.line = line
        supply = supply_of(site)
        self.supply_pa = head_of_line(supply, plan)
        self.barometer_pa = supply.barometer_pa
        plate = REFERENCES[site.air.reference.value]
        self._by_id = {segment.id: segment for segment in line.segments}
        self._mass = [FreeAir(_flow(s.drops, by_drop, crew), plate).mass_flow_kg_s for s in line.segments]
        self._kept: dict[tuple[int, str, float], float] = {}

    def left_pa(self, at: int, tube: Tube, inlet_pa: float) -> float:
        """Gauge pressure at the end of a segment, behind its check valve if it has one.

        Args:
            at: position of the segment.
            tube: of it.
            inlet_pa: gauge pressure at its start.

        Raises:
            OutOfRange: the tube chokes.
        """
        known = self._kept.get((at, tube.key, inlet_pa))
        if known is not None:
            return known
        segment = self.line.segments[at]
        _, k = fitting_losses(segment, self._by_id.get(segment.upstream), tube)
        drop = header_drop(
            self._mass[at],
            inlet_pa + self.barometer_pa,
            AIR_TEMPERATURE_K,
            segment.length_m,
            tube.bore_mm / 1000.0,
            TUBE_ROUGHNESS_M,
            k,
        )
        left = drop.outlet_pa - self.barometer_pa - cracking_pa(segment, tube)
        self._kept[at, tube.key, inlet_pa] = left
        return left

    def pressures(self, tubes: Sequence[Tube]) -> dict[str, float]:
        """Gauge pressure at each outlet [Pa], by drop.

        Args:
            tubes: one a segment.

        Raises:
            OutOfRange: a tube chokes.
        """
        at_end: dict[str, float] = {"": self.supply_pa}
        found: dict[str, float] = {}
        for at, (segment, tube) in enumerate(zip(self.line.segments, tubes, strict=True)):
            left = at_end[segment.id] = self.left_pa(at, tube, at_end[segment.upstream])
            if segment.ends_at_drop:
                found[segment.ends_at_drop] = left
        return found

    def worst(self, tubes: Sequence[Tube]) -> tuple[str, float]:
        """The outlet with the lowest pressure ("" where nothing is lost), and that gauge pressure [Pa].

        Args:
            tubes: one a segment.

        Raises:
            OutOfRange: a tube chokes.
        """
        worst, lowest = "", self.supply_pa
        for drop, left in self.pressures(tubes).items():
            if left < lowest:
                worst, lowest = drop, left
        return worst, lowest


def gun_at(known: KnownDrop, outlet_pa: float, barometer_pa: float) -> GunOnHeader | None:
    """Air and pressure of a drop's air gun behind its hose, None where the catalogue lacks one of the two.

    Args:
        known: the drop.
        outlet_pa: gauge pressure at the end of the tube.
        barometer_pa: absolute.
    """
    gun, hose, drop = known.gun, known.hose, known.drop
    if gun is None or hose is None or gun.air_free_l_min <= 0.0:
        return None
    coil = hose.bore_mm / hose.coil_diameter_mm if drop.hose is HoseKind.COIL else 0.0
    return _behind_hose(
        gun.air_free_l_min * _L_MIN,
        1000.0 * gun.air_at_kpa,
        outlet_pa,
        drop.hose_length.si,
        hose.bore_mm / 1000.0,
        coil,
        barometer_pa,
    )


@lru_cache(maxsize=4096)
def _behind_hose(
    stated_m3_s: float,
    stated_pa: float,
    outlet_pa: float,
    length_m: float,
    bore_m: float,
    coil: float,
    barometer_pa: float,
) -> GunOnHeader:
    # Most edits leave most hoses as they are.
    return gun_on_header(
        FreeAir(stated_m3_s, _ANR),
        stated_pa,
        outlet_pa,
        length_m,
        bore_m,
        0.0,
        TUBE_ROUGHNESS_M,
        barometer_pa,
        AIR_TEMPERATURE_K,
        coil,
    )


def _flow(drops: Iterable[str], by_drop: Mapping[str, AirGun], crew: Crew) -> float:
    """What passes a segment [m3/s], at the plate's reference conditions."""
    guns = [by_drop[d] for d in drops if d in by_drop]
    # Never less than the largest single gun behind it, be it used or not: that one must run whenever it is picked up.
    return max([crew.asks((g, g.own_m3_s) for g in guns), *(g.own_m3_s for g in guns)])
