"""Firm rules of thumb on materials, from memory of general handbooks (high confidence)."""

from __future__ import annotations

import pytest

from estimator.model.choices import Chemistry
from estimator.safety.materials import Confidence, Grade, Material, cell, materials_in, worst

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
    assert found.grade is Grade.NOT and found.firm


@pytest.mark.parametrize("chemistry", list(Chemistry))
def test_ptfe_stands_everything_in_the_table(chemistry: Chemistry) -> None:
    assert cell(chemistry, M.PTFE).grade is Grade.GOOD


@pytest.mark.parametrize("chemistry", list(Chemistry))
@pytest.mark.parametrize("material", list(Material))
def test_every_cell_has_a_grade_a_confidence_and_a_source(chemistry: Chemistry, material: Material) -> None:
    found = cell(chemistry, material)
    assert found.grade in Grade and found.confidence in Confidence
    assert "confirm with the maker's data" in found.source


def test_of_a_blend_the_class_that_the_material_stands_least_speaks() -> None:
    # A quaternary sanitiser with a strong alkali: FKM stands the one fairly and the other not at all.
    found = worst((C.QUATERNARY, C.STRONG_ALKALI), M.FKM)
    assert found is not None and found[0] is C.STRONG_ALKALI and found[1].grade is Grade.NOT
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
