"""Issuing at the desk with the program killed at every call that changes the disk: revision and paper, or neither."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.mark.skipif(sys.platform == "win32", reason="a process is copied as it stands")
def test_a_kill_at_any_call_leaves_revision_and_paper_or_neither() -> None:
    """In a process of its own, which is copied and killed. After each kill every file is whole, the paper in the job is
    that of its revision, a copy beside the job is the very paper, and the next start goes well (see the program)."""
    command = [sys.executable, "-m", "tests.benchmarks.kills", "--calls", "--only", "issue-desk"]
    environment = {**os.environ, "QT_QPA_PLATFORM": "offscreen"}
    ran = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stdout + ran.stderr
    told, *states = ran.stdout.splitlines()
    assert told.endswith("; 0 wrong") and int(told.split()[1]) > 20
    # Killed before the job was saved, between job and copy, and after both; a copy of no revision was never there.
    assert [state.split(" x ")[1] for state in states] == [
        "no revision, no copy of its paper",
        "a revision, no copy of its paper",
        "a revision, a copy of its paper",
    ]
