"""Darcy friction in a straight tube, in the form a solver wants.

The friction factor f runs to infinity as the flow stops. The group ``G(Re) = f Re**2`` does not: it is
``64 Re`` in laminar flow, so nothing is divided by a flow that may be zero. With it the loss of a tube is

    dp = G(Re) * L * mu**2 / (2 * rho * d**3)

dp pressure loss [Pa], L length [m], mu dynamic viscosity [Pa s], rho density [kg/m3], d bore [m].

Three branches, joined without a jump in value or slope:

* Re <= 2300: ``f = 64/Re``, exact [1]_.
* 2300 < Re < 4000: a cubic in G between the two ends, matching value and slope at both. No theory stands
  behind it: in transition the real factor is uncertain by a quarter or more either way.
* Re >= 4000: the Colebrook equation [2]_, solved by one step of Clamond's explicit form [3]_ and two
  Newton polishes (three logarithms in all).

Sources
-------
.. [1] Hagen 1839 and Poiseuille 1840; limit 2300 as printed on Moody diagram sheets.
.. [2] Colebrook, C. F. (1939). J. Inst. Civil Engrs 11, 133-156.
.. [3] Clamond, D. (2009). Efficient resolution of the Colebrook equation. Ind. Eng. Chem. Res. 48, 3665-3671.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

RE_LAMINAR: Final = 2300.0
"""Largest Reynolds number taken as laminar, -."""
RE_TURBULENT: Final = 4000.0
"""Smallest Reynolds number taken as fully turbulent, -."""
RE_MAX: Final = 1.0e8
"""Largest Reynolds number covered by the Moody diagram, -."""
ROUGHNESS_MAX: Final = 0.05
"""Largest relative roughness covered by the Moody diagram, -."""

_HALF_LN10: Final = 0.5 * math.log(10.0)
_ROUGH: Final = math.log(10.0) / (2.0 * 2.51 * 3.7)
_SHIFT: Final = math.log(2.0 * 2.51 / math.log(10.0))
_SQUARE: Final = _HALF_LN10 * _HALF_LN10
_SPAN: Final = RE_TURBULENT - RE_LAMINAR
_G_LAMINAR_END: Final = 64.0 * RE_LAMINAR


@dataclass(frozen=True, slots=True)
class Friction:
    """Friction at one Reynolds number.

    ``group`` is G = f Re**2 [-], ``slope`` is dG/dRe [-], ``factor`` the Darcy factor f [-] (0 at rest,
    where f itself has no value). ``outside`` names every limit of validity that is not kept; empty means
    valid.
    """

    group: float
    slope: float
    factor: float
    outside: tuple[str, ...]


def friction(reynolds: float, relative_roughness: float = 0.0) -> Friction:
    """Darcy friction at one Reynolds number.

    Equation: ``1/sqrt(f) = -2 log10(k/3.7 + 2.51/(Re sqrt(f)))`` for Re >= 4000, ``f = 64/Re`` to 2300, a
    cubic in ``f Re**2`` between. Symbols: Re Reynolds number [-], k roughness over bore [-], f Darcy factor
    [-]. Valid: 0 <= Re <= 1e8, 0 <= k <= 0.05; 2300 < Re < 4000 is marked as transition. Source: [2]_, [3]_
    of the module. Raises ValueError for a negative or non-finite argument.

    Worked example: Re 10 000, k 0.001 (Colebrook 0.032382), and Re 500 (64/500 = 0.128).

    >>> round(friction(1.0e4, 0.001).factor, 6)
    0.032382
    >>> friction(500.0).factor
    0.128
    >>> friction(3000.0).outside
    ('transition flow, 2300 < Re < 4000: friction uncertain',)
    """
    for name, value in (("reynolds", reynolds), ("relative_roughness", relative_roughness)):
        if not (math.isfinite(value) and value >= 0.0):
            raise ValueError(f"{name}: {value!r} is not usable; give a finite number of 0 or more")
    group, slope = group_and_slope(reynolds, relative_roughness)
    outside: list[str] = []
    if RE_LAMINAR < reynolds < RE_TURBULENT:
        outside.append("transition flow, 2300 < Re < 4000: friction uncertain")
    if reynolds > RE_MAX:
        outside.append("Reynolds number above 1e8")
    if relative_roughness > ROUGHNESS_MAX:
        outside.append("relative roughness above 0.05")
    factor = group / reynolds / reynolds if reynolds > 0.0 else 0.0
    return Friction(group=group, slope=slope, factor=factor, outside=tuple(outside))


def group_and_slope(reynolds: float, relative_roughness: float) -> tuple[float, float]:
    """G = f Re**2 and dG/dRe of one Reynolds number, unchecked (for inner loops).

    Equations, symbols, range and source as :func:`friction`.

    >>> group_and_slope(100.0, 0.0)
    (6400.0, 64.0)
    """
    return fast_group(reynolds, relative_roughness * _ROUGH)


def fast_group(reynolds: float, rough: float) -> tuple[float, float]:
    """The kernel behind :func:`group_and_slope`: one number, ``rough`` from :func:`rough_scale`."""
    if reynolds <= RE_LAMINAR:
        return 64.0 * reynolds, 64.0
    re = max(reynolds, RE_TURBULENT)
    rough *= re
    target = math.log(re) - _SHIFT
    f = target - 0.2
    w = rough + f
    e = (math.log(w) - 0.2) / (1.0 + w)
    f -= (1.0 + w + 0.5 * e) * e * w / (1.0 + w + e * (1.0 + e / 3.0))
    w = rough + f
    f -= (math.log(w) + f - target) * w / (1.0 + w)
    w = rough + f
    ratio = re / f
    group = _SQUARE * ratio * ratio
    slope = 2.0 * group / re * w / (1.0 + w)
    if reynolds >= RE_TURBULENT:
        return group, slope
    return _bridge(reynolds, group, slope)


def _bridge(reynolds: float, group_end: float, slope_end: float) -> tuple[float, float]:
    t = (reynolds - RE_LAMINAR) / _SPAN
    rise = group_end - _G_LAMINAR_END
    a = 64.0 * _SPAN
    b = slope_end * _SPAN
    c2 = 3.0 * rise - 2.0 * a - b
    c3 = a + b - 2.0 * rise
    group = _G_LAMINAR_END + t * (a + t * (c2 + t * c3))
    return group, (a + t * (2.0 * c2 + 3.0 * t * c3)) / _SPAN


def groups_and_slopes(reynolds: ArrayLike, relative_roughness: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """G = f Re**2 and dG/dRe for arrays that broadcast together; both shaped like the broadcast.

    Equations, symbols, range and source as :func:`friction`; Re and roughness must be finite and not negative
    (not checked here).

    >>> g, s = groups_and_slopes([0.0, 100.0, 2300.0], 0.001)
    >>> [round(float(x), 1) for x in g]
    [0.0, 6400.0, 147200.0]
    """
    re, k = np.broadcast_arrays(np.asarray(reynolds, np.float64), np.asarray(relative_roughness, np.float64))
    rough = k * _ROUGH
    group, slope = fast_groups(re.ravel(), rough.ravel())
    return group.reshape(re.shape), slope.reshape(re.shape)


def rough_scale(relative_roughness: FloatArray) -> FloatArray:
    """Roughness term that :func:`fast_groups` takes, [-]: ``k ln(10) / (2 * 2.51 * 3.7)`` (source [3]_)."""
    scaled: FloatArray = relative_roughness * _ROUGH
    return scaled


def fast_groups(re: FloatArray, rough: FloatArray) -> tuple[FloatArray, FloatArray]:
    """The kernel behind :func:`groups_and_slopes`: flat arrays, ``rough`` from :func:`rough_scale`."""
    low = re < RE_TURBULENT
    any_low = bool(low.any())
    # Below 4000 the turbulent branch is evaluated at 4000: that is the end the bridge needs.
    r = np.maximum(re, RE_TURBULENT) if any_low else re
    x = rough * r
    target = np.log(r)
    target -= _SHIFT
    f = target - 0.2
    w = x + f
    w1 = w + 1.0
    e = np.log(w)
    e -= 0.2
    e /= w1
    den = e / 3.0
    den += 1.0
    den *= e
    den += w1
    w1 += 0.5 * e
    w1 *= e
    w1 *= w
    w1 /= den
    f -= w1
    np.add(x, f, out=w)
    np.log(w, out=e)
    e += f
    e -= target
    e *= w
    e /= w + 1.0
    f -= e
    np.add(x, f, out=w)
    group = r / f
    slope = group / f
    group *= group
    group *= _SQUARE
    slope *= 2.0 * _SQUARE
    slope *= w
    w += 1.0
    slope /= w
    # slope is now 2 (G/Re) w/(1+w), from differentiating F + ln(x+F) = target.
    if any_low:
        at = low.nonzero()[0]
        rl = re[at]
        laminar = rl <= RE_LAMINAR
        t = (rl - RE_LAMINAR) / _SPAN
        rise = group[at] - _G_LAMINAR_END
        a = 64.0 * _SPAN
        b = slope[at] * _SPAN
        c3 = a + b - 2.0 * rise
        c2 = rise - a - c3
        group[at] = np.where(laminar, 64.0 * rl, _G_LAMINAR_END + t * (a + t * (c2 + t * c3)))
        slope[at] = np.where(laminar, 64.0, (a + t * (2.0 * c2 + 3.0 * t * c3)) / _SPAN)
    return group, slope
