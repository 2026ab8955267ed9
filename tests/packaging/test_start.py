"""The start commands as a person types them, with a ready environment or trouble in its stead."""

from __future__ import annotations

import importlib.util
import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from types import ModuleType

import pytest

from bootstrap.environment import ROOT, Environment
from bootstrap.machine import Machine
from bootstrap.trouble import Trouble, guarded


def load(name: str) -> ModuleType:
    """`run.py` or `test.py`, under a name that hides nothing."""
    spec = importlib.util.spec_from_file_location(f"start_{name}", ROOT / "packaging" / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


class Ready(Environment):
    """Nothing to be made; the interpreter is the one that runs the tests."""

    @property
    def python(self) -> Path:
        return Path(sys.executable)

    def is_ready(self) -> bool:
        return True


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> ModuleType:
    module = load("run")
    whole = Machine("linux", True, True, False, lambda _need: True, lambda _command, _variables: 1)
    monkeypatch.setattr(module, "RUN", Ready(tmp_path, tmp_path, tmp_path))
    monkeypatch.setattr(module, "this_machine", lambda: whole)
    monkeypatch.setattr(module, "ROOT", tmp_path)
    return module


def started(
    module: ModuleType, monkeypatch: pytest.MonkeyPatch, *arguments: str
) -> tuple[int, list[list[str]]]:
    """The exit code, and the program's modules that were run."""
    ran: list[list[str]] = []

    def call(command: Sequence[str]) -> int:
        ran.append(list(command))
        return 0

    monkeypatch.setattr(module, "call", call)
    monkeypatch.setattr(sys, "argv", ["run.py", *arguments])
    code = module.main()
    assert isinstance(code, int)
    return code, ran


def test_the_desk_opens_on_the_example(run: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DISPLAY", ":0")
    assert run.EXAMPLE.is_file()
    assert started(run, monkeypatch) == (0, [["estimator.desk", str(run.EXAMPLE)]])


def test_with_no_display_or_headless_the_quote_is_written(
    run: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    pdf = str(tmp_path / "out" / "gannet-quay-quote-draft.pdf")
    quote = (0, [["estimator.cli", "quote", str(run.EXAMPLE), "--pdf", pdf]])
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    monkeypatch.setenv("DISPLAY", ":0")
    assert started(run, monkeypatch, "--headless") == quote
    monkeypatch.delenv("DISPLAY")
    assert started(run, monkeypatch) == quote


def test_a_job_and_a_place_of_ones_own(
    run: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.chdir(tmp_path)
    code, ran = started(run, monkeypatch, "mine.baydrop", "--headless", "--pdf", "mine.pdf")
    assert (code, ran) == (
        0,
        [["estimator.cli", "quote", "mine.baydrop", "--pdf", str(tmp_path / "mine.pdf")]],
    )


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="only there a display may be missing")
def test_the_quote_of_the_example_is_really_written(
    run: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "argv", ["run.py", "--headless"])
    monkeypatch.setattr(
        run,
        "clean_variables",
        lambda: {**os.environ, "PYTHONPATH": str(ROOT), "BAYDROP_HOME": str(tmp_path / "own")},
    )
    assert run.main() == 0
    pdf = tmp_path / "out" / "gannet-quay-quote-draft.pdf"
    assert pdf.read_bytes().startswith(b"%PDF-")
    assert capfd.readouterr().out.splitlines() == [f"Wrote {pdf}."]


def test_trouble_is_a_sentence_and_no_traceback(capsys: pytest.CaptureFixture[str]) -> None:
    def in_trouble() -> int:
        raise Trouble("Type this line.")

    assert guarded(in_trouble) == 1
    assert capsys.readouterr().err == "Type this line.\n"


def test_a_broken_off_start_ends_quietly() -> None:
    def broken_off() -> int:
        raise KeyboardInterrupt

    assert guarded(broken_off) == 130


def test_the_first_code_that_runs_is_readable_by_any_python_3_and_tells_an_old_one() -> None:
    """Its own version check, run as an older interpreter would see it."""
    source = (ROOT / "packaging" / "bootstrap" / "__init__.py").read_text(encoding="utf-8")
    script = f"import sys; sys.version_info = (3, 9, 2); sys.version = '3.9.2 (old)'; exec({source!r})"
    told = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False)
    assert told.returncode == 1
    assert told.stderr == "Baydrop needs Python 3.11 or newer; this is 3.9.2.\n"
