"""beta-PERT of one row against the 1959 paper's mean and scipy's beta distribution."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from estimator.pricing import pert

D = Decimal


def test_mean_and_both_variances() -> None:
    """a=8, m=10, b=18.

    Mean 11 and classic variance 2.77778: Malcolm et al. 1959, Operations Research 7(5) (second-hand).
    Exact 3.00000: variance of beta(1.8, 4.2) on that range (computed with scipy 1.x).
    """
    a, m, b = D(8), D(10), D(18)
    assert pert.mean(a, m, b) == 11
    assert float(pert.classic_sd(a, b) ** 2) == pytest.approx(2.77778, abs=1e-5)
    assert pert.exact_variance(a, m, b) == 3
    reference = stats.beta(1.8, 4.2, loc=8, scale=10)
    assert float(reference.var()) == pytest.approx(3.0, abs=1e-12)
    assert float(reference.mean()) == pytest.approx(11.0, abs=1e-12)


@pytest.mark.parametrize("t", [0.0, 1e-6, 0.03, 0.2, 0.5, 0.77, 0.999, 1.0])
def test_quantiles_agree_with_scipy(t: float) -> None:
    """Quantiles computed with scipy.stats.beta.ppf."""
    chances = np.linspace(0.0001, 0.9999, 2001)
    ours = pert.shape(t).quantiles(chances)
    theirs = stats.beta.ppf(chances, 1 + 4 * t, 5 - 4 * t)
    assert float(np.abs(ours - theirs).max()) < 2e-5


@given(st.floats(0, 1))
def test_shape_is_a_distribution_and_mirrors(t: float) -> None:
    shape = pert.shape(t)
    assert shape.cumulated[0] == 0.0
    assert shape.cumulated[-1] == 1.0
    assert bool((np.diff(shape.cumulated) >= 0).all())
    chances = np.linspace(0.01, 0.99, 99)
    mirrored = pert.shape(1.0 - t).quantiles(1.0 - chances)
    assert np.allclose(shape.quantiles(chances), 1.0 - mirrored, atol=2e-5)


@pytest.mark.parametrize("t", [-0.1, 1.1, float("nan")])
def test_likely_outside_is_told(t: float) -> None:
    with pytest.raises(ValueError, match="likely must lie between low and high"):
        pert.shape(t)
