"""Where bays, board, stations and drops are on the plan, in whole micrometres."""

from __future__ import annotations

from dataclasses import dataclass

from estimator.layout.spots import Spot
from estimator.layout.types import Point
from estimator.model.choices import BayDirection, SideName, Wall
from estimator.model.design import Bay, Design, Drop
from estimator.model.site import Site
from estimator.units import Quantity

__all__ = ["HungSide", "Rectangle", "bay_rectangle", "board_spot", "places", "point", "um"]


def um(length: Quantity) -> int:
    """A length in whole micrometres.

    >>> from estimator.units import Dimension, parse
    >>> um(parse("300 mm", Dimension.LENGTH))
    300000
    """
    return round(length.si * 1e6)


def point(spot: Spot, z_um: int) -> Point:
    """A spot at a height, in metres."""
    return Point(spot[0] / 1e6, spot[1] / 1e6, z_um / 1e6)


@dataclass(frozen=True, slots=True)
class Rectangle:
    """A rectangle of the plan in micrometres."""

    west: int
    south: int
    east: int
    north: int

    def inside(self, other: Rectangle) -> bool:
        """Whether this lies within `other`, edges included."""
        return (
            self.west >= other.west
            and self.south >= other.south
            and self.east <= other.east
            and self.north <= other.north
        )

    def overlaps(self, other: Rectangle) -> bool:
        """Whether both share an area (a shared edge is none)."""
        return (
            self.west < other.east
            and other.west < self.east
            and self.south < other.north
            and other.south < self.north
        )


def bay_rectangle(bay: Bay) -> Rectangle:
    """The floor that a bay takes."""
    across, along = um(bay.width), um(bay.length)
    if bay.direction is BayDirection.EAST_WEST:
        across, along = along, across
    x, y = um(bay.x), um(bay.y)
    return Rectangle(x, y, x + across, y + along)


def board_spot(site: Site) -> Spot:
    """The middle of the plant board on its wall."""
    along = um(site.board.along)
    width, depth = um(site.floor.width), um(site.floor.depth)
    return {
        Wall.WEST: (0, along),
        Wall.EAST: (width, along),
        Wall.SOUTH: (along, 0),
        Wall.NORTH: (along, depth),
    }[site.board.wall]


@dataclass(frozen=True, slots=True)
class HungSide:
    """A bay side that has drops: its middle, and each drop's spot in hanging order along the rail."""

    bay: Bay
    side: SideName
    middle: Spot
    drops: tuple[tuple[Drop, Spot], ...]


def _middle(bay: Bay, side: SideName) -> Spot:
    area = bay_rectangle(bay)
    station = bay.side(side).station
    along = um(bay.length) // 2 if station is None else um(station)
    if bay.direction is BayDirection.EAST_WEST:
        return area.west + along, area.north if side is SideName.LEFT else area.south
    return area.west if side is SideName.LEFT else area.east, area.south + along


def places(design: Design) -> tuple[HungSide, ...]:
    """Bay sides with drops, in the order of bays, left before right.

    What hangs there keeps its place whatever is added: existing drops stand evenly around the middle in the
    order of products (air last); new ones beside them, first at the far end, then at the near one, in turn.
    With nothing existing all stand evenly around the middle in that order.
    """
    rank = {product.id: i for i, product in enumerate(design.products)}
    step = um(design.drop_spacing)
    hanging: dict[tuple[str, SideName], list[Drop]] = {}
    for drop in design.drops:
        hanging.setdefault((drop.bay, drop.side), []).append(drop)
    found = []
    for bay in design.bays:
        for side in (SideName.LEFT, SideName.RIGHT):
            drops = sorted(hanging.get((bay.id, side), ()), key=lambda d: rank.get(d.service, len(rank)))
            if not drops:
                continue
            first = [d for d in drops if d.existing] or drops
            later = [d for d in drops if d.existing is not first[0].existing]
            # Half steps from the middle: n drops stand at -(n-1), -(n-3), .. (n-1).
            row = [(2 * i - len(first) + 1, d) for i, d in enumerate(first)]
            for i, drop in enumerate(later):
                row.append((row[-1][0] + 2, drop)) if i % 2 == 0 else row.insert(0, (row[0][0] - 2, drop))
            middle = _middle(bay, side)
            east_west = bay.direction is BayDirection.EAST_WEST
            found.append(
                HungSide(
                    bay,
                    side,
                    middle,
                    tuple(
                        (
                            drop,
                            (middle[0] + half * step // 2, middle[1])
                            if east_west
                            else (middle[0], middle[1] + half * step // 2),
                        )
                        for half, drop in row
                    ),
                )
            )
    return tuple(found)
