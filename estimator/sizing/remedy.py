"""What holds a mixture that misses its limits: tried on the same board, not guessed."""

from __future__ import annotations

import math
from collections.abc import Container, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from estimator.hydraulics.board import Feed, Reason, Shared, shared_water
from estimator.hydraulics.drills import NUMBER_DRILLS, drill_diameter
from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.proportioner import ProportionerCurves
from estimator.model.design import CommonPlant, Design
from estimator.model.finding import IdKind, Phrase, Ref, facts
from estimator.model.site import Site
from estimator.reference.catalogue import Catalogue
from estimator.reference.resolved import Resolved
from estimator.sizing import told
from estimator.sizing.dilution import Mixer, proportioner_of, suction_of
from estimator.sizing.feed import BoardFeed, feed_of
from estimator.units import Dimension, parse

__all__ = ["UNTRIED", "Mender", "board_right", "board_tips", "conductance"]

MOST_TRIED: Final = 6
"""Products of a design for which remedies are tried: a board with more that are wrong is mended one after another."""

_SETTINGS_PA: Final = tuple(50e3 * step for step in range(3, 11))
"""Settings of a reducing valve that are tried [Pa]: 1.5 to 5 bar, as a gauge can be read."""
_AROUND: Final = (0, 1, -1, 2, -2)
"""Drills that are tried, away from the one nearest to the wanted dilution."""

UNTRIED: Final = Phrase("Another tip, a pressure-reducing valve or a booster pump may hold it")


def conductance(made: ProportionerCurves) -> float:
    """Water through a proportioner over the root of its inlet pressure [m3/(s Pa**0.5)]."""
    return made.water_flow_m3_s / math.sqrt(made.at_pa)


@lru_cache(maxsize=512)
def _waters(feed: Feed, cases: tuple[float, ...]) -> tuple[Shared | Reason, ...]:
    return shared_water(feed, cases)


@dataclass(slots=True)
class Mender:
    """Tries what holds a mixture.

    Attributes:
        site, common, known, parts: the survey, what the board has, its parts, and what the catalogue offers.
        feed: the board's water as it is.
        left: for how many products it still tries.
    """

    site: Site
    common: CommonPlant
    known: Resolved
    parts: Catalogue
    feed: BoardFeed
    left: int = MOST_TRIED

    def tried(self, mixer: Mixer, drill: int, cases: Sequence[float]) -> Phrase:
        """What holds a mixture at every hour and in every case, the least change first; words where nothing does.

        Args:
            mixer: what mixes the product.
            drill: its tip.
            cases: conductances of all that fill in a case, the product alone first [m3/(s Pa**0.5)].
        """
        if self.left <= 0:
            return UNTRIED
        self.left -= 1
        for words, feed in self._ways():
            found = _holding(feed, mixer, drill, tuple(cases))
            if found is not None and not (feed is self.feed and found == drill):
                tip = Phrase("")
                if found != drill:
                    tip = Phrase(", with tip drill {drill}", facts(drill=str(found)))
                if feed is self.feed:
                    return Phrase(
                        "Tip drill {drill} holds it in every case that was looked at", facts(drill=str(found))
                    )
                return Phrase(
                    "{way} holds it in every case that was looked at{tip}", facts(way=words, tip=tip)
                )
        return Phrase(
            "No other tip, pressure-reducing valve or booster pump of the catalogue holds it, nor a supply of twice "
            "the flow: another proportioner may, or a dilution that leaves more room"
        )

    def _ways(self) -> Iterator[tuple[Phrase, BoardFeed]]:
        yield Phrase(""), self.feed
        if self.known.reducer is not None:
            for valve in self.parts.reducers:
                if valve.kv is not None:
                    yield from self._with_valve(valve.key)
                    break  # the smallest; a larger one only loses less
        for pump in self.parts.boosters:
            if pump.rise_kpa and pump.key != self.common.booster:
                feed = feed_of(self.site, self.common, replace(self.known, booster=pump))
                if feed is not None:
                    yield Phrase("{pump}", facts(pump=Ref(IdKind.BOOSTER, pump.key))), feed
        if not self.feed.from_tank:
            flow = parse(f"{2.0 * 60000.0 * self.site.water.flow.si:.9g} L/min", Dimension.FLOW)
            water = self.site.water.model_copy(update={"flow": flow})
            feed = feed_of(self.site.model_copy(update={"water": water}), self.common, self.known)
            if feed is not None:
                yield Phrase("A supply of twice the flow at the same pressures"), feed

    def _with_valve(self, key: str) -> Iterator[tuple[Phrase, BoardFeed]]:
        valve = next(part for part in self.parts.reducers if part.key == key)
        for setting in reversed(_SETTINGS_PA):
            if not 1000.0 * valve.min_kpa <= setting <= 1000.0 * valve.max_kpa:
                continue
            text = parse(f"{setting / 1e5:.9g} bar", Dimension.PRESSURE)
            common = self.common.model_copy(update={"reducer": key, "reducer_setting": text})
            feed = feed_of(self.site, common, replace(self.known, reducer=valve))
            if feed is not None:
                words = Phrase(
                    "{valve} set to {setting}",
                    facts(valve=Ref(IdKind.REDUCER, key), setting=told.pressure(setting)),
                )
                yield words, feed


