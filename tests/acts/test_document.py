"""The open document: acts on what is seen and on the whole, the option worked on, what the file holds."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.acts.document import Document
from estimator.acts.options import with_option
from estimator.acts.quick_build import QuickBuild, quick_design
from estimator.model.edit import with_value
from estimator.model.job import Job
from estimator.model.option_designs import design_of
from estimator.model.options import BASE
from estimator.store.pricebooks import shipped_price_book

NAME = ("customer", "name")


@pytest.fixture(scope="module")
def job() -> Job:
    site, design = quick_design(QuickBuild(bays=1, products=2, drops_per_side=1), Job().site)
    return Job(site=site, design=design)


@pytest.fixture(scope="module")
def opened(job: Job) -> Document:
    return Document.of(job, shipped_price_book(), Path("job.baydrop"))


def test_an_act_is_undone_and_redone(opened: Document, job: Job) -> None:
    named = opened.after("Name it", job=with_value(job, NAME, "Demo"))
    assert named.is_modified and not opened.is_modified
    assert named.undone().whole is job
    assert named.undone().redone().whole is named.whole
    assert named.at(0).history.redo_name == "Name it"
    assert named.saved_to(Path("other.baydrop")).is_modified is False


def test_an_edit_while_an_option_is_worked_on_reaches_all_or_only_that_one(
    opened: Document, job: Job
) -> None:
    whole, option = with_option(job, "Other", job.design)
    worked = opened.after_whole("Make option Other", whole, option=option)
    seen = with_value(worked.job, ("design", "clip_spacing"), worked.job.design.drop_spacing)
    everywhere = worked.after("Clips", job=seen)
    assert everywhere.whole.design.clip_spacing == job.design.drop_spacing
    assert design_of(everywhere.whole, option) == everywhere.whole.design
    edited = worked.after("Clips", job=seen, only_here=True)
    assert edited.whole.design == job.design
    assert design_of(edited.whole, option).clip_spacing == job.design.drop_spacing
    assert edited.job.design.clip_spacing == job.design.drop_spacing
    assert edited.working_on(BASE).job.design == job.design
    assert edited.working_on(option) is edited
    with pytest.raises(LookupError, match="no option"):
        edited.working_on("option-9")


def test_the_base_is_worked_on_where_the_option_is_gone(opened: Document, job: Job) -> None:
    whole, option = with_option(job, "Other", job.design)
    worked = opened.after_whole("Make", whole, option=option)
    assert worked.after_whole("Remove", job).option == BASE
    assert worked.undone().option == BASE


def test_a_recovered_copy_is_held_by_no_file(job: Job) -> None:
    assert Document.of(job, shipped_price_book(), saved=False).is_modified
