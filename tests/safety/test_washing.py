"""Eyewash and shower: 29 CFR 1910.151(c) (confirmed) and ANSI/ISEA Z358.1-2014 (10 s and 15 min confirmed; 55 ft, 60 to
100 °F and 20 gpm from memory). The shops are invented."""

from __future__ import annotations

import math
from datetime import date
from typing import Any

import pytest

from estimator.model.choices import Answer, Chemistry
from estimator.model.design import CommonPlant, Design
from estimator.model.finding import Finding, Severity
from estimator.model.grades import Danger, Grade
from estimator.model.site import Board, Floor, Site, WaterSupply
from estimator.model.washing import Washing
from estimator.reference.resolved import resolve
from estimator.safety.checks import safety_findings
from estimator.safety.washing import REACH_M, SHOWER_FLOW_M3_S, TEPID_K, way_to_it
from estimator.shown.findings import CUSTOMER
from estimator.units import Dimension, Quantity, parse
from tests.safety.scene import PARTS, design, product

C = Chemistry


def at(length: str) -> Quantity:
    return parse(length, Dimension.LENGTH)


def degrees(text: str) -> Quantity:
    return parse(text, Dimension.TEMPERATURE)


def hall(width: str = "40 m", flow: str = "20 L/min") -> Site:
    """The board in the middle of the west wall, the bay of the scene in the south-west corner."""
    return Site(
        floor=Floor(width=at(width), depth=at("20 m")),
        board=Board(along=at("18 m")),
        water=WaterSupply(flow=parse(flow, Dimension.FLOW)),
    )


def shop(*, eyewash: bool = True, sheet: dict[str, Any] | None = None, **wash: Any) -> Design:
    made = design(product("foam", C.STRONG_ALKALI, **(sheet or {})))
    return made.model_copy(update={"common": CommonPlant(eyewash=eyewash, wash=Washing(**wash))})


def found(made: Design, site: Site | None = None) -> dict[str, Finding]:
    every = safety_findings(site or hall(), made, resolve(made, PARTS), date(2026, 11, 25))
    return {f.rule: f for f in every if f.rule.startswith(("eyewash", "shower"))}


def test_the_figures_of_the_standard() -> None:
    assert pytest.approx(16.764) == REACH_M  # 55 ft
    assert [round(k - 273.15, 1) for k in TEPID_K] == [15.6, 37.8]  # 60 and 100 °F
    assert pytest.approx(75.7, abs=0.01) == SHOWER_FLOW_M3_S * 60_000  # 20 US gallons a minute, in litres


def test_every_answer_that_is_missing_is_asked_for() -> None:
    """With one sentence; a full answer leaves nothing but the value."""
    asked = found(shop())
    assert set(asked) == {"eyewash-open", "shower-check"}
    text = asked["eyewash-open"].message
    assert "its place on the plan, the temperature of its water and whether it is fed ahead" in text
    whole = shop(x=at("1 m"), y=at("19 m"), water=degrees("25 °C"), ahead=Answer.YES, shower=True)
    assert set(found(whole, hall(flow="80 L/min"))) == {"eyewash-way"}
    only = found(shop(x=at("1 m"), y=at("19 m"), water=degrees("25 °C")))["eyewash-open"]
    assert only.place == "design.common.wash.ahead" and "place" not in only.message


@pytest.mark.parametrize(("x", "rule"), [("16.7 m", "eyewash-way"), ("16.8 m", "eyewash-far")])
def test_ten_seconds_are_55_ft(x: str, rule: str) -> None:
    """Straight along the north wall, where no bay is in the way."""
    made = shop(x=at(x), y=at("18 m"))
    told = found(made)
    assert {"eyewash-way", "eyewash-far"} & set(told) == {rule}
    length = way_to_it(hall(), made)
    assert length == pytest.approx(at(x).si)
    assert f"{length:.1f} m" in told[rule].message and "16.8 m" in told[rule].message


def test_a_bay_in_the_way_makes_it_longer() -> None:
    """By hand: 16 m straight along the bay's north end; a bay 1 m longer is walked around in hypot(2, 1) + 5 +
    hypot(9, 1), or 16.3 m."""
    made = shop(x=at("16 m"), y=at("18 m"))
    ways = []
    for length in ("12 m", "13 m"):
        (bay,) = made.bays
        update = {"x": at("2 m"), "y": at("6 m"), "length": at(length), "width": at("5 m")}
        made = made.model_copy(update={"bays": (bay.model_copy(update=update),)})
        ways.append(way_to_it(hall(), made))
    assert ways == pytest.approx([16.0, math.hypot(2, 1) + 5 + math.hypot(9, 1)])


def test_outside_of_the_hall_is_an_error_and_no_way() -> None:
    made = shop(x=at("41 m"), y=at("18 m"))
    told = found(made)
    assert told["eyewash-outside"].severity is Severity.ERROR and way_to_it(hall(), made) is None
    assert not {"eyewash-way", "eyewash-far"} & set(told)


@pytest.mark.parametrize(
    ("water", "word"), [("8 °C", "colder"), ("16 °C", ""), ("60 °F", ""), ("38 °C", ""), ("45 °C", "hotter")]
)
def test_rinse_water_is_tepid(water: str, word: str) -> None:
    told = found(shop(water=degrees(water))).get("eyewash-water")
    assert (told is None) is (word == "")
    assert told is None or (word in told.message and told.message.startswith(f"Rinse water: {water}"))


def test_a_branch_behind_the_protection_must_be_mended() -> None:
    told = found(shop(ahead=Answer.NO))["eyewash-branch"]
    assert told.grade is Grade.MEND and told.danger is Danger.INJURY and "plumb" in told.defer_to


def test_skin_that_is_burnt_asks_for_a_shower() -> None:
    """H314 burns skin, H318 eyes alone."""
    skin = found(shop(sheet={"statements": ("H314",)}))
    assert skin["shower-missing"].severity is Severity.WARNING and "shower-check" not in skin
    eyes = found(shop(sheet={"statements": ("H318",), "dated": date(2026, 1, 1), "ph": 9.0}))
    assert not {"shower-missing", "shower-check"} & set(eyes)
    assert "shower-missing" not in found(shop(sheet={"statements": ("H314",)}, shower=True))


def test_a_shower_needs_more_water_than_most_tie_ins_give() -> None:
    assert "76 L/min" in found(shop(shower=True))["shower-flow"].message
    assert "shower-flow" not in found(shop(shower=True), hall(flow="20 gpm"))


def test_harmless_products_ask_for_nothing() -> None:
    made = design(product("wash", C.NEUTRAL_DETERGENT))
    assert found(made.model_copy(update={"common": CommonPlant(eyewash=True)})) == {}


def test_each_has_a_source_who_decides_and_a_sentence_for_the_customer() -> None:
    shops = (
        *(
            shop(),
            shop(eyewash=False),
            shop(x=at("30 m"), y=at("1 m"), water=degrees("5 °C"), ahead=Answer.NO),
        ),
        *(shop(shower=True), shop(sheet={"statements": ("H314",)})),
    )
    every = {rule: told for made in shops for rule, told in found(made).items()}
    assert len(every) == 8
    for rule, told in every.items():
        assert told.source and told.defer_to, rule
        assert rule in CUSTOMER and told.hurts, rule
