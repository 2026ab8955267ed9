"""Every part that a product flows through, at the strength that it sees."""

from __future__ import annotations

from datetime import date

import pytest

from estimator.model.choices import Chemistry
from estimator.model.design import Design, LinePlan, PlantUnit
from estimator.model.finding import Finding, Severity
from estimator.model.grades import Grade
from estimator.model.makers import MakerData, OwnNozzle, OwnPump, PumpPoint
from estimator.model.site import Site
from estimator.reference.catalogue import catalogue
from estimator.reference.own_parts import with_makers
from estimator.reference.resolved import resolve
from estimator.safety.checks import safety_findings
from estimator.safety.materials import materials_in, unread
from estimator.safety.scene import Scene
from estimator.safety.wetted import contacts, unfit_lines
from estimator.units import Dimension, parse
from tests.safety.scene import PARTS, design, drop, product

C = Chemistry
TODAY = date(2026, 11, 25)
RULES = ("part-material", "part-material-doubt", "material-unknown")


def told(made: Design, *, small: bool = True) -> list[Finding]:
    """Findings about materials; with the small catalogue of these tests or the shipped one."""
    parts = PARTS if small else with_makers(made.makers, catalogue())[0]
    found = safety_findings(Site(), made, resolve(made, parts), TODAY)
    return [f for f in found if f.rule in RULES]


@pytest.mark.parametrize(
    ("chemistry", "gun", "material", "diluted"),
    [
        # From memory of general handbooks: firm for the concentrate; what the diluted solution does, see the table.
        (C.STRONG_ALKALI, "gun-plastic", "FKM", Grade.LOOK),
        (C.AMMONIA, "gun-plastic", "FKM", Grade.LOOK),
        (C.HYPOCHLORITE, "gun-nitrile", "NBR", Grade.LOOK),
        (C.TERPENE, "gun-metal", "EPDM", Grade.LOOK),
        (C.AMMONIA, "gun-metal", "brass", Grade.NEVER),
    ],
)
def test_a_gun_against_what_flows_through_it(
    chemistry: Chemistry, gun: str, material: str, diluted: Grade
) -> None:
    drops = (drop("a", "wash", gun), drop("b", "wash", gun))
    (weak,) = [f for f in told(design(product("wash", chemistry), drops=drops)) if material in f.message]
    assert weak.grade is diluted and "maker's data" in weak.source and "20:1" in weak.message
    (neat,) = [
        f
        for f in told(design(product("wash", chemistry, dilution=0.0), drops=drops))
        if material in f.message and f.rule == "part-material"
    ]
    assert neat.grade is Grade.NEVER and neat.place == "design.drops.0.gun"
    assert "“a” and “b”" in neat.message and "undiluted" in neat.message and "under pressure" in neat.message


def test_before_the_proportioner_the_concentrate_counts_and_behind_it_the_solution() -> None:
    """Hypochlorite at 40:1 (firm: nitrile does not stand the concentrate, from memory)."""
    made = design(product("bleach", C.HYPOCHLORITE, dilution=40.0), drops=(drop("d", "bleach"),))
    scene = Scene(Site(), made, resolve(made, catalogue()), TODAY)
    seen = {c.name: c.choice.dilution for c in contacts(scene, made.products[0])}
    before = {"suction tube", "foot valve", "metering tip", "proportioner"}
    assert {name for name, dilution in seen.items() if dilution == 0.0} == before
    behind = {"day tank", "pump", "tube", "fittings", "hose", "gun", "nozzle"}
    assert {name for name, dilution in seen.items() if dilution == 40.0} == behind
    weak = design(product("bleach", C.HYPOCHLORITE, dilution=2.0), drops=made.drops)
    scene = Scene(Site(), weak, resolve(weak, catalogue()), TODAY)
    assert {c.choice.dilution for c in contacts(scene, weak.products[0])} == {0.0, 2.0}


def test_what_a_concentrate_attacks_before_the_proportioner_is_never() -> None:
    """EPDM in petroleum (firm, from memory), in foot valve and proportioner: the choice that brings both is named."""
    made = design(product("tar", C.PETROLEUM_SOLVENT, dilution=8.0), drops=(drop("d", "tar", "gun-metal"),))
    never = [f for f in told(made, small=False) if f.grade is Grade.NEVER]
    assert [f.place for f in never] == ["design.plant.0.proportioner"]
    assert "foot valve" in never[0].message and "at full strength" in never[0].message
    assert unfit_lines(never) == {"tar"}
    fit = made.model_copy(update={"plant": (PlantUnit(product="tar", proportioner="prop-standard-fkm"),)})
    assert not [f for f in told(fit, small=False) if f.grade is Grade.NEVER]


def test_a_tube_and_its_fittings() -> None:
    """Petroleum undiluted (firm, from memory): EPDM swells; polyethylene stands it only for a short time."""
    line = (LinePlan(service="tar"),)
    made = design(
        product("tar", C.PETROLEUM_SOLVENT, dilution=0.0), drops=(drop("d", "tar", "gun-metal"),), lines=line
    )
    (never,) = [f for f in told(made, small=False) if f.place == "design.lines.0.tube"]
    assert never.grade is Grade.NEVER and "fittings" in never.message and "EPDM" in never.message
    (doubt,) = [f for f in told(made, small=False) if f.rule == "part-material-doubt"]
    assert "polyethylene in suction tube, day tank, tube and hose" in doubt.message


