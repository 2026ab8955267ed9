"""Options to tick and the list of changes of a later revision, as the customer reads them."""

from __future__ import annotations

import hashlib
import re
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import partial

import pytest

from estimator.acts.alternates import with_guns, with_hoses, with_mounts
from estimator.acts.issue import issue, withdraw
from estimator.acts.options import with_option
from estimator.acts.quick_build import GunGrade
from estimator.documents.enclosed import enclose
from estimator.documents.pages.options import function_words
from estimator.documents.quote import QuoteError, unprintable, write_quote, write_revision
from estimator.model.choices import HoseKind, Mount
from estimator.model.edit import with_value
from estimator.model.issued import handed, kept_paper
from estimator.model.job import Job
from estimator.model.option_designs import worked_on
from estimator.model.pricebook import PriceBook
from estimator.model.revisions import revision
from estimator.money import money_text
from estimator.pricing.book_changes import bulk_change
from estimator.sizing.types import Verdict
from estimator.store.pricebooks import shipped_price_book
from estimator.study import study
from tests.days import STUDIED
from tests.documents.studies import made, pages_of, raw, text_of

A, B = date(2027, 3, 1), date(2027, 3, 9)
BOOK = shipped_price_book()


def _money(amount: Decimal) -> str:
    return money_text(amount, "USD")


def _options() -> Job:
    job = made(raw()).job
    job, _ = with_option(job, "Metal guns", with_guns(job.design, GunGrade.METAL), offered=True)
    job, _ = with_option(job, "Panels", with_mounts(job.design, Mount.PANEL), offered=True)
    job, _ = with_option(job, "Kept to ourselves", with_hoses(job.design, HoseKind.STRAIGHT))
    return job


def _issue(job: Job, on: date, reason: str, book: PriceBook = BOOK) -> Job:
    whole = study(job, book, on)
    return issue(whole, reason, partial(write_revision, whole))


def _paper(job: Job, letter: str) -> bytes:
    return kept_paper(revision(job, letter))


def _total(job: Job, letter: str) -> Decimal:
    return handed(revision(job, letter)).total


def _revised() -> Job:
    """A, then a straight hose at the first drop, 5 % discount, another price rule; then B."""
    job = _options()
    job = _issue(job, A, "First quote")
    job = with_value(job, ("design", "drops", 0, "hose"), HoseKind.STRAIGHT)
    job = with_value(job, ("terms", "discount_percent"), Decimal(5))
    job = with_value(job, ("terms", "rule_percent"), Decimal("37.31"))
    job = with_value(job, ("customer", "phone"), "000")
    return _issue(job, B, "As agreed at the counter.")


@pytest.fixture(scope="module")
def revised() -> Job:
    return _revised()


def _page(pdf: bytes, title: str) -> str:
    return next(text for text in pages_of(pdf)[1:] if title in text)


def test_offered_options_have_price_difference_and_function() -> None:
    job = _options()
    base = study(job, BOOK, STUDIED)
    text = _page(write_quote(replace(base, on=A)), "Option Total to pay Against the base")
    total = base.price.totals.total.likely
    assert f"{_money(total)} –" in text
    for alternative in job.alternatives[:2]:
        alone = study(worked_on(job, alternative.id), BOOK, STUDIED)
        price = alone.price.totals.total.likely
        change = f"+{_money(price - total)}" if price > total else _money(price - total)
        inside = sum(d.verdict is Verdict.GOOD for d in alone.proof.drops)
        assert inside == len(alone.proof.drops) == 16
        assert (
            f"{alternative.name} All 16 liquid drops are inside their nozzle's window. {_money(price)} {change}"
            in text
        )
        assert f"{alternative.name} against the base option" in text
    assert "Welded panel for a bay side: 6, of which the base option has none." in text
    assert "Kept to ourselves" not in text_of(write_quote(replace(base, on=A)))
    assert not re.search(r"\b(costs?|margins?|markups?|profit)\b", text, re.IGNORECASE)


def test_without_offered_options_there_is_no_page_of_them() -> None:
    job = made(raw()).job
    job, _ = with_option(job, "Hidden", with_mounts(job.design, Mount.PANEL))
    text = text_of(write_quote(study(job, BOOK, A)))
    assert "Against the base" not in text and "option ticked" not in text and "Tick one" not in text


def test_drops_outside_their_window_are_counted_and_named() -> None:
    job = raw()
    # A compressor at 1.5 bar moves every pump to a pressure below the window of its nozzles.
    job["site"]["air"]["pressure"] = "1.5 bar"
    whole, _ = with_option(
        made(job).job, "Panels", with_mounts(made(job).job.design, Mount.PANEL), offered=True
    )
    offer = enclose(study(whole, BOOK, STUDIED)).offers[1]
    outside = [d for d in offer.study.proof.drops if d.verdict is not Verdict.GOOD]
    assert len(outside) == 16
    words = function_words(offer)
    assert words.startswith("0 of 16 liquid drops are inside their nozzle's window. Outside: Bay 1 left,")
    assert words.endswith("and 12 more.")


def test_the_acceptance_names_the_tick() -> None:
    text = text_of(write_quote(study(_options(), BOOK, A)))
    assert "for the total of the option ticked here; without a tick, for the base option at $" in text


