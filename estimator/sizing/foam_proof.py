"""The proof of foam guns: solution and air meet in the gun, and both pressures decide what comes of it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from estimator.hydraulics.air import GAS_CONSTANT_J_KG_K, FreeAir
from estimator.hydraulics.air_reference import REFERENCES
from estimator.hydraulics.foam import FoamGun, foam, outlet_area
from estimator.model.design import Design
from estimator.model.finding import Finding, IdKind, Listed, Number, Phrase, Ref, Severity, facts
from estimator.model.site import Site
from estimator.reference.catalogue import Gun
from estimator.reference.resolved import Resolved
from estimator.sizing import rules, told
from estimator.sizing.air_supply import AIR_TEMPERATURE_K, supply_of
from estimator.sizing.line_proof import LineAnswer
from estimator.sizing.types import AirProof, DropProof, FoamProof

__all__ = ["foam_assumptions", "prove_foam"]

_L_MIN = 1e-3 / 60.0
_WATER_KG_M3 = 1000.0


def prove_foam(
    site: Site, design: Design, answers: Sequence[LineAnswer], known: Resolved, air: AirProof | None
) -> tuple[tuple[FoamProof, ...], tuple[Finding, ...]]:
    """What each foam gun makes in the design case, just before the compressor starts.

    Nothing of a gun whose foam data, solution or air is not known; those are told where they are missing.
    """
    if air is None:
        return (), ()
    at_gun = {one.drop: one.gun_pa for one in air.drops if one.gun_pa is not None}
    proofs = {drop.drop: drop for answer in answers for drop in answer.drops}
    gravity = {p.id: p.specific_gravity for p in design.products}
    barometer = supply_of(site).barometer_pa
    found: list[FoamProof] = []
    guns: dict[str, Gun] = {}
    for one in known.drops:
        gun, proof, air_pa = one.gun, proofs.get(one.drop.id), at_gun.get(one.drop.id)
        if gun is None or proof is None or air_pa is None:
            continue
        made = _foam(gun, proof, air_pa, gravity[proof.line] * _WATER_KG_M3, barometer)
        if made is not None:
            found.append(made)
            guns[made.drop] = gun
    by_line: dict[str, list[FoamProof]] = {}
    for made in found:
        if not rules.foams(made.ratio, made.low, made.high):
            by_line.setdefault(made.line, []).append(made)
    return tuple(found), tuple(_off(design, some, guns[some[0].drop]) for some in by_line.values())


def foam_assumptions(foam_guns: Sequence[FoamProof]) -> tuple[Phrase, ...]:
    """What is taken of foam guns, for the basis of design."""
    if not foam_guns:
        return ()
    return (
        Phrase(
            "Foam: solution and air share the gun's outlet at the pressure where they meet; the ratio is a guide; look "
            "at the foam at commissioning."
        ),
    )


def _foam(
    gun: Gun, proof: DropProof, air_pa: float, density_kg_m3: float, barometer_pa: float
) -> FoamProof | None:
    state = proof.together
    if (
        gun.foam_back_kpa is None
        or gun.foam_low is None
        or gun.foam_high is None
        or gun.air_free_l_min <= 0.0
        or state.flow_m3_s <= 0.0
        or state.nozzle_pressure_pa <= 0.0
    ):
        return None
    stated = FreeAir(gun.air_free_l_min * _L_MIN, REFERENCES["anr"])
    made = foam(
        FoamGun(
            state.flow_m3_s,
            state.nozzle_pressure_pa,
            stated.mass_flow_kg_s,
            1000.0 * gun.air_at_kpa,
            outlet_area(stated, 1000.0 * gun.foam_back_kpa, barometer_pa, AIR_TEMPERATURE_K),
        ),
        state.nozzle_pressure_pa,
        air_pa,
        density_kg_m3,
        barometer_pa,
        AIR_TEMPERATURE_K,
    )
    return FoamProof(
        drop=proof.drop,
        line=proof.line,
        solution_pa=state.nozzle_pressure_pa,
        air_pa=air_pa,
        chamber_pa=made.chamber_pa,
        solution_m3_s=made.solution_m3_s,
        air_m3_s=made.air_kg_s * GAS_CONSTANT_J_KG_K * AIR_TEMPERATURE_K / barometer_pa,
        ratio=made.ratio if math.isfinite(made.ratio) else None,
        low=gun.foam_low,
        high=gun.foam_high,
    )


def _off(design: Design, some: Sequence[FoamProof], gun: Gun) -> Finding:
    """Guns of one product whose foam is too wet or too dry; the worst of them is told."""
    worst = max(
        some, key=lambda one: math.inf if not one.ratio else max(one.low / one.ratio, one.ratio / one.high)
    )
    wet = worst.ratio is not None and worst.ratio < worst.low
    at = next(i for i, drop in enumerate(design.drops) if drop.id == worst.drop)
    ratio = (
        Phrase("the air shuts the solution out")
        if worst.ratio is None
        else Phrase("no air gets in")
        if worst.ratio <= 0.0
        else Phrase(
            "there are {ratio} of air to one of solution", facts(ratio=Number(worst.ratio, 0, " parts"))
        )
    )
    return Finding(
        Severity.WARNING,
        f"design.drops.{at}.gun",
        "foam-ratio",
        "{product}: at {drops} the foam comes out too {word}: with {solution} of solution and {air} of air at the gun "
        "{ratio}; {gun} makes foam of {low} to {high} (catalogue data). {lifts}",
        "both pressures at the gun, separated flow; a guide; look at the foam at commissioning",
        facts=facts(
            product=told.product(worst.line),
            drops=Listed(tuple(told.drop(one.drop) for one in some)),
            word="wet" if wet else "dry",
            solution=told.pressure(worst.solution_pa),
            air=told.pressure(worst.air_pa),
            ratio=ratio,
            gun=Ref(IdKind.GUN, gun.key),
            low=Number(worst.low, 0),
            high=Number(worst.high, 0),
            lifts=Phrase(
                "A higher air pressure, a lower regulator setting of its pump or a smaller nozzle lifts it."
                if wet
                else "A lower air pressure (a regulator of the air line), a higher setting of its pump or a larger "
                "nozzle lifts it."
            ),
        ),
    )
