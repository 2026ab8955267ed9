"""A paper is the same, and nothing of a stranger's runs, whatever lies in home, folder and environment."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from pathlib import Path

import pytest

from estimator.documents.toolkit import PREFIX, VARIABLES, seal_off
from tests.documents.studies import quoted, raw

_CODE = (
    "import hashlib, os; from tests.documents.studies import quoted, raw; "
    "print(hashlib.sha256(quoted(raw())).hexdigest())"
)


def _trap(at: Path, marker: Path) -> None:
    """A module that tells that it ran, and would change the paper."""
    at.parent.mkdir(parents=True, exist_ok=True)
    at.write_text(f"open({str(marker)!r}, 'a').close()\npageCompression = 0\nasciiReadable = 1\n")


@pytest.mark.parametrize(
    "variables",
    [
        {},
        {"SOURCE_DATE_EPOCH": "not a number"},
        {"SOURCE_DATE_EPOCH": "1234567890", "EVAL_DEBUG": "yes", "RL_DEBUG": "1"},
        {"RL_pageCompression": "0", "RL_asciiReadable": "1", "RL_invariant": "perhaps"},
    ],
    ids=["clean", "date", "debug", "options"],
)
def test_home_folder_and_environment_neither_run_nor_change_a_paper(
    tmp_path: Path, variables: dict[str, str]
) -> None:
    ran = tmp_path / "ran"
    home = tmp_path / "home"
    for name in (".reportlab_mods", ".reportlab_settings"):
        _trap(home / name, ran)
    path = tmp_path / "path"
    for name in ("reportlab_mods.py", "reportlab_settings.py"):
        _trap(path / name, ran)
    root = Path(__file__).parents[2]
    done = subprocess.run(
        [sys.executable, "-c", _CODE],
        env={**os.environ, "HOME": str(home), "PYTHONPATH": f"{root}{os.pathsep}{path}", **variables},
        cwd=path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert not ran.exists()
    assert done.stdout.strip() == hashlib.sha256(quoted(raw())).hexdigest()


def test_character_maps_and_fonts_are_not_looked_for_outside() -> None:
    from reportlab import rl_config

    quoted(raw())
    own = os.path.dirname(os.path.abspath(rl_config.__file__))
    for paths in (rl_config.CMapSearchPath, rl_config.TTFSearchPath, rl_config.T1SearchPath):
        assert all(Path(p).is_relative_to(own) for p in paths)


def test_only_its_own_variables_are_taken_away() -> None:
    kept = {"HOME": "/home/x", "LANG": "C", "XRL_": "1"}
    environment = {**kept, f"{PREFIX}invariant": "0", **dict.fromkeys(VARIABLES, "x")}
    seal_off(environment, {})
    assert environment == kept
