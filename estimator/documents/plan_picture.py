"""The floor to scale as plain drawing marks, in points on the paper with the origin at the bottom left.

Nothing here knows a PDF: a mark is a line, a label or a disc, and whoever draws them needs no more.
A line of the system is told from the others by its dash pattern, its number and its colour, never by colour alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from estimator.layout.types import Layout
from estimator.model.choices import Wall
from estimator.model.design import Design
from estimator.model.site import Site
from estimator.shown.figures import Figures
from estimator.shown.lines import line_styles
from estimator.shown.plan_marks import BayMark, BoardMark, StationMark, WayMark, in_lane, plan_marks
from estimator.units import Dimension, preferred_unit, to_unit

__all__ = ["Disc", "Label", "Line", "Mark", "Picture", "plan_picture"]

Colour = tuple[float, float, float]
Spot = tuple[float, float]

_POINTS_A_METRE: Final = 72.0 / 0.0254
_RADII: Final = (4.1, 3.4, 2.8, 2.2, 1.7, 1.3)
_SCALES: Final = (
    *(10, 20, 25, 40, 50, 75, 100, 125, 150, 175, 200, 250, 300, 400, 500, 600, 750),
    *(1000, 1250, 1500, 2000, 2500, 5000, 10000),
)
_INK: Final[Colour] = (0.13, 0.16, 0.20)
_GREY: Final[Colour] = (0.55, 0.58, 0.62)
_PALE: Final[Colour] = (0.93, 0.94, 0.95)
_WHITE: Final[Colour] = (1.0, 1.0, 1.0)


@dataclass(frozen=True, slots=True)
class Line:
    """A polyline, closed and filled where that is said. `dash` is on, off, on, .. in points."""

    points: tuple[Spot, ...]
    width: float
    colour: Colour = _INK
    dash: tuple[float, ...] = ()
    closed: bool = False
    fill: Colour | None = None


@dataclass(frozen=True, slots=True)
class Label:
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


Mark = Line | Label | Disc


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture of `width` x `height` points at 1:`scale`."""

    width: float
    height: float
    scale: int
    marks: tuple[Mark, ...]


