"""Issuing and withdrawing: a paper is kept as it was handed over, whatever becomes of program, catalogue and prices."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from estimator.acts.history import History
from estimator.acts.issue import IssueError, check_lineage, issue, withdraw
from estimator.documents.quote import write_quote, write_revision
from estimator.model.edit import EditError, with_value
from estimator.model.issued import Issued, handed, job_then, kept_paper
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook
from estimator.model.revisions import issue_findings, next_letter, standing
from estimator.model.seals import short
from estimator.model.terms import Terms
from estimator.pricing.book_changes import bulk_change
from estimator.pricing.price import price_rows
from estimator.pricing.revise import changes_between, changes_since, expired
from estimator.reference.catalogue import catalogue
from estimator.shown.papers import draft_mark, paper_stem
from estimator.store.jobs import job_from_text, job_text, load_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Pipeline, study
from tests.documents.studies import pages_of, text_of

EXAMPLE = Path(__file__).parents[2] / "resources" / "examples" / "gannet-quay.baydrop"
A, B = date(2027, 3, 1), date(2027, 3, 9)
BOOK = shipped_price_book()
PIPE = Pipeline()


def paper(new: Issued) -> bytes:
    """Of no pages, with the fingerprint that a paper carries."""
    return f"%PDF {new.letter} {new.fingerprint}".encode()


def issued(job: Job, on: date, reason: str, printer: Callable[[Issued], bytes] = paper) -> Job:
    return issue(PIPE.study(job, BOOK, on), reason, printer)


def printed(job: Job, on: date, reason: str) -> Job:
    whole = study(job, BOOK, on)
    return issue(whole, reason, partial(write_revision, whole))


@pytest.fixture(scope="module")
def job() -> Job:
    return load_job(EXAMPLE)


@pytest.fixture(scope="module")
def with_a(job: Job) -> Job:
    return issued(job, A, "First quote")


@pytest.fixture(scope="module")
def with_b(with_a: Job) -> Job:
    return issued(with_value(with_a, ("terms", "discount_percent"), Decimal(5)), B, "As agreed")


def test_a_reprint_is_the_same_bytes_in_another_program_with_another_catalogue_and_prices(
    job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A rule, the catalogue and the price book become others between issue and reprint."""
    one = printed(job, A, "First quote")
    pdf, total = kept_paper(one.issued[0]), handed(one.issued[0]).total
    assert hashlib.sha256(pdf).hexdigest() == one.issued[0].paper_fingerprint
    text = job_text(one)

    # Another version: every price is worked out otherwise, and a gun has another name.
    shipped = catalogue()
    guns = tuple(g.model_copy(update={"name": f"Renamed {g.key}"}) for g in shipped.guns)
    altered = shipped.model_copy(update={"guns": guns})
    monkeypatch.setattr("estimator.study.catalogue", lambda: altered)
    monkeypatch.setattr("estimator.pricing.revise.catalogue", lambda: altered)
    monkeypatch.setattr("estimator.study.price_rows", _dearer(price_rows))
    book = bulk_change(BOOK, Decimal(20), B)
    again = job_from_text(text, "x")
    free = with_value(again, ("prices",), None)
    made = study(free, book, B)
    assert made.price.totals.total.likely > total

    assert kept_paper(again.issued[0]) == pdf
    assert handed(again.issued[0]).total == total
    assert issue_findings(again) == ()
    # What moved can be told all the same, in the words of today.
    edited = with_value(free, ("design", "drops", 0, "gun"), "gun-metal")
    moved = changes_since(edited, study(edited, book, B).price, book)
    assert moved is not None
    assert moved.difference > 0
    assert any("→ Renamed gun-metal." in words for words in moved.words)


def _dearer(rule: Callable[..., Any]) -> Callable[..., Any]:
    def dearer(takeoff: Any, terms: Terms, book: PriceBook) -> Any:
        return rule(takeoff, with_value(terms, ("rule_percent",), Decimal(90)), book)

    return dearer


def test_issuing_keeps_job_prices_rows_and_totals(job: Job, with_a: Job) -> None:
    a = with_a.issued[0]
    figures = handed(a)
    price = PIPE.study(job, BOOK, A).price
    assert (a.letter, figures.letter, figures.dated, figures.reason) == ("A", "A", A, "First quote")
    assert job_then(a).quote.dated == A
    assert job_then(a).design == job.design
    assert figures.total == price.totals.total.likely
    assert sum((r.price for r in figures.rows), Decimal(0)) == price.totals.rows.likely
    assert (
        sum((r.price for r in figures.rows), sum((s.amount for s in figures.sums), Decimal(0)))
        == figures.total
    )
    # 30 days from 1 March (counted by hand).
    assert figures.valid_until == date(2027, 3, 31)
    assert kept_paper(a) == paper(a)
    assert next_letter(with_a) == "B"
    assert draft_mark(job).name == "Draft"
    assert draft_mark(with_a).name == "Draft after revision A"


def test_no_edit_reaches_what_was_issued(with_a: Job) -> None:
    for path, value in ((("issued",), ()), (("issued", 0, "text"), ""), (("ledger", "last"), "")):
        with pytest.raises(EditError, match="stays as it is"):
            with_value(with_a, path, value)


