"""Prices from hand-built takeoffs. Every expected figure is worked by hand beside it."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.model.choices import PriceRule
from estimator.model.finding import Severity
from estimator.model.pricebook import PriceBook, PriceEntry
from estimator.model.terms import LabourRate, Terms
from estimator.pricing.price import PricingError, price_rows, quantity_of
from estimator.pricing.types import CostRange, Price
from estimator.takeoff.types import Section, TakeoffRow
from tests.work import calls_of

D = Decimal


def entry(
    code: str, low: str, likely: str, high: str, minutes: str = "0", taxable: bool = True
) -> PriceEntry:
    return PriceEntry(
        code=code,
        description=f"Part {code}",
        low=D(low),
        likely=D(likely),
        high=D(high),
        labour_minutes=D(minutes),
        taxable=taxable,
        source="invented demo figure",
    )


def row(code: str, quantity: float, section: Section = Section.LINES, existing: float = 0.0) -> TakeoffRow:
    return TakeoffRow(code, section, quantity, existing, (f"object-of-{code}",))


def terms(**changes: Any) -> Terms:
    plain: dict[str, Any] = {
        "rule": PriceRule.MARKUP,
        "rule_percent": D(0),
        "contingency_percent": D(0),
        "labour": LabourRate(low=D(0), likely=D(0), high=D(0)),
    }
    return Terms(**{**plain, **changes})


def book(*entries: PriceEntry, currency: str = "USD") -> PriceBook:
    return PriceBook(currency=currency, entries=entries)


def triple(amounts: CostRange) -> tuple[str, str, str]:
    return str(amounts.low), str(amounts.likely), str(amounts.high)


def every_range(price: Price) -> list[CostRange]:
    t = price.totals
    totals = [t.cost, t.rows, t.contingency, t.subtotal, t.discount, t.net, t.taxable, t.tax, t.total]
    rows = [x for r in price.rows for x in (r.material, r.labour, r.cost, r.price, r.taxable_price)]
    return [*totals, *rows, *(x for s in price.sections for x in (s.price, s.cost))]


@pytest.mark.parametrize(
    ("rule", "percent", "expected"),
    [
        # Definition: margin is a share of the price, markup of the cost; 600 / 0.6 and 600 x 1.4.
        (PriceRule.MARGIN, "40", "1000.00"),
        (PriceRule.MARKUP, "40", "840.00"),
        # Computed with python decimal: a margin of 35 % is a markup of 53.8462 %.
        (PriceRule.MARGIN, "35", "923.08"),
        (PriceRule.MARKUP, "53.8462", "923.08"),
        (PriceRule.MARGIN, "0", "600.00"),
    ],
)
def test_margin_and_markup_are_not_mixed_up(rule: PriceRule, percent: str, expected: str) -> None:
    price, findings = price_rows(
        (row("A1", 1.0),), terms(rule=rule, rule_percent=D(percent)), book(entry("A1", "600", "600", "600"))
    )
    assert str(price.totals.total.likely) == expected
    assert price.complete and not findings


def test_material_and_labour_of_a_row_by_hand() -> None:
    # 12.5 m x 1.20/1.50/2.10 = 15.00/18.75/26.25.
    # 12.5 x 3 min = 37.5 min = 0.625 h x 40/50/64 = 25.00/31.25/40.00.
    price, _ = price_rows(
        (row("TUB", 12.5),),
        terms(labour=LabourRate(low=D(40), likely=D(50), high=D(64))),
        book(entry("TUB", "1.20", "1.50", "2.10", minutes="3")),
    )
    (only,) = price.rows
    assert triple(only.material) == ("15.00", "18.75", "26.25")
    assert triple(only.labour) == ("25.00", "31.25", "40.00")
    assert triple(only.cost) == ("40.00", "50.00", "66.25")
    assert only.source == "invented demo figure"
    assert only.labour_minutes == D("37.5") == price.totals.labour_minutes
    # One metre: 1.50 + 3/60 x 50 = 4.00.
    assert str(only.unit_price) == "4.00"


def test_contingency_discount_and_tax_by_hand() -> None:
    """Two rows, 40 % margin, 5 % contingency, 10 % discount, 8.25 % tax on material of the taxable row only.

    A: 600 material + 60 min at 60 = 660 cost -> 1100.00 price; taxable material 600 -> 1000.00.
    B: 120 not taxable -> 200.00. Rows 1300.00; contingency 65.00; subtotal 1365.00; discount 136.50;
    net 1228.50. Taxable part: 1000.00 + 50.00 - 105.00 = 945.00; tax 77.9625 -> 77.96. Total 1306.46.
    """
    price, findings = price_rows(
        (row("A1", 1.0, Section.PLANT), row("B1", 2.0, Section.DROPS)),
        terms(
            rule=PriceRule.MARGIN,
            rule_percent=D(40),
            contingency_percent=D(5),
            discount_percent=D(10),
            tax_percent=D("8.25"),
            labour=LabourRate(low=D(60), likely=D(60), high=D(60)),
        ),
        book(
            entry("A1", "600", "600", "600", minutes="60"),
            entry("B1", "60", "60", "60", taxable=False),
        ),
    )
    t = price.totals
    figures = [t.rows, t.contingency, t.subtotal, t.discount, t.net, t.taxable, t.tax, t.total]
    assert [str(f.likely) for f in figures] == [
        "1300.00", "65.00", "1365.00", "136.50", "1228.50", "945.00", "77.96", "1306.46",
    ]  # fmt: skip
    assert [(s.section, str(s.price.likely), str(s.cost.likely)) for s in price.sections] == [
        (Section.PLANT, "1100.00", "660.00"),
        (Section.DROPS, "200.00", "120.00"),
    ]
    assert not findings


def test_labour_is_taxed_only_where_the_terms_say_so() -> None:
    parts = book(
        entry("A1", "100", "100", "100", minutes="60"),
        entry("B1", "100", "100", "100", minutes="60", taxable=False),
    )
    rate = LabourRate(low=D(50), likely=D(50), high=D(50))
    takeoff = (row("A1", 1.0), row("B1", 1.0))
    without, _ = price_rows(takeoff, terms(tax_percent=D(10), labour=rate), parts)
    with_labour, _ = price_rows(takeoff, terms(tax_percent=D(10), labour=rate, labour_taxable=True), parts)
    assert str(without.totals.tax.likely) == "10.00"
    # Labour of a row that is not taxable stays untaxed: 10 % of 100 + 50.
    assert str(with_labour.totals.tax.likely) == "15.00"


@pytest.mark.parametrize(
    ("currency", "unit_cost", "expected"),
    [
        # ISO 4217 minor units 2, 0 and 3 (confirmed); half up, computed with python decimal.
        ("USD", "0.005", "0.01"),
        ("JPY", "2.5", "3"),
        ("KWD", "1.2345", "1.235"),
    ],
)
def test_rows_are_rounded_half_up_to_the_minor_unit(currency: str, unit_cost: str, expected: str) -> None:
    price, _ = price_rows(
        (row("A1", 1.0),),
        terms(currency=currency),
        book(entry("A1", unit_cost, unit_cost, unit_cost), currency=currency),
    )
    assert str(price.rows[0].price.likely) == expected
    assert str(price.totals.total.likely) == expected


def test_totals_are_sums_of_rounded_rows() -> None:
    # Three rows of 0.335 make 3 x 0.34 = 1.02, not round(1.005) = 1.01.
    parts = book(*(entry(code, "0.335", "0.335", "0.335") for code in ("A1", "B1", "C1")))
    price, _ = price_rows(tuple(row(code, 1.0) for code in ("A1", "B1", "C1")), terms(), parts)
    assert str(price.totals.rows.likely) == "1.02"
    assert str(price.sections[0].price.likely) == "1.02"


@pytest.mark.parametrize(
    ("quantity", "expected"), [(0.1 + 0.2, "0.300"), (12.3455, "12.346"), (22.0, "22.000"), (1e-9, "0.000")]
)
def test_quantities_are_rounded_to_a_thousandth(quantity: float, expected: str) -> None:
    assert str(quantity_of(row("A1", quantity))) == expected


@pytest.mark.parametrize("quantity", [float("nan"), float("inf"), -1.0, 1e12])
def test_a_quantity_that_is_no_quantity_is_refused(quantity: float) -> None:
    with pytest.raises(PricingError, match="A1: the quantity"):
        price_rows((row("A1", quantity),), terms(), book(entry("A1", "1", "1", "1")))
    with pytest.raises(PricingError, match="A1: the quantity"):
        price_rows((row("A1", quantity),), terms(), book())


def test_a_code_the_book_lacks_is_an_error_that_names_code_and_place() -> None:
    takeoff = (row("A1", 1.0), row("GONE-1", 2.0, Section.DROPS), row("GONE-1", 1.0, Section.PLANT))
    price, findings = price_rows(takeoff, terms(), book(entry("A1", "5", "5", "5")))
    (finding,) = findings
    assert finding.severity is Severity.ERROR and finding.rule == "price-missing"
    assert "“GONE-1”" in finding.message and "object-of-GONE-1" in finding.message
    assert Section.DROPS.value in finding.message and Section.PLANT.value in finding.message
    assert [r.known for r in price.rows] == [True, False, False]
    assert price.rows[1].description == "GONE-1"
    assert not price.complete
    assert str(price.totals.total.likely) == "5.00"


def test_what_exists_costs_nothing_and_keeps_the_price_complete() -> None:
    price, findings = price_rows(
        (row("A1", 0.0, existing=4.0), row("GONE-1", 0.0, existing=1.0)),
        terms(),
        book(entry("A1", "5", "5", "5")),
    )
    assert price.totals.total.high == 0
    assert price.complete
    assert [f.severity for f in findings] == [Severity.WARNING]


def test_a_book_in_another_currency_prices_nothing_and_says_why() -> None:
    price, findings = price_rows(
        (row("A1", 1.0),), terms(currency="EUR"), book(entry("A1", "5", "5", "5"), currency="USD")
    )
    (finding,) = findings
    assert (finding.severity, finding.place, finding.rule) == (
        Severity.ERROR,
        "terms.currency",
        "price-currency",
    )
    assert "EUR" in finding.message and "USD" in finding.message and "not converted" in finding.message
    assert price.currency == "EUR" and not price.complete
    assert str(price.totals.total.likely) == "0.00"


def test_a_labour_rate_of_zero_is_a_warning_where_labour_is_needed() -> None:
    _, findings = price_rows((row("A1", 1.0),), terms(), book(entry("A1", "5", "5", "5", minutes="10")))
    assert [(f.severity, f.place) for f in findings] == [(Severity.WARNING, "terms.labour.likely")]


def test_nothing_to_buy_is_a_price_of_zero() -> None:
    price, findings = price_rows((), terms(tax_percent=D(20)), book())
    assert price.rows == () and price.sections == () and price.complete and not findings
    assert str(price.totals.total.likely) == "0.00"


_money = st.decimals(min_value=0, max_value=5000, places=4)


@st.composite
def _entries(draw: st.DrawFn) -> tuple[PriceEntry, ...]:
    made = []
    for i in range(draw(st.integers(1, 5))):
        low, likely, high = sorted(draw(st.tuples(_money, _money, _money)))
        made.append(
            PriceEntry(
                code=f"P-{i}",
                description="part",
                low=low,
                likely=likely,
                high=high,
                taxable=draw(st.booleans()),
                labour_minutes=draw(st.decimals(min_value=0, max_value=600, places=3)),
            )
        )
    return tuple(made)


_percent = st.decimals(min_value=0, max_value=100, places=4)


@settings(deadline=None)
@given(
    entries=_entries(),
    quantities=st.lists(st.floats(0, 5000), min_size=5, max_size=5),
    rule=st.sampled_from(PriceRule),
    rule_percent=st.decimals(min_value=0, max_value=99, places=4),
    percents=st.tuples(_percent, _percent, _percent),
    rates=st.tuples(_money, _money, _money),
    labour_taxable=st.booleans(),
    currency=st.sampled_from(["USD", "JPY", "KWD", "CLF"]),
)
def test_every_range_is_ordered_and_every_sum_adds_up(
    entries: tuple[PriceEntry, ...],
    quantities: list[float],
    rule: PriceRule,
    rule_percent: Decimal,
    percents: tuple[Decimal, Decimal, Decimal],
    rates: tuple[Decimal, Decimal, Decimal],
    labour_taxable: bool,
    currency: str,
) -> None:
    low, likely, high = sorted(rates)
    takeoff = tuple(
        row(e.code, q, section) for e, q, section in zip(entries, quantities, list(Section), strict=False)
    )
    price, _ = price_rows(
        takeoff,
        terms(
            rule=rule,
            rule_percent=rule_percent,
            contingency_percent=percents[0],
            discount_percent=percents[1],
            tax_percent=percents[2],
            labour=LabourRate(low=low, likely=likely, high=high),
            labour_taxable=labour_taxable,
            currency=currency,
        ),
        book(*entries, currency=currency),
    )
    for amounts in every_range(price):
        assert D(0) <= amounts.low <= amounts.likely <= amounts.high
    t = price.totals
    for end in ("low", "likely", "high"):

        def at(amounts: CostRange, end: str = end) -> Decimal:
            value = getattr(amounts, end)
            assert isinstance(value, Decimal)
            return value

        assert at(t.rows) == sum(at(r.price) for r in price.rows) == sum(at(s.price) for s in price.sections)
        assert at(t.subtotal) == at(t.rows) + at(t.contingency)
        assert at(t.net) == at(t.subtotal) - at(t.discount)
        assert at(t.total) == at(t.net) + at(t.tax)
        assert at(t.taxable) <= at(t.net)


def _work_to_price(rows: int) -> int:
    entries = tuple(entry(f"P-{i}", "1.25", "1.75", "2.50", minutes="2.5") for i in range(rows))
    takeoff = tuple(row(e.code, 3.7) for e in entries)
    parts, rate = book(*entries), terms(labour=LabourRate())
    return calls_of(lambda: price_rows(takeoff, rate, parts))


def test_a_row_costs_the_same_work_however_many_there_are() -> None:
    """114 calls a row today, at 200 rows and at 400; `tests/benchmarks/stages.py` times them."""
    work = _work_to_price(200)
    assert work < 200 * 150
    assert _work_to_price(400) < 2.1 * work
