"""The floor to scale as plain drawing marks, in points on the paper with the origin at the bottom left.

Nothing here knows a PDF: a mark is a line, a label or a disc, and whoever draws them needs no more.
A line of the system is told from the others by its dash pattern, its number and its colour, never by colour alone.
No letter is smaller than 6 points: `plan_sheets.py` finds a scale that has room for them.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from estimator.layout.types import Layout
from estimator.model.choices import Wall
from estimator.model.design import Design
from estimator.model.site import Site
from estimator.shown.figures import Figures
from estimator.shown.lines import line_styles
from estimator.shown.plan_marks import (
    BayMark,
    BoardMark,
    PlanMarks,
    StationMark,
    WashMark,
    WayMark,
    in_lane,
    plan_marks,
)
from estimator.units import Dimension, preferred_unit, to_unit

__all__ = [
    "EDGE",
    "LEAST_TEXT",
    "POINTS_A_METRE",
    "SCALES",
    "Disc",
    "Drawing",
    "Lettering",
    "Mark",
    "Picture",
    "Stroke",
    "drawing",
    "foot_marks",
    "has_room",
    "overview_picture",
    "plan_picture",
    "text_width",
    "whole_scale",
]

Colour = tuple[float, float, float]
Spot = tuple[float, float]

POINTS_A_METRE: Final = 72.0 / 0.0254
LEAST_TEXT: Final = 6.0
"""Points of the smallest letters on a plan."""
SCALES: Final = (
    *(10, 20, 25, 40, 50, 75, 100, 125, 150, 175, 200, 250, 300, 400, 500, 600, 750),
    *(1000, 1250, 1500, 2000, 2500, 5000, 10000),
)
_BESIDE: Final = 1.2
_COMMON_NAME: Final = 8
_INK: Final[Colour] = (0.13, 0.16, 0.20)
_GREY: Final[Colour] = (0.55, 0.58, 0.62)
_PALE: Final[Colour] = (0.93, 0.94, 0.95)
_WHITE: Final[Colour] = (1.0, 1.0, 1.0)
_SAFE: Final[Colour] = (0.0, 0.42, 0.26)


@dataclass(frozen=True, slots=True)
class Stroke:
    """A polyline, closed and filled where that is said. `dash` is on, off, on, .. in points."""

    points: tuple[Spot, ...]
    width: float
    colour: Colour = _INK
    dash: tuple[float, ...] = ()
    closed: bool = False
    fill: Colour | None = None


@dataclass(frozen=True, slots=True)
class Lettering:
    """A text on one line; `anchor` is "start", "middle" or "end" of it at (x, y), its base line.

    It shrinks down to `least` points to fit `room` points, and is cut with an ellipsis where that is not enough.
    `halo` asks for a plain ground behind it; `upright` turns it to read upwards.
    """

    at: Spot
    text: str
    size: float
    room: float
    anchor: str = "middle"
    strong: bool = False
    halo: bool = False
    upright: bool = False
    colour: Colour = _INK
    least: float = 99.0


@dataclass(frozen=True, slots=True)
class Disc:
    """A numbered disc: filled for what is new, open for what stays."""

    at: Spot
    radius: float
    text: str
    colour: Colour
    open: bool = False


Mark = Stroke | Lettering | Disc


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture of `width` x `height` points at 1:`scale`.

    Attributes:
        marks: drawn in order.
        cut: drawn before them, as far as they lie in the frame.
        frame: left, bottom, width and height of what is seen of `cut`.
        crowded: whether a bay side has more services than the picture has room for.
    """

    width: float
    height: float
    scale: int
    marks: tuple[Mark, ...]
    cut: tuple[Mark, ...] = ()
    frame: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    crowded: bool = False


EDGE: Final = 16.0
"""Points around the hall, for the board and its name."""
_FOOT: Final = 40.0
"""Points below it, for the scale."""


