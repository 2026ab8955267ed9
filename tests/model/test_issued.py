"""Issued revisions in a file: what was changed outside is found, and the rest stays of use."""

from __future__ import annotations

import base64
import hashlib
import json
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from estimator.model.issued import (
    PROMISE,
    Handed,
    Issued,
    Ledger,
    PaperError,
    TextError,
    Withdrawal,
    handed,
    issued_text,
    job_then,
    kept_paper,
    packed_paper,
    seal,
    withdrawal_seal,
)
from estimator.model.job import FORMAT, Job, snapshot_of
from estimator.model.revisions import issue_findings, next_letter, revision, revision_notes, standing
from estimator.model.seals import fingerprint, short
from estimator.store.jobs import job_from_text, job_text
from tests.random_jobs import jobs


def paper_of(letter: str, of: str) -> bytes:
    return f"%PDF of revision {letter}, content SHA-256 {of}".encode() + b"\x00\xff" * 40


def record(letter: str, follows: str, **more: Any) -> Issued:
    """A revision of a blank job, sealed as the program seals it."""
    figures = Handed(
        letter=letter,
        dated=date(2027, 3, 1),
        reason=f"Reason {letter}",
        currency="USD",
        locale="en_US",
        valid_until=date(2027, 3, 31),
        total=Decimal("12.50"),
        follows=follows,
    )
    text = issued_text(figures, snapshot_of(Job()))
    pdf = paper_of(letter, fingerprint(text))
    return Issued(
        letter=letter,
        text=text,
        fingerprint=fingerprint(text),
        paper=packed_paper(pdf),
        paper_fingerprint=hashlib.sha256(pdf).hexdigest(),
        **more,
    )


@pytest.fixture(scope="module")
def three() -> Job:
    """A, B (withdrawn) and C."""
    a = record("A", "")
    b = record("B", seal(a))
    gone = Withdrawal(dated=date(2027, 3, 5), reason="Wrong hoses")
    c = record("C", seal(b))
    b = b.model_copy(update={"withdrawn": gone})
    ledger = Ledger(last="C", seal=seal(c), withdrawals=withdrawal_seal("B", gone))
    return Job(issued=(a, b, c), ledger=ledger)


def changed(job: Job, change: Callable[[dict[str, Any]], object]) -> Job:
    """The job of the same file after an edit outside the program."""
    data = json.loads(job_text(job))
    change(data)
    return job_from_text(json.dumps(data), "x")


def rules(job: Job) -> list[tuple[str, str]]:
    return [(f.place, f.rule) for f in issue_findings(job)]


def reworked(row: dict[str, Any], **fields: Any) -> None:
    """Content changed by somebody who works its fingerprint out anew."""
    row["text"] = json.dumps({**json.loads(row["text"]), **fields}, sort_keys=True, separators=(",", ":"))
    row["fingerprint"] = fingerprint(row["text"])


def repapered(row: dict[str, Any], pdf: bytes) -> None:
    """A paper changed by somebody who works its fingerprint out anew."""
    row["paper"] = packed_paper(pdf)
    row["paper_fingerprint"] = hashlib.sha256(pdf).hexdigest()


def test_what_was_issued_is_whole(three: Job) -> None:
    assert rules(three) == []
    assert [handed(r).reason for r in three.issued] == ["Reason A", "Reason B", "Reason C"]
    assert kept_paper(three.issued[0]) == paper_of("A", three.issued[0].fingerprint)
    assert job_then(three.issued[0]) == snapshot_of(Job())
    assert standing(three) is three.issued[2]
    assert next_letter(three) == "D"
    assert job_from_text(job_text(three), "x") == three


@dataclass(frozen=True)
class Tampering:
    """What was done to the file, and what is told of it."""

    name: str
    change: Callable[[dict[str, Any]], object]
    told: list[tuple[str, str]]


