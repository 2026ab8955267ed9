"""`sign` and `unsign`, and what `check`, `quote` and `issue` do about what must never go out."""

from __future__ import annotations

import json

import pytest

from estimator.store.jobs import job_text
from tests.cli.hands import Terminal
from tests.documents.studies import text_of

DAY = ("--date", "2027-03-01")


@pytest.fixture
def bleach(built: Terminal) -> Terminal:
    """The quick build with bleach beside a solvent."""
    assert built.run("edit", "JOB", "--set", "design.products.prewash.sheet.classes=hypochlorite", *DAY) == 1
    return built


def keys(terminal: Terminal) -> list[str]:
    """The keys that `check` tells."""
    terminal.run("check", "JOB", "--json", *DAY)
    found = json.loads(terminal.out)["findings"]
    return [f["key"] for f in found if f["grade"] == "never" and f["signed"] is None]


def test_check_tells_what_must_never_go_out_first_with_its_key(bleach: Terminal) -> None:
    (key, *_) = keys(bleach)
    assert bleach.run("check", "JOB", *DAY) == 1
    first = bleach.out.splitlines()[0]
    assert first.startswith("never  design.products.") and f"Sign for it by: {key}." in first
    assert "Source: " in first


def test_a_blocked_job_is_neither_quoted_nor_issued(bleach: Terminal) -> None:
    paper = bleach.folder / "a.pdf"
    draft = bleach.folder / "a-draft.pdf"
    assert bleach.run("quote", "JOB", "--pdf", paper, *DAY) == 1
    assert "No quote is written: " in bleach.err and "must never go out" in bleach.err
    assert "never  design.products." in bleach.err and not draft.exists()
    for anyway in ((), ("--anyway",)):
        assert bleach.run("issue", "JOB", "--reason", "x", "--pdf", paper, *anyway, *DAY) == 1
        assert "Nothing was issued: " in bleach.err and not paper.exists()
    assert bleach.whole.issued == ()


def test_a_draft_is_written_anyway_and_says_what_keeps_it_back(bleach: Terminal) -> None:
    paper = bleach.folder / "a-draft.pdf"
    assert bleach.run("quote", "JOB", "--pdf", paper, "--anyway", *DAY) == 1
    text = text_of(paper.read_bytes())
    assert text.count("This cannot be accepted as it is") == 2
    assert "Stop. " in text and "must never meet" in text


def test_what_is_signed_for_goes_out_with_the_name_on_the_paper(bleach: Terminal) -> None:
    found = keys(bleach)
    told = bleach.json("sign", "JOB", *found, "--name", "A. Demo", "--reason", "Two rooms.", *DAY)
    assert told["acts"] == [f"Sign for {len(set(found))} finding{'s' if len(set(found)) > 1 else ''}"]
    assert [f["signed"] for f in told["findings"] if f["grade"] == "never"] == [
        {"name": "A. Demo", "reason": "Two rooms.", "dated": "2027-03-01"}
    ] * len(found)
    bleach.good("check", "JOB", *DAY)
    assert "Signed for by A. Demo on March 1, 2027: Two rooms." in bleach.out
    paper = bleach.folder / "a.pdf"
    names = ("company.name=Demo company", "customer.name=Demo customer", "quote.number=1")
    bleach.good("edit", "JOB", *(word for name in names for word in ("--set", name)), *DAY)
    bleach.good("issue", "JOB", "--reason", "First", "--pdf", paper, *DAY)
    text = text_of(paper.read_bytes())
    assert text.count("Signed for by A. Demo on March 1, 2027: Two rooms.") >= 2
    assert "cannot be accepted as it is" not in text


def test_a_signature_is_taken_back(bleach: Terminal) -> None:
    before = bleach.whole
    found = keys(bleach)
    bleach.good("sign", "JOB", *found, "--name", "A", "--reason", "x", *DAY)
    assert bleach.run("unsign", "JOB", *found, *DAY) == 1
    assert job_text(bleach.whole) == job_text(before)
    assert keys(bleach) == found


def test_a_signature_that_holds_for_nothing_is_told(bleach: Terminal) -> None:
    found = keys(bleach)
    bleach.good("sign", "JOB", *found, "--name", "A. Demo", "--reason", "x", *DAY)
    # Two fields in one edit: the name of the product is another.
    bleach.run("edit", "JOB", "--set", "design.products.prewash.name=Other", *DAY)
    assert bleach.run("check", "JOB", *DAY) == 1
    assert "holds for nothing found now" in bleach.out
    assert bleach.run("check", "JOB", "--json", *DAY) == 1
    (stale, *_) = json.loads(bleach.out)["stale_signatures"]
    assert (stale["name"], stale["key"]) == ("A. Demo", found[0])
    assert bleach.run("unsign", "JOB", *found, *DAY) == 1
    assert bleach.whole.signed == ()


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["nowhere", "--name", "A", "--reason", "x"], "KEY: “nowhere” is of nothing that must never go out"),
        (["KEY", "--name", " ", "--reason", "x"], "Name: A signature needs the name"),
        (["KEY", "--name", "A", "--reason", ""], "Reason: A signature needs a reason"),
        (["KEY", "--reason", "x"], "--name"),
        (["KEY", "--name", "A"], "--reason"),
        (["--name", "A", "--reason", "x"], "KEY"),
    ],
)
def test_bad_input(bleach: Terminal, arguments: list[str], words: str) -> None:
    found = keys(bleach)
    said = bleach.refused("sign", "JOB", *(found[0] if a == "KEY" else a for a in arguments), *DAY)
    assert words in said
    assert "of nothing that was signed for; there is: nothing" in bleach.refused("unsign", "JOB", found[0])


def test_a_signature_is_not_edited(bleach: Terminal) -> None:
    bleach.good("sign", "JOB", *keys(bleach), "--name", "A", "--reason", "x", *DAY)
    for edit in (("--set", "signed.0.name=B"), ("--remove", "signed.0"), ("--add", "signed")):
        assert "take the signature back and sign anew" in bleach.refused("edit", "JOB", *edit, *DAY)


def test_the_list_of_options_tells_what_is_open_in_each(built: Terminal) -> None:
    """Bleach in the option alone: the base has none of it."""
    built.good("option", "copy", "JOB", "base", "--name", "Bleach", *DAY)
    place = "design.products.prewash.sheet.classes=hypochlorite"
    built.run("edit", "JOB", "--option", "option-1", "--only-here", "--set", place, *DAY)
    built.run("option", "offer", "JOB", "option-1", *DAY)
    assert built.run("option", "list", "JOB", *DAY) == 1
    base, option = built.out.splitlines()[:2]
    assert "never" not in base and "1 never" in option
    built.run("option", "list", "JOB", "--json", *DAY)
    grades = {row["id"]: row["grades"] for row in json.loads(built.out)["options"]}
    assert (grades["base"]["never"], grades["option-1"]["never"]) == (0, 1)


def test_the_day_of_a_signature_follows_the_job(bleach: Terminal) -> None:
    """In the language of its numbers, in US units as in metric ones: neither asks again."""
    bleach.good("sign", "JOB", *keys(bleach), "--name", "A. Demo", "--reason", "Two rooms", *DAY)
    bleach.good("edit", "JOB", "--set", "terms.locale=de_DE", "--set", "units=us", *DAY)
    bleach.good("check", "JOB", *DAY)
    assert "Signed for by A. Demo on 1. März 2027: Two rooms." in bleach.out
