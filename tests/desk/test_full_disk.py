"""A sample of `tests/benchmarks/full_disk.py`: acts of the desk on a disk that fails, and whether a fault is found."""

from __future__ import annotations

import errno
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication

from estimator.desk.doing.files import Files
from estimator.store import files, lock
from tests.benchmarks.full_disk import ACTS, Try, tries
from tests.faults import Disk, failing

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="names of POSIX")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, qapp: QApplication) -> Path:
    """One to be emptied; the act names the home folder that lies in it."""
    monkeypatch.setenv("BAYDROP_HOME", str(tmp_path))
    monkeypatch.setattr(lock, "_WAIT_S", 0.0)
    return tmp_path / "disk"


EVERY = {
    "save": 17,
    "save as": 17,
    "open": 29,
    "recovery copy": 5,
    "recover": 17,
    "issue": 61,
    "draft": 3,
    "price book": 9,
    "export": 5,
    "export workbook": 7,
    "settings": 9,
    "start": 19,
    "end": 13,
}
"""Of each act: which of its calls fail. Those that put something onto the disk fail all."""


def sample(name: str, folder: Path) -> Iterator[Try]:
    """The disk is full from some call on."""
    return tries(name, folder, (errno.ENOSPC,), (True,), EVERY[name], always=("write", "replace"))


def test_no_act_is_left_out() -> None:
    assert EVERY.keys() == ACTS.keys()


@pytest.mark.parametrize("name", ACTS)
def test_nothing_is_lost_on_a_disk_that_fails(folder: Path, name: str) -> None:
    """Where it is done all the same, what failed was no part of it."""
    done = list(sample(name, folder))
    assert [(t.number, t.call, t.told, t.wrong) for t in done if t.wrong] == []
    assert done[0].well and not done[0].call, "on a disk that works"
    assert all(t.call for t in done[1:]), "a call that was to fail was never made"
    assert any(not t.well for t in done[1:])


def leaves_what_is_half_written(patch: pytest.MonkeyPatch) -> None:
    unlink = Path.unlink

    def careless(path: Path, missing_ok: bool = False) -> None:
        if path.suffix != ".part":
            unlink(path, missing_ok)

    patch.setattr(Path, "unlink", careless)


def says_nothing(patch: pytest.MonkeyPatch) -> None:
    patch.setattr("tests.benchmarks.desk_alone.Person.tell", lambda *_: None)


def takes_it_for_saved(patch: pytest.MonkeyPatch) -> None:
    save = Files.save

    def careless(of: Files) -> bool:
        well = save(of)
        of.session.document = of.session.document.saved_to(of.session.path or Path("x"))
        return well

    patch.setattr(Files, "save", careless)


def writes_in_place(patch: pytest.MonkeyPatch) -> None:
    """Emptied first and filled then: on a full disk there is neither the old nor the new."""

    def careless(path: Path, content: bytes, *, over_any: bool = False) -> None:
        try:
            path.write_bytes(content)
        except OSError as error:
            raise files.FileTrouble(f"It cannot be written: {error.strerror}.") from None

    patch.setattr("estimator.store.document.write_whole", careless)


class Never(Exception):
    """What nothing raises."""


def lets_out(module: str) -> Callable[[pytest.MonkeyPatch], None]:
    """The module does not catch what writing a file raises."""

    def careless(patch: pytest.MonkeyPatch) -> None:
        patch.setattr(f"{module}.FileTrouble", Never)

    return careless


@pytest.mark.parametrize(
    ("name", "fault", "words"),
    [
        ("save", leaves_what_is_half_written, "part was left"),
        ("save", says_nothing, "nothing was said"),
        ("save", takes_it_for_saved, "modified is told wrongly"),
        *((name, writes_in_place, "JobFileError") for name in ("save", "issue")),
        *(
            (name, lets_out("estimator.store.document"), "FileTrouble")
            for name in ("save", "save as", "issue")
        ),
        ("recovery copy", lets_out("estimator.store.autosave"), "FileTrouble"),
        ("price book", lets_out("estimator.store.pricebooks"), "FileTrouble"),
    ],
)
def test_a_fault_is_found(
    folder: Path, monkeypatch: pytest.MonkeyPatch, name: str, fault: object, words: str
) -> None:
    """By the very sample, in which the place written over in its middle and what is raised while an event is done
    were not found: a full disk refused to open a file that is there, and nobody heard the hook."""
    assert callable(fault)
    fault(monkeypatch)
    assert any(words in " ".join(t.wrong) for t in sample(name, folder)), "nothing was found"


def test_a_disk_fails_where_it_is_told_to(tmp_path: Path) -> None:
    """Every call below the folder counts, none beside it; a write that fails is half done."""
    (tmp_path / "in").mkdir()
    inside, beside = tmp_path / "in" / "a", tmp_path / "b"
    # The first time that a process writes into a folder it sweeps it.
    files.write_whole(inside, b"x")
    with failing(Disk(tmp_path / "in")) as disk:
        files.write_whole(inside, b"x" * 100)
        files.write_whole(beside, b"x" * 100)
        files.read_whole(inside, 100)
    calls = list(disk.calls)
    assert calls.count("write") == calls.count("fsync") - 1 == calls.count("replace") == 1
    number = calls.index("write") + 1
    with failing(Disk(tmp_path / "in", number, errno.EIO)) as disk:
        with pytest.raises(files.FileTrouble, match="put/output error"):
            files.write_whole(inside, b"y")
        files.write_whole(beside, b"y")
    assert (disk.failed, inside.read_bytes(), beside.read_bytes()) == ("write", b"x" * 100, b"y")
