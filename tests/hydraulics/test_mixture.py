"""A stirred tank against a differential equation solved by SciPy."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.integrate
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.hydraulics.mixture import parts_of, share_of, stirred


def _stirred(*values: float) -> float:
    return float(stirred(*(np.array([v]) for v in values))[0])


@given(
    st.floats(0.0, 0.5),
    st.floats(0.0, 0.5),
    st.floats(1e-6, 2e-4),
    st.floats(0.0, 2e-4),
    st.floats(0.005, 0.2),
    st.floats(1.0, 4000.0),
)
@settings(max_examples=40, deadline=None)
def test_is_the_balance_of_a_stirred_tank(
    share: float, coming: float, inflow: float, draw: float, before: float, time: float
) -> None:
    # Computed: scipy 1.17 solve_ivp (DOP853) of d(cV)/dt = f s - d c, dV/dt = f - d, as volume and content.
    time = min(time, 0.9 * before / draw) if draw > 0.0 else time
    after = before + (inflow - draw) * time
    solved = scipy.integrate.solve_ivp(
        lambda _, y: [inflow - draw, inflow * coming - draw * y[1] / y[0]],
        (0.0, time),
        [before, before * share],
        method="DOP853",
        rtol=1e-11,
        atol=1e-15,
    )
    theirs = solved.y[1, -1] / solved.y[0, -1]
    assert _stirred(share, coming, inflow, before, after, time) == pytest.approx(theirs, rel=1e-7, abs=1e-10)


def test_a_level_that_stands_is_the_limit_of_one_that_does_not() -> None:
    stands = _stirred(0.0, 0.02, 1e-4, 0.02, 0.02, 200.0)
    assert stands == pytest.approx(0.02 * (1.0 - np.exp(-1.0)), rel=1e-12)
    for gain in (1e-14, 1e-12, 1e-10, 1e-8):
        assert _stirred(0.0, 0.02, 1e-4, 0.02, 0.02 + gain, 200.0) == pytest.approx(stands, rel=1e-6)


def test_empty_tanks_hold_what_comes_and_nothing_changes_without_inflow() -> None:
    assert _stirred(0.3, 0.02, 1e-4, 0.0, 0.01, 100.0) == 0.02
    assert _stirred(0.3, 0.02, 1e-4, 0.01, 0.0, 100.0) == 0.02
    assert _stirred(0.3, 0.02, 0.0, 0.01, 0.005, 100.0) == 0.3
    assert _stirred(0.3, 0.02, 1e-4, 0.01, 0.01, 0.0) == 0.3


def test_shares_and_dilutions() -> None:
    given_parts = np.array([0.0, 1.0, 64.0, np.inf])
    assert parts_of(share_of(given_parts)).tolist() == pytest.approx(given_parts.tolist())
    # A hundred litres at 64:1 with a hundred of water are 129:1, not 128:1.
    assert float(parts_of(0.5 * share_of(64.0))) == pytest.approx(129.0)
