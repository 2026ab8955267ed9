"""A finding: one report about one place in the job, with how bad it is and where the rule comes from.

A finding keeps what its sentence speaks of as facts: amounts in SI with their dimension, counts, money, days,
references to objects by kind and id, a person's own words. The sentence a person reads is made from them last, in
the units, language and names of the job.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from functools import lru_cache
from typing import Final

from estimator.model.grades import Danger, Grade, traits_of
from estimator.units import Dimension, Quantity, UnitSystem, default_places, display, units_of

__all__ = [
    "Amount",
    "AsTyped",
    "Count",
    "Fact",
    "Facts",
    "FieldEnd",
    "Finding",
    "IdKind",
    "Listed",
    "Money",
    "Number",
    "Phrase",
    "Ref",
    "Severity",
    "Units",
    "facts",
    "filled",
    "holes",
    "in_order",
    "plain",
    "refs_of",
    "some",
    "trimmed",
]

_HOLE: Final = re.compile(r"\{([a-z_]+)\}")


class Severity(StrEnum):
    """How bad: `error` stops a quote from being right, `warning` must be looked at, `note` informs.

    What a person is told is the grade, which follows from it and from the rule (see `Finding.grade`).
    """

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


class IdKind(StrEnum):
    """What an id is the id of. The parts are named as the tables of the catalogue are."""

    PRODUCT = "product"
    LINE = "line"  # a product's id, or "air"
    SEGMENT = "segment"  # of a line
    BAY = "bay"
    STATION = "station"  # a side of a bay
    DROP = "drop"
    OPTION = "option"
    OBJECT = (
        "object"  # whatever a takeoff row came from: a drop, "line/segment", a station, a line, the board
    )
    GUN = "guns"
    HOSE = "hoses"
    NOZZLE = "nozzles"
    NOZZLE_SIZE = "nozzle_sizes"
    NOZZLE_MAKE = "nozzle_makes"
    TUBE = "tubes"
    TANK = "tanks"
    PUMP = "pumps"
    PROPORTIONER = "proportioners"
    BACKFLOW = "backflow"
    BOOSTER = "boosters"
    REDUCER = "reducers"


@dataclass(frozen=True, slots=True)
class Amount:
    """A quantity.

    Attributes:
        si: in the SI unit of its dimension.
        dimension: what it measures.
        places: most decimals in the metric unit; the dimension's own where None.
        typed: the text of a person who typed it, "" where the program worked it out.
    """

    si: float
    dimension: Dimension
    places: int | None = None
    typed: str = ""

    @classmethod
    def of(cls, quantity: Quantity) -> Amount:
        """A typed quantity."""
        return cls(quantity.si, quantity.dimension, None, quantity.text)


@dataclass(frozen=True, slots=True)
class FieldEnd:
    """An end of what a field takes, as it was declared; where it is converted it is rounded to the inside."""

    quantity: Quantity
    lowest: bool


@dataclass(frozen=True, slots=True)
class AsTyped:
    """A text that should have been a quantity, as it came to the file; told as it was typed."""

    text: str


@dataclass(frozen=True, slots=True)
class Units:
    """The units in which a quantity may be typed, those of the job's system."""

    dimension: Dimension


@dataclass(frozen=True, slots=True)
class Count:
    """A count with its noun: one drop, two drops."""

    number: int
    one: str
    many: str = ""


@dataclass(frozen=True, slots=True)
class Number:
    """A plain number with at most so many decimals, and a unit that is the same everywhere ("%", ":1")."""

    value: float | Decimal
    places: int = 2
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Money:
    """An amount of money."""

    amount: Decimal
    currency: str


@dataclass(frozen=True, slots=True)
class Ref:
    """An object of the job or a part of the catalogue.

    Attributes:
        kind: what it is.
        id: its id or key.
        of: id of the line of a segment; the side of a station, whose id is its bay's.
    """

    kind: IdKind
    id: str
    of: str = ""


@dataclass(frozen=True, slots=True)
class Listed:
    """Several objects or words, told as an enumeration that names at most so many of them."""

    items: tuple[Ref | str, ...]
    most: int = 8


@dataclass(frozen=True, slots=True)
class Phrase:
    """A part of a sentence that is there or not, with facts of its own."""

    sentence: str
    facts: Facts = ()


Fact = Amount | FieldEnd | AsTyped | Units | Count | Number | Money | Ref | Listed | Phrase | date | str
"""What a sentence speaks of. A `str` is set as it stands: a person's own words, or a word of the trade."""

Facts = tuple[tuple[str, Fact], ...]
"""Facts by name, in the order they were given in."""


def facts(**named: Fact) -> Facts:
    """Facts by name, as the holes of the sentence name them."""
    return tuple(named.items())


def refs_of(known: Facts) -> Iterator[Ref]:
    """The objects that facts speak of, those of a list and of a part of a sentence too."""
    for _, fact in known:
        if isinstance(fact, Ref):
            yield fact
        elif isinstance(fact, Listed):
            yield from (item for item in fact.items if isinstance(item, Ref))
        elif isinstance(fact, Phrase):
            yield from refs_of(fact.facts)


def filled(sentence: str, known: Facts, say: Callable[[Fact], str]) -> str:
    """A sentence with its facts in words. What is set in is never looked at for holes again.

    Args:
        sentence: with holes such as {drop}; one without facts is told literally.
        known: its facts.
        say: a fact in words; a phrase is told by this function.

    >>> filled("{who}: {what}", facts(who="{what}", what="soap"), plain)
    '{what}: soap'
    >>> filled("A person's {braces}", (), plain)
    "A person's {braces}"
    """
    if not known:
        return sentence
    by_name = dict(known)

    def put(hole: re.Match[str]) -> str:
        fact = by_name[hole[1]]
        return filled(fact.sentence, fact.facts, say) if isinstance(fact, Phrase) else say(fact)

    return _HOLE.sub(put, sentence)


