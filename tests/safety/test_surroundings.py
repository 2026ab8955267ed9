"""What codes and common practice ask of tray, drain, valves, heights, air gap and winter. The shops are invented."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from estimator.acts.sign import sign_for
from estimator.model.choices import Answer, Chemistry, DrainTo, NozzleType, Provided, SignalWord
from estimator.model.design import CommonPlant, Design
from estimator.model.finding import Finding, Severity
from estimator.model.grades import Danger, Grade
from estimator.model.job import Job
from estimator.model.sheet import SafetySheet
from estimator.model.signing import blocking
from estimator.model.site import Board, Site
from estimator.reference.catalogue import Backflow
from estimator.reference.resolved import resolve
from estimator.safety.checks import safety_findings
from estimator.safety.notes import safety_notes
from estimator.safety.water_protection import gap_needed
from estimator.shown.figures import Figures
from estimator.shown.findings import CUSTOMER, Sentences
from estimator.shown.names import Names
from estimator.units import Dimension, Quantity, UnitSystem, parse
from tests.safety.scene import PARTS, design, drop, product

C = Chemistry
PROTECTED = PARTS.model_copy(
    update={
        "backflow": (
            Backflow(key="backflow-air-gap", name="air gap", code="B-1", gap=True),
            Backflow(key="assembly", name="assembly", code="B-2", tested_yearly=True),
        )
    }
)


def at(length: str) -> Quantity:
    return parse(length, Dimension.LENGTH)


def small(length: str) -> Quantity:
    return parse(length, Dimension.SMALL_LENGTH)


def shop(**common: Any) -> Design:
    """One mild product at one gun; with what is stated of the board."""
    made = design(product("wash", C.NEUTRAL_DETERGENT), drops=(drop("a", "wash"),))
    return made.model_copy(update={"common": CommonPlant(**common)})


def found(made: Design, site: Site | None = None) -> dict[str, Finding]:
    every = safety_findings(site or Site(), made, resolve(made, PROTECTED), date(2026, 11, 25))
    return {f.rule: f for f in every}


@pytest.mark.parametrize(
    ("holds", "rule"),
    [(None, "containment-size"), ("19 L", "containment-small"), ("20 L", ""), ("5.3 gal", "")],
)
def test_a_tray_that_is_large_enough_is_not_spoken_of(holds: str | None, rule: str) -> None:
    """40 CFR 264.175(b)(3), confirmed: the largest container, here 20 L, or a tenth of all."""
    stated = None if holds is None else parse(holds, Dimension.VOLUME)
    told = {r: f for r, f in found(shop(tray_volume=stated)).items() if r.startswith("containment")}
    assert set(told) == ({rule} if rule else set())
    if rule == "containment-small":
        assert "19 L" in told[rule].message and "20 L" in told[rule].message


def test_a_storm_drain_never_goes_out_unless_a_permit_is_signed_for() -> None:
    storm, ground = (
        found(shop(), Site(drain=to))["drain-without-permit"] for to in (DrainTo.STORM, DrainTo.GROUND)
    )
    job = Job(design=shop())
    for told, other in ((storm, ground), (ground, storm)):
        assert told.grade is Grade.NEVER and told.defer_to == "local authority"
        assert blocking(job, [told]) == (told,)
        signed = sign_for(job, [told], "Demo signer", "Demo permit 12.", date(2026, 11, 25))
        assert blocking(signed, [told]) == ()
        assert blocking(signed, [other]) == (other,)


def test_each_other_destination_is_told_as_it_is() -> None:
    rules = {to: [r for r in found(shop(), Site(drain=to)) if r.startswith("drain")] for to in DrainTo}
    assert rules[DrainTo.NOT_KNOWN] == ["drain-open"] and rules[DrainTo.SANITARY] == ["drain-separator"]
    assert rules[DrainTo.SEPARATOR] == rules[DrainTo.COLLECTED] == []


def test_air_and_water_are_locked_out_and_of_a_board_for_air_air_alone() -> None:
    """29 CFR 1910.147, from memory."""
    assert "board's water and its air" in found(shop())["lockout-missing"].message
    half = found(shop(water_lockout=Provided.THERE))["lockout-missing"]
    assert "board's air" in half.message and half.place == "design.common.air_lockout"
    whole = shop(water_lockout=Provided.QUOTED, air_lockout=Provided.THERE)
    assert "lockout-missing" not in found(whole)
    air = design(drops=(drop("b", "air"),))
    assert (
        "board's air" in found(air)["lockout-missing"].message
        and "water" not in found(air)["lockout-missing"].message
    )
    note = {n.title: n for n in safety_notes(Site(), air)}["Release pressure before service"]
    assert "shut off the air, lock it" in note.text and "water" not in note.text
    assert "lockout-missing" in note.rules and "pressure-trapped" in note.rules


def test_the_trapped_pressure_is_that_of_the_job() -> None:
    (unit,) = shop().plant
    made = shop().model_copy(
        update={"plant": (unit.model_copy(update={"regulator": parse("55 psi", Dimension.PRESSURE)}),)}
    )
    told = found(made)["pressure-trapped"]
    assert "55 psi" in told.message and told.grade is Grade.KNOW and told.danger is Danger.INJURY


def test_labels_count_what_is_labelled() -> None:
    """29 CFR 1910.1200(f)(6), confirmed; ASME A13.1, second-hand."""
    assert "1 day tank" in found(shop())["labels-needed"].message
    assert "labels-needed" not in found(design(drops=(drop("b", "air"),)))


@pytest.mark.parametrize(("outlet", "mouth", "rules"), [
    ("2 m", "1.5 m", set()),
    ("2.1 m", "1.2 m", {"board-above-reach"}),
    ("1.6 m", "5.5 ft", {"mouth-high"}),
])  # fmt: skip
def test_nothing_is_handled_above_the_head_or_poured_above_the_eyes(
    outlet: str, mouth: str, rules: set[str]
) -> None:
    told = found(shop(mouth_height=at(mouth)), Site(board=Board(outlet_height=at(outlet))))
    assert {"board-above-reach", "mouth-high"} & set(told) == rules


@pytest.mark.parametrize(
    ("bore", "gap", "too_little"),
    [("10 mm", "25.4 mm", False), ("10 mm", "25 mm", True), ("20 mm", "39 mm", True), ("20 mm", "40 mm", False),
     ("1 in", "2 in", False)],
)  # fmt: skip
def test_an_air_gap_is_twice_the_opening_and_never_under_an_inch(
    bore: str, gap: str, too_little: bool
) -> None:
    """ASME A112.1.2, from memory."""
    told = found(shop(spout_bore=small(bore), air_gap=small(gap)))
    assert ("air-gap-small" in told) is too_little and "air-gap-open" not in told


def test_an_air_gap_is_told_in_millimetres_or_inches() -> None:
    made = shop(spout_bore=small("20 mm"), air_gap=small("30 mm"))
    told = found(made)["air-gap-small"]
    for system, words in ((UnitSystem.METRIC, "40\xa0mm here"), (UnitSystem.US, "1.575\xa0in here")):
        assert words in Sentences(Figures("en_US", "USD", system), Names(made)).installer(told)
    assert gap_needed(0.001) == pytest.approx(0.0254)
    assert "40 mm here" in found(shop(spout_bore=small("20 mm")))["air-gap-open"].message


def test_an_assembly_is_tested_every_year_by_somebody() -> None:
    assert "test-yearly" in found(shop(backflow="assembly"))
    assert "test-yearly" not in found(shop(backflow="assembly", yearly_test="Demo tester"))
    assert "test-yearly" not in found(shop())
    note = {n.title: n for n in safety_notes(Site(), shop(yearly_test="Demo tester"))}["Backflow protection"]
    assert "every year it is tested by Demo tester" in note.text


def test_a_hall_that_freezes() -> None:
    def cold(text: str) -> dict[str, Finding]:
        return found(shop(), Site(coldest=parse(text, Dimension.TEMPERATURE)))

    assert "-5 °C" in cold("-5 °C")["hall-freezing"].message
    assert "hall-freezing" not in cold("5 °C") and "hall-open" not in cold("5 °C")
    assert "how cold the hall gets" in found(shop())["hall-open"].message


def test_a_fan_makes_mist_something_to_know() -> None:
    made = design(product("acid", C.MINERAL_ACID), drops=(drop("a", "acid", nozzle=NozzleType.FAN),))
    told = {a: found(made, Site(ventilated=a))["mist-ventilation"] for a in Answer}
    assert [told[a].severity for a in (Answer.YES, Answer.NO, Answer.NOT_KNOWN)] == [
        Severity.NOTE,
        Severity.WARNING,
        Severity.WARNING,
    ]
    assert len({f.message for f in told.values()}) == 3


def test_bleach_and_peroxide_must_vent() -> None:
    for chemistry in (C.HYPOCHLORITE, C.PEROXIDE):
        made = design(product("p", chemistry))
        assert found(made)["vented-cap"].danger is Danger.INJURY
        assert "Containers that must vent" in {n.title for n in safety_notes(Site(), made)}
    assert "vented-cap" not in found(shop())


def test_flammable_spray_is_told_with_its_place_and_bonding() -> None:
    made = design(product("tar", C.PETROLEUM_SOLVENT), drops=(drop("a", "tar"),))
    told = found(made)["flammable-spray"].message
    assert "bond and earth" in told and "“a”" in told


def test_what_can_hurt_is_told_to_the_customer_too() -> None:
    shops = (
        shop(),
        shop(backflow="assembly", spout_bore=small("20 mm"), air_gap=small("1 mm"), mouth_height=at("3 m")),
    )
    gassing = design(product("b", C.HYPOCHLORITE))
    sites = (Site(), Site(drain=DrainTo.STORM, board=Board(outlet_height=at("3 m"))))
    every = [f for made in (*shops, gassing) for site in sites for f in found(made, site).values()]
    assert {f.rule for f in every if f.hurts} <= set(CUSTOMER)
    assert all(f.source for f in every)


def test_the_written_programme_is_asked_for_told_and_warned_of() -> None:
    """29 CFR 1910.1200(e)(1), from memory: a written programme (labels, sheets, training) with a list of products."""
    made = shop()
    rules = {a: [r for r in found(made, Site(programme=a)) if r.startswith("programme")] for a in Answer}
    assert rules == {
        Answer.YES: [],
        Answer.NO: ["programme-missing"],
        Answer.NOT_KNOWN: ["programme-open"],
    }
    missing = found(made, Site(programme=Answer.NO))["programme-missing"]
    assert (missing.severity, missing.danger, missing.place) == (
        Severity.WARNING,
        Danger.HEALTH,
        "site.programme",
    )
    title = "Safety data sheets and training"
    told = {a: {n.title: n for n in safety_notes(Site(programme=a), made)}[title].text for a in Answer}
    assert "has a written programme" in told[Answer.YES] and "no written programme" in told[Answer.NO]
    assert "was not stated" in told[Answer.NOT_KNOWN]
    # A sheet that was read and has no hazard on it asks for no programme.
    harmless = SafetySheet(classes=(C.NEUTRAL_DETERGENT,), signal_word=SignalWord.NONE)
    mild = made.model_copy(update={"products": (made.products[0].model_copy(update={"sheet": harmless}),)})
    assert not [r for r in found(mild, Site(programme=Answer.NO)) if r.startswith("programme")]
    assert "programme" not in {n.title: n for n in safety_notes(Site(), mild)}[title].text
