"""Which guns to open together: the design case of each drop.

The design case of a drop is itself and the m - 1 others that hurt it most. Opening a gun never raises the pressure
at another, so m open guns are the worst of all sets of up to m. Where the sets of m guns are few they are all
solved, which is exact. Otherwise every pair is solved and the rivals of a drop are those that lower its pressure
most one at a time.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from estimator.hydraulics.friction import FloatArray
from estimator.hydraulics.network_model import BoolArray

__all__ = ["EXACT_SETS", "all_sets", "members", "pair_sets", "rivals_from_pairs", "worst_sets"]

EXACT_SETS = 300
"""Up to this many sets of m guns every one is solved."""

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


def pair_sets(outlets: int) -> list[tuple[int, ...]]:
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


def rivals_from_pairs(outlets: int, together: int, pair_pressure_pa: FloatArray) -> list[tuple[int, ...]]:
    """For each outlet its design case: itself and the others that lower its pressure most in pairs.

    Args:
        outlets: number of outlets.
        together: number of guns of the design case.
        pair_pressure_pa: (pairs, outlets) pressures of `pair_sets`.

    Returns:
        One sorted set for each outlet.
    """
    beside = np.full((outlets, outlets), np.inf)
    for row, (i, j) in enumerate(combinations(range(outlets), 2)):
        beside[i, j] = pair_pressure_pa[row, i]
        beside[j, i] = pair_pressure_pa[row, j]
    found = []
    for i in range(outlets):
        worst = np.argsort(beside[i], kind="stable")[: together - 1]
        found.append(tuple(sorted((i, *(int(j) for j in worst)))))
    return found
