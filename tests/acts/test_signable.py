"""What nobody can sign is not issued, and its draft has no lines to sign on."""

from __future__ import annotations

import json
from functools import partial
from typing import Any

import pytest

from estimator.acts.alternates import with_mounts
from estimator.acts.issue import IssueError, issue
from estimator.acts.options import with_option
from estimator.acts.signable import not_signable, unnamed
from estimator.documents.quote import write_quote, write_revision
from estimator.model.choices import Mount
from estimator.model.edit import with_value
from estimator.model.issued import kept_paper
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook
from estimator.store.jobs import job_text
from estimator.store.pricebooks import shipped_price_book
from estimator.study import study
from tests.days import STUDIED
from tests.documents.studies import made, raw, text_of

BOOK = shipped_price_book()
NAMELESS = [
    (("company", "name"), "Company, Name: it is empty; enter who offers the work."),
    (("customer", "name"), "Customer, Name: it is empty; enter who orders the work."),
    (("quote", "number"), "Quote, Quote number: it is empty; enter the number that the order is known by."),
]


def _without(*places: tuple[str, str]) -> Job:
    job = made(raw()).job
    for place in places:
        job = with_value(job, place, "  ")
    return job


def _refused(job: Job, book: PriceBook = BOOK) -> str:
    whole = study(job, book, STUDIED)
    with pytest.raises(IssueError) as caught:
        issue(whole, "First", partial(write_revision, whole))
    return str(caught.value)


@pytest.mark.parametrize(("place", "sentence"), NAMELESS)
def test_a_nameless_job_is_not_issued(place: tuple[str, str], sentence: str) -> None:
    """It was issued, with “Customer not named yet” above the line to sign on."""
    job = _without(place)
    assert _refused(job) == sentence
    text = text_of(write_quote(study(job, BOOK, STUDIED)))
    block = text[text.index("This draft cannot be signed as it is:") :]
    assert sentence in block
    assert "Signature" not in text and "The customer orders the work" not in text


def test_all_that_is_missing_is_told_at_once() -> None:
    assert _refused(_without(*(place for place, _ in NAMELESS))) == " ".join(s for _, s in NAMELESS)
    empty = unnamed(Job())
    assert empty[:3] == tuple(s for _, s in NAMELESS)
    assert empty[3:] == ("Design: it has no hose drops; there is nothing to order.",)


def test_an_empty_job_prints_what_it_lacks() -> None:
    text = text_of(write_quote(study(Job(), BOOK, STUDIED)))
    assert "cannot be signed as it is" in text and "nothing to order" in text
    assert "Signature" not in text


def test_an_offered_option_without_drops_is_not_issued_and_one_kept_back_is() -> None:
    job = made(raw()).job
    bare = with_value(job.design, ("drops",), ())
    kept, _ = with_option(job, "Nothing at all", bare)
    assert not_signable(study(kept, BOOK, STUDIED)) == ()
    offered, _ = with_option(job, "Nothing at all", bare, offered=True)
    assert _refused(offered) == "Option “Nothing at all”: it has no hose drops; there is nothing to order."


def test_a_price_with_holes_is_not_signed() -> None:
    bare = PriceBook(currency=BOOK.currency, entries=BOOK.entries[5:])
    job = made(raw()).job
    assert "have no price yet" in _refused(job, bare)
    assert "Signature" not in text_of(write_quote(study(job, bare, STUDIED)))


def test_what_can_be_signed_has_two_signatures_and_is_issued() -> None:
    job, _ = with_option(
        made(raw()).job, "Panels", with_mounts(made(raw()).job.design, Mount.PANEL), offered=True
    )
    whole = study(job, BOOK, STUDIED)
    assert not_signable(whole) == ()
    text = text_of(kept_paper(issue(whole, "First", partial(write_revision, whole)).issued[0]))
    assert text[text.index("Acceptance The customer orders") :].count("Signature") == 2


def _staged(**terms: Any) -> Job:
    data = raw()
    data["terms"] |= {"stages": [{"name": "Order", "percent": "40"}, {"name": "Done"}], **terms}
    return made(json.loads(job_text(made(data).job))).job


def test_the_customer_ticks_sees_what_is_paid_and_signs_in_one_place() -> None:
    """Ticks stood on the options page, payments of the base option alone with the items, signatures elsewhere."""
    job = _staged()
    for name in ("Panels", "Five", "Six", "Seven"):
        job, _ = with_option(job, name, with_mounts(job.design, Mount.PANEL), offered=True)
    whole = study(job, BOOK, STUDIED)
    text = text_of(write_quote(whole))
    block = text[text.index("Acceptance This is a draft") :]
    block = block[: block.index("Basis of design")]
    assert "for the total of the option ticked here; without a tick, for the base option at $" in block
    assert "Tick one Option Total to pay" in block and text.count("Tick one") == 1
    assert block.index("Tick one") < block.index("Payments") < block.index("Signature")
    assert text.index("Payments Payment Share") == text.index("Payments")
    for made_ in (whole, *whole.offers):
        total = f"${made_.price.totals.total.likely:,.2f}"
        assert total in block
        for stage in made_.price.stages:
            assert f"${stage.amount:,.2f}" in block
        assert sum(s.amount for s in made_.price.stages) == made_.price.totals.total.likely
    # Five totals, four columns at most in a table.
    assert block.count("Payment Share") == 2 and block.count("All payments") == 2


def test_without_options_the_block_has_one_total_and_its_payments() -> None:
    text = text_of(write_quote(study(_staged(), BOOK, STUDIED)))
    block = text[text.index("Acceptance This is a draft") :]
    assert "for a total of $" in block and "Tick one" not in text
    assert "Payment Share Amount Order 40 %" in block.replace("\xa0", " ")
