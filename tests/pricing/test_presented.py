"""A price as it is shown: no total moves, every sum holds to the cent."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.model.presentation import TotalsBy
from estimator.pricing.compare import Lines, lines_of
from estimator.pricing.presented import SHARED, folded, folded_lines, totals_of
from estimator.pricing.types import Price
from estimator.study import Study
from estimator.takeoff.types import Section
from estimator.takeoff.words import row_words
from tests.documents.studies import book_with, made, raw

BY = [TotalsBy.SIDE, TotalsBy.PRODUCT]
WAYS: dict[str, dict[str, Any]] = {
    "percent": {},
    "labour taxed": {"labour_taxable": True},
    "odd": {"contingency_percent": "3.3333", "discount_percent": "7.77", "round_to": "0.05"},
    "typed": {"price_basis": "typed", "typed_price": "19999.99"},
    "confidence": {"contingency_basis": "confidence", "contingency_confidence": "90"},
    "yen": {"currency": "JPY"},
    "extras": {
        "more_taxes": [{"id": "low", "name": "Low", "percent": "5"}],
        "extras": [
            {
                "kind": "freight",
                "low": "80",
                "likely": "100.01",
                "high": "130",
                "taxable": True,
                "tax": "low",
            },
            {"kind": "travel", "low": "0", "likely": "0", "high": "0"},
        ],
    },
}


def _study(name: str = "gannet-quay", **terms: Any) -> Study:
    job = raw(name)
    job["terms"].update(terms)
    return made(job)


@pytest.fixture(scope="module", params=WAYS)
def whole(request: pytest.FixtureRequest) -> Study:
    terms = WAYS[request.param]
    if "currency" in terms:
        book = book_with()
        job = raw()
        job["terms"].update(terms)
        return made(job, book.model_copy(update={"currency": terms["currency"]}))
    return _study(**terms)


def _rows(price: Price) -> Decimal:
    return sum((row.price.likely for row in price.rows), Decimal(0))


def test_folded_rows_come_to_rows_and_allowance(whole: Study) -> None:
    price, shown = whole.price, folded(whole.price)
    assert price.totals.contingency.likely > 0
    assert shown.totals.contingency.likely == 0
    assert _rows(shown) == shown.totals.rows.likely == price.totals.subtotal.likely
    assert sum(s.price.likely for s in shown.sections) == shown.totals.rows.likely
    for section in shown.sections:
        assert section.price.likely == sum(r.price.likely for r in shown.rows_of(section.section))
    assert (shown.totals.net, shown.totals.tax, shown.totals.total) == (
        price.totals.net,
        price.totals.tax,
        price.totals.total,
    )
    assert shown.stages == price.stages


def test_the_taxable_parts_of_folded_rows_come_to_what_is_taxed(whole: Study) -> None:
    price, shown = whole.price, folded(whole.price)
    taxed = sum((row.taxable_price.likely for row in shown.rows), Decimal(0))
    sums = shown.totals.taxed_rows.likely
    assert sums == price.totals.taxed_rows.likely + price.totals.taxed_contingency.likely
    assert sums - shown.totals.taxed_discount.likely == shown.totals.taxable.likely
    # What is taxed of the allowance is rounded by itself; where the taxed rows have no room for its last unit, because
    # an untaxed row was rounded up, the rows are that unit short of what is taxed. The tax is that of the sums.
    full = all(row.taxable_price.likely in (0, row.price.likely) for row in shown.rows)
    short = (Decimal(1) if price.currency == "JPY" else Decimal("0.01")) if full else Decimal(0)
    assert sums - short <= taxed <= sums
    assert all(0 <= row.taxable_price.likely <= row.price.likely for row in shown.rows)


def test_each_row_takes_its_share_to_the_unit(whole: Study) -> None:
    price, shown = whole.price, folded(whole.price)
    unit = Decimal(1) if price.currency == "JPY" else Decimal("0.01")
    share = price.totals.contingency.likely / price.totals.rows.likely
    for old, new in zip(price.rows, shown.rows, strict=True):
        assert abs(new.price.likely - old.price.likely * (1 + share)) < unit


def test_nothing_to_fold_into_stays() -> None:
    empty = made({}).price
    assert folded(empty) is empty
    without = _study(contingency_percent="0").price
    assert folded(without) is without


def test_what_is_compared_is_folded_alike(whole: Study) -> None:
    """Rows of the paper and of its comparison are the same figures."""
    words = row_words(whole.job)
    shown, lines = lines_of(folded(whole.price), words), folded_lines(lines_of(whole.price, words))
    assert [row.price for row in lines.rows] == [row.price for row in shown.rows]
    assert lines.total == sum((a for _, a in lines.sums), sum((r.price for r in lines.rows), Decimal(0)))
    assert "Contingency" not in dict(lines.sums)


@given(st.lists(st.integers(0, 10_000_000), max_size=60), st.integers(0, 1_000_000))
def test_lines_of_any_prices_fold_to_the_cent(prices: list[int], allowance: int) -> None:
    whole = _PLAIN.rows[0]
    rows = tuple(replace(whole, price=Decimal(cents).scaleb(-2)) for cents in prices)
    before = Lines("USD", rows, (("Contingency", Decimal(allowance).scaleb(-2)),), Decimal(0))
    after = folded_lines(before)
    if not any(prices) or not allowance:
        assert after is before
    else:
        assert sum(r.price for r in after.rows) == Decimal(sum(prices) + allowance).scaleb(-2)
        assert all(new.price >= old.price for old, new in zip(rows, after.rows, strict=True))


_PLAIN = lines_of((_WHOLE := _study()).price, row_words(_WHOLE.job))


@pytest.mark.parametrize("by", BY)
@pytest.mark.parametrize("fold", [False, True])
def test_totals_by_side_and_by_product_come_to_the_sum_of_the_items(
    whole: Study, by: TotalsBy, fold: bool
) -> None:
    price = folded(whole.price) if fold else whole.price
    totals = totals_of(price, by, whole.job.design, whole.layout)
    assert sum(t.price for t in totals) == price.totals.rows.likely
    assert len({t.key for t in totals}) == len(totals)
    assert totals[-1].key == SHARED and totals[-1].price > 0


def test_a_side_has_its_drops_and_its_mounting_and_no_more() -> None:
    """Counted by hand from the rows: with all drops of one side taken away its total is nothing."""
    study = _study()
    sides = [s.id for s in study.layout.stations]
    totals = {t.key: t.price for t in totals_of(study.price, TotalsBy.SIDE, study.job.design, study.layout)}
    assert set(totals) == {*sides, SHARED}
    hung = (Section.DROPS, Section.MOUNTING)
    mine = sum((r.price.likely for r in study.price.rows if r.takeoff.section in hung), Decimal(0))
    rails = next(r for r in study.price.rows if "board" in r.takeoff.objects)
    # The strut of the board is shared: two rails of 2.4 m of all the strut.
    board = rails.price.likely * Decimal("4.8") / Decimal(str(rails.takeoff.quantity))
    assert abs(sum(totals[s] for s in sides) - (mine - board)) < Decimal("0.02")
    first = study.layout.stations[0]
    job = raw()
    job["design"]["drops"] = [d for d in job["design"]["drops"] if d["id"] not in first.drops]
    less = made(job)
    after = {t.key for t in totals_of(less.price, TotalsBy.SIDE, less.job.design, less.layout)}
    assert first.id not in after and set(sides) - {first.id} <= after


def test_a_product_has_its_plant_its_line_and_its_drops() -> None:
    study = _study()
    totals = {
        t.key: t.price for t in totals_of(study.price, TotalsBy.PRODUCT, study.job.design, study.layout)
    }
    assert set(totals) == {*(p.id for p in study.job.design.products), "air", SHARED}
    # Board parts that every product shares, with containment and eyewash: none of a product's own.
    board = ("BFP-AG", "BST-01", "MNW-00", "MNA-00", "APR-00", "CNT-00", "EYE-00")
    common = [r for r in study.price.rows if r.takeoff.code in board]
    mounting = [r for r in study.price.rows if r.takeoff.section is Section.MOUNTING]
    assert totals[SHARED] == sum((r.price.likely for r in (*common, *mounting)), Decimal(0))


def test_what_exists_counts_for_nobody() -> None:
    study = _study("harrow-mill")
    stays = {d.id for d in study.job.design.drops if d.existing}
    rows = [r.takeoff for r in study.price.rows if r.takeoff.section is Section.DROPS]
    counted = [(name, alone) for row in rows for name, alone in zip(row.objects, row.by_object, strict=True)]
    assert {name for name, alone in counted if alone == 0} == stays != set()
    assert all(alone > 0 for name, alone in counted if name not in stays)
    totals = totals_of(study.price, TotalsBy.SIDE, study.job.design, study.layout)
    assert sum(t.price for t in totals) == study.price.totals.rows.likely


def test_by_section_the_price_tells_itself() -> None:
    study = _study()
    with pytest.raises(ValueError, match="stand in the price"):
        totals_of(study.price, TotalsBy.SECTION, study.job.design, study.layout)
