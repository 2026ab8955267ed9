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
from estimator.hydraulics.simultaneous import CRITERION, binomial_pmf, guns_at_once_alike

FloatArray = NDArray[np.float64]

PEOPLE_MAX: Final = 500
"""People at work that are taken, -."""
_TIE: Final = 1e-12
_SUMS: Final = 20_000
"""Different sums up to which they are all kept."""
_STEPS: Final = 10_000
"""Steps that more sums than that are rounded up to."""


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
    ``not_exceeded`` in what share of such moments they ask for no more [-]. ``of_all_moments_m3_s`` not exceeded in
    99 % of all moments, also those in which nobody sprays. ``mean_m3_s``. ``people`` at work [-]. ``resolution_m3_s``
    the most by which sums were rounded up [m3/s] (0: exact).
    """

    flow_m3_s: float
    use: int | None
    own_m3_s: float
    others_m3_s: float
    not_exceeded: float
    of_all_moments_m3_s: float
    mean_m3_s: float
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
    different sums; more are rounded up to 10 000 steps. OutOfRange where the shares come to more than 1. Source [2]_.

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
    # By people who are still free: the sums so far, and their chances.
    free: list[tuple[FloatArray, FloatArray]] = [(np.zeros(0), np.zeros(0))] * people + [
        (np.zeros(1), np.ones(1))
    ]
    left, roundings = 1.0, 0
    for flow, share, guns in uses:
        if share <= 0.0:
            continue
        chance = min(share / left, 1.0) if left > 0.0 else 0.0
        left = max(left - share, 0.0)
        parts: list[tuple[list[FloatArray], list[FloatArray]]] = [([], []) for _ in free]
        for at_work, (sums, chances) in enumerate(free):
            if not sums.size:
                continue
            for number, part in enumerate(binomial_pmf(at_work, chance).tolist()):
                parts[at_work - number][0].append(sums + flow * min(number, guns))
                parts[at_work - number][1].append(part * chances)
        wide = sum(one.size for sums_of, _ in parts for one in sums_of) > _SUMS
        roundings += wide
        free = [_merged(*one, most, wide) for one in parts]
    sums, chances = _merged([s for s, _ in free], [c for _, c in free], most, wide=False)
    return sums, chances, roundings * most / _STEPS


def _merged(
    sums_of: Sequence[FloatArray], chances_of: Sequence[FloatArray], most: float, wide: bool
) -> tuple[FloatArray, FloatArray]:
    """Sums that differ by rounding only as one; where there are very many, rounded up to steps."""
    if not sums_of:
        return np.zeros(0), np.zeros(0)
    sums, chances = np.concatenate(sums_of), np.concatenate(chances_of)
    if most <= 0.0 or not sums.size:
        return (np.zeros(1), np.array([chances.sum()])) if sums.size else (sums, chances)
    step = most / _STEPS
    keys = np.ceil(sums / step - 1e-9) if wide else np.rint(sums / (1e-9 * most))
    _, first, inverse = np.unique(keys, return_index=True, return_inverse=True)
    found = keys[first] * step if wide else sums[first]
    return found, np.asarray(np.bincount(inverse.ravel(), chances), np.float64)


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
    >>> round(60000.0 * d.flow_m3_s), round(60000.0 * d.of_all_moments_m3_s)
    (400, 200)
    """
    within("people", people, 1, PEOPLE_MAX, "-")
    above_zero("criterion", criterion, "-")
    within("criterion", criterion, 0.0, 1.0, "-")
    everyone = [(use.flow_m3_s, use.share, use.most) for use in uses]
    at_work = max([people, *(use.certain for use in uses if use.share > 0.0)])
    flows, chances, rounded = _distribution(people, everyone)
    usual, _ = _not_exceeded(flows, chances, criterion)
    best = PeopleDemand(0.0, None, 0.0, 0.0, 1.0, usual, float(flows @ chances), at_work, rounded)
    for at, use in enumerate(uses):
        if use.share <= 0.0 or use.flow_m3_s <= 0.0:
            continue
        others = [
            (flow, share, guns - use.certain if k == at else guns)
            for k, (flow, share, guns) in enumerate(everyone)
        ]
        flows, chances, rounded = _distribution(at_work - use.certain, others)
        more, held = _not_exceeded(flows, chances, criterion)
        own = use.certain * use.flow_m3_s
        if own + more > best.flow_m3_s:
            best = PeopleDemand(
                own + more,
                at,
                own,
                more,
                held,
                usual,
                best.mean_m3_s,
                at_work,
                max(rounded, best.resolution_m3_s),
            )
    return best
