"""The shortest way on foot from one spot of the hall to another, around the bays.

A bay stands for the vehicle in it: nobody walks through it, but along its edge, between two neighbours too. A bay that
holds one of the two ends is no obstacle. Ways run over the corners of the bays, so that the shortest one is among the
straight lines between them (visibility graph).
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterable, Sequence

from estimator.layout.spots import Spot
from estimator.layout.stations import Rectangle

__all__ = ["walk"]


def _crosses(a: Spot, b: Spot, area: Rectangle) -> bool:
    """Whether the straight line from a to b runs through the inside of an area; an edge is no inside."""
    low, high = 0.0, 1.0
    for start, end, least, most in (
        (a[0], b[0], area.west, area.east),
        (a[1], b[1], area.south, area.north),
    ):
        if start == end:
            if not least < start < most:
                return False
            continue
        first, last = (least - start) / (end - start), (most - start) / (end - start)
        low, high = max(low, min(first, last)), min(high, max(first, last))
    return high - low > 1e-9


def _holds(area: Rectangle, spot: Spot) -> bool:
    return area.west < spot[0] < area.east and area.south < spot[1] < area.north


def _corners(hall: Rectangle, areas: Iterable[Rectangle]) -> list[Spot]:
    every = ((x, y) for area in areas for x in (area.west, area.east) for y in (area.south, area.north))
    return [
        (x, y)
        for x, y in dict.fromkeys(every)
        if hall.west <= x <= hall.east and hall.south <= y <= hall.north
    ]


def walk(hall: Rectangle, bays: Sequence[Rectangle], start: Spot, end: Spot) -> tuple[Spot, ...]:
    """Corners of the shortest way, both ends included; nothing where there is no way.

    Args:
        hall: nobody walks outside of it.
        bays: what is walked around.
        start, end: in the hall.

    >>> hall = Rectangle(0, 0, 10, 10)
    >>> walk(hall, (), (0, 5), (8, 5))
    ((0, 5), (8, 5))
    >>> walk(hall, (Rectangle(2, 2, 4, 6),), (0, 5), (8, 5))
    ((0, 5), (2, 6), (4, 6), (8, 5))
    """
    areas = [area for area in bays if not _holds(area, start) and not _holds(area, end)]
    spots = [start, end, *_corners(hall, areas)]
    open_: set[int] = set(range(1, len(spots)))
    came: dict[int, int] = {}
    known = {0: 0.0}
    queue = [(math.dist(start, end), 0)]
    while queue:
        _, here = heapq.heappop(queue)
        if here == 1:
            way = [1]
            while way[-1] != 0:
                way.append(came[way[-1]])
            return tuple(spots[place] for place in reversed(way))
        if here in open_:
            open_.remove(here)
        elif here:
            continue
        for there in open_:
            far = known[here] + math.dist(spots[here], spots[there])
            if far < known.get(there, math.inf) and not any(
                _crosses(spots[here], spots[there], area) for area in areas
            ):
                known[there], came[there] = far, here
                heapq.heappush(queue, (far + math.dist(spots[there], end), there))
    return ()
