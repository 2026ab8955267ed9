"""The proof of one liquid line: what comes out of each of its nozzles, alone and in the design case."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from estimator.hydraulics.friction import FloatArray
from estimator.hydraulics.network import compile_network
from estimator.hydraulics.nozzle import spray_width
from estimator.hydraulics.pump import free_air_used
from estimator.hydraulics.simultaneous import CRITERION, guns_at_once_alike
from estimator.hydraulics.solution import Liquid
from estimator.model.choices import NozzleType
from estimator.model.design import Product
from estimator.model.finding import Count, Number, Phrase, facts
from estimator.model.site import Use
from estimator.reference.catalogue import Pump
from estimator.sizing import rules, told
from estimator.sizing.line_network import LineParts, line_network, nozzle_coefficient, pump_curve
from estimator.sizing.open_sets import all_sets, members, pair_sets, rivals_from_pairs, worst_sets
from estimator.sizing.types import DropProof, DropState, LineProof, SegmentProof

__all__ = ["LineAnswer", "guns_together", "prove_line"]

ANGLED = {NozzleType.FAN, NozzleType.FULL_CONE, NozzleType.FOAM_TIP}


@dataclass(frozen=True, slots=True)
class LineAnswer:
    """The proof of a line with the proofs of its drops."""

    line: LineProof
    drops: tuple[DropProof, ...]


def guns_together(use: Use, product: Product, flow_m3_s: FloatArray) -> tuple[int, float, Phrase]:
    """Guns of the design case, chance that one is open, and where the number comes from.

    p = vehicles an hour × use a vehicle / (number of guns × mean gun flow × 3600 s): the share of the busy hour
    that one gun sprays. The number is the smallest m with P(X <= m) >= 0.99, X binomial (Hunter's criterion).

    Args:
        use: how the shop works.
        product: the line's product.
        flow_m3_s: flow of each gun alone, shape (guns,).
    """
    guns = flow_m3_s.size
    mean = float(flow_m3_s.mean()) if guns else 0.0
    per_second = use.vehicles_per_hour * product.use_per_vehicle.si / 3600.0
    chance = per_second / (guns * mean) if mean > 0.0 else 1.0
    if use.guns_open is not None:
        return (
            max(1, min(use.guns_open, guns)),
            chance,
            Phrase("{number} stated in the survey", facts(number=Number(use.guns_open, 0))),
        )
    if chance >= 1.0:
        return guns, chance, Phrase("all: the guns would have to spray longer than the hour has")
    return (
        max(1, guns_at_once_alike(guns, chance).count),
        chance,
        Phrase(
            "{share} of the busy hour, {guns} each open {open} of the time",
            facts(share=told.share(CRITERION), guns=Count(guns, "gun"), open=told.share(chance, 1)),
        ),
    )


def prove_line(
    line: LineParts,
    product: Product,
    use: Use,
    pump: Pump,
    source_pressure_pa: float,
    liquid: Liquid,
    atmosphere_pa: float,
    temperature_c: float,
) -> LineAnswer:
    """Solve a line alone, in its design cases and at rest.

    Args:
        line: what it is made of; at least one drop.
        product: what flows.
        use: how the shop works.
        pump: its pump.
        source_pressure_pa: gauge pressure of the pump at rest.
        liquid: density and viscosity.
        atmosphere_pa: local atmospheric pressure.
        temperature_c: of the liquid.

    Raises:
        NetworkError: the network cannot be solved; the error names the place.
    """
    count = len(line.drops)
    net = line_network(line, pump, source_pressure_pa, liquid)
    coefficient = np.array([nozzle_coefficient(p.size, liquid) for p in line.drops])
    plan = compile_network(net)
    alone_sets = [(i,) for i in range(count)]
    alone = plan.solve(alone_sets)
    alone_flow = alone.flow_table().diagonal()
    together, chance, basis = guns_together(use, product, alone_flow)
    sets = all_sets(count, together)
    if sets is None:
        pairs = plan.solve(pair_sets(count))
        sets = rivals_from_pairs(count, together, pairs.pressure_table())
        answer = plan.solve(sets)
        case_of = list(range(count))
    else:
        answer = plan.solve(sets)
        case_of = worst_sets(members(sets, count), answer.flow_table()).tolist()
    flow = answer.flow_table()
    drops = tuple(
        _drop(
            line, i, sets[case_of[i]], float(alone_flow[i]), float(flow[case_of[i], i]), coefficient, product
        )
        for i in range(count)
    )
    used = sorted(set(case_of))
    largest = max(used, key=lambda row: float(answer.source_flow_m3_s[row]))
    tube_flow = np.abs(answer.tube_flow_m3_s()[used]).max(axis=0)
    rest = plan.solve([()])
    rest_pressure = rest.node_pressure_pa()[0]
    segments = tuple(
        SegmentProof(
            segment=segment.id,
            tube=tube.key,
            flow_m3_s=float(tube_flow[i]),
            velocity_m_s=float(tube_flow[i] / (0.25 * np.pi * (tube.bore_mm / 1000.0) ** 2)),
            pressure_pa=float(max(rest_pressure[net.tube_from[i]], rest_pressure[net.tube_to[i]])),
            rating_pa=rules.rating_at(tube, temperature_c) or 0.0,
        )
        for i, (segment, tube) in enumerate(zip(line.layout.segments, line.tubes, strict=True))
    )
    curve = pump_curve(pump)
    source_flow = float(answer.source_flow_m3_s[largest])
    source_pressure = float(answer.source_pressure_pa[largest])
    proof = LineProof(
        line=line.layout.id,
        guns_open=together,
        guns_basis=basis,
        use_probability=chance,
        flow_m3_s=source_flow,
        pump_pressure_pa=source_pressure,
        pump_capacity_m3_s=curve.max_flow_m3_s,
        pump_air_m3_s=free_air_used(curve, source_flow, source_pressure_pa, atmosphere_pa),
        segments=segments,
        worst_drop=min(drops, key=lambda d: d.room).drop,
    )
    return LineAnswer(proof, drops)


def _drop(
    line: LineParts,
    index: int,
    open_set: tuple[int, ...],
    alone_m3_s: float,
    together_m3_s: float,
    coefficient: FloatArray,
    product: Product,
) -> DropProof:
    part = line.drops[index]
    drop, nozzle = part.drop, part.nozzle
    c = float(coefficient[index])
    alone = DropState(alone_m3_s, (alone_m3_s / c) ** 2)
    together = DropState(together_m3_s, (together_m3_s / c) ** 2)
    low, high = rules.window_of(nozzle, part.size)
    judged = (low, high, together.nozzle_pressure_pa, alone.nozzle_pressure_pa)
    angle = drop.fan_angle.si
    width = spray_width(drop.spray_distance.si, angle) if drop.nozzle in ANGLED and angle > 0.0 else 0.0
    return DropProof(
        drop=drop.id,
        line=line.layout.id,
        alone=alone,
        together=together,
        rivals=tuple(line.drops[j].drop.id for j in open_set if j != index),
        window_low_pa=low,
        window_high_pa=high,
        wanted_flow_m3_s=drop.wanted_flow.si if drop.wanted_flow else None,
        spray_width_m=width,
        spray_s_per_vehicle=product.use_per_vehicle.si / together_m3_s if together_m3_s > 0.0 else 0.0,
        verdict=rules.drop_verdict(*judged),
        room=float(rules.room(*judged)),
        nearest_end=rules.nearest_end(*judged),
    )
