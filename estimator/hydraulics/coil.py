"""Loss of pressure in a coil hose (helix).

Flow in a tight coil stays laminar far beyond 2300, yet loses at least what the straight hose would. Published
formulas hold on one side or the other of a critical Reynolds number and do not meet there; a switch would
leave a jump. Taken here, at every Reynolds number, is the largest of: the straight hose, White's laminar
coil and Mori and Nakayama's turbulent coil. It is continuous, never below the straight hose, and within 10
% of other authors over the tabulated range.

Sources
-------
.. [1] White, C. M. (1929). Streamline flow through curved pipes. Proc. R. Soc. Lond. A 123, 645-663.
.. [2] Mori, Y. and Nakayama, W. (1967). Int. J. Heat Mass Transfer 10, 37-59.
.. [3] Ito, H. (1959). Friction factors for turbulent flow in curved pipes. J. Basic Eng. 81, 123-132.
.. [4] Schmidt, E. F. (1967). Chemie Ing. Techn. 39, 781-789.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from estimator.hydraulics.friction import FloatArray, friction, group_and_slope
from estimator.hydraulics.limits import above_zero

WHITE_DEAN_MIN: Final = 11.6
_WHITE_P: Final = 0.45
_WHITE_Q: Final = 1.0 / 0.45
CURVATURE_MIN: Final = 0.00116
"""Smallest d/D for which Ito's critical Reynolds number was fitted, -."""
CURVATURE_MAX: Final = 0.1
"""Largest d/D accepted as in range, -; the fits end near 0.067 and the table here goes to 0.0833."""


def critical_reynolds_ito(curvature: float) -> float:
    """Critical Reynolds number of a coil [-]: ``20000 (d/D)**0.32``.

    d/D bore over mean coil diameter [-]; valid 0.00116 < d/D < 0.067. Source [3]_.

    >>> round(critical_reynolds_ito(4.318 / 63.5), 1)
    8461.2
    """
    above_zero("curvature", curvature, "-")
    return 20000.0 * math.pow(curvature, 0.32)


def critical_reynolds_schmidt(curvature: float) -> float:
    """Critical Reynolds number of a coil [-]: ``2300 (1 + 8.6 (d/D)**0.45)``.

    d/D bore over mean coil diameter [-]; valid 0 < d/D < 0.2. Source [4]_.

    >>> round(critical_reynolds_schmidt(6.35 / 76.2), 1)
    8765.4
    """
    above_zero("curvature", curvature, "-")
    return 2300.0 * (1.0 + 8.6 * math.pow(curvature, 0.45))


def coil_group_and_slope(
    reynolds_number: float, relative_roughness: float, curvature: float
) -> tuple[float, float]:
    """G = f Re**2 and dG/dRe in a coil: the largest of straight, White and Mori-Nakayama (sources [1]_,
    [2]_).

    Re [-] 0 or more, roughness over bore [-], curvature d/D [-] (0 is a straight hose). Unchecked.

    >>> round(coil_group_and_slope(1000.0, 0.0, 4.318 / 63.5)[0] / 1000.0**2, 4)
    0.1371
    """
    return curved(reynolds_number, curvature, group_and_slope(reynolds_number, relative_roughness))


def curved(reynolds_number: float, curvature: float, straight: tuple[float, float]) -> tuple[float, float]:
    """:func:`coil_group_and_slope` given the straight hose's G and slope."""
    best = straight
    # below Re 1 both coil formulas are below the straight one and the turbulent one is not defined at rest
    if curvature > 0.0 and reynolds_number >= 1.0:
        for other in (_white(reynolds_number, math.sqrt(curvature)), _mori(reynolds_number, curvature)):
            if other[0] > best[0]:
                best = other
    return best


def coil_groups(
    re: FloatArray, curvature: FloatArray, straight: FloatArray, straight_slope: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Array form of :func:`coil_group_and_slope`, given the straight G and slope. All arrays of one shape.

    Equations, symbols, range and sources as there.

    >>> from estimator.hydraulics.friction import groups_and_slopes
    >>> re = np.array([1000.0])
    >>> group, slope = coil_groups(re, np.array([4.318 / 63.5]), *groups_and_slopes(re, 0.0))
    >>> round(float(group[0]) / 1000.0**2, 4)
    0.1371
    """
    dean_number = re * np.sqrt(curvature)
    # below De 11.6 White's formula is not real and the straight value holds: D = 1 there
    u = np.power(WHITE_DEAN_MIN / np.maximum(dean_number, WHITE_DEAN_MIN), _WHITE_P)
    v = 1.0 - u
    d = 1.0 - np.power(v, _WHITE_Q)
    white = 64.0 * re / d
    white_slope = 64.0 / d + 64.0 / (d * d) * (u * np.power(v, _WHITE_Q - 1.0))
    # at rest the turbulent form divides by zero while its G is far below the laminar one
    r = np.maximum(re, 1.0)
    y = np.power(r * curvature * curvature, -0.2)
    front = 0.3 * np.sqrt(curvature) * y
    mori = r * r * front * (1.0 + 0.112 * y)
    mori_slope = r * front * (1.8 + 1.6 * 0.112 * y)
    use_white = white > straight
    group = np.where(use_white, white, straight)
    slope = np.where(use_white, white_slope, straight_slope)
    use_mori = (mori > group) & (re >= 1.0)
    return np.where(use_mori, mori, group), np.where(use_mori, mori_slope, slope)


def coil_outside(reynolds_number: float, relative_roughness: float, curvature: float) -> tuple[str, ...]:
    """The limits of validity a coil flow does not keep; empty means valid.

    Between the two published critical Reynolds numbers the flow may be of either kind: reported as uncertain.
    Sources [3]_, [4]_.

    >>> coil_outside(5000.0, 0.0, 0.068)
    ()
    """
    outside: list[str] = []
    if not CURVATURE_MIN < curvature < CURVATURE_MAX:
        outside.append("coil: bore over coil diameter outside 0.00116 to 0.1")
    ito, schmidt = critical_reynolds_ito(curvature), critical_reynolds_schmidt(curvature)
    if min(ito, schmidt) < reynolds_number < max(ito, schmidt):
        outside.append("coil: flow near its critical Reynolds number, friction uncertain")
    if reynolds_number > 2.0e5:
        outside.append("coil: Reynolds number above 2e5")
    plain = friction(reynolds_number, relative_roughness).outside
    outside.extend(text for text in plain if not text.startswith("transition"))
    return tuple(outside)


def _white(re: float, root_curvature: float) -> tuple[float, float]:
    dean_number = re * root_curvature
    if dean_number <= WHITE_DEAN_MIN:
        return 64.0 * re, 64.0
    u = math.pow(WHITE_DEAN_MIN / dean_number, _WHITE_P)
    v = 1.0 - u
    d = 1.0 - math.pow(v, _WHITE_Q)
    return 64.0 * re / d, 64.0 / d + 64.0 / (d * d) * u * math.pow(v, _WHITE_Q - 1.0)


def _mori(re: float, curvature: float) -> tuple[float, float]:
    y = math.pow(re * curvature * curvature, -0.2)
    front = 0.3 * math.sqrt(curvature) * y
    return re * re * front * (1.0 + 0.112 * y), re * front * (1.8 + 1.6 * 0.112 * y)
