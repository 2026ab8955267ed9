"""What an order says besides work and price: numbers, the place of the work, the texts of the order."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from estimator.acts.edits import edited, edits_from
from estimator.documents.quote import unprintable, write_quote
from estimator.model.edit import EditError, value_at
from estimator.model.job import Job
from estimator.model.party import Company
from estimator.store.jobs import job_from_text, job_text, load_job
from tests.documents.studies import DAY, made, packed, pages_of, quoted, raw, text_of

GIVEN = {
    "company.licence": "Plumbing licence L-1 <b>",
    "company.tax_number": "T-99 & co",
    "quote.order_number": "PO 4711",
    "quote.site_address": "Yard 3\nOld Quay",
    "terms.lead_time": "6 days",
    "terms.payment_terms": "Cash at the counter.\nNo cheques.",
    "terms.change_orders": "Both sides sign.",
    "terms.warranty": "One year.",
    "terms.insurance": "Public liability.",
}
OLD = Path(__file__).parents[1] / "store" / "format_2" / "gannet-quay.baydrop"


def _with(**texts: str) -> Job:
    done = edited(made(raw()).job, edits_from([{"set": place, "to": text} for place, text in texts.items()]))
    assert isinstance(done.whole, Job)
    return done.whole


def _text(job: Job) -> str:
    return text_of(quoted(json.loads(job_text(job))))


def test_each_is_printed_where_it_is_given_and_is_kept_in_the_file() -> None:
    job = _with(**GIVEN)
    assert job_from_text(job_text(job), "x") == job
    cover, *rest = pages_of(quoted(json.loads(job_text(job))))
    for words in (
        "Licence number Plumbing licence L-1 <b>",
        "Tax number T-99 & co",
        "Your order PO 4711",
        "Place of the work Yard 3 Old Quay",
    ):
        assert words in cover
    inside = " ".join(rest)
    for words in (
        "Lead time: Work on site begins within 6 days of the order.",
        "Payment: Cash at the counter. No cheques.",
        "Changes after the order: Both sides sign.",
        "Warranty: One year.",
        "Insurance: Public liability.",
    ):
        assert words in inside


def test_nothing_is_printed_of_what_is_not_given() -> None:
    text = _text(_with(**dict.fromkeys(GIVEN, "")))
    for words in ("Licence number", "Tax number", "Your order", "Place of the work", "Terms of the order"):
        assert words not in text
    one = _text(_with(**{**dict.fromkeys(GIVEN, ""), "terms.insurance": "Public liability."}))
    assert "Terms of the order Insurance: Public liability." in one
    assert "Warranty:" not in one and "Lead time:" not in one


def test_an_older_file_has_none_of_them() -> None:
    job = load_job(OLD)
    assert job.company == Company(
        **{name: getattr(job.company, name) for name in ("name", "contact", "address", "phone", "email")}
    )
    for place in GIVEN:
        assert value_at(job, place.split(".")) in ("", None), place


@pytest.mark.parametrize("place", [place for place in GIVEN if place != "terms.lead_time"])
def test_what_cannot_be_printed_is_told_by_its_field(place: str) -> None:
    study = made(json.loads(job_text(_with(**{place: "x \U0001f697"}))))
    assert [f.place for f in unprintable(study)] == [place]


@pytest.mark.parametrize(("text", "told"), [("6", "unit"), ("0 days", "1 day"), ("-3 days", "1 day")])
def test_a_lead_time_is_a_time(text: str, told: str) -> None:
    with pytest.raises(EditError, match=told):
        _with(**{"terms.lead_time": text})


def test_texts_of_the_greatest_length_stay_inside_their_pages() -> None:
    longest = dict.fromkeys(GIVEN, "W" * 120) | {
        place: "Жук " * 450 for place in GIVEN if place.split(".")[1] in ("payment_terms", "warranty")
    }
    longest |= {"terms.lead_time": "1000 days", "quote.site_address": "\n".join(["x y"] * 400)}
    pdf = write_quote(replace(made(json.loads(job_text(_with(**longest)))), on=DAY))
    assert packed(text_of(pdf)).count("W" * 20) >= 5
