"""Guns that open and shut at random. Shop figures are invented demo data."""

from __future__ import annotations

import numpy as np
import pytest

from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.simultaneous import Guns
from estimator.hydraulics.sprays import (
    Die,
    Draws,
    LineSprays,
    days_that_fit,
    given_draws,
    openings,
    openings_alike,
    thrown_draws,
)
from tests.work import calls_of

L_MIN = 1.0 / 60000.0


def _line(number: int, share: float, flow: float, spray_s: float) -> LineSprays:
    return LineSprays((Guns(number, share, flow * L_MIN),), spray_s)


def _drawn(draws: Draws, tank: int, from_s: float, to_s: float) -> np.ndarray:
    """Volume by day [m3] between two times: each change counts from when it comes."""

    def upto(end_s: float) -> np.ndarray:
        more = draws.by_m3_s * np.clip(end_s - draws.at_s, 0.0, None) * (draws.tank == tank)
        return np.asarray(draws.begin_m3_s[tank] * end_s + more.sum(axis=1))

    return np.asarray(upto(to_s) - upto(from_s))


@pytest.mark.parametrize(("share", "spray_s"), [(0.02, 45.0), (0.25, 540.0), (0.7, 60.0), (0.97, 300.0)])
def test_every_hour_has_the_share_of_time_asked_for(share: float, spray_s: float) -> None:
    # Analytic (renewal process): the expected time open in any stretch of the day is the share of it.
    draws = thrown_draws((_line(3, share, 1.2, spray_s),), 9.0, 1500, 5)
    for hour in (0, 4, 8):
        drawn = _drawn(draws, 0, 3600.0 * hour, 3600.0 * (hour + 1))
        expected = 3.0 * share * 1.2 * L_MIN * 3600.0
        assert drawn.mean() == pytest.approx(expected, abs=5.0 * drawn.std() / 1500**0.5)


def test_every_spray_is_as_long_as_its_line_says() -> None:
    draws = thrown_draws((_line(1, 0.3, 1.2, 75.0),), 9.0, 200, 1)
    for day in range(200):
        changes = [
            (at, by)
            for at, by in zip(draws.at_s[day].tolist(), draws.by_m3_s[day].tolist(), strict=True)
            if by
        ]
        opened = [at for at, by in changes if by > 0.0]
        shut = [at for at, by in changes if by < 0.0]
        if draws.begin_m3_s[0, day] > 0.0:
            assert shut.pop(0) <= 75.0
        for start, end in zip(opened, shut, strict=False):
            assert end - start == pytest.approx(75.0, abs=1e-5)
        assert 0 <= len(opened) - len(shut) <= 1


def test_times_shut_are_exponential() -> None:
    # Mean and spread of an exponential are equal: texts on probability. Spray 60 s at 0.2: shut for 240 s.
    draws = thrown_draws((_line(1, 0.2, 1.0, 60.0),), 24.0, 300, 9)
    shut_s = []
    for day in range(300):
        at, by = draws.at_s[day], draws.by_m3_s[day]
        ends, starts = at[by < 0.0], at[by > 0.0]
        shut_s += [float(starts[starts > end][0] - end) for end in ends if (starts > end).any()]
    many = np.array(shut_s)
    assert many.mean() == pytest.approx(240.0, rel=0.02) and many.std() == pytest.approx(240.0, rel=0.03)


def test_what_one_line_does_does_not_depend_on_the_others() -> None:
    one, other = _line(2, 0.2, 1.2, 60.0), _line(5, 0.4, 2.0, 90.0)
    alone, both = thrown_draws((one,), 3.0, 50, 4), thrown_draws((one, other), 3.0, 50, 4)
    assert _drawn(alone, 0, 0.0, 7000.0) == pytest.approx(_drawn(both, 0, 0.0, 7000.0), rel=1e-12)
    again = thrown_draws((_line(2, 0.2, 1.2, 60.0),), 3.0, 50, 5)
    assert (_drawn(alone, 0, 0.0, 7000.0) != _drawn(again, 0, 0.0, 7000.0)).any()


