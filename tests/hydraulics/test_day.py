"""The day of a board against EPANET, against steps of ten seconds, and against what can be worked out by hand.

Shop figures are invented demo data.
"""

from __future__ import annotations

import random
from pathlib import Path

import epanet.toolkit as en
import numpy as np
import pytest
import scipy.stats

from estimator.hydraulics.day import (
    QUANTILES,
    Alone,
    BoardRun,
    ByCount,
    Contents,
    Filling,
    TankFill,
    simulate,
)
from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.mixture import parts_of, share_of
from estimator.hydraulics.simultaneous import Guns, poisson_binomial_pmf
from estimator.hydraulics.sprays import Draws, LineSprays, given_draws, thrown_draws
from estimator.hydraulics.tank import TankLevels, tank
from tests.work import calls_of

L_MIN = 1.0 / 60000.0
LITRE = 1e-3


def _line(number: int, share: float, flow: float, spray_s: float) -> LineSprays:
    return LineSprays((Guns(number, share, flow * L_MIN),), spray_s)


def _one(fill: TankFill, draws: Draws, litres: float = 30.0) -> BoardRun:
    return simulate([tank(litres * LITRE)], fill, draws)


# By hand


def test_long_sprays_of_a_few_guns_empty_a_tank_that_short_ones_do_not() -> None:
    # Four guns of 1.6 L/min, open a quarter of the time: 1.6 L/min on average against a refill of 2.0 L/min and 30 L.
    # Sprays of nine minutes make it run dry on 95 days in a hundred; taken as sprays of a minute, on next to none.
    fill = Alone((2.0 * L_MIN,), (64.0,))
    long = _one(fill, thrown_draws((_line(4, 0.25, 1.6, 540.0),), 9.0, 2000, 1)).tanks[0]
    assert long.dry == pytest.approx(0.95, abs=0.015) and long.dry_low < long.dry < long.dry_high
    assert long.drawn_m3 + long.missing_m3 == pytest.approx(1.6 * 540 * LITRE, rel=0.01)
    short = _one(fill, thrown_draws((_line(4, 0.25, 1.6, 60.0),), 9.0, 2000, 1)).tanks[0]
    assert short.dry < 0.004


def test_nothing_drawn_never_dry() -> None:
    found = _one(Alone((0.0,), (64.0,)), thrown_draws((_line(4, 0.0, 1.6, 60.0),), 9.0, 100, 1)).tanks[0]
    assert (found.dry, found.dry_high, found.never, found.drawn_m3) == (0.0, 0.0, True, 0.0)
    assert found.lowest_m3 == pytest.approx(28.5 * LITRE) and found.mixture.parts_water == (64.0,) * len(
        QUANTILES
    )


def test_filling_stops_when_full_and_starts_again_at_the_start_level() -> None:
    # By hand: 1 L/min drawn in hours 1, 3 and 4, refill 0.9, levels 70 and 95 L. Full again in hour 2, filling is off
    # until 70 L (25 min of hour 3), then 95 min at -0.1 L/min: 60.5 L.
    changes = [(3600.0, 0, -L_MIN), (7200.0, 0, L_MIN)]
    found = simulate(
        [TankLevels(100 * LITRE, 70 * LITRE, 95 * LITRE)],
        Alone((0.9 * L_MIN,), (64.0,)),
        given_draws(1, [L_MIN], changes, 14400.0),
    ).tanks[0]
    assert found.dry == 0.0 and found.fills == 2.0
    assert found.lowest_m3 == pytest.approx(60.5 * LITRE, rel=1e-12)


def test_a_gun_that_is_always_open_is_one_draw_without_changes() -> None:
    draws = thrown_draws((_line(3, 1.0, 1.2, 60.0),), 9.0, 50, 1)
    assert draws.begin_m3_s == pytest.approx(np.full((1, 50), 3.6 * L_MIN))
    assert draws.at_s.shape == (50, 1) or not draws.by_m3_s.any()


def test_a_steady_draw_below_the_refill_never_dry() -> None:
    found = _one(Alone((1.7 * L_MIN,), (64.0,)), given_draws(1, [1.6 * L_MIN], [], 9 * 3600.0)).tanks[0]
    assert found.never and found.dry == 0.0 and found.missing_m3 == 0.0
    assert found.lowest_m3 == pytest.approx(21.0 * LITRE, rel=1e-12)


