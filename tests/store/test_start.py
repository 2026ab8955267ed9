"""The start reads what is in the user's folder; whatever is wrong there is told and stops nothing."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.ordinary import ordinary

PROGRAM = """
import os, sys
from PySide6.QtWidgets import QApplication
from estimator.desk.doing.questions import Dialogs
from estimator.desk.app import main
QApplication.exec = lambda *_: 0
Dialogs.tell = lambda self, title, text: print(title)
Dialogs.choose = lambda *_: None
sys.exit(main([]))
"""


def start(home: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ordinary(sys.executable, "-c", PROGRAM),
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


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="permissions of Linux")
@pytest.mark.parametrize("mode", [0o000, 0o555])
def test_a_folder_that_cannot_be_read_or_written(tmp_path: Path, mode: int) -> None:
    home = tmp_path / "home"
    home.mkdir()
    home.chmod(mode)
    try:
        ran = start(home)
        assert (ran.returncode, "Traceback" in ran.stderr) == (0, False), ran.stderr
        assert "Your price book cannot be read" in ran.stdout
    finally:
        home.chmod(0o755)
    assert list(home.iterdir()) == []
