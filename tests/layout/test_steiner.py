"""Rectilinear Steiner trees against enumeration, published bounds and their own definition."""

from __future__ import annotations

import random
from collections.abc import Sequence
from itertools import combinations, pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.layout import steiner
from estimator.layout.spots import Spot, Stretch
from estimator.layout.steiner import grow, length_um


def _spanning_tree(spots: Sequence[Spot]) -> int:
    """Length of the minimum spanning tree after Prim, written plainly."""
    left = list(spots[1:])
    near = {s: abs(s[0] - spots[0][0]) + abs(s[1] - spots[0][1]) for s in left}
    total = 0
    while left:
        new = min(left, key=lambda s: near[s])
        total += near[new]
        left.remove(new)
        for s in left:
            near[s] = min(near[s], abs(s[0] - new[0]) + abs(s[1] - new[1]))
    return total


def _enumerated(spots: Sequence[Spot]) -> int:
    """The optimum by trying every set of up to n-2 points of the grid.

    Some optimal tree has its branch points on the grid of coordinates (Hanan 1966) and a tree of n ends has
    at most n-2 of them.
    """
    grid = [(x, y) for x in {s[0] for s in spots} for y in {s[1] for s in spots} if (x, y) not in spots]
    return min(
        _spanning_tree([*spots, *extra])
        for count in range(len(spots) - 1)
        for extra in combinations(grid, count)
    )


def _check_tree(
    tree: Sequence[Stretch], root: Spot, wanted: Sequence[Spot], base: Sequence[Stretch] = ()
) -> None:
    """Connected, without loop, reaching all: counted over the pieces between all coordinates."""
    xs = sorted({p[0] for s in (*tree, *base) for p in s} | {p[0] for p in (root, *wanted)})
    ys = sorted({p[1] for s in (*tree, *base) for p in s} | {p[1] for p in (root, *wanted)})
    links = set()
    for (ax, ay), (bx, by) in (*tree, *base):
        assert ax == bx or ay == by
        row = [(x, ay) for x in xs if ax <= x <= bx] if ay == by else [(ax, y) for y in ys if ay <= y <= by]
        for link in pairwise(row):
            assert link not in links, "two runs lie on each other"
            links.add(link)
    around: dict[Spot, set[Spot]] = {root: set()}
    for a, b in links:
        around.setdefault(a, set()).add(b)
        around.setdefault(b, set()).add(a)
    reached = {root}
    pending = [root]
    while pending:
        for other in around[pending.pop()] - reached:
            reached.add(other)
            pending.append(other)
    assert reached == set(around)
    assert len(links) == len(around) - 1
    assert set(wanted) <= reached
    leaves = {s for s, o in around.items() if len(o) == 1} - {root}
    assert leaves <= set(wanted) | {p for s in base for p in s}


def _random(seed: int, count: int) -> list[Spot]:
    source = random.Random(seed)
    return [(source.randrange(0, 24_000), source.randrange(0, 14_000)) for _ in range(count)]


# Expected values: computed by enumeration, see `_enumerated`.
@pytest.mark.parametrize("count", [2, 3, 4, 5])
@pytest.mark.parametrize("seed", range(12))
def test_equals_enumeration(seed: int, count: int) -> None:
    spots = _random(seed * 10 + count, count)
    assert length_um(grow((), spots[0], spots[1:])) == _enumerated(spots)


@pytest.mark.parametrize("seed", [1, 2])
def test_equals_enumeration_with_five_terminals(seed: int) -> None:
    spots = _random(seed, 6)
    assert length_um(grow((), spots[0], spots[1:])) == _enumerated(spots)


def test_plus_shape() -> None:
    # By hand: four ends of a plus sign with arms of 3; spanning tree 3 x 6 = 18, Steiner tree 4 x 3 = 12.
    # The ratio 3/2 is the worst there is: F. K. Hwang, SIAM J. Appl. Math. 30 (1976) 104-114.
    assert grow((), (-3, 0), [(3, 0), (0, 3), (0, -3)]) == (
        ((-3, 0), (0, 0)),
        ((0, -3), (0, 0)),
        ((0, 0), (0, 3)),
        ((0, 0), (3, 0)),
    )


