"""The shape of a set of lines: which are trees, and their walking order.

Every tree line is numbered in preorder (a parent before its children, each branch in one run of numbers), one
line after the other, so that a whole system is one forest. An outlet is a node of its own, hung below the
node it sits on: outlets are then exactly the leaves that matter. In such a numbering the lowest common
ancestor of u < v is the smallest parent number in the range (u, v]; a range-minimum table gives it at once.

Sources
-------
.. [1] Bender, M. A. and Farach-Colton, M. (2000). The LCA problem revisited. LATIN 2000, LNCS 1776.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from estimator.hydraulics.network_errors import NetworkInputError
from estimator.hydraulics.network_model import BoolArray, IntArray, Network

_FEW: Final = 64
"""Open outlets up to which packing a single open-set one by one beats arrays (measured)."""


@dataclass(frozen=True, eq=False, slots=True)
class Walk:
    """One line walked from its source.

    ``order`` nodes in the order met, ``parent`` (n,) and ``tube`` (n,) the way back (-1: source or not
    reached), ``reached`` (n,), ``chords`` open tubes left over: a tree has none.
    """

    order: tuple[int, ...]
    parent: IntArray
    tube: IntArray
    reached: BoolArray
    chords: tuple[int, ...]


def walk(net: Network, favour: Sequence[float] | None = None) -> Walk:
    """Walk a line depth first from its source along open tubes.

    With ``favour`` (a weight a tube) the spanning tree is the heaviest one, so that left-over tubes are the
    tightest. Raises :class:`NetworkInputError` for a node that no tube, open or closed, joins to the source.
    """
    ends = net.tube_from.tolist(), net.tube_to.tolist(), net.tube_closed.tolist()
    return _walked(net.elevation_m.size, *ends, net.source_node, favour)


def tree_shape(
    tube_from: Sequence[int], tube_to: Sequence[int], outlet_node: Sequence[int], source_node: int
) -> TreeShape:
    """The shape of a tree line by what joins what: as :func:`shape_of` its network, which has a node more than it has
    tubes and none of them closed. Raises :class:`NetworkInputError` where it is no tree."""
    way = _walked(len(tube_from) + 1, tube_from, tube_to, [False] * len(tube_from), source_node, None)
    if way.chords:
        raise NetworkInputError("tube_from", "the tubes make a loop")
    return _shape(way, outlet_node)


def _walked(
    n: int,
    start: Sequence[int],
    end: Sequence[int],
    shut: Sequence[bool],
    source_node: int,
    favour: Sequence[float] | None,
) -> Walk:
    near: list[list[tuple[int, int]]] = [[] for _ in range(n)]
    for t, (a, b) in enumerate(zip(start, end, strict=True)):
        if a == b:
            raise NetworkInputError("tube_to", f"tube {t} starts and ends at node {a}", t)
        near[a].append((b, t))
        near[b].append((a, t))
    _all_joined(near, source_node, n)
    allowed = [not s for s in shut]
    kept = allowed if favour is None else _heaviest(start, end, allowed, favour, n)
    parent = [-1] * n
    tube = [-1] * n
    seen = [False] * n
    order: list[int] = []
    stack: list[tuple[int, int, int]] = [(source_node, -1, -1)]
    used = [False] * len(start)
    while stack:
        node, above, by = stack.pop()
        if seen[node]:
            continue
        seen[node] = True
        parent[node], tube[node] = above, by
        if by >= 0:
            used[by] = True
        order.append(node)
        for other, t in reversed(near[node]):
            if kept[t] and not seen[other]:
                stack.append((other, node, t))
    chords = tuple(t for t in range(len(start)) if allowed[t] and not used[t] and seen[start[t]])
    return Walk(
        order=tuple(order),
        parent=np.array(parent, dtype=np.int64),
        tube=np.array(tube, dtype=np.int64),
        reached=np.array(seen, dtype=np.bool_),
        chords=chords,
    )


def _all_joined(near: list[list[tuple[int, int]]], source: int, n: int) -> None:
    seen = [False] * n
    stack = [source]
    seen[source] = True
    while stack:
        for other, _ in near[stack.pop()]:
            if not seen[other]:
                seen[other] = True
                stack.append(other)
    if not all(seen):
        lost = seen.index(False)
        raise NetworkInputError("tube_from", f"no tube joins node {lost} to the source")


def _heaviest(
    start: Sequence[int], end: Sequence[int], allowed: list[bool], favour: Sequence[float], n: int
) -> list[bool]:
    root = list(range(n))

    def find(a: int) -> int:
        while root[a] != a:
            root[a] = root[root[a]]
            a = root[a]
        return a

    kept = [False] * len(start)
    for t in sorted(range(len(start)), key=lambda i: -favour[i]):
        a, b = find(start[t]), find(end[t])
        if allowed[t] and a != b:
            root[a] = b
            kept[t] = True
    return kept


@dataclass(frozen=True, eq=False, slots=True)
class Forest:
    """Tree lines as one preorder forest of N numbers.

    ``parent`` (N,) number of the parent (its own for a source), ``tube`` (N,) row in the joined tube arrays
    or -1 (source, outlet), ``line`` (N,), ``base`` (lines,) number of each source, ``outlet_number`` number
    of each outlet of all lines joined (-1: not reached), ``node_number`` likewise for nodes, ``table`` range
    minima of ``parent``, ``doublings`` how often the way to the source halves.
    """

    parent: IntArray
    tube: IntArray
    line: IntArray
    base: IntArray
    outlet_number: IntArray
    node_number: IntArray
    table: IntArray
    doublings: int

    def common(self, u: IntArray, v: IntArray) -> IntArray:
        """Lowest common ancestor of each pair u < v of one line (u itself where it is an ancestor)."""
        span = v - u
        level = _floor_log2(span)
        left = self.table[level, u + 1]
        right = self.table[level, v + 1 - (1 << level)]
        found: IntArray = np.minimum(left, right)
        return found


def _floor_log2(span: IntArray) -> IntArray:
    """Largest k with ``2**k <= span``, exact for whole numbers that a float holds."""
    level: IntArray = np.frexp(span.astype(np.float64))[1].astype(np.int64) - 1
    return level


@dataclass(frozen=True, eq=False, slots=True)
class TreeShape:
    """One tree line as a preorder forest of its own: :class:`Forest` counted in the line, ``depth`` the most numbers
    on a way."""

    parent: IntArray
    tube: IntArray
    outlet_number: IntArray
    node_number: IntArray
    depth: int


def shape_of(net: Network, way: Walk) -> TreeShape:
    """The shape of a tree line."""
    return _shape(way, net.outlet_node.tolist())


def _shape(way: Walk, outlet_node: Sequence[int]) -> TreeShape:
    nodes = way.parent.size
    parent: list[int] = []
    tube: list[int] = []
    hung: list[list[int]] = [[] for _ in range(nodes)]
    for o, node in enumerate(outlet_node):
        hung[node].append(o)
    number = [-1] * nodes
    outlets = [-1] * len(outlet_node)
    depth = [0] * nodes
    depth_most = 1
    above, by = way.parent.tolist(), way.tube.tolist()
    for node in way.order:
        me = len(parent)
        number[node] = me
        if above[node] < 0:
            parent.append(me)
            tube.append(-1)
        else:
            parent.append(number[above[node]])
            tube.append(by[node])
            depth[node] = depth[above[node]] + 1
            depth_most = max(depth_most, depth[node] + 1)
        for o in hung[node]:
            outlets[o] = len(parent)
            parent.append(me)
            tube.append(-1)
    return TreeShape(
        parent=np.array(parent, dtype=np.int64),
        tube=np.array(tube, dtype=np.int64),
        outlet_number=np.array(outlets, dtype=np.int64),
        node_number=np.array(number, dtype=np.int64),
        depth=depth_most,
    )


def forest(shapes: Sequence[TreeShape], tubes: IntArray) -> Forest:
    """Number tree lines as one forest. ``tubes`` (lines,): how many each has."""
    sizes = np.array([shape.parent.size for shape in shapes], dtype=np.int64)
    base = np.concatenate(([0], np.cumsum(sizes)[:-1])).astype(np.int64)
    tube_base = np.concatenate(([0], np.cumsum(tubes)[:-1])).astype(np.int64)

    def joined(parts: list[IntArray], offset: IntArray) -> IntArray:
        values = np.concatenate(parts)
        moved: IntArray = np.where(values < 0, -1, values + np.repeat(offset, [part.size for part in parts]))
        return moved

    parents = joined([shape.parent for shape in shapes], base)
    rows = [parents]
    width = 1
    while 2 * width <= parents.size:
        last = rows[-1]
        row = last.copy()
        row[: last.size - width] = np.minimum(last[: last.size - width], last[width:])
        rows.append(row)
        width *= 2
    return Forest(
        parent=parents,
        tube=joined([shape.tube for shape in shapes], tube_base),
        line=np.repeat(np.arange(len(shapes), dtype=np.int64), sizes),
        base=base,
        outlet_number=joined([shape.outlet_number for shape in shapes], base),
        node_number=joined([shape.node_number for shape in shapes], base),
        table=np.array(rows),
        doublings=max(1, max(shape.depth for shape in shapes).bit_length() + 1),
    )


@dataclass(frozen=True, eq=False, slots=True)
class Pattern:
    """The packed forest of a batch of open-sets: open outlets, the junctions where their paths meet, the
    source.

    Junctions first, level by level from the sources; then the outlets. ``top``/``bottom`` (e,) forest numbers
    of the ends of each edge (an edge is named after its lower end), ``above`` (e,) junction at the upper end,
    ``steps`` per level (start, end, start of the level above, ``above`` counted from there), ``case`` (e,)
    open-set of each edge, ``junctions`` how many.
    """

    top: IntArray
    bottom: IntArray
    above: IntArray
    case: IntArray
    steps: tuple[tuple[int, int, int, IntArray], ...]
    junctions: int


def pack(trees: Forest, case: IntArray, number: IntArray, line: IntArray) -> Pattern:
    """Pack open outlets (their case and forest number, sorted by case then number; all (k,))."""
    if 0 < case.size <= _FEW and case[0] == case[-1]:
        return pack_one(trees, int(case[0]), number, int(line[0]))
    return pack_many(trees, case, number, line)


def pack_one(trees: Forest, case: int, number: IntArray, line: int) -> Pattern:
    """Pack the outlets of one open-set one by one: for few the calls cost more than the work."""
    root = int(trees.base[line])
    meets = trees.common(number[:-1], number[1:]).tolist()
    # numbers rise from the root down, so the junctions above the present outlet are a rising stack
    parent = {root: root}
    stack = [root]
    for meet in meets:
        while stack[-1] > meet:
            junction = stack.pop()
            parent[junction] = max(meet, stack[-1])
        if stack[-1] < meet:
            stack.append(meet)
    while len(stack) > 1:
        junction = stack.pop()
        parent[junction] = stack[-1]
    depth = {root: 0}
    levels = [[root]]
    for junction in sorted(parent)[1:]:
        down = depth[junction] = depth[parent[junction]] + 1
        if down == len(levels):
            levels.append([])
        levels[down].append(junction)
    order = [junction for level in levels for junction in level]
    rank = {junction: at for at, junction in enumerate(order)}
    above = [rank[parent[junction]] for junction in order]
    above += [rank[max(left, right)] for left, right in zip([root, *meets], [*meets, root], strict=True)]
    joined = np.array(above, dtype=np.int64)
    bottoms = np.array(order, dtype=np.int64)
    steps = []
    before = low = 0
    for level in levels:
        high = low + len(level)
        steps.append((low, high, before, joined[low:high] - before))
        before, low = low, high
    return Pattern(
        top=bottoms[joined],
        bottom=np.concatenate((bottoms, number)),
        above=joined,
        case=np.full(joined.size, case),
        steps=tuple(steps),
        junctions=bottoms.size,
    )


def pack_many(trees: Forest, case: IntArray, number: IntArray, line: IntArray) -> Pattern:
    """As :func:`pack`, on arrays."""
    size = trees.parent.size
    paired = (case[1:] == case[:-1]).nonzero()[0]
    meet = trees.common(number[paired], number[paired + 1])
    root = trees.base[line]
    first = np.ones(case.size, dtype=np.bool_)
    first[1:] = case[1:] != case[:-1]
    inner = _distinct(np.concatenate((case[paired] * size + meet, (case * size + root)[first])))
    inner_case = inner // size
    inner_number = inner - inner_case * size
    # an outlet hangs on the deeper of the meetings with its neighbours to the left and right
    hang = root.copy()
    hang[paired] = np.maximum(hang[paired], meet)
    hang[paired + 1] = np.maximum(hang[paired + 1], meet)
    leaf_above = np.searchsorted(inner, case * size + hang)
    # meetings are closed under meeting: a junction hangs where it meets its left neighbour
    above = np.arange(inner.size)
    linked = (inner_case[1:] == inner_case[:-1]).nonzero()[0]
    if linked.size:
        up = trees.common(inner_number[linked], inner_number[linked + 1])
        above[linked + 1] = np.searchsorted(inner, inner_case[linked] * size + up)
    depth = (above != np.arange(inner.size)).astype(np.int64)
    jump = above
    while True:
        more = depth[jump]
        if not more.any():
            break
        depth = depth + more
        jump = jump[jump]
    order = np.argsort(depth, kind="stable")
    rank = np.empty_like(order)
    rank[order] = np.arange(order.size)
    edges = np.cumsum(np.bincount(depth)).tolist()
    bottoms = inner_number[order]
    junction_above = rank[above[order]]
    outlet_above = rank[leaf_above]
    bottom = np.concatenate((bottoms, number))
    steps = []
    before = low = 0
    for high in edges:
        steps.append((low, high, before, junction_above[low:high] - before))
        before, low = low, high
    joined = np.concatenate((junction_above, outlet_above))
    return Pattern(
        top=bottoms[joined],
        bottom=bottom,
        above=joined,
        case=np.concatenate((inner_case[order], case)),
        steps=tuple(steps),
        junctions=order.size,
    )


def _distinct(keys: IntArray) -> IntArray:
    ordered = np.sort(keys)
    keep = np.ones(ordered.size, dtype=np.bool_)
    keep[1:] = ordered[1:] != ordered[:-1]
    return ordered[keep]