class _Sheet:
    """Places metres of the hall on the paper."""

    def __init__(self, hall: Spot, scale: int, left: float, bottom: float) -> None:
        self.hall, self.left, self.bottom = hall, left, bottom
        self.metre = POINTS_A_METRE / scale
        self.size = (hall[0] * self.metre, hall[1] * self.metre)

    def spot(self, x: float, y: float) -> Spot:
        return self.left + x * self.metre, self.bottom + y * self.metre

    def rectangle(self, x: float, y: float, width: float, depth: float) -> tuple[Spot, ...]:
        return (
            self.spot(x, y),
            self.spot(x + width, y),
            self.spot(x + width, y + depth),
            self.spot(x, y + depth),
        )


def _bays(sheet: _Sheet, bays: Sequence[BayMark]) -> Iterator[Mark]:
    for bay in bays:
        corners = sheet.rectangle(bay.x, bay.y, bay.width, bay.depth)
        yield Stroke(corners, 0.6, _GREY, dash=(), closed=True, fill=(0.965, 0.97, 0.975))


def _bay_labels(sheet: _Sheet, bays: Sequence[BayMark]) -> Iterator[Mark]:
    for bay in bays:
        centre = sheet.spot(bay.x + bay.width / 2, bay.y + bay.depth / 2)
        room = max(bay.width * sheet.metre - 6.0, 8.0)
        size = max(LEAST_TEXT, min(9.5, bay.width * sheet.metre / 6))
        # Off the middle, where the tubes most often cross.
        below = min(26.0, bay.depth * sheet.metre / 4)
        at = (centre[0], centre[1] - below)
        yield Lettering(at, bay.name, size, room, strong=True, halo=True, least=LEAST_TEXT)


def _board(sheet: _Sheet, board: BoardMark, along: float) -> Iterator[Mark]:
    hall_width, hall_depth = sheet.hall
    thick = 5.0 / sheet.metre
    low, long = board.low, board.high - board.low
    x, y, width, depth = {
        Wall.WEST: (-thick, low, thick, long),
        Wall.EAST: (hall_width, low, thick, long),
        Wall.SOUTH: (low, -thick, long, thick),
        Wall.NORTH: (low, hall_depth, long, thick),
    }[board.wall]
    yield Stroke(sheet.rectangle(x, y, width, depth), 0.6, _INK, closed=True, fill=_INK)
    at = sheet.spot(
        {Wall.WEST: -thick, Wall.EAST: hall_width + thick}.get(board.wall, along),
        {Wall.SOUTH: -thick, Wall.NORTH: hall_depth + thick}.get(board.wall, along),
    )
    shift = {Wall.WEST: (-3.5, 0.0), Wall.EAST: (9.0, 0.0), Wall.SOUTH: (0.0, -7.5), Wall.NORTH: (0.0, 3.0)}
    dx, dy = shift[board.wall]
    room = (sheet.size[1] if board.upright else sheet.size[0]) * 0.9
    yield Lettering((at[0] + dx, at[1] + dy), "Plant board", 7.0, room, strong=True, upright=board.upright)


def _wash(sheet: _Sheet, wash: WashMark | None) -> Iterator[Mark]:
    """The eyewash as a cross in a square, its name, and the way to it in short dashes."""
    if wash is None:
        return
    if wash.way:
        yield Stroke(tuple(sheet.spot(*corner) for corner in wash.way), 0.9, _SAFE, dash=(1.2, 2.2))
    x, y = sheet.spot(*wash.at)
    half, arm = 4.2, 2.6
    square = ((x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half))
    yield Stroke(square, 0.6, _SAFE, closed=True, fill=_SAFE)
    yield Stroke(((x - arm, y), (x + arm, y)), 1.4, _WHITE)
    yield Stroke(((x, y - arm), (x, y + arm)), 1.4, _WHITE)
    # Beside the mark, on the side where there is more room.
    right = x - sheet.left < sheet.size[0] / 2
    room = sheet.size[0] / 2
    at = (x + half + 2.5 if right else x - half - 2.5, y - 2.4)
    anchor = "start" if right else "end"
    yield Lettering(at, wash.name, 7.0, room, anchor=anchor, strong=True, halo=True, colour=_SAFE)


