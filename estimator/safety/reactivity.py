"""What must not meet: the EPA chart, and the pairs that stand whatever the chart says.

The chart [1] knows groups of chemicals. It puts ammonia with the caustics and hypochlorite with the strong oxidisers
and leaves that cell blank: read alone it misses that hypochlorite and ammonia give off chloramines. Pairs of traits
that are overrides win over it. Both tables are symmetric by their shape. Concentrates are meant; the safety data
sheets of the very products decide.

Sources:
    [1] EPA-600/2-80-076, Hatayama and others, A Method for Determining the Compatibility of Hazardous
        Wastes, 1980.
    [2] Washington State Department of Health, public advice on bleach mixing dangers.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from estimator.safety.traits import Trait

__all__ = ["CHART", "GROUP_OF", "OVERRIDES", "MeetingVerdict", "Reaction", "reaction"]

_T = Trait
_EPA: Final = "EPA-600/2-80-076 (1980)"
_DOH: Final = "Washington State Department of Health, bleach mixing dangers"
_BOOKS: Final = "general handbooks"


class MeetingVerdict(StrEnum):
    """What a pair means for a board that has both; the worst first."""

    NEVER_TOGETHER = "never together"
    KEEP_APART = "keep apart"
    LOSES_EFFECT = "loses effect"


@dataclass(frozen=True, slots=True)
class Reaction:
    """One pair.

    Attributes:
        pair: the two traits, without order.
        verdict: what it means.
        hazard: what happens, as the end of a sentence ("gives off chlorine gas").
        source: where the rule comes from.
        status: how sure the source is ("confirmed", "second-hand", "from memory").
        override: the rule stands whatever the EPA chart says of the pair.
    """

    pair: frozenset[Trait]
    verdict: MeetingVerdict
    hazard: str
    source: str
    status: str
    override: bool = False


GROUP_OF: Final[Mapping[Trait, tuple[int, ...]]] = {
    _T.MINERAL_ACID: (1,),
    _T.OXIDISING_ACID: (2,),
    _T.ORGANIC_ACID: (3,),
    _T.ALCOHOL: (4,),
    _T.AMINE: (7,),
    _T.CAUSTIC: (10,),
    _T.MILD_ALKALI: (10,),
    _T.AMMONIA: (10,),
    _T.ETHER: (14,),
    _T.FLUORIDE: (15,),
    _T.HYDROCARBON: (16, 28, 29),
    _T.HYPOCHLORITE: (104,),
    _T.PEROXIDE: (104,),
    _T.OXIDISER: (104,),
    _T.REDUCER: (105,),
}
"""Groups of the chart that a trait belongs to; others have none."""

_CONFIRMED: Final = {
    (2, 3): "G H",
    (1, 4): "H",
    (2, 4): "H F",
    (3, 4): "H P",
    (1, 7): "H",
    (2, 7): "H GT",
    (3, 7): "H",
    (1, 10): "H",
    (2, 10): "H",
    (3, 10): "H",
    (1, 15): "GT",
    (2, 15): "GT",
    (3, 15): "GT",
    (2, 16): "H F",
}
_FROM_MEMORY: Final = {
    (2, 14): "H F",
    (2, 28): "H F",
    (2, 29): "H F",
    (1, 104): "H GT",
    (3, 104): "H GT",
    (4, 104): "H F",
    (7, 104): "H F GT",
    (14, 104): "H F",
    (16, 104): "H F",
    (28, 104): "H F",
    (29, 104): "H F",
    (1, 105): "H GF",
    (2, 105): "H F GT",
    (3, 105): "H GF",
    (104, 105): "H F E",
}
CHART: Final[Mapping[frozenset[int], tuple[str, str]]] = {
    frozenset(pair): (codes, status)
    for cells, status in ((_CONFIRMED, "confirmed"), (_FROM_MEMORY, "from memory"))
    for pair, codes in cells.items()
}
"""Cells of the chart between the groups of this trade: the codes of what happens, and how sure they are. "Confirmed"
was read in a reproduction of the chart. A cell that is not here was blank or not at hand."""

_WORDS: Final = {
    "E": "can explode",
    "F": "can catch fire",
    "GT": "gives off poisonous gas",
    "GF": "gives off gas that burns",
    "P": "can react violently",
    "H": "heats up and spatters",
    "G": "gives off gas",
}
_NEVER_CODES: Final = frozenset({"E", "F", "GT", "GF"})


def _rule(
    of: Iterable[Trait],
    with_: Iterable[Trait],
    verdict: MeetingVerdict,
    hazard: str,
    source: str,
    status: str,
) -> Iterator[Reaction]:
    for a in of:
        for b in with_:
            yield Reaction(frozenset({a, b}), verdict, hazard, source, status, override=True)


def _overrides() -> Iterator[Reaction]:
    never, apart = MeetingVerdict.NEVER_TOGETHER, MeetingVerdict.KEEP_APART
    second, memory = "second-hand", "from memory"
    burns = (_T.ALCOHOL, _T.ETHER, _T.HYDROCARBON)
    alkalis = (_T.CAUSTIC, _T.MILD_ALKALI, _T.AMMONIA)
    bleach = (_T.HYPOCHLORITE,)
    gas_gives = "gives off chlorine gas"
    # An acid has a trait of its kind too; each gets the rule, so that the chart's cell for the kind does not speak.
    acids = (_T.ACID, _T.MINERAL_ACID, _T.HYDROCHLORIC, _T.OXIDISING_ACID, _T.ORGANIC_ACID)
    yield from _rule(bleach, acids, never, gas_gives, f"{_DOH}; {_EPA}", second)
    yield from _rule(bleach, (_T.AMMONIA, _T.AMINE), never, "gives off chloramine gas", _DOH, second)
    yield from _rule(bleach, (_T.PEROXIDE,), never, "gives off heat and oxygen", _DOH, second)
    yield from _rule(bleach, burns, never, "can catch fire and makes chlorinated organics", _BOOKS, memory)
    yield from _rule(
        bleach, (_T.REDUCER,), never, "heats up at once and gives off harmful gas", _BOOKS, memory
    )
    # What oxidises without a class may hold chlorine.
    may = "may give off poisonous gas such as chlorine"
    yield from _rule((_T.OXIDISER,), (*acids, _T.AMMONIA, _T.AMINE, *bleach), never, may, _BOOKS, memory)
    yield from _rule((_T.OXIDISER, _T.PEROXIDE), burns, never, "can heat up and catch fire", _BOOKS, memory)
    yield from _rule(
        (_T.GAS_WITH_ACID,), acids, never, "gives off poisonous gas", "EUH031 and EUH032", memory
    )
    fluoride = "sets free hydrogen fluoride"
    kinds = (_T.MINERAL_ACID, _T.HYDROCHLORIC, _T.OXIDISING_ACID, _T.ORGANIC_ACID)
    yield from _rule((_T.FLUORIDE,), kinds, never, fluoride, f"{_EPA}, groups 1 to 3 with 15", "confirmed")
    heat = "heats up and spatters"
    yield from _rule((_T.FLUORIDE,), alkalis, apart, heat, f"{_EPA}, groups 1 to 3 with 10", "confirmed")
    nitrous = "gives off chlorine and nitrogen oxides"
    yield from _rule((_T.HYDROCHLORIC,), (_T.OXIDISING_ACID,), never, nitrous, _BOOKS, memory)
    yield from _rule((_T.HYDROCHLORIC,), (_T.PEROXIDE,), never, gas_gives, _BOOKS, memory)
    peracid = "heats up and can give off harmful gas"
    yield from _rule(
        (_T.PEROXIDE,), (_T.ACID, _T.MINERAL_ACID, _T.ORGANIC_ACID), apart, peracid, _BOOKS, memory
    )
    decays = "decomposes the peroxide: heat, oxygen and pressure"
    yield from _rule((_T.PEROXIDE,), alkalis, apart, decays, _BOOKS, memory)
    sulphur = "gives off poisonous, foul sulphur gas"
    strong = (_T.MINERAL_ACID, _T.HYDROCHLORIC, _T.OXIDISING_ACID, _T.FLUORIDE)
    yield from _rule((_T.REDUCER,), strong, never, sulphur, _BOOKS, memory)
    yield from _rule(
        (_T.REDUCER,), (_T.ORGANIC_ACID,), apart, "can give off foul sulphur gas", _BOOKS, memory
    )
    yield from _rule((_T.REDUCER,), (_T.CAUSTIC,), apart, "can set ammonia free", _BOOKS, memory)
    inactive = "is not dangerous, but an anionic detergent makes the sanitiser lose its effect"
    yield from _rule((_T.QUATERNARY,), (_T.ANIONIC,), MeetingVerdict.LOSES_EFFECT, inactive, _BOOKS, memory)


OVERRIDES: Final[Mapping[frozenset[Trait], Reaction]] = {r.pair: r for r in _overrides()}
"""Pairs that stand whatever the chart says. That a pair is in neither table is no promise of safety."""


def _charted(a: Trait, b: Trait) -> Reaction | None:
    """The chart's rule; of several cells the worst."""
    found = []
    for one in GROUP_OF.get(a, ()):
        for other in GROUP_OF.get(b, ()):
            cell = CHART.get(frozenset({one, other})) if one != other else None
            if cell is not None:
                found.append((min(one, other), max(one, other), *cell))
    made = []
    for low, high, text, status in found:
        codes = text.split()
        told = [_WORDS[code] for code in _WORDS if code in codes]
        never = bool(_NEVER_CODES & set(codes))
        made.append(
            Reaction(
                frozenset({a, b}),
                MeetingVerdict.NEVER_TOGETHER if never else MeetingVerdict.KEEP_APART,
                " and ".join(told[:2]),
                f"{_EPA}, group {low} with {high}",
                status,
            )
        )
    return min(made, key=lambda r: list(MeetingVerdict).index(r.verdict), default=None)


def reaction(a: Trait, b: Trait) -> Reaction | None:
    """The rule for two traits in either order, None where no table has one.

    >>> reaction(Trait.AMMONIA, Trait.HYPOCHLORITE).hazard
    'gives off chloramine gas'
    """
    if a is b:
        return None
    return OVERRIDES.get(frozenset({a, b})) or _charted(a, b)
