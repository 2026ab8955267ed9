"""Work beside the window: one step after the other, stopped between two, in a thread of its own."""

from __future__ import annotations

import threading
from collections.abc import Iterator

import pytest
from pytestqt.qtbot import QtBot

from estimator.desk.doing.work import Course


def fails(error: BaseException) -> None:
    """No step of these may."""
    raise AssertionError from error


@pytest.fixture
def course(qtbot: QtBot) -> Iterator[Course]:
    """A course that is ended with its test."""
    made = Course()
    yield made
    made.wait()


def test_steps_are_done_in_order_in_another_thread(course: Course, qtbot: QtBot) -> None:
    """Answers come back to the window's thread, with how far it is."""
    threads: list[threading.Thread] = []
    here: list[threading.Thread] = []
    answers: list[tuple[int, object]] = []
    moves: list[tuple[int, int]] = []
    course.moved.connect(lambda done, of: moves.append((done, of)))

    def step() -> int:
        threads.append(threading.current_thread())
        return len(threads)

    def done(place: int, answer: object) -> None:
        here.append(threading.current_thread())
        answers.append((place, answer))

    course.start([step] * 3, done, fails)
    qtbot.waitUntil(lambda: not course.is_busy)
    assert answers == [(0, 1), (1, 2), (2, 3)]
    assert moves == [(0, 3), (1, 3), (2, 3), (3, 3)]
    assert threading.main_thread() not in threads
    assert set(here) == {threading.main_thread()}


def test_a_step_that_was_left_ends_unheard(course: Course, qtbot: QtBot) -> None:
    """Stopped while the first of two runs: its answer is not told, the second is never done."""
    gate, done_steps = threading.Event(), []

    def first() -> None:
        gate.wait(10)
        done_steps.append("first")

    heard: list[object] = []
    course.start([first, lambda: done_steps.append("second")], lambda *a: heard.append(a), fails)
    course.stop()
    assert not course.is_busy
    assert not course.is_idle
    gate.set()
    qtbot.waitUntil(lambda: course.is_idle)
    assert done_steps == ["first"]
    assert heard == []


def test_another_course_takes_the_place_of_the_first(course: Course, qtbot: QtBot) -> None:
    """One thread, one step at a time; only the answers of the course that holds are told."""
    gate = threading.Event()
    heard: list[tuple[int, object]] = []
    course.start([lambda: gate.wait(10), lambda: "old"], lambda *a: heard.append(a), fails)
    course.start([lambda: "new", lambda: "newer"], lambda *a: heard.append(a), fails)
    gate.set()
    qtbot.waitUntil(lambda: not course.is_busy)
    assert heard == [(0, "new"), (1, "newer")]


def test_a_failure_ends_the_course(course: Course, qtbot: QtBot) -> None:
    """It is told once; the steps after it are left."""
    after: list[str] = []
    errors: list[BaseException] = []
    course.start([lambda: 1 // 0, lambda: after.append("x")], lambda *_: None, errors.append)
    qtbot.waitUntil(lambda: bool(errors))
    assert isinstance(errors[0], ZeroDivisionError)
    assert not course.is_busy
    qtbot.waitUntil(lambda: course.is_idle)
    assert after == []
