"""What changes in a price book, and what a job holds on to."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from estimator.model.job import Job
from estimator.model.pricebook import PinnedPrices, PriceBook, PriceEntry
from estimator.model.terms import LabourRate, Terms
from estimator.pricing.book_changes import (
    BookChangeError,
    book_for,
    bulk_change,
    changed_findings,
    changed_since,
    completed,
    entry_changes,
    pin_prices,
    stale_findings,
    take_new_prices,
)
from estimator.pricing.compare import ChangeKind
from estimator.pricing.price import price_rows
from estimator.pricing.types import Price
from estimator.takeoff.types import Section, TakeoffRow

D = Decimal
NOW = date(2026, 11, 25)


def entry(code: str, cost: str = "10", **more: Any) -> PriceEntry:
    fields = {
        "description": code.title(),
        "low": D(cost),
        "likely": D(cost),
        "high": D(cost),
        "dated": NOW,
        **more,
    }
    return PriceEntry(code=code, **fields)


BOOK = PriceBook(entries=(entry("TUBE", "1.25", group="Lines"), entry("GUN", "46", group="Drops")))


def priced(book: PriceBook, *codes: str) -> Price:
    rows = tuple(TakeoffRow(code, Section.LINES, 1.0, 0.0, ("x",)) for code in codes)
    return price_rows(rows, Terms(labour=LabourRate()), book)[0]


def test_a_bulk_change_touches_one_group_and_dates_it() -> None:
    # 46 x 1.035 = 47.61; 1.25 stays.
    new = bulk_change(BOOK, D("3.5"), date(2027, 1, 2), "Drops")
    assert [(e.code, e.likely, e.dated) for e in new.entries] == [
        ("TUBE", D("1.25"), NOW),
        ("GUN", D("47.61"), date(2027, 1, 2)),
    ]
    (change,) = entry_changes(BOOK.entries, new.entries)
    assert change.kind is ChangeKind.CHANGED and "Likely 46 → 47.61" in change.words_in("en_US")
    assert "Likely 46 → 47,61" in change.words_in("de_DE")
    assert bulk_change(BOOK, D(-10), NOW).entries[0].likely == D("1.125")


def test_parts_that_a_newer_program_knows_are_added_and_nothing_else_moves() -> None:
    shipped = PriceBook(entries=(entry("GUN", "99", demo=True), entry("VALVE", "7", demo=True)))
    new = completed(BOOK, shipped)
    assert new.entries == (*BOOK.entries, shipped.entries[1]) and new.entries[-1].demo
    assert completed(new, shipped) is new
    with pytest.raises(BookChangeError, match=r"CHF.*USD"):
        completed(BOOK.model_copy(update={"currency": "CHF"}), shipped)


@pytest.mark.parametrize(
    ("percent", "group", "told"),
    [
        ("-100", None, "above -100 %"),
        ("1000.1", None, "at most 1000 %"),
        ("NaN", None, "above -100 %"),
        ("5", "Pumps", "the groups are Drops, Lines"),
    ],
)
def test_a_bulk_change_that_is_none_is_told(percent: str, group: str | None, told: str) -> None:
    with pytest.raises(BookChangeError, match=told):
        bulk_change(BOOK, D(percent), NOW, group)


def test_a_bulk_change_past_the_limit_names_the_part() -> None:
    dear = PriceBook(entries=(entry("BOARD", "9000000"),))
    with pytest.raises(BookChangeError, match="BOARD"):
        bulk_change(dear, D(50), NOW)


def test_a_job_holds_on_to_the_prices_it_used_until_they_are_taken_anew() -> None:
    job = pin_prices(Job(), [priced(BOOK, "TUBE")], BOOK, NOW)
    assert job.prices is not None and [e.code for e in job.prices.entries] == ["TUBE"]
    newer = PriceBook(entries=(entry("TUBE", "2"), entry("GUN", "60")))
    assert [(e.code, e.likely) for e in book_for(job, newer).entries] == [("TUBE", D("1.25")), ("GUN", D(60))]
    (changed,) = changed_since(job, newer)
    assert changed.code == "TUBE"
    assert [f.rule for f in changed_findings(job, newer)] == ["prices-changed"]
    later = date(2027, 3, 1)
    fresh = take_new_prices(job, newer, later)
    assert fresh.prices is not None and fresh.prices.taken == later
    assert book_for(fresh, newer).entry("TUBE") == newer.entry("TUBE")
    assert changed_since(fresh, newer) == () and changed_findings(fresh, newer) == ()
    # What it holds already stays when more is pinned.
    more = pin_prices(job, [priced(book_for(job, newer), "TUBE", "GUN")], newer, later)
    assert more.prices is not None and more.prices.taken == NOW
    assert [(e.code, e.likely) for e in more.prices.entries] == [("TUBE", D("1.25")), ("GUN", D(60))]


def test_a_part_gone_from_the_book_keeps_its_price() -> None:
    job = pin_prices(Job(), [priced(BOOK, "TUBE")], BOOK, NOW)
    empty = PriceBook()
    assert [c.kind for c in changed_since(job, empty)] == [ChangeKind.REMOVED]
    assert take_new_prices(job, empty, NOW).prices == job.prices


def test_a_job_that_holds_nothing_follows_the_book() -> None:
    assert book_for(Job(), BOOK) is BOOK
    assert changed_since(Job(), BOOK) == () and changed_findings(Job(), BOOK) == ()
    assert take_new_prices(Job(), BOOK, NOW) == Job()


def test_held_prices_of_another_currency_are_not_mixed() -> None:
    job = Job(prices=PinnedPrices(currency="EUR", entries=(entry("TUBE", "9"),), taken=NOW))
    held = book_for(job, BOOK)
    assert held.currency == "EUR" and [e.code for e in held.entries] == ["TUBE"]
    assert [f.rule for f in changed_findings(job, BOOK)] == ["prices-currency"]
    with pytest.raises(BookChangeError, match="nothing is converted"):
        take_new_prices(job, BOOK, NOW)


def test_old_and_undated_prices_are_told_where_they_are_used() -> None:
    """365 days before 25 November 2026 is 25 November 2025: that day is not old, the day before is."""
    book = PriceBook(
        entries=(
            entry("OLD", dated=date(2025, 11, 24)),
            entry("EDGE", dated=date(2025, 11, 25)),
            entry("BARE", dated=None),
            entry("UNUSED", dated=date(1999, 1, 1)),
        )
    )
    found = stale_findings(priced(book, "OLD", "EDGE", "BARE"), Terms(), NOW)
    assert [(f.rule, f.place) for f in found] == [
        ("prices-old", "price_book.OLD"),
        ("prices-undated", "price_book.BARE"),
    ]
    assert "EDGE" not in found[0].message and "UNUSED" not in found[0].message
    assert stale_findings(priced(book, "EDGE"), Terms(), NOW) == ()
