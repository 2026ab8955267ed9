"""The proof of the plant: dilution and refill of each proportioner, its day tank, and water for all of them."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Final

from estimator.hydraulics.drills import drill_diameter
from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.proportioner import (
    Proportioner,
    Suction,
    SuctionLine,
    VacuumCurve,
    choose_tip,
    dilution_range,
    draw,
)
from estimator.hydraulics.pump import barometric_pressure
from estimator.hydraulics.simultaneous import Guns
from estimator.hydraulics.solution import Liquid, liquid
from estimator.hydraulics.tank import ShopDay, busy_hour, simulate, smallest_tank, tank
from estimator.model.design import PlantUnit, Product
from estimator.model.finding import Finding, Severity
from estimator.model.site import Site
from estimator.reference.catalogue import Catalogue
from estimator.reference.catalogue import Proportioner as ProportionerPart
from estimator.sizing import rules
from estimator.sizing.line_proof import LineAnswer
from estimator.sizing.types import PlantProof, WaterProof

__all__ = ["SUCTION", "WATER_SWING", "prove_plant", "prove_water"]

SUCTION: Final = SuctionLine(lift_m=1.0, length_m=2.0, bore_m=6.35e-3)
"""From the container to the proportioner: assumed, as on a wall board over containers on the floor."""

WATER_SWING: Final = 0.2
"""Water pressure swings by this share around the survey's figure; assumed, common practice, no source."""

_SOURCE = "hydraulic proof"
_L_MIN = 1e-3 / 60.0
_BAR = 1e5


def _proportioner(part: ProportionerPart) -> Proportioner:
    curve = VacuumCurve(tuple((1000.0 * inlet, 1000.0 * vacuum) for inlet, vacuum in part.vacuum_kpa), True)
    return Proportioner(part.flow_l_min * _L_MIN, 1000.0 * part.at_kpa, curve)


@lru_cache(maxsize=256)
def _given(
    inlet_pa: float,
    barometer_pa: float,
    dilution: float,
    drill: int | None,
    made: Proportioner,
    concentrate: Liquid,
) -> tuple[int, Suction, str]:
    """Tip drill, what it does at the survey's pressure, and what the choice has to say.

    Kept by value: what the guns do does not change it, so most edits leave it as it is.
    """
    if drill is not None:
        tip = drill_diameter(drill)
        return drill, draw(made, inlet_pa, SUCTION, concentrate, tip, barometric_pa=barometer_pa), ""
    choice = choose_tip(made, inlet_pa, SUCTION, concentrate, dilution, barometric_pa=barometer_pa)
    return choice.drill or 0, choice.given, choice.note


def prove_plant(
    site: Site, product: Product, unit: PlantUnit, at: int, answer: LineAnswer, parts: Catalogue
) -> tuple[PlantProof | None, tuple[Finding, ...]]:
    """Dilution, refill and tank of one product.

    Args:
        site: the survey.
        product, unit: what is made and by what.
        at: position of the unit in the design's list.
        answer: the proof of its line, which says how much is drawn.
        parts: the catalogue.

    Returns:
        The proof, None where it cannot be given; findings then say why.
    """
    place = f"design.plant.{at}"
    part = next((p for p in parts.proportioners if p.key == unit.proportioner), None)
    vessel = next((t for t in parts.tanks if t.key == unit.tank), None)
    if part is None or vessel is None or product.dilution <= 0.0:
        return None, ()  # unknown parts are named by the layout; an undiluted product needs no proportioner
    findings: list[Finding] = []
    try:
        concentrate = liquid(
            site.water.temperature.si,
            product.concentrate_specific_gravity,
            product.concentrate_viscosity.si,
        )
        made = _proportioner(part)
        inlet, barometer = site.water.pressure.si, barometric_pressure(site.altitude.si)
        drill, given, note = _given(inlet, barometer, product.dilution, unit.tip_drill, made, concentrate)
    except OutOfRange as error:
        where = "site.water.temperature" if error.quantity == "temperature_k" else "site.water.pressure"
        return None, (
            Finding(
                Severity.ERROR,
                where,
                "plant-out-of-range",
                f"“{product.name}”: the proportioner cannot be proved: {error}.",
                _SOURCE,
            ),
        )
    if given.parts_water is None or drill == 0:
        return None, (
            Finding(
                Severity.ERROR,
                "site.water.pressure",
                "no-concentrate",
                f"“{product.name}”: at {site.water.pressure.text} of water the proportioner lifts no concentrate "
                f"({note or 'too little vacuum'}). More water pressure or a lower lift would do it.",
                _SOURCE,
            ),
        )
    lean, rich = _range(inlet, barometer, made, concentrate, drill)
    dilution = given.parts_water
    off = dilution / product.dilution - 1.0
    if rules.off_dilution(dilution, product.dilution):
        word = "leaner" if off > 0.0 else "richer"
        findings.append(
            Finding(
                Severity.WARNING,
                f"{place}.tip_drill",
                "dilution-off",
                f"“{product.name}”: tip drill {drill} gives about {dilution:.0f}:1, {abs(off):.0%} {word} than the "
                f"wanted {product.dilution:g}:1. Choose another tip, or another proportioner.",
                _SOURCE,
            )
        )
    refill = given.water_m3_s + given.concentrate_m3_s
    day = _day(site, answer, refill)
    balance = busy_hour(day)
    if not balance.valid:
        findings.append(
            Finding(
                Severity.ERROR,
                f"{place}.proportioner",
                "refill-too-slow",
                f"“{product.name}”: {balance.note}. A larger proportioner or more water pressure lifts it.",
                _SOURCE,
            )
        )
    result = simulate(day, [tank(1e-3 * vessel.volume_l)])[0]
    volumes = sorted(parts.tanks, key=lambda t: t.volume_l)
    choice = smallest_tank(day, [tank(1e-3 * t.volume_l) for t in volumes], rules.DRY_LIMIT)
    smallest = ""
    if choice.smallest is not None:
        wanted = choice.smallest.tank.volume_m3
        smallest = next(t.key for t in volumes if abs(1e-3 * t.volume_l - wanted) < 1e-9)
    if rules.runs_dry(result.chance_dry):
        name = next((t.name for t in volumes if t.key == smallest), "")
        lifts = f"{name} keeps it under 1 %." if name else "No tank of the catalogue keeps it under 1 %."
        findings.append(
            Finding(
                Severity.ERROR,
                f"{place}.tank",
                "tank-runs-dry",
                f"“{product.name}”: the day tank runs dry on {result.chance_dry:.0%} of days. {lifts}",
                _SOURCE,
            )
        )
    proof = PlantProof(
        product=product.id,
        busy_hour_draw_m3=3600.0 * day.mean_draw_m3_s,
        refill_m3_s=refill,
        tank_m3=1e-3 * vessel.volume_l,
        dry_chance=result.chance_dry,
        smallest_tank=smallest,
        tip_drill=drill,
        dilution=dilution,
        lean=lean,
        rich=rich,
        verdict=rules.plant_verdict(result.chance_dry, keeps_up=balance.valid),
    )
    return proof, tuple(findings)


