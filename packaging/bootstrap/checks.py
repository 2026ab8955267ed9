"""Every check of the project, one after the other."""

from __future__ import annotations

import subprocess
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from bootstrap.environment import Environment, clean_variables
from bootstrap.trouble import say

__all__ = ["Check", "all_checks", "call_quietly", "chosen_tests", "run_checks"]

# Tests draw without a display, and random ones draw the same examples on every machine.
QUIET = {"QT_QPA_PLATFORM": "offscreen", "HYPOTHESIS_PROFILE": "ci"}


@dataclass(frozen=True)
class Check:
    """A check: its name and the command that makes it."""

    name: str
    command: tuple[str, ...]


def all_checks(environment: Environment) -> tuple[Check, ...]:
    """All checks, the tests last, so that the last line printed is their summary."""
    python = str(environment.python)
    return (
        Check("style (ruff check)", (python, "-m", "ruff", "check", ".")),
        Check("format (ruff format)", (python, "-m", "ruff", "format", "--check", ".")),
        Check("types (mypy, strict)", (python, "-m", "mypy")),
        Check("architecture (import-linter)", (str(environment.program("lint-imports")), "--no-logo")),
        Check(
            "tests (pytest, with coverage)",
            (python, "-m", "pytest", "--cov", "--cov-report=term", "--continue-on-collection-errors"),
        ),
    )


def chosen_tests(environment: Environment, arguments: Sequence[str]) -> tuple[Check, ...]:
    """Only the tests that pytest's arguments name."""
    return (Check("tests (pytest)", (str(environment.python), "-m", "pytest", *arguments)),)


def run_checks(
    checks: Sequence[Check],
    call: Callable[[Sequence[str]], int],
    clock: Callable[[], float] = time.monotonic,
) -> int:
    """Run every check even when one fails.

    The result of the last check is told by its own last line, so nothing is printed after it.

    Args:
        checks: in this order.
        call: runs a command; its exit code.
        clock: seconds.

    Returns:
        0 when all passed, else 1.
    """
    failed: list[str] = []
    for number, check in enumerate(checks, start=1):
        if number == len(checks) and failed:
            say(f"\nFailed so far: {', '.join(failed)}")
        say(f"\n=== {number} of {len(checks)}: {check.name}")
        start = clock()
        if call(check.command) != 0:
            failed.append(check.name)
        if number < len(checks):
            result = "FAILED" if check.name in failed else "passed"
            say(f"--- {check.name}: {result} ({clock() - start:.1f} s)")
    return 1 if failed else 0


def call_quietly(environment: Environment) -> Callable[[Sequence[str]], int]:
    """What runs a check's command from the project's folder."""

    def call(command: Sequence[str]) -> int:
        return subprocess.call(list(command), cwd=environment.root, env={**clean_variables(), **QUIET})

    return call
