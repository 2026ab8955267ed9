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
from estimator.hydraulics.solution import Liquid, liquid
from estimator.model.design import Product
from estimator.model.finding import Amount, Finding, Number, Severity, facts
from estimator.model.site import Site
from estimator.reference.catalogue import Proportioner as ProportionerPart
from estimator.reference.resolved import KnownUnit
from estimator.sizing import rules, told
from estimator.sizing.day_proof import mean_draw
from estimator.sizing.line_proof import LineAnswer
from estimator.sizing.types import PlantProof, WaterProof
from estimator.units import Dimension

__all__ = ["SUCTION", "WATER_SWING", "concentrate_of", "proportioner_of", "prove_plant", "prove_water"]

SUCTION: Final = SuctionLine(lift_m=1.0, length_m=2.0, bore_m=6.35e-3)
"""From the container to the proportioner: assumed, as on a wall board over containers on the floor."""

WATER_SWING: Final = 0.2
"""Water pressure swings by this share around the survey's figure; assumed, common practice, no source."""

_SOURCE = "hydraulic proof"
_L_MIN = 1e-3 / 60.0


def concentrate_of(site: Site, product: Product) -> Liquid:
    """The concentrate at the temperature of the water; OutOfRange where that is outside 0 to 60 °C."""
    return liquid(
        site.water.temperature.si, product.concentrate_specific_gravity, product.concentrate_viscosity.si
    )


def proportioner_of(part: ProportionerPart) -> Proportioner:
    """What a part of the catalogue does with water."""
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
) -> tuple[int, Suction]:
    """Tip drill and what it does at the survey's pressure.

    Kept by value: what the guns do does not change it, so most edits leave it as it is.
    """
    if drill is not None:
        tip = drill_diameter(drill)
        return drill, draw(made, inlet_pa, SUCTION, concentrate, tip, barometric_pa=barometer_pa)
    choice = choose_tip(made, inlet_pa, SUCTION, concentrate, dilution, barometric_pa=barometer_pa)
    return choice.drill or 0, choice.given


def prove_plant(
    site: Site, product: Product, known: KnownUnit, at: int, answer: LineAnswer
) -> tuple[PlantProof | None, tuple[Finding, ...]]:
    """Dilution, refill and tank of one product.

    Args:
        site: the survey.
        product, known: what is made and by what.
        at: position of the unit in the design's list.
        answer: the proof of its line, which says how much is drawn.

    Returns:
        The proof, None where it cannot be given; findings then say why. How often the tank runs dry is not in it yet:
        that is the day's (`day_proof.prove_day`), which all tanks share.
    """
    place, named = f"design.plant.{at}", told.product(product.id)
    unit, part, vessel = known.unit, known.proportioner, known.tank
    if part is None or vessel is None or product.dilution <= 0.0:
        return (
            None,
            (),
        )  # unknown parts are told where keys are looked up; an undiluted product needs no proportioner
    findings: list[Finding] = []
    try:
        concentrate = concentrate_of(site, product)
        made = proportioner_of(part)
        inlet, barometer = site.water.pressure.si, barometric_pressure(site.altitude.si)
        drill, given = _given(inlet, barometer, product.dilution, unit.tip_drill, made, concentrate)
    except OutOfRange as error:
        where = "site.water.temperature" if error.quantity == "temperature_k" else "site.water.pressure"
        return None, (
            Finding(
                Severity.ERROR,
                where,
                "plant-out-of-range",
                "{product}: the proportioner cannot be proved: {why}.",
                _SOURCE,
                facts=facts(product=named, why=told.out_of_range(error)),
            ),
        )
    if given.parts_water is None or drill == 0:
        return None, (
            Finding(
                Severity.ERROR,
                "site.water.pressure",
                "no-concentrate",
                "{product}: at {pressure} of water the proportioner has too little vacuum to lift concentrate. More "
                "water pressure or a lower lift would do it.",
                _SOURCE,
                facts=facts(product=named, pressure=Amount.of(site.water.pressure)),
            ),
        )
    lean, rich = _range(inlet, barometer, made, concentrate, drill)
    dilution = given.parts_water
    off = dilution / product.dilution - 1.0
    if rules.off_dilution(dilution, product.dilution):
        findings.append(
            Finding(
                Severity.WARNING,
                f"{place}.tip_drill",
                "dilution-off",
                "{product}: tip drill {drill} gives about {given}, {off} {word} than the wanted {wanted}. Choose "
                "another tip, or another proportioner.",
                _SOURCE,
                facts=facts(
                    product=named,
                    drill=str(drill),
                    given=Number(dilution, 0, ":1"),
                    off=told.excess(abs(off)),
                    word="leaner" if off > 0.0 else "richer",
                    wanted=Number(product.dilution, 2, ":1"),
                ),
            )
        )
    refill = given.water_m3_s + given.concentrate_m3_s
    drawn = mean_draw(answer)
    keeps_up = rules.enough(drawn, refill)
    if not keeps_up.holds:
        findings.append(
            Finding(
                Severity.ERROR,
                f"{place}.proportioner",
                "refill-too-slow",
                "{product}: the busy hour draws {draw} on average, the proportioner refills {refill}. A larger "
                "proportioner or more water pressure lifts it.",
                _SOURCE,
                facts=facts(product=named, draw=told.flow(drawn), refill=told.flow(refill)),
            )
        )
    proof = PlantProof(
        product=product.id,
        busy_hour_draw_m3=3600.0 * drawn,
        refill_m3_s=refill,
        tank_m3=1e-3 * vessel.volume_l,
        dry_chance=0.0,
        smallest_tank="",
        tip_drill=drill,
        dilution=dilution,
        lean=lean,
        rich=rich,
        verdict=keeps_up,
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
                "Water flow: the busy hour draws {drawn} of water and the tie-in gives {given} an hour. A larger "
                "tie-in or a break tank lifts it.",
                _SOURCE,
                facts=facts(
                    drawn=Amount(drawn, Dimension.VOLUME, 0),
                    given=Amount(3600.0 * supply, Dimension.VOLUME, 0),
                ),
            ),
        )
    if not rules.enough(demand, supply).holds:
        return WaterProof(demand, supply, verdict), (
            Finding(
                Severity.NOTE,
                "site.water.flow",
                "water-shared",
                "Water flow: all proportioners filling together would take {demand} and the tie-in gives {supply}; "
                "they fill more slowly then, and the hour's draw is still met.",
                _SOURCE,
                facts=facts(demand=told.flow(demand, 0), supply=told.flow(supply, 0)),
            ),
        )
    return WaterProof(demand, supply, verdict), ()
