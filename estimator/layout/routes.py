"""A line's way through the corridor: its segments, and the joints and valves that follow from them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from estimator.layout.spots import Spot
from estimator.layout.stations import point
from estimator.layout.types import Fitting, FittingKind, LineLayout, Point, Segment
from estimator.model.design import AIR

__all__ = ["Heights", "Outlet", "line_links", "route"]


@dataclass(frozen=True, slots=True)
class Heights:
    """Heights above the floor in micrometres."""

    outlet: int
    run: int


@dataclass(frozen=True, slots=True)
class Outlet:
    """An end of a line at a drop.

    Attributes:
        drop: id of the drop.
        spot: where it hangs.
        end: height at which the hose leaves the tube, micrometres.
        existing: it hangs there already.
        foam: air and solution meet in its gun, so each needs a check valve.
    """

    drop: str
    spot: Spot
    end: int
    existing: bool
    foam: bool


class _Ways:
    """The part of the corridor that a line uses."""

    def __init__(self, root: Spot, outlets: Sequence[Outlet], upstream: Mapping[Spot, Spot]) -> None:
        self.hanging: dict[Spot, list[Outlet]] = {}
        for outlet in outlets:
            self.hanging.setdefault(outlet.spot, []).append(outlet)
        self.onward: dict[Spot, list[Spot]] = {}
        depth: dict[Spot, int] = {root: 0}
        for end in self.hanging:
            way = [end]
            while way[-1] not in depth:
                way.append(upstream[way[-1]])
            for before, spot in zip(way[:0:-1], way[-2::-1], strict=True):
                depth[spot] = depth[before] + 1
                self.onward.setdefault(before, []).append(spot)
        self.behind: dict[Spot, list[Outlet]] = {}
        for spot in sorted(depth, key=lambda s: -depth[s]):
            here = self.hanging.get(spot, [])
            onward = self.onward.get(spot, [])
            if len(onward) == 1 and not here:
                self.behind[spot] = self.behind[onward[0]]
            else:
                self.behind[spot] = [*here, *(o for s in onward for o in self.behind[s])]


def line_links(
    root: Spot, outlets: Sequence[Outlet], upstream: Mapping[Spot, Spot]
) -> set[tuple[Spot, Spot]]:
    """The runs of the corridor that a line uses."""
    ways = _Ways(root, outlets, upstream)
    return {(spot, other) for spot, onward in ways.onward.items() for other in onward}


def route(
    line: str,
    root: Spot,
    heights: Heights,
    outlets: Sequence[Outlet],
    upstream: Mapping[Spot, Spot],
    allowance_percent: float,
    measured_m: Mapping[str, float],
) -> LineLayout:
    """The segments of one line, each after the one it hangs on.

    From the board's outlet straight to run height, along the corridor, straight down to each outlet. Where
    the line parts n ways there are n-1 tees. A segment is existing if it serves an existing drop; joints
    that only a new drop needs are not.

    Args:
        line: product id or "air".
        root: where the corridor starts, above the board.
        heights: of the board's outlet and of the run.
        outlets: ends of the line, at least one.
        upstream: the corridor's neighbour on the way to the root, for each spot.
        allowance_percent: added to each length along the corners.
        measured_m: segment id -> length measured on site, which is taken as it is.
    """
    ways = _Ways(root, outlets, upstream)
    start = point(root, heights.outlet)
    segments: list[Segment] = []
    # (upstream segment, corners so far, next spot or None, outlet to end at or None)
    pending: list[tuple[str, list[Point], Spot | None, Outlet | None]] = [("", [start], root, None)]
    while pending:
        above, corners, spot, end = pending.pop()
        served = [end] if end else ways.behind[spot] if spot else []
        parts: list[tuple[str, Spot | None, Outlet | None]] = []
        while spot is not None:
            corners.append(point(spot, heights.run))
            onward, hanging = ways.onward.get(spot, []), ways.hanging.get(spot, [])
            if len(onward) + len(hanging) > 1:
                parts = [
                    *((o.drop, None, o) for o in hanging),
                    *((min(o.drop for o in ways.behind[s]), s, None) for s in onward),
                ]
                break
            spot, end = (None, hanging[0]) if hanging else (onward[0], None)
        here = corners[-1]
        if end:
            corners.append(Point(here.x, here.y, end.end / 1e6))
        drops = tuple(sorted(o.drop for o in served))
        name = f"{drops[0]}x{len(drops)}"
        shape = _corners(corners)
        existing = any(o.existing for o in served)
        plain_m = sum(_apart(a, b) for a, b in pairwise(shape))
        computed_m = plain_m * (1.0 + allowance_percent / 100.0)
        fittings = []
        if not above:
            fittings.append(Fitting(FittingKind.SHUT_OFF_VALVE, shape[0], (line, name), existing))
            if line != AIR:
                fittings.append(Fitting(FittingKind.CHECK_VALVE, shape[0], (line, name), existing))
        fittings.extend(Fitting(FittingKind.ELBOW, at, (line, name), existing) for at in shape[1:-1])
        if parts:
            standing = sum(
                o.existing if o else any(x.existing for x in ways.behind[s]) if s else False
                for _, s, o in parts
            )
            fittings.extend(
                Fitting(FittingKind.TEE, shape[-1], (line, name), i < standing - 1)
                for i in range(len(parts) - 1)
            )
        if end:
            kinds = [FittingKind.SHUT_OFF_VALVE, FittingKind.DROP_CONNECTOR]
            if end.foam:
                kinds.insert(1, FittingKind.CHECK_VALVE)
            fittings.extend(Fitting(kind, shape[-1], (line, name, end.drop), end.existing) for kind in kinds)
        segments.append(
            Segment(
                id=name,
                line=line,
                upstream=above,
                points=shape,
                computed_m=computed_m,
                length_m=measured_m.get(name, computed_m),
                measured=name in measured_m,
                existing=existing,
                drops=drops,
                fittings=tuple(fittings),
                ends_at_drop=end.drop if end else "",
            )
        )
        pending.extend((name, [here], s, o) for _, s, o in sorted(parts, key=lambda p: p[0], reverse=True))
    return LineLayout(line, tuple(segments))


def _apart(a: Point, b: Point) -> float:
    return abs(a.x - b.x) + abs(a.y - b.y) + abs(a.z - b.z)


def _corners(points: Sequence[Point]) -> tuple[Point, ...]:
    """First, corners and last; a segment without length keeps its two equal ends."""
    kept = [points[0]]
    for here in points[1:]:
        if here == kept[-1]:
            continue
        if len(kept) > 1 and _heading(kept[-2], kept[-1]) == _heading(kept[-1], here):
            kept[-1] = here
        else:
            kept.append(here)
    return tuple(kept) if len(kept) > 1 else (points[0], points[0])


def _heading(a: Point, b: Point) -> tuple[bool, bool, bool, bool, bool, bool]:
    return b.x > a.x, b.x < a.x, b.y > a.y, b.y < a.y, b.z > a.z, b.z < a.z
