"""A day tank and its levels. Shop figures are invented demo data."""

from __future__ import annotations

import pytest

from estimator.hydraulics import tank as tk
from estimator.hydraulics.limits import OutOfRange


def test_levels_are_shares_of_the_volume() -> None:
    made = tk.tank(0.060, 0.5, 1.0)
    assert (made.volume_m3, made.fill_start_m3, made.fill_stop_m3) == (0.060, 0.030, 0.060)


def test_bad_tank_names_the_field() -> None:
    with pytest.raises(OutOfRange, match="volume_m3"):
        tk.tank(0.0)
    with pytest.raises(OutOfRange, match="fill_start_m3"):
        tk.TankLevels(0.06, 0.05, 0.04)
    with pytest.raises(OutOfRange, match="fill_start_m3"):
        tk.TankLevels(0.06, -0.01, 0.04)
    with pytest.raises(OutOfRange, match="fill_stop_m3"):
        tk.TankLevels(0.06, 0.01, 0.07)
