"""Work beside the window: one step after the other, stopped between two, in a thread of its own."""

from __future__ import annotations

import threading
from collections.abc import Iterator

import pytest
from pytestqt.qtbot import QtBot

from estimator.desk.work import Course, Queue, Step, Task, Work
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


def steps_of(*tasks: Task) -> list[Step]:
    """Steps with their places as keys."""
    return [Step(place, task) for place, task in enumerate(tasks)]


def test_steps_are_done_in_order_in_another_thread(course: Course, qtbot: QtBot) -> None:
    """Answers come back to the window's thread, each before the next step begins; busy from first to last."""
    threads: list[threading.Thread] = []
    here: list[threading.Thread] = []
    answers: list[tuple[object, object]] = []
    busy: list[bool] = []
    course.busy_changed.connect(busy.append)

    def step(_: Going) -> tuple[int, int]:
        threads.append(threading.current_thread())
        return len(threads), len(answers)

    def done(key: object, answer: object) -> None:
        here.append(threading.current_thread())
        answers.append((key, answer))

    course.want(steps_of(step, step, step), done, fails)
    qtbot.waitUntil(lambda: not course.is_busy)
    assert answers == [(0, (1, 0)), (1, (2, 1)), (2, (3, 2))]
    assert busy == [True, False]
    assert threading.main_thread() not in threads
    assert set(here) == {threading.main_thread()}


def test_a_step_that_was_left_ends_unheard(course: Course, qtbot: QtBot) -> None:
    """Stopped while the first of two runs: its answer is not told, the second is never done."""
    gate, began, done_steps = threading.Event(), threading.Event(), []

    def first(_: Going) -> None:
        began.set()
        gate.wait(10)
        done_steps.append("first")

    heard: list[object] = []
    course.want(steps_of(first, lambda _: done_steps.append("second")), lambda *a: heard.append(a), fails)
    assert began.wait(10)
    course.stop()
    assert course.is_busy
    gate.set()
    qtbot.waitUntil(lambda: not course.is_busy)
    assert done_steps == ["first"]
    assert heard == []


def test_other_steps_take_the_place_of_those_before(course: Course, qtbot: QtBot) -> None:
    """One thread, one step at a time; only the answers of what is wanted are told."""
    gate = threading.Event()
    heard: list[tuple[object, object]] = []

    def tell(key: object, answer: object) -> None:
        heard.append((key, answer))

    course.want([Step("a", lambda _: gate.wait(10)), Step("b", lambda _: "old")], tell, fails)
    course.want([Step("c", lambda _: "new"), Step("d", lambda _: "newer")], tell, fails)
    gate.set()
    qtbot.waitUntil(lambda: not course.is_busy)
    assert heard == [("c", "new"), ("d", "newer")]


def test_a_step_still_wanted_goes_on(course: Course, qtbot: QtBot) -> None:
    """Under way while other steps are wanted beside it: it is done once, and its answer is told."""
    gate, runs = threading.Event(), []
    heard: list[object] = []

    def long(going: Going) -> str:
        runs.append("long")
        assert gate.wait(10)
        going.check()
        return "long"

    def tell(key: object, _: object) -> None:
        heard.append(key)

    course.want([Step("long", long), Step("old", lambda _: runs.append("old"))], tell, fails)
    course.keep(["long"])
    course.want([Step("new", lambda _: runs.append("new")), Step("long", long)], tell, fails)
    gate.set()
    qtbot.waitUntil(lambda: not course.is_busy)
    assert runs == ["long", "new"]
    assert heard == ["long", "new"]


def test_a_failure_ends_the_course(course: Course, qtbot: QtBot) -> None:
    """It is told once; the steps after it are left."""
    after: list[str] = []
    errors: list[BaseException] = []
    course.want(steps_of(lambda _: 1 // 0, lambda _: after.append("x")), lambda *_: None, errors.append)
    qtbot.waitUntil(lambda: not course.is_busy)
    (error,) = errors
    assert isinstance(error, ZeroDivisionError)
    assert after == []


def test_newer_work_is_done_while_the_window_waits_for_it(qtbot: QtBot) -> None:
    """The window's thread stands still: what was left ends all the same, and the newer answer can be waited for."""
    work, gate = Work(), threading.Event()
    heard: list[object] = []
    work.start(lambda _: gate.wait(10), heard.append, fails)
    newer = work.start(lambda _: "newer", heard.append, fails)
    gate.set()
    assert newer.result(10) == "newer"
    qtbot.waitUntil(lambda: not work.is_busy)
    assert heard == ["newer"]
    work.wait()


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
