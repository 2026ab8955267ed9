"""When guns open and shut in a shop's day, many days at once.

A gun is in one of two states. It stays open for one spray of its line, always as long; it stays shut for a time that
is exponential, so that it is open its share of the time and does not know when it was open last: a vehicle comes when
it comes. At the start of the day each gun is open with its share of the time, with what is left of a spray, so every
hour is like every other. Times are kept in whole millionths of a second; a draw that is asked for twice is the same.

Sources
-------
.. [1] Alternating renewal process: the share of time open is the mean time open over the mean of both; texts on
   stochastic processes.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from estimator.hydraulics.limits import OutOfRange, above_zero, within, zero_or_more
from estimator.hydraulics.simultaneous import Guns

FloatArray = NDArray[np.float64]

SPRAY_RANGE_S: Final = (1.0, 86400.0)
"""Length of one spray taken [s]."""
GUNS_MAX: Final = 4000
"""Guns of all lines together that are taken, -."""
CHANGES_MAX: Final = 5_000_000
"""Openings and shuttings in all days together that are taken, -."""
_TICKS: Final = 2.0**20
"""Ticks in a second: about a millionth."""
_GUN_BITS: Final = 13
_NEVER: Final = 1 << 62


@dataclass(frozen=True, slots=True)
class LineSprays:
    """The guns on one tank.

    ``guns`` groups alike: number, share of time that one is open [-], flow [m3/s]. ``spray_s`` length of one spray
    [s], 1 to 86,400.
    """

    guns: tuple[Guns, ...]
    spray_s: float = 60.0

    def __post_init__(self) -> None:
        """Raises OutOfRange naming the field."""
        for group in self.guns:
            zero_or_more("guns flow_m3_s", group.flow_m3_s, "m3/s")
            within("guns probability", group.probability, 0.0, 1.0, "-")
            within("guns number", group.number, 0, 1000, "-")
        within("spray_s", self.spray_s, *SPRAY_RANGE_S, "s")

    @property
    def mean_m3_s(self) -> float:
        """Mean draw [m3/s]."""
        return math.fsum(g.number * g.probability * g.flow_m3_s for g in self.guns)


@dataclass(frozen=True, slots=True)
class Draws:
    """What is drawn from each tank in each day, as changes in the order in which they come.

    ``begin_m3_s`` (tanks, days) draw at the start. ``at_s``, ``tank``, ``by_m3_s`` (days, changes): when, from which
    tank, by how much more [m3/s]; rows are filled up with changes at ``end_s``, of nothing. ``most_m3_s`` (tanks,)
    largest draw there can be. ``end_s`` end of the day.
    """

    begin_m3_s: FloatArray
    at_s: FloatArray
    tank: NDArray[np.intp]
    by_m3_s: FloatArray
    most_m3_s: FloatArray
    end_s: float


def given_draws(
    tanks: int, begin_m3_s: Sequence[float], changes: Sequence[tuple[float, int, float]], end_s: float
) -> Draws:
    """One day that is known: (time [s], tank, more [m3/s]) each. Changes at or after the end do not count.

    >>> given_draws(1, [0.0], [(60.0, 0, 2e-5), (120.0, 0, -2e-5)], 3600.0).at_s.tolist()
    [[60.0, 120.0, 3600.0]]
    """
    above_zero("end_s", end_s, "s")
    for at, tank, _ in changes:
        zero_or_more("changes at_s", at, "s")
        within("changes tank", tank, 0, tanks - 1, "-")
    kept = [*sorted(c for c in changes if c[0] < end_s), (end_s, 0, 0.0)]
    now = [zero_or_more("begin_m3_s", q, "m3/s") for q in begin_m3_s]
    most = list(now)
    for _, tank, more in kept:
        if tanks:
            now[tank] += more
            most[tank] = max(most[tank], now[tank])
    return Draws(
        np.array([begin_m3_s], np.float64).reshape(tanks, 1),
        np.array([[c[0] for c in kept]], np.float64),
        np.array([[c[1] for c in kept]], np.intp),
        np.array([[c[2] for c in kept]], np.float64),
        np.array(most, np.float64),
        end_s,
    )


@lru_cache(maxsize=16)
def thrown_draws(
    lines: tuple[LineSprays, ...], hours: float, days: int, seed: int, profile: tuple[float, ...] = ()
) -> Draws:
    """Days as the dice fall.

    lines: one a tank. hours of work [h], above 0 to 24. days [-], 1 to 100,000. seed of the dice; what one gun does
    does not depend on the others, so lines and tanks compared see the same days. profile: share of the busy hour
    hour by hour [-], each 0 to 1, for every hour; empty: every hour is the busy hour, which is the safe side.
    OutOfRange names what is wrong, also where there would be more than 5 million openings and shuttings. Source [1]_.

    Worked example: one gun of 1 L/min, open a fifth of the time: 108 L in nine hours.

    >>> d = thrown_draws((LineSprays((Guns(1, 0.2, 1 / 60000.0),), 60.0),), 9.0, 2000, 1)
    >>> drawn = d.begin_m3_s.sum() * d.end_s + (d.by_m3_s * (d.end_s - d.at_s)).sum()
    >>> bool(abs(1000.0 * drawn / 2000 - 108.0) < 1.0)
    True
    """
    checked(lines, hours, days, profile)
    begin = np.zeros((len(lines), days))
    used = [[g for g in line.guns if g.probability > 0.0] for line in lines]
    most = np.array([math.fsum(g.number * g.flow_m3_s for g in some) for some in used], np.float64)
    dice = [dice_of(line, tank) for tank, line in enumerate(lines)]
    seen = openings(tuple(die for some in dice for die in some), hours, days, seed, profile)
    flows = np.array([flow for line in lines for flow in flows_of(line)], np.float64)
    owner = np.array([tank for tank, some in enumerate(dice) for _ in some], np.intp)
    for gun, tank in enumerate(owner):
        begin[tank] += flows[gun] * seen.begin[gun]
    if not flows.size:
        return Draws(begin, seen.at_s, seen.gun, seen.sign, most, hours * 3600.0)
    return Draws(begin, seen.at_s, owner[seen.gun], flows[seen.gun] * seen.sign, most, hours * 3600.0)


class Die(NamedTuple):
    """The dice of one gun: `tank` and `gun` tell them apart, `probability` that it is open [-], `spray_s` [s]."""

    tank: int
    gun: int
    probability: float
    spray_s: float


@dataclass(frozen=True, slots=True)
class Openings:
    """When guns open and shut, whatever they draw.

    ``begin`` (guns, days) open in the morning. ``at_s``, ``gun``, ``sign`` (days, changes): when, which one, and 1 for
    an opening, -1 for a shutting; rows are filled up with changes at the end of the day, of sign 0.
    """

    begin: NDArray[np.bool_]
    at_s: FloatArray
    gun: NDArray[np.intp]
    sign: FloatArray


def _drawing(line: LineSprays) -> Iterator[tuple[int, Guns]]:
    """Guns of a line that draw anything, one by one, each with its number among all of the line."""
    many = 0
    for group in line.guns:
        for _ in range(group.number):
            many += 1
            if group.flow_m3_s > 0.0 and group.probability > 0.0:
                yield many, group


def dice_of(line: LineSprays, tank: int) -> tuple[Die, ...]:
    """The dice of a line's guns: two lines with the same dice open at the same moments, whatever they draw."""
    return tuple(Die(tank, many, group.probability, line.spray_s) for many, group in _drawing(line))


