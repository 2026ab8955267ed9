"""A sample of `tests/benchmarks/full_disk.py`: acts of the desk on a disk that fails, and whether a fault is found."""

from __future__ import annotations

import errno
import sys
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication

from estimator.desk.doing.files import Files
from estimator.store import files, lock
from tests.benchmarks.full_disk import tries
from tests.faults import Disk, failing

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="names of POSIX")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, qapp: QApplication) -> Path:
    """One to be emptied; the act names the home folder that lies in it."""
    monkeypatch.setenv("BAYDROP_HOME", str(tmp_path))
    monkeypatch.setattr(lock, "_WAIT_S", 0.0)
    return tmp_path / "disk"


@pytest.mark.parametrize(
    ("name", "step"),
    [
        *(("save", 17), ("open", 29), ("recovery copy", 5), ("price book", 9), ("export", 5)),
        *(("export workbook", 7), ("settings", 9), ("end", 13)),
    ],
)
def test_nothing_is_lost_on_a_disk_that_fails(folder: Path, name: str, step: int) -> None:
    """The disk is full from some call on. Where it is done all the same, what failed was no part of it."""
    done = list(tries(name, folder, (errno.ENOSPC,), (True,), step))
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


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        (leaves_what_is_half_written, "part was left"),
        (says_nothing, "nothing was said"),
        (takes_it_for_saved, "modified is told wrongly"),
    ],
)
def test_a_fault_is_found(folder: Path, monkeypatch: pytest.MonkeyPatch, fault: object, words: str) -> None:
    assert callable(fault)
    fault(monkeypatch)
    done = tries("save", folder, (errno.ENOSPC,), (False,))
    assert any(words in " ".join(t.wrong) for t in done), "nothing was found"


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
