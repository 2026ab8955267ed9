"""The proof of compressed air: what the guns and pumps ask for against the compressor, and the header's drop."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from estimator.hydraulics.air import FreeAir, site_reference
from estimator.hydraulics.air_reference import REFERENCES
from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.pump import free_air_used
from estimator.layout.types import Layout
from estimator.model.design import AIR, Design
from estimator.model.finding import Amount, Fact, Finding, Number, Phrase, Severity, facts
from estimator.model.site import Site
from estimator.reference.resolved import Resolved
from estimator.sizing import rules, told
from estimator.sizing.air_line import AIR_TEMPERATURE_K, AirGun, AirLine, Crew, gun_at, head_of_line
from estimator.sizing.air_supply import Supply, supply_findings, supply_of
from estimator.sizing.line_network import pump_curve
from estimator.sizing.line_proof import LineAnswer
from estimator.sizing.types import AirDrop, AirProof, Verdict
from estimator.units import Dimension

__all__ = ["gun_demands", "prove_air"]

_L_MIN = 1e-3 / 60.0


def gun_demands(
    site: Site, design: Design, answers: Sequence[LineAnswer], known: Resolved
) -> tuple[dict[str, AirGun], Crew]:
    """Each gun that asks for air by drop id, at the plate's reference conditions, and who is at work."""
    anr, plate = REFERENCES["anr"], REFERENCES[site.air.reference.value]
    supply = supply_of(site)
    barometer, head = supply.barometer_pa, head_of_line(supply, known.lines.get(AIR))
    here = site_reference(barometer, AIR_TEMPERATURE_K)
    per_second = site.use.vehicles_per_hour / 3600.0
    air_drops = [d for d in design.drops if d.service == AIR]
    chances = {a.line.line: min(1.0, a.line.use_probability) for a in answers}
    if air_drops:
        chances[AIR] = min(1.0, per_second * site.use.blow_off_per_vehicle.si / len(air_drops))
    pumps: dict[str, float] = {}
    for answer in answers:
        unit = known.unit(answer.line.line)
        if unit is None or unit.pump is None:
            continue  # what was proved has a pump
        mean = sum(d.alone.flow_m3_s for d in answer.drops) / len(answer.drops)
        regulator = rules.pump_pressure(unit.unit.regulator.si, supply.board_pa)
        used = FreeAir(free_air_used(pump_curve(unit.pump), mean, regulator, barometer), here)
        pumps.update({proved.drop: used.to(plate).flow_m3_s for proved in answer.drops})
    by_drop: dict[str, AirGun] = {}
    for one in known.drops:
        drop, gun = one.drop, one.gun
        own = FreeAir(gun.air_free_l_min * _L_MIN, anr).to(plate).flow_m3_s if gun is not None else 0.0
        if (open_ := gun_at(one, head, barometer)) is not None:
            own = open_.air.to(plate).flow_m3_s
        pump = pumps.get(drop.id, 0.0)
        # A pump without pressure asks for nothing and is there all the same.
        if own > 0.0 or drop.id in pumps:
            by_drop[drop.id] = AirGun(drop.service, chances.get(drop.service, 0.0), own, pump)
    bays = len({drop.bay for drop in design.drops})
    return by_drop, Crew.of(bays, by_drop.values(), site.use.guns_open)


