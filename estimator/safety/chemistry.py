"""Groups of chemistry that the rules speak of."""

from __future__ import annotations

from typing import Final

from estimator.model.choices import Chemistry

__all__ = [
    "ACIDS",
    "ALKALIS",
    "CORROSIVE",
    "FLAMMABLE",
    "MAY_BE_CORROSIVE",
    "SHARP_VAPOUR",
]

_C = Chemistry

ACIDS: Final = frozenset({_C.MINERAL_ACID, _C.ORGANIC_ACID, _C.FLUORIDE_ACID})
ALKALIS: Final = frozenset({_C.STRONG_ALKALI, _C.MILD_ALKALI, _C.AMMONIA})
CORROSIVE: Final = frozenset(
    {_C.STRONG_ALKALI, _C.MINERAL_ACID, _C.FLUORIDE_ACID, _C.HYPOCHLORITE, _C.AMMONIA}
)
"""Concentrates that are corrosive as a rule; the safety data sheet of the very product decides."""
MAY_BE_CORROSIVE: Final = frozenset({_C.QUATERNARY, _C.PEROXIDE, _C.MILD_ALKALI, _C.ORGANIC_ACID})
"""Concentrates that are corrosive above some strength; the safety data sheet tells."""
FLAMMABLE: Final = frozenset({_C.ALCOHOL, _C.PETROLEUM_SOLVENT, _C.TERPENE, _C.GLYCOL_ETHER})
SHARP_VAPOUR: Final = CORROSIVE | FLAMMABLE | {_C.PEROXIDE}
"""Foam or mist of these must not be breathed."""
