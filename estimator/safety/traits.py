"""What a concentrate is able to do, as reactions ask for it: from its classes, its flags and the rest of its sheet.

A class says what a product is, a trait what it does beside another one. A flag of the sheet that its class explains
adds nothing; one that is not answered counts as yes where a product of those classes could be so.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from estimator.model.choices import Answer, Chemistry, Pictogram
from estimator.model.sheet import SafetySheet

__all__ = [
    "FLASH_POINT_LIMIT_K",
    "PH_ACID",
    "PH_ALKALI",
    "TRAITS_OF",
    "Trait",
    "Why",
    "traits_of",
]

FLASH_POINT_LIMIT_K: Final = 273.15 + 93.0
"""Flash point up to which a liquid is a flammable one, K: GHS category 4, 29 CFR 1910.1200 appendix B.6 (from
memory)."""

PH_ACID: Final = 2.0
PH_ALKALI: Final = 11.5
"""Extreme pH, at and beyond which a mixture counts as corrosive unless tests say otherwise: GHS chapter 3.2, 29 CFR
1910.1200 appendix A.2 (from memory)."""


class Trait(StrEnum):
    """One way of reacting."""

    ACID = "an acid"
    MINERAL_ACID = "a mineral acid"
    HYDROCHLORIC = "hydrochloric acid"
    OXIDISING_ACID = "an oxidising acid"
    ORGANIC_ACID = "an organic acid"
    FLUORIDE = "a fluoride"
    CAUSTIC = "a strong alkali"
    MILD_ALKALI = "a mild alkali"
    AMMONIA = "ammonia"
    AMINE = "an amine"
    HYPOCHLORITE = "a hypochlorite"
    PEROXIDE = "a peroxide"
    OXIDISER = "an oxidiser"
    REDUCER = "a reducer"
    GAS_WITH_ACID = "what gives off poisonous gas with acids"
    ALCOHOL = "an alcohol"
    ETHER = "a glycol ether"
    HYDROCARBON = "a liquid that burns"
    QUATERNARY = "a quaternary sanitiser"
    ANIONIC = "a detergent"


_C, _T = Chemistry, Trait

TRAITS_OF: Final[Mapping[Chemistry, frozenset[Trait]]] = {
    _C.NEUTRAL_DETERGENT: frozenset({_T.ANIONIC}),
    _C.STRONG_ALKALI: frozenset({_T.CAUSTIC}),
    _C.MILD_ALKALI: frozenset({_T.MILD_ALKALI}),
    _C.MINERAL_ACID: frozenset({_T.ACID, _T.MINERAL_ACID}),
    _C.HYDROCHLORIC_ACID: frozenset({_T.ACID, _T.MINERAL_ACID, _T.HYDROCHLORIC}),
    _C.NITRIC_ACID: frozenset({_T.ACID, _T.OXIDISING_ACID}),
    _C.ORGANIC_ACID: frozenset({_T.ACID, _T.ORGANIC_ACID}),
    _C.FLUORIDE_ACID: frozenset({_T.ACID, _T.FLUORIDE}),
    _C.HYPOCHLORITE: frozenset({_T.HYPOCHLORITE}),
    _C.AMMONIA: frozenset({_T.AMMONIA}),
    _C.AMINE: frozenset({_T.AMINE}),
    _C.THIOGLYCOLATE: frozenset({_T.REDUCER}),
    _C.ALCOHOL: frozenset({_T.ALCOHOL}),
    _C.GLYCOL_ETHER: frozenset({_T.ALCOHOL, _T.ETHER}),
    _C.PETROLEUM_SOLVENT: frozenset({_T.HYDROCARBON}),
    _C.TERPENE: frozenset({_T.HYDROCARBON}),
    _C.SILICONE_EMULSION: frozenset(),
    _C.QUATERNARY: frozenset({_T.QUATERNARY}),
    _C.PEROXIDE: frozenset({_T.PEROXIDE}),
}
"""What each class does."""

_OXIDISERS: Final = frozenset({_T.HYPOCHLORITE, _T.PEROXIDE, _T.OXIDISING_ACID})
_ACIDS: Final = frozenset({_T.ACID})
_ALKALIS: Final = frozenset({_T.CAUSTIC, _T.MILD_ALKALI, _T.AMMONIA, _T.AMINE})
_BURNING: Final = frozenset({_T.ALCOHOL, _T.ETHER, _T.HYDROCARBON})

# Which classes could hold what nobody has looked up yet: common practice, from memory; in doubt a class is in it. What
# a class is by itself, or could never hold without falling apart, is not.
_MAY_OXIDISE: Final = frozenset(
    {_C.NEUTRAL_DETERGENT, _C.STRONG_ALKALI, _C.MILD_ALKALI, _C.MINERAL_ACID, _C.ORGANIC_ACID, _C.QUATERNARY}
)
_MAY_REDUCE: Final = frozenset(
    {
        _C.NEUTRAL_DETERGENT,
        _C.MILD_ALKALI,
        _C.STRONG_ALKALI,
        _C.ORGANIC_ACID,
        _C.MINERAL_ACID,
        _C.AMMONIA,
        _C.AMINE,
    }
)
_MAY_HOLD_AMINE: Final = frozenset(Chemistry) - {
    _C.AMINE,
    _C.AMMONIA,
    _C.HYPOCHLORITE,
    _C.PEROXIDE,
    _C.HYDROCHLORIC_ACID,
    _C.NITRIC_ACID,
    _C.FLUORIDE_ACID,
}


class Why(StrEnum):
    """What a trait is known from."""

    CLASS = "its class"
    SHEET = "its safety data sheet"
    OXIDISER_OPEN = "oxidiser"
    REDUCER_OPEN = "reducer"
    AMINE_OPEN = "amine"

    @property
    def is_open(self) -> bool:
        """Whether it only counts until a question is answered; the value is the field that asks it."""
        return self in (Why.OXIDISER_OPEN, Why.REDUCER_OPEN, Why.AMINE_OPEN)


@dataclass(frozen=True, slots=True)
class _Flag:
    answer: Answer
    trait: Trait
    explained_by: frozenset[Trait]
    possible: frozenset[Chemistry]
    open_: Why


def _flags(sheet: SafetySheet) -> tuple[_Flag, ...]:
    return (
        _Flag(sheet.oxidiser, _T.OXIDISER, _OXIDISERS, _MAY_OXIDISE, Why.OXIDISER_OPEN),
        _Flag(sheet.reducer, _T.REDUCER, frozenset({_T.REDUCER}), _MAY_REDUCE, Why.REDUCER_OPEN),
        _Flag(sheet.amine, _T.AMINE, frozenset({_T.AMINE, _T.AMMONIA}), _MAY_HOLD_AMINE, Why.AMINE_OPEN),
    )


def _stated(sheet: SafetySheet, by_class: frozenset[Trait]) -> Iterator[Trait]:
    """What the rest of the sheet says and no class explains."""
    codes = {code[:4] if code.startswith("H") else code for code in sheet.statements}
    if not by_class & _ACIDS and sheet.ph is not None and sheet.ph <= PH_ACID:
        yield from (_T.ACID, _T.MINERAL_ACID)
    if not by_class & (_ALKALIS | {_T.HYPOCHLORITE}) and sheet.ph is not None and sheet.ph >= PH_ALKALI:
        yield _T.CAUSTIC
    burns = sheet.flash_point is not None and sheet.flash_point.si <= FLASH_POINT_LIMIT_K
    if not by_class & _BURNING and (
        burns or Pictogram.FLAME in sheet.pictograms or codes & {"H224", "H225", "H226"}
    ):
        yield _T.HYDROCARBON
    oxidises = Pictogram.FLAME_OVER_CIRCLE in sheet.pictograms or codes & {"H271", "H272"}
    if not by_class & _OXIDISERS and oxidises:
        yield _T.OXIDISER
    if _T.HYPOCHLORITE not in by_class and "EUH206" in codes:
        yield _T.HYPOCHLORITE
    if _T.HYPOCHLORITE not in by_class and codes & {"EUH031", "EUH032"}:
        yield _T.GAS_WITH_ACID


def traits_of(sheet: SafetySheet) -> dict[Trait, Why]:
    """The traits of a concentrate, each with what it is known from.

    A product without a class has those that its sheet states and every open one: nothing is known to be impossible.

    >>> traits_of(SafetySheet(classes=(Chemistry.THIOGLYCOLATE,), amine=Answer.NO))
    {<Trait.REDUCER: 'a reducer'>: <Why.CLASS: 'its class'>}
    """
    by_class = frozenset[Trait]().union(*(TRAITS_OF[c] for c in sheet.classes))
    found = dict.fromkeys(sorted(by_class), Why.CLASS)
    for trait in _stated(sheet, by_class):
        found.setdefault(trait, Why.SHEET)
    for flag in _flags(sheet):
        if flag.explained_by & found.keys() or flag.answer is Answer.NO:
            continue
        if flag.answer is Answer.YES:
            found[flag.trait] = Why.SHEET
        elif not sheet.classes or flag.possible & set(sheet.classes):
            found.setdefault(flag.trait, flag.open_)
    return found
