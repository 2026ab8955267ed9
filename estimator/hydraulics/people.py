"""How much air the people at work ask for at once.

Guns do not open by themselves: people hold them. Who is at work does one thing at a time, so two people ask for two
guns' air at most, whatever hangs on the walls; but two may well do the same. A compressor that is asked whether it is
enough is asked by somebody who has just opened a gun: the case is that user, together with what the others at work ask
for in all but one in a hundred of such moments. So a shop with hardly any traffic still needs the air of its largest
gun, and a gun that is opened once an hour does not share with one that is opened once a day.

Sources
-------
.. [1] Hunter (1940), NBS BMS65: the load that is not exceeded in 99 % of moments; see
   :mod:`estimator.hydraulics.simultaneous`.
.. [2] Multinomial distribution of people over what they do: probability texts. What one of a group finds the others
   doing is what one person less would do: Lavenberg, S. S. and Reiser, M. (1980), J. Appl. Prob. 17, 1048-1061 (from
   memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from estimator.hydraulics.limits import above_zero, within, zero_or_more
from estimator.hydraulics.simultaneous import CRITERION, guns_at_once_alike

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

PEOPLE_MAX: Final = 500
"""People at work that are taken, -."""
_TIE: Final = 1e-12
_SUMS: Final = 20_000
"""Different sums up to which they are all kept."""
_STEPS: Final = 20_000
"""Steps times people that more sums than that are rounded up to; at least 200 steps."""
_NEXT_TO_NONE: Final = 1e-13
"""Chance of a number of people that is left out: of many people hardly ever nearly none or nearly all do one thing."""


@dataclass(frozen=True, slots=True)
class AirUse:
    """Something that people do with air.

    ``flow_m3_s`` that one of them asks for meanwhile [m3/s]: of the gun, and of a pump that feeds it. ``share`` of a
    person's time that goes into it [-], 0 to 1. ``guns`` there are for it [-], 1 or more: one who finds none free
    waits. ``stated`` number open at once that a person states instead [-], None where none is.
    """

    flow_m3_s: float
    share: float
    guns: int
    stated: int | None = None

    def __post_init__(self) -> None:
        """Raises OutOfRange naming the field."""
        zero_or_more("use flow_m3_s", self.flow_m3_s, "m3/s")
        within("use share", self.share, 0.0, 1.0, "-")
        within("use guns", self.guns, 1, PEOPLE_MAX, "-")
        if self.stated is not None:
            within("use stated", self.stated, 0, PEOPLE_MAX, "-")

    @property
    def most(self) -> int:
        """The most that are open at once: as many as stated, at least one, and no more than there are."""
        return self.guns if self.stated is None else max(1, min(self.stated, self.guns))

    @property
    def certain(self) -> int:
        """Guns that are open for certain in the case of who uses one."""
        return 1 if self.stated is None else self.most


@dataclass(frozen=True, slots=True)
class PeopleDemand:
    """Air that people ask for, all flows in m3/s of the free air that was given.

    ``flow_m3_s`` the design case: of a user and the others at work. ``use`` position of what that user does, None
    where nothing asks for air; ``own_m3_s`` what that is, ``others_m3_s`` what the others then ask for, and
    ``not_exceeded`` in what share of such moments they ask for no more [-]. ``people`` at work [-]. ``resolution_m3_s``
    the most by which sums were rounded up [m3/s] (0: exact).
    """

    flow_m3_s: float
    use: int | None
    own_m3_s: float
    others_m3_s: float
    not_exceeded: float
    people: int
    resolution_m3_s: float


def bays_manned(
    bays: int, vehicles_per_hour: float, minutes_a_vehicle: float, criterion: float = CRITERION
) -> int:
    """Bays that are worked in at once [-], 1 to bays: the smallest number that is enough in 99 % of the busy hour.

    ``p = vehicles an hour x minutes / 60 / bays`` is the share of the time that a bay is worked in. bays 1 to 500;
    vehicles an hour, minutes of work a vehicle 0 or more. All bays where the work is more than they can do. Source
    [1]_.

    Worked example: six bays, two vehicles an hour, an hour each: five.

    >>> bays_manned(6, 2.0, 60.0)
    5
    """
    within("bays", bays, 1, PEOPLE_MAX, "-")
    zero_or_more("vehicles_per_hour", vehicles_per_hour, "1/h")
    zero_or_more("minutes_a_vehicle", minutes_a_vehicle, "min")
    share = vehicles_per_hour * minutes_a_vehicle / 60.0 / bays
    if share >= 1.0:
        return bays
    return max(1, guns_at_once_alike(bays, share, criterion).count)


def share_of_time(vehicles_per_hour: float, seconds_a_vehicle: float, people: int) -> float:
    """Share of each person's time that goes into something [-]: ``vehicles an hour x seconds / (3600 people)``.

    It may come out above 1: then they cannot keep up.

    >>> share_of_time(4.0, 90.0, 4)
    0.025
    """
    zero_or_more("vehicles_per_hour", vehicles_per_hour, "1/h")
    zero_or_more("seconds_a_vehicle", seconds_a_vehicle, "s")
    within("people", people, 1, PEOPLE_MAX, "-")
    return vehicles_per_hour * seconds_a_vehicle / (3600.0 * people)


def people_distribution(people: int, uses: Sequence[AirUse]) -> tuple[FloatArray, FloatArray, float]:
    """What so many people ask for: flows that can occur [m3/s], rising, their chances [-], and the rounding [m3/s].

    people 0 to 500, each on one of the uses or on none. Exact (each use a binomial of who is left) up to 20 000
    different sums; more are rounded up to 20 000 steps over people. OutOfRange where the shares come to more than 1.
    Source [2]_.

    Worked example: two people, each blowing a quarter of the time: both in one of sixteen moments.

    >>> flows, chances, _ = people_distribution(2, [AirUse(1.0, 0.25, 6)])
    >>> flows.tolist(), chances.tolist()
    ([0.0, 1.0, 2.0], [0.5625, 0.375, 0.0625])
    """
    return _distribution(people, [(use.flow_m3_s, use.share, use.most) for use in uses])


def _distribution(
    people: int, uses: Sequence[tuple[float, float, int]]
) -> tuple[FloatArray, FloatArray, float]:
    within("people", people, 0, PEOPLE_MAX, "-")
    total = math.fsum(share for _, share, _ in uses)
    within("use share", total, 0.0, 1.0, "-", "people cannot do more than they have time for")
    most = math.fsum(flow * min(guns, people) for flow, _, guns in uses)
    # Ways in which people are spread so far: who is still free, what the others ask for, and the chance.
    free, sums, chances = np.array([people]), np.zeros(1), np.ones(1)
    numbers = np.arange(people + 1)
    coarse = most / max(200, _STEPS // max(people, 1))
    left, rounded = 1.0, 0.0
    for flow, share, guns in uses:
        if share <= 0.0:
            continue
        part = _spread(people, min(share / left, 1.0) if left > 0.0 else 0.0)[free]
        left = max(left - share, 0.0)
        row, number = np.nonzero(part > _NEXT_TO_NONE)
        wide = coarse if row.size > _SUMS else 0.0
        rounded += wide
        free, sums, chances = _merged(
            free[row] - number,
            sums[row] + (flow * np.minimum(numbers, guns))[number],
            chances[row] * part[row, number],
            most,
            wide,
        )
    _, sums, chances = _merged(np.zeros_like(free), sums, chances, most, 0.0)
    return sums, chances, rounded


def _spread(people: int, chance: float) -> FloatArray:
    """How many of 0 to ``people`` do something, (people + 1, people + 1): a row for each number of people."""
    table = np.zeros((people + 1, people + 1))
    table[0, 0] = 1.0
    for many in range(people):
        table[many + 1] = (1.0 - chance) * table[many]
        table[many + 1, 1:] += chance * table[many, :-1]
    return table


def _merged(
    free: IntArray, sums: FloatArray, chances: FloatArray, most: float, wide: float
) -> tuple[IntArray, FloatArray, FloatArray]:
    """Ways that differ by rounding of the sum only as one; rounded up to ``wide`` where that is above 0."""
    step = wide if wide > 0.0 else 1e-9 * most
    parts = sums / step if step > 0.0 else np.zeros(sums.size)
    keys = np.ceil(parts - 1e-9) if wide > 0.0 else np.rint(parts)
    order = np.lexsort((keys, free))
    keys, free = keys[order], free[order]
    new = np.ones(keys.size, np.bool_)
    new[1:] = (keys[1:] != keys[:-1]) | (free[1:] != free[:-1])
    first = np.flatnonzero(new)
    found = keys[first] * step if wide > 0.0 else sums[order][first]
    return free[first], found, np.add.reduceat(chances[order], first)


def _not_exceeded(flows: FloatArray, chances: FloatArray, criterion: float) -> tuple[float, float]:
    """Smallest flow whose chance of not being exceeded meets the criterion [m3/s], and that chance [-]."""
    sums = np.cumsum(chances)
    met = sums >= criterion - _TIE
    at = int(np.argmax(met)) if met.any() else sums.size - 1
    return float(flows[at]), min(float(sums[at]), 1.0)


def demand_of_people(people: int, uses: Sequence[AirUse], criterion: float = CRITERION) -> PeopleDemand:
    """Air that must be there for the people at work.

    ``Q = max over uses of (n q + Q_others)``: n guns open for certain, the user's own or as many as are stated, and
    ``Q_others`` what the other people ask for in 99 % of such moments. people at work [-], 1 to 500; a stated number
    needs at least that many. Never less than the largest user, never more than every gun at once. OutOfRange names
    what is wrong. Sources [1]_, [2]_.

    Worked example: four people, six blow guns of 200 L/min that run 90 s on each of four vehicles an hour: each blows
    a fortieth of the time. Who blows finds another blowing in seven moments of a hundred, so there must be air for
    two, though it is asked for in less than one moment of a hundred.

    >>> blow = AirUse(200.0 / 60000.0, share_of_time(4.0, 90.0, 4), 6)
    >>> d = demand_of_people(4, [blow])
    >>> round(60000.0 * d.flow_m3_s), round(60000.0 * flow_of_all_moments(4, [blow]))
    (400, 200)
    """
    within("people", people, 1, PEOPLE_MAX, "-")
    above_zero("criterion", criterion, "-")
    within("criterion", criterion, 0.0, 1.0, "-")
    within(
        "use share",
        math.fsum(u.share for u in uses),
        0.0,
        1.0,
        "-",
        "people cannot do more than they have time for",
    )
    at_work = max([people, *(use.certain for use in uses if use.share > 0.0)])
    best = PeopleDemand(0.0, None, 0.0, 0.0, 1.0, at_work, 0.0)
    known: dict[tuple[int, ...], tuple[float, float, float]] = {}
    for at, use in enumerate(uses):
        if use.share <= 0.0 or use.flow_m3_s <= 0.0:
            continue
        others = at_work - use.certain
        # Guns beyond the number of people do not matter, so that most cases have the same others.
        guns = tuple(min(u.most - (use.certain if u is use else 0), others) for u in uses)
        if (others, *guns) not in known:
            left = [(u.flow_m3_s, u.share, g) for u, g in zip(uses, guns, strict=True)]
            flows, chances, rounded = _distribution(others, left)
            known[others, *guns] = (*_not_exceeded(flows, chances, criterion), rounded)
        more, held, rounded = known[others, *guns]
        own = use.certain * use.flow_m3_s
        if own + more > best.flow_m3_s:
            best = PeopleDemand(own + more, at, own, more, held, at_work, rounded)
    return best


def flow_of_all_moments(people: int, uses: Sequence[AirUse], criterion: float = CRITERION) -> float:
    """What so many people ask for in no more than 99 % of all moments [m3/s], also those in which nobody sprays.

    As :func:`people_distribution`; criterion above 0 to 1 [-]. Source [1]_.

    >>> flow_of_all_moments(2, [AirUse(1.0, 0.25, 6)])
    2.0
    """
    above_zero("criterion", criterion, "-")
    within("criterion", criterion, 0.0, 1.0, "-")
    flows, chances, _ = people_distribution(people, uses)
    return _not_exceeded(flows, chances, criterion)[0]
