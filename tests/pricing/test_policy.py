"""Price policy. Figures are worked by hand beside each test; costs are invented demo data."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from estimator.model.choices import ContingencyBasis, ExtraKind, PriceBasis, PriceRule
from estimator.model.finding import Severity
from estimator.model.pricebook import PriceBook, PriceEntry
from estimator.model.terms import ExtraRow, LabourRate, SectionRule, Stage, TaxRate, Terms
from estimator.pricing.apportion import apportion
from estimator.pricing.policy import CostOdds, what_it_buys
from estimator.pricing.price import price_rows
from estimator.pricing.risk import RiskModel, items_of
from estimator.pricing.stages import stage_amounts
from estimator.pricing.types import Price
from estimator.takeoff.types import Section, TakeoffRow

D = Decimal
CENT = D("0.01")


def entry(code: str, low: str, likely: str, high: str, **more: Any) -> PriceEntry:
    return PriceEntry(
        code=code, description=f"Part {code}", low=D(low), likely=D(likely), high=D(high), **more
    )


def row(code: str, section: Section = Section.LINES, quantity: float = 1.0) -> TakeoffRow:
    return TakeoffRow(code, section, quantity, 0.0, (f"object-of-{code}",))


def terms(**changes: Any) -> Terms:
    plain: dict[str, Any] = {
        "rule": PriceRule.MARKUP,
        "rule_percent": D(0),
        "contingency_percent": D(0),
        "labour": LabourRate(low=D(0), likely=D(0), high=D(0)),
    }
    return Terms(**{**plain, **changes})


BOOK = PriceBook(
    entries=(entry("A1", "80", "100", "160"), entry("B1", "50", "50", "50"), entry("C1", "90", "100", "120"))
)
ROWS = (row("A1", Section.PLANT), row("B1", Section.LINES), row("C1", Section.DROPS))


class Fixed:
    """A distribution with given costs at given chances."""

    def __init__(self, at: dict[float, str]) -> None:
        self.at = {chance: D(cost) for chance, cost in at.items()}

    def cost_at(self, chance: float) -> Decimal:
        """Cost at one of the given chances."""
        return self.at[chance]

    def confidence(self, cost: Decimal) -> float:
        """Highest of the given chances whose cost is covered."""
        return max((c for c, limit in self.at.items() if limit <= cost), default=0.0)


def priced(rule: Terms, at: dict[float, str] | None = None) -> tuple[Price, list[str]]:
    def odds(price: Price) -> CostOdds:
        return Fixed(at or {})

    price, findings = price_rows(ROWS, rule, BOOK, odds if at else None)
    return price, [f.rule for f in findings]


def firm(price: Price) -> list[str]:
    return [str(r.price.likely) for r in price.rows]


def test_a_confidence_is_shared_over_the_rows_by_how_far_they_can_rise() -> None:
    """Likely 250, P80 290: gap 40 over room 60 + 0 + 20: 30, 0 and 10. Markup 10 %: 143, 55, 121."""
    price, found = priced(
        terms(price_basis=PriceBasis.CONFIDENCE, basis_confidence=D(80), rule_percent=D(10)), {0.8: "290.00"}
    )
    assert [str(r.firm_cost) for r in price.rows] == ["130.00", "50.00", "110.00"]
    assert firm(price) == ["143.00", "55.00", "121.00"]
    assert str(price.totals.total.likely) == "319.00"
    assert price.basis.kind is PriceBasis.CONFIDENCE and price.basis.cost == D(290)
    assert "80 of 100" in price.basis.words and not found


def test_a_confidence_below_likely_cost_lets_rows_fall_inside_their_ranges() -> None:
    """P10 235: gap -15 over room 20 + 0 + 10: -10 and -5."""
    price, _ = priced(terms(price_basis=PriceBasis.CONFIDENCE, basis_confidence=D(10)), {0.1: "235.00"})
    assert firm(price) == ["90.00", "50.00", "95.00"]


def test_a_confidence_agrees_with_the_distribution_of_the_cost() -> None:
    """Without a distribution given, the price's own: the net price at no markup is the cost at that chance."""
    rule = terms(price_basis=PriceBasis.CONFIDENCE, basis_confidence=D(90))
    price, _ = price_rows(ROWS, rule, BOOK)
    result = RiskModel(items_of(price, BOOK.entries), "USD").result
    assert price.totals.net.likely == result.cost_at(0.9)
    bought = what_it_buys(price, rule, result)
    assert bought.confidence == pytest.approx(0.9, abs=0.001)
    assert bought.margin_percent is not None and bought.margin_percent > 0


