"""Guns open at once against exact distributions."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.hydraulics import simultaneous as s
from estimator.hydraulics.limits import OutOfRange

PROBABILITIES = (0.03, 1 / 15, 0.10, 0.20, 0.25)
# Hunter's criterion (NBS BMS65, 1940). Values computed with scipy.stats.binom.ppf(.99, n, p), not Hunter's
# table.
COUNTS = {
    1: (1, 1, 1, 1, 1),
    2: (1, 1, 1, 2, 2),
    3: (1, 2, 2, 2, 3),
    4: (1, 2, 2, 3, 3),
    5: (1, 2, 2, 3, 4),
    6: (2, 2, 3, 4, 4),
    8: (2, 3, 3, 5, 5),
    10: (2, 3, 4, 5, 6),
    12: (2, 3, 4, 6, 7),
    15: (2, 4, 5, 7, 8),
    20: (3, 4, 6, 8, 10),
    25: (3, 5, 6, 10, 12),
    30: (4, 6, 7, 11, 13),
    40: (4, 7, 9, 14, 17),
    50: (5, 8, 10, 17, 20),
    75: (6, 11, 14, 23, 28),
    100: (8, 13, 18, 30, 35),
    200: (12, 22, 30, 54, 65),
}


@pytest.mark.parametrize("number", COUNTS)
def test_every_cell(number: int) -> None:
    assert tuple(s.guns_at_once_alike(number, p).count for p in PROBABILITIES) == COUNTS[number]


# Smallest number of guns that needs m, computed with scipy as above.
@pytest.mark.parametrize(
    ("p", "first"),
    [
        (0.03, {2: 6, 3: 16, 4: 29, 5: 45, 6: 62, 7: 80, 8: 99, 9: 120, 10: 141}),
        (0.20, {2: 2, 3: 4, 4: 6, 5: 8, 6: 11, 7: 14, 8: 17, 9: 21, 10: 24}),
    ],
)
def test_boundaries(p: float, first: dict[int, int]) -> None:
    for m, number in first.items():
        assert s.guns_at_once_alike(number, p).count == m
        assert s.guns_at_once_alike(number - 1, p).count == m - 1


def test_knife_edges() -> None:
    # Computed with scipy.stats.binom.cdf.
    c = s.guns_at_once_alike(20, 0.2)
    assert c.count == 8 and c.not_exceeded == pytest.approx(0.9900182, abs=5e-8)
    cdf = np.cumsum(s.binomial_pmf(100, 0.03))
    assert cdf[7] == pytest.approx(0.989376, abs=5e-7)
    assert cdf[8] == pytest.approx(0.996784, abs=5e-7)
    assert s.guns_at_once_alike(100, 0.03).count == 8
    # An exact tie is met: one gun at p = 0.01 has P(0) = 0.99.
    assert s.guns_at_once_alike(1, 0.01).count == 0
    assert s.guns_at_once_alike(1, 0.0101).count == 1


def test_plausible_against_the_old_curve() -> None:
    # 100 flush valves at p .03, 27 gpm each: 216 gpm; the Hunter table of IPC/ASPE prints 208, from memory. 4
    # %.
    assert s.guns_at_once_alike(100, s.probability_from_times(9.0, 300.0)).count * 27.0 == pytest.approx(
        208, rel=0.04
    )


def test_mixed() -> None:
    # Computed: Poisson-binomial of 6 guns at .3 and 4 at .1.
    cdf = np.cumsum(s.poisson_binomial_pmf([0.3] * 6 + [0.1] * 4))
    assert cdf[:6] == pytest.approx([0.07719, 0.309983, 0.616583, 0.847749, 0.957674, 0.991930], abs=1e-6)
    assert s.guns_at_once([0.3] * 6 + [0.1] * 4).count == 5


def test_flow_weighted() -> None:
    # Computed: six guns of 1.2 L/min at .3, four of 3.2 at .1.
    q = s.flow_at_once([s.Guns(6, 0.3, 1.2), s.Guns(4, 0.1, 3.2)])
    assert q.flow_m3_s == pytest.approx(10.0, rel=1e-12)
    assert q.not_exceeded == pytest.approx(0.993086, abs=1e-6)
    assert q.mean_m3_s == pytest.approx(3.44, rel=1e-12)
    assert q.all_open_m3_s == pytest.approx(20.0, rel=1e-12)
    assert q.resolution_m3_s == 0.0


def test_many_different_flows_are_rounded_up_and_say_so() -> None:
    guns = [s.Guns(3, 0.3, 1.0 + math.sqrt(k)) for k in range(1, 12)]
    q = s.flow_at_once(guns)
    assert 0.0 < q.resolution_m3_s < 1e-3 * q.all_open_m3_s
    # Every one of the 4**11 sums, written out: the exact design flow.
    sums, chance = np.zeros(1), np.ones(1)
    for g in guns:
        sums = np.add.outer(sums, g.flow_m3_s * np.arange(4)).ravel()
        chance = np.multiply.outer(chance, s.binomial_pmf(3, g.probability)).ravel()
    order = np.argsort(sums)
    exact = float(sums[order][np.argmax(np.cumsum(chance[order]) >= 0.99)])
    assert exact <= q.flow_m3_s <= exact + q.resolution_m3_s


def test_stated_number_wins() -> None:
    c = s.guns_at_once_alike(12, 0.03, stated=4)
    assert (c.count, c.stated) == (4, True)
    with pytest.raises(OutOfRange, match="stated"):
        s.guns_at_once_alike(3, 0.03, stated=4)


def test_open_longer_than_between_two_uses() -> None:
    with pytest.raises(OutOfRange, match="open_s"):
        s.probability_from_times(400.0, 300.0)


def test_nothing_to_open() -> None:
    assert s.guns_at_once([]).count == 0
    assert s.flow_at_once([]).flow_m3_s == 0.0
    assert s.guns_at_once_alike(5, 0.0).count == 0
    assert s.guns_at_once_alike(5, 1.0).count == 5


@pytest.mark.parametrize("bad", [-0.1, 1.1, math.nan, math.inf])
def test_bad_probability(bad: float) -> None:
    with pytest.raises(OutOfRange, match="probabilit"):
        s.guns_at_once([0.1, bad])
    with pytest.raises(OutOfRange, match="probabilit"):
        s.flow_at_once([s.Guns(2, bad, 1.0)])


@given(st.integers(1, 400), st.floats(1e-9, 1.0 - 1e-9))  # scipy itself overflows at the smallest p
@settings(max_examples=60, deadline=None)
def test_binomial_against_scipy(number: int, p: float) -> None:
    # Computed with scipy 1.17.
    assert s.binomial_pmf(number, p) == pytest.approx(
        scipy.stats.binom.pmf(range(number + 1), number, p), abs=1e-12
    )


@given(st.lists(st.floats(0.0, 1.0), min_size=1, max_size=8))
@settings(deadline=None)
def test_mixed_against_enumeration(ps: list[float]) -> None:
    exact = np.zeros(len(ps) + 1)
    for state in itertools.product((0, 1), repeat=len(ps)):
        exact[sum(state)] += math.prod(p if on else 1 - p for p, on in zip(ps, state, strict=True))
    assert s.poisson_binomial_pmf(ps) == pytest.approx(exact, abs=1e-12)
    c = s.guns_at_once(ps)
    assert 0 <= c.count <= len(ps) and c.not_exceeded >= 0.99 - 1e-11
    if c.count:
        assert exact[: c.count].sum() < 0.99


@given(st.lists(st.tuples(st.integers(0, 3), st.floats(0, 1), st.sampled_from([0.8, 1.2, 3.2])), max_size=4))
@settings(deadline=None)
def test_flow_against_enumeration(rows: list[tuple[int, float, float]]) -> None:
    guns = [s.Guns(*row) for row in rows]
    flat = [(g.probability, g.flow_m3_s) for g in guns for _ in range(g.number)]
    q = s.flow_at_once(guns)
    at_most = below = 0.0
    for state in itertools.product((0, 1), repeat=len(flat)):
        chance = math.prod(p if on else 1 - p for (p, _), on in zip(flat, state, strict=True))
        total = sum(f for (_, f), on in zip(flat, state, strict=True) if on)
        at_most += chance if total <= q.flow_m3_s + 1e-9 else 0.0
        below += chance if total < q.flow_m3_s - 1e-9 else 0.0
    assert at_most >= 0.99 - 1e-9
    assert below < 0.99 + 1e-9
    assert q.not_exceeded == pytest.approx(at_most, abs=1e-9)


@pytest.mark.parametrize("p", [0.0, 1e-6, 0.004, 0.3, 0.999, 1.0])
@pytest.mark.parametrize("number", [1_001, 1_600, 2_000])
def test_so_many_guns_that_the_ways_to_choose_some_are_beyond_a_float(number: int, p: float) -> None:
    # Computed with scipy 1.17: binom.pmf and binom.ppf.
    assert s.binomial_pmf(number, p) == pytest.approx(
        scipy.stats.binom.pmf(range(number + 1), number, p), abs=1e-11
    )
    assert s.guns_at_once_alike(number, p).count == scipy.stats.binom.ppf(0.99, number, p)
