"""The start reads what is in the user's folder; whatever is wrong there is told and stops nothing."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

PROGRAM = """
import os, sys
from PySide6.QtWidgets import QApplication
if len(sys.argv) > 2:
    os.setgroups([]); os.setgid(int(sys.argv[2])); os.setuid(int(sys.argv[2]))
from estimator.desk.doing.questions import Dialogs
from estimator.desk.app import main
QApplication.exec = lambda *_: 0
Dialogs.tell = lambda self, title, text: print(title)
Dialogs.choose = lambda *_: None
sys.exit(main([]))
"""
NOBODY = "65534"


def start(home: Path, *who: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", PROGRAM, "-", *who],
        env={**os.environ, "BAYDROP_HOME": str(home), "HOME": str(home), "QT_QPA_PLATFORM": "offscreen"},
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )


def test_everything_in_the_folder_is_damaged(tmp_path: Path) -> None:
    home = tmp_path / "home"
    (home / "recovery").mkdir(parents=True)
    for name in ("settings.json", "price-book.csv", "recovery/a.recovery", "recovery/.b.lock"):
        (home / name).write_bytes(b"\xff\x00[[[")
    ran = start(home)
    assert (ran.returncode, "Traceback" in ran.stderr) == (0, False), ran.stderr
    assert ran.stdout.splitlines() == ["Your price book cannot be read", "Something could not be read"]
    assert (home / "price-book.csv").read_bytes() == b"\xff\x00[[["


def test_a_file_stands_where_the_folder_should_be(tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.write_bytes(b"")
    ran = start(home)
    assert (ran.returncode, "Traceback" in ran.stderr) == (0, False), ran.stderr
    assert "Your price book cannot be read" in ran.stdout


def test_pipes_stand_where_files_should_be(tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()
    for name in ("settings.json", "price-book.csv", "recovery", "earlier"):
        os.mkfifo(home / name)
    ran = start(home)
    assert (ran.returncode, "Traceback" in ran.stderr) == (0, False), ran.stderr


@pytest.mark.skipif(os.name != "posix", reason="permissions of POSIX")
@pytest.mark.parametrize("mode", [0o000, 0o555])
def test_a_folder_that_cannot_be_read_or_written(tmp_path: Path, mode: int) -> None:
    home = tmp_path / "home"
    home.mkdir()
    who = [NOBODY] if os.geteuid() == 0 else []
    if who:
        for folder in (tmp_path, *tmp_path.parents):
            if os.stat(folder).st_uid == 0 and folder.name.startswith(("pytest", "test_")):
                folder.chmod(0o755)
        if start(home, *who).returncode:
            pytest.skip("an ordinary user cannot run the program where it stands")
    home.chmod(mode)
    try:
        ran = start(home, *who)
        assert (ran.returncode, "Traceback" in ran.stderr) == (0, False), ran.stderr
        assert "Your price book cannot be read" in ran.stdout
    finally:
        home.chmod(0o755)
