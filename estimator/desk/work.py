"""Slow work beside the window, so that it stays alive; the answer comes back as a signal.

Work gets a `Going`: it asks there whether it is still wanted, so that leaving it and closing the window take no longer
than from one question to the next.
"""

from __future__ import annotations

import time
import weakref
from collections.abc import Callable, Sequence
from concurrent.futures import Future, wait
from dataclasses import dataclass, field
from functools import partial
from queue import SimpleQueue
from threading import Thread
from typing import Final

from PySide6.QtCore import QObject, Qt, Signal

from estimator.going import Going

__all__ = ["PATIENCE_WITH_FILES_S", "Course", "DiskWork", "Ending", "Queue", "Step", "Task", "Work", "Worker"]

PATIENCE_WITH_FILES_S: Final = 0.8
"""Seconds that the end waits for work with files that was left: one on a disk that went away never answers."""

Task = Callable[[Going], object]
"""What is done beside the window."""


class Ending:
    """How long the end may still take: all that is waited for, one after the other, shares it.

    Args:
        most_s: seconds from now on.
    """

    def __init__(self, most_s: float = PATIENCE_WITH_FILES_S) -> None:
        self._until = time.monotonic() + most_s

    @property
    def left_s(self) -> float:
        """Seconds that are left."""
        return max(0.0, self._until - time.monotonic())


@dataclass(slots=True, eq=False)
class _Order:
    number: int
    task: Task
    done: Callable[[object], None]
    failed: Callable[[BaseException], None]
    going: Going
    key: object
    future: Future[object] = field(default_factory=Future)


_Waiting = SimpleQueue[tuple[Future[object], Callable[[], object]] | None]


class Worker:
    """One thread that does what it is given, in order.

    It keeps no program from ending: one that hangs in the system, reading from a disk at the other end of a line that
    broke, would do so for ever.
    """

    def __init__(self) -> None:
        self._waiting: _Waiting = SimpleQueue()
        self._thread: Thread | None = None
        self._over = False
        weakref.finalize(self, self._waiting.put, None)

    def do(self, task: Callable[[], object]) -> Future[object]:
        """Do a task after those before it.

        Raises:
            RuntimeError: it was ended.
        """
        if self._over:
            raise RuntimeError("nothing can be started after the end")
        if self._thread is None:
            self._thread = Thread(target=_work, args=(self._waiting,), daemon=True)
            self._thread.start()
        future: Future[object] = Future()
        self._waiting.put((future, task))
        return future

    def end(self, most_s: float | None) -> None:
        """Do nothing more, and wait for what is under way, for so many seconds at most."""
        self._over = True
        self._waiting.put(None)
        if self._thread is not None:
            self._thread.join(most_s)


def _work(waiting: _Waiting) -> None:
    while (given := waiting.get()) is not None:
        future, task = given
        with _Failing(future):
            future.set_result(task())
        del given, future, task


class _Failing:
    """Whatever goes wrong within is what the future answers."""

    def __init__(self, future: Future[object]) -> None:
        self._future = future

    def __enter__(self) -> None:
        pass

    def __exit__(self, _kind: object, error: BaseException | None, _trace: object) -> bool:
        if error is not None:
            self._future.set_exception(error)
        return True


class _Bell(QObject):
    """What the thread tells the window by. It is no part of the window, which may be gone before hanging work ends.

    Signals:
        ended: number of an order.
        heard: of the order of that number, how much is done, and of how much.
    """

    ended = Signal(int)
    heard = Signal(int, int, int)


