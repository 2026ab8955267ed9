"""What must not meet: one table of pairs of chemistry, without order and so symmetric by its shape.

The EPA chart [1] puts ammonia with the caustics and hypochlorite with the strong oxidisers and leaves that
cell blank: read alone it misses that hypochlorite and ammonia give off chloramines. The pairs marked as
override stand here whatever the chart says. Concentrates are meant; the safety data sheets of the very
products decide.

Sources:
    [1] EPA-600/2-80-076, Hatayama and others, A Method for Determining the Compatibility of Hazardous
        Wastes, 1980.
    [2] Washington State Department of Health, public advice on bleach mixing dangers.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from estimator.model.choices import Chemistry
from estimator.safety.chemistry import ACIDS, ALKALIS

__all__ = ["REACTIONS", "Reaction", "Verdict", "reaction"]

_C = Chemistry
_EPA: Final = "EPA-600/2-80-076 (1980)"
_DOH: Final = "Washington State Department of Health, bleach mixing dangers"
_MEMORY: Final = "from memory of general handbooks"


class Verdict(StrEnum):
    """What a pair means for a board that has both."""

    NEVER_TOGETHER = "never together"
    KEEP_APART = "keep apart"
    LOSES_EFFECT = "loses effect"


@dataclass(frozen=True, slots=True)
class Reaction:
    """One pair.

    Attributes:
        pair: the two chemistries, without order.
        verdict: what it means.
        hazard: what happens, as the end of a sentence ("gives off chlorine gas").
        source: where the rule comes from.
        status: how sure the source is ("confirmed", "second-hand", "from memory").
        override: the rule stands although the EPA chart has no entry for the pair.
    """

    pair: frozenset[Chemistry]
    verdict: Verdict
    hazard: str
    source: str
    status: str
    override: bool = False


def _rules() -> Iterable[Reaction]:
    def rule(
        a: Chemistry,
        others: Iterable[Chemistry],
        verdict: Verdict,
        hazard: str,
        source: str,
        status: str,
        override: bool = False,
    ) -> Iterable[Reaction]:
        for b in sorted(others):
            yield Reaction(frozenset({a, b}), verdict, hazard, source, status, override)

    never, apart = Verdict.NEVER_TOGETHER, Verdict.KEEP_APART
    bleach, peroxide, fluoride = _C.HYPOCHLORITE, _C.PEROXIDE, _C.FLUORIDE_ACID
    solvents = {_C.ALCOHOL, _C.GLYCOL_ETHER, _C.PETROLEUM_SOLVENT, _C.TERPENE}
    yield from rule(bleach, ACIDS, never, "gives off chlorine gas", f"{_DOH}; {_EPA}", "second-hand", True)
    yield from rule(bleach, {_C.AMMONIA}, never, "gives off chloramine gas", _DOH, "second-hand", True)
    yield from rule(bleach, {peroxide}, never, "gives off heat and oxygen", _DOH, "second-hand", True)
    yield from rule(
        bleach, solvents, never, "can catch fire and makes chlorinated organics", _MEMORY, "from memory", True
    )
    yield from rule(
        fluoride,
        ACIDS - {fluoride},
        never,
        "sets free hydrogen fluoride",
        f"{_EPA}, groups 1 to 3 with 15",
        "confirmed",
    )
    yield from rule(peroxide, solvents, never, "can heat up and catch fire", _MEMORY, "from memory")
    for acid in sorted(ACIDS):
        yield from rule(
            acid, ALKALIS, apart, "heats up and spatters", f"{_EPA}, groups 1 to 3 with 10", "confirmed"
        )
    yield from rule(
        peroxide, ACIDS, apart, "heats up and can give off harmful gas", f"{_EPA}, group 104", "from memory"
    )
    yield from rule(
        peroxide, ALKALIS, apart, "decomposes the peroxide: heat, oxygen and pressure", _MEMORY, "from memory"
    )
    yield from rule(
        _C.ALCOHOL,
        {_C.MINERAL_ACID, _C.ORGANIC_ACID},
        apart,
        "heats up",
        f"{_EPA}, groups 1 to 3 with 4",
        "confirmed",
    )
    yield from rule(
        _C.QUATERNARY,
        {_C.NEUTRAL_DETERGENT},
        Verdict.LOSES_EFFECT,
        "is not dangerous, but an anionic detergent makes the sanitiser lose its effect",
        _MEMORY,
        "from memory",
    )


REACTIONS: Final[dict[frozenset[Chemistry], Reaction]] = {r.pair: r for r in _rules()}
"""Every pair that has a rule. That a pair is not here is no promise of safety."""


def reaction(a: Chemistry, b: Chemistry) -> Reaction | None:
    """The rule for two chemistries in either order, None where the table has none.

    >>> reaction(Chemistry.AMMONIA, Chemistry.HYPOCHLORITE).hazard
    'gives off chloramine gas'
    """
    return REACTIONS.get(frozenset({a, b}))
