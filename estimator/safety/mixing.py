"""Pairs on one board that must not meet, and what a fluoride acid asks for."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import Final

from estimator.model.choices import Chemistry
from estimator.model.design import Product
from estimator.model.finding import Fact, Finding, Severity, facts
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
    pairs = [(a, b, m) for a, b, m in meetings_of(products) if m.sure is not None or m.open is not None]
    if len(pairs) <= _TOLD_APART:
        yield from (((a,), (b,), m) for a, b, m in pairs)
        return
    kinds = {p.id: (p.sheet.classes, hazards_of(p.sheet).traits) for p in products}
    met: dict[tuple[object, object], tuple[dict[str, Product], dict[str, Product], Meeting]] = {}
    for a, b, meets in pairs:
        turned = (kinds[b.id], kinds[a.id]) in met
        one, other = (b, a) if turned else (a, b)
        # Of two met the other way round the questions stand the other way round too; which rule holds does not.
        of_one, of_other, _ = met.setdefault((kinds[one.id], kinds[other.id]), ({}, {}, meets))
        of_one[one.id] = one
        of_other[other.id] = other
    yield from ((tuple(of_one.values()), tuple(of_other.values()), m) for of_one, of_other, m in met.values())


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
    asked: dict[tuple[str, Why], tuple[Product, list[Product], Reaction]] = {}
    for a, b, meets in meetings_of(scene.design.products):
        rule = meets.open
        if rule is None:
            continue
        for one, other, questions in ((a, b, meets.asked[0]), (b, a, meets.asked[1])):
            for why in questions:
                _, others, worst = asked.setdefault((one.id, why), (one, [], rule))
                if ORDER[rule.verdict] < ORDER[worst.verdict]:
                    others.clear()
                    asked[one.id, why] = (one, others, rule)
                if rule.verdict is asked[one.id, why][2].verdict:
                    others.append(other)
    for (_, why), (product, others, rule) in asked.items():
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
                others=products_named(others),
                hazard=rule.hazard,
            ),
        )


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
