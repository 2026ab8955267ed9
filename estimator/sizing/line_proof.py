"""The proof of liquid lines: what comes out of each of their nozzles, alone and in the design case.

Lines know nothing of each other, but many are solved together: the arithmetic of one is little and the calls for it
are much. Each gets the same answer, bit for bit, whatever is proved beside it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from estimator.hydraulics.friction import FloatArray
from estimator.hydraulics.network_model import BoolArray, IntArray, head_ends
from estimator.hydraulics.network_tree import sweep_arrays
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
from estimator.sizing.line_network import (
    LineParts,
    LinesNetwork,
    line_network,
    lines_network,
    nozzle_coefficient,
    pump_curve,
)
from estimator.sizing.open_sets import all_sets, members, rival_sets, worst_sets
from estimator.sizing.types import DropProof, DropState, End, LineProof, SegmentProof

__all__ = ["LineAnswer", "LineCase", "guns_together", "prove_line", "prove_lines"]

ANGLED = {NozzleType.FAN, NozzleType.FULL_CONE, NozzleType.FOAM_TIP}


@dataclass(frozen=True, slots=True)
class LineCase:
    """A line to be proved.

    Attributes:
        line: what it is made of; at least one drop.
        product: what flows.
        use: how the shop works.
        pump: its pump.
        source_pressure_pa: gauge pressure of the pump at rest.
        liquid: density and viscosity.
        atmosphere_pa: local atmospheric pressure.
        temperature_c: of the liquid.
    """

    line: LineParts
    product: Product
    use: Use
    pump: Pump
    source_pressure_pa: float
    liquid: Liquid
    atmosphere_pa: float
    temperature_c: float


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
        line, product, use, pump, source_pressure_pa, liquid, atmosphere_pa, temperature_c: see `LineCase`.

    Raises:
        NetworkError: the network cannot be solved; the error names the place.
    """
    case = LineCase(line, product, use, pump, source_pressure_pa, liquid, atmosphere_pa, temperature_c)
    return prove_lines([case])[0]


def prove_lines(cases: Sequence[LineCase]) -> list[LineAnswer]:
    """Solve lines as `prove_line` does, all together.

    Raises:
        NetworkError, OutOfRange: one of them cannot be solved; it does not say which.
    """
    if not cases:
        return []
    net = lines_network([(c.line, c.pump, c.source_pressure_pa, c.liquid) for c in cases])
    first = net.lines.first_outlet.tolist()
    alone = _alone(net)
    designs = []
    for at, case in enumerate(cases):
        flows = alone[first[at] : first[at + 1]]
        together, chance, basis = guns_together(case.use, case.product, flows)
        designs.append(_Design(together, chance, basis, *_sets_of(case, together, flows)))
    answers = _solved(net, designs)
    coefficient = np.array([nozzle_coefficient(p.size, c.liquid) for c in cases for p in c.line.drops])
    drops = _drops(cases, answers, alone, coefficient)
    segments = _segments(net, cases, answers)
    return [
        LineAnswer(
            _line(case, design, answer, segments[at], drops[first[at] : first[at + 1]]),
            tuple(drops[first[at] : first[at + 1]]),
        )
        for at, (case, design, answer) in enumerate(zip(cases, designs, answers, strict=True))
    ]


def _alone(net: LinesNetwork) -> FloatArray:
    """Flow of each outlet of all lines with no other open."""
    first = net.lines.first_outlet
    every = np.arange(int(first[-1]))
    line = np.repeat(np.arange(net.lines.lines), np.diff(first))
    return net.plan.solve(every, every, line, every.size, sweep_arrays).flow_m3_s


@dataclass(frozen=True, eq=False, slots=True)
class _Design:
    """The design cases of a line: how many guns, and the open-sets as lists, as a table (sets, outlets) and as the
    rows and columns of what is open. `listed` says that they are all sets of so many guns."""

    together: int
    chance: float
    basis: Phrase
    sets: Sequence[tuple[int, ...]]
    member: BoolArray
    row: IntArray
    outlet: IntArray
    listed: bool


_Sets = tuple[Sequence[tuple[int, ...]], BoolArray, IntArray, IntArray, bool]


def _tabled(sets: Sequence[tuple[int, ...]], count: int, *, listed: bool) -> _Sets:
    member = members(sets, count)
    row, outlet = member.nonzero()
    return sets, member, row, outlet, listed