class _Beside(QObject):
    """Orders done one after the other in a thread beside the window.

    Signals:
        busy_changed: whether something is under way.
        moved: how far it is: how much is done, and of how much.
        left: the person gave up what was under way and what waited.
        idle: nothing is under way any more, and the last answer was told; False where an order of the row failed.
    """

    busy_changed = Signal(bool)
    moved = Signal(int, int)
    left = Signal()
    idle = Signal(bool)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._thread = Worker()
        # The first runs, or ran and its end was not told yet; the others wait for it.
        self._orders: list[_Order] = []
        self._given = 0
        self._over = False
        self._busy_told = False
        self._well = True
        # The signals carry answer and progress from the worker's thread into the window's; queued, because a task
        # that ends at once tells so in the window's own thread, before what it told on its way.
        self._bell = _Bell()
        self._bell.ended.connect(self._end, Qt.ConnectionType.QueuedConnection)
        self._bell.heard.connect(self._hear, Qt.ConnectionType.QueuedConnection)

    @property
    def is_busy(self) -> bool:
        """Whether something is under way: what was left, too, until it ends."""
        return bool(self._orders)

    def _give(
        self,
        task: Task,
        done: Callable[[object], None],
        failed: Callable[[BaseException], None],
        key: object = None,
    ) -> _Order:
        """An order to the thread; it begins when those before it are done, whatever the window is doing then."""
        bell = self._bell
        # Answers are large. What the thread tells knows its order by number and does not hold it: nothing holds itself,
        # so an answer goes with the last who wants it and no search for garbage stops the window.
        self._given += 1
        number = self._given
        going = Going(lambda at, of: bell.heard.emit(number, at, of))
        order = _Order(number, task, done, failed, going, key)

        def run() -> object:
            going.check()
            return task(going)

        self._orders.append(order)
        self._tell_busy()
        order.future = self._thread.do(run)
        order.future.add_done_callback(lambda _: bell.ended.emit(number))
        return order

    def _tell_busy(self) -> None:
        busy = self.is_busy
        if busy is not self._busy_told:
            self._busy_told = busy
            self.busy_changed.emit(busy)

    def _hear(self, number: int, done: int, of: int) -> None:
        if self._orders and self._orders[0].number == number and not self._orders[0].going.is_left:
            self._move(done, of)

    def _move(self, done: int, of: int) -> None:
        self.moved.emit(done, of)

    def _end(self, number: int) -> None:
        order = next((order for order in self._orders if order.number == number), None)
        if order is None:
            return  # its answer was waited for, and told then; or this is over
        self._orders.remove(order)
        self._tell_busy()
        try:
            self._tell(order)
        finally:
            self._settle()

    def _tell(self, order: _Order) -> None:
        if order.going.is_left:
            return
        error = order.future.exception()
        if error is None:
            order.done(order.future.result())
        else:
            self._well = False
            order.failed(error)

    def _settle(self) -> None:
        if not self.is_busy:
            well, self._well = self._well, True
            self.idle.emit(well)

    def _leave(self) -> bool:
        """Leave all orders; whether there was one that somebody wanted."""
        wanted = [order for order in self._orders if not order.going.is_left]
        for order in wanted:
            order.going.leave()
        return bool(wanted)

    def stop(self) -> None:
        """Leave what is under way and what waits; it ends unheard."""
        if self._leave():
            self.left.emit()

    def wait(self, most_s: float | None = None) -> None:
        """Leave everything, until nothing is under way; nothing can be started afterwards.

        Args:
            most_s: seconds after which what hangs in the system is not waited for.
        """
        self._leave()
        self._thread.end(most_s)
        # Nobody hears of the end of what hangs: the window may be gone by then.
        self._over = True
        self._orders.clear()


class Work(_Beside):
    """Does one thing at a time: a newer one takes the place of that under way, which is left."""

    def start(
        self,
        task: Task,
        done: Callable[[object], None],
        failed: Callable[[BaseException], None],
    ) -> Future[object]:
        """Do a task; `done` gets its answer, `failed` its exception, both in the window's thread.

        Returns:
            What the answer can be waited for by, too.
        """
        self._leave()
        return self._give(task, done, failed).future


class DiskWork(Work):
    """Work on files that are read, which may hang in the system: on a disk at the other end of a line that broke.

    What is left is over for whoever asked; the next one has a thread of its own and does not wait for it.
    """

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._hanging: list[Worker] = []

    def _leave(self) -> bool:
        wanted = super()._leave()
        if self._orders:
            self._orders.clear()
            self._thread.end(0.0)
            self._hanging.append(self._thread)
            self._thread = Worker()
            self._tell_busy()
        return wanted

    def wait(self, most_s: float | None = PATIENCE_WITH_FILES_S) -> None:
        """Leave everything and wait for its end, for so many seconds at most; nothing can be started afterwards."""
        ending = None if most_s is None else Ending(most_s)
        super().wait(most_s)
        for thread in self._hanging:
            thread.end(None if ending is None else ending.left_s)

    def start_patiently(
        self,
        task: Task,
        done: Callable[[object], None],
        failed: Callable[[BaseException], None],
        patience_s: float | None,
    ) -> None:
        """The same; where it does not take longer than nobody notices, it is told before this returns.

        Args:
            patience_s: seconds that are waited for it; None to wait until it is there, for a script or a test.
        """
        self._leave()
        order = self._give(task, done, failed)
        wait([order.future], patience_s)
        if order.future.done():
            self._end(order.number)


