"""How the floor plan lies on its pages: upright, on its side, or cut into sheets that overlap.

No letter on it is smaller than 6 points.

A hall that fits upright above its key stays there. One that needs more gets a page of its own on its side, and one that
needs more still is cut; each sheet then has a small plan that tells where it lies.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from estimator.documents.plan_picture import (
    EDGE,
    LEAST_TEXT,
    POINTS_A_METRE,
    SCALES,
    Disc,
    Drawing,
    Lettering,
    Mark,
    Picture,
    Stroke,
    drawing,
    foot_marks,
    has_room,
    plan_picture,
    text_width,
    whole_scale,
)
from estimator.layout.types import Layout
from estimator.model.design import Design
from estimator.model.site import Site
from estimator.shown.figures import Figures
from estimator.shown.plan_marks import PlanMarks, plan_marks

__all__ = ["MOST_SHEETS", "Lie", "Rooms", "lie_of", "plan_pictures"]

MOST_SHEETS: Final = 24
"""A hall that needs more is drawn at the scale that these have room for, and counts what a bay side has no room for."""
_LEAST_OVERLAP: Final = 40.0
_GAP: Final = 10.0
_MAP_WIDTH: Final = 150.0
_MAP_CELL: Final = (14.0, 10.0)
_MAP_FOOT: Final = 48.0
_HERE: Final = (0.75, 0.85, 0.93)
_OUTLINE: Final = (0.55, 0.58, 0.62)


@dataclass(frozen=True, slots=True)
class Rooms:
    """Width and height in points that a picture may take.

    Attributes:
        upright: above its key on an upright page.
        whole: on an upright page of its own.
        turned: on a page of its own that lies on its side.
    """

    upright: tuple[float, float]
    whole: tuple[float, float]
    turned: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Lie:
    """How a plan lies.

    Attributes:
        room: width and height of each picture.
        turned: on pages that lie on their side.
        own_pages: on pages of its own, without the key below it.
        scale: 1 to so much.
        columns, rows: of sheets.
    """

    room: tuple[float, float]
    turned: bool = False
    own_pages: bool = False
    scale: int = 0
    columns: int = 1
    rows: int = 1

    @property
    def sheets(self) -> int:
        """How many at the most: one with nothing on it is left out."""
        return self.columns * self.rows

    @property
    def foot(self) -> float:
        """Height below what is seen of the floor, for scale and small plan."""
        return max(_MAP_FOOT, self.rows * _MAP_CELL[1] + 10.0)


def _pieces(long: float, room: float) -> int:
    """Pieces of at most `room` that overlap enough and cover a length; too many to draw where there is no room."""
    if long <= room:
        return 1
    overlap = _overlap(room)
    return math.ceil((long - overlap) / (room - overlap)) if room > 2 * overlap else MOST_SHEETS + 1


def _overlap(room: float) -> float:
    return max(_LEAST_OVERLAP, room / 8)


def _cut(hall: tuple[float, float], scale: int, room: tuple[float, float], turned: bool) -> Lie:
    """Sheets of a room that show a hall at a scale."""
    wide, high = (side * POINTS_A_METRE / scale + 2 * EDGE for side in hall)
    lie = Lie(room, turned, True, scale, _pieces(wide, room[0]))
    for _ in range(3):  # the small plan takes a height of its own with the number of rows
        seen = room[1] - lie.foot
        lie = replace(lie, rows=_pieces(high, seen))
    return lie


def lie_of(design: Design, plan: PlanMarks, rooms: Rooms) -> Lie:
    """The first that has room for every name and number in letters of 6 points: upright above the key, one sheet, the
    fewest sheets; of these at the largest scale that needs no more of them.

    Args:
        design: what is drawn.
        plan: of it.
        rooms: of the paper.
    """
    whole = whole_scale(plan.hall, *rooms.upright)
    if has_room(plan, design, POINTS_A_METRE / whole):
        return Lie(rooms.upright, scale=whole)
    ways = ((rooms.turned, True), (rooms.whole, False))

    def best(scale: int) -> Lie:
        return min(
            (_cut(plan.hall, scale, room, turned) for room, turned in ways), key=lambda lie: lie.sheets
        )

    finer = [s for s in reversed(SCALES) if s <= whole and best(s).sheets <= MOST_SHEETS] or [whole]
    enough = next((s for s in finer if has_room(plan, design, POINTS_A_METRE / s)), finer[-1])
    wanted = best(enough)
    return next(
        lie
        for s in sorted(finer)
        if (lie := _cut(plan.hall, s, wanted.room, wanted.turned)).sheets <= wanted.sheets
    )


def _extent(mark: Mark) -> tuple[float, float, float, float]:
    """Left, bottom, right and top of a mark."""
    if isinstance(mark, Disc):
        (x, y), r = mark.at, mark.radius
        return x - r, y - r, x + r, y + r
    if isinstance(mark, Stroke):
        xs, ys = [p[0] for p in mark.points], [p[1] for p in mark.points]
        return min(xs), min(ys), max(xs), max(ys)
    x, y = mark.at
    long = min(mark.room, text_width(mark.text, mark.size)) + 4.0
    before = {"start": 0.0, "middle": long / 2, "end": long}[mark.anchor]
    low, high = mark.size * 0.3, mark.size
    if mark.upright:
        return x - high, y - before, x + low, y - before + long
    return x - before, y - low, x - before + long, y + high


def _moved(mark: Mark, dx: float, dy: float) -> Mark:
    if isinstance(mark, Stroke):
        return replace(mark, points=tuple((x + dx, y + dy) for x, y in mark.points))
    return replace(mark, at=(mark.at[0] + dx, mark.at[1] + dy))


@dataclass(frozen=True, slots=True)
class _Window:
    """What a sheet shows of a drawing, in points of it, and its place among the sheets."""

    column: int
    row: int
    left: float
    bottom: float
    width: float
    height: float

    def shows(self, mark: Mark) -> bool:
        """A line as far as it goes through it, letters only whole."""
        left, bottom, right, top = _extent(mark)
        ends = (self.left + self.width, self.bottom + self.height)
        if isinstance(mark, Stroke):
            return right >= self.left and left <= ends[0] and top >= self.bottom and bottom <= ends[1]
        return left >= self.left and right <= ends[0] and bottom >= self.bottom and top <= ends[1]


def _windows(whole: Drawing, lie: Lie) -> Iterator[_Window]:
    """Row by row from the north-west, as one reads."""
    width, height = min(lie.room[0], whole.width), min(lie.room[1] - lie.foot, whole.height)
    for row in range(lie.rows):
        down = row / (lie.rows - 1) if lie.rows > 1 else 0.0
        for column in range(lie.columns):
            along = column / (lie.columns - 1) if lie.columns > 1 else 0.0
            yield _Window(
                column,
                row,
                (whole.width - width) * along,
                (whole.height - height) * (1 - down),
                width,
                height,
            )


def _map(whole: Drawing, windows: list[_Window], here: int, lie: Lie, right: float) -> Iterator[Mark]:
    """The small plan: the sheets with their numbers, this one filled."""
    # A hall that is very long would leave no room for the numbers: its map is stretched. Its sheets lie side by side.
    each = min(_MAP_WIDTH / whole.width, (lie.foot - 8.0) / whole.height)
    wide = max(_MAP_CELL[0], whole.width * each / lie.columns)
    high = max(_MAP_CELL[1], whole.height * each / lie.rows)
    left = right - wide * lie.columns
    boxes = [(left + w.column * wide, 2.0 + (lie.rows - 1 - w.row) * high) for w in windows]
    order = [i for i in range(len(boxes)) if i != here] + [here]
    for i in order:
        x, y = boxes[i]
        corners = ((x, y), (x + wide, y), (x + wide, y + high), (x, y + high))
        yield Stroke(corners, 0.6, _OUTLINE, closed=True, fill=_HERE if i == here else None)
    for i, (x, y) in enumerate(boxes):
        at = (x + wide / 2, y + high / 2 - LEAST_TEXT * 0.35)
        yield Lettering(at, str(i + 1), LEAST_TEXT, 30.0, strong=i == here)


def plan_pictures(
    site: Site, design: Design, layout: Layout, figures: Figures, lie: Lie
) -> tuple[Picture, ...]:
    """The plan as it lies, a picture a sheet.

    Args:
        site: hall and board.
        design: products, bays and drops.
        layout: where the lines run.
        figures: how lengths are written.
        lie: from `lie_of`.
    """
    width, height = lie.room
    if not lie.own_pages:
        return (plan_picture(site, design, layout, figures, width, height),)
    whole = drawing(site, design, plan_marks(site, design, layout), lie.scale)
    windows = [
        window
        for window in _windows(whole, lie)
        if any(window.shows(mark) for mark in whole.marks if not isinstance(mark, Stroke))
    ] or [next(_windows(whole, lie))]
    pictures = []
    for number, window in enumerate(windows):
        left = (width - window.width) / 2
        shift = (left - window.left, lie.foot - window.bottom)
        seen = tuple(_moved(mark, *shift) for mark in whole.marks if window.shows(mark))
        right = width
        marks: list[Mark] = []
        if len(windows) > 1:
            edge = ((left, lie.foot), (left + window.width, lie.foot))
            top = lie.foot + window.height
            corners = (*edge, (left + window.width, top), (left, top))
            marks.append(Stroke(corners, 0.4, _OUTLINE, closed=True))
            marks += _map(whole, windows, number, lie, width)
            right = width - max(_MAP_WIDTH, _MAP_CELL[0] * lie.columns) - _GAP
        marks += foot_marks(whole.hall, lie.scale, 4.0, right, figures)
        frame = (left, lie.foot, window.width, window.height)
        pictures.append(
            Picture(width, lie.foot + window.height, lie.scale, tuple(marks), seen, frame, whole.crowded)
        )
    return tuple(pictures)
