"""Groups of classes that the rules speak of."""

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

ACIDS: Final = frozenset(
    {_C.MINERAL_ACID, _C.HYDROCHLORIC_ACID, _C.NITRIC_ACID, _C.ORGANIC_ACID, _C.FLUORIDE_ACID}
)
ALKALIS: Final = frozenset({_C.STRONG_ALKALI, _C.MILD_ALKALI, _C.AMMONIA, _C.AMINE})
CORROSIVE: Final = frozenset(
    {
        _C.STRONG_ALKALI,
        _C.MINERAL_ACID,
        _C.HYDROCHLORIC_ACID,
        _C.NITRIC_ACID,
        _C.FLUORIDE_ACID,
        _C.HYPOCHLORITE,
        _C.AMMONIA,
        _C.AMINE,
    }
)
"""Concentrates that are corrosive as a rule; the safety data sheet of the very product decides."""
MAY_BE_CORROSIVE: Final = frozenset(
    {_C.QUATERNARY, _C.PEROXIDE, _C.MILD_ALKALI, _C.ORGANIC_ACID, _C.THIOGLYCOLATE}
)
"""Concentrates that are corrosive above some strength; the safety data sheet tells."""
FLAMMABLE: Final = frozenset({_C.ALCOHOL, _C.PETROLEUM_SOLVENT, _C.TERPENE, _C.GLYCOL_ETHER})
SHARP_VAPOUR: Final = CORROSIVE | FLAMMABLE | {_C.PEROXIDE, _C.THIOGLYCOLATE}
"""Foam or mist of these must not be breathed."""
