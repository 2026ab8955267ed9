"""A liquid line as a hydraulic network: pump, tube with its fittings, hose, gun and nozzle.

Nodes: 0 is the pump's outlet on the board, 1 to s end the s segments, the rest are guns at the ends of the hoses.
Tubes: the s segments in the order of the layout, then the hoses in the order of `LineParts.drops`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate

import numpy as np

from estimator.hydraulics.fittings import sum_of
from estimator.hydraulics.friction import FloatArray
from estimator.hydraulics.network_flat import Patterns, TreeLines
from estimator.hydraulics.network_model import GRAVITY_M_S2, IntArray, Joined, Network
from estimator.hydraulics.network_topology import TreeShape, forest, tree_shape
from estimator.hydraulics.nozzle import emitter_coefficient
from estimator.hydraulics.pump import PumpCurve
from estimator.hydraulics.solution import Liquid
from estimator.hydraulics.valve import coefficient_from_kv, in_series, k_from_kv
from estimator.layout.types import FittingKind, LineLayout, Point, Segment
from estimator.model.choices import HoseKind
from estimator.model.design import Drop
from estimator.reference.catalogue import Gun, Hose, Nozzle, NozzleSize, Pump, Tube
from estimator.reference.resolved import Resolved

__all__ = [
    "GUN_HEIGHT_M",
    "TUBE_ROUGHNESS_M",
    "DropParts",
    "LineParts",
    "LinesNetwork",
    "UnknownPartError",
    "cracking_pa",
    "fitting_losses",
    "line_network",
    "line_parts",
    "lines_network",
    "node_heights",
    "nozzle_coefficient",
    "pump_curve",
]

GUN_HEIGHT_M = 1.2
"""Height at which a gun is held while spraying [m]; common practice, no source."""

TUBE_ROUGHNESS_M = 1.5e-6
"""Drawn plastic tube [m]: Moody's diagram, drawn tubing 0.0015 mm."""

_RATED_PA = 300_000.0
_L_MIN = 1e-3 / 60.0


class UnknownPartError(LookupError):
    """A choice of the line is not in the catalogue, so the line cannot be proved."""


@dataclass(frozen=True, slots=True)
class DropParts:
    """A drop with what it is made of."""

    drop: Drop
    gun: Gun
    nozzle: Nozzle
    size: NozzleSize
    hose: Hose


@dataclass(frozen=True, slots=True)
class LineParts:
    """A line with what it is made of: tubes one a segment, drops in design order."""

    layout: LineLayout
    tubes: tuple[Tube, ...]
    drops: tuple[DropParts, ...]


def line_parts(layout: LineLayout, known: Resolved) -> LineParts:
    """What a line is made of.

    Args:
        layout: the line.
        known: the parts of its design.

    Raises:
        UnknownPartError: a choice is not in the catalogue.
    """
    tubes = []
    for segment in layout.segments:
        tube = known.tube(layout.id, segment.id)
        if tube is None:
            raise UnknownPartError(
                f"line {layout.id}: segment {segment.id} has a tube that the catalogue has not"
            )
        tubes.append(tube)
    served = {segment.ends_at_drop for segment in layout.segments}
    drops = []
    for one in known.drops_of(layout.id):
        drop = one.drop
        if drop.id not in served:
            continue
        if one.gun is None or one.nozzle is None or one.size is None or one.hose is None:
            raise UnknownPartError(f"drop {drop.id}: the catalogue has not all that it is made of")
        drops.append(DropParts(drop, one.gun, one.nozzle, one.size, one.hose))
    return LineParts(layout, tuple(tubes), tuple(drops))


def nozzle_coefficient(size: NozzleSize, liquid: Liquid) -> float:
    """Coefficient C [m3/(s Pa**0.5)] of a nozzle: `q = C sqrt(p)`, ISO 10625 flow at 300 kPa, density corrected."""
    return _nozzle_coefficient(size.l_min_at_300_kpa, liquid.specific_gravity)


