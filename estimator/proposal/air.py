"""Tube sizes of the compressed air line: the cheapest that lose no more than the share of the supply allowed.

The mass flow of each segment is that of the guns behind it, whatever the sizes. Isothermal flow loses
`p1**2 - p2**2 = G**2 R T (f L / d + K + 2 ln(p1 / p2))` along a segment (G mass flux, R gas constant, T temperature, f
Darcy factor, L length, d bore, K fittings; p absolute), which hardly depends on p. So a dynamic programme on the tree
finds the cheapest sizes for each pressure at a segment's start; the proof verifies them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from estimator.going import ALONE, Going
from estimator.hydraulics.air import FreeAir, header_drop
from estimator.hydraulics.air_reference import REFERENCES
from estimator.hydraulics.fittings import sum_of
from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.pump import barometric_pressure
from estimator.hydraulics.simultaneous import Guns, flow_at_once
from estimator.layout.types import LineLayout, Segment
from estimator.model.site import Site
from estimator.proposal.cost import SizeCosts
from estimator.reference.catalogue import Catalogue
from estimator.sizing import rules
from estimator.sizing.air_proof import AIR_TEMPERATURE_K
from estimator.sizing.line_network import TUBE_ROUGHNESS_M, fitting_counts

__all__ = ["AirSizes", "size_air_line"]

_MOST_LABELS = 400


@dataclass(frozen=True, slots=True)
class AirSizes:
    """The sizes found.

    Attributes:
        tubes: position in the catalogue's tubes, one a segment; empty where none holds the limit.
        cost: of the segments.
        square: (segment, tube) -> loss of p**2 [Pa2]; sizes that choke are not in it.
        exact: no label was dropped.
    """

    tubes: tuple[int, ...]
    cost: float
    square: dict[tuple[int, int], float]
    exact: bool


@dataclass(frozen=True, slots=True)
class _Label:
    """Sizes of a subtree: absolute pressure squared that it needs at its start, cost, chosen (segment, tube)."""

    need: float
    cost: float
    chosen: tuple[tuple[int, int], ...]


def _pareto(labels: list[_Label]) -> tuple[list[_Label], bool]:
    kept: list[_Label] = []
    for label in sorted(labels, key=lambda x: (x.cost, x.need)):
        if not kept or label.need < kept[-1].need:
            kept.append(label)
    return kept[:_MOST_LABELS], len(kept) <= _MOST_LABELS


def _flow(segment: Segment, by_drop: dict[str, Guns]) -> float:
    guns = [by_drop[d] for d in segment.drops if d in by_drop]
    alike: dict[tuple[float, float], int] = {}
    for gun in guns:
        alike[gun.probability, gun.flow_m3_s] = alike.get((gun.probability, gun.flow_m3_s), 0) + gun.number
    together = flow_at_once([Guns(n, p, q) for (p, q), n in alike.items()]).flow_m3_s if guns else 0.0
    return max([together, *(g.flow_m3_s for g in guns)])


def size_air_line(
    site: Site,
    line: LineLayout,
    by_drop: dict[str, Guns],
    options: Sequence[Sequence[int]],
    parts: Catalogue,
    costs: SizeCosts,
    share: float = rules.HEADER_DROP_SHARE,
    going: Going = ALONE,
) -> AirSizes:
    """The cheapest tubes of the air line.

    Args:
        site: the survey.
        line: the air line.
        by_drop: air of each gun at the compressor's reference conditions.
        options: tubes that each segment may have, positions in the catalogue.
        parts, costs: sizes and what they cost.
        share: of the supply pressure that may be lost.
        going: asked from segment to segment whether the sizes are still wanted.
    """
    plate = REFERENCES[site.air.reference.value]
    barometer = barometric_pressure(site.altitude.si)
    supply = site.air.pressure.si + barometer
    target = (site.air.pressure.si * (1.0 - share) + barometer) ** 2
    by_id = {s.id: s for s in line.segments}
    square: dict[tuple[int, int], float] = {}
    for at, segment in enumerate(line.segments):
        going.check()
        mass = FreeAir(_flow(segment, by_drop), plate).mass_flow_kg_s
        counts = fitting_counts(segment, by_id.get(segment.upstream))
        for k in options[at]:
            bore = parts.tubes[k].bore_mm / 1000.0
            _, minor = sum_of(counts, bore)
            try:
                found = header_drop(
                    mass, supply, AIR_TEMPERATURE_K, segment.length_m, bore, TUBE_ROUGHNESS_M, minor
                )
            except OutOfRange:
                continue  # it chokes, so it is no size for this flow
            square[at, k] = supply**2 - found.outlet_pa**2
    onward: dict[str, list[int]] = {}
    for at, segment in enumerate(line.segments):
        onward.setdefault(segment.upstream, []).append(at)
    below: dict[int, list[_Label]] = {}
    exact = True
    for at in reversed(range(len(line.segments))):
        segment = line.segments[at]
        joined = [_Label(target if segment.ends_at_drop else 0.0, 0.0, ())]
        for child in onward.get(segment.id, ()):
            going.check()
            joined, whole = _pareto(
                [
                    _Label(max(a.need, b.need), a.cost + b.cost, a.chosen + b.chosen)
                    for a in joined
                    for b in below[child]
                ]
            )
            exact &= whole
        labels: list[_Label] = []
        for k in options[at]:
            cost = costs.segment(segment, parts.tubes[k].key)
            if cost is None or (at, k) not in square:
                continue
            labels.extend(_Label(x.need + square[at, k], x.cost + cost, ((at, k), *x.chosen)) for x in joined)
        # A supply that cannot be reached by any size of this subtree is no use to those upstream.
        below[at], whole = _pareto([x for x in labels if x.need <= supply**2])
        exact &= whole
    chosen: dict[int, int] = {}
    total = 0.0
    for at, segment in enumerate(line.segments):
        if segment.upstream:
            continue
        if not below[at]:
            return AirSizes((), 0.0, square, exact)
        best = below[at][0]
        chosen.update(best.chosen)
        total += best.cost
    return AirSizes(tuple(chosen[i] for i in range(len(line.segments))), total, square, exact)
