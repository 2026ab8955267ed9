"""Revisions: what was issued stays as it was, and what moved since can be told."""

from __future__ import annotations

import json
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings

from estimator.acts.alternates import with_guns, with_mounts
from estimator.acts.quick_build import GunGrade
from estimator.model.choices import HoseKind, Mount
from estimator.model.edit import EditError, with_value
from estimator.model.issued import canonical, fingerprint
from estimator.model.job import Job, snapshot_of
from estimator.model.option_acts import design_of, option_ids, with_design, with_option, worked_on
from estimator.model.pricebook import PriceBook
from estimator.pricing.book_changes import (
    book_for,
    bulk_change,
    changed_findings,
    changed_since,
    take_new_prices,
)
from estimator.pricing.compare import CompareError, compare, lines_of, lines_of_issued
from estimator.pricing.revise import (
    IssueError,
    as_job,
    changes_between,
    changes_since,
    expired,
    issue,
    issue_findings,
    next_letter,
    revision,
    with_paper,
)
from estimator.store.jobs import job_from_text, job_text, load_job, save_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Pipeline
from estimator.takeoff.words import row_words
from tests.days import STUDIED
from tests.random_jobs import jobs

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


def issued(job: Job, book: PriceBook, on: date, reason: str) -> Job:
    price = PIPE.study(job, book_for(job, book), STUDIED).price
    return issue(job, price, book, on, reason)


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
    job = with_design(job, panels, with_guns(design_of(job, panels), GunGrade.METAL))
    assert changes_since(job, PIPE.study(job, book, STUDIED).price, book) is None

    other = PIPE.study(worked_on(job, panels), book, STUDIED).price
    price = PIPE.study(job, book, STUDIED).price
    job = issue(job, price, book, DAY, "First quote", [other])
    frozen = canonical(job.issued[0])
    total_a = job.issued[0].total_likely
    assert total_a == price.totals.total.likely
    # Parts of the offered option are frozen too.
    assert {r.takeoff.code for r in other.rows} <= {e.code for e in job.issued[0].entries}

    # One change: the customer wants the plain guns of bay 3 in metal. There are four of them.
    for i, drop in enumerate(job.design.drops):
        if drop.bay == "bay-3" and drop.gun == "gun-plastic":
            job = with_value(job, ("design", "drops", i, "gun"), "gun-metal")
    now = PIPE.study(job, book_for(job, book), STUDIED).price
    moved = changes_since(job, now, book)
    assert moved is not None and len(moved.words) == 4
    assert moved.difference == now.totals.total.likely - total_a > 0

    job = issue(job, now, book, LATER, "Metal guns in bay 3")
    path = tmp_path / "desk.baydrop"
    save_job(path, job)
    again = load_job(path)

    assert issue_findings(again) == ()
    a, b = again.issued
    assert (a.letter, b.letter) == ("A", "B")
    assert canonical(a) == frozen and a == job.issued[0]
    changes = changes_between(a, b)
    assert len(changes.words) == 4
    assert all("Gun: Spray gun, plastic body → Spray gun, metal body." in words for words in changes.words)
    assert changes.difference == b.total_likely - a.total_likely > 0
    assert {r.code for r in changes.price.rows} == {"GUN-PL", "GUN-MT"}
    assert compare(lines_of_issued(b), lines_of_issued(a)).difference == -changes.difference


def test_an_issued_revision_is_not_repriced_by_a_newer_book(with_a: Job, book: PriceBook) -> None:
    dearer = bulk_change(book, Decimal(10), LATER)
    a = with_a.issued[0]
    then = as_job(a)
    price = PIPE.study(then, book_for(then, dearer), STUDIED).price
    assert price.totals.total.likely == a.total_likely
    assert lines_of(price, row_words(then)) == lines_of_issued(a)
    # The job goes on at the prices it was issued with, until they are taken anew.
    same = PIPE.study(with_a, book_for(with_a, dearer), STUDIED).price
    assert same.totals.total.likely == a.total_likely
    assert {c.code for c in changed_since(with_a, dearer)} <= {e.code for e in a.entries}
    (finding,) = changed_findings(with_a, dearer)
    assert finding.rule == "prices-changed" and DAY.isoformat() in finding.message
    fresh = take_new_prices(with_a, dearer, LATER)
    new = PIPE.study(fresh, book_for(fresh, dearer), STUDIED).price
    assert new.totals.total.likely > a.total_likely
    assert changed_findings(fresh, dearer) == ()
    moved = changes_since(fresh, new, dearer)
    assert moved is not None and moved.prices and not moved.job


def test_the_letter_goes_on_and_the_paper_s_date_and_letter_are_frozen(with_a: Job) -> None:
    a = with_a.issued[0]
    assert (a.letter, a.snapshot.quote.revision, a.snapshot.quote.dated, a.reason) == (
        "A",
        "A",
        DAY,
        "First quote",
    )
    assert with_a.quote.revision == "B" == next_letter(with_a)
    for last, following in (("Z", "AA"), ("AZ", "BA"), ("B", "C")):
        changed = with_a.issued[0].model_copy(update={"letter": last})
        assert next_letter(with_a.model_copy(update={"issued": (changed,)})) == following