def test_quiet_hours_have_their_share() -> None:
    draws = thrown_draws((_line(4, 0.5, 1.0, 60.0),), 4.0, 2000, 3, (1.0, 0.5, 0.0, 0.25))
    hours = [_drawn(draws, 0, 3600.0 * h, 3600.0 * (h + 1)).mean() / (4.0 * 60e-3) for h in range(4)]
    # Sprays that began in an hour end in the next: a minute of the hour at most, and the gun gets used to its new rate.
    assert hours == pytest.approx([0.5, 0.25, 0.005, 0.12], abs=0.02)


def test_always_and_never_open() -> None:
    # Always open is opened anew after each spray, at once: to a millionth of the volume.
    always = thrown_draws((_line(2, 1.0, 1.0, 60.0),), 2.0, 10, 1)
    assert _drawn(always, 0, 0.0, 7200.0) == pytest.approx(np.full(10, 240e-3), rel=1e-6)
    for line in (_line(2, 0.0, 1.0, 60.0), _line(2, 0.5, 0.0, 60.0), LineSprays(())):
        never = thrown_draws((line,), 2.0, 10, 1)
        assert (_drawn(never, 0, 0.0, 7200.0) == 0.0).all()
    assert thrown_draws((), 2.0, 10, 1).begin_m3_s.shape == (0, 10)


def test_all_days_are_thrown_as_one_batch() -> None:
    line = (_line(6, 0.2, 1.2, 60.0),)
    few = calls_of(lambda: thrown_draws(line, 9.0, 20, 77))
    many = calls_of(lambda: thrown_draws(line, 9.0, 400, 78))
    assert many < 1.3 * few


@pytest.mark.parametrize(
    ("hours", "days", "profile", "field"),
    [
        (0.0, 100, (), "hours"),
        (25.0, 100, (), "hours"),
        (9.0, 0, (), "days"),
        (9.0, 100, (2.0,) * 9, "profile"),
        (9.0, 100, (1.0,), "hours"),
        (24.0, 100_000, (), "changes"),
    ],
)
def test_says_what_is_wrong(hours: float, days: int, profile: tuple[float, ...], field: str) -> None:
    with pytest.raises(OutOfRange, match=field):
        thrown_draws((_line(9, 0.5, 1.0, 60.0),), hours, days, 1, profile)


def test_a_line_says_what_is_wrong() -> None:
    for bad in ((-1, 0.5, 1.0, 60.0), (1, 1.5, 1.0, 60.0), (1, 0.5, -1.0, 60.0), (1, 0.5, 1.0, 0.0)):
        with pytest.raises(OutOfRange):
            _line(*bad)
    with pytest.raises(OutOfRange, match="changes tank"):
        given_draws(1, [0.0], [(1.0, 1, 1e-5)], 60.0)
    lines = (_line(9, 0.5, 1.0, 60.0),)
    days = days_that_fit(lines, 24.0, 100_000)
    assert 100 < days < 100_000 and thrown_draws(lines, 24.0, days // 50, 1).at_s.shape[0] == days // 50


def test_lines_thrown_together_open_as_each_does_by_itself() -> None:
    """To the same bits, whatever the guns of the others do: busy, rare, always open, of no draw, none at all."""
    dice = np.random.default_rng(11)
    many = []
    for at in range(40):
        chances = dice.choice([0.001, 0.02, 0.3, 0.999, 1.0], at % 4)
        many.append(
            tuple(
                Die(at % 2, k + 1, float(p), float(dice.choice([1.0, 60.0, 3000.0])))
                for k, p in enumerate(chances)
            )
        )
    seen = {
        place: (n, some) for places, some in openings_alike(many, 3.0, 5, 9) for n, place in enumerate(places)
    }
    assert sorted(seen) == list(range(40))
    for at, alone in enumerate(many):
        n, some = seen[at]
        own = openings(alone, 3.0, 5, 9)
        changes = own.at_s.shape[1]
        assert np.array_equal(some.begin[n], own.begin)
        for together, by_itself in ((some.at_s, own.at_s), (some.sign, own.sign), (some.gun, own.gun)):
            assert np.array_equal(together[n][:, :changes], by_itself)
        assert (some.at_s[n][:, changes:] == 3.0 * 3600.0).all() and not some.sign[n][:, changes:].any()
    assert len({id(some) for _, some in seen.values()}) < 40, "some were thrown together"