def _ways(sheet: _Sheet, ways: Sequence[WayMark], lane: float) -> Iterator[Stroke]:
    for piece in ways:
        spots = [sheet.spot(*corner) for corner in piece.way]
        style = piece.style
        yield Stroke(in_lane(spots, piece.keep, piece.lane * lane), style.width, style.rgb, style.dash)


def _disc_radius(tag_length: int) -> float:
    """Radius in points of the discs of a plan whose longest number has so many digits: room for letters of 6 points."""
    return 4.1 if tag_length < 3 else 1.7 * tag_length + 0.2


def _places(along: float, across: float, radius: float, count: int) -> tuple[int, int]:
    """How many discs of a station stand in a column, and for how many there is room in their half of the bay.

    >>> _places(100.0, 50.0, 4.1, 4)
    (4, 20)
    >>> _places(40.0, 31.0, 4.1, 12)
    (4, 12)
    """
    step = 2 * radius + _BESIDE
    rows = max(1, min(count, int((along - 1.5) // step)))
    return rows, rows * max(1, int((across - 2.5) // step))


def _longest_tag(plan: PlanMarks) -> int:
    return max((len(drop.style.tag) for station in plan.stations for drop in station.drops), default=1)


def _bundle(design: Design, plan: PlanMarks, metre: float) -> tuple[float, float]:
    """Points from line to line, and of the band that all of them take, at so many points a metre.

    The bundle of lines stays narrower than a bay is long, however small the scale.
    """
    widest = min((22.0, *(bay.length.si * metre * 0.5 for bay in design.bays)))
    lane = min(2.6, widest / max(1, plan.lanes))
    return lane, lane * (plan.lanes + 2)


def has_room(plan: PlanMarks, design: Design, metre: float) -> bool:
    """Whether every service of every bay side has its disc, and every bay its name, in letters of 6 points at least.

    Args:
        plan: of the design.
        design: it.
        metre: points a metre.
    """
    radius, clear = _disc_radius(_longest_tag(plan)), _bundle(design, plan, metre)[1] / 2
    for station in plan.stations:
        count = len({drop.service for drop in station.drops})
        beyond = station.beyond * metre - max(station.rail.half * metre, clear)
        if _places(beyond, station.across * metre / 2, radius, count)[1] < count:
            return False
    # A name is cut where it is long; a common one is read whole.
    return all(
        text_width(bay.name[:_COMMON_NAME], LEAST_TEXT) <= max(bay.width * metre - 6.0, 8.0)
        for bay in plan.bays
    )


def text_width(text: str, size: float) -> float:
    """About how wide a text is in points: the embedded font's letters are at most some 0.6 of its size on average."""
    return size * sum(1.0 if unicodedata.east_asian_width(c) in "WF" else 0.6 for c in text)


def _station(
    sheet: _Sheet, station: StationMark, order: Sequence[str], clear: float, radius: float
) -> Iterator[Mark]:
    """A bar where the drops hang, and discs in the bay: one a service, starting `clear` points beyond the tubes."""
    rail = station.rail
    x, y = sheet.spot(rail.x, rail.y)
    east_west = rail.east_west
    seen: dict[str, bool] = {}
    for drop in station.drops:
        seen[drop.service] = seen.get(drop.service, True) and drop.existing
    styles = {drop.service: drop.style for drop in station.drops}
    services = sorted(seen, key=order.index)
    half = rail.half * sheet.metre
    ends = ((x - half, y), (x + half, y)) if east_west else ((x, y - half), (x, y + half))
    yield Stroke(ends, 2.6, _INK)
    beyond = station.beyond * sheet.metre - max(half, clear)
    rows, places = _places(beyond, station.across * sheet.metre / 2, radius, len(services))
    step = 2 * radius + _BESIDE
    start = max(half, clear) + radius + 1.5
    shown = services if len(services) <= places else services[: places - 1]
    for i in range(min(len(services), places)):
        column, row = divmod(i, rows)
        away = (station.inward[1] if east_west else station.inward[0]) * (radius + 2.5 + column * step)
        along = start + row * step
        at = (x + along, y + away) if east_west else (x + away, y + along)
        if i < len(shown):
            style = styles[shown[i]]
            yield Disc(at, radius, style.tag, style.rgb, open=seen[shown[i]])
        else:
            more = f"+{len(services) - len(shown)}"
            yield Lettering((at[0], at[1] - 2.0), more, LEAST_TEXT, 30.0, strong=True)


def _north(right: float) -> Iterator[Mark]:
    x, y = right - 22.0, 5.0
    yield Stroke(((x, y + 15), (x - 4, y), (x, y + 3.5)), 0.7, _INK, closed=True, fill=_INK)
    yield Stroke(((x, y + 15), (x + 4, y), (x, y + 3.5)), 0.7, _INK, closed=True, fill=_WHITE)
    yield Lettering((x + 6.5, y + 4.0), "N", 9.0, 12.0, anchor="start", strong=True)


def _round_length(limit: float) -> float:
    """The largest of 1, 2, 5 x 10^n that is at most `limit` (> 0)."""
    power = 1.0
    while power * 10 <= limit:
        power *= 10
    while power > limit:
        power /= 10
    return next(step * power for step in (5.0, 2.0, 1.0) if step * power <= limit)


def _scale_bar(hall: Spot, scale: int, x: float, right: float, figures: Figures) -> Iterator[Mark]:
    unit = preferred_unit(Dimension.LENGTH, figures.system)
    wide = to_unit(hall[0], Dimension.LENGTH, unit)
    points_a_unit = hall[0] * POINTS_A_METRE / scale / wide
    length = _round_length(min(wide * 0.45, 200.0 / points_a_unit))
    y = 5.0
    piece = length * points_a_unit / 4
    for i in range(4):
        corners = (
            (x + i * piece, y),
            (x + (i + 1) * piece, y),
            (x + (i + 1) * piece, y + 3.5),
            (x + i * piece, y + 3.5),
        )
        yield Stroke(corners, 0.5, _INK, closed=True, fill=_WHITE if i % 2 else _INK)
    for share in (0.0, 0.5, 1.0):
        # The space parts the figures for who reads or copies the text of the page.
        text = figures.number(length * share, 2) + (f" {unit}" if share == 1.0 else " ")
        yield Lettering((x + 4 * piece * share, y + 6.5), text, 7.0, 60.0)
    wide_text, deep_text = (figures.length(side) for side in hall)
    text = f"Scale 1:{scale} · hall {wide_text} × {deep_text}"
    start = x + 4 * piece + 24
    yield Lettering((start, y), text, 7.0, right - 30.0 - start, anchor="start")


@dataclass(frozen=True, slots=True)
class Drawing:
    """The whole floor as it is drawn, before anything of it is put on a page.

    Attributes:
        width, height: in points, with the edge around the hall.
        hall: width and depth in metres.
        marks: from the bottom left of the edge.
        crowded: whether a bay side has more services than there is room for at this scale.
    """

    width: float
    height: float
    hall: Spot
    marks: tuple[Mark, ...]
    crowded: bool


def _floor(sheet: _Sheet, plan: PlanMarks, site: Site, design: Design) -> Iterator[Mark]:
    lane, band = _bundle(design, plan, sheet.metre)
    yield Stroke(sheet.rectangle(0.0, 0.0, *sheet.hall), 1.6, _INK, closed=True, fill=_WHITE)
    yield from _bays(sheet, plan.bays)
    yield from (Stroke((sheet.spot(*a), sheet.spot(*b)), band, _PALE) for a, b in plan.corridor)
    yield from _ways(sheet, plan.ways, lane)
    yield from _board(sheet, plan.board, site.board.along.si)
    order, radius = list(line_styles(design)), _disc_radius(_longest_tag(plan))
    for station in plan.stations:
        yield from _station(sheet, station, order, band / 2, radius)
    yield from _bay_labels(sheet, plan.bays)
    yield from _wash(sheet, plan.wash)


def foot_marks(hall: Spot, scale: int, left: float, right: float, figures: Figures) -> tuple[Mark, ...]:
    """Scale bar and north arrow for the foot of a picture.

    Args:
        hall: width and depth (m).
        scale: 1 to so much.
        left, right: ends of the room for them, in points.
        figures: how lengths are written.
    """
    return (*_scale_bar(hall, scale, left, right, figures), *_north(right))


def drawing(site: Site, design: Design, plan: PlanMarks, scale: int) -> Drawing:
    """The whole floor at 1:`scale`, however large that is."""
    sheet = _Sheet(plan.hall, scale, EDGE, EDGE)
    crowded = not has_room(plan, design, sheet.metre)
    marks = tuple(_floor(sheet, plan, site, design))
    return Drawing(sheet.size[0] + 2 * EDGE, sheet.size[1] + 2 * EDGE, plan.hall, marks, crowded)


def whole_scale(hall: Spot, width: float, height: float) -> int:
    """The largest usual scale at which a whole hall fits so many points; a very large one has one of its own."""
    room = (width - 2 * EDGE, height - EDGE - _FOOT)
    needed = max(side * POINTS_A_METRE / points for side, points in zip(hall, room, strict=True))
    return next((s for s in SCALES if s >= needed), int(needed // 1000 + 1) * 1000)


def plan_picture(
    site: Site, design: Design, layout: Layout, figures: Figures, width: float, height: float
) -> Picture:
    """The floor with its bays, board, lines and stations, to scale, whole.

    Args:
        site: hall and board.
        design: products, bays and drops.
        layout: where the lines run.
        figures: how lengths are written.
        width, height: room on the paper in points; the picture is as wide and at most as high.
    """
    plan = plan_marks(site, design, layout)
    scale = whole_scale(plan.hall, width, height)
    sheet = _Sheet(plan.hall, scale, (width - plan.hall[0] * POINTS_A_METRE / scale) / 2, _FOOT)
    marks = (
        *_floor(sheet, plan, site, design),
        *foot_marks(plan.hall, scale, max(sheet.left, 4.0), width, figures),
    )
    crowded = not has_room(plan, design, sheet.metre)
    return Picture(width, sheet.size[1] + EDGE + _FOOT, scale, marks, crowded=crowded)


def overview_picture(
    site: Site, design: Design, layout: Layout, figures: Figures, width: float, height: float
) -> Picture:
    """The whole hall with its bays, board and the way of the tubes alone; a bay has its name where that can be read.

    Args: as of `plan_picture`.
    """
    plan = plan_marks(site, design, layout)
    scale = whole_scale(plan.hall, width, height)
    sheet = _Sheet(plan.hall, scale, (width - plan.hall[0] * POINTS_A_METRE / scale) / 2, _FOOT)
    _, band = _bundle(design, plan, sheet.metre)
    named = [
        bay
        for bay in plan.bays
        if text_width(bay.name, LEAST_TEXT) <= bay.width * sheet.metre - 6.0
        and bay.depth * sheet.metre > 30.0
    ]
    marks = (
        Stroke(sheet.rectangle(0.0, 0.0, *sheet.hall), 1.6, _INK, closed=True, fill=_WHITE),
        *_bays(sheet, plan.bays),
        *(Stroke((sheet.spot(*a), sheet.spot(*b)), min(band, 6.0), _GREY) for a, b in plan.corridor),
        *_board(sheet, plan.board, site.board.along.si),
        *_bay_labels(sheet, named),
        *foot_marks(plan.hall, scale, max(sheet.left, 4.0), width, figures),
    )
    return Picture(width, sheet.size[1] + EDGE + _FOOT, scale, marks)