@lru_cache(maxsize=256)
def _range(
    here: float, barometer_pa: float, made: Proportioner, concentrate: Liquid, drill: int
) -> tuple[float, float]:
    """Lean and rich dilution while the water pressure swings, kept inside the proportioner's curve."""
    pressures = [inlet for inlet, _ in made.vacuum.points]
    low = max(min(pressures), (1.0 - WATER_SWING) * here)
    high = min(max(pressures), (1.0 + WATER_SWING) * here)
    found = dilution_range(
        made,
        low,
        high,
        SUCTION,
        concentrate,
        drill_diameter(drill),
        barometric_pa=barometer_pa,
        points=5,
    )
    lean = found.lean.parts_water if found.lean is not None else None
    rich = found.rich.parts_water if found.rich is not None else None
    return lean or 0.0, rich or 0.0


def _day(site: Site, answer: LineAnswer, refill_m3_s: float) -> ShopDay:
    chance = min(1.0, answer.line.use_probability)
    flows: dict[float, int] = {}
    for drop in answer.drops:
        flow = round(drop.alone.flow_m3_s, 9)
        flows[flow] = flows.get(flow, 0) + 1
    hours = site.use.hours_per_day
    return ShopDay(
        tuple(Guns(count, chance, flow) for flow, count in flows.items()),
        round(refill_m3_s, 9),
        hours if hours > 0.0 else 1.0,
    )


def prove_water(site: Site, plant: Sequence[PlantProof]) -> tuple[WaterProof | None, tuple[Finding, ...]]:
    """All proportioners refilling together against the tie-in. None where there is no proved plant."""
    if not plant:
        return None, ()
    demand = sum(p.refill_m3_s * p.dilution / (1.0 + p.dilution) for p in plant)
    supply = site.water.flow.si
    drawn = sum(p.busy_hour_draw_m3 * p.dilution / (1.0 + p.dilution) for p in plant)
    verdict = rules.enough(drawn, 3600.0 * supply)
    if not verdict.holds:
        return WaterProof(demand, supply, verdict), (
            Finding(
                Severity.ERROR,
                "site.water.flow",
                "water-too-little",
                f"Water flow: the busy hour draws {1000.0 * drawn:.0f} L of water and the tie-in gives "
                f"{3.6e6 * supply:.0f} L an hour. A larger tie-in or a break tank lifts it.",
                _SOURCE,
            ),
        )
    if not rules.enough(demand, supply).holds:
        return WaterProof(demand, supply, verdict), (
            Finding(
                Severity.NOTE,
                "site.water.flow",
                "water-shared",
                f"Water flow: all proportioners filling together would take {demand / _L_MIN:.0f} L/min and the tie-in "
                f"gives {supply / _L_MIN:.0f} L/min; they fill more slowly then, and the hour's draw is still met.",
                _SOURCE,
            ),
        )
    return WaterProof(demand, supply, verdict), ()
