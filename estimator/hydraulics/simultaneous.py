"""How many guns are open at once, and how much they draw together.

The design load is the one that is not exceeded in 99 % of moments of the busy hour. Guns are taken to open
independently of each other.

Sources
-------
.. [1] Hunter, R. B. (1940). Methods of estimating loads in plumbing systems. NBS report BMS65 (existence and
   criterion confirmed second-hand; its tables are not used: counts are computed exactly).
.. [2] Binomial distribution; Poisson-binomial distribution as the convolution of its parts: probability
   texts.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from estimator.hydraulics.limits import above_zero, within, zero_or_more

FloatArray = NDArray[np.float64]

CRITERION: Final = 0.99
"""Share of moments in which the design load is not exceeded, - (source [1])."""
NUMBER_MAX: Final = 2000
"""Largest number of guns taken, -."""
_PLAIN: Final = 1000
"""Guns up to which the ways to choose some of them are numbers that a float holds."""
_TIE: Final = 1e-12
_SUMS: Final = 20_000
"""Different sums up to which they are all kept."""
_STEPS: Final = 100_000
"""Steps that more sums than that are rounded up to."""
_NEXT_TO_NONE: Final = 1e-22
"""Chance of one step that is cut off at the ends: a hundred thousand of them times a thousand flows are nothing."""


@dataclass(frozen=True, slots=True)
class OpenCount:
    """Guns open at once.

    ``count`` the design number [-], ``not_exceeded`` probability that no more are open [-], ``mean`` mean
    number open [-], ``stated`` True if a person stated the number.
    """

    count: int
    not_exceeded: float
    mean: float
    stated: bool


@dataclass(frozen=True, slots=True)
class Guns:
    """Guns alike: how many [-], probability that one is open [-], flow of an open one [m3/s]."""

    number: int
    probability: float
    flow_m3_s: float


@dataclass(frozen=True, slots=True)
class OpenFlow:
    """Flow drawn at once.

    ``flow_m3_s`` the design flow [m3/s], ``not_exceeded`` probability that no more is drawn [-],
    ``mean_m3_s`` mean flow [m3/s], ``all_open_m3_s`` flow with every gun open [m3/s], ``resolution_m3_s`` the
    most by which the flow may be rounded up [m3/s] (0: exact; more only with very many different flows).
    """

    flow_m3_s: float
    not_exceeded: float
    mean_m3_s: float
    all_open_m3_s: float
    resolution_m3_s: float


def probability_from_times(open_s: float, between_s: float) -> float:
    """Probability that a gun is open [-]: ``p = t / T``.

    t time open at one use [s], T time from one use to the next [s]; 0 <= t <= T, T above 0. Source [1]_.

    Worked example: a flush valve, 9 s every 300 s.

    >>> probability_from_times(9.0, 300.0)
    0.03
    """
    above_zero("between_s", between_s, "s")
    return (
        within("open_s", open_s, 0.0, between_s, "s", "a gun cannot be open longer than between two uses")
        / between_s
    )


def binomial_pmf(number: int, probability: float) -> FloatArray:
    """Probabilities of 0 to n open guns, shape (n+1,) [-]: ``C(n,k) p**k (1-p)**(n-k)``.

    n number of guns [-], 0 to 2000; p probability that one is open [-], 0 to 1. OutOfRange outside. Source
    [2]_.

    >>> [round(float(x), 4) for x in binomial_pmf(2, 0.25)]
    [0.5625, 0.375, 0.0625]
    """
    within("number", number, 0, NUMBER_MAX, "-")
    within("probability", probability, 0.0, 1.0, "-")
    p, q = min(probability, 1.0), max(1.0 - probability, 0.0)
    return np.array([_chance_of(number, k, p, q) for k in range(number + 1)])


def _chance_of(number: int, k: int, p: float, q: float) -> float:
    """One term of the binomial distribution."""
    if number <= _PLAIN:
        return math.comb(number, k) * p**k * q ** (number - k)
    if p <= 0.0 or q <= 0.0:
        return float(k == (0 if p <= 0.0 else number))
    ways = math.lgamma(number + 1) - math.lgamma(k + 1) - math.lgamma(number - k + 1)
    return math.exp(ways + k * math.log(p) + (number - k) * math.log(q))


def poisson_binomial_pmf(probabilities: ArrayLike) -> FloatArray:
    """Probabilities of 0 to n open guns that differ, shape (n+1,) [-].

    probabilities: shape (n,), each 0 to 1 [-]. The convolution of one two-point distribution a gun; equal
    ones are taken together as binomials. OutOfRange outside. Source [2]_.

    >>> [round(float(x), 4) for x in poisson_binomial_pmf([0.5, 0.1])]
    [0.45, 0.5, 0.05]
    """
    given = np.asarray(probabilities, np.float64).ravel()
    for value in given:
        within("probabilities", float(value), 0.0, 1.0, "-")
    within("number", given.size, 0, NUMBER_MAX, "-")
    pmf = np.ones(1)
    values, counts = np.unique(given, return_counts=True)
    for value, count in zip(values, counts, strict=True):
        pmf = np.convolve(pmf, binomial_pmf(int(count), float(value)))
    return pmf


def guns_at_once(
    probabilities: ArrayLike, criterion: float = CRITERION, stated: int | None = None
) -> OpenCount:
    """Smallest m with ``P(X <= m) >= criterion``, X the number of open guns.

    probabilities: shape (n,), that each gun is open [-]; criterion above 0 to 1 [-]; stated: a number that a
    person gives instead, 0 to n. The count may be 0 where the guns are hardly ever open; it is never above n.
    A tie is met to 1e-12. OutOfRange names what is wrong. Sources [1]_, [2]_.

    Worked example: 6 guns at 0.3 with 4 guns at 0.1: five (P = 0.99193).

    >>> c = guns_at_once([0.3] * 6 + [0.1] * 4)
    >>> c.count, round(c.not_exceeded, 5)
    (5, 0.99193)
    """
    above_zero("criterion", criterion, "-")
    within("criterion", criterion, 0.0, 1.0, "-")
    pmf = poisson_binomial_pmf(probabilities)
    cdf = np.cumsum(pmf)
    number = pmf.size - 1
    mean = float(np.sum(np.asarray(probabilities, np.float64)))
    if stated is not None:
        within("stated", stated, 0, number, "-", "it cannot be more than there are guns")
        return OpenCount(int(stated), _share(cdf[int(stated)]), mean, True)
    count = _first_at_least(cdf, criterion)
    return OpenCount(count, _share(cdf[count]), mean, False)


def guns_at_once_alike(
    number: int, probability: float, criterion: float = CRITERION, stated: int | None = None
) -> OpenCount:
    """:func:`guns_at_once` for n guns alike.

    n number of guns [-], p probability that one is open [-]. Sources [1]_, [2]_.

    Worked example: 20 guns, p 0.2: eight, by a hair (P = 0.9900182).

    >>> c = guns_at_once_alike(20, 0.2)
    >>> c.count, round(c.not_exceeded, 7)
    (8, 0.9900182)
    """
    within("number", number, 0, NUMBER_MAX, "-")
    if stated is not None:
        return guns_at_once(np.full(number, probability), criterion, stated)
    within("probability", probability, 0.0, 1.0, "-")
    above_zero("criterion", criterion, "-")
    within("criterion", criterion, 0.0, 1.0, "-")
    # In plain numbers: this is asked for each line, and a line has few guns.
    p, q = min(probability, 1.0), max(1.0 - probability, 0.0)
    cdf = 0.0
    for k in range(number + 1):
        cdf += _chance_of(number, k, p, q)
        if cdf >= criterion - _TIE:
            break
    return OpenCount(k, _share(cdf), number * probability, False)


def flow_at_once(guns: Iterable[Guns], criterion: float = CRITERION) -> OpenFlow:
    """Smallest flow Q with ``P(sum of open flows <= Q) >= criterion``.

    guns: groups of guns alike; flow 0 or more [m3/s]. Exact over the sums that can occur; from 20 000
    different sums on they are rounded up to 100 000 steps, once for each flow that is still to come, and
    ``resolution_m3_s`` says by how much at most. OutOfRange names what is wrong. Sources [1]_, [2]_.

    Worked example: six guns of 1.2 L/min at 0.3 with four of 3.2 L/min at 0.1: 10.0 L/min.

    >>> q = flow_at_once([Guns(6, 0.3, 1.2 / 60000.0), Guns(4, 0.1, 3.2 / 60000.0)])
    >>> round(60000.0 * q.flow_m3_s, 9), round(q.not_exceeded, 6)
    (10.0, 0.993086)
    """
    above_zero("criterion", criterion, "-")
    within("criterion", criterion, 0.0, 1.0, "-")
    groups = _checked(guns)
    most = math.fsum(g.number * g.flow_m3_s for g in groups)
    mean = math.fsum(g.number * g.probability * g.flow_m3_s for g in groups)
    if most == 0.0:
        return OpenFlow(0.0, 1.0, 0.0, 0.0, 0.0)
    sums, pmf, resolution = _flow_distribution(groups, most)
    cdf = np.cumsum(pmf)
    at = _first_at_least(cdf, criterion)
    return OpenFlow(float(sums[at]), _share(cdf[at]), mean, most, resolution)


def flow_distribution(guns: Iterable[Guns]) -> tuple[FloatArray, FloatArray]:
    """Sums of open flows that can occur [m3/s], rising, with their probabilities [-]; both shape (n,).

    As :func:`flow_at_once`, whose checks and rounding apply. Source [2]_.

    >>> flows, pmf = flow_distribution([Guns(1, 0.25, 2.0), Guns(1, 0.5, 3.0)])
    >>> flows.tolist(), pmf.tolist()
    ([0.0, 2.0, 3.0, 5.0], [0.375, 0.125, 0.375, 0.125])
    """
    groups = _checked(guns)
    most = math.fsum(g.number * g.flow_m3_s for g in groups)
    if most == 0.0:
        return np.zeros(1), np.ones(1)
    sums, pmf, _ = _flow_distribution(groups, most)
    return sums, pmf


def _checked(guns: Iterable[Guns]) -> tuple[Guns, ...]:
    groups = tuple(guns)
    for group in groups:
        zero_or_more("flow_m3_s", group.flow_m3_s, "m3/s")
        within("number", group.number, 0, NUMBER_MAX, "-")
        within("probability", group.probability, 0.0, 1.0, "-")
    return groups


def _flow_distribution(groups: Sequence[Guns], most: float) -> tuple[FloatArray, FloatArray, float]:
    alike: dict[float, list[Guns]] = {}
    for group in groups:
        if group.flow_m3_s > 0.0:
            alike.setdefault(group.flow_m3_s, []).append(group)
    sums, pmf = np.zeros(1), np.ones(1)
    flows = sorted(alike)
    for at, flow in enumerate(flows):
        open_now = _open_of(alike[flow])
        total: FloatArray = np.add.outer(sums, flow * np.arange(open_now.size)).ravel()
        weight: FloatArray = np.multiply.outer(pmf, open_now).ravel()
        # Sums that differ by rounding only are one sum.
        sums, pmf = _merge(total, weight, np.rint(total / (1e-9 * most)).astype(np.int64))
        if sums.size > _SUMS:
            return _on_steps(sums, pmf, [(f, _open_of(alike[f])) for f in flows[at + 1 :]], most)
    return sums, pmf, 0.0


def _open_of(groups: Sequence[Guns]) -> FloatArray:
    """Probabilities of 0 to n open guns of groups that have one flow."""
    open_now = np.ones(1)
    for group in groups:
        open_now = np.convolve(open_now, binomial_pmf(group.number, group.probability))
    return open_now


def _on_steps(
    sums: FloatArray, pmf: FloatArray, more: Sequence[tuple[float, FloatArray]], most: float
) -> tuple[FloatArray, FloatArray, float]:
    """The distribution of sums with the flows still to come, all rounded up to equal steps.

    Each flow's multiples are rounded up once, so an addition is one shift of the whole distribution for each number
    of open guns. Ends with next to no chance are cut off: of many guns hardly ever nearly none or nearly all are open.
    """
    step = most / _STEPS
    cells = _up(sums, step)
    first = int(cells[0])
    spread: FloatArray = np.bincount(cells - first, pmf).astype(np.float64)
    for flow, open_now in more:
        moves = _up(np.asarray(flow * np.arange(open_now.size), np.float64), step)
        grown: FloatArray = np.zeros(spread.size + int(moves[-1]))
        for move, chance in zip(moves.tolist(), open_now.tolist(), strict=True):
            grown[move : move + spread.size] += chance * spread
        some = (grown > _NEXT_TO_NONE).nonzero()[0]
        first += int(some[0])
        spread = grown[some[0] : some[-1] + 1]
    held = spread.nonzero()[0]
    return np.asarray((first + held) * step, np.float64), spread[held], step * (1 + len(more))


def _up(flows: FloatArray, step: float) -> NDArray[np.int64]:
    return np.ceil(flows / step - 1e-9).astype(np.int64)


def _merge(values: FloatArray, weights: FloatArray, keys: NDArray[np.int64]) -> tuple[FloatArray, FloatArray]:
    _, first, inverse = np.unique(keys, return_index=True, return_inverse=True)
    return values[first], np.asarray(np.bincount(inverse.ravel(), weights), np.float64)


def _first_at_least(cdf: FloatArray, criterion: float) -> int:
    met = cdf >= criterion - _TIE
    # The last entry is 1 but for rounding, so it always meets the criterion.
    return int(np.argmax(met)) if met.any() else cdf.size - 1


def _share(probability: float | np.float64) -> float:
    # Rounding of the sum may pass 1 in the last digit.
    return min(float(probability), 1.0)