@lru_cache(maxsize=256)
def _listed(count: int, together: int) -> _Sets | None:
    sets = all_sets(count, together)
    return None if sets is None else _tabled(tuple(sets), count, listed=True)


def _sets_of(case: LineCase, together: int, alone_m3_s: FloatArray) -> _Sets:
    count = len(case.line.drops)
    found = _listed(count, together)
    if found is not None:
        return found
    network = line_network(case.line, case.pump, case.source_pressure_pa, case.liquid)
    return _tabled(rival_sets(network, together, alone_m3_s), count, listed=False)


@dataclass(frozen=True, eq=False, slots=True)
class _Solved:
    """A line in its design cases.

    Attributes:
        sets: open-sets.
        flow_m3_s: (sets, outlets), 0 where shut.
        case_of: (outlets,) the set that is each outlet's own design case.
        used: sets that are some outlet's.
        source_m3_s: (sets,) through the pump.
        tube_m3_s: (tubes,) largest of the used sets.
    """

    sets: Sequence[tuple[int, ...]]
    flow_m3_s: FloatArray
    case_of: list[int]
    used: list[int]
    source_m3_s: FloatArray
    tube_m3_s: FloatArray


def _solved(net: LinesNetwork, designs: Sequence[_Design]) -> list[_Solved]:
    counts = [len(design.sets) for design in designs]
    opened = [design.row.size for design in designs]
    first_set = np.concatenate(([0], np.cumsum(counts))).astype(np.int64)
    first_open = np.concatenate(([0], np.cumsum(opened))).tolist()
    first_outlet = net.lines.first_outlet
    line = np.repeat(np.arange(len(designs)), opened)
    found = net.plan.solve(
        np.concatenate([design.row for design in designs]) + first_set[line],
        np.concatenate([design.outlet for design in designs]) + first_outlet[line],
        line,
        int(first_set[-1]),
        sweep_arrays,
    )
    # Lines alike in their sets and in what joins what are looked at together.
    alike: dict[tuple[int, int], list[int]] = {}
    for at, design in enumerate(designs):
        alike.setdefault((id(design.member), id(net.ways[at])), []).append(at)
    solved: dict[int, _Solved] = {}
    for rows in alike.values():
        design = designs[rows[0]]
        flow = np.zeros((len(rows), *design.member.shape))
        flow[:, design.row, design.outlet] = np.array(
            [found.flow_m3_s[first_open[at] : first_open[at + 1]] for at in rows]
        )
        if design.listed:
            case_of = worst_sets(design.member, flow)
        else:
            case_of = np.tile(np.arange(design.member.shape[1]), (len(rows), 1))
        tubes = _tube_flow(net.ways[rows[0]], flow)
        is_used = np.zeros(flow.shape[:2], dtype=np.bool_)
        is_used[np.arange(len(rows))[:, None], case_of] = True
        most = np.where(is_used[..., None], np.abs(tubes), 0.0).max(axis=1)
        for k, at in enumerate(rows):
            source = found.source_flow_m3_s[first_set[at] : first_set[at + 1]]
            used = is_used[k].nonzero()[0].tolist()
            solved[at] = _Solved(designs[at].sets, flow[k], case_of[k].tolist(), used, source, most[k])
    return [solved[at] for at in range(len(designs))]


def _tube_flow(way: tuple[int, ...], flow_m3_s: FloatArray) -> FloatArray:
    """Flow of every tube (..., tubes), from that of each outlet: that of all behind it.

    A tube ends at the node after its own number, and stands after the tube that it hangs on.
    """
    outlets = flow_m3_s.shape[-1]
    tubes = len(way)
    flow = np.zeros((*flow_m3_s.shape[:-1], tubes))
    flow[..., tubes - outlets :] = flow_m3_s
    for t in range(tubes - 1, -1, -1):
        if way[t]:
            flow[..., way[t] - 1] += flow[..., t]
    return flow