def test_a_typed_price_is_shared_to_the_cent_and_has_no_range() -> None:
    """100, 50 and 100 at 0 %: 333.33 typed is 133.33 (2/5 of it, 133.332), 66.67 (66.666), 133.33."""
    price, found = priced(terms(price_basis=PriceBasis.TYPED, typed_price=D("333.33")))
    assert firm(price) == ["133.33", "66.67", "133.33"]
    t = price.totals.total
    assert t.low == t.likely == t.high == D("333.33")
    assert price.totals.cost.likely == D(250) and not found


def test_a_typed_price_with_contingency_is_both_together() -> None:
    """1050 at 5 % contingency: rows 1000.00, contingency 50.00."""
    price, _ = priced(terms(price_basis=PriceBasis.TYPED, typed_price=D(1050), contingency_percent=D(5)))
    assert (str(price.totals.rows.likely), str(price.totals.contingency.likely)) == ("1000.00", "50.00")
    assert str(price.totals.subtotal.likely) == "1050.00"


@pytest.mark.parametrize("typed", [None, D("0.125")])
def test_a_typed_price_that_is_none_is_told_and_the_rule_holds(typed: Decimal | None) -> None:
    price, found = priced(terms(price_basis=PriceBasis.TYPED, typed_price=typed))
    assert found == ["price-typed"] and price.basis.kind is PriceBasis.LIKELY
    assert str(price.totals.total.likely) == "250.00"


def test_what_a_typed_price_buys() -> None:
    """Net 300 over likely cost 250: margin 50 / 300 = 16.67 %; 20 % least would need cost <= 240."""
    rule = terms(price_basis=PriceBasis.TYPED, typed_price=D(300), least_margin_percent=D(20))
    price, found = priced(rule)
    bought = what_it_buys(price, rule, Fixed({0.2: "240.00", 0.85: "300.00", 0.95: "310.00"}))
    assert bought.net == D(300) and bought.confidence == 0.85 and bought.least_confidence == 0.2
    assert bought.margin_percent is not None and round(bought.margin_percent, 2) == D("16.67")
    assert "85 %" in bought.words and "16.7 %" in bought.words
    assert found == ["margin-least"]


def test_old_and_undated_prices_weaken_the_confidence_in_words() -> None:
    """Material 100 from 2025 (old), 100 undated, 200 new: half rests on old or undated figures."""
    book = PriceBook(
        entries=(
            entry("A1", "100", "100", "100", dated=date(2025, 1, 1)),
            entry("B1", "100", "100", "100"),
            entry("C1", "200", "200", "200", dated=date(2026, 11, 1)),
        )
    )
    price, _ = price_rows(ROWS, terms(), book)
    bought = what_it_buys(price, terms(), Fixed({0.5: "1"}), date(2026, 11, 25))
    assert bought.old_share == pytest.approx(0.5)
    assert "50 %" in bought.words


def test_each_section_may_have_its_own_rule() -> None:
    """Plant at 50 % margin: 200; drops at 20 % markup: 120; lines by the job's 10 % markup: 55."""
    own = (
        SectionRule(section=Section.PLANT, rule=PriceRule.MARGIN, percent=D(50)),
        SectionRule(section=Section.DROPS, rule=PriceRule.MARKUP, percent=D(20)),
        SectionRule(section=Section.DROPS, rule=PriceRule.MARKUP, percent=D(99)),
    )
    price, found = priced(terms(rule_percent=D(10), section_rules=own))
    assert firm(price) == ["200.00", "55.00", "120.00"]
    assert found == ["section-rule-twice"]


