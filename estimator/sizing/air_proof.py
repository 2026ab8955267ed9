"""The proof of compressed air: what the guns and pumps ask for against the compressor, and the header's drop."""

from __future__ import annotations

from collections.abc import Sequence

from estimator.hydraulics.air import FreeAir, check_compressor, site_reference
from estimator.hydraulics.air_reference import REFERENCES
from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.pump import barometric_pressure, free_air_used
from estimator.layout.types import Layout
from estimator.model.design import AIR, Design
from estimator.model.finding import Amount, Finding, Number, Phrase, Severity, facts
from estimator.model.site import Site
from estimator.reference.resolved import Resolved
from estimator.sizing import rules, told
from estimator.sizing.air_line import AIR_TEMPERATURE_K, AirGun, AirLine, Crew
from estimator.sizing.line_network import pump_curve
from estimator.sizing.line_proof import LineAnswer
from estimator.sizing.types import AirProof, Verdict
from estimator.units import Dimension

__all__ = ["gun_demands", "prove_air"]

_L_MIN = 1e-3 / 60.0


def gun_demands(
    site: Site, design: Design, answers: Sequence[LineAnswer], known: Resolved
) -> tuple[dict[str, AirGun], Crew]:
    """Each gun that asks for air by drop id, at the plate's reference conditions, and who is at work."""
    anr, plate = REFERENCES["anr"], REFERENCES[site.air.reference.value]
    barometer = barometric_pressure(site.altitude.si)
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
        regulator = rules.pump_pressure(unit.unit.regulator.si, site.air.pressure.si)
        used = FreeAir(free_air_used(pump_curve(unit.pump), mean, regulator, barometer), here)
        pumps.update({proved.drop: used.to(plate).flow_m3_s for proved in answer.drops})
    by_drop: dict[str, AirGun] = {}
    for one in known.drops:
        drop, gun = one.drop, one.gun
        own = FreeAir(gun.air_free_l_min * _L_MIN, anr).to(plate).flow_m3_s if gun is not None else 0.0
        pump = pumps.get(drop.id, 0.0)
        if own > 0.0 or pump > 0.0:
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
    asked = crew.asks((gun, gun.own_m3_s + gun.pump_m3_s) for gun in by_drop.values())
    plate = REFERENCES[site.air.reference.value]
    demand = FreeAir(asked, plate)
    check = check_compressor(
        FreeAir(site.air.free_air.si, plate),
        [demand],
        float(site.air.leak_percent) / 100.0,
        barometric_pressure(site.altitude.si),
        AIR_TEMPERATURE_K,
    )
    findings: list[Finding] = []
    verdict = Verdict.GOOD
    if not check.valid:
        verdict = Verdict.SHORT
        findings.append(
            Finding(
                Severity.ERROR,
                "site.air.free_air",
                "compressor-too-small",
                "Compressor free air: {demand} are asked for, {there}. A larger compressor, fewer guns at once, "
                "smaller nozzles or a lower regulator setting lifts it.",
                "Hunter's criterion (NBS BMS65, 1940) on the people at work",
                facts=facts(
                    demand=Amount(demand.flow_m3_s, Dimension.FREE_AIR, 0),
                    there=Phrase("and there is none")
                    if site.air.free_air.si <= 0.0
                    else Phrase(
                        "{given} are there after {leak} leaks",
                        facts(
                            given=Amount(check.available.flow_m3_s, Dimension.FREE_AIR, 0),
                            leak=Number(site.air.leak_percent, 1, "%"),
                        ),
                    ),
                ),
            )
        )
    worst, pressure = "", site.air.pressure.si
    line = layout.line(AIR)
    if line is not None and site.air.pressure.si > 0.0:
        try:
            tubes = [known.tube(line.id, segment.id) for segment in line.segments]
            chosen = [tube for tube in tubes if tube is not None]
            # A tube that the catalogue has not is told where its key stands; without it nothing is known of the line.
            if len(chosen) == len(tubes):
                worst, pressure = AirLine(site, line, by_drop, crew).worst(chosen)
        except OutOfRange:
            verdict = Verdict.SHORT
            findings.append(
                Finding(
                    Severity.ERROR,
                    "design.lines",
                    "air-line-choked",
                    "Compressed air line: the tube chokes at the flow asked for; choose a wider tube.",
                    "isothermal flow (Crane TP-410)",
                )
            )
        lost = site.air.pressure.si - pressure
        if worst and rules.loses_too_much(lost, site.air.pressure.si):
            findings.append(
                Finding(
                    Severity.WARNING,
                    "design.lines",
                    "air-header-drop",
                    "Compressed air line: {lost} are lost on the way to {drop}, over {share} of the supply. A wider "
                    "tube lowers it.",
                    "common practice, no source",
                    facts=facts(
                        lost=told.pressure(lost),
                        drop=told.drop(worst),
                        share=told.share(rules.HEADER_DROP_SHARE),
                    ),
                )
            )
    proof = AirProof(
        demand_m3_s=demand.flow_m3_s,
        leak_m3_s=check.leak.flow_m3_s,
        supply_m3_s=check.available.flow_m3_s + check.leak.flow_m3_s,
        worst_drop=worst,
        worst_pressure_pa=pressure,
        verdict=verdict,
    )
    return proof, tuple(findings)