class _Sheet:
    """Places metres of the hall on the paper."""

    def __init__(self, site: Site, width: float, height: float) -> None:
        self.hall = (site.floor.width.si, site.floor.depth.si)
        self.edge = 16.0
        self.foot = 40.0
        room = (width - 2 * self.edge, height - self.edge - self.foot)
        # A floor too large for the last scale gets a round one of its own.
        needed = max(self.hall[0] * _POINTS_A_METRE / room[0], self.hall[1] * _POINTS_A_METRE / room[1])
        self.scale = next((s for s in _SCALES if s >= needed), int(needed // 1000 + 1) * 1000)
        self.metre = _POINTS_A_METRE / self.scale
        self.size = (self.hall[0] * self.metre, self.hall[1] * self.metre)
        self.left = (width - self.size[0]) / 2
        self.bottom = self.foot
        self.width = width
        self.height = self.size[1] + self.edge + self.foot

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
        yield Line(corners, 0.6, _GREY, dash=(), closed=True, fill=(0.965, 0.97, 0.975))


def _bay_labels(sheet: _Sheet, bays: Sequence[BayMark]) -> Iterator[Mark]:
    for bay in bays:
        centre = sheet.spot(bay.x + bay.width / 2, bay.y + bay.depth / 2)
        room = max(bay.width * sheet.metre - 6.0, 8.0)
        size = max(6.0, min(9.5, bay.width * sheet.metre / 6))
        # Off the middle, where the tubes most often cross.
        below = min(26.0, bay.depth * sheet.metre / 4)
        yield Label((centre[0], centre[1] - below), bay.name, size, room, strong=True, halo=True, least=5.0)


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
    yield Line(sheet.rectangle(x, y, width, depth), 0.6, _INK, closed=True, fill=_INK)
    at = sheet.spot(
        {Wall.WEST: -thick, Wall.EAST: hall_width + thick}.get(board.wall, along),
        {Wall.SOUTH: -thick, Wall.NORTH: hall_depth + thick}.get(board.wall, along),
    )
    shift = {Wall.WEST: (-3.5, 0.0), Wall.EAST: (9.0, 0.0), Wall.SOUTH: (0.0, -7.5), Wall.NORTH: (0.0, 3.0)}
    dx, dy = shift[board.wall]
    room = (sheet.size[1] if board.upright else sheet.size[0]) * 0.9
    yield Label((at[0] + dx, at[1] + dy), "Plant board", 7.0, room, strong=True, upright=board.upright)


def _ways(sheet: _Sheet, ways: Sequence[WayMark], lane: float) -> Iterator[Line]:
    for piece in ways:
        spots = [sheet.spot(*corner) for corner in piece.way]
        style = piece.style
        yield Line(in_lane(spots, piece.keep, piece.lane * lane), style.width, style.rgb, style.dash)


def _disc_size(count: int, along: float, across: float) -> tuple[float, int]:
    """Radius of a station's discs and how many stand in a column, so that they keep to their half of the bay.

    >>> _disc_size(4, 100.0, 50.0)
    (4.1, 4)
    >>> _disc_size(12, 40.0, 31.0)
    (4.1, 4)
    """
    radius, rows = _RADII[-1], 1
    for radius in _RADII:
        step = 2 * radius + 1.2
        rows = max(1, min(count, int((along - 1.5) // step)))
        if -(-count // rows) * step + 2.5 <= across:
            break
    return radius, rows


def _station(sheet: _Sheet, station: StationMark, order: Sequence[str], clear: float) -> Iterator[Mark]:
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
    yield Line(ends, 2.6, _INK)
    beyond = station.beyond * sheet.metre - max(half, clear)
    radius, rows = _disc_size(len(services), beyond, station.across * sheet.metre / 2)
    step = 2 * radius + 1.2
    start = max(half, clear) + radius + 1.5
    for i, service in enumerate(services):
        column, row = divmod(i, rows)
        away = (station.inward[1] if east_west else station.inward[0]) * (radius + 2.5 + column * step)
        along = start + row * step
        at = (x + along, y + away) if east_west else (x + away, y + along)
        style = styles[service]
        yield Disc(at, radius, style.tag, style.rgb, open=seen[service])


def _north(sheet: _Sheet) -> Iterator[Mark]:
    x, y = sheet.width - 22.0, 5.0
    yield Line(((x, y + 15), (x - 4, y), (x, y + 3.5)), 0.7, _INK, closed=True, fill=_INK)
    yield Line(((x, y + 15), (x + 4, y), (x, y + 3.5)), 0.7, _INK, closed=True, fill=_WHITE)
    yield Label((x + 6.5, y + 4.0), "N", 9.0, 12.0, anchor="start", strong=True)


def _round_length(limit: float) -> float:
    """The largest of 1, 2, 5 x 10^n that is at most `limit` (> 0)."""
    power = 1.0
    while power * 10 <= limit:
        power *= 10
    while power > limit:
        power /= 10
    return next(step * power for step in (5.0, 2.0, 1.0) if step * power <= limit)


def _scale_bar(sheet: _Sheet, figures: Figures) -> Iterator[Mark]:
    unit = preferred_unit(Dimension.LENGTH, figures.system)
    wide = to_unit(sheet.hall[0], Dimension.LENGTH, unit)
    points_a_unit = sheet.size[0] / wide
    length = _round_length(min(wide * 0.45, 200.0 / points_a_unit))
    x, y = max(sheet.left, 4.0), 5.0
    piece = length * points_a_unit / 4
    for i in range(4):
        corners = (
            (x + i * piece, y),
            (x + (i + 1) * piece, y),
            (x + (i + 1) * piece, y + 3.5),
            (x + i * piece, y + 3.5),
        )
        yield Line(corners, 0.5, _INK, closed=True, fill=_WHITE if i % 2 else _INK)
    for share in (0.0, 0.5, 1.0):
        text = figures.number(length * share, 2) + (f" {unit}" if share == 1.0 else "")
        yield Label((x + 4 * piece * share, y + 6.5), text, 7.0, 60.0)
    wide_text, deep_text = (figures.length(side) for side in sheet.hall)
    text = f"Scale 1:{sheet.scale} · hall {wide_text} × {deep_text}"
    start = x + 4 * piece + 24
    yield Label((start, y), text, 7.0, sheet.width - 30.0 - start, anchor="start")


def plan_picture(
    site: Site, design: Design, layout: Layout, figures: Figures, width: float, height: float
) -> Picture:
    """The floor with its bays, board, lines and stations, to scale.

    Args:
        site: hall and board.
        design: products, bays and drops.
        layout: where the lines run.
        figures: how lengths are written.
        width, height: room on the paper in points; the picture is as wide and at most as high.
    """
    sheet = _Sheet(site, width, height)
    plan = plan_marks(site, design, layout)
    # The bundle of lines stays narrower than a bay is long, however small the scale.
    bundle = min((22.0, *(bay.length.si * sheet.metre * 0.5 for bay in design.bays)))
    lane = min(2.6, bundle / max(1, plan.lanes))
    band = lane * (plan.lanes + 2)
    marks: list[Mark] = [
        Line(sheet.rectangle(0.0, 0.0, *sheet.hall), 1.6, _INK, closed=True, fill=_WHITE),
        *_bays(sheet, plan.bays),
        *(Line((sheet.spot(*a), sheet.spot(*b)), band, _PALE) for a, b in plan.corridor),
        *_ways(sheet, plan.ways, lane),
        *_board(sheet, plan.board, site.board.along.si),
    ]
    order = list(line_styles(design))
    for station in plan.stations:
        marks += _station(sheet, station, order, band / 2)
    marks += _bay_labels(sheet, plan.bays)
    marks += _scale_bar(sheet, figures)
    marks += _north(sheet)
    return Picture(sheet.width, sheet.height, sheet.scale, tuple(marks))
