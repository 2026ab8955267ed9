"""The start reads what is in the user's folder; whatever is wrong there is told and stops nothing."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from estimator.model.job import Job
from estimator.store import autosave, backups
from estimator.store.jobs import save_job
from estimator.store.settings import Settings, ThemeChoice, keep_setting
from tests.ordinary import ordinary

ROOT = Path(__file__).parents[2]

PROGRAM = """
import os, sys
from PySide6.QtWidgets import QApplication
from estimator.desk.doing.questions import Dialogs
from estimator.desk.app import main
QApplication.exec = lambda *_: 0
Dialogs.tell = lambda self, title, text: print(title, *text, sep="\\n  ")
Dialogs.choose = lambda self, title, question, more, *_: print(title, question, *more.splitlines(), sep="\\n  ")
sys.exit(main([]))
"""
NAMELESS = """
import pwd
def unknown(*_):
    raise KeyError("no such account")
pwd.getpwuid = unknown
"""
"""As for a process whose user has no entry among the accounts, as in a container."""

MINE = ("HOME", "BAYDROP_HOME", "XDG_DATA_HOME")


def start(home: Path, program: str = PROGRAM, **more: str | None) -> subprocess.CompletedProcess[str]:
    """The desk, whose event loop ends at once.

    Args:
        home: the person's own folder.
        program: another one to run.
        more: other values of the environment, None for a variable that is not set.
    """
    wanted = {"BAYDROP_HOME": str(home), "HOME": str(home), "QT_QPA_PLATFORM": "offscreen", **more}
    inherited = {name: value for name, value in os.environ.items() if name not in MINE}
    return subprocess.run(
        ordinary(sys.executable, "-c", program),
        env={**inherited, "PYTHONPATH": str(ROOT), **{n: v for n, v in wanted.items() if v is not None}},
        cwd=home.parent,
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )


def told(ran: subprocess.CompletedProcess[str]) -> list[str]:
    """Titles of what was told, where the start went well."""
    assert (ran.returncode, "Traceback" in ran.stderr) == (0, False), ran.stderr
    return [line for line in ran.stdout.splitlines() if not line.startswith(" ")]


def test_everything_in_the_folder_is_damaged(tmp_path: Path) -> None:
    home = tmp_path / "home"
    (home / "recovery").mkdir(parents=True)
    for name in ("settings.json", "price-book.csv", "recovery/a.recovery", "recovery/.b.lock"):
        (home / name).write_bytes(b"\xff\x00[[[")
    ran = start(home)
    assert told(ran) == ["Your price book cannot be read", "Something could not be read"]
    assert (home / "price-book.csv").read_bytes() == b"\xff\x00[[["


def test_a_file_stands_where_the_folder_should_be(tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.write_bytes(b"")
    ran = start(home)
    assert "Your price book cannot be read" in told(ran)


def test_pipes_stand_where_files_should_be(tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()
    for name in ("settings.json", "price-book.csv", "recovery", "earlier"):
        os.mkfifo(home / name)
    assert "Something could not be read" in told(start(home))


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="permissions of Linux")
@pytest.mark.parametrize("mode", [0o000, 0o555])
def test_a_folder_that_cannot_be_read_or_written(tmp_path: Path, mode: int) -> None:
    home = tmp_path / "home"
    home.mkdir()
    home.chmod(mode)
    try:
        ran = start(home)
        assert "Your price book cannot be read" in told(ran)
    finally:
        home.chmod(0o755)
    assert list(home.iterdir()) == []


def test_a_home_that_is_not_there_is_made(tmp_path: Path) -> None:
    """As for an account whose folder was never made; HOME alone leads there."""
    home = tmp_path / "not" / "there"
    ran = start(tmp_path / "x", HOME=str(home), BAYDROP_HOME=None)
    assert told(ran) == []
    assert list(home.rglob("price-book.csv"))


def test_a_home_that_is_a_dangling_link(tmp_path: Path) -> None:
    """As to a disk that is not plugged in: told, and nothing is made in the place where it would be."""
    home, beyond = tmp_path / "home", tmp_path / "disk" / "home"
    home.symlink_to(beyond)
    assert told(start(home)) == ["Your price book cannot be read"]
    assert home.is_symlink() and not beyond.parent.exists()


@pytest.mark.skipif(sys.platform == "win32", reason="accounts of POSIX")
def test_an_account_without_a_home(tmp_path: Path) -> None:
    """No variable says where it is, and the system does not know the account: the start ended with an exception."""
    lacking: dict[str, str | None] = {"HOME": None, "BAYDROP_HOME": None}
    ran = start(tmp_path / "x", NAMELESS + PROGRAM, **lacking)
    assert told(ran) == ["Your price book cannot be read"]
    assert "This account has no home folder; set HOME or BAYDROP_HOME" in ran.stdout
    job = tmp_path / "job.baydrop"
    save_job(job, Job())
    words = "import sys; from estimator.cli import main; sys.exit(main(ARGUMENTS))"
    checked = start(
        tmp_path / "x", NAMELESS + words.replace("ARGUMENTS", repr(["check", str(job)])), **lacking
    )
    assert (checked.returncode, checked.stderr.count("\n")) == (2, 1), checked.stderr
    assert checked.stderr.startswith("This account has no home folder") and "--prices" in checked.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["job.baydrop"]


def test_what_has_no_folder_is_told_where_it_would_be_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    """Settings, recovery copy and earlier version each say why they are not kept."""

    def unknown(*_: object, **__: object) -> str:
        raise RuntimeError("could not determine the home directory")

    monkeypatch.delenv("BAYDROP_HOME", raising=False)
    monkeypatch.setattr("platformdirs.user_data_dir", unknown)
    why = "This account has no home folder"
    assert (
        why
        in keep_setting(Settings(), lambda s: s.model_copy(update={"theme": ThemeChoice.DARK}))[1][0].message
    )
    with pytest.raises(autosave.AutosaveError, match=why):
        autosave.write("c", Job(), None)
    assert why in backups.keep_earlier(Path("a.baydrop"), b"{}", 0.0)
    assert autosave.copies() == ((), ())


@pytest.mark.skipif(sys.platform == "win32", reason="a pipe of POSIX")
def test_a_pipe_or_a_loop_stands_where_the_home_should_be(tmp_path: Path) -> None:
    pipe, loop = tmp_path / "pipe", tmp_path / "loop"
    os.mkfifo(pipe)
    loop.symlink_to(loop)
    for home in (pipe, loop, Path("/dev/null"), Path("/dev/zero")):
        ran = start(tmp_path / "x", HOME=str(home), BAYDROP_HOME=None)
        assert "Your price book cannot be read" in told(ran)
        assert f"{home}"[:79] in ran.stdout


def test_work_that_was_left_does_not_end_the_process_by_an_abort(tmp_path: Path) -> None:
    """A thread beside the window that tells the window something while the interpreter is taken down: "FATAL: exception
    not rethrown"."""
    talking = """
from threading import Thread
from estimator.desk.work import _Bell
def talk(bell=None):
    bell = _Bell()
    while True:
        bell.heard.emit(1, 2, 3)
def begin(*_):
    for _ in range(4):
        Thread(target=talk, daemon=True).start()
    return 0
QApplication.exec = begin
"""
    program = PROGRAM.replace("import main", "import run").replace(
        "sys.exit(main([]))", f"{talking}\nrun([])"
    )
    assert told(start(tmp_path / "home", program)) == []


def test_versions_saved_within_a_second_are_told_apart(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The newest is first in the list. Those of two files of one name stand with their folders."""
    monkeypatch.setenv("BAYDROP_HOME", str(tmp_path / "home"))
    # Folders that are told apart only by how they end, whatever the folder of tests is called.
    deep = tmp_path / ("d" * 80)
    path, other = deep / "a" / "quay.baydrop", deep / "b" / "quay.baydrop"
    for number, second in enumerate((1_000.0, 2_000.1, 2_000.5, 2_000.9)):
        assert backups.keep_earlier(path, f"{number}".encode(), second) == ""
    assert backups.keep_earlier(other, b"other", 2_000.2) == ""
    words = backups.words(backups.earlier_of(path), "en_US")
    assert [w.partition("quay.baydrop")[2] for w in words] == [
        ", 3 of 3 in that second",
        ", 2 of 3 in that second",
        ", 1 of 3 in that second",
        "",
    ]
    assert backups.earlier_of(path)[0].path.read_bytes() == b"3"
    everywhere = backups.words(backups.earlier_of_all(), "en_US")
    assert sorted(w.rpartition(" in ")[2][-4:] for w in everywhere) == ["dd/a", "dd/b"]
