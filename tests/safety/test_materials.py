"""Firm rules of thumb on materials, from memory of general handbooks (high confidence)."""

from __future__ import annotations

import pytest

from estimator.model.choices import Chemistry
from estimator.safety.materials import (
    DILUTE_FROM,
    Confidence,
    Material,
    Resistance,
    Stand,
    cell,
    materials_in,
    unread,
    worst,
)

C, M = Chemistry, Material


@pytest.mark.parametrize(
    ("chemistry", "material"),
    [
        (C.STRONG_ALKALI, M.FKM),
        (C.AMMONIA, M.FKM),
        (C.PETROLEUM_SOLVENT, M.EPDM),
        (C.TERPENE, M.EPDM),
        (C.HYPOCHLORITE, M.NBR),
        (C.MINERAL_ACID, M.NBR),
        (C.AMMONIA, M.BRASS),
        (C.MINERAL_ACID, M.BRASS),
        (C.ORGANIC_ACID, M.BRASS),
        (C.FLUORIDE_ACID, M.BRASS),
        (C.HYDROCHLORIC_ACID, M.NBR),
        (C.HYDROCHLORIC_ACID, M.BRASS),
        (C.HYDROCHLORIC_ACID, M.STEEL_304),
        (C.HYDROCHLORIC_ACID, M.STEEL_316),
        (C.HYDROCHLORIC_ACID, M.ALUMINIUM),
        (C.HYDROCHLORIC_ACID, M.ACETAL),
        (C.HYDROCHLORIC_ACID, M.NYLON),
        (C.FLUORIDE_ACID, M.CERAMIC),
        (C.HYPOCHLORITE, M.STEEL_304),
        (C.HYPOCHLORITE, M.STEEL_316),
        (C.MINERAL_ACID, M.ALUMINIUM),
        (C.STRONG_ALKALI, M.ALUMINIUM),
        (C.MINERAL_ACID, M.ACETAL),
        (C.HYPOCHLORITE, M.ACETAL),
        (C.MINERAL_ACID, M.NYLON),
        (C.HYPOCHLORITE, M.NYLON),
        (C.SILICONE_EMULSION, M.SILICONE),
        (C.PETROLEUM_SOLVENT, M.SILICONE),
        (C.TERPENE, M.PVC),
        (C.PETROLEUM_SOLVENT, M.PVC),
    ],
)
def test_firm_pairs_that_do_not_go(chemistry: Chemistry, material: Material) -> None:
    found = cell(chemistry, material)
    assert found.grade is Resistance.NOT and found.firm


# The same at a few per cent: parts that no plant is built of at any strength, from memory of general handbooks (high
# confidence): ammonia cracks brass by stress corrosion, fluoride etches glass, chlorine and hydrochloric acid break
# acetal down, alkali dissolves aluminium.
@pytest.mark.parametrize(
    ("chemistry", "material"),
    [
        (C.STRONG_ALKALI, M.ALUMINIUM),
        (C.HYDROCHLORIC_ACID, M.ACETAL),
        (C.HYDROCHLORIC_ACID, M.STEEL_304),
        (C.NITRIC_ACID, M.BRASS),
        (C.FLUORIDE_ACID, M.CERAMIC),
        (C.HYPOCHLORITE, M.ACETAL),
        (C.AMMONIA, M.BRASS),
    ],
)
def test_firm_pairs_that_do_not_go_even_diluted(chemistry: Chemistry, material: Material) -> None:
    assert cell(chemistry, material, 20.0).stand is Stand.NEVER


# What shops run every day, diluted (common practice, no source): the concentrate's cell makes no “never” of it.
@pytest.mark.parametrize(
    ("chemistry", "material"),
    [
        (C.HYPOCHLORITE, M.STEEL_316),
        (C.HYPOCHLORITE, M.NBR),
        (C.STRONG_ALKALI, M.FKM),
        (C.MINERAL_ACID, M.STEEL_316),
        (C.TERPENE, M.PP),
        (C.PETROLEUM_SOLVENT, M.EPDM),
    ],
)
def test_a_diluted_solution_is_not_judged_as_its_concentrate(
    chemistry: Chemistry, material: Material
) -> None:
    strong, weak = cell(chemistry, material), cell(chemistry, material, DILUTE_FROM)
    assert weak.stand is not Stand.NEVER
    assert list(Resistance).index(weak.grade) <= list(Resistance).index(strong.grade)
    assert cell(chemistry, material, DILUTE_FROM - 0.1) == strong


@pytest.mark.parametrize("dilution", [0.0, 20.0])
@pytest.mark.parametrize("chemistry", list(Chemistry))
def test_ptfe_stands_everything_in_the_table(chemistry: Chemistry, dilution: float) -> None:
    assert cell(chemistry, M.PTFE, dilution).grade is Resistance.GOOD


@pytest.mark.parametrize("chemistry", list(Chemistry))
@pytest.mark.parametrize("material", list(Material))
def test_every_cell_has_a_grade_a_confidence_and_a_source(chemistry: Chemistry, material: Material) -> None:
    strong, weak = cell(chemistry, material), cell(chemistry, material, 20.0)
    for found in (strong, weak):
        assert found.grade in Resistance and found.confidence in Confidence
        assert "confirm with the maker's data" in found.source
        # Only what is firm forbids a part, and what is not known for certain is never called fit.
        assert (found.stand is Stand.NEVER) == (found.grade is Resistance.NOT and found.firm)
        assert found.stand is not Stand.FIT or found.confidence is not Confidence.LOW
    # Water makes nothing worse.
    assert list(Resistance).index(weak.grade) <= list(Resistance).index(strong.grade)


def test_of_a_blend_the_class_that_the_material_stands_least_speaks() -> None:
    # A quaternary sanitiser with a strong alkali: FKM stands the one fairly and the other not at all.
    found = worst((C.QUATERNARY, C.STRONG_ALKALI), M.FKM)
    assert found is not None and found[0] is C.STRONG_ALKALI and found[1].grade is Resistance.NOT
    assert worst((), M.FKM) is None


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("FKM", {M.FKM}),
        ("nitrile (NBR)", {M.NBR}),
        ("glass-filled polypropylene", {M.PP}),
        ("nickel-plated brass", {M.BRASS}),
        ("316L stainless steel", {M.STEEL_316}),
        ("aluminum with EPDM", {M.ALUMINIUM, M.EPDM}),
        ("ceramic tip", {M.CERAMIC}),
        ("glass-filled nylon", {M.NYLON}),
        ("polyurethane", {M.PUR}),
        ("paper", set()),
        ("unobtainium", set()),
    ],
)
def test_materials_are_read_from_words(words: str, expected: set[Material]) -> None:
    assert set(materials_in(words)) == expected


@pytest.mark.parametrize(
    ("words", "left"),
    [
        ("EPDM, unobtainium", ("unobtainium",)),
        ("316 stainless steel with a PTFE seat", ()),
        ("paper", ("paper",)),
    ],
)
def test_what_the_table_does_not_know_is_not_passed_over(words: str, left: tuple[str, ...]) -> None:
    assert unread(words) == left