def test_revision_b_lists_what_was_changed_and_nothing_of_cost(revised: Job) -> None:
    pdf = _paper(revised, "B")
    page = _page(pdf, "Changes since revision A")
    a, b = _total(revised, "A"), _total(revised, "B")
    verb = "rises" if b > a else "falls"
    assert (
        f"takes the place of revision A of March 1, 2027. The total to pay {verb} by {_money(abs(b - a))}"
        in page
    )
    assert "Reason: As agreed at the counter." in page
    listed = page[page.index("What was changed") : page.index("What it does to the price")]
    sentences = [s.strip() for s in listed.split("–")[1:]]
    assert sentences == [
        "Customer, Phone: (555) 555-0117 → 000.",
        "Drops “Bay 1 left, Alkaline foam pre-wash”, Hose: Coil → Straight.",
        "Discount: 0 % → 5 %.",
        "Prices: worked out anew.",
    ]
    assert "37.31" not in text_of(pdf)
    assert not re.search(r"\b(costs?|margins?|markups?|profit)\b", text_of(pdf), re.IGNORECASE)


def test_printed_changes_add_up_to_the_change_of_the_total(revised: Job) -> None:
    page = _page(_paper(revised, "B"), "Changes since revision A")
    table = page[page.index("Item Quantity Before Now Change") :]
    amount = r"([-+]?\$[\d,]+\.\d\d)"
    rows = re.findall(rf"{amount} {amount} ({amount}|no change)", table)
    figures = [
        tuple(Decimal(re.sub(r"[$,+]", "", x)) if x != "no change" else Decimal(0) for x in row[:3])
        for row in rows
    ]
    *parts, total = figures
    assert len(parts) >= 5
    assert all(before + change == after for before, after, change in figures)
    assert sum(change for *_, change in parts) == total[2]
    assert total[:2] == (_total(revised, "A"), _total(revised, "B"))


def test_rows_that_moved_with_the_terms_alone_are_one_line_on_paper(revised: Job) -> None:
    """Another price rule moves every row: 30 lines and more told nothing of what was agreed."""
    page = _page(_paper(revised, "B"), "Changes since revision A")
    table = page[page.index("Item Quantity Before Now Change") :]
    (count,) = re.findall(r"(\d+) items of the same quantity at another price", table)
    assert int(count) > 20
    # The hose that was taken and the one that came are told, each by itself; a tank only moved with the rule.
    assert table.count("Coil hose") >= 1 and table.count("Straight hose") >= 1
    assert "Day tank" not in table
    assert len(re.findall(r"\$[\d,]+\.\d\d \$[\d,]+\.\d\d [-+n]", table)) <= 10


def test_the_paper_of_a_revision_is_the_same_whatever_the_book_says(revised: Job) -> None:
    first = _paper(revised, "A")
    assert hashlib.sha256(first).hexdigest() == revised.issued[0].paper_fingerprint
    assert "Changes since" not in text_of(first)
    # A revision more at dearer prices changes nothing of those before.
    dearer = bulk_change(BOOK, Decimal(20), B)
    later = _issue(with_value(revised, ("prices",), None), B, "New prices", dearer)
    assert _total(later, "C") > _total(revised, "B")
    assert _paper(later, "A") == first
    assert _paper(later, "B") == _paper(revised, "B")


def test_a_draft_printed_after_its_last_day_says_expired_and_a_paper_never_changes(revised: Job) -> None:
    # 9 March + 30 days = 8 April (counted by hand). A copy of the paper is the same on any day.
    assert "can be accepted until April 8, 2027" in text_of(_paper(revised, "B"))
    assert "expired" not in text_of(_paper(revised, "B"))
    draft = with_value(revised, ("quote", "dated"), B)
    assert "expired" not in text_of(write_quote(study(draft, BOOK, date(2027, 4, 8))))
    text = text_of(write_quote(study(draft, BOOK, date(2027, 4, 9))))
    assert "Valid until April 8, 2027 – expired" in text
    assert "This quote has expired: it could be accepted until April 8, 2027" in text


def test_a_withdrawn_revision_is_passed_over_and_named(revised: Job) -> None:
    job = withdraw(revised, "B", date(2027, 3, 10), "Wrong hoses")
    page = _page(_paper(_issue(job, date(2027, 3, 12), "Anew"), "C"), "Changes since revision A")
    assert "revision C takes the place of revision A of March 1, 2027." in page
    assert "Revision B was withdrawn on March 10, 2027." in page
    assert "Wrong hoses" not in page


def test_the_job_as_it_is_now_is_compared_with_the_last_revision(revised: Job) -> None:
    same = text_of(write_quote(study(revised, BOOK, B)))
    assert "Changes since revision B" in same and "Nothing was changed." in same
    assert "The total to pay stays at" in same
    assert "This draft would take the place of revision B of March 9, 2027." in same
    assert "It is not issued and cannot be accepted." in same
    job = with_value(revised, ("alternatives", 2, "offered"), True)
    job = with_value(job, ("alternatives", 0, "offered"), False)
    text = _page(write_quote(study(job, BOOK, B)), "Changes since revision B")
    assert "Option “Kept to ourselves”: added." in text
    assert "Option “Metal guns”: no longer offered." in text


def test_what_cannot_be_printed_is_told_by_field() -> None:
    job = _options()
    broken = with_value(job, ("alternatives", 1, "name"), "Panels \U0001f697")
    assert [f.place for f in unprintable(study(broken, BOOK, STUDIED))] == ["alternatives.1.name"]
    first = _issue(job, A, "First")
    with pytest.raises(QuoteError, match=re.escape("U+1F697")) as caught:
        _issue(first, B, "Because \U0001f697")
    assert [f.place for f in caught.value.findings] == ["issued"]


def test_another_currency_than_the_last_revision_is_refused() -> None:
    job = _options()
    job = _issue(job, A, "First")
    job = with_value(with_value(job, ("terms", "currency"), "EUR"), ("prices",), None)
    with pytest.raises(QuoteError, match="USD and in EUR"):
        write_quote(study(job, BOOK, B))