@lru_cache(maxsize=4096)
def _nozzle_coefficient(l_min_at_300_kpa: float, specific_gravity: float) -> float:
    return emitter_coefficient(l_min_at_300_kpa * _L_MIN, _RATED_PA, specific_gravity)


def pump_curve(pump: Pump) -> PumpCurve:
    """The pump's curve in SI, from the catalogue's kPa and L/min."""
    return PumpCurve(
        linear_pa_s_m3=1000.0 * pump.droop_linear / _L_MIN,
        quadratic_pa_s2_m6=1000.0 * pump.droop_quadratic / _L_MIN**2,
        max_flow_m3_s=pump.max_l_min * _L_MIN,
        max_air_pa=1000.0 * pump.max_kpa,
        air_factor=pump.air_factor,
    )


def _direction(start: Point, end: Point) -> tuple[float, float, float]:
    dx, dy, dz = end.x - start.x, end.y - start.y, end.z - start.z
    size = (dx * dx + dy * dy + dz * dz) ** 0.5 or 1.0
    return (round(dx / size, 3), round(dy / size, 3), round(dz / size, 3))


def check_valves(segment: Segment) -> int:
    """How many check valves the flow through a segment passes."""
    return [f.kind for f in segment.fittings].count(FittingKind.CHECK_VALVE)


def cracking_pa(segment: Segment, tube: Tube) -> float:
    """Pressure that the springs of a segment's check valves hold back at every flow [Pa], in a tube."""
    return 1000.0 * check_valves(segment) * tube.check_valve.cracking_kpa


def _passed(segment: Segment, upstream: Segment | None) -> tuple[str, ...]:
    """Keys of the fittings without a flow coefficient that the flow through a segment passes, one for each."""
    apart = FittingKind.TEE, FittingKind.CHECK_VALVE
    kinds = [f.kind.value for f in segment.fittings if f.kind not in apart]
    if upstream is not None and len(segment.points) > 1 and len(upstream.points) > 1:
        straight = _direction(*upstream.points[-2:]) == _direction(*segment.points[:2])
        kinds.append("tee-run" if straight else "tee-branch")
    return tuple(kinds)


def fitting_losses(segment: Segment, upstream: Segment | None, tube: Tube) -> tuple[float, float]:
    """Loss coefficients K1 and K of the fittings that the flow through a segment passes; see `sum_of`.

    The tee at the end of the upstream segment counts here, once, as run or as branch by the turn taken. A check valve
    counts by the flow coefficient of its catalogue entry; what its spring takes besides tells `cracking_pa`.
    """
    bore_m = tube.bore_mm / 1000.0
    k1, k = _sum_of(_passed(segment, upstream), bore_m)
    valves = check_valves(segment)
    return (k1, k + valves * _valve_k(tube.check_valve.kv, bore_m)) if valves else (k1, k)


@lru_cache(maxsize=256)
def _valve_k(kv: float, bore_m: float) -> float:
    return k_from_kv(kv, bore_m)


@lru_cache(maxsize=4096)
def _sum_of(passed: tuple[str, ...], bore_m: float) -> tuple[float, float]:
    # A design has a few kinds of segment, hundreds of times each.
    return sum_of(Counter(passed), bore_m)


@lru_cache(maxsize=4096)
def _outlet_coefficient(kv: float, l_min_at_300_kpa: float, liquid: Liquid) -> float:
    """Of gun and nozzle together [m3/(s Pa**0.5)]."""
    return in_series(
        coefficient_from_kv(kv, liquid.density_kg_m3),
        _nozzle_coefficient(l_min_at_300_kpa, liquid.specific_gravity),
    )


@lru_cache(maxsize=1024)
def _shape(tube_from: tuple[int, ...], tube_to: tuple[int, ...], outlet_node: tuple[int, ...]) -> TreeShape:
    # Lines with as many drops are mostly alike in shape, and stay so while lengths and heights change.
    return tree_shape(tube_from, tube_to, outlet_node, 0)


