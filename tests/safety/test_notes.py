"""Safety notes follow from what is on the job."""

from __future__ import annotations

from estimator.model.choices import Chemistry, HoseKind, NozzleType
from estimator.model.design import Design, Drop, Product
from estimator.model.finding import IdKind, Ref, facts
from estimator.model.grades import Danger
from estimator.model.sheet import SafetySheet
from estimator.model.site import Site, WaterSupply
from estimator.safety.notes import SafetyNote, safety_notes
from estimator.shown.figures import Figures
from estimator.shown.findings import Sentences
from estimator.shown.names import Names
from estimator.units import Dimension, UnitSystem, parse
from tests.safety.scene import design, drop, product

C = Chemistry
LIQUID = {
    "Safety data sheets and training",
    "Protective equipment",
    "Labels and tags",
    "Release pressure before service",
    "Materials",
    "Wet floors",
    "Containment and drains",
    "Freezing",
}
"""On every job that sprays a liquid."""
DILUTED = {"Dilution is confirmed by test", "Solution that stands", "Backflow protection"}
"""Where the board dilutes it."""


def notes(made: Design, site: Site | None = None) -> dict[str, SafetyNote]:
    made_notes = safety_notes(site or Site(), made)
    return {n.title: n for n in made_notes}


def test_only_what_a_job_contains_is_spoken_of() -> None:
    """Nothing for an empty job; for air alone, air; a product that is used neat is not diluted."""
    assert notes(Design()) == {}
    assert set(notes(design(drops=(drop("d", "air"),)))) == {
        "Compressed air",
        "Pressure trapped in coil hoses",
        "Release pressure before service",
    }
    neat = design(product("wax", C.NEUTRAL_DETERGENT, dilution=0.0), drops=(drop("d", "wax"),))
    assert set(notes(neat)) == LIQUID | {"Pressure trapped in coil hoses"}
    made = design(product("wax", C.NEUTRAL_DETERGENT), drops=(drop("d", "wax"),))
    assert set(notes(made)) == LIQUID | DILUTED | {"Pressure trapped in coil hoses"}


def test_what_can_do_most_harm_stands_first() -> None:
    made = design(
        product("tar", C.PETROLEUM_SOLVENT), product("foam", C.STRONG_ALKALI), drops=(drop("a", "foam"),)
    )
    dangers = [note.danger.value for note in safety_notes(Site(), made)]
    assert dangers == sorted(dangers, reverse=True)
    assert dangers[0] == Danger.LIFE.value and dangers[-1] == Danger.NONE.value


def test_no_claim_that_the_design_does_not_meet() -> None:
    """Tray, eyewash and backflow protection as they are chosen."""
    made = design(product("foam", C.STRONG_ALKALI), drops=(drop("a", "foam"),))
    found = notes(made)
    assert facts(by=Ref(IdKind.BACKFLOW, "backflow-air-gap"))[0] in found["Backflow protection"].facts
    for has, tray, wash in (
        (True, "A containment tray under the concentrates is part", "An eyewash is part"),
        (False, "No containment tray is part", "No eyewash is part"),
    ):
        common = made.common.model_copy(update={"containment": has, "eyewash": has})
        found = notes(made.model_copy(update={"common": common}))
        assert tray in found["Containment and drains"].text
        assert wash in found["Eyewash"].text
        everything = " ".join(note.text for note in found.values())
        assert "were chosen" not in everything and "stays below" not in everything


def test_the_tray_is_asked_for_by_one_rule() -> None:
    """Largest container or a tenth of all (40 CFR 264.175(b)(3), second-hand): as the finding, whatever is chosen; the
    note asked for more than the largest container alone."""
    drums = product("foam", C.STRONG_ALKALI).model_copy(
        update={"container": parse("208 L", Dimension.VOLUME), "containers": 30}
    )
    made = design(drums, drops=(drop("a", "foam"),))
    for common, begins in (
        ({"containment": True}, "A containment tray under the concentrates is part"),
        ({"containment": False}, "No containment tray is part"),
        ({"containment": False, "existing": True}, "The board stays"),
    ):
        chosen = made.model_copy(update={"common": made.common.model_copy(update=common)})
        told = notes(chosen)["Containment and drains"].text
        # 30 x 208 L / 10 = 624 L (by hand).
        assert told.startswith(begins) and "must hold 624 L" in told


