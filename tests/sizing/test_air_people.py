"""Compressed air is asked for by people. Gannet Quay (invented): three bays, six blow guns of 200 L/min, foam guns."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest

from estimator.sizing.air_line import AirGun, Crew
from estimator.study import Study
from tests.sizing.conftest import rules

Studied = Callable[..., Study]
L_MIN = 1.0 / 60000.0
NO_LEAKS = (("site", "air", "leak_percent"), Decimal(0))


def _asked(made: Study) -> float:
    assert made.proof.air is not None
    return made.proof.air.demand_m3_s / L_MIN


def test_a_compressor_for_one_blow_gun_is_not_good_for_six(studied: Studied) -> None:
    # Who blows finds one of the other two at it in more than one of a hundred moments.
    made = studied(NO_LEAKS, (("site", "air", "free_air"), "243 L/min"))
    assert "compressor-too-small" in rules(made)
    assert _asked(made) >= 400.0


def test_with_hardly_any_vehicles_the_largest_gun_still_runs(studied: Studied) -> None:
    made = studied(NO_LEAKS, (("site", "use", "vehicles_per_hour"), 0.2))
    # Blow gun and, at most, one foam gun with its pump beside it.
    assert 200.0 <= _asked(made) < 360.0
    short = studied(
        NO_LEAKS, (("site", "use", "vehicles_per_hour"), 0.2), (("site", "air", "free_air"), "190 L/min")
    )
    assert "compressor-too-small" in rules(short)


def test_a_stated_number_of_guns_is_that_many_held(studied: Studied) -> None:
    asked = [_asked(studied((("site", "use", "guns_open"), n))) for n in (1, 2, 3, 5, 6, 50)]
    assert asked == sorted(asked)
    assert asked[2] >= 600.0 and asked[4] >= 1200.0
    assert asked[5] == pytest.approx(asked[4])  # there are no more than six


def test_three_people_hold_three_guns_at_most(studied: Studied) -> None:
    # However busy: two hundred vehicles an hour keep more people at work than there are bays, and every gun open.
    busy = [_asked(studied((("site", "use", "vehicles_per_hour"), v))) for v in (0.2, 1.5, 4.0, 12.0, 200.0)]
    assert busy == sorted(busy)
    assert busy[1] <= 3.0 * 200.0 and busy[4] >= 6.0 * 200.0


def test_of_many_people_it_goes_on_the_safe_side() -> None:
    # Where guns count instead of people no less is asked for, the busier they are the more, and never more than all.
    for chance in (0.02, 0.1, 0.3):
        guns = [AirGun("a", chance, 200.0, 0.0)] * 30 + [AirGun("b", chance, 90.0, 10.0)] * 20
        few, many = (
            crew.asks((g, g.own_m3_s + g.pump_m3_s) for g in guns)
            for crew in (Crew(20, None), Crew(21, None))
        )
        assert few <= many <= 1.3 * few
    all_open = [AirGun("a", 1.0, 200.0, 0.0)] * 30
    assert Crew.of(3, all_open, None).people == 30
    assert Crew(30, None).asks((g, g.own_m3_s) for g in all_open) == pytest.approx(6000.0)
    assert Crew(21, 3).asks((g, g.own_m3_s) for g in all_open) >= 600.0
    assert Crew(3, None).asks(()) == 0.0
