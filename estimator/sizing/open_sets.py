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

import numpy as np

from estimator.hydraulics.friction import FloatArray

__all__ = ["EXACT_SETS", "all_sets", "pair_sets", "rivals_from_pairs", "worst_sets"]

EXACT_SETS = 300
"""Up to this many sets of m guns every one is solved."""


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


def worst_sets(sets: Sequence[tuple[int, ...]], pressure_pa: FloatArray) -> list[int]:
    """For each outlet the set, of those that it is in, with the lowest pressure at it.

    Args:
        sets: the open-sets.
        pressure_pa: (sets, outlets) pressure at each open outlet.

    Returns:
        Index into `sets` for each outlet.
    """
    member = np.zeros(pressure_pa.shape, dtype=np.bool_)
    for row, which in enumerate(sets):
        member[row, list(which)] = True
    return [int(i) for i in np.where(member, pressure_pa, np.inf).argmin(axis=0)]


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
