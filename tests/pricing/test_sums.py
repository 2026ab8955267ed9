"""Sums over ten thousand random jobs: rows make sections, sections the total, stages the total, to the cent.

The jobs are drawn by a seeded generator of plain figures, so that ten thousand of them take seconds; a smaller number
drawn by hypothesis, which shrinks what fails, goes through the same checks.
"""

from __future__ import annotations

import random
from decimal import Decimal
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.model.choices import ContingencyBasis, ExtraKind, PriceBasis, PriceRule
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook, PriceEntry
from estimator.model.terms import ExtraRow, LabourRate, SectionRule, Stage, TaxRate, Terms
from estimator.money import minor_units
from estimator.pricing.compare import compare, lines_of
from estimator.pricing.policy import CostOdds
from estimator.pricing.price import price_rows
from estimator.pricing.types import CostRange, Price
from estimator.takeoff.types import Section, TakeoffRow
from estimator.takeoff.words import row_words

D = Decimal
JOBS = 10_000
ENDS = ("low", "likely", "high")
WORDS = row_words(Job())


class Straight:
    """A distribution that needs no convolution: chance p lies p of the way from floor to ceiling."""

    def __init__(self, price: Price) -> None:
        self.low, self.high = price.totals.cost.low, price.totals.cost.high

    def cost_at(self, chance: float) -> Decimal:
        """Cost that is not passed with that chance."""
        return self.low + (self.high - self.low) * D(repr(chance))

    def confidence(self, cost: Decimal) -> float:
        """Chance that the cost is that or less."""
        if self.high == self.low:
            return 1.0 if cost >= self.high else 0.0
        return float(min(max((cost - self.low) / (self.high - self.low), D(0)), D(1)))


def odds(price: Price) -> CostOdds:
    return Straight(price)


def _amount(dice: random.Random, most: int) -> Decimal:
    return D(dice.randrange(most * 100)).scaleb(-2)


def _three(dice: random.Random, most: int) -> dict[str, Any]:
    low, likely, high = sorted(_amount(dice, most) for _ in range(3))
    return {"low": low, "likely": likely, "high": high}


def _percent(dice: random.Random, most: int = 100) -> Decimal:
    return D(dice.randrange(most * 10_000)).scaleb(-4)


