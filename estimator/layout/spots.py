"""Places and straight runs at run height, in whole micrometres."""

from __future__ import annotations

__all__ = ["Spot", "Stretch"]

Spot = tuple[int, int]
"""A point of the plan: x east, y north, in micrometres."""

Stretch = tuple[Spot, Spot]
"""A straight run between two spots, parallel to a wall; the smaller spot first."""