def test_contingency_as_the_gap_to_a_confidence() -> None:
    """P80 290 over likely 250: gap 40, at 25 % margin 53.33."""
    rule = terms(
        rule=PriceRule.MARGIN,
        rule_percent=D(25),
        contingency_basis=ContingencyBasis.CONFIDENCE,
        contingency_percent=D(99),
        contingency_confidence=D(80),
    )
    price, found = priced(rule, {0.8: "290.00"})
    assert str(price.totals.contingency.likely) == "53.33"
    # 100 / 0.75 = 133.33, 66.67, 133.33.
    assert str(price.totals.total.likely) == "386.66" and not found


def test_risk_is_never_counted_twice_unseen() -> None:
    basis = {"price_basis": PriceBasis.CONFIDENCE, "basis_confidence": D(80)}
    _, twice = priced(terms(**basis, contingency_percent=D(5)), {0.8: "290.00"})
    assert twice == ["risk-counted-twice"]
    gap = {"contingency_basis": ContingencyBasis.CONFIDENCE, "contingency_confidence": D(80)}
    price, none = priced(terms(**basis, **gap), {0.8: "290.00"})
    assert none == ["contingency-none"] and price.totals.contingency.likely == 0


@pytest.mark.parametrize(
    ("discount", "expected"),
    [("0", []), ("10", []), ("20", ["margin-least"]), ("40", ["price-below-cost"])],
)
def test_a_discount_has_a_floor_that_warns(discount: str, expected: list[str]) -> None:
    """Cost 250 at 30 % margin sells for 357.15; less 10 %: margin 22 %; less 20 %: 12.5 %; less 40 %: 214 < 250."""
    rule = terms(
        rule=PriceRule.MARGIN, rule_percent=D(30), discount_percent=D(discount), least_margin_percent=D(20)
    )
    assert priced(rule)[1] == expected


def test_freight_and_travel_are_rows_with_a_range_and_a_price() -> None:
    """Freight 40 / 60 / 90 at 50 % markup: 60 / 90 / 135, untaxed; travel taxed."""
    extras = (
        ExtraRow(kind=ExtraKind.FREIGHT, low=D(40), likely=D(60), high=D(90)),
        ExtraRow(
            kind=ExtraKind.TRAVEL, description="Two trips", low=D(10), likely=D(10), high=D(10), taxable=True
        ),
    )
    price, _ = price_rows((), terms(rule_percent=D(50), extras=extras, tax_percent=D(10)), BOOK)
    assert [r.description for r in price.rows] == ["Freight", "Two trips"]
    assert [
        str(x) for x in (price.rows[0].price.low, price.rows[0].price.likely, price.rows[0].price.high)
    ] == [
        "60.00",
        "90.00",
        "135.00",
    ]
    assert [s.section for s in price.sections] == [Section.EXTRAS]
    assert str(price.totals.tax.likely) == "1.50"
    assert RiskModel(items_of(price, BOOK.entries), "USD").result.ceiling == D(100)


def test_more_than_one_tax_rate() -> None:
    """Main 20 % on A (100), reduced 5 % on B (50); C (100) not taxed. 20.00 + 2.50."""
    book = PriceBook(
        entries=(
            entry("A1", "100", "100", "100"),
            entry("B1", "50", "50", "50", tax="reduced"),
            entry("C1", "100", "100", "100", taxable=False),
        )
    )
    rule = terms(tax_percent=D(20), more_taxes=(TaxRate(id="reduced", name="Reduced rate", percent=D(5)),))
    price, found = price_rows(ROWS, rule, book)
    assert [(t.id, t.name, str(t.taxable.likely), str(t.tax.likely)) for t in price.taxes] == [
        ("", "Sales tax", "100.00", "20.00"),
        ("reduced", "Reduced rate", "50.00", "2.50"),
    ]
    assert str(price.totals.total.likely) == "272.50" and not found


def test_a_tax_rate_that_is_not_there_is_told_and_the_main_one_holds() -> None:
    book = PriceBook(entries=(entry("A1", "100", "100", "100", tax="gone"),))
    price, (finding,) = price_rows((row("A1"),), terms(tax_percent=D(10)), book)
    assert finding.rule == "tax-unknown" and finding.severity is Severity.ERROR
    assert "“gone”" in finding.message and str(price.totals.tax.likely) == "10.00"


