"""A quote that sells what it leaves out is found; one that does not, and free text, are not."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from estimator.model.choices import ExtraKind
from estimator.model.edit import with_value
from estimator.model.grades import Grade
from estimator.model.job import Job
from estimator.model.left_out import LeftOut
from estimator.model.terms import ExtraRow, Terms
from estimator.shown.findings import sentences_of
from estimator.store.jobs import load_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Study, study
from tests.days import STUDIED
from tests.documents.studies import DAY, made, quoted, raw, text_of

BOOK = shipped_price_book()
RULE = "sold-but-left-out"
OLD = Path(__file__).parents[1] / "store" / "format_2" / "gannet-quay.baydrop"


def _found(job: Job) -> list[str]:
    whole = study(job, BOOK, STUDIED)
    say = sentences_of(whole)
    return [say.installer(f) for f in whole.findings if f.rule == RULE]


@pytest.fixture
def job() -> Job:
    return made(raw()).job


def _backflow(job: Job, key: str, *, existing: bool = False) -> Job:
    job = with_value(job, ("design", "common", "backflow"), key)
    return with_value(job, ("design", "common", "existing"), existing)


@pytest.mark.parametrize(
    ("key", "name"),
    [
        ("backflow-device", "Backflow prevention device for chemical dispensers"),
        ("backflow-assembly", "Reduced-pressure principle assembly"),
    ],
)
def test_a_preventer_that_is_sold_and_left_out_is_found(job: Job, key: str, name: str) -> None:
    """Gannet Quay left “backflow protection” to a plumber in words that nothing held against what it sold."""
    contrary = _backflow(job, key)
    (sentence,) = _found(contrary)
    assert f"leaves out “Backflow protection in the water line” and sells “{name}” for $" in sentence
    # Any of the two taken off mends it.
    left = tuple(one for one in LeftOut if one is not LeftOut.BACKFLOW)
    assert _found(with_value(contrary, ("terms", "left_out"), left)) == []
    assert _found(_backflow(job, "backflow-air-gap")) == []
    # What hangs there already is not sold.
    assert _found(_backflow(job, key, existing=True)) == []


def test_it_must_be_mended_and_the_one_who_signs_is_told(job: Job) -> None:
    whole: Study = study(_backflow(job, "backflow-device"), BOOK, DAY)
    (found,) = [f for f in whole.findings if f.rule == RULE]
    assert (found.grade, found.place) == (Grade.MEND, "terms.left_out")
    told = sentences_of(whole).customer(found)
    assert told is not None and "holds “Backflow prevention device" in told


def test_fees_for_permits_are_held_against_permits_and_other_fees_are_not(job: Job) -> None:
    def fee(kind: ExtraKind) -> Job:
        row = ExtraRow(kind=kind, low=Decimal(80), likely=Decimal(90), high=Decimal(140))
        return with_value(job, ("terms", "extras"), (row,))

    (sentence,) = _found(fee(ExtraKind.PERMITS))
    assert "leaves out “Permits” and sells “Permits” for $" in sentence
    assert all(_found(fee(kind)) == [] for kind in ExtraKind if kind is not ExtraKind.PERMITS)


def test_words_of_a_persons_own_are_not_judged(job: Job) -> None:
    free = with_value(_backflow(job, "backflow-device"), ("terms", "left_out"), ())
    free = with_value(free, ("terms", "exclusions"), ("Backflow protection of any kind.",))
    assert _found(free) == []


def test_a_new_job_leaves_out_what_is_usual_and_contradicts_nothing() -> None:
    assert Terms().left_out == tuple(LeftOut)
    assert Job().terms.exclusions == ()
    assert (
        _found(Job()) == [] and _found(made(raw()).job) == [] and _found(made(raw("harrow-mill")).job) == []
    )


def test_each_is_printed_before_ones_own_and_none_that_is_not_chosen() -> None:
    data = raw()
    data["terms"]["left_out"] = ["permits", "water"]
    text = text_of(quoted(data))
    block = text[text.index("Exclusions –") :]
    assert block.index(LeftOut.WATER.sentence) < block.index(LeftOut.PERMITS.sentence)
    assert block.index(LeftOut.PERMITS.sentence) < block.index(data["terms"]["exclusions"][0])
    assert LeftOut.ELECTRICAL.sentence not in text
    data["terms"] |= {"left_out": [], "exclusions": []}
    assert "Exclusions None stated." in text_of(quoted(data))


def test_an_older_file_keeps_its_own_words_and_gets_none_besides() -> None:
    job = load_job(OLD)
    assert job.terms.left_out == ()
    assert job.terms.exclusions[0].startswith("Plumbing of the water tie-in")
