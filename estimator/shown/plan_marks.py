"""The floor plan as screen and paper draw it: what stands where, in metres, with names, numbers and line styles.

Plan x runs east, y north from the hall's south-west corner. How large, in what ink and with what lettering is for the
one who draws.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from estimator.layout.types import Layout, Segment, Station
from estimator.model.called import bay_names
from estimator.model.choices import BayDirection, SideName, Wall
from estimator.model.design import AIR, Bay, Design, Drop
from estimator.model.site import Site
from estimator.safety.washing import way_to_eyewash
from estimator.shown.lines import LineStyle, line_styles

__all__ = [
    "BayMark",
    "BoardMark",
    "DropMark",
    "PlanMarks",
    "Rail",
    "StationMark",
    "WashMark",
    "WayMark",
    "in_lane",
    "plan_marks",
    "wash_mark",
]

Spot = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Rail:
    """What the drops of a station hang on: a straight piece of the plan."""

    x: float
    y: float
    half: float
    east_west: bool

    def holds(self, spot: Spot) -> bool:
        """Whether a spot lies on it."""
        along, across = (spot[0] - self.x, spot[1] - self.y)
        if not self.east_west:
            along, across = across, along
        return abs(across) < 1e-6 and abs(along) <= self.half + 1e-6


@dataclass(frozen=True, slots=True)
class BayMark:
    """A bay: its name, south-west corner and size."""

    id: str
    name: str
    x: float
    y: float
    width: float
    depth: float


@dataclass(frozen=True, slots=True)
class BoardMark:
    """The plant board: its wall, the piece of that wall it takes, and where the tubes leave it."""

    wall: Wall
    low: float
    high: float
    at: Spot

    @property
    def upright(self) -> bool:
        """Whether it runs north and south."""
        return self.wall in (Wall.WEST, Wall.EAST)


@dataclass(frozen=True, slots=True)
class WayMark:
    """A piece of a line seen from above.

    Attributes:
        line, segment: ids.
        way: its corners without the pieces along rails; rises and falls have none.
        keep: of its two ends, the axis that a lane does not move: "x", "y" or "".
        lane: its line's place among the lines that share their corridor; 0 is the middle.
        style: how the line is drawn.
        existing: it hangs there already.
    """

    line: str
    segment: str
    way: tuple[Spot, ...]
    keep: tuple[str, str]
    lane: float
    style: LineStyle
    existing: bool


@dataclass(frozen=True, slots=True)
class DropMark:
    """A drop: its id, what it gives with its number and colour, and whether it hangs there already."""

    id: str
    service: str
    style: LineStyle
    existing: bool

    @property
    def air(self) -> bool:
        """Whether it gives compressed air."""
        return self.service == AIR


@dataclass(frozen=True, slots=True)
class StationMark:
    """The drops of a bay side on their rail.

    Attributes:
        id: of the station.
        bay: the bay it belongs to.
        rail: what the drops hang on.
        inward: unit step from the rail into the bay.
        beyond: from the middle of the station to the bay's far (north or east) end.
        drops: in hanging order. `existing`: the mounting hangs there already.
    """

    id: str
    bay: BayMark
    rail: Rail
    inward: Spot
    beyond: float
    drops: tuple[DropMark, ...]
    existing: bool

    @property
    def across(self) -> float:
        """The size of its bay across the rail (m); the symbols of the other side have half of it."""
        return self.bay.depth if self.rail.east_west else self.bay.width

    @property
    def along(self) -> float:
        """The size of its bay along the rail (m)."""
        return self.bay.width if self.rail.east_west else self.bay.depth


@dataclass(frozen=True, slots=True)
class WashMark:
    """The eyewash where it is in the hall: what it is called, its spot, and the way to it from the board."""

    name: str
    at: Spot
    way: tuple[Spot, ...]


@dataclass(frozen=True, slots=True)
class PlanMarks:
    """The whole plan.

    Attributes:
        hall: width and depth.
        bays, stations: in the order of the design.
        corridor: its straight pieces, those along rails left out.
        ways: the lines, each from the board outwards.
        lanes: number of lines.
        wash: the eyewash, None where there is none or its place is not stated.
    """

    hall: Spot
    bays: tuple[BayMark, ...]
    board: BoardMark
    corridor: tuple[tuple[Spot, Spot], ...]
    ways: tuple[WayMark, ...]
    stations: tuple[StationMark, ...]
    lanes: int
    wash: WashMark | None = None


def _bay(bay: Bay, name: str) -> BayMark:
    across, along = bay.width.si, bay.length.si
    if bay.direction is BayDirection.EAST_WEST:
        across, along = along, across
    return BayMark(bay.id, name, bay.x.si, bay.y.si, across, along)


def _board(site: Site, layout: Layout) -> BoardMark:
    board, floor = site.board, site.floor
    limit = floor.depth.si if board.wall in (Wall.WEST, Wall.EAST) else floor.width.si
    half = board.width.si / 2
    low, high = max(0.0, board.along.si - half), min(limit, board.along.si + half)
    return BoardMark(board.wall, low, high, (layout.board.x, layout.board.y))


def _way(segment: Segment, rails: Sequence[Rail]) -> list[Spot]:
    found: list[Spot] = []
    for point in segment.points:
        if not found or (point.x, point.y) != found[-1]:
            found.append((point.x, point.y))
    while len(found) > 1 and any(r.holds(found[-1]) and r.holds(found[-2]) for r in rails):
        found.pop()
    while len(found) > 1 and any(r.holds(found[0]) and r.holds(found[1]) for r in rails):
        found.pop(0)
    return found


def _keep(spot: Spot, rails: Sequence[Rail]) -> str:
    """Ends stay on the rail they belong to and move only along it."""
    rail = next((r for r in rails if r.holds(spot)), None)
    return "" if rail is None else "y" if rail.east_west else "x"


def _ways(
    layout: Layout, styles: dict[str, LineStyle], rails: Sequence[Rail], wall: Wall
) -> tuple[WayMark, ...]:
    ways: list[WayMark] = []
    for place, line in enumerate(layout.lines):
        lane = place - (len(layout.lines) - 1) / 2
        for segment in line.segments:
            way = _way(segment, rails)
            if len(way) < 2:
                continue
            first = _keep(way[0], rails)
            if not segment.upstream:  # the first hangs on the board's wall
                first = "x" if wall in (Wall.WEST, Wall.EAST) else "y"
            ways.append(
                WayMark(
                    line.id,
                    segment.id,
                    tuple(way),
                    (first, _keep(way[-1], rails)),
                    lane,
                    styles[line.id],
                    segment.existing,
                )
            )
    return tuple(ways)


def in_lane(spots: Sequence[Spot], keep: tuple[str, str], shift: float) -> tuple[Spot, ...]:
    """A way moved into its lane, in the units that it is drawn in.

    Lines share their corridor: each is moved along the diagonal, so that runs north and runs east both lie side by
    side.

    Args:
        spots: its corners, two or more.
        keep: of its two ends, the axis that does not move.
        shift: by how much.
    """
    moved = [(x + shift, y + shift) for x, y in spots]

    def end(at: int, beside: int, axis: str) -> list[Spot]:
        x, y = moved[at]
        if not axis:
            return [(x, y)]
        kept = (x - shift, y) if axis == "x" else (x, y - shift)
        arrives_along_x = abs(moved[beside][1] - y) < 1e-6
        straight = arrives_along_x if axis == "x" else not arrives_along_x
        return [kept] if straight else [kept, (x, y)]

    first, last = end(0, 1, keep[0]), end(-1, -2, keep[1])
    return (*first, *moved[1:-1], *reversed(last))


def _station(
    station: Station, bay: BayMark, rail: Rail, drops: dict[str, Drop], styles: dict[str, LineStyle]
) -> StationMark:
    # Left, seen from the south end, is west; left, seen from the west end, is north.
    sign = -1.0 if station.side is SideName.RIGHT else 1.0
    inward = (0.0, -sign) if rail.east_west else (sign, 0.0)
    beyond = bay.x + bay.width - station.at.x if rail.east_west else bay.y + bay.depth - station.at.y
    marks = (
        DropMark(d.id, d.service, styles[d.service], d.existing)
        for d in (drops[drop] for drop in station.drops)
    )
    return StationMark(station.id, bay, rail, inward, beyond, tuple(marks), station.mount_existing)


def wash_mark(site: Site, design: Design) -> WashMark | None:
    """The eyewash of a design, None where there is none or its place is not stated or outside the hall."""
    wash = design.common.wash
    if not design.common.eyewash or wash.x is None or wash.y is None:
        return None
    if wash.x.si > site.floor.width.si or wash.y.si > site.floor.depth.si:
        return None
    name = "Eyewash, shower" if wash.shower else "Eyewash"
    return WashMark(name, (wash.x.si, wash.y.si), way_to_eyewash(site.floor, site.board, design))


def plan_marks(site: Site, design: Design, layout: Layout) -> PlanMarks:
    """The plan of a design in its hall.

    Args:
        site: hall and board.
        design: products, bays and drops.
        layout: where the lines run; of this design.
    """
    names, styles = bay_names(design), line_styles(design)
    bays = {bay.id: _bay(bay, names[bay.id]) for bay in design.bays}
    east_west = {bay.id: bay.direction is BayDirection.EAST_WEST for bay in design.bays}
    drops = {drop.id: drop for drop in design.drops}
    rails = [
        Rail(
            s.at.x,
            s.at.y,
            max(s.strut_m, design.drop_spacing.si * len(s.drops)) / 2,
            east_west[s.bay],
        )
        for s in layout.stations
    ]
    ends = (((a.x, a.y), (b.x, b.y)) for a, b in layout.corridor)
    return PlanMarks(
        hall=(site.floor.width.si, site.floor.depth.si),
        bays=tuple(bays.values()),
        board=_board(site, layout),
        corridor=tuple((a, b) for a, b in ends if not any(r.holds(a) and r.holds(b) for r in rails)),
        ways=_ways(layout, styles, rails, site.board.wall),
        stations=tuple(
            _station(s, bays[s.bay], rail, drops, styles)
            for s, rail in zip(layout.stations, rails, strict=True)
        ),
        lanes=len(layout.lines),
        wash=wash_mark(site, design),
    )