TAMPERINGS = (
    Tampering("last removed", lambda d: d["issued"].pop(), [("ledger", "revision-missing")]),
    Tampering(
        "all removed",
        lambda d: d["issued"].clear(),
        [("ledger", "revision-missing"), ("ledger", "withdrawal-changed")],
    ),
    Tampering("first removed", lambda d: d["issued"].pop(0), [("issued.0", "revision-order")]),
    Tampering(
        "middle removed",
        lambda d: d["issued"].pop(1),
        [("issued.1", "revision-order"), ("ledger", "withdrawal-changed")],
    ),
    Tampering("swapped", lambda d: d["issued"].reverse(), [
        ("issued.0", "revision-order"),
        ("issued.1", "revision-order"),
        ("issued.2", "revision-order"),
        ("ledger", "revision-missing"),
    ]),
    Tampering(
        "total changed",
        lambda d: d["issued"][1].update(text=d["issued"][1]["text"].replace('"12.50"', '"12.00"')),
        [("issued.1", "revision-changed")],
    ),
    Tampering(
        "total changed, hash worked out anew",
        lambda d: reworked(d["issued"][1], total="12.00"),
        [("issued.1", "paper-other"), ("issued.2", "revision-order")],
    ),
    Tampering(
        "last total changed, hash worked out anew",
        lambda d: reworked(d["issued"][2], total="12.00"),
        [("issued.2", "paper-other"), ("ledger", "ledger-changed")],
    ),
    Tampering(
        "paper swapped", lambda d: d["issued"][0].update(paper=d["issued"][2]["paper"]),
        [("issued.0", "paper-damaged")],
    ),
    Tampering(
        "paper swapped, hash worked out anew",
        lambda d: repapered(d["issued"][0], b"%PDF cheaper"),
        [("issued.0", "paper-other"), ("issued.1", "revision-order")],
    ),
    Tampering(
        "last paper redrawn, hash worked out anew",
        lambda d: repapered(d["issued"][2], b"%PDF cheaper " + d["issued"][2]["fingerprint"].encode()),
        [("ledger", "ledger-changed")],
    ),
    Tampering(
        "paper removed", lambda d: d["issued"][1].update(paper=""), [("issued.1", "paper-damaged")]
    ),
    Tampering(
        "withdrawal removed",
        lambda d: d["issued"][1].update(withdrawn=None),
        [("ledger", "withdrawal-changed")],
    ),
    Tampering(
        "withdrawal reworded",
        lambda d: d["issued"][1]["withdrawn"].update(reason="Dearer hoses"),
        [("ledger", "withdrawal-changed")],
    ),
    Tampering(
        "letter changed", lambda d: d["issued"][2].update(letter="D"),
        [("issued.2", "revision-letter"), ("issued.2", "revision-gap"), ("ledger", "ledger-changed")],
    ),
    Tampering("ledger wound back", lambda d: d["ledger"].update(last="B"), [("ledger", "ledger-changed")]),
    Tampering("ledger blank", lambda d: d["ledger"].update(last="", seal=""), [("ledger", "ledger-changed")]),
    Tampering(
        "two of one letter",
        lambda d: d["issued"].append(d["issued"][2]),
        [
            ("issued.2", "revision-doubled"),
            ("issued.3", "revision-order"),
            ("issued.3", "revision-doubled"),
        ],
    ),
)  # fmt: skip


@pytest.mark.parametrize("tampering", TAMPERINGS, ids=lambda t: t.name)
def test_a_file_changed_outside_is_found(three: Job, tampering: Tampering) -> None:
    job = changed(three, tampering.change)
    assert rules(job) == tampering.told
    for finding in issue_findings(job):
        assert finding.message.endswith("."), finding.message
    # Told, and nothing lost: the job is saved as it was opened.
    assert job_from_text(job_text(job), "x") == job


def test_a_removed_revision_s_letter_is_not_used_again(three: Job) -> None:
    for change in (lambda d: d["issued"].pop(), lambda d: d["issued"].clear()):
        assert next_letter(changed(three, change)) == "D"


def test_one_who_works_everything_out_anew_is_found_by_the_paper_in_hand(three: Job) -> None:
    """What the fingerprint does not promise: all hashes made to fit. The short form is another one then."""
    c = three.issued[2]

    def forge(data: dict[str, Any]) -> None:
        row = data["issued"][2]
        reworked(row, total="12.00")
        repapered(row, paper_of("C", row["fingerprint"]))
        data["ledger"]["seal"] = seal(Issued.model_validate_json(json.dumps(row)))

    forged = changed(three, forge)
    assert rules(forged) == []
    assert short(forged.issued[2].fingerprint) != short(c.fingerprint)


