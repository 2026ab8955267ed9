"""Every check runs, whatever happened to the one before, and one failure fails the whole."""

from __future__ import annotations

import itertools
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from bootstrap.checks import Begun, Check, all_checks, begin_quietly, call_quietly, chosen_tests, run_checks
from bootstrap.environment import TEST

CHECKS = (Check("style", ("style",)), Check("types", ("types",)), Check("tests", ("tests",)))


class Told:
    """Stands for the last check: begun first, told last."""

    def __init__(self, ran: list[str], name: str, code: int) -> None:
        self._ran, self._name, self._code = ran, name, code
        ran.append(f"begun {name}")

    def finish(self) -> int:
        self._ran.append(f"told {self._name}")
        print(f"<{self._name}>")
        return self._code

    def stop(self) -> None:
        self._ran.append(f"stopped {self._name}")


@pytest.mark.parametrize(
    ("failing", "code"),
    [((), 0), (("style",), 1), (("types",), 1), (("tests",), 1), (("style", "types", "tests"), 1)],
)
def test_one_failure_fails_the_whole_and_stops_nothing(failing: Sequence[str], code: int) -> None:
    ran: list[str] = []

    def call(command: Sequence[str]) -> int:
        ran.extend(command)
        return 5 if command[0] in failing else 0

    def begin(command: Sequence[str]) -> Told:
        return Told(ran, command[0], 5 if command[0] in failing else 0)

    assert run_checks(CHECKS, call, begin) == code
    assert ran == ["begun tests", "style", "types", "told tests"]


def test_names_and_results_are_told_and_nothing_after_the_tests(capsys: pytest.CaptureFixture[str]) -> None:
    def call(command: Sequence[str]) -> int:
        print(f"<{command[0]}>")
        return 1 if command[0] == "types" else 0

    seconds = itertools.count(0.0, 1.5)
    run_checks(CHECKS, call, lambda command: Told([], command[0], 0), lambda: next(seconds))
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


def test_the_tests_are_stopped_when_the_checks_are_broken_off() -> None:
    ran: list[str] = []

    def call(command: Sequence[str]) -> int:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run_checks(CHECKS, call, lambda command: Told(ran, command[0], 0))
    assert ran == ["begun tests", "stopped tests"]


def test_words_are_held_back_until_they_are_asked_for(
    tmp_path: Path, capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    """More than a pipe holds, a character in two pieces, and both streams in their order."""
    script = (
        "import pathlib, sys; print('x' * 200_000, flush=True); print('wrong', file=sys.stderr, flush=True); "
        "sys.stdout.buffer.write(b'5\\xc2'); sys.stdout.flush(); sys.stdout.buffer.write(b'\\xb0\\n'); "
        "sys.stdout.flush(); pathlib.Path('through').touch(); sys.exit(4)"
    )
    running = begin_quietly(replace(TEST, root=tmp_path))([sys.executable, "-c", script])
    while not (tmp_path / "through").exists():
        pass
    assert capfdbinary.readouterr().out == b""
    assert running.finish() == 4
    assert capfdbinary.readouterr().out == b"x" * 200_000 + b"\nwrong\n5\xc2\xb0\n"


def test_a_process_that_is_stopped_is_gone(tmp_path: Path) -> None:
    process = subprocess.Popen(
        [sys.executable, "-c", "import signal; signal.pause()"], stdout=subprocess.PIPE, cwd=tmp_path
    )
    Begun(process).stop()
    assert process.returncode is not None


def test_all_checks_end_with_the_tests() -> None:
    words = [" ".join(check.command[1:]) for check in all_checks(TEST)]
    assert words[:3] == ["-m ruff check .", "-m ruff format --check .", "-m mypy"]
    assert "lint-imports" in all_checks(TEST)[3].command[0]
    assert words[-1].startswith("-m pytest -n auto")
    assert "--cov" not in words[-1]
    assert "--cov --cov-report=term" in " ".join(all_checks(TEST, cover=True)[-1].command)


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
