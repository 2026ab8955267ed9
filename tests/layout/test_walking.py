"""The shortest way on foot, held against a search over a fine grid and against ways worked out by hand."""

from __future__ import annotations

import heapq
import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.layout.stations import Rectangle
from estimator.layout.walking import walk

HALL = Rectangle(0, 0, 12, 12)


def length(way: tuple[tuple[int, int], ...]) -> float:
    return math.fsum(math.dist(a, b) for a, b in pairwise(way))


def test_around_a_bay_the_shorter_side_is_taken() -> None:
    """By hand: from (0, 6) to (12, 6) around 4..8 x 3..10 the south side is 2 * 5 + 4 = 14 long."""
    assert walk(HALL, (Rectangle(4, 3, 8, 10),), (0, 6), (12, 6)) == ((0, 6), (4, 3), (8, 3), (12, 6))


def test_two_neighbours_are_passed_between() -> None:
    """They touch: nobody drives where two bays meet, and one walks along both edges."""
    bays = (Rectangle(4, 0, 8, 6), Rectangle(4, 6, 8, 12))
    assert length(walk(HALL, bays, (0, 6), (12, 6))) == 12.0


def test_an_end_inside_a_bay_is_reached() -> None:
    assert length(walk(HALL, (Rectangle(4, 3, 8, 10),), (0, 6), (6, 6))) == 6.0


def test_where_there_is_no_way_there_is_none() -> None:
    """A bay that reaches over both walls; nobody walks outside of the hall."""
    assert walk(HALL, (Rectangle(4, -1, 8, 13),), (0, 6), (12, 6)) == ()


def _by_grid(bays: tuple[Rectangle, ...], start: tuple[int, int], end: tuple[int, int]) -> float:
    """Dijkstra over whole points with steps of up to three: each of these is a way, too."""
    steps = [(x, y) for x in range(-3, 4) for y in range(-3, 4) if (x, y) != (0, 0)]

    def free(a: tuple[int, int], b: tuple[int, int]) -> bool:
        spots = [(a[0] + (b[0] - a[0]) * t / 60, a[1] + (b[1] - a[1]) * t / 60) for t in range(61)]
        return not any(r.west < x < r.east and r.south < y < r.north for r in bays for x, y in spots)

    known, queue = {start: 0.0}, [(0.0, start)]
    while queue:
        far, here = heapq.heappop(queue)
        if here == end:
            return far
        for dx, dy in steps:
            there = (here[0] + dx, here[1] + dy)
            if not (0 <= there[0] <= 12 and 0 <= there[1] <= 12):
                continue
            new = far + math.hypot(dx, dy)
            if new < known.get(there, math.inf) and free(here, there):
                known[there] = new
                heapq.heappush(queue, (new, there))
    return math.inf


@given(
    st.lists(st.tuples(*[st.integers(1, 8)] * 2, *[st.integers(1, 3)] * 2), max_size=3),
    st.integers(0, 12),
    st.integers(0, 12),
)
def test_no_way_over_a_grid_is_shorter(areas: list[tuple[int, int, int, int]], y: int, x: int) -> None:
    """Never longer than by the grid, never shorter than the straight line, and through no bay."""
    bays = tuple(Rectangle(w, s, w + a, s + b) for w, s, a, b in areas)
    way = walk(HALL, bays, (0, y), (x, 12))
    inside = [r for r in bays if not (r.west < x < r.east and r.south < 12 < r.north)]
    grid = _by_grid(tuple(inside), (0, y), (x, 12))
    assert length(way) <= grid + 1e-9
    assert length(way) >= math.dist((0, y), (x, 12)) - 1e-9
    assert length(way) >= grid * 0.97  # steps of up to three come within 3 % of any direction
    for a, b in pairwise(way):
        for t in range(1, 200):
            px, py = a[0] + (b[0] - a[0]) * t / 200, a[1] + (b[1] - a[1]) * t / 200
            assert not any(
                r.west + 1e-6 < px < r.east - 1e-6 and r.south + 1e-6 < py < r.north - 1e-6 for r in inside
            )


@pytest.mark.parametrize("side", range(4))
def test_turned_and_mirrored_the_way_is_as_long(side: int) -> None:
    def turn(x: int, y: int) -> tuple[int, int]:
        for _ in range(side):
            x, y = 12 - y, x
        return x, y

    def turned(r: Rectangle) -> Rectangle:
        (a, b), (c, d) = turn(r.west, r.south), turn(r.east, r.north)
        return Rectangle(min(a, c), min(b, d), max(a, c), max(b, d))

    bays = (Rectangle(2, 1, 5, 9), Rectangle(6, 4, 9, 12))
    whole = length(walk(HALL, bays, (0, 5), (12, 8)))
    assert length(walk(HALL, tuple(map(turned, bays)), turn(0, 5), turn(12, 8))) == pytest.approx(whole)