def _holding(feed: BoardFeed, mixer: Mixer, drill: int, cases: tuple[float, ...]) -> int | None:
    """The tip drill that holds a mixture at every hour in every case: the one there is, or one near the best."""
    waters = [(hour, _waters(hour.feed, cases)) for hour in feed.hours]
    known = [
        (hour, water.inlet_pa) for hour, found in waters for water in found if not isinstance(water, Reason)
    ]
    if len(known) < len(cases) * len(feed.hours):
        return None
    try:
        best = mixer.tip(*known[0])
    except OutOfRange:
        return None
    drills = list(NUMBER_DRILLS)
    if best not in drills:
        return None
    at = drills.index(best)
    near = [drills[at + step] for step in _AROUND if 0 <= at + step < len(drills)]
    return next(
        (
            each
            for each in dict.fromkeys((drill, *near))
            if all(mixer.right(hour, inlet, drill_diameter(each)) for hour, inlet in known)
        ),
        None,
    )


def board_tips(
    site: Site, design: Design, known: Resolved, free: Container[str] = frozenset()
) -> dict[str, int] | None:
    """The tip drill of each product with which every mixture of a design is inside its limits over the day, filling
    alone and with all tanks filling; None where one is not.

    Args:
        site: the survey.
        design: what was chosen.
        known: its parts.
        free: products whose tip may be another than that of the design.
    """
    feed = feed_of(site, design.common, known)
    if feed is None:
        return None
    named = {product.id: product for product in design.products}
    mixers = [
        (
            Mixer(
                proportioner_of(one.proportioner),
                suction_of(one.unit),
                named[one.unit.product],
                feed.barometric_pa,
            ),
            one.unit,
        )
        for one in known.plant
        if one.proportioner is not None
        and one.unit.product in named
        and named[one.unit.product].dilution > 0.0
    ]
    everything = math.fsum(conductance(mixer.made) for mixer, _ in mixers)
    tips: dict[str, int] = {}
    for mixer, unit in mixers:
        water = feed.test.alone(mixer.made)
        if isinstance(water, Reason):
            return None
        try:
            drill = unit.tip_drill or mixer.tip(feed.test, water.inlet_pa)
        except OutOfRange:
            return None
        found = _holding(feed, mixer, drill, (conductance(mixer.made), everything))
        if found is None or (found != drill and unit.product not in free):
            return None
        tips[unit.product] = found
    return tips


def board_right(site: Site, design: Design, known: Resolved) -> bool:
    """Whether every mixture of a design is inside its limits over the day, filling alone and with all tanks filling."""
    return board_tips(site, design, known) is not None
