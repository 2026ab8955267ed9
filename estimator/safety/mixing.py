"""Pairs on one board that must not meet, and what a fluoride acid asks for."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import combinations, combinations_with_replacement
from typing import Final

from estimator.model.choices import Chemistry
from estimator.model.design import Product
from estimator.model.finding import Fact, Finding, Listed, Severity, facts
from estimator.safety.hazards import hazards_of
from estimator.safety.meetings import ORDER, Meeting, meeting
from estimator.safety.reactivity import MeetingVerdict, Reaction
from estimator.safety.scene import LOCAL, Scene, classes_of, named, products_named
from estimator.safety.traits import Why

__all__ = ["Met", "fluoride", "meetings_of", "meetings_told", "mixing", "open_questions"]

Met = tuple[tuple[Product, ...], tuple[Product, ...], Meeting]
"""Products, others, and what happens when any of the one meets any of the other."""

_TOLD_APART: Final = 60
"""Pairs up to which each is told, and signed for, by itself: those of eleven products that all react."""

_ASKED: Final = {
    Why.OXIDISER_OPEN: "an oxidiser",
    Why.REDUCER_OPEN: "a reducer",
    Why.AMINE_OPEN: "an amine or ammonia",
}


def meetings_of(products: tuple[Product, ...]) -> Iterator[tuple[Product, Product, Meeting]]:
    """Every two products that have a class, with what happens when they meet.

    A product without a class is asked for first: of it nothing is known.
    """
    known = [(p, dict(hazards_of(p.sheet).traits)) for p in products if p.sheet.classes]
    for (a, a_does), (b, b_does) in combinations(known, 2):
        yield a, b, meeting(a_does, b_does)


def meetings_told(products: tuple[Product, ...]) -> Iterator[Met]:
    """Those of whom it is to be told what happens when they meet: pair by pair, and where there are more pairs than
    anybody reads, kind by kind. A kind is the products of the same classes and traits, so all of its pairs do the same.
    """
    kinds = _kinds(products, lambda p: (p.sheet.classes, hazards_of(p.sheet).traits))
    met = [
        (one, other, meets)
        for one, other in _two_kinds(kinds)
        if (meets := _kinds_meet(one, other)).sure is not None or meets.open is not None
    ]
    pairs = sum(
        len(one) * (len(one) - 1) // 2 if one is other else len(one) * len(other) for one, other, _ in met
    )
    if pairs > _TOLD_APART:
        yield from ((tuple(p for _, p in one), tuple(p for _, p in other), m) for one, other, m in met)
        return
    for a, b, meets in meetings_of(products) if met else ():
        if meets.sure is not None or meets.open is not None:
            yield (a,), (b,), meets


_Kind = list[tuple[int, Product]]
"""Products that do the same, each with its place in the design."""


def _kinds(products: tuple[Product, ...], same: Callable[[Product], object]) -> list[_Kind]:
    """Those that have a class, by what makes them the same, in design order."""
    kinds: dict[object, _Kind] = {}
    for at, product in enumerate(products):
        if product.sheet.classes:
            kinds.setdefault(same(product), []).append((at, product))
    return list(kinds.values())


def _two_kinds(kinds: list[_Kind]) -> list[tuple[_Kind, _Kind]]:
    """Every two kinds, and each with itself that has two products; in the order in which their pairs stand in the
    design, the kind of the first product first."""
    return sorted(
        (
            (one, other)
            for one, other in combinations_with_replacement(kinds, 2)
            if one is not other or one[1:]
        ),
        key=lambda two: (two[0][0][0], two[1][two[0] is two[1]][0]),
    )


def _kinds_meet(one: _Kind, other: _Kind) -> Meeting:
    """What any of the one and any of the other do."""
    (_, a), (_, b) = one[0], other[0]
    return meeting(dict(hazards_of(a.sheet).traits), dict(hazards_of(b.sheet).traits))


def mixing(scene: Scene) -> Iterator[Finding]:
    """What is known of those that meet."""
    for these, others, meets in meetings_told(scene.design.products):
        if meets.sure is not None:
            yield _pair(scene.place_of(others[0]), _told(these), _told(others), meets.sure)


def _told(products: tuple[Product, ...]) -> tuple[Fact, str]:
    """Products of one kind, and what they are."""
    first = products[0]
    return named(first) if len(products) == 1 else products_named(products), classes_of(first)


def _pair(place: str, a: tuple[Fact, str], b: tuple[Fact, str], rule: Reaction) -> Finding:
    known = facts(a=a[0], a_is=a[1], b=b[0], b_is=b[1], hazard=rule.hazard)
    pair = "Chemistry: {a} ({a_is}) with {b} ({b_is}) {hazard}"
    source = f"{rule.source}; {rule.status}"
    if rule.verdict is MeetingVerdict.NEVER_TOGETHER:
        return Finding(
            Severity.ERROR,
            place,
            "mixing-forbidden",
            f"{pair}. They must never meet: take one off this board, and never let them share a tank, a tray, a drain "
            "or a bay floor. The safety data sheets decide.",
            source,
            LOCAL,
            known,
        )
    if rule.verdict is MeetingVerdict.KEEP_APART:
        return Finding(
            Severity.WARNING,
            place,
            "mixing-apart",
            f"{pair}. Keep the concentrates apart: separate trays, separate suction tubes, tanks not beside each "
            "other; rinse the vehicle between the two.",
            source,
            facts=known,
        )
    return Finding(
        Severity.NOTE, place, "mixing-inactive", f"{pair}. Rinse well between the two.", source, facts=known
    )


def open_questions(scene: Scene) -> Iterator[Finding]:
    """Questions of the safety data sheets on which it depends whether two products may be on one board.

    One for each question of a product, with the products that it concerns; a question that moves nothing is not asked.
    """
    for product, why, others, rule in _asked_of(scene.design.products):
        never = rule.verdict is MeetingVerdict.NEVER_TOGETHER
        yield Finding(
            Severity.ERROR if never else Severity.WARNING,
            scene.place_of(product, f"sheet.{why.value}"),
            "mixing-not-answered",
            "Safety data sheet: whether {product} holds {what} is not stated, so it counts as if it did. Then it "
            "{must} {others}: the pair {hazard}. Look it up in sections 3 and 10 of its safety data sheet.",
            f"{rule.source}; {rule.status}",
            facts=facts(
                product=named(product),
                what=_ASKED[why],
                must="must never meet" if never else "is to be kept apart from",
                others=others,
                hazard=rule.hazard,
            ),
        )


def _asked_of(products: tuple[Product, ...]) -> Iterator[tuple[Product, Why, Listed, Reaction]]:
    """Each question of a product with the others that the worst of it concerns, in the order of the pairs.

    Asked kind by kind: what one more product costs grows with the kinds, and only its names with the products.
    """
    kinds = _kinds(products, lambda p: hazards_of(p.sheet).traits)
    asked: list[tuple[tuple[int, int, bool, Why], Product, Listed, Reaction]] = []
    for kind in kinds:
        beside: dict[Why, list[tuple[_Kind, Reaction, Reaction]]] = {}
        for other in kinds:
            if other is kind and not kind[1:]:
                continue
            # Which rule it is may depend on which of the two stands first in the design.
            first, second = _kinds_meet(kind, other), _kinds_meet(other, kind)
            if first.open is not None and second.open is not None:
                for why in first.asked[0]:
                    beside.setdefault(why, []).append((other, first.open, second.open))
        for why, those in beside.items():
            asked += _each_asked(kind, why, those)
    for (*_, why), product, others, rule in sorted(asked, key=lambda one: one[0]):
        yield product, why, others, rule


def _each_asked(
    kind: _Kind, why: Why, those: list[tuple[_Kind, Reaction, Reaction]]
) -> Iterator[tuple[tuple[int, int, bool, Why], Product, Listed, Reaction]]:
    """One question of each product of a kind: where it stands among all, whom it concerns and what then happens."""
    met = sorted(at for other, *_ in those for at, _ in other)
    worst = min(ORDER[rule.verdict] for _, rule, _ in those)
    rules = {
        at: (refer, first, second)
        for other, first, second in those
        if ORDER[first.verdict] == worst
        for at, refer in ((at, named(product)) for at, product in other)
    }
    concerned = sorted(rules)
    names, places = [rules[at][0] for at in concerned], {at: i for i, at in enumerate(concerned)}
    for at, product in kind:
        begun = met[met[0] == at]
        self_at = places.get(at, len(names))
        _, first, second = rules[concerned[concerned[0] == at]]
        others = Listed((*names[:self_at], *names[self_at + 1 :]))
        rule = second if concerned[concerned[0] == at] < at else first
        yield (min(begun, at), max(begun, at), begun < at, why), product, others, rule


def fluoride(scene: Scene) -> Iterator[Finding]:
    """First aid and parts for a fluoride acid."""
    for product in scene.of_chemistry({Chemistry.FLUORIDE_ACID}):
        yield Finding(
            Severity.WARNING,
            scene.place_of(product),
            "fluoride-acid",
            "Chemistry: {product} is a fluoride acid. Burns need the special first aid of its safety data sheet at "
            "hand before work starts, calcium gluconate as a rule, and no glass or ceramic part may be wetted by it.",
            "general handbooks, from memory; 29 CFR 1910.151",
            "occupational physician",
            facts(product=named(product)),
        )