def test_letters_begin_where_they_are_told_and_go_on(job: Job) -> None:
    """Earlier revisions were issued elsewhere: this file's first is C."""
    later = with_value(job, ("quote", "first_letter"), "Z")
    assert next_letter(later) == "Z"
    one = issued(later, A, "First here")
    assert issue_findings(one) == ()
    assert [r.letter for r in issued(one, B, "Next").issued] == ["Z", "AA"]
    with pytest.raises(EditError, match="one or two capital letters"):
        with_value(job, ("quote", "first_letter"), "3")


def test_a_withdrawn_revision_stays_on_record_and_its_letter_is_spent(with_b: Job) -> None:
    gone = withdraw(with_b, "B", date(2027, 3, 10), "Wrong hoses")
    b = gone.issued[1]
    assert b.withdrawn is not None
    assert (b.withdrawn.dated, b.withdrawn.reason) == (date(2027, 3, 10), "Wrong hoses")
    assert kept_paper(b) == kept_paper(with_b.issued[1])
    assert issue_findings(gone) == ()
    assert next_letter(gone) == "C"
    stands = standing(gone)
    assert stands is not None and stands.letter == "A"
    moved = changes_since(gone, PIPE.study(gone, BOOK, B).price, BOOK)
    assert moved is not None and moved.letter == "A"
    assert paper_stem(gone, b) == "lr-2026-041-b-withdrawn"
    both = withdraw(gone, "A", date(2027, 3, 11), "Not wanted")
    assert issue_findings(both) == ()
    assert standing(both) is None
    assert changes_since(both, PIPE.study(both, BOOK, B).price, BOOK) is None
    assert expired(both, date(2030, 1, 1)) == ()
    assert [r.letter for r in issued(both, date(2027, 3, 12), "Anew").issued] == ["A", "B", "C"]


def test_what_cannot_be_withdrawn(with_b: Job) -> None:
    gone = withdraw(with_b, "A", B, "Replaced")
    with pytest.raises(IssueError, match="withdrawn on March 9, 2027 already"):
        withdraw(gone, "A", B, "Again")
    with pytest.raises(IssueError, match="Say why"):
        withdraw(with_b, "A", B, "  ")
    with pytest.raises(IssueError, match="cannot be withdrawn on March 8, 2027"):
        withdraw(with_b, "B", date(2027, 3, 8), "Too early")
    with pytest.raises(LookupError, match="no revision C"):
        withdraw(with_b, "C", B, "Not there")


def test_a_paper_that_fails_issues_nothing_and_one_too_large_is_refused(job: Job) -> None:
    def broken(new: Issued) -> bytes:
        raise OSError(f"no ink for {new.letter}")

    with pytest.raises(OSError, match="no ink for A"):
        issued(job, A, "First", broken)
    with pytest.raises(IssueError, match="larger than 8 MB"):
        issued(job, A, "First", lambda _: bytes(8_000_001))


def test_a_file_that_holds_another_revision_is_not_written_over(with_a: Job, with_b: Job, job: Job) -> None:
    """Two windows on one file: the one that does not know revision A could issue a second one."""
    check_lineage(with_b, with_a.issued)
    check_lineage(with_a, with_a.issued)
    check_lineage(with_a, job.issued)
    for behind, kept in ((job, with_a), (with_a, with_b), (issued(job, B, "Another A"), with_a)):
        with pytest.raises(IssueError, match="issued from another window"):
            check_lineage(behind, kept.issued)


def test_history_stops_at_what_cannot_be_taken_back() -> None:
    past = History.of("a").after("One", "b").after("Issue revision A", "c", final=True).after("Two", "d")
    assert past.undo_name == "Two"
    back = past.back()
    assert back.now == "c"
    assert back.undo_name == ""
    assert back.floor_name == "Issue revision A"
    assert back.back().now == "c"
    for position in (0, 1):
        with pytest.raises(IndexError):
            back.at(position)
    assert back.forth().now == "d"
    assert back.forth().floor_name == ""


def test_a_draft_says_so_on_every_page_and_in_its_file_name_and_a_revision_never(
    with_a: Job, job: Job
) -> None:
    for draft, name, stem in (
        (job, "quote LR-2026-041, draft", "lr-2026-041-draft"),
        (with_a, "quote LR-2026-041, draft after revision A", "lr-2026-041-draft-after-a"),
    ):
        pages = pages_of(write_quote(study(draft, BOOK, A)))
        assert all("DRAFT" in page for page in pages), name
        assert name in " ".join(pages)
        assert "revision B" not in " ".join(pages)
        assert "it can be accepted once it is issued as a revision" in " ".join(pages)
        assert paper_stem(draft) == stem
    made = printed(with_a, B, "Second")
    pdf = kept_paper(made.issued[1])
    assert "draft" not in text_of(pdf).casefold()
    mark = f"Revision B, fingerprint {short(made.issued[1].fingerprint)}"
    assert all(mark in page for page in pages_of(pdf))
    assert made.issued[1].fingerprint.encode() in pdf
    assert paper_stem(made, made.issued[1]) == "lr-2026-041-b"
    changes = changes_between(*made.issued)
    assert not changes.job


def test_the_first_paper_names_no_revision_before_it(job: Job) -> None:
    made = printed(job, A, "First")
    text = text_of(kept_paper(made.issued[0]))
    assert "Changes since" not in text
    assert "dated March 1, 2027" in text
