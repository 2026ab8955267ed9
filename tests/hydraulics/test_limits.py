"""The one error for "out of range"."""

from __future__ import annotations

import math
import pickle

import pytest

from estimator.hydraulics.limits import OutOfRange, above_zero, within, zero_or_more


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf, -1.0])
def test_bad_numbers_are_named(bad: float) -> None:
    with pytest.raises(OutOfRange, match="bore_m"):
        above_zero("bore_m", bad, "m")
    with pytest.raises(OutOfRange, match="bore_m"):
        zero_or_more("bore_m", bad, "m")
    with pytest.raises(OutOfRange, match="bore_m"):
        within("bore_m", bad, 0.0, 1.0, "m")


def test_rounding_of_a_unit_conversion_passes() -> None:
    assert within("temperature_k", 333.15000000000003, 273.15, 333.15, "K") == 333.15000000000003
    with pytest.raises(OutOfRange):
        within("temperature_k", 333.1501, 273.15, 333.15, "K")


def test_error_survives_pickling_and_says_what_is_right() -> None:
    error = OutOfRange("altitude_m", 9000.0, -430.0, 5000.0, "m", "a shop's height above the sea")
    again = pickle.loads(pickle.dumps(error))
    assert str(again) == str(error)
    assert str(error) == (
        "altitude_m: 9000 m is out of range, give -430 to 5000 m; a shop's height above the sea"
    )
    assert isinstance(error, ValueError)
