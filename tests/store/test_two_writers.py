"""A small sample of `tests/benchmarks/two_writers.py`, and whether a lost edit would be found."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from estimator.model.job import Job
from estimator.model.party import Party
from estimator.store import document, lock, shared_book
from estimator.store.document import JobFile
from estimator.store.jobs import load_job, save_job
from tests.benchmarks.two_writers import Account, book_account, job_account

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="a process is copied as it stands")
Accounts = Callable[[Path, int, int], Account]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    # Who comes between whom has nothing to do with the disk, which may be slow.
    monkeypatch.setattr(os, "fsync", lambda _: None)
    folder = tmp_path / "files"
    folder.mkdir()
    return folder


@pytest.mark.parametrize("account", [job_account, book_account])
def test_no_edit_disappears_without_a_question(folder: Path, account: Accounts) -> None:
    made = account(folder, 40, 1)
    assert made.wrong == ()
    assert made.outcomes["saved"] + made.outcomes["copied"] + made.outcomes["left"] == 40
    assert made.outcomes["turns"], "the writers did not come between one another"


def never_compared(patch: pytest.MonkeyPatch) -> None:
    @contextmanager
    def all_the_same() -> Iterator[None]:
        yield

    patch.setattr(document.JobFile, "mark", property(lambda _: Same(), lambda *_: None))
    patch.setattr(
        shared_book, "_merge", lambda _b, after, *_: shared_book._Merged(after.entries, frozenset())
    )


class Same(str):
    """A fingerprint that is like every other."""

    __slots__ = ()

    def __eq__(self, _: object) -> bool:
        return True

    def __ne__(self, _: object) -> bool:
        return False

    __hash__ = str.__hash__


@pytest.mark.parametrize("account", [job_account, book_account])
def test_a_lost_edit_is_found(folder: Path, monkeypatch: pytest.MonkeyPatch, account: Accounts) -> None:
    never_compared(monkeypatch)
    assert account(folder, 60, 1).wrong


def test_who_takes_over_while_the_other_writes_is_asked(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Between the comparison and the writing of the one, the other takes the lock over and saves."""
    monkeypatch.setattr(lock, "_WAIT_S", 0.0)
    path = folder / "a.baydrop"
    save_job(path, Job())
    (mine, _), (theirs, _) = JobFile.read(path), JobFile.read(path)
    mine.take()
    locked: list[lock.Locked] = []
    between = [True]

    def slow(of: Path, content: bytes, saved: float) -> str:
        if not between.pop():
            return ""
        between.append(False)
        theirs.take(over=True)
        with pytest.raises(lock.Locked, match=f"process {os.getpid()}") as caught:
            theirs.save(Job(customer=Party(name="Theirs")))
        locked.append(caught.value)
        return ""

    with monkeypatch.context() as patch:
        patch.setattr(document, "keep_earlier", slow)
        mine.save(Job(customer=Party(name="Mine")))
    assert len(locked) == 1
    with pytest.raises(document.ChangedOutside):
        theirs.save(Job(customer=Party(name="Theirs")))
    assert load_job(path).customer.name == "Mine"
    theirs.close()
    mine.close()
    assert [p.name for p in folder.iterdir()] == ["a.baydrop"]


def test_the_lock_of_writing_is_another_one_than_that_of_who_has_it_open(folder: Path) -> None:
    path = folder / "a.baydrop"
    opened, writing = lock.take_lock(path), lock.wait_for_lock(path)
    assert opened is not None and writing is not None
    assert opened.path != writing.path
    with pytest.raises(lock.Locked):
        lock.take_lock(path)
    opened.release()
    writing.release()
    assert list(folder.iterdir()) == []
