"""The plant board: one water, shared by all proportioners that fill at the same moment.

Street, reducing valve, backflow assembly, hose and the proportioners are solved together: the more of them fill, the
lower the inlet pressure that they share, and the less vacuum each has. The concentrate drawn adds nothing to the
water drawn, so the water is solved first, all sets in one batch, and each suction at the pressure found.

What need not go one way: dilution. Water grows as the root of the inlet pressure, concentrate as the root of what
vacuum is left over the lift; more pressure makes a mixture richer where the vacuum curve is steep and leaner where it
is flat.

What a board gives must be confirmed on site by test: :data:`estimator.hydraulics.proportioner.SITE_TEST`.

Sources
-------
.. [1] Continuity and the energy balance of steady flow: any hydraulics text.
.. [2] Root of a rising function between two bounds: regula falsi with the Illinois rule and a halving now and then;
   Dowell, M. and Jarratt, P. (1971). BIT 11, 168-174. From memory.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import Enum
from functools import lru_cache
from itertools import combinations
from typing import Final, TypeAlias

import numpy as np

from estimator.hydraulics.friction import FloatArray
from estimator.hydraulics.limits import OutOfRange, above_zero, within
from estimator.hydraulics.losses import Passage, Source
from estimator.hydraulics.proportioner import TIP_LENGTH_RATIO, ProportionerCurves, Suction, SuctionLine, draw
from estimator.hydraulics.pump import STANDARD_ATMOSPHERE_PA
from estimator.hydraulics.solution import Liquid
from estimator.hydraulics.supply import FlowRange

MOST_FOR_EVERY_SET: Final = 5
"""Proportioners of which every set is looked at; of more, the caller names the sets."""

Filling: TypeAlias = tuple[int, ...]
"""Positions of the proportioners that fill, rising."""


@dataclass(frozen=True, slots=True)
class Feed:
    """What brings the water to the board: a source, and the stages behind it in the order of the flow.

    Raises ValueError where source and stages are known for no common flow.
    """

    source: Source
    stages: tuple[Passage, ...] = ()

    def __post_init__(self) -> None:
        """Raises ValueError."""
        low, high = self.known
        if not low < high:
            raise ValueError("feed: its parts are known for no common flow")

    @property
    def known(self) -> FlowRange:
        """Flows [m3/s] that every part is known for."""
        every = [self.source.known, *(stage.known for stage in self.stages)]
        return max(low for low, _ in every), min(high for _, high in every)

    def along(self, flow_m3_s: FloatArray) -> tuple[FloatArray, ...]:
        """Gauge pressures [Pa] behind the source and behind each stage, at flows [m3/s] within ``known``."""
        pressures = [self.source.pressure(flow_m3_s)]
        for stage in self.stages:
            pressures.append(stage.after(pressures[-1], flow_m3_s))
        return tuple(pressures)


@dataclass(frozen=True, slots=True)
class Post:
    """One place on the board: a proportioner, its suction from its container, the concentrate and the tip.

    ``tip_m`` bore of the metering tip [m], above 0; ``length_ratio`` its length over its bore [-].
    """

    proportioner: ProportionerCurves
    line: SuctionLine
    concentrate: Liquid
    tip_m: float
    length_ratio: float = TIP_LENGTH_RATIO

    def __post_init__(self) -> None:
        """Raises OutOfRange naming the field."""
        above_zero("tip_m", self.tip_m, "m")
        above_zero("length_ratio", self.length_ratio, "-")

    @property
    def conductance(self) -> float:
        """Water through it over the root of its inlet pressure [m3/(s Pa**0.5)]."""
        return self.proportioner.water_flow_m3_s / math.sqrt(self.proportioner.at_pa)


def share_of_time(water_m3_s: float, most_m3_s: float) -> float:
    """Share of the time [-] that water passes at a flow [m3/s] while less than that comes in the long run [m3/s].

    water flow while it passes, and the most that comes; all of the time where no more passes than comes.

    >>> share_of_time(4e-4, 1e-4), share_of_time(5e-5, 1e-4), share_of_time(0.0, 0.0)
    (0.25, 1.0, 1.0)
    """
    return min(1.0, most_m3_s / water_m3_s) if water_m3_s > 0.0 else 1.0


@dataclass(frozen=True, slots=True)
class WaterBoard:
    """A feed and what it feeds, in the air of the place.

    ``barometric_pa`` [Pa]; ``vapour_pa`` vapour pressure of the water [Pa]
    (:func:`estimator.hydraulics.water.vapour_pressure`), below the barometer; ``most_m3_s`` what comes to the feed
    in the long run [m3/s], as through the float valve of a break tank: what passes more waits for it in between, at the
    same pressures. Raises OutOfRange naming the field, and ValueError for a board without a post.
    """

    feed: Feed
    posts: tuple[Post, ...]
    barometric_pa: float = STANDARD_ATMOSPHERE_PA
    vapour_pa: float = 0.0
    most_m3_s: float = math.inf

    def __post_init__(self) -> None:
        """Raises OutOfRange or ValueError."""
        if not self.posts:
            raise ValueError("board: give at least one proportioner")
        above_zero("barometric_pa", self.barometric_pa, "Pa")
        within(
            "vapour_pa", self.vapour_pa, 0.0, self.barometric_pa, "Pa", "at more the water boils by itself"
        )


class Trouble(Enum):
    """Why there is no answer."""

    NO_PRESSURE = "the losses take the whole pressure before any water flows"
    FLOW_ABOVE = "more flow than a part is known for"
    FLOW_BELOW = "less flow than a part is known for"
    VACUUM_UNKNOWN = "the inlet pressure is outside the vacuum curve"
    NO_LIFT = "the vacuum does not lift the concentrate"


@dataclass(frozen=True, slots=True)
class Reason:
    """Why there is no answer, in figures.

    ``value``, ``low``, ``high``: for NO_PRESSURE the pressure left at no flow [Pa] and 0, infinite; for FLOW_ABOVE
    and FLOW_BELOW the end of what is known that the flow passes, and the flows known [m3/s]; for VACUUM_UNKNOWN inlet
    pressure and the ends of the curve [Pa]; for NO_LIFT vacuum [Pa], what the lift takes [Pa], infinite. ``part`` is
    the part of the feed whose range ends: 0 the source, then the stages from 1; None where no part is meant.
    """

    trouble: Trouble
    value: float
    low: float
    high: float
    part: int | None = None


@dataclass(frozen=True, slots=True)
class Fill:
    """One proportioner while a set fills.

    ``post`` its position; ``water_m3_s`` water through it [m3/s]; ``suction`` what it draws, None where its vacuum is
    not known; ``reason`` None where concentrate is drawn.
    """

    post: int
    water_m3_s: float
    suction: Suction | None
    reason: Reason | None

    @property
    def concentrate_m3_s(self) -> float | None:
        """Concentrate drawn [m3/s]; None where it is not known."""
        return None if self.suction is None else self.suction.concentrate_m3_s

    @property
    def parts_water(self) -> float | None:
        """Parts of water to one of concentrate [-]; None where none is drawn or it is not known."""
        return None if self.suction is None else self.suction.parts_water

    @property
    def refill_m3_s(self) -> float | None:
        """Mixture into the tank [m3/s]; None where it is not known."""
        return None if self.suction is None else self.water_m3_s + self.suction.concentrate_m3_s


@dataclass(frozen=True, slots=True)
class Shared:
    """The water while a set fills.

    ``inlet_pa`` gauge pressure that the proportioners share [Pa]; ``flow_m3_s`` water of all of them [m3/s];
    ``along_pa`` gauge pressures behind the source and each stage [Pa].
    """

    inlet_pa: float
    flow_m3_s: float
    along_pa: tuple[float, ...]

    @property
    def under_suction(self) -> tuple[int, ...]:
        """Points of ``along_pa`` below the pressure of the air: there anything is drawn in through a leak."""
        return tuple(at for at, pressure in enumerate(self.along_pa) if pressure < 0.0)


@dataclass(frozen=True, slots=True)
class Settled:
    """What a board does while a set of proportioners fills.

    ``filling`` the set; ``water`` None where there is no answer, and ``reason`` then says why; ``fills`` one for each
    of the set in its order, none without water.
    """

    filling: Filling
    water: Shared | None
    fills: tuple[Fill, ...]
    reason: Reason | None


def every_set(posts: int) -> tuple[Filling, ...]:
    """All sets of proportioners but the empty one, smaller ones first.

    posts: 1 to :data:`MOST_FOR_EVERY_SET`; OutOfRange otherwise, as the sets double with each.

    >>> every_set(2)
    ((0,), (1,), (0, 1))
    """
    within("posts", posts, 1, MOST_FOR_EVERY_SET, "-", "of more, name the sets to look at")
    return tuple(group for size in range(1, posts + 1) for group in combinations(range(posts), size))


def solve(board: WaterBoard, sets: Sequence[Filling] | None = None) -> tuple[Settled, ...]:
    """What the board does while each set fills; all sets in one batch.

    ``p_feed(Q) = p``, ``Q = sum(q_i)``, ``q_i = q_ref,i sqrt(p / p_ref,i)``, then the suction of each at p
    (:func:`estimator.hydraulics.proportioner.draw`). p inlet gauge pressure [Pa], Q water of all [m3/s], p_feed what
    the feed leaves at that flow [Pa]. sets: positions in ``board.posts``, rising, none twice, none empty (ValueError
    names the set); every set if left out. Relative residuals are of rounding size. Outside what a part of the feed or a
    vacuum curve is known for the answer says so; no figure is moved into its range. Sources [1]_, [2]_.

    Worked example: two proportioners of 10 L/min at 3 bar on a street of 4 bar static, 25 L/min at 3.5 bar.

    >>> from estimator.hydraulics.proportioner import GENERIC_VACUUM
    >>> from estimator.hydraulics.supply import SupplyCurve
    >>> thin, line = Liquid(1050.0, 5e-3, 1.05), SuctionLine(1.0, 2.0, 6.35e-3)
    >>> post = Post(ProportionerCurves(10.0 / 60000.0, 3e5, GENERIC_VACUUM), line, thin, 1.181e-3)
    >>> street = Feed(SupplyCurve(4e5, 25.0 / 60000.0, 3.5e5))
    >>> for answer in solve(WaterBoard(street, (post, post)), [(0,), (0, 1)]):
    ...     print(round(answer.water.inlet_pa), round(answer.fills[0].parts_water, 2))
    388363 22.16
    360765 21.81
    """
    wanted = every_set(len(board.posts)) if sets is None else tuple(sets)
    for group in wanted:
        if not group or list(group) != sorted(set(group)) or group[0] < 0 or group[-1] >= len(board.posts):
            raise ValueError(f"set {group}: give positions of proportioners, rising, each once, at least one")
    each = [post.conductance for post in board.posts]
    shared = _water(board.feed, np.array([math.fsum(each[at] for at in group) for group in wanted]))
    return tuple(
        Settled(group, None, (), water)
        if isinstance(water, Reason)
        else Settled(group, water, tuple(_fill(board, at, water.inlet_pa) for at in group), None)
        for group, water in zip(wanted, shared, strict=True)
    )


def shared_water(feed: Feed, conductance: Sequence[float]) -> tuple[Shared | Reason, ...]:
    """The water of a feed into some ends; why none where there is none.

    conductance of each [m3/(s Pa**0.5)], above 0 (:attr:`Post.conductance`). The balance of
    :func:`solve`, which this is the water of.

    >>> from estimator.hydraulics.supply import SupplyCurve
    >>> street = Feed(SupplyCurve(4e5, 25.0 / 60000.0, 3.5e5))
    >>> (water,) = shared_water(street, [10.0 / 60000.0 / 3e5 ** 0.5])
    >>> round(water.inlet_pa)
    388363
    """
    return tuple(
        _water(feed, np.array([above_zero("conductance", each, "m3/(s Pa**0.5)") for each in conductance]))
    )


def open_flow(feed: Feed) -> float | Reason:
    """Flow of a feed that runs out into the open, as into a break tank [m3/s]; why none where there is none.

    The root of ``p_feed(Q) = 0``; no figure is moved into what the parts are known for. Raises ValueError where nothing
    limits the flow. Source [1]_.

    Worked example: static 4 bar, 25 L/min at 3.5 bar: 25 (4/0.5)**0.54.

    >>> from estimator.hydraulics.supply import SupplyCurve
    >>> street = Feed(SupplyCurve(4e5, 25.0 / 60000.0, 3.5e5))
    >>> round(60000.0 * open_flow(street), 3) == round(25.0 * 8.0 ** 0.54, 3)
    True
    """
    water = _water(feed, np.array([math.inf]))[0]
    return water if isinstance(water, Reason) else water.flow_m3_s


def _water(feed: Feed, conductance: FloatArray) -> list[Shared | Reason]:
    """The water of each set, from its conductance [m3/(s Pa**0.5)], infinite for an open end."""
    low, high = feed.known
    weight = np.square(1.0 / conductance)

    def missing(flow: FloatArray) -> FloatArray:
        # Pressure that the flow needs at the inlet less what the feed leaves: rising with the flow.
        return weight * np.square(flow) - feed.along(flow)[-1]

    rest = np.full_like(conductance, low)
    at_rest = feed.along(rest)
    scale = max(abs(float(at_rest[0][0])), abs(float(at_rest[-1][0])), 1.0)
    most = np.full_like(conductance, high)
    if math.isinf(high):
        left = float(at_rest[-1][0])
        # No more than the pressure left at least flow pushes through the set alone.
        pushed = low + conductance * math.sqrt(left) if left > 0.0 else most
        most = np.where(np.isinf(pushed), _enough(feed, low), pushed)
    too_little, too_much = missing(rest) >= 0.0, missing(most) < 0.0
    flow = _root(missing, rest, most, scale)
    along = feed.along(flow)
    # The flow's own side of the balance: it loses nothing where the feed's pressures cancel.
    inlet = weight * np.square(flow)
    answers: list[Shared | Reason] = []
    for at in range(len(conductance)):
        if too_little[at]:
            answers.append(_none_at(feed, float(at_rest[-1][at])))
        elif too_much[at]:
            answers.append(Reason(Trouble.FLOW_ABOVE, high, low, high, _ends(feed, high, 1)))
        else:
            points = tuple(float(pressure[at]) for pressure in along)
            answers.append(Shared(float(inlet[at]), float(flow[at]), points))
    return answers


def _none_at(feed: Feed, left_pa: float) -> Reason:
    low, high = feed.known
    if low <= 0.0:
        return Reason(Trouble.NO_PRESSURE, left_pa, 0.0, math.inf)
    return Reason(Trouble.FLOW_BELOW, low, low, high, _ends(feed, low, 0))


def _ends(feed: Feed, flow: float, side: int) -> int:
    every = [feed.source.known, *(stage.known for stage in feed.stages)]
    return next(at for at, known in enumerate(every) if known[side] == flow)


def _enough(feed: Feed, low: float) -> float:
    flow = max(low, 1e-6)
    for _ in range(60):
        if float(feed.along(np.array([flow]))[-1][0]) < 0.0:
            return flow
        flow *= 2.0
    raise ValueError("feed: nothing in it limits the flow")


def _root(
    rising: Callable[[FloatArray], FloatArray], low: FloatArray, high: FloatArray, scale: float
) -> FloatArray:
    """Roots of rising functions, one an element, between bounds on which they change sign. Source [2]_."""
    flow, at_low, at_high = high, rising(low), rising(high)
    done = (at_low >= 0.0) | (at_high <= 0.0)
    was_up = np.zeros_like(done)
    for step in range(200):
        span = at_high - at_low
        guess = high - at_high * (high - low) / np.where(span > 0.0, span, 1.0)
        middle = 0.5 * (low + high)
        if step % 4 == 3:
            guess = middle
        flow = np.where(done, flow, np.where((guess > low) & (guess < high), guess, middle))
        value = rising(flow)
        # What is found stays: a later guess would only leave it again.
        # Nor is there anything between two neighbouring numbers, the least that there are included.
        done |= (np.abs(value) <= 1e-13 * scale) | (high - low <= 4e-16 * high)
        done |= (middle <= low) | (middle >= high)
        if bool(done.all()):
            return flow
        up = value > 0.0
        again = (up == was_up) & (step > 0)
        weight = np.where(again, 0.5, 1.0)
        at_low, at_high = np.where(up, weight * at_low, value), np.where(up, value, weight * at_high)
        low, high = np.where(up, low, flow), np.where(up, flow, high)
        was_up = up
    raise ArithmeticError("board: no balance of flow and pressure was found")


@lru_cache(maxsize=4096)
def _drawn(post: Post, inlet_pa: float, barometric_pa: float, vapour_pa: float) -> Suction:
    """Kept by value: many sets share posts and the pressure at their inlet."""
    return draw(
        post.proportioner,
        inlet_pa,
        post.line,
        post.concentrate,
        post.tip_m,
        post.length_ratio,
        barometric_pa,
        vapour_pa,
    )


def _fill(board: WaterBoard, at: int, inlet_pa: float) -> Fill:
    post = board.posts[at]
    water = post.proportioner.water_flow(inlet_pa)
    points = post.proportioner.vacuum.points
    try:
        suction = _drawn(post, inlet_pa, board.barometric_pa, board.vapour_pa)
    except OutOfRange as error:
        if error.quantity != "inlet_pa":
            raise
        return Fill(at, water, None, Reason(Trouble.VACUUM_UNKNOWN, inlet_pa, points[0][0], points[-1][0]))
    if suction.parts_water is None:
        return Fill(at, water, suction, Reason(Trouble.NO_LIFT, suction.vacuum_pa, suction.lift_pa, math.inf))
    return Fill(at, water, suction, None)
