"""How much a finding asks for, and what its rule can do to people: four grades, and one table of dangers.

What a rule can do to people is a property of the rule, whatever stage finds it, and stands here once. A rule that is
not in the table hurts nobody. The dangers are judged from general knowledge of the trade; no source ranks them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum, StrEnum
from typing import Final

__all__ = ["HARMLESS", "RULES", "Danger", "Grade", "RuleTraits", "traits_of"]


class Grade(StrEnum):
    """What a finding asks for, the hardest first.

    `never`: must not go out; a quote and a revision wait until it is mended or somebody signs for it. `mend`: the quote
    is not right before it is mended. `look`: somebody must look at it. `know`: to be known, nothing is asked.
    """

    NEVER = "never"
    MEND = "mend"
    LOOK = "look"
    KNOW = "know"

    @property
    def label(self) -> str:
        """Before a sentence.

        >>> [grade.label for grade in Grade]
        ['Never', 'Mend', 'Look at', 'Know']
        """
        return {Grade.LOOK: "Look at"}.get(self, self.value.capitalize())

    def counted(self, number: int | str) -> str:
        """A number of findings of this grade.

        >>> Grade.NEVER.counted(1), Grade.LOOK.counted(3), Grade.KNOW.counted("…")
        ('1 never', '3 to look at', '… to know')
        """
        return f"{number} {'never' if self is Grade.NEVER else f'to {self.label.lower()}'}"


class Danger(Enum):
    """What can come of it for people, the worst first; the value is how bad."""

    LIFE = 3
    INJURY = 2
    HEALTH = 1
    NONE = 0

    @property
    def words(self) -> str:
        """In words, "" for none.

        >>> [danger.words for danger in Danger]
        ['can kill', 'can injure', 'can harm health', '']
        """
        return {Danger.LIFE: "can kill", Danger.INJURY: "can injure", Danger.HEALTH: "can harm health"}.get(
            self, ""
        )


@dataclass(frozen=True, slots=True)
class RuleTraits:
    """What is declared with a rule.

    Attributes:
        danger: what it can do to people.
        never: found as an error it must not go out.
    """

    danger: Danger
    never: bool = False


HARMLESS: Final = RuleTraits(Danger.NONE)
_LIFE, _INJURY, _HEALTH = RuleTraits(Danger.LIFE), RuleTraits(Danger.INJURY), RuleTraits(Danger.HEALTH)
_NEVER: Final = RuleTraits(Danger.LIFE, never=True)
_NEVER_INJURY: Final = RuleTraits(Danger.INJURY, never=True)

RULES: Final[Mapping[str, RuleTraits]] = {
    # Products that meet: poisonous gas, fire, a burst tank.
    "mixing-forbidden": _NEVER,
    "mixing-not-answered": _NEVER,
    "class-missing": _NEVER,
    "classes-contradict": _NEVER,
    "mixing-apart": _INJURY,
    "mixing-inactive": HARMLESS,
    # Parts that burst or dissolve under pressure.
    "tube-rating": _NEVER_INJURY,
    "part-rating": _NEVER_INJURY,
    "surge": _INJURY,
    "tube-too-hot": _NEVER_INJURY,
    "regulator-above-pump": _NEVER_INJURY,
    "part-material": _NEVER_INJURY,
    "part-material-doubt": _INJURY,
    "material-unknown": _INJURY,
    "container-tap": HARMLESS,
    "gun-not-for-air": _INJURY,
    # What a product does to a person.
    "fluoride-acid": _LIFE,
    "flammable-spray": _LIFE,
    "eyewash-missing": _INJURY,
    "eyewash-check": _INJURY,
    "eyewash-far": _INJURY,
    "eyewash-open": _INJURY,
    "eyewash-outside": _INJURY,
    "eyewash-water": _INJURY,
    "eyewash-branch": _INJURY,
    "eyewash-way": HARMLESS,
    "shower-missing": _INJURY,
    "shower-check": _INJURY,
    "shower-flow": _INJURY,
    "foam-ventilation": _HEALTH,
    "mist-ventilation": _HEALTH,
    "tank-open": _HEALTH,
    "tank-empties": _HEALTH,
    "containment-missing": _HEALTH,
    "containment-size": HARMLESS,
    "containment-small": _HEALTH,
    "drain-without-permit": _NEVER_INJURY,
    "drain-open": _HEALTH,
    "drain-separator": HARMLESS,
    "vented-cap": _INJURY,
    "lockout-missing": _INJURY,
    "pressure-trapped": _INJURY,
    "labels-needed": _HEALTH,
    "programme-missing": _HEALTH,
    "programme-open": HARMLESS,
    "board-above-reach": _INJURY,
    "mouth-high": _INJURY,
    "air-gap-small": _HEALTH,
    "air-gap-open": HARMLESS,
    "test-yearly": _HEALTH,
    "hall-freezing": HARMLESS,
    "hall-open": HARMLESS,
    "backflow-defer": _HEALTH,
    "dilution-off-label": _HEALTH,
    "dilution-off": _HEALTH,
    "dilution-hours": _HEALTH,
    "dilution-busy": _HEALTH,
    "dilution-first-fill": _HEALTH,
    "dilution-day": _HEALTH,
    # Air and water.
    "blow-off-pressure": _INJURY,
    "blow-off-relieved": HARMLESS,
    "water-scald": _INJURY,
    "water-freezing": HARMLESS,
    "water-warm": HARMLESS,
    # What is known of a product; that the worse case counts meanwhile is told by the rules above.
    "label-range": HARMLESS,
    "label-range-missing": HARMLESS,
    "line-colours-alike": HARMLESS,
    "country-abroad": HARMLESS,
    "country-missing": HARMLESS,
    "sheet-ahead": HARMLESS,
    "sheet-contradicts": _HEALTH,
    "sheet-incomplete": HARMLESS,
    "sheet-old": HARMLESS,
}
"""By the name of the rule: every rule of `safety/`, and those of other stages that can hurt."""


def traits_of(rule: str) -> RuleTraits:
    """What is declared with a rule.

    >>> traits_of("mixing-forbidden").never, traits_of("tube-velocity").danger
    (True, <Danger.NONE: 0>)
    """
    return RULES.get(rule, HARMLESS)