def flows_of(line: LineSprays) -> tuple[float, ...]:
    """Flow of each of the guns that :func:`dice_of` tells of [m3/s]."""
    return tuple(group.flow_m3_s for _, group in _drawing(line))


def draws_alike(lines: Sequence[LineSprays], seen: Openings) -> tuple[FloatArray, FloatArray]:
    """What lines draw each, from the openings of as many guns of each, as :func:`openings_alike` has them.

    Returns:
        (lines, days) in the morning, (lines, days, changes) by how much more [m3/s].
    """
    flows = np.array([flows_of(line) for line in lines], np.float64)
    begin = np.zeros(seen.at_s.shape[:2])
    if not flows.size:
        return begin, seen.sign
    for gun in range(flows.shape[1]):
        begin += flows[:, gun, None] * seen.begin[:, gun]
    return begin, flows[np.arange(len(lines))[:, None, None], seen.gun] * seen.sign


def openings(
    dice: tuple[Die, ...], hours: float, days: int, seed: int, profile: tuple[float, ...] = ()
) -> Openings:
    """How the dice fall, in the order in which guns open and shut; see :func:`thrown_draws`."""
    end_s = hours * 3600.0
    shares = profile[: math.ceil(hours - 1e-9)] or (1.0,)
    edges = np.minimum(3600.0 * np.arange(len(shares) + 1), end_s) if profile else np.array([0.0, end_s])
    edges[-1] = end_s
    if not dice:
        nothing = np.zeros((days, 1))
        return Openings(np.zeros((0, days), np.bool_), nothing + end_s, np.zeros((days, 1), np.intp), nothing)
    begin: list[NDArray[np.bool_]] = []
    keys: list[NDArray[np.int64]] = []
    for gun, die in enumerate(dice):
        rng = np.random.default_rng((seed, die.tank, die.gun))
        chances = np.minimum(die.probability * np.asarray(shares), 1.0)
        opened, times = _one_gun(rng, chances, edges, die.spray_s, days)
        begin.append(opened)
        keys.append(_keys(opened, times, gun, end_s))
    return Openings(np.stack(begin), *_in_time(np.concatenate(keys, axis=1), end_s))


