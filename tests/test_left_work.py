"""Long work asks often whether it is still wanted, so that the window closes in its middle: counted in calls.

How long that takes is told by `tests/benchmarks/closing.py`: a million calls are about a third of a second.
"""

from __future__ import annotations

from functools import partial
from pathlib import Path

import pytest

from estimator.acts.propose import offer
from estimator.documents.quote import write_notes, write_quote
from estimator.model.pricebook import PriceBook
from estimator.reference.catalogue import catalogue
from estimator.store.book_exchange import export_book, read_book
from estimator.store.document import JobFile
from estimator.store.jobs import save_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Pipeline, Study
from tests.days import STUDIED
from tests.large_jobs import large_job
from tests.work import most_between_questions

MOST = 1_500_000
"""Calls at the size of these tests, a share of the largest job; it grows no faster than that (`test_growth.py`)."""
_SHARE = 0.25


@pytest.fixture(scope="module")
def made() -> Study:
    """The study of a large job with its options."""
    return Pipeline().study(large_job(_SHARE), shipped_price_book(), STUDIED)


def test_a_study_with_options() -> None:
    work = partial(Pipeline().study, large_job(_SHARE), shipped_price_book(), STUDIED)
    assert most_between_questions(work) < MOST


def test_papers(made: Study) -> None:
    assert most_between_questions(partial(write_quote, made)) < MOST
    assert most_between_questions(partial(write_notes, made)) < MOST


def test_a_proposal() -> None:
    job = large_job(0.05, options=False)
    work = partial(offer, job, shipped_price_book(), catalogue(), (), STUDIED, ())
    assert most_between_questions(work) < MOST


@pytest.mark.parametrize("ending", ["csv", "xlsx"])
def test_a_price_book(tmp_path: Path, ending: str) -> None:
    book = shipped_price_book()
    entries = tuple(book.entries[0].model_copy(update={"code": f"C-{n}"}) for n in range(3000))
    path = tmp_path / f"book.{ending}"
    large = PriceBook(currency=book.currency, entries=entries)
    assert most_between_questions(partial(export_book, path, large)) < MOST
    assert most_between_questions(partial(read_book, path)) < MOST


def test_a_job_that_is_opened(tmp_path: Path) -> None:
    path = tmp_path / "large.baydrop"
    save_job(path, large_job())
    assert most_between_questions(lambda going: JobFile.read(path, None, going)) < MOST