def test_a_steady_draw_above_the_refill_is_missing_from_a_time_that_is_known() -> None:
    # 28.5 L down to 21 at 2 L/min, 3.75 min; then at 1 L/min net, empty after 24.75 min; then 1 L/min is missing.
    found = _one(Alone((1.0 * L_MIN,), (64.0,)), given_draws(1, [2.0 * L_MIN], [], 7200.0))
    one = found.tanks[0]
    assert one.dry == 1.0 and not one.never and one.lowest_m3 == 0.0
    assert one.missing_m3 == pytest.approx((120.0 - 24.75) * LITRE, rel=1e-12)
    assert one.drawn_m3 == pytest.approx((240.0 - 95.25) * LITRE, rel=1e-12)
    assert one.filling == pytest.approx((120.0 - 3.75) / 120.0, rel=1e-12) and one.fills == 1.0


def test_two_that_fill_together_share_the_water_and_get_a_weaker_mixture() -> None:
    # Both stand at the start level and nothing is drawn: 7.5 L at 3 L/min each take 150 s, of 100:1 instead of 50:1.
    fill = ByCount((4.0 * L_MIN, 3.0 * L_MIN), (50.0, 100.0))
    begin = Contents(
        np.full((2, 1), tank(0.030).fill_start_m3), share_of([[50.0], [50.0]]), np.zeros((2, 1), np.bool_)
    )
    found = simulate([tank(0.030)] * 2, fill, given_draws(2, [0.0, 0.0], [], 600.0), begin)
    assert found.at_once == pytest.approx((0.75, 0.0, 0.25), abs=1e-12)
    assert found.sets == pytest.approx({(): 0.75, (0, 1): 0.25}, abs=1e-12)
    wanted = (21.0 / 51.0 + 7.5 / 101.0) / 28.5
    assert found.evening.share[:, 0] == pytest.approx([wanted, wanted], rel=1e-12)
    assert found.tanks[0].mixture.leanest == pytest.approx(1.0 / wanted - 1.0, rel=1e-9)
    assert found.most_at_once(0.7) == 0 and found.most_at_once() == 2


def test_a_set_that_gets_nothing_waits_for_ever_and_says_so() -> None:
    fill = ByCount((2.0 * L_MIN, 0.0), (64.0, 64.0))
    draws = given_draws(2, [1.0 * L_MIN, 1.0 * L_MIN], [], 7200.0)
    found = simulate([tank(0.030)] * 2, fill, draws)
    assert all(t.dry == 1.0 and t.filled_m3 == 0.0 for t in found.tanks)
    assert found.at_once[2] == pytest.approx(1.0 - 7.5 / 120.0)


# Balances

BUSY = (_line(6, 0.15, 1.2, 60.0), _line(4, 0.25, 1.6, 400.0), _line(3, 0.1, 2.5, 90.0))
SHARED = ByCount((2.4 * L_MIN, 2.0 * L_MIN, 1.6 * L_MIN), (64.0, 80.0, 120.0))
BOARD = (tank(0.030), tank(0.040), tank(0.020))


def test_volume_and_concentrate_balance() -> None:
    draws = thrown_draws(BUSY, 9.0, 300, 2)
    begin = Contents(np.array([[0.028], [0.038], [0.019]]), np.full((3, 1), 0.02), np.zeros((3, 1), np.bool_))
    flow, share = np.array([3.0, 2.5, 2.0]) * L_MIN, share_of([64.0, 30.0, 200.0])
    found = simulate(BOARD, Alone(tuple(flow), tuple(parts_of(share))), draws, begin)
    for at, one in enumerate(found.tanks):
        level = found.evening.level_m3[at]
        gained = level.mean() - begin.level_m3[at, 0]
        assert one.filled_m3 - one.drawn_m3 == pytest.approx(gained, abs=1e-12)
        kept = (level * found.evening.share[at]).mean() - begin.level_m3[at, 0] * 0.02
        drawn = one.drawn_m3 / (1.0 + one.mixture.mean_parts_water)
        assert one.filled_m3 * share[at] - drawn == pytest.approx(kept, abs=1e-12)
        assert one.filling * 9 * 3600 * flow[at] == pytest.approx(one.filled_m3, rel=1e-9)
        asked = draws.begin_m3_s[at] * draws.end_s
        asked = asked + (draws.by_m3_s * (draws.end_s - draws.at_s) * (draws.tank == at)).sum(axis=1)
        assert one.drawn_m3 + one.missing_m3 == pytest.approx(asked.mean(), rel=1e-9)
        assert level.min() >= 0.0 and level.max() <= BOARD[at].fill_stop_m3 + 1e-12


