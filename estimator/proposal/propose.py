"""One act that sizes everything that is not pinned and does not exist already, at the least installed cost.

Order: each liquid line on its own (nozzles, tubes, pump, regulator setting), then the air line for the air that those
ask for, then metering tip and day tank for what is drawn. The new design is proved as any other; what the proof still
finds wrong is told, never relaxed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

import numpy as np

from estimator.going import ALONE, Going
from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.network_errors import NetworkError
from estimator.hydraulics.solution import liquid
from estimator.layout.types import Layout, LineLayout
from estimator.model.choices import NozzleType
from estimator.model.design import AIR, BOARD_WATER, Design, Drop, PlantUnit
from estimator.model.finding import Fact, Finding, IdKind, Listed, Phrase, Ref, Severity, facts
from estimator.model.pricebook import PriceBook
from estimator.model.site import Site
from estimator.proposal.bounds import Box
from estimator.proposal.cost import SizeCosts, size_costs
from estimator.proposal.limits import Places, why_not
from estimator.proposal.line import Freedom, LineAct, line_choices, size_line
from estimator.proposal.plant import propose_air, propose_plant, with_tubes
from estimator.proposal.setting import Gauge, gauge_of
from estimator.proposal.tree_search import MOST_BOXES, Space
from estimator.proposal.trial import LineTrial, Pick
from estimator.proposal.types import LineProposal, Proposal
from estimator.proposal.water import propose_water
from estimator.reference.catalogue import Catalogue, Tube
from estimator.reference.resolved import Resolved, resolve
from estimator.sizing import told
from estimator.sizing.air_supply import supply_of
from estimator.sizing.line_network import UnknownPartError, line_parts
from estimator.sizing.proof import prove
from estimator.units import Dimension, UnitSystem, parse

__all__ = ["propose"]

_LINE_RULES = {
    "drop-no-flow",
    "drop-pressure-low",
    "drop-pressure-high",
    "drop-wanted-flow",
    "pump-too-small",
    "tube-velocity",
    "tube-rating",
    "regulator-above-compressor",
    "regulator-above-pump",
}


@dataclass(frozen=True, slots=True)
class _Stand:
    """Where in a design a product, its plant and a drop stand, by id."""

    products: dict[str, int]
    plant: dict[str, int]
    drops: dict[str, int]

    @classmethod
    def of(cls, design: Design) -> _Stand:
        """Of a design."""
        return cls(
            {p.id: i for i, p in enumerate(design.products)},
            {u.product: i for i, u in enumerate(design.plant)},
            {d.id: i for i, d in enumerate(design.drops)},
        )


@dataclass(frozen=True, slots=True)
class _LineResult:
    proposal: LineProposal
    tubes: dict[str, str]
    nozzles: dict[str, str]
    pump: str
    regulator: str
    told: tuple[Finding, ...]


def propose(
    site: Site,
    design: Design,
    layout: Layout,
    parts: Catalogue,
    book: PriceBook,
    hour: Decimal,
    system: UnitSystem = UnitSystem.METRIC,
    most_boxes: int = MOST_BOXES,
    going: Going = ALONE,
) -> Proposal:
    """Size everything that is free.

    Args:
        site: the survey.
        design: the design as it stands; `Design.pinned` holds addresses of what stays:
            "drops.<id>.nozzle_size", "lines.<service>.<segment>.tube", "plant.<product>.pump" (or "regulator",
            "tank", "tip_drill").
        layout: laid out from the same design.
        parts: the sizes.
        book: prices; a size without a price is not offered.
        hour: likely cost of an installer's hour in the book's currency.
        system: units of the job; what is set on a gauge is proposed in its steps.
        most_boxes: limit of the search of a line; above it the result is not proved cheapest.
        going: hears how many lines are done; asked all along whether the proposal is still wanted.

    Returns:
        The design with the choices, each choice with its reason and neighbours, and what cannot be made to work.
    """
    costs = size_costs(parts, book, hour)
    gauge = gauge_of(system)
    pinned = frozenset(design.pinned)
    infeasible: list[Finding] = []
    failed: set[str] = set()
    proposals: dict[str, LineProposal] = {}
    sized = design
    known = resolve(design, parts)
    stand = _Stand.of(design)
    for at, line in enumerate(layout.lines):
        going.tell(at, len(layout.lines))
        if line.id == AIR or not line.segments:
            continue
        result = _line(site, design, known, stand, line, parts, costs, pinned, gauge, most_boxes, going)
        if isinstance(result, Finding):
            infeasible.append(result)
            failed.add(line.id)
        elif result is not None:
            proposals[line.id] = result.proposal
            sized = _written(sized, line, result)
            infeasible.extend(result.told)
    # Tips are proposed anew where they are free.
    sized = sized.model_copy(
        update={
            "plant": tuple(
                unit
                if unit.existing or f"plant.{unit.product}.tip_drill" in pinned
                else unit.model_copy(update={"tip_drill": None})
                for unit in sized.plant
            )
        }
    )
    going.check()
    sized, water = propose_water(site, sized, parts, costs, pinned, gauge, going)
    going.check()
    first, _ = prove(site, sized, layout, parts, going)
    going.check()
    sized, air = propose_air(site, sized, layout, first, parts, costs, pinned, going)
    if air is not None:
        proposals[AIR] = air
    going.check()
    sized, plant = propose_plant(design, sized, first, parts, costs, pinned, going)
    if water is not None:
        proposals[BOARD_WATER] = water
    for product, choices in plant.items():
        old = proposals.get(product)
        if old is not None:
            cost = old.cost + sum(c.cost for c in choices)
            proposals[product] = replace(old, choices=(*old.choices, *choices), cost=cost)
        elif choices:
            total = sum(c.cost for c in choices)
            proposals[product] = LineProposal(
                product, choices, total, False, Phrase("Only its plant was sized.")
            )
    going.check()
    _, findings = prove(site, sized, layout, parts, going)
    infeasible.extend(_left(findings, sized, failed))
    if costs.missing:
        infeasible.append(
            Finding(
                Severity.WARNING,
                f"price_book.{costs.missing[0]}",
                "proposal-price-missing",
                "Price book: no entry for {codes}; sizes without a price are not proposed.",
                facts=facts(codes=Listed(costs.missing)),
            )
        )
    order = [line.id for line in layout.lines]
    lines = sorted(proposals.values(), key=lambda p: order.index(p.line) if p.line in order else len(order))
    return Proposal(sized, tuple(lines), tuple(dict.fromkeys(infeasible)))


def _left(findings: Sequence[Finding], design: Design, failed: set[str]) -> list[Finding]:
    """What the proof still finds wrong, less what is explained already for lines without a solution."""
    explained = {f"design.drops.{i}" for i, d in enumerate(design.drops) if d.service in failed}
    explained |= {f"design.plant.{i}" for i, u in enumerate(design.plant) if u.product in failed}
    explained |= {f"design.products.{i}" for i, p in enumerate(design.products) if p.id in failed}
    told = []
    for finding in findings:
        if finding.severity is Severity.NOTE:
            continue
        owner = ".".join(finding.place.split(".")[:3])
        if finding.rule in _LINE_RULES and owner in explained:
            continue
        told.append(finding)
    return told


def _line(
    site: Site,
    design: Design,
    known: Resolved,
    stand: _Stand,
    line: LineLayout,
    parts: Catalogue,
    costs: SizeCosts,
    pinned: frozenset[str],
    gauge: Gauge,
    most_boxes: int,
    going: Going,
) -> _LineResult | Finding | None:
    """The proposal of a line, why nothing works, or None where the line cannot be proved at all."""
    at, product_at = stand.plant.get(line.id), stand.products.get(line.id)
    if at is None or product_at is None:
        return None  # the layout says that it has no plant
    unit, product = design.plant[at], design.products[product_at]
    pump = next((k for k, p in enumerate(parts.pumps) if p.key == unit.pump), None)
    if pump is None:
        return None  # the layout names the unknown pump
    place = f"design.products.{product_at}"
    try:
        made = line_parts(line, known)
        if not made.drops:
            return None
        flowing = liquid(
            site.water.temperature.si,
            product.specific_gravity,
            product.viscosity.si if product.viscosity is not None else None,
        )
        celsius, supply = site.water.temperature.si - 273.15, supply_of(site).board_pa
        trial = LineTrial(made, product, site.use, flowing, celsius, parts, supply, going=going)
        sizes = {s.key: k for k, s in enumerate(parts.nozzle_sizes)}
        present = tuple(sizes[p.size.key] for p in made.drops)
        freedom = _freedom([p.drop for p in made.drops], line, unit, pinned)
        space = _space(site, line, unit, pump, freedom, made.tubes, parts, costs, gauge)
        if isinstance(space, Finding):
            return space
        before = Pick(pump, tuple(parts.tubes.index(t) for t in made.tubes), present, unit.regulator.si)
        act = size_line(trial, before, freedom, space, most_boxes)
        found = act.search.found
        names = tuple(s.id for s in line.segments)
        if found is None:
            where = Places(
                line.id,
                place,
                f"design.plant.{at}",
                tuple(f"design.drops.{stand.drops[p.drop.id]}.nozzle_size" for p in made.drops),
                _lengths(design, line, place),
                not (all(freedom.tubes) and freedom.pump and freedom.regulator),
            )
            return why_not(trial, present, space, where)
        places = (
            *(f"drops.{p.drop.id}.nozzle_size" for p in made.drops),
            *(f"lines.{line.id}.{name}.tube" for name in names),
            f"plant.{line.id}.pump",
            f"plant.{line.id}.regulator",
        )
        choices = line_choices(trial, act, found, freedom, space, before, places)
    except UnknownPartError:
        return None  # the layout names each unknown choice
    except OutOfRange as error:
        where_ = "site.water.temperature" if error.quantity == "temperature_k" else place
        return _stop(where_, line.id, told.out_of_range(error))
    except NetworkError as error:
        return _stop(place, line.id, told.not_solved(error))
    if act.kept:
        note = "No sizes offered work at a step of the regulator; what the line has now works and is kept."
    elif act.search.proved:
        kept = act.settings_pa is not None and not act.tight(space)
        that = " that let the setting be {margin} off either way" if kept else ""
        note = (
            f"Proved the cheapest of the sizes offered{that} ({act.search.boxes} groups of sizes looked at)."
        )
    else:
        note = (
            f"Not proved cheapest: the search stopped after {act.search.boxes} groups of sizes; "
            "improved step by step."
        )
    if not act.wanted_met:
        note += " Not every wanted flow can be met; the findings say which."
    margin = told.pressure(0.5 * space.span_pa, 1)
    proposal = LineProposal(
        line.id, choices, found.cost, act.search.proved, Phrase(note, facts(margin=margin))
    )
    pick = found.pick
    return _LineResult(
        proposal,
        {name: parts.tubes[k].key for name, k in zip(names, pick.tubes, strict=True)},
        {p.drop.id: parts.nozzle_sizes[k].key for p, k in zip(made.drops, pick.nozzles, strict=True)},
        parts.pumps[pick.pump].key,
        space.gauge.text(pick.pressure_pa)
        if freedom.regulator and pick.pressure_pa != before.pressure_pa
        else "",
        _tight(act, space, f"design.plant.{at}.regulator", line.id)
        + tuple(
            Finding(
                Severity.WARNING,
                f"design.drops.{stand.drops[made.drops[i].drop.id]}.nozzle_size",
                "proposal-nozzle-changed",
                "{drop}: with nozzle {old} no sizes keep its line inside the windows, so {new} is proposed; it gives "
                "another flow. State a wanted flow or pin the size to decide otherwise.",
                "hydraulic proof",
                facts=facts(
                    drop=told.drop(made.drops[i].drop.id),
                    old=Ref(IdKind.NOZZLE_SIZE, made.drops[i].size.key),
                    new=Ref(IdKind.NOZZLE_SIZE, parts.nozzle_sizes[pick.nozzles[i]].key),
                ),
            )
            for i in act.changed
        ),
    )


def _tight(act: LineAct, space: Space, place: str, product: str) -> tuple[Finding, ...]:
    """What is said of a setting that leaves its gauge no margin."""
    if act.settings_pa is None or not act.tight(space):
        return ()
    low, high = (told.pressure(pressure, 1) for pressure in act.settings_pa)
    lifts = " A nozzle with a wider window, a shorter run or more air pressure leaves more."
    return (
        Finding(
            Severity.WARNING,
            place,
            "proposal-setting-tight",
            "{product}: the line works only with the regulator at {low}; a gauge may be {margin} off." + lifts
            if low == high
            else "{product}: the line works only with the regulator from {low} to {high}; a gauge may be {margin} off."
            + lifts,
            "hydraulic proof",
            facts=facts(
                product=told.product(product),
                low=low,
                high=high,
                margin=told.pressure(0.5 * space.span_pa, 1),
            ),
        ),
    )


def _stop(place: str, product: str, why: Fact) -> Finding:
    return Finding(
        Severity.ERROR,
        place,
        "proposal-not-possible",
        "{product} cannot be sized: {why}.",
        "hydraulic proof",
        facts=facts(product=told.product(product), why=why),
    )


def _lengths(design: Design, line: LineLayout, otherwise: str) -> tuple[str, ...]:
    """Where the length of each segment was typed; the product where it was computed."""
    found = {}
    for i, plan in enumerate(design.lines):
        if plan.service == line.id:
            for j, measured in enumerate(plan.measured):
                found[measured.segment] = f"design.lines.{i}.measured.{j}.length"
    return tuple(found.get(s.id, otherwise) for s in line.segments)


def _freedom(drops: Sequence[Drop], line: LineLayout, unit: PlantUnit, pinned: frozenset[str]) -> Freedom:
    return Freedom(
        tuple(
            not d.existing and d.nozzle is not NozzleType.NONE and f"drops.{d.id}.nozzle_size" not in pinned
            for d in drops
        ),
        tuple(not s.existing and f"lines.{line.id}.{s.id}.tube" not in pinned for s in line.segments),
        not unit.existing and f"plant.{line.id}.pump" not in pinned,
        not unit.existing and f"plant.{line.id}.regulator" not in pinned,
    )


def _space(
    site: Site,
    line: LineLayout,
    unit: PlantUnit,
    pump: int,
    freedom: Freedom,
    tubes: Sequence[Tube],
    parts: Catalogue,
    costs: SizeCosts,
    gauge: Gauge,
) -> Space | Finding:
    keys = [t.key for t in parts.tubes]
    table = np.array(
        [[np.inf if (c := costs.segment(s, key)) is None else c for key in keys] for s in line.segments]
    )
    pumps = np.array([costs.pumps.get(p.key, np.inf) for p in parts.pumps])
    boxes: list[tuple[int, ...]] = []
    for s, free in enumerate(freedom.tubes):
        held = parts.tubes.index(tubes[s])
        if free:
            # Sizes are proposed; what the product touches stays what somebody chose.
            priced = tuple(
                int(k)
                for k in np.flatnonzero(np.isfinite(table[s]))
                if parts.tubes[k].made_like(parts.tubes[held])
            )
            if not priced:
                segment = told.segment(line.segments[s].id, line.id)
                what = Phrase("the tubes of {segment} and their fittings", facts(segment=segment))
                return _unpriced(costs, what)
            boxes.append(priced)
        else:
            boxes.append((held,))
            if not np.isfinite(table[s, held]):
                table[s, held] = 0.0  # it stays whatever it costs
    if freedom.pump:
        offered = tuple(
            int(k) for k in np.flatnonzero(np.isfinite(pumps)) if parts.pumps[k].made_like(parts.pumps[pump])
        )
        if not offered:
            return _unpriced(costs, "the pumps")
    else:
        offered = (pump,)
        pumps[pump] = 0.0 if unit.existing or not np.isfinite(pumps[pump]) else pumps[pump]
    supply = supply_of(site).board_pa
    fixed = None if freedom.regulator else unit.regulator.si
    return Space(Box(offered, tuple(boxes)), table, pumps, supply, gauge, fixed, gauge.margin)


def _unpriced(costs: SizeCosts, what: Fact) -> Finding:
    code = costs.missing[0] if costs.missing else "entries"
    return Finding(
        Severity.ERROR,
        f"price_book.{code}",
        "proposal-price-missing",
        "Price book: no size of {what} has a price, so none can be proposed; add {codes}.",
        facts=facts(what=what, codes=Listed(costs.missing)),
    )


def _written(design: Design, line: LineLayout, result: _LineResult) -> Design:
    """The design with the choices of a line written in; what is held keeps its own words."""
    drops = tuple(
        d.model_copy(update={"nozzle_size": result.nozzles[d.id]})
        if d.service == line.id and d.id in result.nozzles and d.nozzle_size != result.nozzles[d.id]
        else d
        for d in design.drops
    )
    update: dict[str, object] = {"pump": result.pump}
    if result.regulator:
        update["regulator"] = parse(result.regulator, Dimension.PRESSURE)
    plant = tuple(
        u.model_copy(update=update) if u.product == line.id and not u.existing else u for u in design.plant
    )
    return with_tubes(design.model_copy(update={"drops": drops, "plant": plant}), line, result.tubes)