def test_sources_that_must_be_named() -> None:
    found = notes(design(product("rim", C.MINERAL_ACID), drops=(drop("d", "air"), drop("e", "rim"))))
    assert "1910.1200(f)(6)" in found["Labels and tags"].source
    assert "UPC 2024 603.5.22" in found["Backflow protection"].source
    assert "local plumbing code" in found["Backflow protection"].text
    assert "1910.151(c)" in found["Eyewash"].source and "Z358.1" in found["Eyewash"].source
    assert "1910.242(b)" in found["Compressed air"].source
    assert "maker's data" in found["Materials"].text


def test_special_notes_name_their_products() -> None:
    made = design(
        product("rim", C.MINERAL_ACID),
        product("foam", C.STRONG_ALKALI),
        product("tar", C.PETROLEUM_SOLVENT),
        product("quat", C.QUATERNARY),
        drops=(drop("a", "foam", nozzle=NozzleType.FOAM_GUN), drop("b", "air")),
    )
    found = notes(made)
    assert "“rim” and “foam”" in found["Acid and alkali"].text
    assert found["Acid and alkali"].concerns == ("rim", "foam")
    assert found["Foam and mist"].concerns == ("foam",) and "“foam”" in found["Foam and mist"].text
    assert found["Flammable concentrates"].concerns == ("tar",)
    assert found["Sanitiser"].concerns == ("quat",)
    assert found["Compressed air"].concerns == ("air",)
    assert "Hypochlorite" not in found and "Fluoride acid" not in found and "Never together" not in found


def test_a_forbidden_pair_is_on_the_paper() -> None:
    found = notes(design(product("bleach", C.HYPOCHLORITE), product("glass", C.AMMONIA)))
    assert found["Never together"].concerns == ("bleach", "glass")
    assert "gives off chloramine gas" in found["Never together"].text
    assert "chloramines" in found["Hypochlorite"].text


def test_coil_hoses_alone_bring_the_trapped_pressure_note() -> None:
    straight = Drop(id="d", bay="bay-1", service="a", hose=HoseKind.STRAIGHT)
    wash = product("a", C.NEUTRAL_DETERGENT)
    assert "Pressure trapped in coil hoses" in notes(design(wash, drops=(drop("d", "a"),)))
    assert "Pressure trapped in coil hoses" not in notes(design(wash, drops=(straight,)))


def test_cold_water_is_told_as_it_was_typed() -> None:
    cold = Site(water=WaterSupply(temperature=parse("38 °F", Dimension.TEMPERATURE)))
    made = design(product("foam", C.STRONG_ALKALI), drops=(drop("a", "foam"),))
    assert "38 °F" in notes(made, cold)["Freezing"].text


def test_names_stay_as_typed() -> None:
    odd = Product(id="x", name="<b>A & B</b>", sheet=SafetySheet(classes=(C.TERPENE,)))
    made = design(odd)
    note = notes(made)["Flammable concentrates"]
    say = Sentences(Figures("en_US", "USD", UnitSystem.US), Names(made))
    assert "“<b>A & B</b>” may be flammable" in say.told(note.sentence, note.facts)


def test_the_limit_of_blow_off_air_in_the_units_of_the_job() -> None:
    # 29 CFR 1910.242(b): less than 30 psi, which is 2.068 bar (NIST SP 811).
    made = design(drops=(drop("b", "air"),))
    note = notes(made)["Compressed air"]
    for system, words in ((UnitSystem.US, "below 30\xa0psi"), (UnitSystem.METRIC, "below 2.07\xa0bar")):
        assert words in Sentences(Figures("en_US", "USD", system), Names(made)).told(
            note.sentence, note.facts
        )
