"""Every check runs, whatever happened to the one before, and one failure fails the whole."""

from __future__ import annotations

import itertools
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from bootstrap.checks import Check, all_checks, call_quietly, chosen_tests, run_checks
from bootstrap.environment import TEST

CHECKS = (Check("style", ("style",)), Check("types", ("types",)), Check("tests", ("tests",)))


@pytest.mark.parametrize(
    ("failing", "code"),
    [((), 0), (("style",), 1), (("types",), 1), (("tests",), 1), (("style", "types", "tests"), 1)],
)
def test_one_failure_fails_the_whole_and_stops_nothing(failing: Sequence[str], code: int) -> None:
    ran: list[str] = []

    def call(command: Sequence[str]) -> int:
        ran.extend(command)
        return 5 if command[0] in failing else 0

    assert run_checks(CHECKS, call) == code
    assert ran == ["style", "types", "tests"]


def test_names_and_results_are_told_and_nothing_after_the_tests(capsys: pytest.CaptureFixture[str]) -> None:
    def call(command: Sequence[str]) -> int:
        print(f"<{command[0]}>")
        return 1 if command[0] == "types" else 0

    seconds = itertools.count(0.0, 1.5)
    run_checks(CHECKS, call, lambda: next(seconds))
    told = [line for line in capsys.readouterr().out.splitlines() if line]
    assert told == [
        "=== 1 of 3: style",
        "<style>",
        "--- style: passed (1.5 s)",
        "=== 2 of 3: types",
        "<types>",
        "--- types: FAILED (1.5 s)",
        "Failed so far: types",
        "=== 3 of 3: tests",
        "<tests>",
    ]


def test_all_checks_end_with_the_tests() -> None:
    words = [" ".join(check.command[1:]) for check in all_checks(TEST)]
    assert words[:3] == ["-m ruff check .", "-m ruff format --check .", "-m mypy"]
    assert "lint-imports" in all_checks(TEST)[3].command[0]
    assert words[-1].startswith("-m pytest --cov")


def test_arguments_run_only_the_chosen_tests() -> None:
    (only,) = chosen_tests(TEST, ["tests/layout", "-k", "tee"])
    assert only.command == (str(TEST.python), "-m", "pytest", "tests/layout", "-k", "tee")


def test_checks_run_off_screen_from_the_projects_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("QT_QPA_PLATFORM", "xcb")
    script = (
        "import os, pathlib, sys; "
        "pathlib.Path('told').write_text(os.environ['QT_QPA_PLATFORM'] + ' ' + os.environ['HYPOTHESIS_PROFILE']); "
        "sys.exit(3)"
    )
    assert call_quietly(replace(TEST, root=tmp_path))([sys.executable, "-c", script]) == 3
    assert (tmp_path / "told").read_text() == "offscreen ci"
