"""Firm rules of thumb on materials, from memory of general handbooks (high confidence)."""

from __future__ import annotations

import pytest

from estimator.model.choices import Chemistry
from estimator.safety.materials import Grade, Material, cell, materials_in

C, M = Chemistry, Material
IN_TABLE = [c for c in Chemistry if c not in {C.NEUTRAL_DETERGENT, C.MILD_ALKALI}]


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
        (C.MINERAL_ACID, M.STEEL_304),
        (C.MINERAL_ACID, M.STEEL_316),
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
    assert found is not None and found.grade is Grade.NOT and found.firm


@pytest.mark.parametrize("chemistry", IN_TABLE)
def test_ptfe_stands_everything_in_the_table(chemistry: Chemistry) -> None:
    found = cell(chemistry, M.PTFE)
    assert found is not None and found.grade is Grade.GOOD


@pytest.mark.parametrize("chemistry", [C.NEUTRAL_DETERGENT, C.MILD_ALKALI])
def test_a_chemistry_without_a_row_has_no_verdict(chemistry: Chemistry) -> None:
    assert all(cell(chemistry, material) is None for material in Material)


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("FKM", {M.FKM}),
        ("nitrile (NBR)", {M.NBR}),
        ("glass-filled polypropylene", {M.PP}),
        ("nickel-plated brass", {M.BRASS}),
        ("316L stainless steel", {M.STEEL_316}),
        ("aluminum with EPDM", {M.ALUMINIUM, M.EPDM}),
        ("paper", set()),
        ("unobtainium", set()),
    ],
)
def test_materials_are_read_from_words(words: str, expected: set[Material]) -> None:
    assert set(materials_in(words)) == expected