class Queue(_Beside):
    """Does everything that it is given, in order; nothing takes the place of anything.

    `moved` tells how many are done, and of how many, since it was idle last.
    """

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._done = self._of = 0

    @property
    def names(self) -> tuple[str, ...]:
        """Names of what is under way and of what waits."""
        return tuple(str(order.key) for order in self._orders if not order.going.is_left)

    def start(
        self,
        task: Task,
        done: Callable[[object], None],
        failed: Callable[[BaseException], None],
        name: str,
    ) -> None:
        """Do a task when those before it are done; see `Work.start`.

        Args:
            name: what a person calls it.
        """
        self._of += 1
        self._give(task, done, failed, name)
        self.moved.emit(self._done, self._of)

    def _move(self, done: int, of: int) -> None:
        """What a single one tells is not how far the queue is."""

    def _end(self, number: int) -> None:
        if self._over:
            return
        self._done += 1  # nobody waits for one of a queue: each end is told once
        self.moved.emit(self._done, self._of)
        super()._end(number)

    def _settle(self) -> None:
        if not self.is_busy:
            self._done = self._of = 0
        super()._settle()


@dataclass(frozen=True, slots=True)
class Step:
    """One of a row of steps.

    Attributes:
        key: what it is and what it follows from: of two steps with equal keys the answers are equal.
        task: what is done.
    """

    key: object
    task: Task


class Course(_Beside):
    """A row of steps, one after the other; what is wanted can change on the way, and a step still wanted goes on.

    The window gets each answer before the next step begins, so that what is ready is seen at once.
    """

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._to_come: list[Step] = []
        self._done: Callable[[object, object], None] | None = None
        self._failed: Callable[[BaseException], None] | None = None

    @property
    def is_busy(self) -> bool:
        """Whether something is under way or to come."""
        return bool(self._orders or self._to_come)

    def want(
        self,
        steps: Sequence[Step],
        done: Callable[[object, object], None],
        failed: Callable[[BaseException], None],
    ) -> None:
        """Do these steps from now on and no others; the one under way goes on where it is among them.

        Args:
            steps: what to do, in order.
            done: gets the key of a step and its answer, in the window's thread.
            failed: gets the exception of a step; the steps after it are left.
        """
        self._done, self._failed = done, failed
        self.keep([step.key for step in steps])
        under_way = [order.key for order in self._orders if not order.going.is_left]
        self._to_come = [step for step in steps if step.key not in under_way]
        self._go_on()
        self._tell_busy()

    def keep(self, keys: Sequence[object]) -> None:
        """Leave the step under way where its key is not among these, and begin no other before steps are wanted."""
        self._to_come = []
        for order in self._orders:
            if order.key not in keys:
                order.going.leave()
        self._tell_busy()

    def stop(self) -> None:
        """Leave what is under way and what is to come."""
        to_come, self._to_come = self._to_come, []
        if self._leave() or to_come:
            self.left.emit()
        self._tell_busy()

    def wait(self, most_s: float | None = None) -> None:
        """Leave everything, until nothing is under way; nothing can be started afterwards."""
        self._to_come = []
        super().wait(most_s)

    def _go_on(self) -> None:
        if self._to_come and not self._orders:
            step = self._to_come.pop(0)
            self._give(step.task, partial(self._answer, step.key), self._fail, step.key)

    def _answer(self, key: object, answer: object) -> None:
        if self._done is not None:
            self._done(key, answer)

    def _fail(self, error: BaseException) -> None:
        self._to_come = []
        if self._failed is not None:
            self._failed(error)

    def _settle(self) -> None:
        self._go_on()
        self._tell_busy()
        super()._settle()