def prove_air(
    site: Site, design: Design, layout: Layout, answers: Sequence[LineAnswer], known: Resolved
) -> tuple[AirProof | None, tuple[Finding, ...]]:
    """Air that people ask for against the compressor, and the pressure at the worst air outlet.

    Every liquid gun asks its pump for air while it is open, a foam gun for its own too, and so does an air gun. Who
    opens one, and what the others at work ask for in 99 % of such moments, is compared with the compressor's delivery
    at the site's altitude less leaks. None where nothing asks for air.
    """
    by_drop, crew = gun_demands(site, design, answers, known)
    if not by_drop:
        return None, ()
    findings = list(supply_findings(site))
    supply = supply_of(site)
    asked = crew.asks((gun, gun.own_m3_s + gun.pump_m3_s) for gun in by_drop.values())
    enough = rules.enough(asked, supply.given_m3_s)
    burst = None
    if not enough.holds:
        demand = FreeAir(asked, REFERENCES[site.air.reference.value])
        needed = _needed_pa(supply, known, answers)
        burst = supply.burst_s(demand, needed)
        mean, longest = _over_the_hour(site, by_drop)
        carried = burst is not None and rules.receiver_carries(burst, longest, mean, supply.given_m3_s)
        larger = supply.receiver_for(demand, needed, longest)
        if not rules.receiver_carries(longest, longest, mean, supply.given_m3_s):
            larger = None  # what is taken over the hour does not come back
        findings.append(_too_small(site, supply, asked, burst, longest, larger, carried=carried))
        enough = Verdict.GOOD if carried else enough
    drops: tuple[AirDrop, ...] = ()
    choked = False
    line = layout.line(AIR)
    plan = known.lines.get(AIR)
    head = head_of_line(supply, plan)
    if line is not None:
        findings.extend(_setting(design, supply))
    if line is not None and head > 0.0:
        try:
            drops = _drops(AirLine(site, line, by_drop, crew, plan), known)
            choked = any(drop.outlet_pa <= 0.0 for drop in drops)
        except OutOfRange:
            choked = True
        if choked:
            drops = ()
            findings.append(
                Finding(
                    Severity.ERROR,
                    "design.lines",
                    "air-line-choked",
                    "Compressed air line: the flow asked for does not pass its tube and check valves; choose a wider "
                    "tube or raise its pressure.",
                    "isothermal flow (Crane TP-410)",
                )
            )
    worst = min(drops, key=lambda d: d.outlet_pa, default=None)
    lost = head - worst.outlet_pa if worst is not None else 0.0
    if worst is not None and rules.loses_too_much(lost, head):
        findings.append(
            Finding(
                Severity.WARNING,
                "design.lines",
                "air-header-drop",
                "Compressed air line: {lost} are lost on the way to {drop}, over {share} of the {head} at its head. A "
                "wider tube lowers it.",
                "common practice, no source",
                facts=facts(
                    lost=told.pressure(lost),
                    head=told.pressure(head),
                    drop=told.drop(worst.drop),
                    share=told.share(rules.HEADER_DROP_SHARE),
                ),
            )
        )
    proof = AirProof(
        demand_m3_s=asked,
        leak_m3_s=supply.leak_m3_s,
        purge_m3_s=supply.purge_m3_s,
        supply_m3_s=supply.delivery_m3_s,
        board_pa=supply.board_pa,
        head_pa=head,
        cut_in_assumed=supply.cut_in_assumed,
        burst_s=burst,
        worst_drop=worst.drop if worst is not None and lost > 0.0 else "",
        worst_pressure_pa=worst.outlet_pa if worst is not None else head,
        drops=drops,
        verdict=Verdict.SHORT if choked else enough,
    )
    return proof, tuple(findings)


def _drops(line: AirLine, known: Resolved) -> tuple[AirDrop, ...]:
    """Each air outlet; none where a tube is not in the catalogue, which is told where its key stands.

    Raises:
        OutOfRange: a tube chokes.
    """
    segments = line.line.segments
    tubes = [tube for s in segments if (tube := known.tube(AIR, s.id)) is not None]
    if len(tubes) != len(segments):
        return ()
    left = line.pressures(tubes)
    found: list[AirDrop] = []
    for one in known.drops:
        outlet = left.get(one.drop.id)
        if outlet is None:
            continue  # it asks for no air
        gun = gun_at(one, max(outlet, 0.0), line.barometer_pa)
        found.append(AirDrop(one.drop.id, outlet, None if gun is None else gun.gun_pa))
    return tuple(found)


