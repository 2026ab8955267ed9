"""A small sample of `tests/benchmarks/kills.py`: one kill at the disk of each act, issue by the desk's own way too."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
ACTS = ("save", "autosave", "issue-desk", "issue-cli", "book")


@pytest.mark.skipif(sys.platform == "win32", reason="a process is copied as it stands")
def test_a_kill_breaks_nothing() -> None:
    """In a process of its own, which is copied and killed: this one has a window and threads."""
    command = [sys.executable, "-m", "tests.benchmarks.kills", "--kills", f"{len(ACTS)}"]
    environment = {**os.environ, "QT_QPA_PLATFORM": "offscreen"}
    ran = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stdout + ran.stderr
    lines = [line for line in ran.stdout.splitlines() if line.endswith("; 0 wrong")]
    assert [line.partition(":")[0] for line in lines] == list(ACTS)
    # Which of them has just come back from the disk when it is killed, nobody knows.
    assert any(" 1 kills, 1 of them at the disk" in line for line in lines), ran.stdout
