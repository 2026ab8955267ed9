"""Signing for what must never go out: who, why, when; what becomes another is asked about again."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from estimator.acts.issue import IssueError, issue
from estimator.acts.options import with_option
from estimator.acts.sign import SignError, sign_for, without_signs
from estimator.documents.quote import write_revision
from estimator.model.choices import Chemistry
from estimator.model.design import Design
from estimator.model.edit import with_value
from estimator.model.finding import Finding
from estimator.model.grades import Grade
from estimator.model.job import Job
from estimator.model.signing import Signatures, blocking
from estimator.store.jobs import JobFileError, job_from_text, job_text, load_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Study, study
from estimator.units import Dimension, UnitSystem, parse
from tests.days import STUDIED

EXAMPLE = Path(__file__).parents[2] / "resources" / "examples" / "gannet-quay.baydrop"
DAY = date(2026, 11, 25)


def made(job: Job) -> Study:
    return study(job, shipped_price_book(), STUDIED)


def classed(design: Design, **classes: Chemistry) -> Design:
    """The design with another class for some products."""
    for key, chemistry in classes.items():
        at = next(i for i, p in enumerate(design.products) if p.id == key)
        design = with_value(design, ("products", at, "sheet", "classes"), (chemistry,))
    return design


def bleached(job: Job, product: str = "") -> Job:
    """The job with bleach as one of its products, which meets ammonia, amines and solvents."""
    key = product or job.design.products[0].id
    return with_value(job, ("design",), classed(job.design, **{key: Chemistry.HYPOCHLORITE}))


@pytest.fixture(scope="module")
def job() -> Job:
    return bleached(load_job(EXAMPLE))


@pytest.fixture(scope="module")
def never(job: Job) -> tuple[Finding, ...]:
    found = tuple(f for f in made(job).findings if f.grade is Grade.NEVER)
    assert found
    return found


def test_what_is_signed_for_keeps_nothing_back(job: Job, never: tuple[Finding, ...]) -> None:
    assert blocking(job, never) == never
    signed = sign_for(job, never[:1], " A. Demo ", " Tanks stand in two rooms. ", DAY)
    assert blocking(signed, never) == never[1:]
    (sign,) = signed.signed
    assert (sign.name, sign.reason, sign.dated) == ("A. Demo", "Tanks stand in two rooms.", DAY)
    assert sign.rule == never[0].rule and "Alkaline foam pre-wash" in sign.objects
    # The findings themselves stay: what was signed for is told, too.
    assert [f for f in made(signed).findings if f.grade is Grade.NEVER] == list(never)


def test_a_signature_is_kept_in_the_file(job: Job, never: tuple[Finding, ...]) -> None:
    signed = sign_for(job, never, "A. Demo", "Why", DAY)
    again = job_from_text(job_text(signed), "job.baydrop")
    assert again.signed == signed.signed and blocking(again, never) == ()


def test_signing_twice_keeps_the_later_signature(job: Job, never: tuple[Finding, ...]) -> None:
    twice = sign_for(sign_for(job, never, "A", "first", DAY), never, "B", "then", DAY)
    assert {sign.name for sign in twice.signed} == {"B"}
    assert len(twice.signed) == len({Signatures(job).about(f).seal for f in never})


def test_a_signature_is_taken_back(job: Job, never: tuple[Finding, ...]) -> None:
    signed = sign_for(job, never, "A", "why", DAY)
    assert without_signs(signed, signed.signed) == job
    assert blocking(without_signs(signed, signed.signed[:1]), never)


@pytest.mark.parametrize(
    ("name", "reason", "words"),
    [
        ("", "why", "Name: A signature needs the name of the one who signs."),
        (" \t", "why", "Name: A signature needs the name"),
        ("A", "", "Reason: A signature needs a reason: why this may go out as it is."),
        ("A", "\n ", "Reason: A signature needs a reason"),
        ("A" * 121, "why", "Name"),
        ("A", "x" * 2001, "Reason"),
        ("A\x07", "why", "control character"),
    ],
)
def test_no_name_no_reason_no_signature(
    job: Job, never: tuple[Finding, ...], name: str, reason: str, words: str
) -> None:
    with pytest.raises(SignError, match=words[:20]) as caught:
        sign_for(job, never, name, reason, DAY)
    assert words in str(caught.value)


def test_a_file_with_a_signature_without_a_name_is_told_and_not_taken(
    job: Job, never: tuple[Finding, ...]
) -> None:
    text = job_text(sign_for(job, never, "A. Demo", "why", DAY)).replace('"A. Demo"', '" "', 1)
    with pytest.raises(JobFileError, match="needs the name of the one who signs"):
        job_from_text(text, "job.baydrop")


def test_only_what_must_never_go_out_is_signed_for(job: Job) -> None:
    other = next(f for f in made(job).findings if f.grade is Grade.LOOK)
    with pytest.raises(SignError, match="keeps nothing back"):
        sign_for(job, [other], "A", "why", DAY)
    with pytest.raises(SignError, match="nothing to sign for"):
        sign_for(job, [], "A", "why", DAY)


def _renamed(job: Job) -> Job:
    return with_value(job, ("design", "products", 0, "name"), "Another product")


def _of_another_class(job: Job) -> Job:
    return with_value(
        job,
        ("design", "products", 0, "sheet", "classes"),
        (Chemistry.HYPOCHLORITE, Chemistry.STRONG_ALKALI),
    )


def _in_us_units(job: Job) -> Job:
    return with_value(job, ("units",), UnitSystem.US)


def _in_german(job: Job) -> Job:
    return with_value(job, ("terms", "locale"), "de_DE")


def _dearer(job: Job) -> Job:
    return with_value(job, ("design", "clip_spacing"), job.design.drop_spacing)


@pytest.mark.parametrize(
    ("change", "asks"),
    [
        (_renamed, True),
        (_of_another_class, True),
        (_in_us_units, False),
        (_in_german, False),
        (_dearer, False),
    ],
)
def test_what_becomes_another_is_asked_about_again(
    job: Job, never: tuple[Finding, ...], change: Callable[[Job], Job], asks: bool
) -> None:
    after = change(sign_for(job, never, "A", "why", DAY))
    found = made(after).findings
    open_pairs = [f for f in blocking(after, found) if f.rule == "mixing-forbidden"]
    assert bool(open_pairs) is asks
    # The signature is kept, and is known to hold for nothing.
    assert after.signed and bool(Signatures(after).stale(found)) is asks


def _rated(job: Job, pressure: str) -> Job:
    """The job with the first pump set far above what its own limit is."""
    return with_value(job, ("design", "plant", 0, "regulator"), parse(pressure, Dimension.PRESSURE))


def test_a_part_over_its_rating_blocks_and_another_pressure_is_another_finding() -> None:
    job = _rated(load_job(EXAMPLE), "9.5 bar")
    blocked = blocking(job, made(job).findings)
    assert "regulator-above-pump" in {f.rule for f in blocked}
    signed = sign_for(job, blocked, "A", "why", DAY)
    assert blocking(signed, made(signed).findings) == ()
    higher = _rated(signed, "9.8 bar")
    assert "regulator-above-pump" in {f.rule for f in blocking(higher, made(higher).findings)}


class TestIssue:
    def printer(self, made: Study) -> Any:
        return partial(write_revision, made)

    def test_nothing_is_issued_before_it_is_signed_for(self, job: Job, never: tuple[Finding, ...]) -> None:
        found = made(job)
        drawn: list[object] = []

        def draws(issued: Any) -> bytes:
            drawn.append(issued)
            return write_revision(found, issued)

        with pytest.raises(IssueError, match="must never go out: mend what is wrong, or let somebody sign"):
            issue(found, "First", draws)
        assert not drawn
        signed = sign_for(job, never, "A. Demo", "Two rooms.", DAY)
        whole = issue(made(signed), "First", self.printer(made(signed)))
        assert whole.issued[0].letter == "A"
        # What was signed for is part of the record that the fingerprint is of.
        assert "Two rooms." in whole.issued[0].text

    def test_a_product_of_no_class_blocks(self) -> None:
        job = load_job(EXAMPLE)
        job = with_value(job, ("design", "products", 0, "sheet", "classes"), ())
        with pytest.raises(IssueError, match="1 finding must never go out"):
            issue(made(job), "First", self.printer(made(job)))

    def test_an_option_that_is_dangerous_only_with_the_base_blocks_while_it_is_offered(self) -> None:
        """The base has a solvent and no bleach, the option changes one product to bleach and has nothing else."""
        base = load_job(EXAMPLE)
        design = classed(base.design, **{base.design.products[0].id: Chemistry.HYPOCHLORITE})
        for offered in (False, True):
            job, key = with_option(base, "With bleach", design, offered=offered)
            found = made(job)
            blocked = blocking(job, found.findings)
            assert {f.option for f in blocked} == ({key} if offered else set())
            assert (found.findings[0].grade is Grade.NEVER) is offered
            if offered:
                with pytest.raises(IssueError, match="must never go out"):
                    issue(found, "First", self.printer(found))
                signed = sign_for(job, blocked, "A", "why", DAY)
                assert issue(made(signed), "First", self.printer(made(signed))).issued
            else:
                assert issue(found, "First", self.printer(found)).issued
