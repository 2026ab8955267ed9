"""What brings the water to the board: the street, or a booster behind a break tank, and the parts that it passes."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Final

import numpy as np

from estimator.hydraulics.board import Feed, Reason, Shared, Trouble, open_flow, shared_water
from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.losses import BoosterPump, HoseRun, LossCurve, Passage, ReducingValve, Rise, Source
from estimator.hydraulics.proportioner import ProportionerCurves
from estimator.hydraulics.pump import barometric_pressure
from estimator.hydraulics.solution import liquid
from estimator.hydraulics.supply import DROP_LIMIT, SupplyCurve
from estimator.hydraulics.water import vapour_pressure
from estimator.model.choices import Reading
from estimator.model.design import CommonPlant
from estimator.model.finding import Amount, Finding, IdKind, Number, Phrase, Ref, Severity, facts
from estimator.model.site import Site
from estimator.reference.resolved import Resolved
from estimator.sizing import told
from estimator.sizing.types import FEED_WORDS, FeedPoint, Hour
from estimator.units import Dimension

__all__ = [
    "ASSUMED_DROP",
    "DAY_SWING",
    "SOURCE",
    "BoardFeed",
    "HourFeed",
    "feed_findings",
    "feed_of",
    "why_no_water",
]

ASSUMED_DROP: Final = 0.25
"""Share of static pressure that the survey's flow is taken to drop where static was not read: what a good test drops
(newer editions of NFPA 291, second-hand), and so a weaker street than one whose test dropped less."""

SOURCE: Final = "hydraulic proof: supply curve through the surveyed flow (NFPA 291 form)"

DAY_SWING: Final = 0.2
"""Static pressure of the low and the high of a day that were not read, away from that of the survey, as a share of
it; assumed, common practice, no source."""

HARD_MG_L: Final = 180.0
"""Hardness as calcium carbonate above which water is called very hard [mg/L] (United States Geological Survey, from
memory)."""
_UNREAD: Final = {
    Reading.ASSUMED: Phrase(
        " The hardness is assumed: hold a test strip into the water, or ask who supplies it."
    ),
    Reading.TOLD: Phrase(" The hardness is as somebody told it: hold a test strip into the water."),
    Reading.MEASURED: Phrase(""),
}
_LEAST_PA: Final = 1.0
"""Water of less pressure is none [Pa]."""
_L_MIN: Final = 1e-3 / 60.0
_KPA: Final = 1000.0


@dataclass(frozen=True, slots=True)
class HourFeed:
    """The water of the board at one hour.

    Attributes:
        hour: which one.
        feed: what brings the water then.
        temperature_k, vapour_pa: of the water [K], [Pa]; the concentrate is taken to be as warm.
        assumed: that the pressure of that hour was not read.
        seasonal: that the temperature is that of a season.
    """

    hour: Hour
    feed: Feed
    temperature_k: float
    vapour_pa: float
    assumed: bool = False
    seasonal: bool = False

    def alone(self, made: ProportionerCurves) -> Shared | Reason:
        """The water while one proportioner fills and no other; why none where there is none."""
        return self.shared(made.water_flow_m3_s / made.at_pa**0.5)

    def shared(self, conductance: float) -> Shared | Reason:
        """The water while proportioners of that conductance together fill [m3/(s Pa**0.5)]; why none."""
        return _shared(self.feed, conductance)

    @property
    def words(self) -> Phrase:
        """When that is."""
        of = "{when} (assumed)" if self.assumed else "{when}"
        known = facts(when=Phrase(self.hour.value))
        if not self.seasonal:
            return Phrase(of, known)
        warm = Amount(self.temperature_k, Dimension.TEMPERATURE, 0)
        return Phrase(of + " with water of {temperature}", (*known, *facts(temperature=warm)))


@dataclass(frozen=True, slots=True)
class BoardFeed:
    """The water of the board.

    Attributes:
        hours: that of the survey first, then the low and the high of the day in each season; only the seasons where
            street and board do not meet.
        parts: what each point of the feed is behind, in the order of the flow.
        street: the supply by itself.
        static_assumed: that its static pressure was not read.
        barometric_pa: of the place [Pa].
        up: the height from the tie-in up to the board, where it is stated.
    """

    hours: tuple[HourFeed, ...]
    parts: tuple[FeedPoint, ...]
    street: SupplyCurve
    static_assumed: bool
    barometric_pa: float
    up: tuple[Rise, ...] = ()

    @property
    def test(self) -> HourFeed:
        """The hour of the survey."""
        return self.hours[0]

    @property
    def day(self) -> tuple[HourFeed, ...]:
        """The other hours."""
        return self.hours[1:]

    @property
    def from_tank(self) -> bool:
        """Whether a booster draws from a break tank, so that street and board do not meet."""
        return self.parts[0] is FeedPoint.BREAK_TANK

    @property
    def most_m3_s(self) -> float:
        """What comes to the board in the long run at most [m3/s]: behind a break tank what the street fills it with."""
        return self.street_gives_m3_s if self.from_tank else math.inf

    @property
    def street_gives_m3_s(self) -> float:
        """What the street runs into the open at most [m3/s], as into a break tank; its float valve is not counted."""
        given = open_flow(Feed(self.street, self.up))
        return 0.0 if isinstance(given, Reason) else given


@lru_cache(maxsize=256)
def _shared(feed: Feed, conductance: float) -> Shared | Reason:
    """Kept by value: most edits leave the feed as it is."""
    return shared_water(feed, (conductance,))[0]


def feed_of(site: Site, common: CommonPlant, known: Resolved) -> BoardFeed | None:
    """The feed of a design; None where it has no water or no pressure, which `feed_findings` tells.

    Height between tie-in and board is counted where it is stated, and a hose where bore and length are given.

    Args:
        site: the survey.
        common: what the board has.
        known: the design's parts.
    """
    if next(_in_the_way(site, common, known), None) is not None:
        return None
    if known.backflow is None or known.booster is None or known.reducer is None:
        return None  # told where keys are looked up
    street, water = _street(site), site.water
    hours = [HourFeed(Hour.TEST, *_chain(site, street, water.temperature.si, common, known))]
    seasons = tuple(dict.fromkeys(t.si for t in (water.winter, water.summer) if t is not None))
    warmths = [t for t in seasons if _bad_temperature(t) is None]
    ends = [] if known.backflow.gap else [end for end in _ends(site, street) if end[1] >= _LEAST_PA]
    for hour, static, assumed in ends or [(Hour.TEST, street.static_pa, False)] * bool(warmths):
        curve = street.at_static(static)
        hours += [
            HourFeed(hour, *_chain(site, curve, warm, common, known), assumed, bool(warmths))
            for warm in warmths or [water.temperature.si]
        ]
    return BoardFeed(
        tuple(hours),
        _parts(site, common, known),
        street,
        water.static_pressure is None,
        barometric_pressure(site.altitude.si),
        _up(site, water.temperature.si),
    )


def _up(site: Site, temperature_k: float) -> tuple[Rise, ...]:
    """The height from the tie-in up to the board, where it is stated and there is one."""
    metres = _height_m(site)
    return (Rise(metres, liquid(temperature_k, 1.0).density_kg_m3),) if metres else ()


def _height_m(site: Site) -> float:
    """From the tie-in up to the board [m]; 0 where it is not stated."""
    return 0.0 if site.water.rise is None else site.water.rise.si


def _parts(site: Site, common: CommonPlant, known: Resolved) -> tuple[FeedPoint, ...]:
    backflow, pump = known.backflow, bool(known.booster and known.booster.rise_kpa)
    valve = [FeedPoint.REDUCER] if known.reducer is not None and known.reducer.kv is not None else []
    if backflow is not None and backflow.gap:
        parts = [FeedPoint.BREAK_TANK, *valve]
    else:
        parts = [FeedPoint.STREET]
        parts += [FeedPoint.RISE] if _height_m(site) else []
        # A valve stands first, where it spares the protection; a pump would lift the pressure behind it again.
        parts += [] if pump else valve
        parts += [FeedPoint.BACKFLOW] if backflow is not None and backflow.loss_kpa else []
        parts += [FeedPoint.BOOSTER, *valve] if pump else []
    parts += [FeedPoint.TUBE] if common.feed_bore is not None and common.feed_length is not None else []
    return tuple(parts)


def _chain(
    site: Site, street: SupplyCurve, temperature_k: float, common: CommonPlant, known: Resolved
) -> tuple[Feed, float, float]:
    """The feed at one hour, and temperature and vapour pressure of its water."""
    source: Source = street
    stages: list[Passage] = []
    for part in _parts(site, common, known):
        if part is FeedPoint.BREAK_TANK and known.booster is not None:
            source = BoosterPump(_si(known.booster.rise_kpa), demo=True)
        elif part is FeedPoint.RISE:
            stages += _up(site, temperature_k)
        elif part is FeedPoint.BACKFLOW and known.backflow is not None:
            stages.append(LossCurve(_si(known.backflow.loss_kpa), demo=True))
        elif part is FeedPoint.BOOSTER and known.booster is not None:
            stages.append(BoosterPump(_si(known.booster.rise_kpa), demo=True))
        elif part is FeedPoint.REDUCER and known.reducer is not None and known.reducer.kv is not None:
            fall_off = known.reducer.fall_off_kpa_per_l_min * _KPA / _L_MIN
            stages.append(ReducingValve(common.reducer_setting.si, known.reducer.kv, fall_off))
        elif part is FeedPoint.TUBE and common.feed_length is not None and common.feed_bore is not None:
            stages.append(HoseRun(common.feed_length.si, common.feed_bore.si, liquid(temperature_k, 1.0)))
    return Feed(source, tuple(stages)), temperature_k, vapour_pressure(temperature_k)


def _ends(site: Site, street: SupplyCurve) -> list[tuple[Hour, float, bool]]:
    """Low and high of the day: static pressure [Pa], and whether it was not read."""
    low, high = site.water.low_static, site.water.high_static
    wrong = _out_of_order(site, street)
    known_low, known_high = (
        low is not None and "low_static" not in wrong,
        high is not None and "high_static" not in wrong,
    )
    return [
        (Hour.LOW, low.si, False)
        if low is not None and known_low
        else (Hour.LOW, (1.0 - DAY_SWING) * street.static_pa, True),
        (Hour.HIGH, high.si, False)
        if high is not None and known_high
        else (Hour.HIGH, (1.0 + DAY_SWING) * street.static_pa, True),
    ]


def _out_of_order(site: Site, street: SupplyCurve) -> tuple[str, ...]:
    """Fields of the day's ends that are on the wrong side of the static pressure at the hour of the survey.

    Where that was not read, only the two are held against each other.
    """
    low, high = site.water.low_static, site.water.high_static
    if site.water.static_pressure is None:
        crossed = low is not None and high is not None and low.si > high.si
        return ("low_static", "high_static") if crossed else ()
    wrong = []
    if low is not None and low.si > street.static_pa:
        wrong.append("low_static")
    if high is not None and high.si < street.static_pa:
        wrong.append("high_static")
    return tuple(wrong)


def _bad_temperature(temperature_k: float) -> OutOfRange | None:
    try:
        liquid(temperature_k, 1.0)
    except OutOfRange as error:
        return error
    return None


def _si(points: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    return tuple((flow * _L_MIN, pressure * _KPA) for flow, pressure in points)


def _street(site: Site) -> SupplyCurve:
    water = site.water
    static = water.static_pressure
    return SupplyCurve(
        water.pressure.si / (1.0 - ASSUMED_DROP) if static is None else static.si,
        water.flow.si,
        water.pressure.si,
    )


def _in_the_way(site: Site, common: CommonPlant, known: Resolved) -> Iterator[Finding]:
    """What keeps the board from having water that can be worked out."""
    water, static = site.water, site.water.static_pressure
    if water.flow.si <= 0.0:
        yield Finding(
            Severity.ERROR,
            "site.water.flow",
            "water-none",
            "Water flow: {flow} is no supply, so no mixture can be proved. Measure the flow at the tie-in with a "
            "bucket and a watch, and the pressure while it flows.",
            SOURCE,
            facts=facts(flow=Amount.of(water.flow)),
        )
    elif static is None and water.pressure.si < _LEAST_PA:
        yield Finding(
            Severity.ERROR,
            "site.water.pressure",
            "water-none",
            "Water pressure: {pressure} while water flows is no supply, so no mixture can be proved. Read it at the "
            "tie-in again, and once more with nothing running.",
            SOURCE,
            facts=facts(pressure=Amount.of(water.pressure)),
        )
    elif static is not None and static.si <= water.pressure.si:
        yield Finding(
            Severity.ERROR,
            "site.water.static_pressure",
            "water-static-low",
            "Static water pressure: {static} is not above the {pressure} while water flows. Read both at the "
            "tie-in again, the static one with nothing running.",
            SOURCE,
            facts=facts(static=Amount.of(static), pressure=Amount.of(water.pressure)),
        )
    error = _bad_temperature(water.temperature.si)
    if error is not None:
        yield _too_warm("temperature", "Water temperature", error)
    if known.backflow is not None and known.backflow.gap and known.booster and not known.booster.rise_kpa:
        yield Finding(
            Severity.ERROR,
            "design.common.booster",
            "break-tank-no-pressure",
            "Backflow protection by {gap}: behind its break tank there is no pressure, and no proportioner draws "
            "concentrate without it. Choose a booster pump, or another protection that the local code accepts.",
            SOURCE,
            facts=facts(gap=Ref(IdKind.BACKFLOW, known.backflow.key)),
        )
    reducer = known.reducer
    if reducer is not None and reducer.kv is not None:
        low, high = (end * _KPA for end in (reducer.min_kpa, reducer.max_kpa))
        if not low <= common.reducer_setting.si <= high:
            yield Finding(
                Severity.ERROR,
                "design.common.reducer_setting",
                "reducer-setting",
                "Valve setting: {setting} is not among those of {valve}, {low} to {high}.",
                SOURCE,
                facts=facts(
                    setting=Amount.of(common.reducer_setting),
                    valve=Ref(IdKind.REDUCER, reducer.key),
                    low=told.pressure(low),
                    high=told.pressure(high),
                ),
            )


def _too_warm(field: str, label: str, error: OutOfRange) -> Finding:
    return Finding(
        Severity.ERROR,
        f"site.water.{field}",
        "plant-out-of-range",
        "{label}: no mixture can be proved at it: {why}.",
        SOURCE,
        facts=facts(label=label, why=told.out_of_range(error)),
    )


def feed_findings(site: Site, common: CommonPlant, known: Resolved) -> Iterator[Finding]:
    """What is to be said of the feed by itself, whatever fills."""
    blocked = tuple(_in_the_way(site, common, known))
    yield from blocked
    if (common.feed_bore is None) is not (common.feed_length is None):
        missing = "feed_bore" if common.feed_bore is None else "feed_length"
        yield Finding(
            Severity.NOTE,
            f"design.common.{missing}",
            "feed-hose-half",
            "Feed hose: of bore and length only one is given, so its loss is not counted. Give both, or neither.",
            SOURCE,
        )
    if any(f.rule in ("water-none", "water-static-low") for f in blocked):
        return
    street, water = _street(site), site.water
    if water.test_reading is Reading.ASSUMED:
        yield Finding(
            Severity.NOTE,
            "site.water.test_reading",
            "water-assumed",
            "Pressure and flow from: {pressure} at {flow} are assumed. Measure them at the tie-in with a gauge, a "
            "bucket and a watch before the order; every mixture rests on them.",
            SOURCE,
            facts=facts(pressure=Amount.of(water.pressure), flow=Amount.of(water.flow)),
        )
    if water.hardness is not None and water.hardness > HARD_MG_L:
        yield Finding(
            Severity.NOTE,
            "site.water.hardness",
            "water-hard",
            "Water hardness: {hardness} is very hard water (more than {limit}). Lime narrows metering tips and foot "
            "valves, so that mixtures turn lean: test the dilutions often, or soften the water.{unread}",
            "scale of hardness of the United States Geological Survey, from memory",
            facts=facts(
                hardness=Number(water.hardness, 0, "\u00a0mg/L"),
                limit=Number(HARD_MG_L, 0, "\u00a0mg/L"),
                unread=_UNREAD[water.hardness_reading],
            ),
        )
    for name, label, warm in (
        ("winter", "Water in winter", water.winter),
        ("summer", "Water in summer", water.summer),
    ):
        error = None if warm is None else _bad_temperature(warm.si)
        if error is not None:
            yield _too_warm(name, label, error)
    yield from _day_findings(site, street, known)
    if site.water.static_pressure is None:
        yield Finding(
            Severity.NOTE,
            "site.water.static_pressure",
            "water-static-missing",
            "Static water pressure: it was not read, and {static} is assumed. Read it at the tie-in with nothing "
            "running: it decides what a tank gets that fills alone, and what is left when several fill at once.",
            SOURCE,
            facts=facts(static=told.pressure(street.static_pa)),
        )
    elif not street.reliable:
        yield Finding(
            Severity.NOTE,
            "site.water.static_pressure",
            "water-test-weak",
            "Static water pressure: the flow of the survey drops it by {drop} only, and a test that drops it by less "
            "than {limit} tells little of what more flow would do. Open more taps and read again.",
            SOURCE,
            facts=facts(drop=told.share(street.drop_share, 1), limit=told.share(DROP_LIMIT)),
        )


def _day_findings(site: Site, street: SupplyCurve, known: Resolved) -> Iterator[Finding]:
    """What the readings of the day say by themselves; nothing behind a break tank, where they count for nothing."""
    water = site.water
    for name in _out_of_order(site, street):
        yield Finding(
            Severity.ERROR,
            f"site.water.{name}",
            "water-day-order",
            "{which}: {pressure} does not go with {static} of static pressure at the hour of the survey and with the "
            "other end of the day; the lowest is no more, the highest no less. It is not used: read it again.",
            SOURCE,
            facts=facts(
                which=Phrase("Lowest static pressure" if name == "low_static" else "Highest static pressure"),
                pressure=Amount.of(getattr(water, name)),
                static=told.pressure(street.static_pa),
            ),
        )
    if known.backflow is not None and known.backflow.gap:
        return
    if water.low_static is not None and water.low_static.si < _LEAST_PA:
        yield Finding(
            Severity.ERROR,
            "site.water.low_static",
            "water-none",
            "Lowest static pressure: at {pressure} there is no water for a part of the day, and no tank fills. A break "
            "tank with a booster pump carries the board over it.",
            SOURCE,
            facts=facts(pressure=Amount.of(water.low_static)),
        )


_PLACES: Final = {
    FeedPoint.STREET: "site.water.flow",
    FeedPoint.RISE: "site.water.rise",
    FeedPoint.BREAK_TANK: "design.common.booster",
    FeedPoint.BACKFLOW: "design.common.backflow",
    FeedPoint.BOOSTER: "design.common.booster",
    FeedPoint.REDUCER: "design.common.reducer",
    FeedPoint.TUBE: "design.common.feed_bore",
}


def why_no_water(feed: BoardFeed, reason: Reason) -> tuple[str, Phrase]:
    """Why some proportioners have no water that is known: the place of what stands in the way, and words."""
    if reason.trouble is Trouble.NO_PRESSURE:
        return _nothing_left(feed)
    part = feed.parts[reason.part or 0]
    more = reason.trouble is Trouble.FLOW_ABOVE
    return _PLACES[part], Phrase(
        "the {part} is known from {low} to {high} and would pass "
        + (
            "more; a larger one, a smaller proportioner, or fewer tanks that fill at once keep it within that"
            if more
            else "less; a smaller one, or a larger proportioner, keeps it within that"
        ),
        facts(part=FEED_WORDS[part], low=told.flow(reason.low, 0), high=told.flow(reason.high, 0)),
    )


def _nothing_left(feed: BoardFeed) -> tuple[str, Phrase]:
    """That no pressure is left at rest: the place of what takes most of it, and words."""
    # At rest a reducing valve or a hose leaves what there is or holds its setting: what takes is height or backflow.
    along = [float(pressure) for pressure in feed.test.feed.along(np.asarray(0.0))]
    taken = {
        part: before - after
        for part, (before, after) in zip(feed.parts[1:], pairwise(along), strict=True)
        if part in (FeedPoint.RISE, FeedPoint.BACKFLOW)
    }
    if not taken:
        return _PLACES[feed.parts[0]], Phrase("no pressure is left before any water flows")
    most = max(taken, key=taken.__getitem__)
    remedy = (
        "hang the board lower, or have a booster pump at the tie-in"
        if most is FeedPoint.RISE
        else "a break tank with a booster pump lifts it"
    )
    return _PLACES[most], Phrase(
        "the losses ahead of it take the whole pressure before any water flows, the {part} alone {loss}; "
        + remedy,
        facts(part=FEED_WORDS[most], loss=told.pressure(taken[most])),
    )
