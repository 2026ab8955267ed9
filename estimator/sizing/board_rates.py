"""What a board gives each tank while any set of them fills: the board's solver as the simulation of the day asks it."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import Final

import numpy as np

from estimator.hydraulics.board import Filling, Settled, Trouble, WaterBoard, share_of_time, solve
from estimator.hydraulics.day import BoolArray
from estimator.hydraulics.day import Filling as Given
from estimator.hydraulics.mixture import share_of

__all__ = ["BoardRates", "rates_of"]

_NO_CONCENTRATE: Final = np.inf


class BoardRates:
    """The board of a design as a `Fill`: solution made, and the share of concentrate in it, by the set that fills.

    Each set is solved once and kept. Without water at the board nothing fills. A proportioner that draws no
    concentrate, or whose vacuum is not known at that pressure, gives plain water: what is in the tank is then never
    told as stronger than it is.

    Args:
        board: solved; its posts are the tanks, in their order.
    """

    def __init__(self, board: WaterBoard) -> None:
        self._board = board
        self._known: dict[Filling, tuple[list[float], list[float]]] = {(): ([], [])}
        self._doubtful: set[tuple[Filling, int]] = set()

    def __call__(self, sets: BoolArray, /) -> Given:
        """As `estimator.hydraulics.day.Fill`."""
        groups = [tuple(row.nonzero()[0].tolist()) for row in sets]
        fresh = [group for group in dict.fromkeys(groups) if group not in self._known]
        if fresh:
            for group, answer in zip(fresh, solve(self._board, fresh), strict=True):
                self._known[group] = _given(answer, self._board)
                self._doubtful |= {
                    (group, fill.post)
                    for fill in answer.fills
                    if fill.reason is not None and fill.reason.trouble is not Trouble.NO_LIFT
                }
        flow, share = np.zeros(sets.shape), np.zeros(sets.shape)
        for row, group in enumerate(groups):
            flow[row, list(group)], share[row, list(group)] = self._known[group]
        return Given(flow, share)

    def doubtful(self, sets: Iterable[Filling]) -> frozenset[int]:
        """Positions of those that are not known at the pressure of one of these sets, which were asked for before."""
        met = frozenset(sets)
        return frozenset(at for group, at in self._doubtful if group in met)


def _given(answer: Settled, board: WaterBoard) -> tuple[list[float], list[float]]:
    """Flow [m3/s] and share of concentrate [-] of each that fills, in the mean where the water has to be waited for."""
    if answer.water is None:
        nothing = [0.0] * len(answer.filling)
        return nothing, nothing
    flows = [fill.water_m3_s if fill.refill_m3_s is None else fill.refill_m3_s for fill in answer.fills]
    open_ = share_of_time(answer.water.flow_m3_s, board.most_m3_s)
    flows = [open_ * flow for flow in flows]
    parts = [_NO_CONCENTRATE if fill.parts_water is None else fill.parts_water for fill in answer.fills]
    return flows, share_of(parts).tolist()


@lru_cache(maxsize=16)
def rates_of(board: WaterBoard) -> BoardRates:
    """The rates of a board, kept by its value: most edits leave it as it is."""
    return BoardRates(board)
