"""Near-minimal rectilinear Steiner trees: the shortest net of east-west and north-south runs.

All coordinates are whole micrometres, so that lengths are exact, ties are ties and the same question always
has the same answer.

- Up to a bound of work the answer is exact: the dynamic programme of Dreyfus and Wagner [1]_ on the grid of
  Hanan [2]_, with the L1 distance transform instead of a distance matrix.
- Beyond it: the minimum spanning tree improved by iterated 1-Steiner [3]_ on the same grid.

References:
    .. [1] S. E. Dreyfus, R. A. Wagner, "The Steiner problem in graphs", Networks 1 (1971) 195-207.
    .. [2] M. Hanan, "On Steiner's problem with rectilinear distance", SIAM J. Appl. Math. 14 (1966) 255-265.
    .. [3] A. B. Kahng, G. Robins, "A new class of iterative Steiner tree heuristics with good performance",
       IEEE Trans. CAD 11 (1992) 893-902.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from collections.abc import Set as AbstractSet
from functools import lru_cache
from typing import Final

import numpy as np
import numpy.typing as npt

from estimator.layout.spots import Spot, Stretch

__all__ = ["grow", "length_um"]

_Ints = npt.NDArray[np.int64]

_EXACT_TERMINALS: Final = 8
_EXACT_WORK: Final = 400_000  # merges times grid points, about 4 ms
_FULL_GRID: Final = 2_500  # candidates; beyond it only medians of neighbours are tried
_FAR: Final = np.int64(1) << 60


def length_um(stretches: Iterable[Stretch]) -> int:
    """Total length of stretches in micrometres.

    >>> length_um([((0, 0), (3, 0)), ((3, 0), (3, 4))])
    7
    """
    return sum(abs(b[0] - a[0]) + abs(b[1] - a[1]) for a, b in stretches)


def grow(
    tree: Sequence[Stretch],
    root: Spot,
    terminals: Sequence[Spot],
    anchors: Sequence[Spot] = (),
) -> tuple[Stretch, ...]:
    """Stretches that join every terminal to what is there already, with as little added as can be found.

    Args:
        tree: stretches that exist and are free to use; may be empty.
        root: where the tree starts; on `tree` if there is one.
        terminals: spots to reach; repeated ones and ones that the tree already reaches cost nothing.
        anchors: corners of the tree where a new run may line up with it.

    Returns:
        The added stretches, none overlapping another or the tree; together with it they form a tree in which
        each added leaf is a terminal. They end wherever they meet a terminal, each other or the tree.

    >>> grow((), (0, 0), [(10, 5), (10, -5)])
    (((0, 0), (10, 0)), ((10, -5), (10, 0)), ((10, 0), (10, 5)))
    """
    wanted = sorted({t for t in terminals if t != root and not any(_on(t, s) for s in tree)})
    if not wanted:
        return ()
    xs = np.array(
        sorted({root[0], *(t[0] for t in wanted), *(a[0] for a in anchors)}),
        dtype=np.int64,
    )
    ys = np.array(
        sorted({root[1], *(t[1] for t in wanted), *(a[1] for a in anchors)}),
        dtype=np.int64,
    )
    grid = _Grid(xs, ys)
    ground = grid.ground(tree, root)
    targets = [grid.at(t) for t in wanted]
    k = len(targets)
    if k <= _EXACT_TERMINALS and 3**k * xs.size * ys.size // 2 <= _EXACT_WORK:
        edges = _exact(grid, ground, targets)
    else:
        edges = _improved(grid, ground, targets)
    return _embedded(grid, edges, ground, targets)


def _on(spot: Spot, stretch: Stretch) -> bool:
    (ax, ay), (bx, by) = stretch
    return ax <= spot[0] <= bx and ay <= spot[1] <= by


Node = tuple[int, int]
Edge = tuple[Node, Node]


class _Grid:
    """The grid of Hanan; a node is (index in xs, index in ys)."""

    def __init__(self, xs: _Ints, ys: _Ints) -> None:
        self.xs = xs
        self.ys = ys
        self._ix = {int(x): i for i, x in enumerate(xs)}
        self._iy = {int(y): i for i, y in enumerate(ys)}

    def at(self, spot: Spot) -> Node:
        return self._ix[spot[0]], self._iy[spot[1]]

    def spot(self, node: Node) -> Spot:
        return int(self.xs[node[0]]), int(self.ys[node[1]])

    def ground(self, tree: Sequence[Stretch], root: Spot) -> npt.NDArray[np.bool_]:
        """Which nodes lie on the tree; shape (len(xs), len(ys))."""
        mask = np.zeros((self.xs.size, self.ys.size), dtype=np.bool_)
        mask[self.at(root)] = True
        for (ax, ay), (bx, by) in tree:
            columns = slice(*np.searchsorted(self.xs, [ax, bx + 1]))
            rows = slice(*np.searchsorted(self.ys, [ay, by + 1]))
            mask[columns, rows] = True
        return mask

    def distance(self, a: Node, b: Node) -> int:
        return int(abs(self.xs[a[0]] - self.xs[b[0]]) + abs(self.ys[a[1]] - self.ys[b[1]]))

    def spread(self, costs: _Ints) -> _Ints:
        """Smallest cost + L1 distance over all nodes; `costs` has shape (sets, len(xs), len(ys))."""
        out = costs
        if self.xs.size > 1:
            out = _sweep(out, self.xs[None, :, None], 1)
        if self.ys.size > 1:
            out = _sweep(out, self.ys[None, None, :], 2)
        return out


def _sweep(costs: _Ints, place: _Ints, axis: int) -> _Ints:
    ahead = np.minimum.accumulate(costs - place, axis=axis) + place
    back = np.flip(np.minimum.accumulate(np.flip(costs + place, axis), axis=axis), axis) - place
    return np.minimum(ahead, back)


@lru_cache(maxsize=_EXACT_TERMINALS + 1)
def _levels(k: int) -> tuple[tuple[_Ints, _Ints, _Ints, _Ints], ...]:
    """For each set size from 2 to k: sets, then their splits in two as (part, rest), and where each begins."""
    levels = []
    for size in range(2, k + 1):
        sets = [s for s in range(1 << k) if s.bit_count() == size]
        parts: list[int] = []
        rests: list[int] = []
        starts: list[int] = []
        for whole in sets:
            starts.append(len(parts))
            lowest = whole & -whole
            part = (whole - 1) & whole
            while part:
                if part & lowest:
                    parts.append(part)
                    rests.append(whole ^ part)
                part = (part - 1) & whole
        levels.append(
            (
                np.array(sets, dtype=np.int64),
                np.array(parts, dtype=np.int64),
                np.array(rests, dtype=np.int64),
                np.array(starts, dtype=np.int64),
            )
        )
    return tuple(levels)


def _exact(grid: _Grid, ground: npt.NDArray[np.bool_], targets: Sequence[Node]) -> list[Edge]:
    """Minimal tree as edges between grid nodes, the nearer to the ground first."""
    k = len(targets)
    shape = (1 << k, grid.xs.size, grid.ys.size)
    reach = np.full(shape, _FAR, dtype=np.int64)  # reach[s, v]: cheapest tree over set s that touches v
    meet = np.full(shape, _FAR, dtype=np.int64)  # the same with a branch, or an end, at v
    for i, target in enumerate(targets):
        meet[1 << i][target] = 0
        reach[1 << i] = (
            np.abs(grid.xs - grid.xs[target[0]])[:, None] + np.abs(grid.ys - grid.ys[target[1]])[None, :]
        )
    for sets, parts, rests, starts in _levels(k):
        merged = np.minimum.reduceat(reach[parts] + reach[rests], starts, axis=0)
        meet[sets] = merged
        reach[sets] = grid.spread(merged)

    # Sets may be tied to the ground at different places: split the whole into groups.
    flat = reach.reshape(1 << k, -1)
    ground_at = np.flatnonzero(ground)
    to_ground = flat[:, ground_at].min(axis=1)
    grouped = to_ground.copy()
    grouped[0] = 0
    for sets, parts, rests, starts in _levels(k):
        grouped[sets] = np.minimum(
            to_ground[sets],
            np.minimum.reduceat(grouped[parts] + grouped[rests], starts),
        )
    groups: list[int] = []
    pending = [(1 << k) - 1]
    while pending:
        group = pending.pop()
        if grouped[group] == to_ground[group]:
            groups.append(group)
            continue
        pending.extend(_split(group, grouped))

    edges: list[Edge] = []
    width = grid.ys.size
    for group in groups:
        start = int(ground_at[int(np.argmin(flat[group, ground_at]))])
        work = [(group, (start // width, start % width))]
        while work:
            members, node = work.pop()
            here = reach[(members, *node)]
            away = np.abs(grid.xs - grid.xs[node[0]])[:, None] + np.abs(grid.ys - grid.ys[node[1]])[None, :]
            # Of equal trees the one that branches next to the ground: no line gets longer by it.
            fits = np.where(meet[members] + away == here, away, _FAR)
            found = int(np.argmin(fits))
            branch = (found // width, found % width)
            if branch != node:
                edges.append((node, branch))
            if members & (members - 1):
                costs = reach[:, branch[0], branch[1]].copy()
                costs[members] = meet[(members, *branch)]
                work.extend((part, branch) for part in _split(members, costs))
    return edges


def _split(whole: int, costs: _Ints) -> tuple[int, int]:
    """The two parts whose costs make up the cost of the whole."""
    lowest = whole & -whole
    part = (whole - 1) & whole
    while part:
        if part & lowest and costs[part] + costs[whole ^ part] == costs[whole]:
            return part, whole ^ part
        part = (part - 1) & whole
    raise ArithmeticError(f"no split of set {whole} has its cost")


def _spanning(
    px: _Ints, py: _Ints, grounded: int
) -> tuple[int, list[tuple[int, int]], npt.NDArray[np.int64]]:
    """Minimum spanning tree over points, of which the first `grounded` are joined already.

    Returns:
        Length; edges (tree end, new point); and for each pair the longest edge on the way between them.
    """
    n = px.size
    distance = np.abs(px[:, None] - px[None, :]) + np.abs(py[:, None] - py[None, :])
    longest = np.zeros((n, n), dtype=np.int64)
    near = distance[:grounded].min(axis=0)
    via = distance[:grounded].argmin(axis=0)
    near[:grounded] = _FAR
    seen = list(range(grounded))
    edges: list[tuple[int, int]] = []
    total = 0
    for _ in range(n - grounded):
        new = int(near.argmin())
        step = int(near[new])
        old = int(via[new])
        total += step
        edges.append((old, new))
        row = np.maximum(longest[old, seen], step)
        longest[new, seen] = row
        longest[seen, new] = row
        seen.append(new)
        closer = distance[new] < near
        closer[seen] = False
        near[closer] = distance[new][closer]
        via[closer] = new
        near[new] = _FAR
    return total, edges, longest


def _improved(grid: _Grid, ground: npt.NDArray[np.bool_], targets: Sequence[Node]) -> list[Edge]:
    """Iterated 1-Steiner: add the grid points that shorten the spanning tree most, until none does."""
    fixed = [(int(i), int(j)) for i, j in np.argwhere(ground)]
    grounded = len(fixed)
    nodes = [*fixed, *(t for t in targets if not ground[t])]
    kept = len(nodes)
    total, edges, longest = _spanning(*_places(grid, nodes), grounded)
    while True:
        px, py = _places(grid, nodes)
        candidates = _candidates(grid, nodes, edges)
        if not candidates:
            break
        offers = _offers(*_places(grid, candidates), px, py, longest)
        taken: list[Node] = []
        used: set[int] = set()
        for index, corners in offers:
            if used.isdisjoint(corners):
                used.update(corners)
                taken.append(candidates[index])
        better = False
        for chosen in [taken, taken[:1]] if len(taken) > 1 else [taken]:
            if not chosen:
                break
            new_total, new_edges, new_longest = _spanning(*_places(grid, [*nodes, *chosen]), grounded)
            if new_total < total:
                better = True
                nodes = [*nodes, *chosen]
                total, edges, longest = new_total, new_edges, new_longest
                break
        if not better:
            break
        # An added point with fewer than three ways saves nothing any more.
        ways = np.bincount(np.array(edges).ravel(), minlength=len(nodes))
        if (ways[kept:] < 3).any():
            nodes = [n for i, n in enumerate(nodes) if i < kept or ways[i] >= 3]
            total, edges, longest = _spanning(*_places(grid, nodes), grounded)
    return [(nodes[a], nodes[b]) for a, b in edges]


def _places(grid: _Grid, nodes: Sequence[Node]) -> tuple[_Ints, _Ints]:
    index = np.array(nodes, dtype=np.int64).reshape(-1, 2)
    return grid.xs[index[:, 0]], grid.ys[index[:, 1]]


def _candidates(grid: _Grid, nodes: Sequence[Node], edges: Sequence[tuple[int, int]]) -> list[Node]:
    taken = set(nodes)
    if grid.xs.size * grid.ys.size <= _FULL_GRID:
        every = ((i, j) for i in range(grid.xs.size) for j in range(grid.ys.size))
        return [node for node in every if node not in taken]
    beside: dict[int, list[int]] = {}
    for a, b in edges:
        beside.setdefault(a, []).append(b)
        beside.setdefault(b, []).append(a)
    found: set[Node] = set()
    for middle, around in beside.items():
        for i, a in enumerate(around):
            for b in around[i + 1 :]:
                three = (nodes[a], nodes[b], nodes[middle])
                found.add((sorted(n[0] for n in three)[1], sorted(n[1] for n in three)[1]))
    return sorted(found - taken)


def _offers(
    cx: _Ints, cy: _Ints, px: _Ints, py: _Ints, longest: _Ints
) -> list[tuple[int, tuple[int, int, int]]]:
    """Candidates that shorten the tree, best first, each with the three points it would join."""
    dx = px[None, :] - cx[:, None]
    dy = py[None, :] - cy[:, None]
    distance = np.abs(dx) + np.abs(dy)
    flat = np.abs(dx) >= np.abs(dy)
    nearest: list[_Ints] = []
    far: list[_Ints] = []
    rows = np.arange(cx.size)
    for quarter in (
        flat & (dx > 0),
        flat & (dx < 0),
        ~flat & (dy > 0),
        ~flat & (dy < 0),
    ):
        masked = np.where(quarter, distance, _FAR)
        index = masked.argmin(axis=1)
        nearest.append(index)
        far.append(masked[rows, index])
    best = np.zeros(cx.size, dtype=np.int64)
    corners = np.zeros((cx.size, 3), dtype=np.int64)
    for skip in range(4):
        a, b, c = (nearest[q] for q in range(4) if q != skip)
        cost = sum(
            (far[q] for q in range(4) if q != skip),
            start=np.zeros(cx.size, dtype=np.int64),
        )
        three = np.stack([longest[a, b], longest[b, c], longest[a, c]])
        gain = three.sum(axis=0) - three.max(axis=0) - cost
        more = (gain > best) & (cost < _FAR)
        best[more] = gain[more]
        corners[more] = np.stack([a, b, c], axis=1)[more]
    order = np.argsort(-best, kind="stable")
    return [(int(i), (int(corners[i, 0]), int(corners[i, 1]), int(corners[i, 2]))) for i in order if best[i]]


def _embedded(
    grid: _Grid,
    edges: Sequence[Edge],
    ground: npt.NDArray[np.bool_],
    targets: Sequence[Node],
) -> tuple[Stretch, ...]:
    """Edges as runs along the grid, bends where they share most, loops opened, loose ends cut."""
    links: set[Edge] = set()
    for a, b in edges:
        if grid.distance(a, b) == 0 or (ground[a] and ground[b]):
            continue
        first, second = (_bend(a, (b[0], a[1]), b), _bend(a, (a[0], b[1]), b))
        shared_first, shared_second = (
            sum(grid.distance(*link) for link in way if link in links) for way in (first, second)
        )
        links.update(second if shared_second > shared_first else first)

    # Kruskal over what was laid: the ground is one piece; ties go by place.
    home: dict[Node, Node] = {}

    def piece(node: Node) -> Node:
        while (up := home.get(node, node)) != node:
            node = up
        return node

    base: Node | None = None
    for i, j in np.argwhere(ground):
        node = (int(i), int(j))
        base = base or node
        home[node] = base
    beside: dict[Node, set[Node]] = {}
    for a, b in sorted(links, key=lambda link: (grid.distance(*link), link)):
        one, other = piece(a), piece(b)
        if one == other:
            continue
        # The base stays the head of its piece.
        if one == base:
            one, other = other, one
        home[one] = other
        beside.setdefault(a, set()).add(b)
        beside.setdefault(b, set()).add(a)
    keep = set(targets)
    loose = [n for n, around in beside.items() if len(around) == 1 and n not in keep and not ground[n]]
    while loose:
        node = loose.pop()
        (last,) = beside.pop(node)
        beside[last].discard(node)
        if len(beside[last]) == 1 and last not in keep and not ground[last]:
            loose.append(last)
    stops = {grid.spot(n) for n in beside if n in keep or ground[n]}
    steps = ((grid.spot(a), grid.spot(b)) for a, around in beside.items() for b in around if a < b)
    return _joined(steps, stops)


def _bend(a: Node, corner: Node, b: Node) -> list[Edge]:
    links: list[Edge] = []
    for (ai, aj), (bi, bj) in ((a, corner), (corner, b)):
        low_i, high_i, low_j, high_j = (
            min(ai, bi),
            max(ai, bi),
            min(aj, bj),
            max(aj, bj),
        )
        links.extend(((i, aj), (i + 1, aj)) for i in range(low_i, high_i))
        links.extend(((bi, j), (bi, j + 1)) for j in range(low_j, high_j))
    return links


def _joined(steps: Iterable[Stretch], stops: AbstractSet[Spot]) -> tuple[Stretch, ...]:
    """Unit steps as the longest straight stretches between ends, corners, branches and stops."""
    beside: dict[Spot, list[Spot]] = {}
    for a, b in steps:
        beside.setdefault(a, []).append(b)
        beside.setdefault(b, []).append(a)

    def passes(spot: Spot) -> bool:
        around = beside[spot]
        return (
            len(around) == 2
            and spot not in stops
            and (around[0][0] == around[1][0] == spot[0] or around[0][1] == around[1][1] == spot[1])
        )

    out: list[Stretch] = []
    for start in sorted(beside):
        if passes(start):
            continue
        for step in beside[start]:
            before, here = start, step
            while passes(here):
                one, other = beside[here]
                before, here = here, (other if one == before else one)
            if start < here:
                out.append((start, here))
    return tuple(sorted(out))
