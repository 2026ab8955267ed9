"""A terminal with a home folder of its own."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.hands import Terminal


@pytest.fixture
def terminal(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Terminal:
    """No job yet."""
    monkeypatch.setenv("BAYDROP_HOME", str(tmp_path / "home"))

    def read() -> tuple[str, str]:
        said = capsys.readouterr()
        return said.out, said.err

    return Terminal(tmp_path, read, monkeypatch)


@pytest.fixture
def built(terminal: Terminal) -> Terminal:
    """With a job of one bay side, two products and air."""
    terminal.good(
        *("build", "JOB", "--bays", 1, "--sides", 1, "--products", 2, "--drops-per-side", 2),
        *("--date", "2027-03-01"),
    )
    return terminal


NAMES = ("quote.number=Q-1", "company.name=Any installer", "customer.name=Any customer")


@pytest.fixture
def named(built: Terminal) -> Terminal:
    """The same with the names without which nothing is issued."""
    built.run("edit", "JOB", *(part for name in NAMES for part in ("--set", name)), "--date", "2027-03-01")
    return built