@pytest.mark.parametrize(
    "paper",
    [
        "not base 64 \u00fc",
        "A",
        base64.b64encode(b"not deflated").decode(),
        base64.b64encode(zlib.compress(b"%PDF whole")[:-3]).decode(),
        base64.b64encode(zlib.compress(b"%PDF whole") + b"more").decode(),
        base64.b64encode(zlib.compress(b"%PDF" + b"0" * 20_000_000)).decode(),
    ],
    ids=["foreign", "short", "not deflated", "cut off", "more after it", "too large"],
)
def test_a_damaged_paper_is_a_finding_and_the_others_are_of_use(three: Job, paper: str) -> None:
    job = changed(three, lambda d: d["issued"][0].update(paper=paper))
    assert rules(job) == [("issued.0", "paper-damaged")]
    with pytest.raises(PaperError, match="Revision A: the paper in the file is damaged"):
        kept_paper(job.issued[0])
    assert handed(job.issued[0]).total == Decimal("12.50")
    assert kept_paper(job.issued[2]) == kept_paper(three.issued[2])


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "no whole JSON text"),
        ("{", "no whole JSON text"),
        ("[" * 100_000, "nested too deep"),
        ("[]", "no group of fields"),
        ("{}", "its terms, its date or its total are damaged"),
        ('{"format": 2}', "missing"),
        ('{"snapshot": {"terms": {"validity": 3}}, "dated": "2027-03-01"}', "damaged"),
    ],
)
def test_content_that_cannot_be_read_is_told(three: Job, text: str, why: str) -> None:
    job = changed(three, lambda d: d["issued"][1].update(text=text, fingerprint=fingerprint(text)))
    found = {f.rule: f for f in issue_findings(job) if f.place == "issued.1"}
    assert why in found["revision-unreadable"].message
    with pytest.raises(TextError):
        handed(job.issued[1])
    assert kept_paper(job.issued[1]) == kept_paper(three.issued[1])


def test_an_unknown_key_in_content_is_told_by_its_place(three: Job) -> None:
    job = changed(three, lambda d: reworked(d["issued"][0], colour="green"))
    message = next(f.message for f in issue_findings(job) if f.rule == "revision-unreadable")
    assert "colour" in message and "not known" in message
    newer = changed(three, lambda d: reworked(d["issued"][0], job={"format": 99}))
    message = next(f.message for f in issue_findings(newer) if f.rule == "revision-unreadable")
    assert f"no format from 1 to {FORMAT}" in message


def test_of_two_revisions_of_one_letter_neither_is_taken_for_the_other(three: Job) -> None:
    job = changed(three, lambda d: d["issued"].append(d["issued"][2]))
    with pytest.raises(LookupError, match="holds 2 revisions C"):
        revision(job, "C")
    assert revision(job, "A").letter == "A"
    with pytest.raises(LookupError, match="no revision D"):
        revision(job, "D")


def test_notes_tell_what_a_paper_in_hand_is_held_against(three: Job) -> None:
    notes = [f.message for f in revision_notes(three)]
    for issued, words in zip(three.issued, notes, strict=True):
        assert f"Revision {issued.letter} of 2027-03-01: fingerprint {short(issued.fingerprint)}" in words
    assert notes[1].endswith("withdrawn on 2027-03-05: Wrong hoses.")


@settings(deadline=None, max_examples=25, suppress_health_check=list(HealthCheck))
@given(jobs())
def test_any_revision_loads_to_the_same_bytes(job: Job) -> None:
    again = job_from_text(job_text(job), "x")
    assert again.issued == job.issued
    for old, new in zip(job.issued, again.issued, strict=True):
        assert fingerprint(new.text) == fingerprint(old.text)
        assert issued_text(handed(new), job_then(new)) == old.text


def test_the_readme_promises_what_the_screen_promises() -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    assert PROMISE in " ".join(readme.split())
