"""More pairs than anybody reads: told kind by kind, none left out."""

from __future__ import annotations

from itertools import combinations
from typing import Any

import pytest

from estimator.model.choices import Answer, Chemistry
from estimator.model.design import Product
from estimator.model.finding import Fact, Finding, Listed, Ref, refs_of
from estimator.model.site import Site
from estimator.safety.hazards import hazards_of
from estimator.safety.meetings import ORDER, meeting
from estimator.safety.notes import safety_notes
from estimator.safety.reactivity import MeetingVerdict
from tests.safety.scene import design, product
from tests.safety.test_checks import safety

CLASSES = tuple(Chemistry)
RULE = {
    MeetingVerdict.NEVER_TOGETHER: "mixing-forbidden",
    MeetingVerdict.KEEP_APART: "mixing-apart",
    MeetingVerdict.LOSES_EFFECT: "mixing-inactive",
}


def products(count: int) -> tuple[Product, ...]:
    """Of every class in turn; of some it is known that they hold neither oxidiser nor reducer."""
    made = (product(f"p{i}", CLASSES[i % len(CLASSES)]) for i in range(count))
    return tuple(
        p.model_copy(
            update={"sheet": p.sheet.model_copy(update={"oxidiser": Answer.NO, "reducer": Answer.NO})}
        )
        if i % 3
        else p
        for i, p in enumerate(made)
    )


def those(fact: Fact) -> tuple[str, ...]:
    """Ids of the products in a fact."""
    if isinstance(fact, Ref):
        return (fact.id,)
    assert isinstance(fact, Listed)
    return tuple(item.id for item in fact.items if isinstance(item, Ref))


def pairs_told(findings: tuple[Finding, ...]) -> set[tuple[frozenset[str], str]]:
    """Every two products that a finding speaks of, with its rule."""
    return {
        (frozenset((a, b)), f.rule)
        for f in findings
        if f.rule in RULE.values()
        for a in those(dict(f.facts)["a"])
        for b in those(dict(f.facts)["b"])
        if a != b
    }


def pairs_there(made: tuple[Product, ...]) -> set[tuple[frozenset[str], str]]:
    """The same, by asking the tables of every two."""
    there = set()
    for a, b in combinations(made, 2):
        sure = meeting(dict(hazards_of(a.sheet).traits), dict(hazards_of(b.sheet).traits)).sure
        if sure is not None:
            there.add((frozenset((a.id, b.id)), RULE[sure.verdict]))
    return there


@pytest.mark.parametrize("count", [4, 11, 40, 150])
def test_no_pair_is_left_out_and_none_is_made_up(count: int) -> None:
    """Few pairs stand one by one; of many, each stands in the entry of its kinds."""
    made = products(count)
    findings = safety(Site(), design(*made))
    assert pairs_told(findings) == pairs_there(made)


def test_twice_the_products_are_no_more_entries_of_pairs() -> None:
    """200 products had 7,960 entries and 400 of them 31,847."""
    told = [
        [f for f in safety(Site(), design(*products(count))) if f.rule in RULE.values()]
        for count in (100, 200, 400)
    ]
    assert len(told[0]) == len(told[1]) == len(told[2]) < 600
    assert {r.id for f in told[2] for r in refs_of(f.facts)} > {
        r.id for f in told[1] for r in refs_of(f.facts)
    }


def test_the_notes_name_all_who_must_never_meet() -> None:
    """One caution for two kinds; every product of a pair that is never to meet is named by one with its partner."""
    made = products(90)
    scene = design(*made)

    cautions = [n for n in safety_notes(Site(), scene) if n.title == "Never together"]
    assert len(cautions) < 300
    for pair, rule in pairs_there(made):
        if rule == "mixing-forbidden":
            assert any(pair <= set(n.concerns) for n in cautions), pair
    assert any("any of" in n.text for n in cautions)


def questions_there(made: tuple[Product, ...]) -> dict[tuple[str, str], set[str]]:
    """Of each product and question those that the worst of it concerns, by asking the tables of every two."""
    concerned: dict[tuple[str, str], list[tuple[int, str]]] = {}
    for a, b in combinations(made, 2):
        meets = meeting(dict(hazards_of(a.sheet).traits), dict(hazards_of(b.sheet).traits))
        if meets.open is not None:
            for one, other, asked in ((a, b, meets.asked[0]), (b, a, meets.asked[1])):
                for why in asked:
                    concerned.setdefault((one.id, why.value), []).append(
                        (ORDER[meets.open.verdict], other.id)
                    )
    return {
        question: {other for verdict, other in those if verdict == min(those)[0]}
        for question, those in concerned.items()
    }


@pytest.mark.parametrize("count", [2, 4, 11, 40, 150])
def test_each_open_question_names_all_whom_the_worst_of_it_concerns(count: int) -> None:
    open_ones: tuple[dict[str, Any], ...] = (
        {},
        {"oxidiser": Answer.NOT_KNOWN},
        {"amine": Answer.NOT_KNOWN, "reducer": Answer.NOT_KNOWN},
    )
    made = tuple(product(f"p{i}", CLASSES[i % len(CLASSES)], **open_ones[i % 3]) for i in range(count))
    told = {}
    for finding in safety(Site(), design(*made)):
        if finding.rule == "mixing-not-answered":
            (one,) = those(dict(finding.facts)["product"])
            others = those(dict(finding.facts)["others"])
            assert len(others) == len(set(others)), "each once"
            told[one, finding.place.rpartition(".")[2]] = set(others)
    assert told == questions_there(made)
    assert told or count < 11
