"""How firm a figure is, against the ends of AACE 18R-97 (second-hand: two glossaries that restate its table 1)."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.pricing.firmness import firmness

# Class -> widest percent below and above, second-hand.
ENDS = {5: (50, 100), 4: (30, 50), 3: (20, 30), 2: (15, 20), 1: (10, 15)}


@pytest.mark.parametrize("number", ENDS)
def test_the_widest_range_of_each_class_is_of_that_class(number: int) -> None:
    below, above = ENDS[number]
    found = firmness(Decimal(100 - below), Decimal(100), Decimal(100 + above))
    assert found is not None
    assert found.like_class == number
    assert f"−{below} % to +{above} %" in found.words


@pytest.mark.parametrize("number", ENDS)
def test_a_little_wider_is_the_next_class(number: int) -> None:
    below, above = ENDS[number]
    low, high = Decimal(100 - below), Decimal(100 + above)
    looser = number + 1 if number < 5 else None
    for wider in ((low - Decimal("0.1"), high), (low, high + Decimal("0.1"))):
        found = firmness(wider[0], Decimal(100), wider[1])
        assert found is not None
        assert found.like_class == looser


def test_nothing_is_a_share_of_nothing_and_disorder_is_refused() -> None:
    assert firmness(Decimal(0), Decimal(0), Decimal(5)) is None
    with pytest.raises(ValueError, match="must hold"):
        firmness(Decimal(5), Decimal(4), Decimal(6))


@given(st.decimals(0, 100, places=2), st.decimals(1, 1000, places=2), st.decimals(0, 300, places=2))
def test_widening_never_makes_a_figure_firmer(below: Decimal, likely: Decimal, above: Decimal) -> None:
    def number(share_below: Decimal, share_above: Decimal) -> int:
        found = firmness(likely * (1 - share_below / 100), likely, likely * (1 + share_above / 100))
        assert found is not None
        return found.like_class or 6

    assert number(below, above) >= number(below / 2, above / 2)