def test_the_morning_goes_on_where_the_evening_ended() -> None:
    rising = [(60.0 * k, k % 2, (0.4 if k % 4 < 2 else -0.4) * L_MIN) for k in range(2, 200)]
    whole = simulate(BOARD[:2], SHARED, given_draws(2, [1.0 * L_MIN, 0.5 * L_MIN], rising, 14400.0))
    half = simulate(BOARD[:2], SHARED, given_draws(2, [1.0 * L_MIN, 0.5 * L_MIN], rising, 5000.0))
    now = [1.0 * L_MIN, 0.5 * L_MIN]
    for at, which, more in rising:
        now[which] += more if at < 5000.0 else 0.0
    later = [(at - 5000.0, which, more) for at, which, more in rising if at >= 5000.0]
    rest = simulate(BOARD[:2], SHARED, given_draws(2, now, later, 9400.0), half.evening)
    assert rest.evening.level_m3 == pytest.approx(whole.evening.level_m3, rel=1e-9)
    assert rest.evening.share == pytest.approx(whole.evening.share, rel=1e-9)


def test_tanks_that_do_not_feel_each_other_are_as_if_alone() -> None:
    # More of them than are asked for in advance, so that sets are asked for as they are met.
    lines = tuple(_line(2 + k % 3, 0.1 + 0.05 * k, 1.0 + 0.1 * k, 60.0 + 10.0 * k) for k in range(9))
    fill = Alone(tuple((1.5 + 0.2 * k) * L_MIN for k in range(9)), tuple(20.0 + 10.0 * k for k in range(9)))
    together = simulate([tank(0.025)] * 9, fill, thrown_draws(lines, 4.0, 60, 8))
    filling = [t.filling for t in together.tanks]
    for at in range(9):
        others = tuple(line if k == at else LineSprays(()) for k, line in enumerate(lines))
        alone = simulate([tank(0.025)] * 9, fill, thrown_draws(others, 4.0, 60, 8)).tanks[at]
        assert alone.drawn_m3 == pytest.approx(together.tanks[at].drawn_m3, rel=1e-9)
        assert alone.filling == pytest.approx(filling[at], abs=1e-9)
    assert sum(together.at_once) == pytest.approx(1.0, abs=1e-12)
    assert sum(n * share for n, share in enumerate(together.at_once)) == pytest.approx(sum(filling), abs=1e-9)


def test_how_many_fill_at_once_where_tanks_do_not_feel_each_other() -> None:
    # Computed with scipy 1.17 for these shares of time filling: two or more fill at once 2.52100e-4 of the time.
    some = [0.0209, 0.0024, 0.0050, 0.0012, 0.0018]
    pmf = poisson_binomial_pmf(some)
    assert 1.0 - pmf[0] - pmf[1] == pytest.approx(2.52100e-4, rel=1e-5)
    assert scipy.stats.poisson_binom(some).sf(1) == pytest.approx(2.52100e-4, rel=1e-5)
    # And a simulated board has the shares of its own tanks' convolution, but for what the dice do.
    found = simulate(BOARD, Alone((6.0 * L_MIN,) * 3, (64.0,) * 3), thrown_draws(BUSY, 9.0, 1000, 6))
    expected = poisson_binomial_pmf([t.filling for t in found.tanks])
    # They all begin the day full, so the first minutes are quieter together than by chance.
    assert found.at_once == pytest.approx(expected, rel=0.05, abs=2e-3)


# Against steps of ten seconds


def in_steps(
    board: tuple[TankLevels, ...], fill: TankFill, draws: Draws, step_s: float
) -> dict[str, np.ndarray]:
    """The same day by brute force: levels are looked at every step, and each step's draw is what was asked for."""
    tanks, days = draws.begin_m3_s.shape
    starts = np.array([[t.fill_start_m3] for t in board])
    stops = np.array([[t.fill_stop_m3] for t in board])
    level = np.repeat(stops, days, axis=1)
    alone = [float(fill(np.eye(tanks, dtype=np.bool_)).share[k, k]) for k in range(tanks)]
    held = level * np.array(alone)[:, None]
    filling = np.zeros((tanks, days), np.bool_)
    drawn, filled, content, missing = (np.zeros((tanks, days)) for _ in range(4))
    for asked in _asked(draws, step_s):
        filling = (filling | (level <= starts)) & (level < stops)
        given = fill(filling.T)
        coming = np.where(filling, given.flow_m3_s.T, 0.0) * step_s
        share = np.divide(held, level, out=given.share.T.copy(), where=level > 1e-9)
        out = np.minimum(asked, level + coming)
        held = np.maximum(held + coming * given.share.T - out * share, 0.0)
        level = level + coming - out
        drawn, filled, content = drawn + out, filled + coming, content + out * share
        missing = missing + asked - out
    return {"drawn": drawn, "filled": filled, "content": content, "missing": missing}


