"""Fittings by two coefficients: one for viscous flow, one for turbulent flow.

In small bores a constant K falls short at low Reynolds numbers. The two-K form adds K1/Re.

Sources
-------
.. [1] Hooper, W. B. (1981). The two-K method predicts head losses in pipe fittings. Chemical Engineering, Aug
   24, 96-100. Values as tabulated in the library fluids 1.3.1 (second-hand).
.. [2] Crane TP-410, appendix A: sharp-edged entrance 0.5, exit 1.0 (from memory).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from estimator.hydraulics.limits import above_zero, zero_or_more

INCH_M: Final = 0.0254
"""1 inch in m, exact."""

ENTRANCE_SHARP_K: Final = 0.5
"""Sharp-edged entrance from a tank, - (source [2]). Other texts take up to 0.57."""
EXIT_K: Final = 1.0
"""Exit into a tank: the whole velocity head is lost, -."""


@dataclass(frozen=True, slots=True)
class Fitting:
    """Two-K values of a fitting: ``k1`` viscous [-], ``k_infinity`` turbulent in a large bore [-].

    ``status`` says how well the values are known.
    """

    name: str
    k1: float
    k_infinity: float
    status: str


_HOOPER: Final = "second-hand (source 1), for screwed pipe fittings; push-fit parts differ by maker"

FITTINGS: Final[Mapping[str, Fitting]] = {
    "elbow": Fitting("push-fit elbow, 90 degrees", 800.0, 0.4, _HOOPER),
    "tee-run": Fitting("tee, straight through", 200.0, 0.1, _HOOPER),
    "tee-branch": Fitting("tee, into the branch", 500.0, 0.7, _HOOPER),
    "shut-off valve": Fitting("ball shut-off valve, reduced bore", 500.0, 0.15, _HOOPER),
    "check valve": Fitting("spring check valve, taken as a lift check", 2000.0, 10.0, _HOOPER),
    "drop connector": Fitting(
        "drop connector",
        500.0,
        0.15,
        "common practice (no source): taken like a reduced-bore ball valve, since it narrows as one does",
    ),
}
"""The few fittings of a line (source [1])."""


def fitting(key: str) -> Fitting:
    """The fitting of that key. Raises LookupError that lists the keys.

    >>> fitting("elbow").k1
    800.0
    """
    if key not in FITTINGS:
        raise LookupError(f"fitting: there is no fitting {key!r}; give one of {', '.join(FITTINGS)}")
    return FITTINGS[key]


def two_k(k1: float, k_infinity: float, reynolds: float, bore_m: float) -> float:
    """Loss coefficient of a fitting [-]: ``K = K1/Re + Kinf (1 + 0.0254/d)``.

    K1 viscous coefficient [-], Kinf turbulent coefficient [-], Re Reynolds number in the bore [-] above 0, d
    bore [m] above 0. Fitted on pipe from about 12 to 600 mm; smaller bores extrapolate the size term. Source
    [1]_.

    Worked example: threaded elbow (800, 0.40) at Re 1000 in a quarter inch bore.

    >>> round(two_k(800.0, 0.40, 1000.0, 0.00635), 3)
    2.8
    """
    zero_or_more("k1", k1, "-")
    above_zero("reynolds", reynolds, "-")
    return k1 / reynolds + turbulent_k(k_infinity, bore_m)


def turbulent_k(k_infinity: float, bore_m: float) -> float:
    """The part of K that does not depend on the flow [-]: ``Kinf (1 + 0.0254/d)``. Source [1]_.

    Kinf [-], 0 or more; d bore [m], above 0.

    >>> round(turbulent_k(0.40, 0.0254), 3)
    0.8
    """
    zero_or_more("k_infinity", k_infinity, "-")
    return k_infinity * (1.0 + INCH_M / above_zero("bore_m", bore_m, "m"))


def sum_of(counts: Mapping[str, int], bore_m: float) -> tuple[float, float]:
    """Sums (K1, K) of a list of fittings in one bore, for ``dp = (K1/Re + K) rho V**2 / 2`` [-, -].

    counts: number of each fitting by its key in :data:`FITTINGS`; d bore [m]. ``K = sum(n Kinf (1 +
    0.0254/d))``. Raises LookupError for an unknown key, OutOfRange for a negative number. Source [1]_.

    Worked example: two elbows and a shut-off valve in 6.35 mm.

    >>> k1, k = sum_of({"elbow": 2, "shut-off valve": 1}, 0.00635)
    >>> round(k1, 1), round(k, 3)
    (2100.0, 4.75)
    """
    k1 = k = 0.0
    for key, count in counts.items():
        part = fitting(key)
        zero_or_more(key, count, "-")
        k1 += count * part.k1
        k += count * turbulent_k(part.k_infinity, bore_m)
    return k1, k
