"""Work beside the window: one step after the other, stopped between two, in a thread of its own."""

from __future__ import annotations

import threading
from collections.abc import Iterator

import pytest
from pytestqt.qtbot import QtBot

from estimator.desk.doing.work import Course, Queue, Work
from estimator.going import Going


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

    def step(_: Going) -> int:
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

    def first(_: Going) -> None:
        gate.wait(10)
        done_steps.append("first")

    heard: list[object] = []
    course.start([first, lambda _: done_steps.append("second")], lambda *a: heard.append(a), fails)
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
    course.start([lambda _: gate.wait(10), lambda _: "old"], lambda *a: heard.append(a), fails)
    course.start([lambda _: "new", lambda _: "newer"], lambda *a: heard.append(a), fails)
    gate.set()
    qtbot.waitUntil(lambda: not course.is_busy)
    assert heard == [(0, "new"), (1, "newer")]


def test_a_failure_ends_the_course(course: Course, qtbot: QtBot) -> None:
    """It is told once; the steps after it are left."""
    after: list[str] = []
    errors: list[BaseException] = []
    course.start([lambda _: 1 // 0, lambda _: after.append("x")], lambda *_: None, errors.append)
    qtbot.waitUntil(lambda: bool(errors))
    assert isinstance(errors[0], ZeroDivisionError)
    assert not course.is_busy
    qtbot.waitUntil(lambda: course.is_idle)
    assert after == []


def test_a_queue_does_everything_and_tells_how_far_it_is(qtbot: QtBot) -> None:
    """Nothing takes the place of anything; a failure does not stop the ones behind it."""
    queue, gate = Queue(), threading.Event()
    heard: list[object] = []
    moves: list[tuple[int, int]] = []
    ends: list[bool] = []
    queue.moved.connect(lambda done, of: moves.append((done, of)))
    queue.idle.connect(ends.append)

    def fail(_: Going) -> None:
        raise ZeroDivisionError

    for task, name in ((lambda _: gate.wait(10), "a"), (fail, "b"), (lambda _: "third", "c")):
        queue.start(task, heard.append, lambda error: heard.append(type(error)), name)
    assert queue.names == ("a", "b", "c")
    gate.set()
    qtbot.waitUntil(lambda: bool(ends))
    assert heard == [True, ZeroDivisionError, "third"]
    assert moves == [(0, 1), (0, 2), (0, 3), (1, 3), (2, 3), (3, 3)]
    assert ends == [False]
    queue.start(lambda _: "later", heard.append, fails, "d")
    qtbot.waitUntil(lambda: len(ends) == 2)
    assert ends == [False, True]
    assert moves[-2:] == [(0, 1), (1, 1)]
    queue.wait()


def test_newer_work_leaves_the_older_in_its_middle(qtbot: QtBot) -> None:
    """What was under way is told at its next question that nobody wants it; only the newer answers."""
    work, started, gate = Work(), threading.Event(), threading.Event()
    heard: list[object] = []
    ways: list[str] = []

    def older(going: Going) -> str:
        started.set()
        assert gate.wait(10)
        going.check()
        ways.append("past the question")
        return "older"

    work.start(older, heard.append, fails)
    qtbot.waitUntil(started.is_set)
    work.start(lambda _: "newer", heard.append, fails)
    gate.set()
    qtbot.waitUntil(lambda: not work.is_busy)
    assert (heard, ways) == (["newer"], [])
    work.wait()


def test_the_end_waits_no_longer_than_to_the_next_question(qtbot: QtBot) -> None:
    """Work that would go on for ever ends; nothing is heard of it."""
    work, asked = Work(), threading.Event()
    heard: list[object] = []

    def endless(going: Going) -> None:
        while True:
            going.check()
            asked.set()

    work.start(endless, heard.append, heard.append)
    qtbot.waitUntil(asked.is_set)
    work.wait()
    qtbot.waitUntil(lambda: not work.is_busy)
    assert heard == []


def test_progress_of_work_reaches_the_window(qtbot: QtBot) -> None:
    """How far it is, in the window's thread; of work that was left nothing more."""
    work = Work()
    moves: list[tuple[int, int]] = []
    threads: set[threading.Thread] = set()

    def move(done: int, of: int) -> None:
        moves.append((done, of))
        threads.add(threading.current_thread())

    work.moved.connect(move)

    def task(going: Going) -> None:
        for i in range(3):
            going.tell(i, 3)

    work.start(task, lambda _: None, fails)
    qtbot.waitUntil(lambda: not work.is_busy)
    assert moves == [(0, 3), (1, 3), (2, 3)]
    assert threads == {threading.main_thread()}
    work.wait()
