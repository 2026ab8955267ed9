"""How materials stand chemistry: one conservative table.

Up to 25 °C, wetted all the time, in two strengths: the concentrate, and a solution of at least `DILUTE_FROM` parts of
water to one of it. Every cell is from memory of general handbooks (Schweitzer, Corrosion of Polymers and Elastomers,
2nd ed. 2007; De Renzo, Corrosion Resistant Materials Handbook, 4th ed. 1985; USACE EM 1110-1-4008, Liquid Process
Piping, 1999, appendix B), which tell weak and strong solutions of acids, alkalis and hypochlorite apart; the books
exist, the cells were not checked against them. Where they were in doubt the worse letter stands, and a diluted cell
whose letter no book tells is of low confidence: nothing is taken from the concentrate's. Whatever is shown from here
must say "confirm with the maker's data".
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from typing import Final

from estimator.model.choices import Chemistry

__all__ = [
    "DILUTE_FROM",
    "MATERIALS_SOURCE",
    "Confidence",
    "Material",
    "MaterialCell",
    "Resistance",
    "Stand",
    "cell",
    "materials_in",
    "unread",
    "worst",
]

_C = Chemistry

MATERIALS_SOURCE: Final = "general handbooks, from memory; confirm with the maker's data"

DILUTE_FROM: Final = 5.0
"""Parts of water to one of concentrate from which the cells of the diluted solution hold: a sixth of what the label of
the concentrate says (20 % acid, 12 % hypochlorite) is what handbooks call weak. Our own line, no source."""


class Resistance(StrEnum):
    """How a material stands a chemistry."""

    GOOD = "A"
    FAIR = "B"
    SHORT = "C"
    NOT = "X"


class Material(StrEnum):
    """Materials of the table."""

    FKM = "FKM"
    EPDM = "EPDM"
    NBR = "NBR"
    PTFE = "PTFE"
    SILICONE = "silicone"
    BRASS = "brass"
    STEEL_304 = "304 stainless steel"
    STEEL_316 = "316 stainless steel"
    ALUMINIUM = "aluminium"
    ACETAL = "acetal"
    PP = "polypropylene"
    PE = "polyethylene"
    PVDF = "PVDF"
    PVC = "PVC"
    NYLON = "nylon"
    PUR = "polyurethane"
    CERAMIC = "ceramic or glass"


class Confidence(StrEnum):
    """How firm the memory of a cell is."""

    FIRM = "firm"
    MEDIUM = "medium"
    LOW = "low"


class Stand(StrEnum):
    """What a cell means for a part, the worst first."""

    NEVER = "does not stand it"
    DOUBT = "stands it for a short time or not for certain"
    OPEN = "not known"
    FIT = "stands it"


@dataclass(frozen=True, slots=True)
class MaterialCell:
    """One cell.

    Attributes:
        grade: how the material stands the class.
        confidence: how firm the memory of it is.
        source: where it is from.
    """

    grade: Resistance
    confidence: Confidence
    source: str = MATERIALS_SOURCE

    @property
    def firm(self) -> bool:
        """Whether memory of it is firm."""
        return self.confidence is Confidence.FIRM

    @property
    def stand(self) -> Stand:
        """What it means for a part: only a firm “does not stand it” forbids one, and nothing open is called fit."""
        if self.confidence is Confidence.LOW:
            return Stand.OPEN
        if self.grade is Resistance.NOT and self.firm:
            return Stand.NEVER
        return Stand.DOUBT if self.grade in (Resistance.NOT, Resistance.SHORT) else Stand.FIT


# Where a rule of thumb is firmer than a book's cell (brass with any acid, 316 with hypochlorite, PVC with
# solvents) the rule stands. Columns in the order of Material. "~" marks medium, "?" low confidence in memory.
# Mineral acid holds the worse of phosphoric up to 50 % and sulphuric up to 30 %, hydrochloric and nitric stand for up
# to 20 %. Detergents, amines and thioglycolates stand in no book that was at hand: their cells follow from general
# knowledge of what they are made of.
_ROWS: Final[dict[Chemistry, str]] = {
    _C.NEUTRAL_DETERGENT: "A~ A~ A~ A A~ B~ A~ A B~ A~ A B~ A A~ A~ A~ A",
    _C.STRONG_ALKALI: "X A B A C~ C~ A A X C~ A A X~ A C~ X~ B~",
    _C.MILD_ALKALI: "B~ A B~ A B~ B~ A A C~ B~ A A~ B~ A B~ B~ A",
    _C.MINERAL_ACID: "A B~ X A X X X~ C~ X X A A A A X X A",
    _C.HYDROCHLORIC_ACID: "A B~ X A X X X X X X A A A A X X A",
    _C.NITRIC_ACID: "A~ B~ X A X~ X B~ B~ X~ X B~ B~ A~ A~ X X A",
    _C.ORGANIC_ACID: "C~ A C~ A B~ X B A C C~ A A A A C C~ A",
    _C.FLUORIDE_ACID: "B~ C~ X A X X X X~ X X B~ A A B~ X X X",
    _C.HYPOCHLORITE: "B~ B~ X A C~ X X X X X C~ B~ B~ A X X A",
    _C.AMMONIA: "X A C~ A C~ X A A C~ C~ A A C~ A B~ X~ A",
    _C.AMINE: "X A~ C~ A C? X~ A~ A~ C? B? A~ A~ X~ C? B? X? A",
    _C.THIOGLYCOLATE: "C? A? C? A~ C? X? B? B? C? C? A? A? B? B? C? C? A",
    _C.ALCOHOL: "A~ A B A B~ A A A B~ A A A A A B~ C~ A",
    _C.GLYCOL_ETHER: "X~ B~ C~ A C~ B~ A A C~ B~ B~ B B~ X B~ X? A",
    _C.PETROLEUM_SOLVENT: "A X A A X A A A A A C C A X A B~ A",
    _C.TERPENE: "B~ X C~ A X B~ A A A~ B~ X X~ A X B~ C~ A",
    _C.SILICONE_EMULSION: "A A A A X B~ A A B~ A A B A A B~ A~ A",
    _C.QUATERNARY: "B? A~ B~ A B~ B~ B~ A~ C~ B~ A B~ A A B~ B? A",
    _C.PEROXIDE: "B~ B~ X~ A B~ X B A~ B~ X B~ A A A X C? A",
}
# The same of a diluted solution, as it is after the proportioner: an acid or alkali of a few per cent, hypochlorite of
# one or two, solvents as an emulsion in water. Firm is what no plant is built of at any strength: ammonia on brass,
# fluoride on glass, hypochlorite and hydrochloric acid on acetal, alkali on aluminium. Elastomers that swell in a
# solvent swell in its emulsion too, but slower: never firm. Of amines and thioglycolates nothing is known for certain.
_DILUTE_ROWS: Final[dict[Chemistry, str]] = {
    _C.NEUTRAL_DETERGENT: "A~ A~ A~ A A~ B~ A A B~ A~ A B~ A A~ A~ A~ A",
    _C.STRONG_ALKALI: "C~ A B~ A B~ C~ A A X B~ A A C~ A B~ C~ A~",
    _C.MILD_ALKALI: "B~ A A~ A B~ B~ A A C~ A~ A A~ A A B~ B~ A",
    _C.MINERAL_ACID: "A A~ B~ A C~ X~ C~ B~ X~ X~ A A A A X~ X~ A",
    _C.HYDROCHLORIC_ACID: "A A~ B~ A C~ X~ X X~ X X A A A A X~ X~ A",
    _C.NITRIC_ACID: "A~ B~ C~ A C~ X A~ A~ C~ X~ A~ A~ A A X~ X~ A",
    _C.ORGANIC_ACID: "B~ A B~ A B~ C~ B~ A B~ B~ A A A A B~ C~ A",
    _C.FLUORIDE_ACID: "B~ B~ C~ A X~ C~ X~ C~ X X~ A~ A A B~ X~ X~ X",
    _C.HYPOCHLORITE: "A~ B~ C~ A B~ C~ X~ C~ X~ X B~ A~ A~ A X~ C~ A",
    _C.AMMONIA: "C~ A B~ A B~ X A A B~ B~ A A B~ A A~ C~ A",
    _C.AMINE: "C~ A~ C? A B? C~ A~ A~ C? B? A~ A~ C~ B? B? C? A",
    _C.THIOGLYCOLATE: "B? A? B? A~ C? C? B? A? C? B? A? A? A? A? B? C? A",
    _C.ALCOHOL: "A~ A A~ A A~ A A A A~ A A A A A A~ B~ A",
    _C.GLYCOL_ETHER: "B~ A~ B~ A A~ A~ A A A~ A~ A~ A~ A~ B~ A~ C? A",
    _C.PETROLEUM_SOLVENT: "A X~ A A X~ A A A A A B~ B~ A C~ A B~ A",
    _C.TERPENE: "A~ X~ B~ A X~ B~ A A A~ A~ C~ C~ A C~ A~ B~ A",
    _C.SILICONE_EMULSION: "A A A A C~ B~ A A B~ A A B A A B~ A~ A",
    _C.QUATERNARY: "A~ A~ A~ A A~ B~ A~ A B~ A~ A A~ A A A~ B~ A",
    _C.PEROXIDE: "A~ A~ C~ A A~ C~ A~ A B~ C~ A~ A A A C~ C? A",
}
_CONFIDENCE: Final = {"": Confidence.FIRM, "~": Confidence.MEDIUM, "?": Confidence.LOW}


def _cells(rows: dict[Chemistry, str]) -> dict[Chemistry, dict[Material, MaterialCell]]:
    return {
        chemistry: {
            material: MaterialCell(Resistance(mark[0]), _CONFIDENCE[mark[1:]])
            for material, mark in zip(Material, row.split(), strict=True)
        }
        for chemistry, row in rows.items()
    }


_STRONG: Final = _cells(_ROWS)
_DILUTE: Final = _cells(_DILUTE_ROWS)
_WORST_FIRST: Final = (Resistance.NOT, Resistance.SHORT, Resistance.FAIR, Resistance.GOOD)
_STANDS: Final = {stand: place for place, stand in enumerate(Stand)}

_WORDS: Final[tuple[tuple[str, Material], ...]] = (
    (r"fkm|fluoroelastomer", Material.FKM),
    (r"epdm", Material.EPDM),
    (r"nbr|nitrile", Material.NBR),
    (r"ptfe", Material.PTFE),
    (r"silicone|vmq", Material.SILICONE),
    (r"brass", Material.BRASS),
    (r"304", Material.STEEL_304),
    (r"316l?", Material.STEEL_316),
    (r"alumini?um", Material.ALUMINIUM),
    (r"acetal|pom", Material.ACETAL),
    (r"polypropylene|pp", Material.PP),
    (r"polyethylene|pe|hdpe|ldpe", Material.PE),
    (r"pvdf", Material.PVDF),
    (r"pvc", Material.PVC),
    (r"nylon|polyamide|pa", Material.NYLON),
    (r"polyurethane|pur|tpu", Material.PUR),
    (r"ceramic|glass(?!-filled)", Material.CERAMIC),
)


def cell(chemistry: Chemistry, material: Material, dilution: float = 0.0) -> MaterialCell:
    """The table's cell.

    Args:
        dilution: parts of water to one of concentrate; 0 for the concentrate.

    >>> found = cell(Chemistry.AMMONIA, Material.FKM)
    >>> found.grade.value, found.confidence.value
    ('X', 'firm')
    >>> cell(Chemistry.HYPOCHLORITE, Material.STEEL_316).grade.value
    'X'
    >>> cell(Chemistry.HYPOCHLORITE, Material.STEEL_316, 40.0).grade.value
    'C'
    """
    return (_DILUTE if dilution >= DILUTE_FROM else _STRONG)[chemistry][material]


def worst(
    classes: Iterable[Chemistry], material: Material, dilution: float = 0.0
) -> tuple[Chemistry, MaterialCell] | None:
    """The class of a blend that the material stands least, with its cell; None for no class.

    What a cell means for a part comes first, then its grade; of two alike the one of firmer memory speaks.
    """
    confidence = list(Confidence)
    return min(
        ((c, cell(c, material, dilution)) for c in classes),
        key=lambda found: (
            _STANDS[found[1].stand],
            _WORST_FIRST.index(found[1].grade),
            confidence.index(found[1].confidence),
        ),
        default=None,
    )


@lru_cache(maxsize=4096)
def materials_in(words: str) -> tuple[Material, ...]:
    """Materials that a part's description names; empty where the table knows none of its words.

    >>> materials_in("nickel-plated brass, PTFE seat")
    (<Material.PTFE: 'PTFE'>, <Material.BRASS: 'brass'>)
    """
    return tuple(
        material
        for pattern, material in _WORDS
        if re.search(rf"(?<![A-Za-z0-9])(?:{pattern})(?![A-Za-z0-9])", words, re.IGNORECASE)
    )


@lru_cache(maxsize=4096)
def unread(words: str) -> tuple[str, ...]:
    """What a part's description names that the table does not know: nothing of it is held against anything.

    >>> unread("nickel-plated brass, PTFE seat"), unread("EPDM and unobtainium"), unread("")
    ((), ('unobtainium',), ())
    """
    pieces = (piece.strip() for piece in re.split(r"[,;/+]|\b(?:and|with|on)\b", words))
    return tuple(piece for piece in pieces if piece and not materials_in(piece))
