"""The private environment is made once, and again only when something it hangs on changed."""

from __future__ import annotations

import os
import re
import stat
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import pytest

from bootstrap.environment import ROOT, RUN, TEST, Environment, clean_variables
from bootstrap.trouble import Trouble


@dataclass
class Workbench:
    """Runs nothing, but leaves behind what venv would."""

    folder: Path
    fails: str = ""
    ran: list[list[str]] = field(default_factory=list)

    def __call__(self, command: Sequence[str]) -> int:
        self.ran.append(list(command))
        if self.fails and self.fails in command:
            return 1
        if "venv" in command:
            environment = Environment(self.folder, self.folder, self.folder)
            for place in (environment.programs, environment.packages):
                place.mkdir(parents=True, exist_ok=True)
            (self.folder / "pyvenv.cfg").touch()
            environment.python.touch()
        return 0


@pytest.fixture
def bench(tmp_path: Path) -> Workbench:
    return Workbench(tmp_path / "private")


@pytest.fixture
def environment(tmp_path: Path, bench: Workbench) -> Environment:
    lock = tmp_path / "requirements.lock"
    lock.write_text("a==1 --hash=sha256:00\n")
    return Environment(tmp_path, bench.folder, lock, bench)


def test_it_is_made_once(environment: Environment, bench: Workbench) -> None:
    assert not environment.is_ready()
    environment.make()
    assert environment.is_ready()
    assert len(bench.ran) == 2


def test_packages_come_only_by_hash_and_unbuilt(environment: Environment, bench: Workbench) -> None:
    environment.make()
    install = bench.ran[-1]
    assert install[0] == str(environment.python)
    assert {"--require-hashes", "--no-deps", "--only-binary"} <= set(install)
    assert install[-1] == str(environment.lock)


def test_another_lock_makes_it_anew(environment: Environment) -> None:
    environment.make()
    environment.lock.write_text("a==2 --hash=sha256:00\n")
    assert not environment.is_ready()
    environment.make()
    assert environment.is_ready()


def test_another_python_makes_it_anew(environment: Environment, monkeypatch: pytest.MonkeyPatch) -> None:
    environment.make()
    monkeypatch.setattr(sys, "version", "3.99.0 (of a later day)")
    assert not environment.is_ready()


def test_another_place_makes_it_anew(environment: Environment, tmp_path: Path) -> None:
    environment.make()
    assert not replace(environment, root=tmp_path / "moved").is_ready()


def test_a_lost_interpreter_makes_it_anew(environment: Environment) -> None:
    environment.make()
    environment.python.unlink()
    assert not environment.is_ready()


@pytest.mark.parametrize("fails", ["venv", "pip"])
def test_a_broken_off_start_is_not_taken_for_done(
    environment: Environment, bench: Workbench, fails: str
) -> None:
    environment.make()
    environment.lock.write_text("a==3 --hash=sha256:00\n")
    bench.fails = fails
    with pytest.raises(Trouble, match="Python could not"):
        environment.make()
    assert not environment.stamp.exists()
    assert not environment.is_ready()


@pytest.mark.parametrize("content", [b"", b"\xff\xfe", b"0" * 64])
def test_a_foreign_stamp_is_not_believed(environment: Environment, content: bytes) -> None:
    environment.make()
    environment.stamp.write_bytes(content)
    assert not environment.is_ready()


def test_somebody_elses_folder_is_left_alone(environment: Environment, bench: Workbench) -> None:
    environment.folder.mkdir()
    (environment.folder / "letters.txt").write_text("mine")
    with pytest.raises(Trouble, match="no Python environment"):
        environment.make()
    assert (environment.folder / "letters.txt").read_text() == "mine"
    assert bench.ran == []


def test_a_missing_lock_is_told(environment: Environment) -> None:
    environment.lock.unlink()
    with pytest.raises(Trouble, match=r"requirements\.lock"):
        environment.make()


def test_the_program_is_imported_from_the_projects_folder(environment: Environment) -> None:
    environment.make()
    assert (environment.packages / "baydrop.pth").read_text().strip() == str(environment.root)


@pytest.mark.skipif(os.name == "nt", reason="a shell script")
def test_the_second_front_end_is_among_the_programs(tmp_path: Path, bench: Workbench) -> None:
    """A folder with a blank and a quote in its name, and an interpreter that says how it was called."""
    bench.folder = tmp_path / "it's a place" / "private"
    lock = tmp_path / "lock"
    lock.touch()
    environment = Environment(tmp_path, bench.folder, lock, bench)
    environment.make()
    environment.python.write_text('#!/bin/sh\nprintf "%s\\n" "$@"\n')
    environment.python.chmod(stat.S_IRWXU)
    told = subprocess.run(
        [environment.programs / "baydrop", "check", "a job.baydrop"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert told.stdout.splitlines() == ["-P", "-m", "estimator.cli", "check", "a job.baydrop"]


def test_packages_from_outside_are_kept_out(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PYTHONPATH", "/elsewhere")
    monkeypatch.setenv("PIP_TARGET", "/elsewhere")
    monkeypatch.setenv("LANG", "C.UTF-8")
    variables = clean_variables()
    assert "/elsewhere" not in variables.values()
    assert variables["LANG"] == "C.UTF-8"
    assert variables["PIP_USER"] == "0"


PIN = re.compile(r"^([a-z0-9.-]+==\S+)", re.MULTILINE)


@pytest.mark.parametrize("lock", [RUN.lock, TEST.lock], ids=["run", "test"])
def test_every_locked_package_has_a_hash_and_no_address(lock: Path) -> None:
    text = lock.read_text(encoding="utf-8")
    entries = [entry for entry in re.split(r"\n(?=[a-zA-Z])", text) if PIN.match(entry)]
    assert len(entries) >= 20
    assert [entry for entry in entries if "--hash=sha256:" not in entry] == []
    assert "://" not in text


def test_the_tests_run_with_the_very_packages_of_the_program() -> None:
    run, test = (set(PIN.findall(lock.read_text(encoding="utf-8"))) for lock in (RUN.lock, TEST.lock))
    assert run < test


@pytest.mark.parametrize(
    ("wish", "lock"),
    [("requirements.in", RUN.lock), ("requirements-test.in", TEST.lock)],
    ids=["run", "test"],
)
def test_every_wished_package_is_locked(wish: str, lock: Path) -> None:
    lines = (ROOT / "packaging" / wish).read_text(encoding="utf-8").splitlines()
    wished = {re.split(r"[<>=!~]", line)[0].lower() for line in lines if line and line[0].isalpha()}
    assert wished
    assert wished <= {pin.split("==")[0] for pin in PIN.findall(lock.read_text(encoding="utf-8"))}
