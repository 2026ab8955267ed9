"""What the proof of a line has to say: pressure, velocity, rating, pump, use. Sentences with their place."""

from __future__ import annotations

import math
from collections.abc import Iterator

from estimator.model.design import PlantUnit, Product
from estimator.model.finding import Amount, Fact, Finding, Number, Phrase, Severity, facts
from estimator.model.site import Site
from estimator.reference.catalogue import Pump
from estimator.sizing import rules, told
from estimator.sizing.air_supply import supply_of
from estimator.sizing.line_proof import LineAnswer
from estimator.sizing.types import DropProof, Verdict

__all__ = ["drop_findings", "line_findings"]

_SOURCE = "hydraulic proof"


def _found(
    place: str,
    rule: str,
    sentence: str,
    severity: Severity = Severity.ERROR,
    source: str = _SOURCE,
    **named: Fact,
) -> Finding:
    return Finding(severity, place, rule, sentence, source, facts=facts(**named))


def drop_findings(proof: DropProof, at: int) -> Iterator[Finding]:
    """Findings of one drop; `at` is its position in the design's list."""
    if proof.verdict.holds and proof.wanted_flow_m3_s is None:
        return  # nothing is looked up for what nothing is said of
    place = f"design.drops.{at}"
    drop, others = told.drop(proof.drop), told.others(proof.rivals)
    low, high = told.pressure(proof.window_low_pa), told.pressure(proof.window_high_pa)
    if proof.verdict is Verdict.NO_FLOW:
        yield _found(
            f"{place}.nozzle_size",
            "drop-no-flow",
            "{drop}: nothing comes out{others}. The gun is above what the pump's pressure reaches: raise the regulator "
            "setting, or hang the drop lower.",
            drop=drop,
            others=others,
        )
    elif proof.verdict is Verdict.LOW:
        yield _found(
            f"{place}.nozzle_size",
            "drop-pressure-low",
            "{drop}: {pressure} at the nozzle{others}; its window is {low} to {high}. A smaller nozzle, a wider tube "
            "or hose, or a higher regulator setting lifts it.",
            drop=drop,
            pressure=told.pressure(proof.together.nozzle_pressure_pa),
            others=others,
            low=low,
            high=high,
        )
    elif proof.verdict is Verdict.HIGH:
        yield _found(
            f"{place}.nozzle_size",
            "drop-pressure-high",
            "{drop}: {pressure} at the nozzle with no other gun open; its window is {low} to {high}. A lower regulator "
            "setting or a larger nozzle lowers it.",
            drop=drop,
            pressure=told.pressure(proof.alone.nozzle_pressure_pa),
            low=low,
            high=high,
        )
    wanted = proof.wanted_flow_m3_s
    if wanted is not None and proof.verdict is not Verdict.NO_FLOW:
        given = proof.together.flow_m3_s
        if rules.off_wanted(given, wanted):
            yield _found(
                f"{place}.wanted_flow",
                "drop-wanted-flow",
                "{drop}: {given}{others}, {word} than the wanted {wanted} by over {tolerance}. Choose another nozzle "
                "size or regulator setting.",
                Severity.WARNING,
                drop=drop,
                given=told.flow(given),
                others=others,
                word="less" if given < wanted else "more",
                wanted=told.flow(wanted),
                tolerance=told.share(rules.WANTED_TOLERANCE),
            )


