"""Small random lines with sizes to choose from, and every combination tried one by one. Invented demo data."""

from __future__ import annotations

import random
from dataclasses import dataclass
from itertools import product as every_combination

import numpy as np

from estimator.hydraulics.pump import barometric_pressure
from estimator.hydraulics.solution import liquid
from estimator.layout.types import FittingKind, LineLayout, PlacedFitting, Point, Segment
from estimator.model.design import Design, Drop, LinePlan, Product, SegmentTube
from estimator.model.site import Use
from estimator.proposal.bounds import Box
from estimator.proposal.setting import gauge_of
from estimator.proposal.tree_search import Space
from estimator.proposal.trial import LineTrial
from estimator.reference.catalogue import catalogue
from estimator.reference.resolved import resolve
from estimator.sizing import rules
from estimator.sizing.line_network import LineParts, line_parts
from estimator.sizing.line_proof import LineAnswer, prove_line
from estimator.sizing.ratings import parts_here
from estimator.sizing.rest_proof import surge_in
from estimator.units import UnitSystem

PARTS = catalogue()
WATER = liquid(288.15)


@dataclass(frozen=True)
class Case:
    """A line with what may be chosen."""

    layout: LineLayout
    drops: tuple[Drop, ...]
    product: Product
    use: Use
    space: Space
    nozzles: tuple[int, ...]

    def trial(self) -> LineTrial:
        """The line ready to be tried."""
        line = line_parts(self.layout, resolve(Design(drops=self.drops), PARTS))
        return LineTrial(line, self.product, self.use, WATER, 15.0, PARTS, self.space.supply_pa)


def _segment(name: str, upstream: str, start: Point, end: Point, length: float, drop: str) -> Segment:
    fitting = PlacedFitting(FittingKind.DROP_CONNECTOR if drop else FittingKind.TEE, end, (name,))
    return Segment(
        id=name,
        line="soap",
        upstream=upstream,
        points=(start, end),
        computed_m=length,
        length_m=length,
        measured=True,
        existing=False,
        drops=(drop,) if drop else (),
        fittings=(fitting,),
        ends_at_drop=drop,
    )


def random_case(
    seed: int,
    drops: int,
    *,
    pumps: bool,
    regulator: bool,
    wanted: bool = False,
    system: UnitSystem = UnitSystem.METRIC,
) -> Case:
    """A chain of tees with one drop at each: 2 drops have 3 segments, 3 have 5."""
    rng = random.Random(seed)
    segments: list[Segment] = []
    at, upstream = Point(0.0, 0.0, 1.5), ""
    scale = rng.choice([3.0, 15.0, 40.0])
    for i in range(drops):
        last = i == drops - 1
        if not last:
            tee = Point(at.x + 1.0, 0.0, 3.0)
            segments.append(_segment(f"t{i}", upstream, at, tee, rng.uniform(0.5, 1.5) * scale, ""))
            upstream, at = f"t{i}", tee
        end = Point(at.x, 1.0, 2.0)
        segments.append(_segment(f"d{i}", upstream, at, end, rng.uniform(0.3, 1.5) * scale, f"{i}"))
    sizes = [s.key for s in PARTS.nozzle_sizes]
    made = []
    for i in range(drops):
        fields = {
            "id": f"{i}",
            "bay": "1",
            "service": "soap",
            "nozzle_size": rng.choice(sizes[1:9]),
            "hose_bore": rng.choice(["hose-6", "hose-8"]),
        }
        if wanted and rng.random() < 0.6:
            fields["wanted_flow"] = f"{rng.uniform(0.5, 2.5):.2f} L/min"
        made.append(Drop.model_validate(fields))
    product = Product.model_validate(
        {"id": "soap", "name": "Soap", "use_per_vehicle": f"{rng.uniform(0.5, 12.0):.1f} L"}
    )
    use = Use.model_validate({"vehicles_per_hour": rng.uniform(1.0, 8.0)})
    cost = np.array([[rng.uniform(0.7, 1.3) * (3 + k) * s.length_m for k in range(4)] for s in segments])
    cost.sort(axis=1)
    box = Box((0, 1, 2) if pumps else (1,), ((0, 1, 2, 3),) * len(segments))
    fixed = None if regulator else rng.choice([2.5e5, 3.5e5, 5e5])
    supply = rng.choice([3.5e5, 6e5]) if regulator else 6e5
    space = Space(box, cost, np.array([255.0, 295.0, 340.0]), supply, gauge_of(system), fixed)
    return Case(
        LineLayout("soap", tuple(segments)),
        tuple(made),
        product,
        use,
        space,
        tuple(sizes.index(d.nozzle_size) for d in made),
    )


