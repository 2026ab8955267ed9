"""Revisions: what was issued stays as it was, and what moved since can be told."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from estimator.acts.alternates import with_guns, with_mounts
from estimator.acts.issue import IssueError, issue
from estimator.acts.options import edited, with_design, with_option
from estimator.acts.quick_build import GunGrade
from estimator.model.choices import ExtraKind, HoseKind, Mount
from estimator.model.edit import with_value
from estimator.model.issued import Issued, handed
from estimator.model.job import Job
from estimator.model.makers import MakerData, OwnNozzle
from estimator.model.option_designs import design_of, option_ids
from estimator.model.pricebook import PriceBook
from estimator.model.revisions import issue_findings
from estimator.model.terms import ExtraRow
from estimator.pricing.book_changes import (
    book_for,
    bulk_change,
    changed_findings,
    changed_since,
    take_new_prices,
)
from estimator.pricing.compare import CompareError, compare, lines_of, lines_of_issued
from estimator.pricing.revise import changes_between, changes_since, expired
from estimator.store.jobs import load_job, save_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Pipeline
from estimator.takeoff.words import row_words
from estimator.units import Dimension, parse
from tests.days import STUDIED

EXAMPLE = Path(__file__).parents[2] / "resources" / "examples" / "gannet-quay.baydrop"
DAY = date(2026, 11, 25)
LATER = date(2026, 12, 1)
PIPE = Pipeline()


@pytest.fixture(scope="module")
def book() -> PriceBook:
    return shipped_price_book()


@pytest.fixture(scope="module")
def job() -> Job:
    return load_job(EXAMPLE)


def paper(new: Issued) -> bytes:
    """Of no pages, with the fingerprint that a paper carries."""
    return f"%PDF {new.fingerprint}".encode()


def issued(job: Job, book: PriceBook, on: date, reason: str) -> Job:
    return issue(PIPE.study(job, book_for(job, book), on), reason, paper)


@pytest.fixture(scope="module")
def with_a(job: Job, book: PriceBook) -> Job:
    return issued(job, book, DAY, "First quote")


def test_at_the_customer_s_desk(job: Job, book: PriceBook, tmp_path: Path) -> None:
    """Two options, three live changes, issue A, one change, issue B, save, reopen: A as it was, B tells four moves."""
    # Two options: the base design and the same with panels.
    job, panels = with_option(job, "Panels", with_mounts(job.design, Mount.PANEL), offered=True)
    assert option_ids(job) == ("base", panels)

    # Three live changes: 5 % discount, a straight hose at the first drop, metal guns in the option with panels.
    job = with_value(job, ("terms", "discount_percent"), Decimal(5))
    job = with_value(job, ("design", "drops", 0, "hose"), HoseKind.STRAIGHT)
    job = with_design(job, panels, with_guns(design_of(job, panels), GunGrade.METAL), only_here=True)
    assert changes_since(job, PIPE.study(job, book, STUDIED).price, book) is None

    whole = PIPE.study(job, book, DAY)
    (other,) = (offer.price for offer in whole.offers)
    price = whole.price
    job = issue(whole, "First quote", paper)
    frozen = job.issued[0]
    total_a = handed(frozen).total
    assert total_a == price.totals.total.likely
    # Parts of the offered option are frozen too.
    assert {r.takeoff.code for r in other.rows} <= {e.code for e in handed(frozen).entries}

    # One change: the customer wants the plain guns of bay 3 in metal. There are four of them.
    for i, drop in enumerate(job.design.drops):
        if drop.bay == "bay-3" and drop.gun == "gun-plastic":
            job = with_value(job, ("design", "drops", i, "gun"), "gun-metal")
    now = PIPE.study(job, book_for(job, book), STUDIED).price
    moved = changes_since(job, now, book)
    assert moved is not None and len(moved.words) == 4
    assert moved.difference == now.totals.total.likely - total_a > 0

    job = issued(job, book, LATER, "Metal guns in bay 3")
    path = tmp_path / "desk.baydrop"
    save_job(path, job)
    again = load_job(path)

    assert issue_findings(again) == ()
    a, b = again.issued
    assert (a.letter, b.letter) == ("A", "B")
    assert a == frozen
    changes = changes_between(a, b)
    assert len(changes.words) == 4
    assert all("Gun: Spray gun, plastic body → Spray gun, metal body." in words for words in changes.words)
    assert changes.difference == handed(b).total - total_a > 0
    assert {r.code for r in changes.price.rows} == {"GUN-PL", "GUN-MT"}
    assert compare(lines_of_issued(b), lines_of_issued(a)).difference == -changes.difference


def test_an_issued_revision_is_not_repriced_by_a_newer_book(with_a: Job, book: PriceBook) -> None:
    dearer = bulk_change(book, Decimal(10), LATER)
    a = handed(with_a.issued[0])
    # The job goes on at the prices it was issued with, until they are taken anew.
    same = PIPE.study(with_a, book_for(with_a, dearer), STUDIED).price
    assert same.totals.total.likely == a.total
    assert lines_of(same, row_words(with_a)) == lines_of_issued(with_a.issued[0])
    assert {c.code for c in changed_since(with_a, dearer)} <= {e.code for e in a.entries}
    (finding,) = changed_findings(with_a, dearer)
    assert finding.rule == "prices-changed" and DAY.isoformat() in finding.message
    fresh = take_new_prices(with_a, dearer, LATER)
    new = PIPE.study(fresh, book_for(fresh, dearer), STUDIED).price
    assert new.totals.total.likely > a.total
    assert changed_findings(fresh, dearer) == ()
    moved = changes_since(fresh, new, dearer)
    assert moved is not None and moved.prices and not moved.job


def test_what_is_not_priced_is_not_issued(job: Job, book: PriceBook, with_a: Job) -> None:
    bare = PriceBook(currency="USD", entries=book.entries[:3])
    with pytest.raises(IssueError, match="no price yet"):
        issue(PIPE.study(job, bare, DAY), "", paper)
    with pytest.raises(IssueError, match="cannot be dated November 1, 2026"):
        issued(with_a, book, date(2026, 11, 1), "")


def test_a_quote_expires(with_a: Job, job: Job) -> None:
    """30 days from 25 November: valid until 25 December."""
    assert expired(with_a, date(2026, 12, 25)) == ()
    (finding,) = expired(with_a, date(2026, 12, 26))
    assert finding.rule == "quote-expired" and "2026-12-25" in finding.message
    draft = with_value(job, ("quote", "dated"), None)
    assert expired(draft, date(2099, 1, 1)) == ()


def test_another_currency_is_not_compared(with_a: Job, book: PriceBook) -> None:
    euros = with_value(with_a, ("terms", "currency"), "EUR")
    with pytest.raises(CompareError, match="not converted"):
        changes_since(euros, PIPE.study(euros, book, STUDIED).price, book)


def test_a_contract_text_is_told_whole_and_by_the_line(with_a: Job, book: PriceBook) -> None:
    """It was cut after 60 characters."""
    long = "The customer provides a drain within two metres of each bay side, tested before work begins."
    note = "x" * 130
    edited = with_value(with_a, ("terms", "exclusions"), (*with_a.terms.exclusions[1:], long))
    edited = with_value(edited, ("quote", "notes"), note)
    moved = changes_since(edited, PIPE.study(edited, book, DAY).price, book)
    assert moved is not None
    gone = with_a.terms.exclusions[0]
    assert f"Exclusions, “{gone}”: removed." in moved.words
    assert f"Exclusions, “{long}”: added." in moved.words
    assert any(words.endswith(f"→ {note}.") for words in moved.words)
    assert not any("…" in words for words in moved.words)


def test_what_changed_is_told_in_the_number_format_of_the_job(with_a: Job, book: PriceBook) -> None:
    german = with_value(with_a, ("terms", "locale"), "de_DE")
    edited = with_value(german, ("site", "use", "vehicles_per_hour"), 2.5)
    moved = changes_since(edited, PIPE.study(edited, book, DAY).price, book)
    assert moved is not None
    assert any(words.endswith(": 1,5 → 2,5.") or ": 1,5 → 2,5 " in words for words in moved.words)


def test_an_added_fee_names_itself_and_its_amount(with_a: Job, book: PriceBook) -> None:
    fee = ExtraRow(
        kind=ExtraKind.FREIGHT,
        description="Crane for a day",
        low=Decimal(90),
        likely=Decimal(100),
        high=Decimal(120),
    )
    edited = with_value(with_a, ("terms", "extras"), (*with_a.terms.extras, fee))
    moved = changes_since(edited, PIPE.study(edited, book, DAY).price, book)
    assert moved is not None
    assert list(moved.words) == ["Freight, travel and fees: added, Crane for a day, likely cost $100.00."]


def test_makers_parts_are_told_by_their_names(with_a: Job, book: PriceBook) -> None:
    makers = MakerData(nozzles=(OwnNozzle(key="own-7", name="Fine fan 7"), OwnNozzle(key="own-8")))
    edited = with_value(with_a, ("design", "makers"), makers)
    edited = with_value(edited, ("design", "drops", 0, "nozzle_size"), "own-7")
    moved = changes_since(edited, PIPE.study(edited, book, DAY).price, book)
    assert moved is not None
    assert any("Nozzle size:" in words and words.endswith("→ Fine fan 7.") for words in moved.words)


def test_what_moved_in_an_option_is_told_as_in_a_design(job: Job, book: PriceBook) -> None:
    """An option keeps differences by ids; the list tells its design, and what the base has alike once."""
    metal = with_value(job.design, ("drops", 0, "gun"), "gun-metal")
    job, option = with_option(job, "Fewer", metal, offered=True)
    given = issued(job, book, DAY, "First quote")
    hose = parse("9 m", Dimension.LENGTH)
    own = edited(given, option, ("design", "drops", 1, "hose_length"), hose, only_here=True)
    both = with_value(own, ("design", "tube_allowance"), 7.5)
    moved = changes_since(both, PIPE.study(both, book, STUDIED).price, book)
    assert moved is not None
    assert [d.words for d in moved.job] == [
        "Tube allowance: 5 % → 7.5 %.",
        "Option “Fewer”, Drops “Bay 1 left, Insect and tar remover”, Hose length: 6 m → 9 m.",
    ]