@dataclass(frozen=True, eq=False, slots=True)
class _Figures:
    """A line's arrays as lists, as the module says; see `Network`.

    `elevation_m` holds what the springs of check valves take as height: nothing flows to a node with less pressure than
    opens them, and what flows loses it, as with a node that stands so much higher. `spring_pa` is that, by node.
    """

    elevation_m: list[float]
    spring_pa: list[float]
    tube_from: list[int]
    tube_to: list[int]
    length_m: list[float]
    bore_m: list[float]
    minor_k: list[float]
    minor_k1: list[float]
    coil_diameter_m: list[float]
    outlet_node: list[int]
    outlet_coefficient: list[float]


def _figures(line: LineParts, liquid: Liquid) -> _Figures:
    segments = line.layout.segments
    node_of = {segment.id: i + 1 for i, segment in enumerate(segments)}
    end_of_drop = {segment.ends_at_drop: i + 1 for i, segment in enumerate(segments) if segment.ends_at_drop}
    bore = [tube.bore_mm / 1000.0 for tube in line.tubes]
    fittings = [
        fitting_losses(s, segments[node_of[s.upstream] - 1] if s.upstream in node_of else None, tube)
        for s, tube in zip(segments, line.tubes, strict=True)
    ]
    drops = line.drops
    straight, nodes = [0.0] * len(segments), len(segments) + 1
    spring = [0.0]
    for s, tube in zip(segments, line.tubes, strict=True):
        spring.append((spring[node_of[s.upstream]] if s.upstream else 0.0) + cracking_pa(s, tube))
    spring += [spring[end_of_drop[part.drop.id]] for part in drops]
    weight = liquid.density_kg_m3 * GRAVITY_M_S2
    return _Figures(
        elevation_m=[z + pa / weight for z, pa in zip(node_heights(line), spring, strict=True)],
        spring_pa=spring,
        tube_from=[
            *(node_of[s.upstream] if s.upstream else 0 for s in segments),
            *(end_of_drop[part.drop.id] for part in drops),
        ],
        tube_to=list(range(1, nodes + len(drops))),
        length_m=[*(max(s.length_m, 1e-3) for s in segments), *(p.drop.hose_length.si for p in drops)],
        bore_m=[*bore, *(part.hose.bore_mm / 1000.0 for part in drops)],
        minor_k=[*(k for _, k in fittings), *([0.0] * len(drops))],
        minor_k1=[*(k1 for k1, _ in fittings), *([0.0] * len(drops))],
        coil_diameter_m=[
            *straight,
            *(p.hose.coil_diameter_mm / 1000.0 if p.drop.hose is HoseKind.COIL else 0.0 for p in drops),
        ],
        outlet_node=list(range(nodes, nodes + len(drops))),
        outlet_coefficient=[_outlet_coefficient(p.gun.kv, p.size.l_min_at_300_kpa, liquid) for p in drops],
    )


def node_heights(line: LineParts) -> list[float]:
    """Height of each node over the floor [m], numbered as the module says."""
    segments = line.layout.segments
    return [
        segments[0].points[0].z,
        *(segment.points[-1].z for segment in segments),
        *([GUN_HEIGHT_M] * len(line.drops)),
    ]


