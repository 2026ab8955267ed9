"""A line's way through the corridor: its segments, and the joints and valves that follow from them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from estimator.layout.spots import Spot
from estimator.layout.stations import point
from estimator.layout.types import FittingKind, LineLayout, PlacedFitting, Point, Segment
from estimator.model.design import AIR

__all__ = ["Heights", "Outlet", "Piece", "Points", "Way", "route", "way_of"]


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
        existing: it hangs there already.
        foam: air and solution meet in its gun, so each needs a check valve.
    """

    drop: str
    spot: Spot
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


@dataclass(frozen=True, slots=True)
class Piece:
    """A segment as it is seen from above, whatever its heights and lengths.

    Attributes:
        name: its id.
        upstream: id of the piece that it hangs on, "" for the first.
        spots: corners at run height from start to end; one where it only goes down.
        end: the outlet that it ends at, None where it parts.
        drops: ids of the drops behind it, sorted.
        existing: it serves an existing drop.
        tees: for each tee at its end whether it exists.
    """

    name: str
    upstream: str
    spots: tuple[Spot, ...]
    end: Outlet | None
    drops: tuple[str, ...]
    existing: bool
    tees: tuple[bool, ...]


@dataclass(frozen=True, slots=True)
class Way:
    """A line's way through the corridor: its pieces, each after the one it hangs on, and the runs that it uses."""

    pieces: tuple[Piece, ...]
    links: frozenset[tuple[Spot, Spot]]


def way_of(root: Spot, outlets: Sequence[Outlet], upstream: Mapping[Spot, Spot]) -> Way:
    """A line's way; see `route`.

    Args:
        root: where the corridor starts, above the board.
        outlets: ends of the line, at least one.
        upstream: the corridor's neighbour on the way to the root, for each spot.
    """
    ways = _Ways(root, outlets, upstream)
    pieces: list[Piece] = []
    # (upstream piece, spot it starts at, next spot or None, outlet to end at or None)
    pending: list[tuple[str, Spot | None, Spot | None, Outlet | None]] = [("", None, root, None)]
    while pending:
        above, start, spot, end = pending.pop()
        served = [end] if end else ways.behind[spot] if spot else []
        parts: list[tuple[str, Spot | None, Outlet | None]] = []
        spots = [] if start is None else [start]
        while spot is not None:
            spots.append(spot)
            onward, hanging = ways.onward.get(spot, []), ways.hanging.get(spot, [])
            if len(onward) + len(hanging) > 1:
                parts = [
                    *((o.drop, None, o) for o in hanging),
                    *((min(o.drop for o in ways.behind[s]), s, None) for s in onward),
                ]
                break
            spot, end = (None, hanging[0]) if hanging else (onward[0], None)
        drops = tuple(sorted(o.drop for o in served))
        name = f"{drops[0]}x{len(drops)}"
        standing = sum(
            o.existing if o else any(x.existing for x in ways.behind[s]) if s else False for _, s, o in parts
        )
        pieces.append(
            Piece(
                name,
                above,
                _bends(spots),
                end,
                drops,
                any(o.existing for o in served),
                tuple(i < standing - 1 for i in range(len(parts) - 1)),
            )
        )
        pending.extend((name, spots[-1], s, o) for _, s, o in sorted(parts, key=lambda p: p[0], reverse=True))
    links = frozenset((spot, other) for spot, onward in ways.onward.items() for other in onward)
    return Way(tuple(pieces), links)


def _bends(spots: Sequence[Spot]) -> tuple[Spot, ...]:
    """First, bends and last."""
    kept = list(spots[:1])
    for here in spots[1:]:
        if len(kept) > 1 and kept[-2][0] == kept[-1][0] == here[0]:
            straight = (kept[-1][1] > kept[-2][1]) == (here[1] > kept[-1][1])
        elif len(kept) > 1 and kept[-2][1] == kept[-1][1] == here[1]:
            straight = (kept[-1][0] > kept[-2][0]) == (here[0] > kept[-1][0])
        else:
            straight = False
        if straight:
            kept[-1] = here
        else:
            kept.append(here)
    return tuple(kept)


class Points:
    """Spots at heights, each made once: lines share most of theirs."""

    def __init__(self) -> None:
        self._known: dict[tuple[Spot, int], Point] = {}

    def __call__(self, spot: Spot, z_um: int) -> Point:
        """A spot at a height in micrometres."""
        key = spot, z_um
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = point(spot, z_um)
        return found


def route(
    line: str,
    way: Way,
    heights: Heights,
    ends_um: Mapping[str, int],
    allowance_percent: float,
    measured_m: Mapping[str, float],
    at: Points,
) -> LineLayout:
    """The segments of one line, each after the one it hangs on.

    From the board's outlet straight to run height, along the corridor, straight down to each outlet. Where
    the line parts n ways there are n-1 tees. A segment is existing if it serves an existing drop; joints
    that only a new drop needs are not.

    Args:
        line: product id or "air".
        way: through the corridor.
        heights: of the board's outlet and of the run.
        ends_um: drop id -> height at which the hose leaves the tube, micrometres.
        allowance_percent: added to each length along the corners.
        measured_m: segment id -> length measured on site, which is taken as it is.
        at: makes the points.
    """
    segments: list[Segment] = []
    allowed = 1.0 + allowance_percent / 100.0
    for piece in way.pieces:
        name, end, existing = piece.name, piece.end, piece.existing
        corners = [at(spot, heights.run) for spot in piece.spots]
        if not piece.upstream:
            corners.insert(0, at(piece.spots[0], heights.outlet))
        if end:
            corners.append(at(piece.spots[-1], ends_um[end.drop]))
        shape = _corners(corners)
        objects = line, name
        fittings = []
        if not piece.upstream:
            fittings.append(PlacedFitting(FittingKind.SHUT_OFF_VALVE, shape[0], objects, existing))
            if line != AIR:
                fittings.append(PlacedFitting(FittingKind.CHECK_VALVE, shape[0], objects, existing))
        fittings.extend(PlacedFitting(FittingKind.ELBOW, bend, objects, existing) for bend in shape[1:-1])
        fittings.extend(PlacedFitting(FittingKind.TEE, shape[-1], objects, stands) for stands in piece.tees)
        if end:
            kinds = [FittingKind.SHUT_OFF_VALVE, FittingKind.DROP_CONNECTOR]
            if end.foam:
                kinds.insert(1, FittingKind.CHECK_VALVE)
            its = (line, name, end.drop)
            fittings.extend(PlacedFitting(kind, shape[-1], its, end.existing) for kind in kinds)
        computed_m = sum([_apart(a, b) for a, b in pairwise(shape)]) * allowed
        segments.append(
            Segment(
                id=name,
                line=line,
                upstream=piece.upstream,
                points=shape,
                computed_m=computed_m,
                length_m=measured_m.get(name, computed_m),
                measured=name in measured_m,
                existing=existing,
                drops=piece.drops,
                fittings=tuple(fittings),
                ends_at_drop=end.drop if end else "",
            )
        )
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
