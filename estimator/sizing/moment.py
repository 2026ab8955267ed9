"""The board at a moment: what its water and each product come to while some of the tanks fill."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from estimator.hydraulics.board import Filling, Post, Settled, WaterBoard, solve

__all__ = ["at_rest", "by_thirst", "moment", "thirstiest"]


def thirstiest(board: WaterBoard, many: int) -> Filling:
    """Positions of so many posts, those that take the most water at one pressure; all where there are no more."""
    return tuple(sorted(by_thirst(board.posts)[: max(many, 0)]))


def by_thirst(posts: Sequence[Post]) -> list[int]:
    """Positions of posts, those first that take the most water at one pressure."""
    return sorted(range(len(posts)), key=lambda at: -posts[at].conductance)


@lru_cache(maxsize=256)
def moment(board: WaterBoard, filling: Filling) -> Settled:
    """What the board does while a set of its tanks fills; kept by value.

    Args:
        board: solved.
        filling: positions of posts, rising, at least one.
    """
    return solve(board, [filling])[0]


def at_rest(board: WaterBoard) -> tuple[float, ...]:
    """Gauge pressures behind the source and each part of the feed with nothing drawn [Pa]."""
    low, _ = board.feed.known
    return tuple(float(pressure[0]) for pressure in board.feed.along(np.array([low])))
