"""The proof of compressed air: what the guns and pumps ask for against the compressor, and the header's drop."""

from __future__ import annotations

from collections.abc import Sequence

from estimator.hydraulics.air import FreeAir, check_compressor, site_reference
from estimator.hydraulics.air_reference import REFERENCES
from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.pump import barometric_pressure, free_air_used
from estimator.hydraulics.simultaneous import Guns
from estimator.layout.types import Layout
from estimator.model.design import AIR, Design
from estimator.model.finding import Amount, Finding, Number, Phrase, Severity, facts
from estimator.model.site import Site
from estimator.reference.resolved import Resolved
from estimator.sizing import rules, told
from estimator.sizing.air_line import AIR_TEMPERATURE_K, AirLine, at_once, grouped
from estimator.sizing.line_network import pump_curve
from estimator.sizing.line_proof import LineAnswer
from estimator.sizing.types import AirProof, Verdict
from estimator.units import Dimension

__all__ = ["gun_demands", "prove_air"]

_L_MIN = 1e-3 / 60.0


def gun_demands(
    site: Site, design: Design, answers: Sequence[LineAnswer], known: Resolved
) -> tuple[dict[str, Guns], list[Guns]]:
    """Air of each gun by drop id, and of the pumps one group a line, at the plate's reference conditions."""
    anr, plate = REFERENCES["anr"], REFERENCES[site.air.reference.value]
    barometer = barometric_pressure(site.altitude.si)
    here = site_reference(barometer, AIR_TEMPERATURE_K)
    per_second = site.use.vehicles_per_hour / 3600.0
    air_drops = [d for d in design.drops if d.service == AIR]
    blowing = min(1.0, per_second * site.use.blow_off_per_vehicle.si / len(air_drops)) if air_drops else 0.0
    chances = {a.line.line: min(1.0, a.line.use_probability) for a in answers}
    by_drop: dict[str, Guns] = {}
    for one in known.drops:
        drop, gun = one.drop, one.gun
        if gun is None or gun.air_free_l_min <= 0.0:
            continue
        flow = FreeAir(gun.air_free_l_min * _L_MIN, anr).to(plate).flow_m3_s
        chance = blowing
        if drop.service != AIR:
            chance = chances.get(drop.service, 0.0)
        by_drop[drop.id] = Guns(1, chance, flow)
    pumps = []
    for answer in answers:
        unit = known.unit(answer.line.line)
        if unit is None or unit.pump is None:
            continue  # what was proved has a pump
        mean = sum(d.alone.flow_m3_s for d in answer.drops) / len(answer.drops)
        regulator = rules.pump_pressure(unit.unit.regulator.si, site.air.pressure.si)
        used = free_air_used(pump_curve(unit.pump), mean, regulator, barometer)
        chance = min(1.0, answer.line.use_probability)
        pumps.append(Guns(len(answer.drops), chance, FreeAir(used, here).to(plate).flow_m3_s))
    return by_drop, pumps


def prove_air(
    site: Site, design: Design, layout: Layout, answers: Sequence[LineAnswer], known: Resolved
) -> tuple[AirProof | None, tuple[Finding, ...]]:
    """Air asked for 99 % of the busy hour against the compressor, and the pressure at the worst air outlet.

    Every liquid gun asks its pump for air while it is open; foam and air guns ask for their own. The sum that is
    not exceeded 99 % of the busy hour is compared with the compressor's delivery at the site's altitude less
    leaks. None where nothing asks for air.
    """
    by_drop, pumps = gun_demands(site, design, answers, known)
    groups = (*grouped(by_drop.values()), *pumps)
    if not groups:
        return None, ()
    plate = REFERENCES[site.air.reference.value]
    demand = FreeAir(at_once(groups), plate)
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
                "Hunter's criterion (NBS BMS65, 1940) on air demand",
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
                worst, pressure = AirLine(site, line, by_drop).worst(chosen)
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