def test_no_edit_reaches_an_issued_revision(with_a: Job) -> None:
    for path, value in ((("issued",), ()), (("issued", 0, "total_likely"), Decimal(1))):
        with pytest.raises(EditError, match="stays as it is"):
            with_value(with_a, path, value)


@pytest.mark.parametrize(
    ("where", "value"),
    [
        (("total_likely",), "1.00"),
        (("reason",), "Another"),
        (("snapshot", "customer", "name"), "Another"),
        (("entries", 0, "likely"), "0.01"),
        (("rows", 0, "price"), "0.01"),
        (("dated",), "2026-11-24"),
        (("fingerprint",), "0" * 64),
    ],
)
def test_a_tampered_revision_is_found_on_load(with_a: Job, where: tuple[str | int, ...], value: str) -> None:
    data = json.loads(job_text(with_a))
    part = data["issued"][0]
    if where == ("entries", 0, "likely"):
        part["entries"][0]["low"] = value
    for step in where[:-1]:
        part = part[step]
    part[where[-1]] = value
    findings = issue_findings(job_from_text(json.dumps(data), "x"))
    assert [f.rule for f in findings] == ["revision-changed"]
    assert findings[0].place == "issued.0" and "Revision A" in findings[0].message


def test_a_revision_taken_out_or_given_another_paper_is_found(with_a: Job, book: PriceBook) -> None:
    two = issued(with_paper(with_a, "A", b"%PDF one"), book, LATER, "Second")
    assert issue_findings(two) == ()
    data = json.loads(job_text(two))
    del data["issued"][0]
    assert [f.rule for f in issue_findings(job_from_text(json.dumps(data), "x"))] == ["revision-order"]
    data = json.loads(job_text(two))
    data["issued"][0]["pdf_fingerprint"] = "0" * 64
    assert [f.rule for f in issue_findings(job_from_text(json.dumps(data), "x"))] == ["revision-order"]


def test_a_revision_has_one_paper(with_a: Job, book: PriceBook) -> None:
    once = with_paper(with_a, "A", b"%PDF one")
    # SHA-256 after FIPS 180-4, computed with coreutils sha256sum 9.1.
    assert once.issued[0].pdf_fingerprint == PDF_ONE
    assert with_paper(once, "A", b"%PDF one") is once
    with pytest.raises(IssueError, match="another PDF"):
        with_paper(once, "A", b"%PDF two")
    two = issued(with_a, book, LATER, "Second")
    with pytest.raises(IssueError, match="not the last one"):
        with_paper(two, "A", b"%PDF one")
    with pytest.raises(LookupError):
        revision(two, "C")


PDF_ONE = "dd4d31b708b2c66f787349c75673d184951df3cdffe3a8cf9b9554002244300a"


def test_what_is_not_priced_is_not_issued(job: Job, book: PriceBook, with_a: Job) -> None:
    bare = PriceBook(currency="USD", entries=book.entries[:3])
    with pytest.raises(IssueError, match="no price yet"):
        issue(job, PIPE.study(job, bare, STUDIED).price, bare, DAY, "")
    with pytest.raises(IssueError, match="cannot be dated 2026-11-01"):
        issued(with_a, book, date(2026, 11, 1), "")


def test_a_quote_expires(with_a: Job, job: Job) -> None:
    """30 days from 25 November: valid until 25 December."""
    assert expired(with_a, date(2026, 12, 25)) == ()
    (finding,) = expired(with_a, date(2026, 12, 26))
    assert finding.rule == "quote-expired" and "2026-12-25" in finding.message
    draft = with_value(job, ("quote", "dated"), None)
    assert expired(draft, date(2099, 1, 1)) == ()


def test_a_revision_loads_to_the_same_bytes(with_a: Job) -> None:
    again = job_from_text(job_text(with_a), "x")
    assert canonical(again.issued[0]) == canonical(with_a.issued[0])
    assert canonical(snapshot_of(again)) == canonical(snapshot_of(with_a))


@settings(deadline=None, max_examples=25, suppress_health_check=list(HealthCheck))
@given(jobs())
def test_any_revision_loads_to_the_same_bytes(job: Job) -> None:
    again = job_from_text(job_text(job), "x")
    assert [canonical(r) for r in again.issued] == [canonical(r) for r in job.issued]
    assert [fingerprint(r) for r in again.issued] == [fingerprint(r) for r in job.issued]


def test_another_currency_is_not_compared(with_a: Job, book: PriceBook) -> None:
    euros = with_value(with_a, ("terms", "currency"), "EUR")
    with pytest.raises(CompareError, match="not converted"):
        changes_since(euros, PIPE.study(euros, book, STUDIED).price, book)