def line_network(line: LineParts, pump: Pump, source_pressure_pa: float, liquid: Liquid) -> Network:
    """The network of a line with every gun as an outlet.

    Args:
        line: what it is made of.
        pump: its pump, whose droop makes the source curve.
        source_pressure_pa: gauge pressure of the pump at rest.
        liquid: what flows.

    Returns:
        Outlets in the order of `line.drops`; nodes and tubes as the module says.

    Raises:
        NetworkInputError: a figure that no network can have.
    """
    curve, known = pump_curve(pump), _figures(line, liquid)
    return Network.build(
        elevation_m=known.elevation_m,
        tube_from=known.tube_from,
        tube_to=known.tube_to,
        length_m=known.length_m,
        bore_m=known.bore_m,
        roughness_m=TUBE_ROUGHNESS_M,
        minor_k=known.minor_k,
        minor_k1=known.minor_k1,
        coil_diameter_m=known.coil_diameter_m,
        outlet_node=known.outlet_node,
        outlet_coefficient=known.outlet_coefficient,
        source_node=0,
        source_pressure_pa=source_pressure_pa,
        source_linear_pa_s_m3=curve.linear_pa_s_m3,
        source_quadratic_pa_s2_m6=curve.quadratic_pa_s2_m6,
        density_kg_m3=liquid.density_kg_m3,
        viscosity_pa_s=liquid.viscosity_pa_s,
    )


@dataclass(frozen=True, eq=False, slots=True)
class LinesNetwork:
    """Several lines compiled together.

    Attributes:
        lines: their sizes.
        plan: solves their open-sets.
        ways: of each line the tubes' upper ends, as the module counts nodes; equal ones are the same object.
        spring_pa: what the springs of check valves take on the way to each node of all lines.
    """

    lines: Joined
    plan: TreeLines
    ways: tuple[tuple[int, ...], ...]
    spring_pa: FloatArray


def lines_network(
    lines: Sequence[tuple[LineParts, Pump, float, Liquid]],
) -> LinesNetwork:
    """The networks of several lines, each with the arguments of `line_network`, compiled to be solved together.

    Raises:
        NetworkInputError: a figure that no network can have; it does not say of which line.
    """
    known = [_figures(line, liquid) for line, _, _, liquid in lines]
    curves = [pump_curve(pump) for _, pump, _, _ in lines]
    liquids = [liquid for *_, liquid in lines]

    def each(name: str) -> FloatArray:
        return np.array([value for one in known for value in getattr(one, name)], dtype=np.float64)

    def first(name: str) -> IntArray:
        return np.array([0, *accumulate(len(getattr(one, name)) for one in known)], dtype=np.int64)

    tubes = first("tube_from")
    joined = Joined(
        first_node=first("elevation_m"),
        first_tube=tubes,
        first_outlet=first("outlet_node"),
        elevation_m=each("elevation_m"),
        length_m=each("length_m"),
        bore_m=each("bore_m"),
        roughness_m=np.full(int(tubes[-1]), TUBE_ROUGHNESS_M),
        minor_k=each("minor_k"),
        minor_k1=each("minor_k1"),
        coil_diameter_m=each("coil_diameter_m"),
        outlet_node=each("outlet_node").astype(np.int64),
        outlet_coefficient=each("outlet_coefficient"),
        source_node=np.zeros(len(lines), dtype=np.int64),
        source_pressure_pa=np.array([pressure for _, _, pressure, _ in lines], dtype=np.float64),
        source_linear_pa_s_m3=np.array([curve.linear_pa_s_m3 for curve in curves]),
        source_quadratic_pa_s2_m6=np.array([curve.quadratic_pa_s2_m6 for curve in curves]),
        density_kg_m3=np.array([liquid.density_kg_m3 for liquid in liquids]),
        viscosity_pa_s=np.array([liquid.viscosity_pa_s for liquid in liquids]),
    )
    joined.check()
    ways: dict[tuple[int, ...], tuple[int, ...]] = {}
    way_of = [ways.setdefault(way, way) for way in (tuple(one.tube_from) for one in known)]
    shapes = [
        _shape(way, tuple(one.tube_to), tuple(one.outlet_node))
        for way, one in zip(way_of, known, strict=True)
    ]
    plan = TreeLines(joined, forest(shapes, np.diff(tubes)), Patterns())
    return LinesNetwork(joined, plan, tuple(way_of), each("spring_pa"))