def _asked(draws: Draws, step_s: float) -> np.ndarray:
    """Volume asked for (steps, tanks, days) [m3]: the integral of the draw, between the edges of the steps."""
    tanks, days = draws.begin_m3_s.shape
    edges = np.arange(round(draws.end_s / step_s) + 1) * step_s
    asked = np.empty((edges.size - 1, tanks, days))
    for at in range(tanks):
        for day in range(days):
            more = np.where(draws.tank[day] == at, draws.by_m3_s[day], 0.0)
            rate = draws.begin_m3_s[at, day] + np.concatenate([[0.0], np.cumsum(more)[:-1]])
            times = np.concatenate([[0.0], draws.at_s[day]])
            volume = np.concatenate([[0.0], np.cumsum(rate * np.diff(times))])
            asked[:, at, day] = np.diff(np.interp(edges, times, volume))
    return asked


def test_against_steps_on_the_same_draws() -> None:
    draws = thrown_draws(BUSY, 9.0, 60, 3)
    found, steps = simulate(BOARD, SHARED, draws), in_steps(BOARD, SHARED, draws, 10.0)
    assert found.tanks[1].dry > 0.1  # a board that decides something
    for at, one in enumerate(found.tanks):
        assert one.drawn_m3 == pytest.approx(steps["drawn"][at].mean(), rel=1e-3)
        assert one.filled_m3 == pytest.approx(steps["filled"][at].mean(), rel=2e-3)
        mixed = parts_of(steps["content"][at].sum() / steps["drawn"][at].sum())
        assert one.mixture.mean_parts_water == pytest.approx(float(mixed), rel=5e-3)
        assert one.dry == pytest.approx((steps["missing"][at] > 1e-6).mean(), abs=0.04)
    # Steps of two seconds are nearer: what is left is the steps' own.
    finer = in_steps(BOARD, SHARED, draws, 2.0)
    for at, one in enumerate(found.tanks):
        assert one.filled_m3 == pytest.approx(finer["filled"][at].mean(), rel=1e-3)


def test_dry_chance_against_guns_thrown_one_by_one() -> None:
    # Other dice, other code: each gun is asked every ten seconds, and opens by a chance that has no memory.
    lines = ((4, 0.25, 1.6, 300.0), (3, 0.3, 1.2, 400.0))
    board = (tank(0.030), tank(0.020))
    fill = ByCount((2.4 * L_MIN, 1.7 * L_MIN), (64.0, 90.0))
    days = 4000
    found = simulate(board, fill, thrown_draws(tuple(_line(*line) for line in lines), 4.0, days, 12))
    dice, trials, step_s = random.Random(5), 400, 10.0
    dry = [0, 0]
    content, volume = [0.0, 0.0], [0.0, 0.0]
    for _ in range(trials):
        level, filling, ran = [28.5, 19.0], [False, False], [False, False]
        share = [1.0 / 65.0, 1.0 / 65.0]
        left = [[dice.random() * s if dice.random() < p else 0.0 for _ in range(n)] for n, p, _, s in lines]
        for _ in range(round(4 * 3600 / step_s)):
            for at, one in enumerate(board):
                filling[at] = (filling[at] or level[at] <= 1000.0 * one.fill_start_m3) and (
                    level[at] < 1000.0 * one.fill_stop_m3 - 1e-9
                )
            many = sum(filling)
            for at, (_, p, flow, spray_s) in enumerate(lines):
                opens = step_s * p / (1.0 - p) / spray_s
                asked = 0.0
                for gun, s in enumerate(left[at]):
                    if s <= 0.0 and dice.random() < opens:
                        left[at][gun] = spray_s
                    if left[at][gun] > 0.0:
                        asked += flow * min(step_s, left[at][gun]) / 60.0
                        left[at][gun] -= step_s
                coming = (2.4, 1.7)[many - 1] * step_s / 60.0 if filling[at] else 0.0
                out = min(asked, level[at] + coming)
                ran[at] = ran[at] or out < asked - 1e-9
                content[at] += out * share[at]
                volume[at] += out
                if coming > 0.0:
                    strong = 1.0 / (65.0 if many == 1 else 91.0)
                    share[at] = (level[at] * share[at] + coming * strong) / (level[at] + coming)
                level[at] += coming - out
        dry = [count + one for count, one in zip(dry, ran, strict=True)]
    for at, run in enumerate(found.tanks):
        theirs = dry[at] / trials
        assert 0.02 < theirs < 0.98
        spread = 4.0 * (theirs * (1.0 - theirs) * (1.0 / trials + 1.0 / days)) ** 0.5
        assert run.dry == pytest.approx(theirs, abs=spread)
        assert run.drawn_m3 == pytest.approx(volume[at] / trials * LITRE, rel=0.03)
        assert run.mixture.mean_parts_water == pytest.approx(volume[at] / content[at] - 1.0, rel=5e-3)