def line_with(case: Case, tubes: tuple[int, ...]) -> LineParts:
    """The line with a tube in each of its segments."""
    plan = LinePlan(
        service="soap",
        segment_tubes=tuple(
            SegmentTube(segment=s.id, tube=PARTS.tubes[k].key)
            for s, k in zip(case.layout.segments, tubes, strict=True)
        ),
    )
    return line_parts(case.layout, resolve(Design(drops=case.drops, lines=(plan,)), PARTS))


def surges(case: Case, line: LineParts, answer: LineAnswer) -> bool:
    """Whether a gun that snaps shut passes what some part stands, by the parts one after the other."""
    hung = {part.drop.id: part for part in line.drops}
    behind: dict[str, list[float]] = {segment.id: [] for segment in line.layout.segments}
    upstream = {segment.id: segment.upstream for segment in line.layout.segments}
    at_drop = {segment.ends_at_drop: segment.id for segment in line.layout.segments}
    for drop in answer.drops:
        at = at_drop[drop.drop]
        while at:
            behind[at].append(drop.alone.flow_m3_s)
            at = upstream[at]
    for segment, proof, tube in zip(line.layout.segments, answer.line.segments, line.tubes, strict=True):
        rise = surge_in(tube, max(behind[segment.id]), WATER.density_kg_m3)
        for part in parts_here(tube, proof.rating_pa, hung.get(segment.ends_at_drop), 1.0):
            if rules.over_rating(proof.pressure_pa + part.below_pa + rise, part.rating_pa):
                return True
    return False


def holds(case: Case, line: LineParts, pump: int, pressure_pa: float) -> tuple[bool, float]:
    """Whether a candidate holds every limit by the proof of the line, the surge too, and its least room."""
    chosen = PARTS.pumps[pump]
    answer = prove_line(
        line, case.product, case.use, chosen, pressure_pa, WATER, barometric_pressure(0.0), 15.0
    )
    room = min(d.room for d in answer.drops)
    good = (
        all(d.verdict.holds for d in answer.drops)
        and not any(rules.too_fast(s.velocity_m_s) for s in answer.line.segments)
        and not any(rules.over_rating(s.pressure_pa, s.rating_pa) for s in answer.line.segments)
        and not rules.above(answer.line.flow_m3_s, answer.line.pump_capacity_m3_s)
        and not rules.above(pressure_pa, 1000.0 * chosen.max_kpa)
        and not surges(case, line, answer)
        and not any(
            rules.off_wanted(d.together.flow_m3_s, d.wanted_flow_m3_s)
            for d in answer.drops
            if d.wanted_flow_m3_s is not None
        )
    )
    return good, room


def exhaustive_with_margin(case: Case) -> tuple[float, float] | None:
    """(cost, lowest setting) of the cheapest that works at so many steps of the gauge in a row as its margin asks."""
    space, best = case.space, None
    top = int(space.supply_pa / space.gauge.step_pa + 1e-6)
    asked = 2 * space.margin + 1
    candidates = [
        (
            float(space.pump_cost[pump]) + sum(float(space.tube_cost[s, k]) for s, k in enumerate(tubes)),
            pump,
            tubes,
        )
        for pump in space.box.pumps
        for tubes in every_combination(*space.box.tubes)
    ]
    for cost, pump, tubes in sorted(candidates):
        if best is not None and cost > best[0] + 1e-9:
            break
        line, row = line_with(case, tubes), 0
        for step in range(1, top + 1):
            row = row + 1 if holds(case, line, pump, step * space.gauge.step_pa)[0] else 0
            lowest = (step - asked + 1) * space.gauge.step_pa
            if row == asked and (best is None or lowest < best[1]):
                best = (cost, lowest)
    return best


def exhaustive(case: Case) -> tuple[float, float] | None:
    """(cost, setting) of the cheapest of all combinations, lowest setting first; None if none works."""
    best: tuple[float, float] | None = None
    space = case.space
    top = int(space.supply_pa / space.gauge.step_pa + 1e-6)
    settings = (
        [k * space.gauge.step_pa for k in range(1, top + 1)] if space.fixed_pa is None else [space.fixed_pa]
    )
    candidates = [
        (
            float(space.pump_cost[pump]) + sum(float(space.tube_cost[s, k]) for s, k in enumerate(tubes)),
            pump,
            tubes,
        )
        for pump in space.box.pumps
        for tubes in every_combination(*space.box.tubes)
    ]
    # Cheapest first: what is dearer than one that works is not worth its proof.
    for cost, pump, tubes in sorted(candidates):
        if best is not None and cost > best[0] + 1e-9:
            break
        line = line_with(case, tubes)
        for pressure in settings:
            if best is not None and pressure >= best[1]:
                break
            if holds(case, line, pump, pressure)[0]:
                best = (cost, pressure)
                break
    return best
