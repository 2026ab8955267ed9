"""Findings as entries of a list: those that say the same of several objects are one entry with its objects."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from estimator.model.countries import Country
from estimator.model.finding import Facts, Finding, IdKind, Listed, Ref, facts, holes
from estimator.model.grades import Grade
from estimator.shown.findings import CUSTOMER, Sentences
from estimator.shown.sources import source_in

__all__ = ["Entry", "customer_entries", "entries_of"]

_OBJECTS: Final = frozenset(
    {IdKind.PRODUCT, IdKind.LINE, IdKind.SEGMENT, IdKind.BAY, IdKind.STATION, IdKind.DROP}
)
_MANY: Final = 4
"""Entries of one rule from which those that differ in their figures alone are one."""
_ROUNDS: Final = 2
"""A sentence speaks of one object or two: those alike but for the first go together, then those but for the other."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of a list.

    Attributes:
        findings: of one rule, alike in all they say but for one object; the first gives the sentence.
        others: the objects of those after the first.
        beside: the object that all of them have beside those, where a sentence speaks of two.
        figures: whether the others have figures of their own.
    """

    findings: tuple[Finding, ...]
    others: tuple[Ref, ...] = ()
    beside: Ref | None = None
    figures: bool = False

    @property
    def first(self) -> Finding:
        """The one that gives the sentence."""
        return self.findings[0]

    @property
    def grade(self) -> Grade:
        """That of all of them."""
        return self.first.grade

    def installer(self, say: Sentences) -> str:
        """What the one who designs the system reads."""
        return f"{say.installer(self.first)}{self._more(say)}"

    def customer(self, say: Sentences) -> str | None:
        """What the one who signs reads, None where it does not concern them."""
        said = say.customer(self.first)
        return None if said is None else f"{said}{self._more(say)}"

    def source(self, country: Country | None) -> str:
        """Where its rule comes from and who decides, "" where neither is stated.

        Args:
            country: of the job.
        """
        told = [f"Source: {source_in(self.first.source, country)}."] if self.first.source else []
        if self.first.defer_to:
            told.append(f"Decided by: {self.first.defer_to}.")
        return " ".join(told)

    def _more(self, say: Sentences) -> str:
        if self.others:
            told = facts(others=Listed(tuple(dict.fromkeys(self.others))))
            words = "The same holds for {others}."
            if self.figures:
                words = "So it is, with other figures, at {others}."
            elif self.beside is not None:
                # Which of a pair is another one each time must be plain.
                words, told = "The same holds for {beside} with {others}.", (*told, ("beside", self.beside))
            return f" {say.for_option(self.first.option).told(words, told)}"
        if len(self.findings) > 1:
            return f" The same at {say.figures.count(len(self.findings) - 1, 'other place')}."
        return ""


def _alike(_: Finding) -> object:
    return None


def _own(finding: Finding) -> str:
    return finding.sentence


def entries_of(
    findings: Iterable[Finding],
    apart: Callable[[Finding], object] = _alike,
    words: Callable[[Finding], str] = _own,
) -> tuple[Entry, ...]:
    """The entries of findings, each where the first of its findings stands.

    Args:
        findings: in the order of the list.
        apart: what else must be equal of those that go together.
        words: the sentence that is told of each, with its holes; what it does not name may differ.
    """
    made = [_Group([finding]) for finding in findings]
    for number in range(_ROUNDS):
        made = _together(made, number, apart, words)
    return tuple(Entry(tuple(group.findings), tuple(group.others), group.beside) for group in made)


def customer_entries(
    findings: Iterable[Finding], apart: Callable[[Finding], object] = _alike
) -> tuple[Entry, ...]:
    """The entries of the findings that concern the one who signs; those that read the same there go together."""
    entries = entries_of((f for f in findings if f.rule in CUSTOMER), apart, lambda f: CUSTOMER[f.rule])
    return tuple(_but_for_figures(entries, apart))


def _but_for_figures(entries: Sequence[Entry], apart: Callable[[Finding], object]) -> Iterator[Entry]:
    """The entries, many of one rule that differ in their figures as one: the figures of each stand in a table.

    Only of what hurts nobody: a danger is told with its figures wherever it is.
    """
    alike: dict[object, list[Entry]] = {}
    for entry in entries:
        alike.setdefault(_kind(entry, apart), []).append(entry)
    for entry in entries:
        those = alike[_kind(entry, apart)]
        if len(those) < _MANY or entry.first.hurts:
            yield entry
        elif entry is those[0]:
            objects = [ref for one in those[1:] for _, ref in _objects(one.first.facts)[:1]]
            others = (
                *entry.others,
                *(r for one, ref in zip(those[1:], objects, strict=True) for r in (ref, *one.others)),
            )
            yield Entry(tuple(f for one in those for f in one.findings), others, figures=True)


def _kind(entry: Entry, apart: Callable[[Finding], object]) -> object:
    """What is equal of entries that differ in their figures alone."""
    finding = entry.first
    words = tuple((name, fact) for name, fact in finding.facts if isinstance(fact, str))
    objects = tuple((name, fact.kind) for name, fact in _objects(finding.facts))
    if len(objects) != 1:
        return id(entry)
    return finding.grade, finding.rule, finding.defer_to, finding.option, words, objects, apart(finding)


class _Group:
    """What goes together so far."""

    def __init__(self, findings: list[Finding]) -> None:
        self.findings = findings
        self.others: list[Ref] = []
        self.beside: Ref | None = None


def _together(
    groups: Sequence[_Group],
    number: int,
    apart: Callable[[Finding], object],
    words: Callable[[Finding], str],
) -> list[_Group]:
    """The groups of one finding each put together, where they are alike but for the object of that number."""
    alike: dict[object, _Group] = {}
    kept: list[_Group] = []
    for group in groups:
        finding = group.findings[0]
        sentence = words(finding)
        named = holes(sentence)
        told = tuple(fact for fact in finding.facts if fact[0] in named)
        objects = _objects(told)
        if len(group.findings) > 1 or (number and number >= len(objects)):
            kept.append(group)
            continue
        name, ref = objects[number] if objects else ("", None)
        rest = tuple(fact for fact in told if fact[0] != name)
        key = (
            finding.grade, finding.rule, sentence, finding.source, finding.defer_to, finding.option,
            name, ref and ref.kind, rest, apart(finding),
        )  # fmt: skip
        known = alike.get(key)
        if known is None:
            alike[key] = group
            kept.append(group)
            continue
        known.findings.append(finding)
        if ref is not None:
            known.others.append(ref)
            known.beside = next((other for place, other in objects if place != name), None)
    return kept


def _objects(known: Facts) -> list[tuple[str, Ref]]:
    """The objects that a sentence speaks of, with the names of their facts."""
    return [(name, fact) for name, fact in known if isinstance(fact, Ref) and fact.kind in _OBJECTS]
