"""Findings in words: for the installer, and for the customer where they concern the one who signs.

The rules state what they found as facts. Here the sentence is made, in the units, the language and the names of the
job. Two amounts of one sentence that differ never read alike.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from itertools import combinations
from typing import Final

from estimator.model.finding import (
    Amount,
    Count,
    Fact,
    Facts,
    Finding,
    Listed,
    Money,
    Number,
    Phrase,
    Ref,
    filled,
    some,
)
from estimator.model.job import Job
from estimator.money import money_text
from estimator.shown.figures import Figures, figures_of
from estimator.shown.names import Names, quoted
from estimator.study import Study
from estimator.units import Dimension, Quantity, UnitSystem, as_written, default_places

__all__ = ["Sentences", "sentences_of", "sentences_of_job"]

_MOST_EXTRA_PLACES: Final = 4

CUSTOMER: Final[dict[str, str]] = {}
"""Rules that concern the one who signs, with the sentence in their words; the holes are those of the rule's facts."""


def _amounts(facts: Facts) -> Iterator[Amount]:
    for _, fact in facts:
        if isinstance(fact, Amount):
            yield fact
        elif isinstance(fact, Phrase):
            yield from _amounts(fact.facts)


@dataclass(frozen=True, slots=True)
class _Scale:
    """How the amounts of one dimension are told in a sentence: decimals to add, or all as they were typed."""

    extra: int = 0
    as_typed: bool = False


class Sentences:
    """Makes the sentences of one job.

    Args:
        figures: how numbers are written.
        names: what objects are called.
        options: names of the objects of other designs, by the option's id.
    """

    def __init__(self, figures: Figures, names: Names, options: Mapping[str, Names] | None = None) -> None:
        self.figures = figures
        self.names = names
        self._options = options or {}

    def installer(self, finding: Finding) -> str:
        """What the one who designs the system reads."""
        return self._of(finding, finding.sentence)

    def customer(self, finding: Finding) -> str | None:
        """What the one who signs reads, None where it does not concern them."""
        sentence = CUSTOMER.get(finding.rule)
        return None if sentence is None else self._of(finding, sentence)

    def _of(self, finding: Finding, sentence: str) -> str:
        names = self._options.get(finding.option)
        if names is None:
            return self.told(sentence, finding.facts)
        option = quoted(names.option(finding.option))
        return f"Option {option}: {Sentences(self.figures, names).told(sentence, finding.facts)}"

    def phrase(self, phrase: Phrase) -> str:
        """A part of a sentence, or one that is no finding, begun as it is."""
        scales = self._scales(tuple(dict.fromkeys(_amounts(phrase.facts))))
        return filled(phrase.sentence, phrase.facts, lambda fact: self._fact(fact, scales))

    def told(self, sentence: str, facts: Facts) -> str:
        """A sentence with its facts in words; one without facts as it stands."""
        if not facts:
            return sentence
        told = self.phrase(Phrase(sentence, facts))
        return told[:1].upper() + told[1:]

    def _amount(self, fact: Amount, scale: _Scale) -> str:
        if scale.as_typed:
            return self.figures.typed(Quantity(fact.typed, fact.si, fact.dimension))
        places = fact.places
        if places is None:
            places = default_places(fact.dimension, UnitSystem.METRIC)
        return self.figures.amount(fact.si, fact.dimension, places + scale.extra)

    def _scales(self, amounts: tuple[Amount, ...]) -> dict[Dimension, _Scale]:
        groups: dict[Dimension, list[Amount]] = {}
        for amount in amounts:
            groups.setdefault(amount.dimension, []).append(amount)
        return {dimension: self._scale(group) for dimension, group in groups.items()}

    def _scale(self, group: list[Amount]) -> _Scale:
        """As typed where one unit of the job's serves them all, else converted, with the decimals they need."""
        written = [
            as_written(Quantity(a.typed, a.si, a.dimension), self.figures.system) if a.typed else None
            for a in group
        ]
        if len({w and w[1] for w in written} | {None}) == 2 and None not in written:
            return _Scale(as_typed=True)
        pairs = [(a, b) for a, b in combinations(group, 2) if not math.isclose(a.si, b.si, rel_tol=1e-9)]
        for extra in range(_MOST_EXTRA_PLACES):
            scale = _Scale(extra)
            if all(self._amount(a, scale) != self._amount(b, scale) for a, b in pairs):
                return scale
        return _Scale(_MOST_EXTRA_PLACES)

    def _fact(self, fact: Fact, scales: dict[Dimension, _Scale]) -> str:
        if isinstance(fact, Amount):
            return self._amount(fact, scales[fact.dimension])
        if isinstance(fact, Count):
            noun = fact.one if fact.number == 1 else fact.many or f"{fact.one}s"
            return f"{self.figures.number(fact.number, 0)} {noun}"
        if isinstance(fact, Number):
            gap = "\u00a0" if fact.unit == "%" else ""
            return f"{self.figures.number(fact.value, fact.places)}{gap}{fact.unit}"
        if isinstance(fact, Money):
            return money_text(fact.amount, fact.currency, self.figures.locale)
        if isinstance(fact, Ref):
            return self.names.ref(fact)
        if isinstance(fact, Listed):
            return some(
                (quoted(x) if isinstance(x, str) else self.names.ref(x) for x in fact.items), fact.most
            )
        if isinstance(fact, date):
            return self.figures.day(fact)
        # A phrase is told by what fills it in; only a text is left.
        return fact if isinstance(fact, str) else self.told(fact.sentence, fact.facts)


def sentences_of(study: Study) -> Sentences:
    """For the findings of a study."""
    job = study.job
    called = {a.id: a.name for a in job.alternatives}
    others = {o.option: Names(o.job.design, o.layout, options=called) for o in study.options}
    return Sentences(figures_of(job), Names(job.design, study.layout, options=called), others)


def sentences_of_job(job: Job) -> Sentences:
    """For findings about a job that was not worked out; pieces of tube are told by their line."""
    return Sentences(figures_of(job), Names(job.design, options={a.id: a.name for a in job.alternatives}))
