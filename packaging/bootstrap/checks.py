"""Every check of the project: the tests on every core, the others beside them."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from bootstrap.environment import Environment, clean_variables
from bootstrap.trouble import say

__all__ = [
    "Begun",
    "Check",
    "Running",
    "all_checks",
    "begin_quietly",
    "call_quietly",
    "chosen_tests",
    "run_checks",
]

# Tests draw without a display, and random ones draw the same examples on every machine.
# What is compiled is kept, whatever the person's shell says: tests start many processes, and each would compile anew.
QUIET = {"QT_QPA_PLATFORM": "offscreen", "HYPOTHESIS_PROFILE": "ci", "PYTHONDONTWRITEBYTECODE": ""}

# A worker that has nothing left takes over tests of another; the cap keeps a large machine from starting more workers
# than the longest tests can use.
_ON_EVERY_CORE = ("-n", "auto", "--maxprocesses=8", "--dist=worksteal")


@dataclass(frozen=True)
class Check:
    """A check: its name and the command that makes it."""

    name: str
    command: tuple[str, ...]


def all_checks(environment: Environment, *, cover: bool = False) -> tuple[Check, ...]:
    """All checks, the tests last, so that the last line printed is their summary.

    Args:
        environment: where they run.
        cover: branch coverage too, which costs about as much time as the tests themselves.
    """
    python = str(environment.python)
    measured = ("--cov", "--cov-report=term") if cover else ()
    return (
        Check("style (ruff check)", (python, "-m", "ruff", "check", ".")),
        Check("format (ruff format)", (python, "-m", "ruff", "format", "--check", ".")),
        Check("types (mypy, strict)", (python, "-m", "mypy")),
        Check("architecture (import-linter)", (str(environment.program("lint-imports")), "--no-logo")),
        Check(
            "tests (pytest, with coverage)" if cover else "tests (pytest)",
            (python, "-m", "pytest", *_ON_EVERY_CORE, *measured, "--continue-on-collection-errors"),
        ),
    )


def chosen_tests(environment: Environment, arguments: Sequence[str]) -> tuple[Check, ...]:
    """Only the tests that pytest's arguments name."""
    return (Check("tests (pytest)", (str(environment.python), "-m", "pytest", *arguments)),)


class Running(Protocol):
    """A check that was begun."""

    def finish(self) -> int:
        """Tell what it said and says from now on; its exit code when it is through."""
        ...

    def stop(self) -> None:
        """End it now."""
        ...


def run_checks(
    checks: Sequence[Check],
    call: Callable[[Sequence[str]], int],
    begin: Callable[[Sequence[str]], Running],
    clock: Callable[[], float] = time.monotonic,
) -> int:
    """Run every check even when one fails.

    The last one, by far the longest, is begun first and runs beside the others; what it says is held back until
    they are through. Its result is told by its own last line, so nothing is printed after it.

    Args:
        checks: in this order.
        call: runs a command; its exit code.
        begin: starts a command.
        clock: seconds.

    Returns:
        0 when all passed, else 1.
    """
    *others, last = checks
    if not others:
        say(f"\n=== 1 of 1: {last.name}")
        return 1 if call(last.command) != 0 else 0
    failed: list[str] = []
    running = begin(last.command)
    try:
        for number, check in enumerate(others, start=1):
            say(f"\n=== {number} of {len(checks)}: {check.name}")
            start = clock()
            if call(check.command) != 0:
                failed.append(check.name)
            result = "FAILED" if check.name in failed else "passed"
            say(f"--- {check.name}: {result} ({clock() - start:.1f} s)")
        if failed:
            say(f"\nFailed so far: {', '.join(failed)}")
        say(f"\n=== {len(checks)} of {len(checks)}: {last.name}")
        return 1 if running.finish() != 0 or failed else 0
    except BaseException:
        running.stop()
        raise


def call_quietly(environment: Environment) -> Callable[[Sequence[str]], int]:
    """What runs a check's command from the project's folder."""

    def call(command: Sequence[str]) -> int:
        return subprocess.call(list(command), cwd=environment.root, env={**clean_variables(), **QUIET})

    return call


def begin_quietly(environment: Environment) -> Callable[[Sequence[str]], Running]:
    """What starts a check's command from the project's folder."""

    def begin(command: Sequence[str]) -> Running:
        return Begun(
            subprocess.Popen(
                list(command),
                cwd=environment.root,
                env={**clean_variables(), **QUIET},
                stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT,
            )
        )

    return begin


class Begun:
    """A process whose words are held back until its end is waited for; from then on they are passed on at once."""

    def __init__(self, process: subprocess.Popen[bytes]) -> None:
        self._process = process
        self._held = bytearray()
        self._heard = False
        self._turn = threading.Lock()
        # Read from the start: a process whose pipe is full would wait.
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def _read(self) -> None:
        assert self._process.stdout is not None
        with self._process.stdout as said:
            while piece := os.read(said.fileno(), 65_536):
                with self._turn:
                    self._held += piece
                    self._pass_on()

    def _pass_on(self) -> None:
        if self._heard:
            # Bytes as they came: a character may be cut in two between pieces.
            sys.stdout.flush()
            sys.stdout.buffer.write(self._held)
            sys.stdout.buffer.flush()
            self._held.clear()

    def finish(self) -> int:
        """Tell what it said and says from now on; its exit code when it is through."""
        with self._turn:
            self._heard = True
            self._pass_on()
        self._reader.join()
        return self._process.wait()

    def stop(self) -> None:
        """End it now."""
        self._process.terminate()
        self._process.wait()
        self._reader.join()
