"""Commands run in this process: exit code, output, what the files hold."""

from __future__ import annotations

import io
import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from estimator.cli import main
from estimator.model.job import Job
from estimator.store.jobs import load_job

__all__ = ["Terminal"]

PRICES = Path(__file__).parents[2] / "resources" / "price-book.csv"


class Terminal:
    """A person at a terminal; every command has the shipped price book and one day.

    Attributes:
        out, err: what the last command printed.
    """

    def __init__(self, folder: Path, read: Callable[[], tuple[str, str]], patch: pytest.MonkeyPatch) -> None:
        self.folder, self._read, self._patch = folder, read, patch
        self.job = folder / "job.baydrop"
        self.book = folder / "book.csv"
        self.book.write_bytes(PRICES.read_bytes())
        self.out = self.err = ""

    def run(self, *arguments: object, stdin: str | bytes = "") -> int:
        """One command; JOB stands for the job's file."""
        content = stdin if isinstance(stdin, bytes) else stdin.encode("utf-8")
        self._patch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(content), encoding="utf-8"))
        texts = [str(self.job if a == "JOB" else a) for a in arguments]
        # A withdrawal asks no price.
        code = main(texts if texts[0] == "withdraw" else [*texts, "--prices", str(self.book)])
        self.out, self.err = self._read()
        return code

    def good(self, *arguments: object, stdin: str | bytes = "") -> None:
        """One command that must go well."""
        assert self.run(*arguments, stdin=stdin) == 0, self.err

    def json(self, *arguments: object, stdin: str | bytes = "") -> Any:
        """What one command that must go well prints as JSON."""
        self.good(*arguments, "--json", stdin=stdin)
        return json.loads(self.out)

    def refused(self, *arguments: object, stdin: str | bytes = "") -> str:
        """What is said to bad input; the job's file stays as it was."""
        before = self.job.read_bytes() if self.job.exists() else None
        book = self.book.read_bytes()
        assert self.run(*arguments, stdin=stdin) == 2, (self.out, self.err)
        assert self.out == "" and "Traceback" not in self.err
        assert (self.job.read_bytes() if self.job.exists() else None) == before
        assert self.book.read_bytes() == book
        return self.err

    @property
    def whole(self) -> Job:
        """What the job's file holds."""
        return load_job(self.job)