def test_heuristic_is_close_to_the_optimum(monkeypatch: pytest.MonkeyPatch) -> None:
    """Iterated 1-Steiner: on average within 1 %, at worst within 12 % of the optimum (seven terminals)."""
    sets = [_random(seed, 8) for seed in range(60)]
    exact = [length_um(grow((), s[0], s[1:])) for s in sets]
    monkeypatch.setattr(steiner, "_EXACT_WORK", 0)
    found = [grow((), s[0], s[1:]) for s in sets]
    over = [length_um(tree) / best - 1.0 for tree, best in zip(found, exact, strict=True)]
    for spots, tree in zip(sets, found, strict=True):
        _check_tree(tree, spots[0], spots[1:])
    assert min(over) >= 0.0
    assert max(over) <= 0.12
    assert sum(over) / len(over) <= 0.01


_spots = st.tuples(st.integers(0, 40), st.integers(0, 25))


@settings(deadline=None, max_examples=120)
@given(st.lists(_spots, min_size=2, max_size=24, unique=True))
def test_bounds_and_shape(spots: list[Spot]) -> None:
    tree = grow((), spots[0], spots[1:])
    _check_tree(tree, spots[0], spots[1:])
    length = length_um(tree)
    spanning = _spanning_tree(spots)
    half_perimeter = (
        max(s[0] for s in spots)
        - min(s[0] for s in spots)
        + max(s[1] for s in spots)
        - min(s[1] for s in spots)
    )
    # Half the perimeter of the box, and two thirds of the spanning tree (Hwang 1976), are lower bounds.
    assert max(half_perimeter, spanning * 2 / 3) <= length <= spanning
    assert tree == grow((), spots[0], spots[1:])
    assert tree == grow((), spots[0], spots[:0:-1])


@settings(deadline=None, max_examples=120)
@given(
    st.lists(_spots, min_size=2, max_size=6, unique=True),
    st.lists(_spots, min_size=1, max_size=10, unique=True),
)
def test_grown_tree_stays_a_tree(first: list[Spot], later: list[Spot]) -> None:
    base = grow((), first[0], first[1:])
    added = grow(base, first[0], later, [p for s in base for p in s])
    _check_tree(added, first[0], [*first[1:], *later], base)


def test_growing_is_minimal_for_a_single_terminal() -> None:
    # By hand: from (4, 9) straight down to the run at y = 2 is 7.
    base = (((0, 2), (10, 2)),)
    assert grow(base, (0, 2), [(4, 9)]) == (((4, 2), (4, 9)),)


def test_two_groups_hang_on_the_tree_apart() -> None:
    # By hand: two terminals 3 above a long run, far apart: each its own way, 3 + 3.
    base = (((0, 0), (100, 0)),)
    assert length_um(grow(base, (0, 0), [(10, 3), (90, 3)])) == 6


def test_nothing_to_reach() -> None:
    assert grow((), (5, 5), []) == ()
    assert grow((), (5, 5), [(5, 5)]) == ()
    assert grow((((0, 5), (9, 5)),), (0, 5), [(4, 5)]) == ()


def test_sixty_stations() -> None:
    spots = _random(5, 61)
    tree = grow((), spots[0], spots[1:])
    _check_tree(tree, spots[0], spots[1:])
    assert length_um(tree) <= _spanning_tree(spots)


def test_a_loop_is_opened_and_loose_ends_are_cut() -> None:
    # A square of 2 x 2 laid all round, with a spur that ends at nothing: three sides at most remain.
    grid = steiner._Grid(np.array([0, 1, 2]), np.array([0, 1, 2]))
    ground = np.zeros((3, 3), dtype=np.bool_)
    ground[0, 0] = True
    around = [((0, 0), (2, 0)), ((2, 0), (2, 2)), ((0, 0), (0, 2)), ((0, 2), (2, 2)), ((0, 1), (1, 1))]
    tree = steiner._embedded(grid, around, ground, [(2, 2)])
    _check_tree(tree, (0, 0), [(2, 2)])
    assert length_um(tree) == 4
