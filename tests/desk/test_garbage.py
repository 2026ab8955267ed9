"""A search for garbage stops every thread: an edit makes nothing for it to find, and it has little to look through."""

from __future__ import annotations

import gc
from collections import Counter
from collections.abc import Iterator

import pytest

from estimator.acts.options import with_option
from estimator.desk.app import spare_searches
from estimator.model.design import Design
from estimator.model.edit import with_value
from estimator.store.jobs import load_job
from tests.desk.hands import Hands
from tests.desk.test_worked_out_later import EXAMPLE


@pytest.fixture
def found() -> Iterator[list[object]]:
    """What a search for garbage finds from now on."""
    gc.collect()
    thresholds = gc.get_threshold()
    gc.disable()
    gc.set_debug(gc.DEBUG_SAVEALL)
    yield gc.garbage
    gc.set_debug(0)
    gc.garbage.clear()
    gc.set_threshold(*thresholds)
    gc.enable()
    gc.collect()


@pytest.fixture
def open_options(desk: Hands) -> Hands:
    """The example with two options, compared in view; each kind of edit was made once."""
    job = load_job(EXAMPLE)
    for number in (1, 2):
        design = with_value(job.design, ("drops", number, "hose_length"), f"{7 + number} m")
        assert isinstance(design, Design)
        job, _ = with_option(job, f"Option {number}", design, offered=True)
    desk.window.session.open(job, None)
    desk.window.show_view("options")
    desk.put(desk.editor("site", "use", "vehicles_per_hour"), "3")
    desk.wait_for_options()
    return desk


def test_an_edit_with_options_makes_no_garbage(open_options: Hands, found: list[object]) -> None:
    """Orders, studies and tables are gone with their last holder: nothing of the program's holds itself.

    Each edit left 412 objects that held themselves (among them every order given to a thread) and, through them, whole
    studies: 10,000 objects an edit, looked for in searches of up to 150 ms.
    """
    desk = open_options
    desk.put(desk.editor("site", "use", "vehicles_per_hour"), "2")
    desk.wait_for_options()
    gc.collect()
    own = Counter(type(o).__name__ for o in found if type(o).__module__.startswith("estimator"))
    functions = Counter(
        o.__qualname__
        for o in found
        if callable(o)
        and str(getattr(o, "__module__", "")).startswith("estimator")
        and hasattr(o, "__qualname__")
    )
    assert own + functions == Counter()


def test_what_the_start_made_is_not_looked_through_again() -> None:
    """Of tens of thousands of objects of modules, catalogue and window, at most a tenth."""
    thresholds, before = gc.get_threshold(), len(gc.get_objects())
    try:
        spare_searches()
        assert len(gc.get_objects()) < before / 10
        assert gc.get_threshold()[0] < 10_000
    finally:
        gc.unfreeze()
        gc.set_threshold(*thresholds)
