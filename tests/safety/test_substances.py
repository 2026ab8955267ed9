"""Classes against real substances of them: flash points, exposure limits and Hansen distances.

Values of substances are those of the open package `chemicals` (1.5.2), computed by it from the tables that it ships:
flash points of NFPA 497 and a collection of measured ones, exposure limits of Canada's Ontario list, Hansen parameters
of a published collection. Which substances stand for a class is general knowledge of the trade, no source.
"""

from __future__ import annotations

import math
from typing import Final

import pytest
from chemicals.safety import STEL, TWA, Ceiling, T_flash
from chemicals.solubility import hansen_delta_d, hansen_delta_h, hansen_delta_p

from estimator.model.choices import Chemistry
from estimator.safety.chemistry import FLAMMABLE, SHARP_VAPOUR
from estimator.safety.materials import Material, Resistance, cell
from estimator.safety.traits import FLASH_POINT_LIMIT_K

C, M = Chemistry, Material

BURNING: Final = {
    C.ALCOHOL: ("64-17-5", "67-63-0"),  # ethanol, isopropanol
    C.GLYCOL_ETHER: ("111-76-2",),  # 2-butoxyethanol
    C.PETROLEUM_SOLVENT: ("111-84-2", "124-18-5", "1120-21-4", "112-40-3"),  # nonane to dodecane
    C.TERPENE: ("5989-27-5", "138-86-3"),  # limonene
}
LIMITED: Final = {
    C.HYDROCHLORIC_ACID: "7647-01-0",
    C.NITRIC_ACID: "7697-37-2",
    C.MINERAL_ACID: "7664-38-2",  # phosphoric acid
    C.FLUORIDE_ACID: "7664-39-3",
    C.HYPOCHLORITE: "7782-50-5",  # chlorine, which it gives off
    C.STRONG_ALKALI: "1310-73-2",
    C.AMMONIA: "7664-41-7",
    C.AMINE: "141-43-5",  # ethanolamine
    C.PEROXIDE: "7722-84-1",
    C.THIOGLYCOLATE: "68-11-1",
    C.ALCOHOL: "67-63-0",
    C.GLYCOL_ETHER: "111-76-2",
    C.PETROLEUM_SOLVENT: "111-84-2",
}


def test_each_class_that_burns_has_substances_here() -> None:
    assert set(BURNING) == FLAMMABLE


@pytest.mark.parametrize(("chemistry", "cas"), [(c, cas) for c, every in BURNING.items() for cas in every])
def test_a_class_that_is_called_flammable_is(chemistry: Chemistry, cas: str) -> None:
    flash_k = T_flash(cas)
    assert flash_k is not None and flash_k <= FLASH_POINT_LIMIT_K, (chemistry, cas, flash_k)


def test_the_one_that_burns_and_is_not_called_flammable() -> None:
    """Ethanolamine flashes at 85 °C neat, a concentrate is a solution of it in water: its sheet decides."""
    flash_k = T_flash(LIMITED[C.AMINE])
    assert flash_k is not None and flash_k <= FLASH_POINT_LIMIT_K and C.AMINE not in FLAMMABLE


@pytest.mark.parametrize("chemistry", list(LIMITED))
def test_what_must_not_be_breathed_has_an_exposure_limit(chemistry: Chemistry) -> None:
    limits = [limit(LIMITED[chemistry]) for limit in (TWA, STEL, Ceiling)]
    assert any(found is not None for found in limits) and chemistry in SHARP_VAPOUR


def test_the_classes_without_a_substance_here_are_known() -> None:
    """Limonene has no limit in these lists; the rule calls its mist sharp because it burns."""
    assert SHARP_VAPOUR - set(LIMITED) == {C.TERPENE}
    assert all(limit("5989-27-5") is None for limit in (TWA, STEL, Ceiling))


# Hansen parameters of polymers, MPa^0.5, and the radius of their sphere; from memory of Hansen, Hansen Solubility
# Parameters: A User's Handbook (2nd ed. 2007), appendix; low confidence, no copy was at hand.
POLYMERS: Final = {
    M.PE: (16.9, 0.8, 2.8, 8.0),
    M.PP: (18.0, 0.0, 1.0, 6.0),
    M.PVC: (17.6, 7.8, 3.4, 8.2),
    M.PVDF: (17.0, 12.1, 10.2, 4.1),
    M.NYLON: (17.4, 9.8, 14.6, 5.1),
    M.ACETAL: (17.1, 3.1, 10.7, 5.2),
    M.NBR: (18.6, 8.8, 4.2, 9.6),
    M.SILICONE: (17.0, 2.9, 2.6, 8.0),
}
SOLVENTS: Final = {
    C.ALCOHOL: "64-17-5",
    C.GLYCOL_ETHER: "111-76-2",
    C.PETROLEUM_SOLVENT: "124-18-5",
    C.TERPENE: "5989-27-5",
}
DIFFERENT: Final = {
    (C.GLYCOL_ETHER, M.PVC): "distance 1.2: the worse letter, as soft PVC loses its plasticiser to a solvent",
    (
        C.PETROLEUM_SOLVENT,
        M.PVC,
    ): "distance 1.1: the same; stiff PVC stands petroleum, which a name does not tell",
    (C.GLYCOL_ETHER, M.NBR): "distance 1.1, at the edge of the sphere: the worse letter",
    (C.GLYCOL_ETHER, M.SILICONE): "distance 1.3: the worse letter, of medium confidence",
    (
        C.GLYCOL_ETHER,
        M.ACETAL,
    ): "distance 0.6: the table is milder; acetal is crystalline and no solvent enters crystals "
    "at room temperature, which the distance knows nothing of",
}
"""Where the table and the distance do not agree, with the reason: milder than the distance in one pair, of 32."""


def distance(material: Material, cas: str) -> float:
    """Hansen distance over the radius of the polymer's sphere; under 1 the solvent swells or dissolves it."""
    d, p, h, radius = POLYMERS[material]
    found = [f(cas) for f in (hansen_delta_d, hansen_delta_p, hansen_delta_h)]
    sd, sp, sh = (1e-3 * value for value in found if value is not None)
    return math.sqrt(4 * (sd - d) ** 2 + (sp - p) ** 2 + (sh - h) ** 2) / radius


@pytest.mark.parametrize("chemistry", list(SOLVENTS))
@pytest.mark.parametrize("material", list(POLYMERS))
def test_a_solvent_near_a_polymer_attacks_it(chemistry: Chemistry, material: Material) -> None:
    attacks = cell(chemistry, material).grade in (Resistance.SHORT, Resistance.NOT)
    agrees = attacks == (distance(material, SOLVENTS[chemistry]) < 1.0)
    assert agrees != ((chemistry, material) in DIFFERENT), distance(material, SOLVENTS[chemistry])
