"""Eyewash and drench shower: where a concentrate burns, how far away they are, and what feeds them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache
from itertools import pairwise
from typing import Final

from estimator.layout.spots import Spot
from estimator.layout.stations import Rectangle, bay_rectangle, board_spot, um
from estimator.layout.walking import walk
from estimator.model.choices import Answer
from estimator.model.design import Bay, Design, Product
from estimator.model.finding import Amount, Finding, Severity, facts
from estimator.model.site import Board, Floor, Site
from estimator.safety.hazards import Known, hazards_of
from estimator.safety.scene import LOCAL, Scene, products_named
from estimator.units import Dimension

__all__ = [
    "REACH_M",
    "SHOWER_FLOW_M3_S",
    "TEPID_K",
    "eyewash",
    "eyewash_way",
    "shower",
    "way_to_eyewash",
    "way_to_it",
]

_OSHA: Final = "29 CFR 1910.151(c)"
_EYES: Final = f"{_OSHA}; ANSI/ISEA Z358.1-2014 (reach within 10 s, 15 min of flow)"
_REACH: Final = "ANSI/ISEA Z358.1-2014, Appendix B (length of a way of 10 s, from memory)"
_TEPID: Final = "ANSI/ISEA Z358.1-2014 (tepid water, from memory)"
_SHOWER: Final = f"{_OSHA}; ANSI/ISEA Z358.1-2014 (flow of a shower, from memory)"

REACH_M: Final = 55 * 0.3048
"""55 ft: what counts as 10 s on foot."""
TEPID_K: Final = (273.15 + (60 - 32) / 1.8, 273.15 + (100 - 32) / 1.8)
"""60 to 100 °F, 16 to 38 °C."""
SHOWER_FLOW_M3_S: Final = 20 * 0.003785411784 / 60
"""20 gallons a minute."""
_SURE: Final = (Known.YES, Known.LIKELY)


@lru_cache(maxsize=64)
def _way(floor: Floor, board: Board, bays: tuple[Bay, ...], end: Spot) -> tuple[Spot, ...]:
    hall = Rectangle(0, 0, um(floor.width), um(floor.depth))
    start = board_spot(Site(floor=floor, board=board))
    ends_inside = all(hall.west <= x <= hall.east and hall.south <= y <= hall.north for x, y in (start, end))
    return walk(hall, [bay_rectangle(bay) for bay in bays], start, end) if ends_inside else ()


def way_to_eyewash(floor: Floor, board: Board, design: Design) -> tuple[tuple[float, float], ...]:
    """Corners of the shortest way from the board, where the concentrates stand, to the eyewash, in metres.

    Nothing without an eyewash, without its place, or where there is no way inside the hall.
    """
    wash = design.common.wash
    if not design.common.eyewash or wash.x is None or wash.y is None:
        return ()
    return tuple((x / 1e6, y / 1e6) for x, y in _way(floor, board, design.bays, (um(wash.x), um(wash.y))))


def way_to_it(site: Site, design: Design) -> float | None:
    """Length of that way (m), None where there is none."""
    way = way_to_eyewash(site.floor, site.board, design)
    if not way:
        return None
    return math.fsum(math.dist(a, b) for a, b in pairwise(way))


def _burning(scene: Scene) -> tuple[Product, ...]:
    return scene.such(lambda h: h.corrosive in _SURE)


def eyewash(scene: Scene) -> Iterator[Finding]:
    """An eyewash where a concentrate burns."""
    if scene.design.common.eyewash:
        return
    advice = (
        "An eyewash must be reached within 10 s on a free path and flow for 15 min. Quote one, or make "
        "sure that one hangs there."
    )
    corrosive = _burning(scene)
    if corrosive:
        yield Finding(
            Severity.WARNING,
            "design.common.eyewash",
            "eyewash-missing",
            f"Eyewash station: {{products}} can be corrosive and no eyewash is quoted. {advice}",
            _EYES,
            LOCAL,
            facts(products=products_named(corrosive)),
        )
        return
    maybe = scene.such(lambda h: h.corrosive is Known.MAYBE)
    if maybe:
        yield Finding(
            Severity.NOTE,
            "design.common.eyewash",
            "eyewash-check",
            "Eyewash station: look up in the safety data sheets whether the concentrate of {products} is corrosive; "
            f"if so: {advice[0].lower()}{advice[1:]}",
            _EYES,
            LOCAL,
            facts(products=products_named(maybe)),
        )


def eyewash_way(scene: Scene) -> Iterator[Finding]:
    """The eyewash that is there: how far it is, whether its water is tepid and where it branches off."""
    common, corrosive = scene.design.common, _burning(scene)
    wash = common.wash
    if not common.eyewash or not corrosive:
        return
    products = products_named(corrosive)
    if wash.x is not None and wash.y is not None:
        yield from _reach(scene, corrosive)
    asked = [
        (name, words)
        for name, words, left in (
            ("x" if wash.x is None else "y", "its place on the plan", wash.x is None or wash.y is None),
            ("water", "the temperature of its water", wash.water is None),
            ("ahead", "whether it is fed ahead of the backflow protection", wash.ahead is Answer.NOT_KNOWN),
        )
        if left
    ]
    if asked:
        yield Finding(
            Severity.NOTE,
            f"design.common.wash.{asked[0][0]}",
            "eyewash-open",
            "Eyewash station: {products} can be corrosive; of the eyewash is not stated {asked}.",
            f"{_EYES}; {_TEPID}",
            LOCAL,
            facts(products=products, asked=_words([words for _, words in asked])),
        )
    water = wash.water
    if water is not None and not TEPID_K[0] - 0.5 <= water.si <= TEPID_K[1] + 0.5:
        yield Finding(
            Severity.WARNING,
            "design.common.wash.water",
            "eyewash-water",
            "Rinse water: {water} is {word} than tepid, {least} to {most}. Nobody rinses for 15 min with water that "
            "hurts: a tempering valve by a licensed plumber brings it there.",
            _TEPID,
            "licensed plumber",
            facts(
                water=Amount.of(water),
                word="colder" if water.si < TEPID_K[0] else "hotter",
                least=Amount(TEPID_K[0], Dimension.TEMPERATURE, 0),
                most=Amount(TEPID_K[1], Dimension.TEMPERATURE, 0),
            ),
        )
    if wash.ahead is Answer.NO:
        yield Finding(
            Severity.ERROR,
            "design.common.wash.ahead",
            "eyewash-branch",
            "Fed ahead of the backflow protection: no. An eyewash behind the dispenser's backflow protection can give "
            "water that holds {products}; it needs drinking water that branches off before it.",
            f"{_EYES}; common practice",
            "licensed plumber, local plumbing code",
            facts(products=products),
        )


def _words(asked: list[str]) -> str:
    return " and ".join(filter(None, (", ".join(asked[:-1]), asked[-1])))


def _reach(scene: Scene, corrosive: tuple[Product, ...]) -> Iterator[Finding]:
    site, wash = scene.site, scene.design.common.wash
    assert wash.x is not None and wash.y is not None
    floor = site.floor
    if um(wash.x) > um(floor.width) or um(wash.y) > um(floor.depth):
        beyond_x = um(wash.x) > um(floor.width)
        yield Finding(
            Severity.ERROR,
            f"design.common.wash.{'x' if beyond_x else 'y'}",
            "eyewash-outside",
            "Eyewash from the {wall} wall: at {at} it stands outside of the hall, which ends at {end}.",
            "common practice, no source",
            facts=facts(
                wall="west" if beyond_x else "south",
                at=Amount.of(wash.x if beyond_x else wash.y),
                end=Amount.of(floor.width if beyond_x else floor.depth),
            ),
        )
        return
    path = way_to_it(site, scene.design)
    told = facts(products=products_named(corrosive), limit=Amount(REACH_M, Dimension.LENGTH, 1))
    if path is None:
        return  # the board is off its wall, which is told there
    far = path > REACH_M + 1e-9
    yield Finding(
        Severity.WARNING if far else Severity.NOTE,
        "design.common.wash.x",
        "eyewash-far" if far else "eyewash-way",
        "Eyewash station: from the containers of {products} at the board the shortest way around the bays is {path}"
        + (
            ", more than the {limit} that count as 10 s. Move it nearer, or hang a second one."
            if far
            else ", within the {limit} that count as 10 s. The way must stay free, without a step or a door that locks."
        ),
        _REACH,
        LOCAL,
        (*told, *facts(path=Amount(path, Dimension.LENGTH, 1))),
    )


def shower(scene: Scene) -> Iterator[Finding]:
    """A drench shower where skin is burnt too, and the water that it needs."""
    wash = scene.design.common.wash
    skin = scene.such(lambda h: h.skin)
    if wash.shower:
        flow = scene.water.flow
        if flow.si < SHOWER_FLOW_M3_S * (1 - 1e-9):
            yield Finding(
                Severity.WARNING,
                "site.water.flow",
                "shower-flow",
                "Drench shower: it needs {need} for 15 min, and the tie-in gives {flow}. It must be fed by a pipe of "
                "its own that gives as much.",
                _SHOWER,
                "licensed plumber",
                facts(need=Amount(SHOWER_FLOW_M3_S, Dimension.FLOW, 0), flow=Amount.of(flow)),
            )
        return
    if skin:
        yield Finding(
            Severity.WARNING,
            "design.common.wash.shower",
            "shower-missing",
            "Drench shower: the concentrate of {products} burns skin and no shower is quoted. It stands beside the "
            "eyewash, is reached "
            "within 10 s and flows for 15 min. Quote one, or make sure that one hangs there.",
            _SHOWER,
            LOCAL,
            facts(products=products_named(skin)),
        )
        return
    likely = tuple(p for p in _burning(scene) if not p.sheet.is_read and not hazards_of(p.sheet).skin)
    if likely:
        yield Finding(
            Severity.NOTE,
            "design.common.wash.shower",
            "shower-check",
            "Drench shower: look up in the safety data sheets whether the concentrate of {products} burns skin (H314); "
            "if so, a shower stands beside the eyewash.",
            _SHOWER,
            LOCAL,
            facts(products=products_named(likely)),
        )