# Against EPANET


def _epanet_day(
    folder: Path, draw_l_min: list[list[float]], refill: list[float]
) -> tuple[np.ndarray, np.ndarray]:
    """Levels [L] and shares of concentrate [-] every minute by EPANET 2.3 (owa-epanet): two tanks of 30 L, stirred, of
    plain water at first, that fill from 21 to 28.5 L through a tight tube from so high up that the level in the tank
    is nothing to it; draws by the minute."""
    area, high_m, bore_m = 0.25 * np.pi * 0.25**2, 5000.0, 0.010
    start, stop, rim = (v / 1000.0 / area for v in (21.0, 28.5, 30.0))
    names = ("JUNCTIONS", "RESERVOIRS", "TANKS", "PIPES", "CONTROLS", "PATTERNS", "QUALITY", "MIXING")
    sections: dict[str, list[str]] = {name: [] for name in names}
    for k, (draw, flow) in enumerate(zip(draw_l_min, refill, strict=True)):
        velocity = flow * L_MIN / (0.25 * np.pi * bore_m**2)
        sections["RESERVOIRS"] += [f"R{k} {high_m}"]
        sections["JUNCTIONS"] += [f"C{k} -5 1 P{k}"]
        sections["TANKS"] += [f"T{k} 0 {stop:.9f} 0 {rim:.9f} 0.25 0"]
        sections["PIPES"] += [
            f"fill{k} R{k} T{k} 0.001 10 130 {2.0 * 9.80665 * high_m / velocity**2:.6f} CLOSED",
            f"use{k} T{k} C{k} 0.1 10 130 0 OPEN",
        ]
        sections["CONTROLS"] += [
            f"LINK fill{k} OPEN IF NODE T{k} BELOW {start:.9f}",
            f"LINK fill{k} CLOSED IF NODE T{k} ABOVE {stop:.9f}",
        ]
        sections["PATTERNS"] += [
            f"P{k} " + " ".join(str(q) for q in draw[i : i + 10]) for i in range(0, len(draw), 10)
        ]
        sections["QUALITY"] += [f"R{k} {20.0 * (k + 1)}"]
        sections["MIXING"] += [f"T{k} MIXED"]
    # Somewhere else water runs all the time: EPANET measures how well it is balanced against the sum of all flows.
    sections["RESERVOIRS"] += ["R 50"]
    sections["JUNCTIONS"] += ["C 0 50"]
    sections["PIPES"] += ["aside R C 1 50 130 0 OPEN"]
    text = "".join(f"[{name}]\n" + "\n".join(rows) + "\n" for name, rows in sections.items())
    text += "[OPTIONS]\nUNITS LPM\nHEADLOSS H-W\nQUALITY Stuff mg/L\nTOLERANCE 0.0001\nACCURACY 1e-5\n"
    text += f"[TIMES]\nDURATION {len(draw_l_min[0])} MIN\nHYDRAULIC TIMESTEP 0:01\nPATTERN TIMESTEP 0:01\n"
    text += "QUALITY TIMESTEP 0:00:01\nREPORT TIMESTEP 0:01\n[END]\n"
    path = folder / "day.inp"
    path.write_text(text, encoding="ascii")
    project = en.createproject()
    en.open(project, str(path), str(folder / "day.rpt"), str(folder / "day.bin"))
    nodes = [en.getnodeindex(project, f"T{k}") for k in range(len(refill))]
    levels: list[list[float]] = []
    shares: list[list[float]] = []
    en.solveH(project)
    en.openQ(project)
    en.initQ(project, 0)
    while True:
        if en.runQ(project) == 60 * len(levels):
            levels.append([1000.0 * area * en.getnodevalue(project, n, en.PRESSURE) for n in nodes])
            shares.append([1e-3 * en.getnodevalue(project, n, en.QUALITY) for n in nodes])
        if en.nextQ(project) <= 0:
            break
    en.close(project)
    en.deleteproject(project)
    return np.array(levels), np.array(shares)


