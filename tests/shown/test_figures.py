"""Numbers, money and dates follow the one locale of the job, units its system."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from estimator.shown.figures import Figures
from estimator.units import Dimension, UnitSystem, parse


def test_a_german_paper() -> None:
    """As written in Germany: the sign of the currency behind, points between thousands, a comma before decimals."""
    german = Figures("de_DE", "EUR", UnitSystem.METRIC)
    assert german.money(Decimal(23940)) == "23.940,00\xa0€"
    assert german.change(Decimal("-12.5")) == "-12,50\xa0€"
    assert german.day(date(2027, 3, 1)) == "1. März 2027"
    assert german.fixed(1234.5, 2) == "1.234,50"
    assert german.percent(Decimal("8.25")) == "8,25\xa0%"
    assert german.typed(parse("2.5 bar", Dimension.PRESSURE)) == "2,5\xa0bar"


@pytest.mark.parametrize(
    ("currency", "words"),
    [("USD", "$1,234.50"), ("JPY", "¥1,235"), ("EUR", "€1,234.50")],
)
def test_decimals_are_those_of_the_currency(currency: str, words: str) -> None:
    # ISO 4217: two decimals, none for the yen.
    assert Figures("en_US", currency, UnitSystem.US).money(Decimal("1234.5")) == words


def test_a_quantity_has_the_same_words_wherever_it_is_told() -> None:
    # 1 bar = 14.503774 psi, 1 m = 3.28084 ft (NIST SP 811).
    us = Figures("en_US", "USD", UnitSystem.US)
    assert us.amount(100_000.0, Dimension.PRESSURE) == "14.5\xa0psi"
    assert us.typed(parse("1 bar", Dimension.PRESSURE)) == "14.5\xa0psi"
    assert us.amount(float("nan"), Dimension.PRESSURE) == "not known"
