"""What is in a tank: a mixture of all that went in.

The state is the share of concentrate, not the dilution: shares of volumes that are put together add up. A dilution
of n means n parts of water to one of concentrate.

Sources
-------
.. [1] Balance of a stirred tank with inflow and outflow; process engineering texts.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


def share_of(parts_water: ArrayLike) -> FloatArray:
    """Share of concentrate in the solution [-] of a dilution [parts of water to one]: ``1 / (1 + n)``.

    Any shape; n infinite is plain water.

    >>> share_of([64.0, np.inf]).round(6).tolist()
    [0.015385, 0.0]
    """
    share: FloatArray = 1.0 / (1.0 + np.asarray(parts_water, np.float64))
    return share


def parts_of(share: ArrayLike) -> FloatArray:
    """Dilution [parts of water to one of concentrate] of a share of concentrate [-], infinite for plain water.

    >>> parts_of([0.02, 0.0]).tolist()
    [49.0, inf]
    """
    given = np.asarray(share, np.float64)
    parts: FloatArray = np.divide(1.0 - given, given, out=np.full(given.shape, np.inf), where=given > 0.0)
    return parts


def stirred(
    share: FloatArray,
    coming: FloatArray,
    inflow_m3_s: FloatArray,
    before_m3: FloatArray,
    after_m3: FloatArray,
    time_s: FloatArray,
) -> FloatArray:
    """Share of concentrate in a stirred tank after a time of steady flow in and out [-].

    ``s - (s - c) (V0/V1)**(f/a)``, and ``s - (s - c) exp(-f t/V0)`` where the level stands; c share in the tank and s
    in what comes [-], f inflow [m3/s], V0 and V1 volume before and after [m3], t time [s], ``a = (V1 - V0)/t`` what
    the tank gains [m3/s]. All of one shape. A tank that is empty before or after holds what comes. Exact, so the
    length of a step does not matter. Source [1]_.

    Worked example: 10 L of water, 10 L of a 2 % solution poured in with nothing drawn: 1 %.

    >>> one = [np.array([x]) for x in (0.0, 0.02, 1e-4, 0.010, 0.020, 100.0)]
    >>> stirred(*one).round(12).tolist()
    [0.01]
    """
    gain = after_m3 - before_m3
    some = (inflow_m3_s > 0.0) & (time_s > 0.0)
    held = some & (before_m3 > 0.0) & (after_m3 > 0.0)
    poured = inflow_m3_s * time_s
    left = np.zeros(share.shape)
    # Exact as 0 for a gain of nothing too: log1p(x)/x goes to 1 as x does, and then poured/before is what is left.
    grown = np.divide(gain, before_m3, out=np.zeros(share.shape), where=held)
    small = np.abs(grown) < 1e-9
    turn = np.where(small, 1.0 - 0.5 * grown, 0.0)
    np.divide(np.log1p(grown, out=np.zeros(share.shape), where=held), grown, out=turn, where=held & ~small)
    exponent = np.divide(poured, before_m3, out=np.zeros(share.shape), where=held)
    np.exp(-exponent * turn, out=left, where=held)
    mixed: FloatArray = np.where(some, coming - (coming - share) * left, share)
    return mixed
