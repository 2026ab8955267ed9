"""A job is opened beside the window: its bar shows it, it can be left, and nothing is lost meanwhile."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtWidgets import QApplication

from estimator.desk.doing.questions import UnsavedAnswer
from estimator.model.job import Job
from estimator.model.party import Party
from estimator.store import files, jobs
from estimator.store.jobs import load_job, save_job
from tests.desk.hands import Hands


class Gate:
    """Reading a job's file waits here, as on a slow disk at the other end of a line."""

    def __init__(self, patch: pytest.MonkeyPatch) -> None:
        self.opened, self.begun = threading.Event(), threading.Event()
        self.threads: list[threading.Thread] = []
        read = files.read_whole

        def slow(*arguments: Any, **named: Any) -> bytes:
            self.threads.append(threading.current_thread())
            self.begun.set()
            # In the window's own thread nobody could open it.
            self.opened.wait(10 if threading.current_thread() is not threading.main_thread() else 0)
            return read(*arguments, **named)

        patch.setattr(jobs, "read_whole", slow)


@pytest.fixture
def gate(desk: Hands, monkeypatch: pytest.MonkeyPatch) -> Iterator[Gate]:
    """The window waits for nothing; the gate is open at the end, so that nothing hangs."""
    desk.window.session.patience_s = 0.0
    made = Gate(monkeypatch)
    yield made
    made.opened.set()


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "quay.baydrop"
    save_job(path, Job(customer=Party(name="Quay")))
    return path


def begin(desk: Hands, gate: Gate, path: Path) -> None:
    assert not desk.window.files.open_path(path)
    assert gate.begun.wait(10)


def idle(desk: Hands) -> None:
    desk.bot.waitUntil(lambda: not desk.window.files.opening.is_busy, timeout=20_000)


def test_the_window_is_alive_while_a_job_is_read(desk: Hands, gate: Gate, path: Path) -> None:
    """It was read in the window's thread, which stood still for up to 3.4 s."""
    begin(desk, gate, path)
    assert desk.window.busy.isVisible()
    assert desk.window.busy.what.text() == "Opening"
    desk.put(desk.editor("customer", "name"), "Typed meanwhile")
    gate.opened.set()
    idle(desk)
    # It was edited since it began, so it was asked about.
    assert desk.said.unsaved_asked == 1
    assert desk.job.customer.name == "Quay"
    assert desk.window.session.path == path
    assert threading.main_thread() not in gate.threads
    assert not desk.window.busy.isVisible()


def test_opening_can_be_left(desk: Hands, gate: Gate, path: Path) -> None:
    """At once, however long the disk takes; what it reads then is not opened."""
    begin(desk, gate, path)
    desk.press(desk.window.busy.cancel)
    assert not desk.window.busy.isVisible()
    assert "the open job is as it was" in desk.window.statusBar().currentMessage()
    gate.opened.set()
    for thread in gate.threads:
        thread.join(10)
    QApplication.processEvents()
    assert (desk.job.customer.name, desk.window.session.path) == ("", None)


def test_another_one_is_opened_while_the_first_hangs(desk: Hands, gate: Gate, path: Path) -> None:
    """As when the first is on a disk that went away for good."""
    begin(desk, gate, path)
    other = path.with_name("other.baydrop")
    save_job(other, Job(customer=Party(name="Other")))
    hanging, gate.opened = gate.opened, threading.Event()
    gate.opened.set()
    desk.window.files.open_path(other)
    idle(desk)
    assert desk.job.customer.name == "Other"
    hanging.set()
    for thread in gate.threads:
        thread.join(10)
    QApplication.processEvents()
    assert desk.job.customer.name == "Other"


def test_a_new_job_takes_the_place_of_one_that_is_still_read(desk: Hands, gate: Gate, path: Path) -> None:
    begin(desk, gate, path)
    desk.command("file.new")
    gate.opened.set()
    idle(desk)
    assert desk.window.session.path is None


def test_an_edit_while_the_answer_is_checked_is_asked_about_too(
    desk: Hands, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The file is looked at once more after the question; who types meanwhile is asked again, and may stay."""
    desk.put(desk.editor("customer", "name"), "Mine")
    desk.window.session.patience_s = 0.0
    gate = Gate(monkeypatch)
    may_leave, answers = desk.window.files.may_leave, [UnsavedAnswer.CANCEL, UnsavedAnswer.DISCARD]

    def then_hang() -> bool:
        desk.said.unsaved = answers.pop()
        gate.opened.clear()
        return may_leave()

    with monkeypatch.context() as patch:
        patch.setattr(desk.window.files, "may_leave", then_hang)
        begin(desk, gate, path)
        gate.opened.set()
        desk.bot.waitUntil(lambda: desk.said.unsaved_asked == 1)
        desk.put(desk.editor("customer", "name"), "Typed after the question")
        gate.opened.set()
        desk.bot.waitUntil(lambda: desk.said.unsaved_asked == 2)
        idle(desk)
    assert desk.job.customer.name == "Typed after the question"
    assert load_job(path).customer.name == "Quay"
    gate.opened.set()
    desk.said.unsaved = UnsavedAnswer.DISCARD


def test_the_window_closes_while_a_disk_hangs(desk: Hands, gate: Gate, path: Path) -> None:
    """It waited for the end of all that was under way, and so for ever."""
    begin(desk, gate, path)
    desk.window.close()
    assert not desk.window.isVisible()