def line_findings(
    answer: LineAnswer,
    product: Product,
    product_at: int,
    unit: PlantUnit,
    unit_at: int,
    pump: Pump,
    site: Site,
) -> Iterator[Finding]:
    """Findings of one line as a whole."""
    proof = answer.line
    plant, liquid = f"design.plant.{unit_at}", f"design.products.{product_at}"
    named = told.product(product.id)
    supply = supply_of(site)
    if rules.above(unit.regulator.si, supply.board_pa):
        yield _found(
            f"{plant}.regulator",
            "regulator-above-compressor",
            "{product}: the regulator is set to {setting}, above the {supply} that reach the board just before the "
            "compressor starts, and can give no more than that then. The proof takes that pressure; lower the setting "
            "or raise the cut-in pressure.",
            # A cut-in that nobody read makes no error of what may be well.
            Severity.WARNING
            if supply.cut_in_assumed and not rules.above(unit.regulator.si, supply.cut_out_pa)
            else Severity.ERROR,
            product=named,
            setting=Amount.of(unit.regulator),
            supply=told.pressure(supply.board_pa),
        )
    if rules.above(unit.regulator.si, pump.max_kpa * 1000.0):
        yield _found(
            f"{plant}.regulator",
            "regulator-above-pump",
            "{product}: {setting} is above the pump's limit of {limit} (catalogue data). Lower the setting or choose "
            "another pump.",
            product=named,
            setting=Amount.of(unit.regulator),
            limit=told.pressure(pump.max_kpa * 1000.0, 1),
        )
    if rules.above(proof.flow_m3_s, proof.pump_capacity_m3_s):
        yield _found(
            f"{plant}.pump",
            "pump-too-small",
            "{product}: {guns} guns take {flow}; the pump gives {most} at most (catalogue data). Choose a larger pump "
            "or smaller nozzles.",
            product=named,
            guns=Number(proof.guns_open, 0),
            flow=told.flow(proof.flow_m3_s, 1),
            most=told.flow(proof.pump_capacity_m3_s, 1),
        )
    if rules.too_slow(proof.use_probability):
        yield _found(
            f"{liquid}.use_per_vehicle",
            "line-too-slow",
            "{product}: the guns would have to spray longer than the busy hour has. Larger nozzles, more drops, or a "
            "corrected use per vehicle lifts it.",
            product=named,
        )
    fast = [s for s in proof.segments if rules.too_fast(s.velocity_m_s)]
    if fast:
        worst = max(fast, key=lambda s: s.velocity_m_s)
        yield _found(
            liquid,
            "tube-velocity",
            "{product}: {speed} in {segment}; over {most} a tube is noisy and wears. A wider tube lowers it.",
            Severity.WARNING,
            "common practice, no source",
            product=named,
            speed=told.speed(worst.velocity_m_s),
            segment=told.segment(worst.segment, proof.line),
            most=told.speed(rules.MAX_VELOCITY_M_S),
        )
    longest = max((drop.spray_s_per_vehicle for drop in answer.drops), default=0.0)
    if rules.sprays_long(longest) and math.isfinite(longest):
        yield _found(
            f"{liquid}.use_per_vehicle",
            "spray-long",
            "{product}: {use} a vehicle take {time} to spray, more than {limit}. A larger nozzle shortens it; look at "
            "the use per vehicle again, or plan for two at work.",
            Severity.NOTE,
            "common practice, no source",
            product=named,
            use=Amount.of(product.use_per_vehicle),
            time=told.seconds(longest),
            limit=told.seconds(rules.LONG_SPRAY_S),
        )
    weak = [s for s in proof.segments if rules.over_rating(s.pressure_pa, s.rating_pa)]
    if weak:
        worst = max(weak, key=lambda s: s.pressure_pa - s.rating_pa)
        temperature = Amount.of(site.water.temperature)
        rating = (
            Phrase(
                "its rating at {temperature} is {rating}",
                facts(temperature=temperature, rating=told.pressure(worst.rating_pa, 1)),
            )
            if worst.rating_pa > 0.0
            else Phrase("its rating is not known at {temperature}", facts(temperature=temperature))
        )
        yield _found(
            liquid,
            "tube-rating",
            "{product}: up to {pressure} in {segment}; {rating} (confirm with the maker's data). Lower the regulator "
            "setting or choose another tube.",
            product=named,
            pressure=told.pressure(worst.pressure_pa, 1),
            segment=told.segment(worst.segment, proof.line),
            rating=rating,
        )
