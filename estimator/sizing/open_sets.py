"""Which guns to open together: the design case of each drop.

The design case of a drop is itself and the m - 1 others that hurt it most. Opening a gun never raises the pressure
at another, so m open guns are the worst of all sets of up to m. Where the sets of m guns are few they are all
solved, which is exact. Otherwise every pair is solved and the rivals of a drop are those that lower its pressure
most one at a time. Where the pairs too are many, only those are solved that are likeliest to hurt by the way that two
drops share (`hurt`), and of the rest that order stands.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from estimator.hydraulics.friction import FloatArray
from estimator.hydraulics.network import compile_network
from estimator.hydraulics.network_model import BoolArray, Network

__all__ = [
    "EXACT_SETS",
    "MOST_PAIRS",
    "all_sets",
    "hurt",
    "likely_pairs",
    "members",
    "pair_sets",
    "rival_sets",
    "rivals_from_pairs",
    "worst_sets",
]

EXACT_SETS = 300
"""Up to this many sets of m guns every one is solved."""

MOST_PAIRS = 20_000
"""Up to this many pairs every one is solved: all of 200 outlets. All of 1,600 would be 1.3 million."""

_ALIKE = 1e-7
"""Flows that differ by no more than this share are alike."""

IntArray: TypeAlias = npt.NDArray[np.int_]


def all_sets(outlets: int, together: int) -> list[tuple[int, ...]] | None:
    """Every set of `together` outlets, or None where there are more than `EXACT_SETS`.

    >>> all_sets(3, 2)
    [(0, 1), (0, 2), (1, 2)]
    """
    if math.comb(outlets, together) > EXACT_SETS:
        return None
    return list(combinations(range(outlets), together))


def pair_sets(outlets: int) -> list[tuple[int, int]]:
    """Every pair of outlets, in the order of `itertools.combinations`."""
    return list(combinations(range(outlets), 2))


def members(sets: Sequence[tuple[int, ...]], outlets: int) -> BoolArray:
    """Table (sets, outlets) of which outlet is in which set."""
    table = np.zeros((len(sets), outlets), dtype=np.bool_)
    for row, which in enumerate(sets):
        table[row, list(which)] = True
    return table


def worst_sets(member: BoolArray, flow_m3_s: FloatArray) -> IntArray:
    """For each outlet the set, of those that it is in, with the least flow (so the lowest pressure) at it.

    Of sets that are equally bad for it, as on a line with drops alike, it is the one with the largest flow of all its
    outlets, then the first: rounding decides nothing.

    Args:
        member: (sets, outlets) which outlet is in which set.
        flow_m3_s: (..., sets, outlets) flow of each open outlet; of one line, or of several alike.

    Returns:
        (..., outlets) row of each outlet's set.
    """
    own = np.where(member, flow_m3_s, np.inf)
    near = own <= own.min(axis=-2, keepdims=True) * (1.0 + _ALIKE)
    total = np.where(near, np.where(member, flow_m3_s, 0.0).sum(axis=-1)[..., None], -np.inf)
    worst: IntArray = (total >= total.max(axis=-2, keepdims=True) * (1.0 - _ALIKE)).argmax(axis=-2)
    return worst


def hurt(network: Network, alone_m3_s: FloatArray) -> FloatArray:
    """About how much each outlet's pressure falls when another opens beside it: what the pump and the tubes that both
    draw through lose more [Pa].

    Friction is taken as 0.03 at any flow: this decides which pairs are worth solving, never a pressure.

    Args:
        network: a line whose tube t ends at node t + 1 and stands after the tube that it hangs on, its source node 0.
        alone_m3_s: (outlets,) flow of each with no other open.

    Returns:
        (outlets, outlets): row of the one that is hurt, column of the one that opens.
    """
    start = network.tube_from.tolist()
    area = 0.25 * np.pi * network.bore_m**2
    resist = (
        0.5 * network.density_kg_m3 * (0.03 * network.length_m / network.bore_m + network.minor_k) / area**2
    )
    outlets, nodes = network.outlet_node.size, network.elevation_m.size
    below = np.zeros((nodes, outlets), dtype=np.bool_)
    below[network.outlet_node, np.arange(outlets)] = True
    for t in range(len(start) - 1, -1, -1):
        below[start[t]] |= below[t + 1]
    way = np.zeros(nodes)
    # Of each node the losses of the way down to it as far as each outlet draws through that way too.
    shared = np.zeros((nodes, outlets))
    for t, upper in enumerate(start):
        way[t + 1] = way[upper] + resist[t]
        shared[t + 1] = np.where(below[t + 1], way[t + 1], shared[upper])
    both = shared[network.outlet_node].T + network.source_quadratic_pa_s2_m6
    own, more = alone_m3_s[:, None], alone_m3_s[None, :]
    fall: FloatArray = both * ((own + more) ** 2 - own**2) + network.source_linear_pa_s_m3 * more
    return fall


def likely_pairs(fall_pa: FloatArray, together: int) -> list[tuple[int, int]]:
    """The pairs worth solving where there are too many: of each outlet as many of the likeliest as `MOST_PAIRS` allows;
    none where those are fewer than its rivals.

    Args:
        fall_pa: (outlets, outlets) as `hurt` tells it.
        together: number of guns of the design case.
    """
    outlets = fall_pa.shape[0]
    each = MOST_PAIRS // outlets
    if together - 1 > each:
        return []
    order = _worst_first(fall_pa)
    return sorted({(min(i, j), max(i, j)) for i in range(outlets) for j in order[i, :each].tolist()})


def _worst_first(fall_pa: FloatArray) -> IntArray:
    """Of each outlet all others, itself last."""
    fall = fall_pa.copy()
    np.fill_diagonal(fall, -np.inf)
    order: IntArray = np.argsort(-fall, axis=1, kind="stable")
    return order


def rivals_from_pairs(
    outlets: int,
    together: int,
    pairs: Sequence[tuple[int, int]],
    pressure_pa: FloatArray,
    fall_pa: FloatArray | None = None,
) -> list[tuple[int, ...]]:
    """For each outlet its design case: itself and the others that lower its pressure most in pairs.

    Args:
        outlets: number of outlets.
        together: number of guns of the design case.
        pairs: what was solved.
        pressure_pa: (pairs, 2) pressures at both outlets of each.
        fall_pa: as `hurt` tells it, for the order of what was not solved; left out where all pairs were.

    Returns:
        One sorted set for each outlet.
    """
    beside = np.full((outlets, outlets), np.inf)
    if pairs:
        first, second = np.array(pairs).T
        beside[first, second] = pressure_pa[:, 0]
        beside[second, first] = pressure_pa[:, 1]
    if fall_pa is not None:
        order = _worst_first(fall_pa)
        ranked = np.take_along_axis(
            order, np.argsort(np.take_along_axis(beside, order, 1), 1, kind="stable"), 1
        )
    else:
        ranked = np.argsort(beside, axis=1, kind="stable")
    worst = ranked[:, : together - 1].tolist()
    return [tuple(sorted((i, *rivals))) for i, rivals in enumerate(worst)]


def rival_sets(network: Network, together: int, alone_m3_s: FloatArray) -> list[tuple[int, ...]]:
    """For each outlet of a line its design case, where its sets of `together` guns are too many to be solved.

    Args:
        network: the line, as `hurt` asks for it.
        together: number of guns of the design case.
        alone_m3_s: (outlets,) flow of each with no other open.

    Raises:
        NetworkError: a pair cannot be solved.
    """
    count = network.outlet_node.size
    if together == 1:
        return [(i,) for i in range(count)]
    few = math.comb(count, 2) <= MOST_PAIRS
    fall = None if few else hurt(network, alone_m3_s)
    pairs = pair_sets(count) if fall is None else likely_pairs(fall, together)
    # One entry an open outlet, in the order of the pairs.
    solved = compile_network(network).solve(pairs).pressure_pa if pairs else np.empty(0)
    return rivals_from_pairs(count, together, pairs, solved.reshape(-1, 2), fall)