def some(words: Iterable[str], most: int) -> str:
    """An enumeration that tells how many it leaves out.

    >>> some(["a", "b", "c"], 2), some(["a", "b", "c"], 3), some(["a"], 3)
    ('a, b and 1 more', 'a, b and c', 'a')
    """
    every = list(words)
    if len(every) > most:
        return f"{', '.join(every[:most])} and {len(every) - most} more"
    return " and ".join(filter(None, [", ".join(every[:-1]), *every[-1:]]))


def trimmed(number: str) -> str:
    """A number, with its unit or without, without the noughts that say nothing.

    >>> trimmed("2.50 bar"), trimmed("20 L/min"), trimmed("40.0°")
    ('2.5 bar', '20 L/min', '40°')
    """
    return re.sub(r"\.(\d*?)0*(?!\d)", lambda m: f".{m[1]}" if m[1] else "", number, count=1)


def plain(fact: Fact) -> str:
    """A fact in words without a job: metric, an object by its id.

    >>> plain(Amount(250_000.0, Dimension.PRESSURE)), plain(Ref(IdKind.DROP, "d1")), plain(Count(2, "gun"))
    ('2.5 bar', '“d1”', '2 guns')
    """
    if isinstance(fact, Amount):
        if fact.typed:
            return fact.typed
        if not math.isfinite(fact.si):
            return "not known"
        places = default_places(fact.dimension, UnitSystem.METRIC) if fact.places is None else fact.places
        return trimmed(display(fact.si, fact.dimension, UnitSystem.METRIC, places))
    if isinstance(fact, FieldEnd):
        return fact.quantity.text
    if isinstance(fact, AsTyped):
        return fact.text
    if isinstance(fact, Units):
        return ", ".join(units_of(fact.dimension))
    if isinstance(fact, Count):
        return f"{fact.number} {fact.one if fact.number == 1 else fact.many or fact.one + 's'}"
    if isinstance(fact, Number):
        gap = " " if fact.unit == "%" else ""
        return trimmed(f"{fact.value:.{fact.places}f}") + gap + fact.unit
    if isinstance(fact, Money):
        return f"{fact.currency} {fact.amount}"
    if isinstance(fact, Ref):
        return f"“{fact.id}”" if fact.kind is not IdKind.STATION else f"“{fact.id}”, {fact.of} side"
    if isinstance(fact, Listed):
        return some((f"“{x}”" if isinstance(x, str) else plain(x) for x in fact.items), fact.most)
    if isinstance(fact, Phrase):
        return filled(fact.sentence, fact.facts, plain)
    return fact.isoformat() if isinstance(fact, date) else fact


@lru_cache(maxsize=4096)
def holes(sentence: str) -> frozenset[str]:
    """Names of the facts that a sentence names.

    >>> sorted(holes("{a} with {b}"))
    ['a', 'b']
    """
    return frozenset(_HOLE.findall(sentence))


@dataclass(frozen=True, slots=True)
class Finding:
    """One report line.

    Attributes:
        severity: how bad.
        place: dotted path in the job ("design.drops.3.gun") or the id of a line or drop.
        rule: short stable name of the rule ("drop-unknown-bay").
        sentence: names the field and what would be right; with facts a constant with a hole for each that it
            names, without facts told as it stands.
        source: where the rule comes from ("common practice, no source"; a standard's number).
        defer_to: who decides ("local water authority"), empty if nobody else.
        facts: what the sentence speaks of.
        option: id of the offered option that it is about where the base design does not have it.
    """

    severity: Severity
    place: str
    rule: str
    sentence: str
    source: str = ""
    defer_to: str = ""
    facts: Facts = ()
    option: str = "base"

    def __post_init__(self) -> None:
        """A sentence that speaks of a fact it was not given is an error of the program, found where it is made.

        Raises:
            ValueError: with the holes that no fact fills.
        """
        if self.facts:
            unfilled = holes(self.sentence) - {name for name, _ in self.facts}
            if unfilled:
                raise ValueError(f"{self.rule}: no fact for {', '.join(sorted(unfilled))}")

    @property
    def message(self) -> str:
        """The sentence without a job: metric, objects by their ids. A person reads that of `shown.findings`."""
        return filled(self.sentence, self.facts, plain)

    @property
    def danger(self) -> Danger:
        """What its rule can do to people."""
        return traits_of(self.rule).danger

    @property
    def grade(self) -> Grade:
        """What it asks for."""
        if self.severity is Severity.ERROR and traits_of(self.rule).never:
            return Grade.NEVER
        return _GRADES[self.severity]

    @property
    def hurts(self) -> bool:
        """Whether it can hurt people."""
        return self.danger is not Danger.NONE


_GRADES: Final = {Severity.ERROR: Grade.MEND, Severity.WARNING: Grade.LOOK, Severity.NOTE: Grade.KNOW}
_PLACE: Final = {grade: place for place, grade in enumerate(Grade)}


def _urgency(finding: Finding) -> tuple[bool, bool, bool, int, int]:
    grade = finding.grade
    return (
        grade is not Grade.NEVER,
        not finding.hurts,
        # Of what can hurt, what asks for nothing comes after what must be looked at.
        finding.hurts and grade is Grade.KNOW,
        -finding.danger.value,
        _PLACE[grade],
    )


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The order in which findings are told everywhere; what several stages found alike is told once.

    What must never go out comes first, then what else can hurt people, by danger, whatever stage found it, then the
    rest by grade. Findings alike in that keep their order.
    """
    return tuple(sorted(dict.fromkeys(findings), key=_urgency))