def _setting(design: Design, supply: Supply) -> Iterator[Finding]:
    """What the air line's own regulator is set to against what there is."""
    at = next((i for i, plan in enumerate(design.lines) if plan.service == AIR), None)
    own = design.lines[at].regulator if at is not None else None
    if own is None:
        return
    place = f"design.lines.{at}.regulator"
    if own.si <= 0.0:
        yield Finding(
            Severity.ERROR,
            place,
            "air-line-shut",
            "Line regulator: set to {setting} the compressed air line gives nothing; set what its guns need, or leave "
            "the regulator out.",
            "hydraulic proof",
            facts=facts(setting=Amount.of(own)),
        )
    elif rules.above(own.si, supply.board_pa) and supply.board_pa > 0.0:
        yield Finding(
            Severity.WARNING,
            place,
            "air-regulator-above-compressor",
            "Line regulator: the compressed air line is set to {setting}, above the {supply} that reach the board just "
            "before the compressor starts. The proof takes that pressure; lower the setting or raise the cut-in "
            "pressure.",
            "hydraulic proof",
            facts=facts(setting=Amount.of(own), supply=told.pressure(supply.board_pa)),
        )


def _needed_pa(supply: Supply, known: Resolved, answers: Sequence[LineAnswer]) -> float:
    """Gauge pressure that the board must keep while the receiver empties: the highest setting, and for a line without
    one what its tube may lose."""
    units = [known.unit(a.line.line) for a in answers]
    settings = [unit.unit.regulator.si for unit in units if unit is not None]
    if any(one.gun is not None and one.gun.air_free_l_min > 0.0 for one in known.drops):
        plan = known.lines.get(AIR)
        own = plan.regulator if plan is not None else None
        settings.append((1.0 - rules.HEADER_DROP_SHARE) * supply.board_pa if own is None else own.si)
    return max(settings, default=0.0)


def _over_the_hour(site: Site, by_drop: Mapping[str, AirGun]) -> tuple[float, float]:
    """What is taken over the busy hour [m3/s], and the longest that one service is used on a vehicle [s]."""
    guns = by_drop.values()
    mean = math.fsum(gun.chance * (gun.own_m3_s + gun.pump_m3_s) for gun in guns)
    per_second = site.use.vehicles_per_hour / 3600.0
    times: dict[str, float] = {}
    for gun in guns:
        times[gun.service] = times.get(gun.service, 0.0) + gun.chance
    return mean, max(times.values(), default=0.0) / per_second if per_second > 0.0 else 0.0


def _too_small(
    site: Site,
    supply: Supply,
    asked: float,
    burst: float | None,
    longest: float,
    larger: float | None,
    *,
    carried: bool,
) -> Finding:
    """What is asked for beyond what the compressor gives, and how long the receiver carries it."""
    source = "Hunter's criterion (NBS BMS65, 1940) on the people at work"
    demand = Amount(asked, Dimension.FREE_AIR, 0)
    given = Amount(supply.given_m3_s, Dimension.FREE_AIR, 0)
    if carried and burst is not None:
        return Finding(
            Severity.WARNING,
            "site.air.receiver",
            "air-on-receiver",
            "Air receiver: at the busiest {demand} are asked for and the compressor gives {given}. The receiver "
            "carries the rest for {burst}, and the longest use on a vehicle takes {longest}.",
            source,
            facts=facts(demand=demand, given=given, burst=told.seconds(burst), longest=told.seconds(longest)),
        )
    there: Fact = Phrase("and there is none")
    if site.air.free_air.si > 0.0:
        there = Phrase(
            "{given} are there after {leak} leaks{purge}",
            facts(
                given=given,
                leak=told.share(supply.leak_share, 1),
                purge=Phrase(" and {share} of dryer purge", facts(share=Number(site.air.dryer_purge, 1, "%")))
                if supply.purge_m3_s > 0.0
                else Phrase(""),
            ),
        )
    held = Phrase("")
    if burst is not None and site.air.free_air.si > 0.0 and supply.receiver_m3:
        held = Phrase(" The receiver carries the rest for {burst} only.", facts(burst=told.seconds(burst)))
    return Finding(
        Severity.ERROR,
        "site.air.free_air",
        "compressor-too-small",
        "Compressor free air: {demand} are asked for, {there}.{held} A larger compressor, fewer guns at once, "
        "smaller nozzles or a lower regulator setting lifts it.{larger}",
        source,
        facts=facts(
            demand=demand,
            there=there,
            held=held,
            larger=Phrase("")
            if larger is None
            else Phrase(
                " So does a receiver of {volume}, which carries the longest use on a vehicle, {longest}.",
                facts(volume=Amount(larger, Dimension.VOLUME, 0), longest=told.seconds(longest)),
            ),
        ),
    )
