"""Interval of an observed share against SciPy."""

from __future__ import annotations

import pytest
import scipy.stats

from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.observed import share_interval


@pytest.mark.parametrize(("count", "total"), [(0, 200), (1, 200), (15, 50), (1990, 2000), (2000, 2000)])
def test_is_wilson_as_scipy_computes_it(count: int, total: int) -> None:
    # Computed with scipy 1.17, binomtest(...).proportion_ci(method="wilson").
    theirs = scipy.stats.binomtest(count, total).proportion_ci(0.95, method="wilson")
    assert share_interval(count, total) == pytest.approx((theirs.low, theirs.high), abs=1e-12)


def test_says_what_is_wrong() -> None:
    with pytest.raises(OutOfRange, match="total"):
        share_interval(0, 0)
    with pytest.raises(OutOfRange, match="count"):
        share_interval(3, 2)
