"""A curve through points against scipy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from estimator.hydraulics import curve
from estimator.hydraulics.limits import OutOfRange


@given(
    st.lists(
        st.tuples(st.integers(0, 50), st.integers(0, 99_000)),
        min_size=2,
        max_size=8,
        unique_by=lambda row: row[0],
    ),
    st.lists(st.floats(0.0, 1.0), min_size=1, max_size=5),
)
def test_one_and_many_against_scipy(rows: list[tuple[int, int]], shares: list[float]) -> None:
    # Computed with scipy 1.17 PchipInterpolator.
    rows.sort()
    points = tuple((float(x), float(y)) for x, y in rows)
    x = np.array([points[0][0] + share * (points[-1][0] - points[0][0]) for share in shares])
    theirs = PchipInterpolator([x for x, _ in points], [y for _, y in points])(x)
    assert curve.values(points, x) == pytest.approx(theirs, rel=1e-9, abs=1e-6)
    one = [curve.value(points, float(at)) for at in x]
    assert one == pytest.approx(curve.values(points, x).tolist(), rel=1e-12, abs=1e-9)


@pytest.mark.parametrize(
    ("points", "message"),
    [
        ((), "booster: give two or more"),
        (((0.0, 1.0),), "booster: give two or more"),
        (((1.0, 1.0), (1.0, 2.0)), "booster: point 2 must have a higher flow"),
        (((0.0, 1.0), (1.0, math.inf)), "booster point 2 rise"),
        (((-1.0, 1.0), (1.0, 2.0)), "booster point 1 flow"),
        (((math.nan, 1.0), (1.0, 2.0)), "booster point 1 flow"),
    ],
)
def test_points_that_make_no_curve(points: curve.Points, message: str) -> None:
    with pytest.raises(ValueError, match=message) as refused:
        curve.require_points("booster", points, ("flow", "m3/s"), ("rise", "Pa"))
    assert isinstance(refused.value, OutOfRange) == ("point 1 flow" in message or "point 2 rise" in message)
