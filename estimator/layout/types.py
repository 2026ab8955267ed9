"""What a layout is made of. All lengths in metres; plan x runs east, y north, z up from the floor."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from estimator.model.choices import Mount, SideName

__all__ = ["FittingKind", "Layout", "LineLayout", "PlacedFitting", "Point", "Segment", "Station"]


@dataclass(frozen=True, slots=True)
class Point:
    """A point of the hall in metres."""

    x: float
    y: float
    z: float


class FittingKind(StrEnum):
    """Joints and valves of a line."""

    TEE = "tee"
    ELBOW = "elbow"
    SHUT_OFF_VALVE = "shut-off valve"
    CHECK_VALVE = "check valve"
    DROP_CONNECTOR = "drop connector"


@dataclass(frozen=True, slots=True)
class PlacedFitting:
    """One joint or valve at a point, with the ids of what it belongs to (line, segment, drops)."""

    kind: FittingKind
    at: Point
    objects: tuple[str, ...]
    existing: bool = False


@dataclass(frozen=True, slots=True)
class Segment:
    """A piece of a line between joints: one size, one run of tube, no splice.

    Attributes:
        id: "<first drop it serves>x<number of drops it serves>", unique in its line and stable while the
            drops behind it stay the same.
        line: id of the line (product id or "air").
        upstream: id of the segment it hangs on, "" for the first, which starts at the board.
        points: corners from start to end, both included.
        computed_m: length along the corners, allowance included.
        length_m: the length that counts: the measured one where there is one.
        measured: whether a person measured it.
        existing: it hangs there already and is not bought.
        drops: ids of the drops behind it, sorted.
        fittings: joints and valves on it, those at its end (tee) included.
        ends_at_drop: id of the drop it ends at, "" where it ends at a tee.
    """

    id: str
    line: str
    upstream: str
    points: tuple[Point, ...]
    computed_m: float
    length_m: float
    measured: bool
    existing: bool
    drops: tuple[str, ...]
    fittings: tuple[PlacedFitting, ...]
    ends_at_drop: str = ""


@dataclass(frozen=True, slots=True)
class LineLayout:
    """One line (a product or air): its segments from the board outwards, each after its upstream one.

    The air line also serves the foam guns: such an outlet is named "<drop id>" like its liquid drop.
    """

    id: str
    segments: tuple[Segment, ...]

    @property
    def length_m(self) -> float:
        """Tube length of the line, what exists included."""
        return sum(s.length_m for s in self.segments)


@dataclass(frozen=True, slots=True)
class Station:
    """The drops of one bay side and what they hang on.

    Attributes:
        id: "<bay id>-<side>".
        at: middle of the station at run height.
        drops: ids of its drops in hanging order along the strut.
        strut_m: length of strut rail that carries it (0 where the mounting exists).
    """

    id: str
    bay: str
    side: SideName
    mount: Mount
    mount_existing: bool
    at: Point
    drops: tuple[str, ...]
    strut_m: float


@dataclass(frozen=True, slots=True)
class Layout:
    """Where everything goes.

    Attributes:
        board: where the tubes leave the board.
        lines: lines with at least one drop, products in design order, air last.
        stations: in the order of bays, left before right.
        drop_points: drop id -> where the hose leaves the tube.
        board_strut_m: strut rail of the board (0 where the board exists).
        corridor: straight pieces of the shared corridor at run height, for the picture.
        board_strut_existing_m: strut rail of a board that hangs there already.
    """

    board: Point
    lines: tuple[LineLayout, ...]
    stations: tuple[Station, ...]
    drop_points: dict[str, Point]
    board_strut_m: float
    corridor: tuple[tuple[Point, Point], ...]
    board_strut_existing_m: float = 0.0

    def line(self, line_id: str) -> LineLayout | None:
        """The line of that id, None if it has no drop."""
        return next((x for x in self.lines if x.id == line_id), None)
