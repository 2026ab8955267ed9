"""A liquid line as a hydraulic network: pump, tube with its fittings, hose, gun and nozzle.

Nodes: 0 is the pump's outlet on the board, 1 to s end the s segments, the rest are guns at the ends of the hoses.
Tubes: the s segments in the order of the layout, then the hoses in the order of `LineParts.drops`.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np

from estimator.hydraulics.fittings import sum_of
from estimator.hydraulics.network_model import Network
from estimator.hydraulics.nozzle import emitter_coefficient
from estimator.hydraulics.pump import PumpCurve
from estimator.hydraulics.solution import Liquid
from estimator.hydraulics.valve import coefficient_from_kv, in_series
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
    "UnknownPartError",
    "fitting_counts",
    "line_network",
    "line_parts",
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
    for one in known.drops:
        drop = one.drop
        if drop.service != layout.id or drop.id not in served:
            continue
        if one.gun is None or one.nozzle is None or one.size is None or one.hose is None:
            raise UnknownPartError(f"drop {drop.id}: the catalogue has not all that it is made of")
        drops.append(DropParts(drop, one.gun, one.nozzle, one.size, one.hose))
    return LineParts(layout, tuple(tubes), tuple(drops))


def nozzle_coefficient(size: NozzleSize, liquid: Liquid) -> float:
    """Coefficient C [m3/(s Pa**0.5)] of a nozzle: `q = C sqrt(p)`, ISO 10625 flow at 300 kPa, density corrected."""
    return emitter_coefficient(size.l_min_at_300_kpa * _L_MIN, _RATED_PA, liquid.specific_gravity)


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


def fitting_counts(segment: Segment, upstream: Segment | None) -> dict[str, int]:
    """Fittings that the flow through a segment passes, by the keys of the fitting table.

    The tee at the end of the upstream segment counts here, once, as run or as branch by the turn taken.
    """
    counts = Counter(f.kind.value for f in segment.fittings if f.kind is not FittingKind.TEE)
    if upstream is not None and len(segment.points) > 1 and len(upstream.points) > 1:
        straight = _direction(*upstream.points[-2:]) == _direction(*segment.points[:2])
        counts["tee-run" if straight else "tee-branch"] += 1
    return dict(counts)


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
    segments = line.layout.segments
    node_of = {segment.id: i + 1 for i, segment in enumerate(segments)}
    by_id = {segment.id: segment for segment in segments}
    end_of_drop = {segment.ends_at_drop: i + 1 for i, segment in enumerate(segments) if segment.ends_at_drop}
    elevation = [segments[0].points[0].z, *(segment.points[-1].z for segment in segments)]
    start = [node_of[s.upstream] if s.upstream else 0 for s in segments]
    end = [node_of[s.id] for s in segments]
    bore = [tube.bore_mm / 1000.0 for tube in line.tubes]
    fittings = [
        sum_of(fitting_counts(s, by_id.get(s.upstream)), d) for s, d in zip(segments, bore, strict=True)
    ]
    length = [max(s.length_m, 1e-3) for s in segments]
    coil = [0.0] * len(segments)
    for i, part in enumerate(line.drops):
        elevation.append(GUN_HEIGHT_M)
        start.append(end_of_drop[part.drop.id])
        end.append(len(segments) + 1 + i)
        length.append(part.drop.hose_length.si)
        bore.append(part.hose.bore_mm / 1000.0)
        fittings.append((0.0, 0.0))
        coil.append(part.hose.coil_diameter_mm / 1000.0 if part.drop.hose is HoseKind.COIL else 0.0)
    curve = pump_curve(pump)
    density = liquid.density_kg_m3
    return Network.build(
        elevation_m=elevation,
        tube_from=start,
        tube_to=end,
        length_m=length,
        bore_m=bore,
        roughness_m=TUBE_ROUGHNESS_M,
        minor_k=[k for _, k in fittings],
        minor_k1=[k1 for k1, _ in fittings],
        coil_diameter_m=coil,
        outlet_node=np.arange(len(segments) + 1, len(segments) + 1 + len(line.drops)),
        outlet_coefficient=[
            in_series(coefficient_from_kv(p.gun.kv, density), nozzle_coefficient(p.size, liquid))
            for p in line.drops
        ],
        source_node=0,
        source_pressure_pa=source_pressure_pa,
        source_linear_pa_s_m3=curve.linear_pa_s_m3,
        source_quadratic_pa_s2_m6=curve.quadratic_pa_s2_m6,
        density_kg_m3=density,
        viscosity_pa_s=liquid.viscosity_pa_s,
    )