def test_a_class_that_is_not_chosen_is_told_for_every_part() -> None:
    made = design(product("mystery"), drops=(drop("d", "mystery"),))
    found = told(made, small=False)
    assert [f.rule for f in found] == ["material-unknown"]
    for name in ("foot valve", "proportioner", "day tank", "pump", "tube", "hose", "gun", "nozzle"):
        assert name in found[0].message


def test_words_that_the_table_does_not_know_are_told() -> None:
    made = design(
        product("a", C.ALCOHOL),
        product("b", C.ALCOHOL),
        drops=(drop("d", "a", "gun-strange"), drop("e", "b", "gun-plastic")),
    )
    (finding,) = [f for f in told(made) if f.rule == "material-unknown"]
    assert (
        "unobtainium" in finding.message and finding.severity is Severity.WARNING and "“a”" in finding.message
    )


def _own(materials: str) -> MakerData:
    points = tuple(
        PumpPoint(
            air=parse("4 bar", Dimension.PRESSURE),
            flow=parse(flow, Dimension.FLOW),
            discharge=parse(out, Dimension.PRESSURE),
        )
        for flow, out in (("5 L/min", "3.5 bar"), ("10 L/min", "3 bar"))
    )
    return MakerData(
        pumps=(OwnPump(key="own-pump", points=points, materials=materials),),
        nozzles=(OwnNozzle(key="own-nozzle", materials=materials),),
    )


@pytest.mark.parametrize(
    ("materials", "expected"),
    [
        ("", "material-unknown"),
        ("hard rubber", "material-unknown"),
        ("brass", "part-material"),
        ("PTFE", None),
    ],
)
def test_a_maker_s_own_part_is_judged_by_what_was_stated(materials: str, expected: str | None) -> None:
    """Brass cracks in ammonia (firm, from memory); of what nobody stated nothing is called fit."""
    made = design(
        product("glass", C.AMMONIA),
        drops=(drop("d", "glass").model_copy(update={"nozzle_size": "own-nozzle", "gun": "gun-foam"}),),
        plant=(PlantUnit(product="glass", pump="own-pump"),),
        makers=_own(materials),
    )
    rules = {f.rule for f in told(made, small=False)}
    assert rules == ({expected} if expected else set())
    if expected == "material-unknown":
        (finding,) = told(made, small=False)
        assert "pump" in finding.message and "nozzle" in finding.message


def test_every_shipped_part_that_is_wetted_has_a_material_that_the_table_knows() -> None:
    parts = catalogue()
    words = [
        words
        for table in (parts.guns, parts.hoses, parts.tubes, parts.proportioners, parts.tanks, parts.pumps)
        for part in table
        for _, words in part.pieces or (("", ""),)
    ]
    words += [words for make in parts.nozzle_makes for _, words in make.pieces or (("", ""),)]
    words += [w for t in parts.tubes for kind in t.fitting_codes for w in t.fitting_wetted[kind].values()]
    words += [w for p in parts.proportioners for one in p.pick_up.values() for w in one.wetted.values()]
    words += [w for name in ("suction_tube", "foot_valve", "tip_set") for w in parts.wetted[name].values()]
    assert len(words) > 100
    for one in words:
        assert materials_in(one) and not unread(one)


def test_end_seals_outlets_and_gaskets_are_looked_at_too() -> None:
    """Petroleum undiluted dissolves EPDM (firm, from memory) wherever it sits: hose end, tank outlet, nozzle gasket."""
    made = design(
        product("tar", C.PETROLEUM_SOLVENT, dilution=0.0), drops=(drop("d", "tar", "gun-plastic-fkm"),)
    )
    never = {f.place: f.message for f in told(made, small=False) if f.rule == "part-material"}
    for place, piece in (
        ("design.drops.0.hose_bore", "EPDM (end seal of hose)"),
        ("design.drops.0.nozzle_make", "EPDM (gasket of nozzle)"),
        ("design.plant.0.tank", "EPDM (outlet seal of day tank)"),
    ):
        assert piece in never[place], never
    fit = drop("d", "tar", "gun-plastic-fkm").model_copy(
        update={"hose_bore": "hose-6-fkm", "nozzle_make": "make-steel"}
    )
    mended = made.model_copy(
        update={
            "drops": (fit,),
            "plant": (PlantUnit(product="tar", tank="tank-60-fkm", pump="pump-half-ptfe"),),
        }
    )
    left = {f.place for f in told(mended, small=False) if f.rule == "part-material"}
    assert not left & {"design.drops.0.hose_bore", "design.drops.0.nozzle_make", "design.plant.0.tank"}


def test_each_nozzle_that_is_bought_has_pieces_of_its_own() -> None:
    """Body, insert and gasket; a ceramic insert stands no fluoride (firm, from memory), a steel one no hydrochloric."""
    for chemistry, make, material in (
        (C.FLUORIDE_ACID, "make-ceramic", "ceramic or glass"),
        (C.HYDROCHLORIC_ACID, "make-steel", "316 stainless steel"),
    ):
        hung = drop("d", "acid", "gun-plastic-fkm").model_copy(update={"nozzle_make": make})
        made = design(product("acid", chemistry, dilution=2.0), drops=(hung,))
        (never,) = [f for f in told(made, small=False) if f.place == "design.drops.0.nozzle_make"]
        assert never.grade is Grade.NEVER and f"{material} (" in never.message
        assert "insert of nozzle" in never.message and "nozzle of" in never.message
