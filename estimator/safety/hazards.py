"""What a concentrate does to people and to its surroundings, from its sheet, else from its classes."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from typing import Final

from estimator.model.choices import Chemistry, Pictogram
from estimator.model.sheet import SafetySheet
from estimator.safety.chemistry import CORROSIVE, FLAMMABLE, MAY_BE_CORROSIVE, SHARP_VAPOUR
from estimator.safety.traits import FLASH_POINT_LIMIT_K, PH_ACID, PH_ALKALI, Trait, Why, traits_of

__all__ = ["Hazards", "Known", "codes_of", "hazards_of"]

_SKIN: Final = frozenset({"H314"})
_EYES: Final = frozenset({"H314", "H318"})
_SHARP: Final = frozenset({"H330", "H331", "H332", "H334", "H335", "H336"})
_BURNS: Final = frozenset({"H224", "H225", "H226", "H227"})


class Known(StrEnum):
    """How sure a hazard is."""

    YES = "yes"
    LIKELY = "as a rule"
    MAYBE = "above some strength"
    NO = "no"


@dataclass(frozen=True, slots=True)
class Hazards:
    """What the rules ask of a concentrate.

    Attributes:
        traits: how it reacts, each with what that is known from.
        corrosive: to eyes or skin.
        skin: whether it is known to burn skin too, so that a shower is asked about.
        flammable: it can burn.
        sharp: foam or mist of it must not be breathed.
        fluoride: it holds a fluoride acid.
    """

    traits: tuple[tuple[Trait, Why], ...]
    corrosive: Known
    skin: bool
    flammable: bool
    sharp: bool
    fluoride: bool


def codes_of(sheet: SafetySheet) -> frozenset[str]:
    """Numbers of the hazard statements without the letters that tell a category: "H360FD" is H360.

    >>> sorted(codes_of(SafetySheet(statements=("H314", "H360FD", "EUH031"))))
    ['EUH031', 'H314', 'H360']
    """
    return frozenset(code if code.startswith("EU") else code[:4] for code in sheet.statements)


def _corrosive(sheet: SafetySheet, codes: frozenset[str]) -> Known:
    extreme = sheet.ph is not None and (sheet.ph <= PH_ACID or sheet.ph >= PH_ALKALI)
    if codes & _EYES or extreme:
        return Known.YES
    classes = set(sheet.classes)
    # The pictogram stands for what is corrosive to metals alone, too.
    if Pictogram.CORROSION in sheet.pictograms or classes & CORROSIVE:
        return Known.LIKELY
    # A sheet that was read and states no burn decides over what the class may be.
    if (classes & MAY_BE_CORROSIVE or not classes) and not sheet.is_read:
        return Known.MAYBE
    return Known.NO


@lru_cache(maxsize=1024)
def hazards_of(sheet: SafetySheet) -> Hazards:
    """The hazards of a concentrate."""
    codes, classes = codes_of(sheet), set(sheet.classes)
    corrosive = _corrosive(sheet, codes)
    burns = sheet.flash_point is not None and sheet.flash_point.si <= FLASH_POINT_LIMIT_K
    flammable = bool(burns or codes & _BURNS or Pictogram.FLAME in sheet.pictograms)
    if sheet.flash_point is None:
        flammable = flammable or bool(classes & FLAMMABLE)
    sharp = bool(
        classes & SHARP_VAPOUR or codes & _SHARP or corrosive in (Known.YES, Known.LIKELY) or flammable
    )
    return Hazards(
        traits=tuple(traits_of(sheet).items()),
        corrosive=corrosive,
        skin=bool(codes & _SKIN) or (corrosive is Known.YES and not codes & _EYES),
        flammable=flammable,
        sharp=sharp,
        fluoride=Chemistry.FLUORIDE_ACID in classes,
    )