def test_against_an_extended_period_of_epanet(tmp_path: Path) -> None:
    # EPANET 2.3 run here; status: computed. Quality of 20 and 40 mg/L stands for shares of 0.02 and 0.04.
    dice = random.Random(11)
    minutes = 300
    draw = [[dice.choice([0.0, 0.0, 1.2, 2.4]) for _ in range(minutes)] for _ in range(2)]
    levels, shares = _epanet_day(tmp_path, draw, [2.0, 3.0])
    changes = [
        (60.0 * k, at, (draw[at][k] - draw[at][k - 1]) * L_MIN) for k in range(1, minutes) for at in range(2)
    ]
    fill = Alone((2.0 * L_MIN, 3.0 * L_MIN), (49.0, 24.0))
    water = Contents(np.full((2, 1), 28.5 * LITRE), np.zeros((2, 1)), np.zeros((2, 1), np.bool_))
    drawn = np.cumsum(np.array(draw).sum(axis=1))
    assert len(levels) > minutes - 2
    for upto in (60, 150, 240, minutes - 1):
        draws = given_draws(2, [draw[at][0] * L_MIN for at in range(2)], changes, 60.0 * upto)
        found = simulate([tank(0.030)] * 2, fill, draws, water)
        # To a thousandth of what was drawn until then, but no finer than the second that EPANET's controls keep.
        for at in range(2):
            assert 1000.0 * found.evening.level_m3[at, 0] == pytest.approx(
                levels[upto][at], abs=max(1e-3 * sum(draw[at][:upto]), 0.06)
            )
            assert found.evening.share[at, 0] == pytest.approx(shares[upto][at], rel=5e-3, abs=2e-5)
    assert drawn[-1] > 300.0


# Bad input and work


def test_says_what_is_wrong() -> None:
    draws = given_draws(1, [1e-5], [], 3600.0)
    with pytest.raises(OutOfRange, match="draws tanks"):
        simulate([tank(0.03)] * 2, Alone((1e-5,) * 2, (64.0,) * 2), draws)
    with pytest.raises(OutOfRange, match="fill flow_m3_s"):
        _one(Alone((float("nan"),), (64.0,)), draws)
    with pytest.raises(OutOfRange, match="fill flow_m3_s"):
        _one(Alone((-1e-5,), (64.0,)), draws)
    with pytest.raises(OutOfRange, match="fill share"):
        _one(lambda sets: Filling(np.full(sets.shape, 1e-5), np.full(sets.shape, 2.0)), draws)
    full = Contents(np.full((1, 1), 0.05), np.full((1, 1), 0.02), np.zeros((1, 1), np.bool_))
    with pytest.raises(OutOfRange, match="begin level_m3"):
        simulate([tank(0.03)], Alone((1e-5,), (64.0,)), draws, full)
    with pytest.raises(OutOfRange, match="tanks"):
        simulate(
            [tank(0.03)] * 61,
            Alone((1e-5,) * 61, (64.0,) * 61),
            thrown_draws((LineSprays(()),) * 61, 1.0, 1, 1),
        )


def test_a_board_without_tanks_and_water_that_makes_plain_water() -> None:
    nothing = simulate([], Alone((), ()), thrown_draws((), 9.0, 10, 1))
    assert nothing.tanks == () and nothing.at_once == (1.0,)
    plain = _one(
        ByCount((2.0 * L_MIN,), (float("inf"),)), thrown_draws((_line(2, 0.3, 1.2, 60.0),), 9.0, 20, 1)
    )
    assert plain.tanks[0].mixture.mean_parts_water == float("inf")


def test_all_days_run_as_one_batch() -> None:
    """No loop over days: fifty times as many days cost a few events more each, not fifty times the work."""
    few, many = thrown_draws(BUSY, 4.0, 20, 5), thrown_draws(BUSY, 4.0, 1000, 5)
    assert calls_of(lambda: simulate(BOARD, SHARED, many)) < 2.0 * calls_of(
        lambda: simulate(BOARD, SHARED, few)
    )