def openings_alike(
    many: Sequence[tuple[Die, ...]], hours: float, days: int, seed: int
) -> Iterator[tuple[list[int], Openings]]:
    """The answers of :func:`openings` for the dice of many lines, each by itself, to the same bits.

    Lines whose guns change about as often are thrown together: places in `many`, and what is seen of those, with the
    lines as first axis of each array.
    """
    end_s = hours * 3600.0
    alike: dict[tuple[tuple[int, int, int], ...], list[int]] = {}
    for at, dice in enumerate(many):
        kind = tuple((die.tank, die.gun, _cycles(die.probability, die.spray_s, end_s)) for die in dice)
        alike.setdefault(kind, []).append(at)
    for kind, places in alike.items():
        if not kind:
            nothing = np.zeros((len(places), days, 1))
            none_open = np.zeros((len(places), 0, days), np.bool_)
            yield places, Openings(none_open, nothing + end_s, nothing.astype(np.intp), nothing)
            continue
        begin: list[NDArray[np.bool_]] = []
        keys: list[NDArray[np.int64]] = []
        for gun, (tank, number, _) in enumerate(kind):
            rng = np.random.default_rng((seed, tank, number))
            chances = np.array([many[at][gun].probability for at in places])
            sprays = np.array([many[at][gun].spray_s for at in places])
            opened, times = _steady(rng, chances, sprays, end_s, days)
            begin.append(opened)
            keys.append(_keys(opened, times, gun, end_s))
        yield places, Openings(np.stack(begin, axis=1), *_in_time(np.concatenate(keys, axis=-1), end_s))


def _keys(opened: NDArray[np.bool_], times: FloatArray, gun: int, end_s: float) -> NDArray[np.int64]:
    """Changes of a gun as whole numbers that sort by time, then gun; `_NEVER` from the end of the day on."""
    # Every second change is an opening, beginning with the first where the gun begins shut.
    opening = (np.arange(times.shape[-1]) % 2 == 0) ^ opened[..., None]
    ticks = np.rint(np.minimum(times, 2.0 * end_s) * _TICKS).astype(np.int64)
    return np.where(times < end_s, (ticks << _GUN_BITS) | (2 * gun) | opening, _NEVER)


def _in_time(keys: NDArray[np.int64], end_s: float) -> tuple[FloatArray, NDArray[np.intp], FloatArray]:
    """When, which gun and whether it opens or shuts, from the keys of all of them along the last axis."""
    ordered = np.sort(keys, axis=-1)
    # One column that is never a change stays at the end of each row.
    last = int((ordered < _NEVER).sum(axis=-1).max())
    ordered = np.concatenate([ordered[..., :last], np.full((*ordered.shape[:-1], 1), _NEVER)], axis=-1)
    never = ordered == _NEVER
    low = np.where(never, 0, ordered & ((1 << _GUN_BITS) - 1))
    at = np.where(never, end_s, np.minimum((ordered >> _GUN_BITS) / _TICKS, end_s))
    return at, low >> 1, np.where(never, 0.0, np.where(low & 1, 1.0, -1.0))


def checked(lines: Sequence[LineSprays], hours: float, days: int, profile: Sequence[float]) -> None:
    """OutOfRange names what :func:`thrown_draws` does not take."""
    above_zero("hours", hours, "h")
    within("hours", hours, 0.0, 24.0, "h")
    within("days", days, 1, 100_000, "-")
    for share in profile:
        within("profile", share, 0.0, 1.0, "-", "a share of the busy hour")
    if profile and len(profile) < hours:
        raise OutOfRange("hours", hours, 0.0, len(profile), "h", "give a share for every hour")
    within("guns number", sum(g.number for line in lines for g in line.guns), 0, GUNS_MAX, "-")
    within("changes", days * _changes_a_day(lines, hours), 0, CHANGES_MAX, "-", "simulate fewer days")