def random_terms(dice: random.Random) -> Terms:
    """Terms with everything in them that a price can have."""
    currency = dice.choice(["USD", "EUR", "JPY", "KWD", "CLF"])
    unit = D(1).scaleb(-minor_units(currency))
    count = dice.randrange(5)
    shares = [D(dice.randrange(100 // (count or 1))) for _ in range(count)]
    return Terms(
        currency=currency,
        rule=dice.choice(list(PriceRule)),
        rule_percent=_percent(dice, 99),
        price_basis=dice.choice(list(PriceBasis)),
        basis_confidence=D(dice.randrange(1, 100)),
        typed_price=D(dice.randrange(1_000_000)) * unit if dice.random() < 0.8 else None,
        section_rules=tuple(
            SectionRule(section=section, rule=dice.choice(list(PriceRule)), percent=_percent(dice, 99))
            for section in dice.sample(list(Section), dice.randrange(3))
        ),
        contingency_basis=dice.choice(list(ContingencyBasis)),
        contingency_percent=_percent(dice),
        contingency_confidence=D(dice.randrange(1, 100)),
        discount_percent=_percent(dice),
        extras=tuple(
            ExtraRow(
                kind=dice.choice(list(ExtraKind)),
                **_three(dice, 500),
                taxable=dice.random() < 0.5,
                tax=dice.choice(["", "reduced", "gone"]),
            )
            for _ in range(dice.randrange(3))
        ),
        tax_percent=_percent(dice),
        more_taxes=(TaxRate(id="reduced", name="Reduced", percent=_percent(dice)),),
        labour_taxable=dice.random() < 0.5,
        labour=LabourRate(**_three(dice, 100)),
        round_to=dice.choice([D(0), unit, unit * 5, D(1), D(50)]),
        stages=(*(Stage(name=f"stage {i}", percent=s) for i, s in enumerate(shares)), Stage(name="rest"))
        if count
        else (),
    )


def random_price(dice: random.Random, terms: Terms) -> Price:
    """Some rows priced with these terms."""
    entries, rows = [], []
    for i in range(dice.randrange(9)):
        entries.append(
            PriceEntry(
                code=f"P-{i}",
                description="part",
                **_three(dice, 300),
                taxable=dice.random() < 0.7,
                tax=dice.choice(["", "", "reduced"]),
                labour_minutes=D(dice.randrange(90)),
            )
        )
        quantity = dice.choice([0.0, 1.0, float(dice.randrange(40)), dice.random() * 50])
        rows.append(TakeoffRow(f"P-{i}", dice.choice(list(Section)[:5]), quantity, 0.0, ("x",)))
    book = PriceBook(currency=terms.currency, entries=tuple(entries))
    return price_rows(tuple(rows), terms, book, odds)[0]


def end(amounts: CostRange, name: str) -> Decimal:
    value = getattr(amounts, name)
    assert isinstance(value, Decimal)
    return value


def check_sums(price: Price, terms: Terms) -> None:
    """Everything that must add up does, exactly."""
    t = price.totals
    unit = D(1).scaleb(-minor_units(terms.currency))
    for name in ENDS:
        by_section: dict[Section, Decimal] = {}
        for row in price.rows:
            section = row.takeoff.section
            by_section[section] = by_section.get(section, D(0)) + end(row.price, name)
        assert {s.section: end(s.price, name) for s in price.sections} == by_section
        assert end(t.rows, name) == sum(by_section.values())
        assert end(t.cost, name) == sum(end(s.cost, name) for s in price.sections)
        assert end(t.subtotal, name) == end(t.rows, name) + end(t.contingency, name)
        assert end(t.net, name) == end(t.subtotal, name) - end(t.discount, name)
        assert end(t.taxable, name) == sum(end(line.taxable, name) for line in price.taxes)
        assert end(t.tax, name) == sum(end(line.tax, name) for line in price.taxes)
        assert end(t.total, name) == end(t.net, name) + end(t.tax, name) + end(t.rounding, name)
        assert D(0) <= end(t.taxable, name) <= end(t.net, name)
        if terms.round_to:
            assert end(t.total, name) % terms.round_to == 0
            assert abs(end(t.rounding, name)) * 2 <= terms.round_to
        else:
            assert end(t.rounding, name) == 0
    if terms.stages:
        assert sum(stage.amount for stage in price.stages) == t.total.likely
        assert len(price.stages) == len(terms.stages)
    for row in price.rows:
        assert row.cost.low <= row.firm_cost <= row.cost.high
        assert row.price.likely % unit == 0
        assert row.taxable_price.likely <= row.price.likely
    if price.basis.kind is PriceBasis.CONFIDENCE:
        assert sum(row.firm_cost for row in price.rows) == price.basis.cost


def check_opposite(one: Price, two: Price) -> None:
    """One against two is the opposite of two against one, and rows and sums explain the whole difference."""
    a, b = lines_of(one, WORDS), lines_of(two, WORDS)
    there, back = compare(a, b), compare(b, a)
    assert there.difference == -back.difference
    assert [r.difference for r in there.rows] == [-r.difference for r in back.rows]
    assert [s.difference for s in there.sums] == [-s.difference for s in back.sums]
    swapped = {"added": "removed", "removed": "added", "changed": "changed"}
    assert [swapped[r.kind.value] for r in there.rows] == [r.kind.value for r in back.rows]
    explained = sum(r.difference for r in there.rows) + sum(s.difference for s in there.sums)
    assert explained == there.difference
    assert compare(a, a).rows == () and compare(a, a).sums == ()


def test_ten_thousand_random_jobs_add_up_to_the_cent() -> None:
    dice = random.Random(20261125)
    before: dict[str, Price] = {}
    kinds: dict[str, int] = {}
    for _ in range(JOBS):
        terms = random_terms(dice)
        price = random_price(dice, terms)
        check_sums(price, terms)
        if terms.currency in before:
            check_opposite(before[terms.currency], price)
        before[terms.currency] = price
        kinds[price.basis.kind.value] = kinds.get(price.basis.kind.value, 0) + 1
    # The generator really makes each kind of price.
    assert sum(kinds.values()) == JOBS
    assert min(kinds.get(kind.value, 0) for kind in PriceBasis) > JOBS // 10


@settings(deadline=None, max_examples=60)
@given(st.integers(0, 2**32), st.integers(0, 2**32))
def test_random_jobs_that_shrink(one: int, two: int) -> None:
    dice = random.Random(one)
    terms = random_terms(dice)
    first, second = random_price(dice, terms), random_price(random.Random(two), terms)
    check_sums(first, terms)
    check_sums(second, terms)
    check_opposite(first, second)