def test_the_total_is_rounded_to_a_step_in_a_row_of_its_own() -> None:
    """108 + 54 + 108 = 270; 8.25 % is 22.275 -> 22.28; 292.28 to the next 5: 290.00, rounding -2.28."""
    price, found = priced(terms(rule_percent=D(8), tax_percent=D("8.25"), round_to=D(5)))
    assert (str(price.totals.rounding.likely), str(price.totals.total.likely)) == ("-2.28", "290.00")
    assert not found


def test_a_step_finer_than_the_currency_is_told() -> None:
    price, found = priced(terms(round_to=D("0.025")))
    assert found == ["rounding-step"] and price.totals.rounding.likely == 0


def test_stages_make_the_total_to_the_cent() -> None:
    """100.00 in three thirds of 33.3333 % and a rest of 0.0001 %: 33.34, 33.33, 33.33, 0.00."""
    third = D("33.3333")
    stages = (
        *(Stage(name=n, percent=third) for n in ("order", "delivery", "handing over")),
        Stage(name="rest"),
    )
    made, found = stage_amounts(D("100.00"), stages, CENT)
    assert [str(s.amount) for s in made] == ["33.34", "33.33", "33.33", "0.00"] and not found


@pytest.mark.parametrize(
    ("shares", "told"),
    [
        (["60", "50"], "110 %"),
        (["60", "30"], "90 %"),
        (["60", None, None], "one at most can take the rest"),
        (["60", "50", None], "110 %"),
    ],
)
def test_stages_that_do_not_add_are_told(shares: list[str | None], told: str) -> None:
    price, findings = price_rows(
        ROWS, terms(stages=tuple(Stage(percent=D(s) if s else None) for s in shares)), BOOK
    )
    (finding,) = findings
    assert finding.rule == "stages-sum" and told in finding.message
    assert price.stages == ()


@pytest.mark.parametrize("field", ["tax_percent", "discount_percent"])
def test_percentages_above_a_hundred_are_refused(field: str) -> None:
    with pytest.raises(ValueError, match="less than or equal to 100"):
        terms(**{field: D(101)})


def test_apportioning_refuses_what_cannot_be_shared() -> None:
    with pytest.raises(ValueError, match="negative"):
        apportion(D(1), [D(-1)], CENT)
    with pytest.raises(ValueError, match="nothing to share over"):
        apportion(D(1), [D(0)], CENT)
    with pytest.raises(ValueError, match="no whole number"):
        apportion(D("0.005"), [D(1)], CENT)
    assert apportion(D("-1.00"), [D(1), D(2)], CENT) == (D("-0.33"), D("-0.67"))


@pytest.mark.parametrize("basis", list(PriceBasis))
@pytest.mark.parametrize("contingency", list(ContingencyBasis))
def test_nothing_to_buy_and_nothing_priced_have_a_price_of_zero(
    basis: PriceBasis, contingency: ContingencyBasis
) -> None:
    rule = terms(price_basis=basis, contingency_basis=contingency, contingency_percent=D(5), typed_price=D(0))
    for rows in ((), ROWS):
        price, _ = price_rows(rows, rule, PriceBook())
        assert str(price.totals.total.likely) == "0.00"
        assert price.complete is (rows == ())


def test_a_typed_price_that_has_nothing_to_be_shared_over_is_told() -> None:
    rule = terms(price_basis=PriceBasis.TYPED, typed_price=D(100))
    _, findings = price_rows((), rule, BOOK)
    assert [f.rule for f in findings] == ["price-typed"] and "no row has a price" in findings[0].message
    gap = {"contingency_basis": ContingencyBasis.CONFIDENCE, "contingency_confidence": D(80)}
    low = terms(price_basis=PriceBasis.TYPED, typed_price=D(30), **gap)
    price, found = priced(low, {0.8: "290.00"})
    assert found[0] == "price-typed" and str(price.totals.contingency.likely) == "40.00"
