"""A curve through points: never beyond the two points next to it, and nothing known outside them.

Sources
-------
.. [1] Monotone cubic interpolation: Fritsch, F. N. and Butland, J. (1984). SIAM J. Sci. Stat. Comput. 5,
   300-304; end slopes as in scipy's PchipInterpolator.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from functools import lru_cache
from typing import TypeAlias

import numpy as np

from estimator.hydraulics.friction import FloatArray
from estimator.hydraulics.limits import zero_or_more

Points: TypeAlias = tuple[tuple[float, float], ...]
"""(x, y) by rising x."""


def require_points(name: str, points: Points, x: tuple[str, str], y: tuple[str, str]) -> None:
    """Refuse points that make no curve.

    name of the curve; x and y: (name, unit) of each. Raises OutOfRange for an x or y below 0 or not finite,
    ValueError for fewer than two points and for an x that does not rise; each names the point.

    >>> require_points("booster", ((0.0, 3e5),), ("flow", "m3/s"), ("pressure", "Pa"))
    Traceback (most recent call last):
    ...
    ValueError: booster: give two or more points
    """
    if len(points) < 2:
        raise ValueError(f"{name}: give two or more points")
    before = -math.inf
    for number, (at, value) in enumerate(points, 1):
        zero_or_more(f"{name} point {number} {x[0]}", at, x[1])
        zero_or_more(f"{name} point {number} {y[0]}", value, y[1])
        if at <= before:
            raise ValueError(f"{name}: point {number} must have a higher {x[0]} than the one before")
        before = at


def value(points: Points, x: float) -> float:
    """y at x by monotone cubic interpolation. x must lie within the points (not checked here). Source [1]_.

    >>> round(value(((1e5, 2e4), (2e5, 5e4), (4e5, 7e4)), 3e5))
    63971
    """
    left = min(max(bisect_right(points, (x, math.inf)) - 1, 0), len(points) - 2)
    slopes = _slopes(points)
    (x0, y0), (x1, y1) = points[left], points[left + 1]
    h = x1 - x0
    t = (x - x0) / h
    s0, s1 = slopes[left] * h, slopes[left + 1] * h
    rise = y1 - y0
    return y0 + t * (s0 + t * (3.0 * rise - 2.0 * s0 - s1 + t * (s0 + s1 - 2.0 * rise)))


def values(points: Points, x: FloatArray) -> FloatArray:
    """:func:`value` for an array of any shape, shaped like it.

    >>> values(((0.0, 0.0), (2.0, 4.0)), np.array([0.5, 1.0])).tolist()
    [1.0, 2.0]
    """
    at, y = _columns(points)
    slopes = np.asarray(_slopes(points))
    left = np.clip(np.searchsorted(at, x, side="right") - 1, 0, len(at) - 2)
    h = at[left + 1] - at[left]
    t = (x - at[left]) / h
    s0, s1 = slopes[left] * h, slopes[left + 1] * h
    rise = y[left + 1] - y[left]
    between: FloatArray = y[left] + t * (s0 + t * (3.0 * rise - 2.0 * s0 - s1 + t * (s0 + s1 - 2.0 * rise)))
    return between


@lru_cache(maxsize=256)
def _columns(points: Points) -> tuple[FloatArray, FloatArray]:
    table = np.asarray(points, np.float64)
    return np.ascontiguousarray(table[:, 0]), np.ascontiguousarray(table[:, 1])


@lru_cache(maxsize=256)
def _slopes(points: Points) -> tuple[float, ...]:
    return tuple(_slope(points, at) for at in range(len(points)))


def _slope(p: Points, at: int) -> float:
    last = len(p) - 1
    if last == 1:
        return _chord(p, 0)
    if at == 0:
        return _end_slope(p[1][0] - p[0][0], p[2][0] - p[1][0], _chord(p, 0), _chord(p, 1))
    if at == last:
        return _end_slope(
            p[last][0] - p[last - 1][0],
            p[last - 1][0] - p[last - 2][0],
            _chord(p, last - 1),
            _chord(p, last - 2),
        )
    before, after = _chord(p, at - 1), _chord(p, at)
    if before * after <= 0.0:
        return 0.0
    h0, h1 = p[at][0] - p[at - 1][0], p[at + 1][0] - p[at][0]
    w0, w1 = 2.0 * h1 + h0, h1 + 2.0 * h0
    return (w0 + w1) / (w0 / before + w1 / after)


def _chord(points: Points, at: int) -> float:
    return (points[at + 1][1] - points[at][1]) / (points[at + 1][0] - points[at][0])


def _end_slope(near: float, far: float, chord: float, next_chord: float) -> float:
    slope = ((2.0 * near + far) * chord - near * next_chord) / (near + far)
    if slope * chord <= 0.0:
        return 0.0
    if chord * next_chord < 0.0 and abs(slope) > 3.0 * abs(chord):
        return 3.0 * chord
    return slope
