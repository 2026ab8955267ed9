"""Day tank over a day. Shop figures are invented demo data."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.hydraulics import tank as tk
from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.simultaneous import Guns
from tests.work import calls_of

L_MIN = 1.0 / 60000.0
LITRE = 1e-3


def test_without_refill_it_is_a_binomial_tail() -> None:
    # Computed with scipy 1.17: no refill, so dry means more than V/(q t) open sprays out of n guns x steps.
    day = tk.ShopDay((Guns(3, 0.2, 1.0 * L_MIN),), 0.0, hours=2.0, days=20_000)
    for litres in (65.0, 72.5, 80.5):
        one = tk.Tank(litres * LITRE, 0.0, litres * LITRE)
        found = tk.simulate(day, [one])[0]
        exact = float(scipy.stats.binom.sf(math.floor(litres), 3 * 120, 0.2))
        spread = 4.0 * math.sqrt(exact * (1 - exact) / day.days)
        assert found.chance_dry == pytest.approx(exact, abs=spread + 1e-4)
        assert found.upper_95 > found.chance_dry and not found.exact


def test_two_flows_without_refill_match_their_normal_mean() -> None:
    # Mean missing volume of a tank of nothing to speak of is the mean draw: 9 h x (4 x .1 x 1.2 + 2 x .3 x 2)
    # L/min.
    day = tk.ShopDay((Guns(4, 0.1, 1.2 * L_MIN), Guns(2, 0.3, 2.0 * L_MIN)), 0.0, days=2000)
    found = tk.simulate(day, [tk.Tank(1e-9, 0.0, 1e-9)])[0]
    assert found.unmet_m3 == pytest.approx(day.mean_draw_m3_s * 9 * 3600, rel=0.005)
    assert found.chance_dry == 1.0


def test_against_a_plain_simulation() -> None:
    # The same rules written out gun by gun, with other dice.
    day = tk.ShopDay((Guns(6, 0.5, 1.2 * L_MIN),), 3.6 * L_MIN, days=4000)
    one = tk.tank(60.0 * LITRE)
    found = tk.simulate(day, [one])[0]
    dice = random.Random(7)
    dry = 0
    trials = 1500
    for _ in range(trials):
        level, filling, ran_dry = one.fill_stop_m3, False, False
        for _ in range(540):
            filling = filling or level <= one.fill_start_m3
            level += (day.refill_m3_s if filling else 0.0) * 60.0
            level -= sum(1.2 * L_MIN * 60.0 for _ in range(6) if dice.random() < 0.5)
            if level >= one.fill_stop_m3:
                level, filling = one.fill_stop_m3, False
            if level < 0.0:
                ran_dry, level = True, 0.0
        dry += ran_dry
    plain = dry / trials
    assert 0.005 < plain < 0.5  # a case that decides something
    spread = 4.0 * math.sqrt(plain * (1 - plain) * (1 / trials + 1 / day.days))
    assert found.chance_dry == pytest.approx(plain, abs=spread)


def test_same_seed_same_answer_other_seed_other_dice() -> None:
    guns = (Guns(6, 0.5, 1.2 * L_MIN),)
    one = [tk.tank(40.0 * LITRE)]
    first = tk.ShopDay(guns, 4.0 * L_MIN)
    assert tk.simulate(first, one) == tk.simulate(tk.ShopDay(guns, 4.0 * L_MIN), one)
    assert tk.simulate(first, one) != tk.simulate(tk.ShopDay(guns, 4.0 * L_MIN, seed=2), one)


def test_what_cannot_run_dry_is_exact() -> None:
    easy = tk.ShopDay((Guns(3, 0.9, 1.0 * L_MIN),), 3.0 * L_MIN)
    found = tk.simulate(easy, [tk.tank(30.0 * LITRE)])[0]
    assert found.exact and found.chance_dry == 0.0
    assert found.lowest_m3 == pytest.approx((21.0 - 3.0) * LITRE)  # start level less one step of every gun
    big = tk.simulate(tk.ShopDay((Guns(1, 1.0, 0.1 * L_MIN),), 0.0), [tk.tank(100.0 * LITRE)])[0]
    assert big.exact and big.lowest_m3 == pytest.approx((95.0 - 0.1 * 541) * LITRE)


def test_smallest_is_smallest() -> None:
    day = tk.ShopDay((Guns(6, 0.5, 1.2 * L_MIN),), 4.0 * L_MIN)
    choice = tk.smallest_tank(day, [tk.tank(v * LITRE) for v in (120, 30, 60)])
    assert choice.smallest is not None and choice.note == ""
    assert [r.tank.volume_m3 for r in choice.all] == [0.03, 0.06, 0.12]
    for result in choice.all:
        if result.tank.volume_m3 < choice.smallest.tank.volume_m3:
            assert result.chance_dry >= tk.DRY_LIMIT
    assert choice.smallest.chance_dry < tk.DRY_LIMIT


def test_none_is_enough_and_why() -> None:
    day = tk.ShopDay((Guns(6, 0.9, 2.0 * L_MIN),), 2.0 * L_MIN)
    choice = tk.smallest_tank(day, [tk.tank(60 * LITRE)])
    assert choice.smallest is None and "100 % of" in choice.note and "refill of 2 L/min" in choice.note
    balance = tk.busy_hour(day)
    assert not balance.valid and balance.margin < 0.0 and "busy hour" in balance.note
    assert tk.busy_hour(tk.ShopDay(day.guns, 0.0)).margin == -1.0


def test_quiet_hours_draw_less() -> None:
    guns = (Guns(6, 0.5, 1.2 * L_MIN),)
    busy = tk.simulate(tk.ShopDay(guns, 3.7 * L_MIN, hours=4.0), [tk.tank(40 * LITRE)])[0]
    quiet = tk.simulate(
        tk.ShopDay(guns, 3.7 * L_MIN, hours=4.0, profile=(0.5, 1.0, 0.5, 0.25)), [tk.tank(40 * LITRE)]
    )[0]
    assert quiet.chance_dry < busy.chance_dry
    none = tk.simulate(tk.ShopDay(guns, 0.0, hours=4.0, profile=(0.0,) * 4), [tk.tank(40 * LITRE)])[0]
    assert none.chance_dry == 0.0 and none.unmet_m3 == 0.0


@given(st.integers(1, 8), st.floats(0.0, 1.0), st.floats(0.1, 3.0), st.floats(0.0, 6.0))
@settings(max_examples=25, deadline=None)
def test_bigger_tank_same_switch_never_runs_dry_more(n: int, p: float, flow: float, refill: float) -> None:
    # With filling started by the same volume drawn, a bigger tank only adds reserve: exact on the same dice.
    day = tk.ShopDay((Guns(n, p, flow * L_MIN),), refill * L_MIN, hours=3.0, days=200)
    tanks = [tk.Tank(v * LITRE, (v - 12.0) * LITRE, (v - 2.0) * LITRE) for v in (20.0, 40.0, 80.0)]
    found = tk.simulate(day, tanks)
    chances = [r.chance_dry for r in found]
    assert chances == sorted(chances, reverse=True)
    assert all(0.0 <= r.chance_dry <= 1.0 and r.unmet_m3 >= 0.0 and r.lowest_m3 >= 0.0 for r in found)


def _work_of_days(days: int, tanks: int) -> int:
    day = tk.ShopDay((Guns(6, 0.5, 1.2 * L_MIN),), 4.0 * L_MIN, seed=100 + tanks, days=days)
    return calls_of(lambda: tk.simulate(day, [tk.tank(v * LITRE) for v in (30, 60, 120)[:tanks]]))


def test_all_days_run_as_one_batch_so_that_it_sits_behind_an_edit() -> None:
    """No loop over days, and another tank on the same dice is nearly free; `benchmarks/stages.py` times it."""
    assert _work_of_days(2000, 3) == _work_of_days(200, 3)
    assert _work_of_days(1000, 3) < 1.1 * _work_of_days(1000, 1)


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ((-1.0, 9.0, 60.0, (), 1000), "refill_m3_s"),
        ((1e-4, 0.0, 60.0, (), 1000), "hours"),
        ((1e-4, 25.0, 60.0, (), 1000), "hours"),
        ((1e-4, 9.0, 0.0, (), 1000), "open_s"),
        ((1e-4, 9.0, 60.0, (1.5,) * 9, 1000), "profile"),
        ((1e-4, 9.0, 60.0, (1.0,), 1000), "hours"),
        ((1e-4, 9.0, 60.0, (), 5), "days"),
    ],
)
def test_bad_day_names_the_field(
    values: tuple[float, float, float, tuple[float, ...], int], field: str
) -> None:
    with pytest.raises(OutOfRange, match=field):
        tk.ShopDay((Guns(1, 0.1, 1e-5),), *values)


def test_bad_tank_names_the_field() -> None:
    with pytest.raises(OutOfRange, match="volume_m3"):
        tk.tank(0.0)
    with pytest.raises(OutOfRange, match="fill_start_m3"):
        tk.Tank(0.06, 0.05, 0.04)
    with pytest.raises(OutOfRange, match="fill_stop_m3"):
        tk.Tank(0.06, 0.01, 0.07)
    with pytest.raises(ValueError, match="one or more"):
        tk.smallest_tank(tk.ShopDay((), 0.0), [])
    with pytest.raises(OutOfRange, match="probability"):
        tk.ShopDay((Guns(1, 1.5, 1e-5),), 0.0)


def test_dice_by_table_are_the_plain_inverse() -> None:
    rng = np.random.default_rng(3)
    for size in (1, 2, 7, 400):
        weights = rng.random(size)
        cdf = np.cumsum(weights / weights.sum())
        cdf[-1] = 1.0
        dice = np.concatenate((rng.random(20_000), cdf[:-1], np.nextafter(cdf, 0.0), [0.0]))
        assert np.array_equal(tk._outcomes(cdf, dice), np.searchsorted(cdf, dice, side="right"))


def test_filling_stops_when_full_and_starts_again_at_the_start_level() -> None:
    # By hand: 1 L/min drawn in hours 1, 3 and 4, refill 0.9, levels 70 and 95 L. Full again in hour 2,
    # filling is off until 70 L (25 min of hour 3), then 95 min at -0.1 L/min: 60.5 L, to one step of 1 L.
    day = tk.ShopDay((Guns(1, 1.0, 1.0 * L_MIN),), 0.9 * L_MIN, hours=4.0, profile=(1.0, 0.0, 1.0, 1.0))
    found = tk.simulate(day, [tk.Tank(100 * LITRE, 70 * LITRE, 95 * LITRE)])[0]
    assert not found.exact and found.chance_dry == 0.0
    assert found.lowest_m3 == pytest.approx(60.5 * LITRE, abs=1.0 * LITRE)


def test_a_start_level_below_one_step_of_draw_is_not_exact() -> None:
    day = tk.ShopDay((Guns(3, 0.9, 1.0 * L_MIN),), 3.0 * L_MIN)
    found = tk.simulate(day, [tk.Tank(30 * LITRE, 0.5 * LITRE, 28 * LITRE)])[0]
    assert not found.exact and found.chance_dry > 0.5
