"""A finding keeps its facts and makes its words last; a person's text is never read as a pattern."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.model.finding import (
    Amount,
    Count,
    Fact,
    Finding,
    IdKind,
    Listed,
    Money,
    Number,
    Phrase,
    Ref,
    Severity,
    facts,
)
from estimator.units import Dimension, parse
from tests.telling import saying

P, L = Dimension.PRESSURE, Dimension.LENGTH


@given(st.text(max_size=40))
def test_a_literal_sentence_is_told_as_it_stands(text: str) -> None:
    assert Finding(Severity.NOTE, "", "test", text).message == text


@given(st.text(max_size=40), st.text(max_size=40))
def test_a_persons_text_is_set_in_and_never_read_for_holes(one: str, other: str) -> None:
    found = Finding(Severity.NOTE, "", "test", "{one} | {other}", facts=facts(one=one, other=other))
    assert found.message == f"{one} | {other}"


@pytest.mark.parametrize(
    ("fact", "words"),
    [
        # By hand: 1 bar is 100 000 Pa.
        (Amount(250_000.0, P), "2.5 bar"),
        (Amount(3.0, L, 3), "3 m"),
        (Amount(float("nan"), P), "not known"),
        (Amount.of(parse("25 ft", L)), "25 ft"),
        (Count(1, "gun"), "1 gun"),
        (Count(3, "bay side"), "3 bay sides"),
        (Number(Decimal("12.50"), 4, "%"), "12.5 %"),
        (Money(Decimal("12.50"), "USD"), "USD 12.50"),
        (Ref(IdKind.DROP, "d1"), "“d1”"),
        (Ref(IdKind.STATION, "b1", "left"), "“b1”, left side"),
        (Listed((Ref(IdKind.DROP, "a"), Ref(IdKind.DROP, "b"), "c"), 2), "“a”, “b” and 1 more"),
        (Listed((Ref(IdKind.DROP, "a"), Ref(IdKind.DROP, "b")), 2), "“a” and “b”"),
        (Phrase(" with {n} open", facts(n=Count(2, "gun"))), " with 2 guns open"),
        (Phrase(""), ""),
        (date(2027, 3, 1), "2027-03-01"),
        ("north", "north"),
    ],
)
def test_a_fact_in_plain_words(fact: Fact, words: str) -> None:
    assert saying("x{fact}y", fact=fact).message == f"x{words}y"


def test_findings_with_the_same_facts_are_one() -> None:
    one, same = (saying("{low} at {drop}", low=Amount(1.0, P), drop=Ref(IdKind.DROP, "d")) for _ in "ab")
    assert len({one, same}) == 1
    assert one != saying("{low} at {drop}", low=Amount(1.0, P), drop=Ref(IdKind.DROP, "e"))


def test_a_hole_without_a_fact_is_found_where_the_finding_is_made() -> None:
    with pytest.raises(ValueError, match="no fact for high"):
        saying("{low} to {high}", low=Amount(1.0, P))
