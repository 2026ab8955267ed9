"""A small sample of `tests/benchmarks/random_acts.py`, and whether what it looks for would be found."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from estimator.acts.document import Document
from estimator.acts.history import History
from estimator.model.job import Job
from estimator.store import document as store
from estimator.store.jobs import job_bytes
from tests.benchmarks.random_acts import Acts, Broken


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BAYDROP_HOME", str(tmp_path / "home"))


def _many(path: Path, seed: int) -> Acts:
    run = Acts(Random(seed), path)
    for number in range(240):
        run.act(number)
    return run


def test_random_acts_keep_every_invariant(tmp_path: Path) -> None:
    for seed in (0, 3):
        run = _many(tmp_path / f"{seed}.baydrop", seed)
        assert {"edit a design", "undo", "redo", "save", "open again", "issue"} <= set(run.done)
        assert sum(run.done.values()) == 240


def forgets_the_floor(patch: pytest.MonkeyPatch) -> None:
    after = History.after

    def careless(
        history: History[object], name: str, value: object, *, final: bool = False
    ) -> History[object]:
        return after(history, name, value)

    patch.setattr(History, "after", careless)


def keeps_what_could_be_redone(patch: pytest.MonkeyPatch) -> None:
    after = History.after

    def careless(
        history: History[object], name: str, value: object, *, final: bool = False
    ) -> History[object]:
        new = after(history, name, value, final=final)
        return replace(new, steps=(*new.steps, *history.steps[new.position + 1 :]))

    patch.setattr(History, "after", careless)


def saves_the_job_before(patch: pytest.MonkeyPatch) -> None:
    held: list[bytes] = []

    def late(job: Job, name: str) -> bytes:
        held.append(job_bytes(job, name))
        return held[max(0, len(held) - 2)]

    patch.setattr(store, "job_bytes", late)


def forgets_that_it_is_modified(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(Document, "is_modified", property(lambda _: False))


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        (forgets_the_floor, "undo is offered wrongly"),
        (keeps_what_could_be_redone, "redo is offered wrongly"),
        (saves_the_job_before, "the file holds another job"),
        (forgets_that_it_is_modified, "modified is told wrongly"),
    ],
)
def test_a_fault_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fault: Callable[[pytest.MonkeyPatch], None], words: str
) -> None:
    fault(monkeypatch)
    with pytest.raises(Broken, match=words):
        _many(tmp_path / "a.baydrop", 1)
