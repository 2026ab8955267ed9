"""What can hurt people is told first, whatever stage found it; dangers stand once, with the rule."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.model.finding import Finding, Severity, in_order
from estimator.model.grades import RULES, Danger, Grade

ROOT = Path(__file__).parents[2] / "estimator"
SEVERITIES = st.sampled_from(Severity)


def found(rule: str, severity: Severity = Severity.ERROR, place: str = "") -> Finding:
    return Finding(severity, place, rule, "Words.")


def test_a_finding_has_the_grade_of_its_severity_and_its_rule() -> None:
    """A rule that must not go out does so as an error alone: the same rule may warn of less."""
    assert found("mixing-forbidden").grade is Grade.NEVER
    assert found("mixing-not-answered", Severity.WARNING).grade is Grade.LOOK
    assert [found("tube-velocity", severity).grade for severity in Severity] == [
        Grade.MEND,
        Grade.LOOK,
        Grade.KNOW,
    ]


@pytest.mark.parametrize("rule", [rule for rule, traits in RULES.items() if traits.never])
def test_what_must_not_go_out_can_hurt(rule: str) -> None:
    assert RULES[rule].danger in (Danger.LIFE, Danger.INJURY)


def test_what_can_hurt_stands_before_everything_that_cannot() -> None:
    """A hose that could be wider, an error of a price and a drop without flow come after a note of an eyewash."""
    hose, price, flow = (
        found("tube-velocity", Severity.WARNING),
        found("price-missing"),
        found("drop-no-flow"),
    )
    eyewash, bleach = found("eyewash-check", Severity.NOTE), found("mixing-forbidden")
    burst, fluoride = found("tube-rating"), found("fluoride-acid", Severity.WARNING)
    blow_off = found("blow-off-pressure", Severity.WARNING)
    order = in_order((hose, price, flow, eyewash, blow_off, fluoride, burst, bleach))
    assert order == (bleach, burst, fluoride, blow_off, eyewash, price, flow, hose)


@given(st.lists(st.builds(found, st.sampled_from([*RULES, "price-missing", "drop-no-flow"]), SEVERITIES)))
def test_the_order_holds_for_every_mixture(findings: list[Finding]) -> None:
    order = in_order(findings)
    assert set(order) == set(findings) and len(set(order)) == len(order)
    never = [f.grade is Grade.NEVER for f in order]
    assert never == sorted(never, reverse=True)
    hurts = [f.hurts for f in order if f.grade is not Grade.NEVER]
    assert hurts == sorted(hurts, reverse=True)
    for asks in (True, False):
        worst = [f.danger.value for f in order if f.hurts and (f.grade in (Grade.MEND, Grade.LOOK)) is asks]
        if asks:
            assert worst == sorted(worst, reverse=True)
    assert in_order(order) == order


def _rules_named(folder: str) -> set[str]:
    """The rules that a room's findings name in the open: the third argument of each."""
    named = set()
    for path in sorted((ROOT / folder).glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Finding":
                rule = node.args[2]
                if isinstance(rule, ast.Constant):
                    named.add(str(rule.value))
    return named


def test_every_rule_of_safety_says_what_it_can_do() -> None:
    """“It hurts nobody” is a judgement too, and stands in the table."""
    named = _rules_named("safety")
    assert len(named) > 20
    assert named - set(RULES) == set()


def test_every_rule_in_the_table_is_one_that_there_is() -> None:
    texts = set()
    for path in sorted(ROOT.rglob("*.py")):
        if path.name != "grades.py":
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Constant) and isinstance(node.value, str):
                    texts.add(node.value)
    assert set(RULES) <= texts