def _changes_a_day(lines: Sequence[LineSprays], hours: float) -> float:
    return math.fsum(
        2.0 * g.number * (g.probability * hours * 3600.0 / line.spray_s + 1.0)
        for line in lines
        for g in line.guns
        if g.probability > 0.0 and g.flow_m3_s > 0.0
    )


def days_that_fit(lines: Sequence[LineSprays], hours: float, wanted: int) -> int:
    """How many days can be thrown at once, at most as many as wanted [-], at least 1.

    hours of a day [h]. A shop of very many short sprays gets fewer days: 5 million openings and shuttings in all.

    >>> days_that_fit([LineSprays((Guns(100, 0.5, 1e-5),), 5.0)], 9.0, 2000)
    7
    """
    return max(1, min(wanted, int(CHANGES_MAX / max(_changes_a_day(lines, hours), 1.0))))


def _one_gun(
    rng: np.random.Generator, chances: FloatArray, edges: FloatArray, spray_s: float, days: int
) -> tuple[NDArray[np.bool_], FloatArray]:
    """Whether a gun begins open, and when it changes [s], (days, changes), rising; the last is past the end."""
    end_s = float(edges[-1])
    if chances.size == 1:
        opened, times = _steady(rng, chances, np.array([spray_s]), end_s, days)
        return opened[0], times[0]
    if bool((chances >= 1.0).all()):
        return np.ones(days, np.bool_), np.full((days, 1), 2.0 * end_s)
    # Next openings come at this rate from a shut gun; one that is always open in some hours is opened again at once.
    rate = chances / (np.maximum(1.0 - chances, 1e-9) * spray_s)
    opened = rng.random(days) < chances[0]
    left = rng.random(days) * spray_s
    risen = np.concatenate([[0.0], np.cumsum(rate * np.diff(edges))])

    def opens(from_s: FloatArray) -> FloatArray:
        """Next opening of guns shut at a time: when the rate has added up to an exponential die."""
        wait = rng.standard_exponential(from_s.shape)
        start = np.interp(from_s, edges, risen)
        found = np.interp(start + wait, risen, edges, right=np.inf)
        return np.where(from_s < end_s, found, np.inf)

    columns = [np.where(opened, left, opens(np.zeros(days)))]
    shut_now = opened
    while bool((columns[-1] < end_s).any()):
        now = columns[-1]
        columns.append(np.where(shut_now, opens(now), now + spray_s))
        shut_now = ~shut_now
    return opened, np.stack(columns, axis=1)


def _rate(chance: float, spray_s: float) -> float:
    """Openings of a shut gun that is open that share of the time, below 1 [1/s]."""
    return chance / (max(1.0 - chance, 1e-9) * spray_s)


def _cycles(chance: float, spray_s: float, end_s: float) -> int:
    """Shut and open times thrown at once, as many as the longest day may need; 0 of a gun that is always open."""
    if chance >= 1.0:
        return 0
    return max(4, math.ceil(end_s / (spray_s + 1.0 / _rate(chance, spray_s)) * 1.3 + 4.0))


def _steady(
    rng: np.random.Generator, chances: FloatArray, sprays: FloatArray, end_s: float, days: int
) -> tuple[NDArray[np.bool_], FloatArray]:
    """One gun of each of some lines that is as busy in every hour, by the same dice; of one number of `_cycles`.

    Whether each begins open (lines, days), and when it changes [s] (lines, days, changes), rising; the last is past
    the end.
    """
    cycles = _cycles(float(chances[0]), float(sprays[0]), end_s)
    shape = (chances.size, days)
    if not cycles:
        return np.ones(shape, np.bool_), np.full((*shape, 1), 2.0 * end_s)
    rates = np.array([_rate(float(c), float(s)) for c, s in zip(chances, sprays, strict=True)])[:, None]
    opened = rng.random(days) < chances[:, None]
    left = rng.random(days) * sprays[:, None]
    last = np.where(opened, left, rng.standard_exponential(days) / rates)
    columns = [last[..., None]]
    # Shut and open times one after the other; more where a day needs more, which is past the end in the others.
    while bool((last < end_s).any()):
        shut = rng.standard_exponential((days, cycles)) / rates[..., None]
        both = np.empty((*shape, 2 * cycles))
        both[..., 0::2] = np.where(opened[..., None], shut, sprays[:, None, None])
        both[..., 1::2] = np.where(opened[..., None], sprays[:, None, None], shut)
        block = last[..., None] + np.cumsum(both, axis=-1)
        columns.append(block)
        last = block[..., -1]
        cycles = 4
    return opened, np.concatenate(columns, axis=-1)