def _segments(
    net: LinesNetwork, cases: Sequence[LineCase], answers: Sequence[_Solved]
) -> list[tuple[SegmentProof, ...]]:
    lines = net.lines
    # At rest no spring takes anything: a valve that closes late leaves the pump's whole pressure behind it.
    rest = np.repeat(lines.source_pressure_pa, np.diff(lines.first_node)) - head_ends(lines) + net.spring_pa
    first_node = np.repeat(lines.first_node[:-1], np.diff(lines.first_tube))
    upper = first_node + np.array([node for way in net.ways for node in way], dtype=np.int64)
    # a tube ends at the node after its own number
    lower = np.arange(upper.size) + np.repeat(np.arange(lines.lines), np.diff(lines.first_tube)) + 1
    pressure = np.maximum(rest[upper], rest[lower]).tolist()
    flows = np.concatenate([answer.tube_m3_s for answer in answers])
    velocity = (flows / (0.25 * np.pi * lines.bore_m**2)).tolist()
    flow = flows.tolist()
    ratings: dict[tuple[str, float], float] = {}
    found = []
    for case, at in zip(cases, lines.first_tube.tolist(), strict=False):
        proofs = []
        for i, (segment, tube) in enumerate(zip(case.line.layout.segments, case.line.tubes, strict=True), at):
            key = tube.key, case.temperature_c
            rating = ratings.get(key)
            if rating is None:
                rating = ratings[key] = rules.rating_at(tube, case.temperature_c) or 0.0
            proofs.append(SegmentProof(segment.id, tube.key, flow[i], velocity[i], pressure[i], rating))
        found.append(tuple(proofs))
    return found


def _line(
    case: LineCase,
    design: _Design,
    answer: _Solved,
    segments: tuple[SegmentProof, ...],
    drops: Iterable[DropProof],
) -> LineProof:
    curve = pump_curve(case.pump)
    flow = max(float(answer.source_m3_s[row]) for row in answer.used)
    droop = flow * (curve.linear_pa_s_m3 + curve.quadratic_pa_s2_m6 * flow)
    return LineProof(
        line=case.line.layout.id,
        guns_open=design.together,
        guns_basis=design.basis,
        use_probability=design.chance,
        flow_m3_s=flow,
        pump_pressure_pa=case.source_pressure_pa - droop,
        pump_capacity_m3_s=curve.max_flow_m3_s,
        pump_air_m3_s=free_air_used(curve, flow, case.source_pressure_pa, case.atmosphere_pa),
        segments=segments,
        worst_drop=min(drops, key=lambda d: d.room).drop,
    )


def _drops(
    cases: Sequence[LineCase], answers: Sequence[_Solved], alone_m3_s: FloatArray, coefficient: FloatArray
) -> list[DropProof]:
    """The drops of all lines, one line after the other."""
    parts = [
        (case, answer, i)
        for case, answer in zip(cases, answers, strict=True)
        for i in range(len(case.line.drops))
    ]
    together_m3_s = np.array([answer.flow_m3_s[answer.case_of[i], i] for _, answer, i in parts])
    alone_pa, together_pa = (alone_m3_s / coefficient) ** 2, (together_m3_s / coefficient) ** 2
    windows = np.array([rules.window_of(c.line.drops[i].nozzle, c.line.drops[i].size) for c, _, i in parts])
    judged = windows[:, 0], windows[:, 1], together_pa, alone_pa
    nearer_low = np.asarray(rules.nearer_low(*judged))
    rows = zip(
        alone_m3_s.tolist(),
        together_m3_s.tolist(),
        *(figure.tolist() for figure in (*judged, rules.room(*judged))),
        nearer_low.tolist(),
        strict=True,
    )
    return [_drop(*part, *row) for part, row in zip(parts, rows, strict=True)]


def _drop(
    case: LineCase,
    answer: _Solved,
    index: int,
    alone_m3_s: float,
    together_m3_s: float,
    low: float,
    high: float,
    together_pa: float,
    alone_pa: float,
    room: float,
    nearer_low: bool,
) -> DropProof:
    drops = case.line.drops
    drop = drops[index].drop
    angle = drop.fan_angle.si
    width = spray_width(drop.spray_distance.si, angle) if drop.nozzle in ANGLED and angle > 0.0 else 0.0
    return DropProof(
        drop=drop.id,
        line=case.line.layout.id,
        alone=DropState(alone_m3_s, alone_pa),
        together=DropState(together_m3_s, together_pa),
        rivals=tuple(drops[j].drop.id for j in answer.sets[answer.case_of[index]] if j != index),
        window_low_pa=low,
        window_high_pa=high,
        wanted_flow_m3_s=drop.wanted_flow.si if drop.wanted_flow else None,
        spray_width_m=width,
        spray_s_per_vehicle=case.product.use_per_vehicle.si / together_m3_s if together_m3_s > 0.0 else 0.0,
        verdict=rules.drop_verdict(low, high, together_pa, alone_pa, room),
        room=room,
        nearest_end=End.LOW if nearer_low else End.HIGH,
    )
