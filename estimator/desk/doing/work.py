"""Slow work beside the window, so that it stays alive; the answer comes back as a signal.

Work gets a `Going`: it asks there whether it is still wanted, so that leaving it and closing the window take no longer
than from one question to the next.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass

from PySide6.QtCore import QObject, Qt, Signal

from estimator.going import Going

__all__ = ["Course", "Queue", "Task", "Work"]

Task = Callable[[Going], object]
"""What is done beside the window."""


@dataclass(frozen=True, slots=True, eq=False)
class _Order:
    task: Task
    done: Callable[[object], None]
    failed: Callable[[BaseException], None]
    going: Going
    name: str = ""


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
    _ended = Signal(object)
    _heard = Signal(object, int, int)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pool = ThreadPoolExecutor(max_workers=1)
        self._now: _Order | None = None
        self._waiting: list[_Order] = []
        self._well = True
        # The signals carry answer and progress from the worker's thread into the window's; queued, because a task
        # that ends at once tells so in the window's own thread, before what it told on its way.
        self._ended.connect(self._end, Qt.ConnectionType.QueuedConnection)
        self._heard.connect(self._hear, Qt.ConnectionType.QueuedConnection)

    @property
    def is_busy(self) -> bool:
        """Whether something is under way."""
        return self._now is not None

    def _order(
        self,
        task: Task,
        done: Callable[[object], None],
        failed: Callable[[BaseException], None],
        name: str = "",
    ) -> _Order:
        going = Going(lambda at, of: self._heard.emit(going, at, of))
        return _Order(task, done, failed, going, name)

    def _begin(self, order: _Order) -> None:
        fresh = self._now is None
        self._now = order
        if fresh:
            self.busy_changed.emit(True)
        self._pool.submit(order.task, order.going).add_done_callback(self._ended.emit)

    def _hear(self, going: Going, done: int, of: int) -> None:
        if self._now is not None and self._now.going is going and not going.is_left:
            self._move(done, of)

    def _move(self, done: int, of: int) -> None:
        self.moved.emit(done, of)

    def _end(self, future: Future[object]) -> None:
        order = self._now
        assert order is not None
        if self._waiting:
            self._begin(self._waiting.pop(0))
        else:
            self._now = None
            self.busy_changed.emit(False)
        error = future.exception()
        try:
            if order.going.is_left:
                return
            if error is None:
                order.done(future.result())
            else:
                self._well = False
                order.failed(error)
        finally:
            self._settle()

    def _settle(self) -> None:
        if not self.is_busy:
            well, self._well = self._well, True
            self.idle.emit(well)

    def stop(self) -> None:
        """Leave what is under way and what waits; it ends unheard."""
        self._waiting.clear()
        if self._now is not None and not self._now.going.is_left:
            self._now.going.leave()
            self.left.emit()

    def wait(self) -> None:
        """Leave everything, until nothing is under way; nothing can be started afterwards."""
        self._waiting.clear()
        if self._now is not None:
            self._now.going.leave()
        self._pool.shutdown(wait=True)


class Work(_Beside):
    """Does one thing at a time: a newer one takes the place of that under way, which is left."""

    def start(
        self,
        task: Task,
        done: Callable[[object], None],
        failed: Callable[[BaseException], None],
    ) -> None:
        """Do a task; `done` gets its answer, `failed` its exception, both in the window's thread."""
        order = self._order(task, done, failed)
        if self._now is None:
            self._begin(order)
            return
        self._now.going.leave()
        self._waiting = [order]


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
        under_way = () if self._now is None or self._now.going.is_left else (self._now,)
        return tuple(order.name for order in (*under_way, *self._waiting))

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
        order = self._order(task, done, failed, name)
        self._of += 1
        if self._now is None:
            self._begin(order)
        else:
            self._waiting.append(order)
        self.moved.emit(self._done, self._of)

    def _move(self, done: int, of: int) -> None:
        """What a single one tells is not how far the queue is."""

    def _end(self, future: Future[object]) -> None:
        self._done += 1
        self.moved.emit(self._done, self._of)
        super()._end(future)

    def _settle(self) -> None:
        if not self.is_busy:
            self._done = self._of = 0
        super()._settle()


class Course(QObject):
    """A row of steps beside the window, one after the other; it can be stopped between two steps and inside one.

    The window gets each answer before the next step begins, so that what is ready is seen at once.

    Signals:
        moved: how many steps are done, and of how many; equal when nothing is under way any more.
    """

    moved = Signal(int, int)
    _ended = Signal(object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pool = ThreadPoolExecutor(max_workers=1)
        self._steps: tuple[Task, ...] = ()
        self._done: Callable[[int, object], None] | None = None
        self._failed: Callable[[BaseException], None] | None = None
        self._at = 0
        self._going = Going()
        # That of the step which runs; a step of an earlier course ends unheard.
        self._running: Going | None = None
        self._ended.connect(self._end, Qt.ConnectionType.QueuedConnection)

    @property
    def is_busy(self) -> bool:
        """Whether steps of the course are still to come."""
        return self._at < len(self._steps)

    @property
    def is_idle(self) -> bool:
        """Whether nothing runs beside the window, not even a step that was left."""
        return self._running is None

    def start(
        self,
        steps: Sequence[Task],
        done: Callable[[int, object], None],
        failed: Callable[[BaseException], None],
    ) -> None:
        """Do steps from now on, in the place of those that were under way.

        Args:
            steps: what to do, in order.
            done: gets the number of a step and its answer, in the window's thread.
            failed: gets the exception of a step; the steps after it are left.
        """
        self._going.leave()
        self._steps, self._done, self._failed, self._at = tuple(steps), done, failed, 0
        self._going = Going()
        self.moved.emit(0, len(self._steps))
        self._go_on()

    def stop(self) -> None:
        """Leave the steps that are still to come; one under way ends unheard."""
        self._going.leave()
        self._steps, self._at = (), 0
        self.moved.emit(0, 0)

    def _go_on(self) -> None:
        if self._running is not None or not self.is_busy:
            return
        self._running = self._going
        self._pool.submit(self._steps[self._at], self._going).add_done_callback(self._ended.emit)

    def _end(self, future: Future[object]) -> None:
        going, self._running = self._running, None
        error = future.exception()
        if going is self._going and not going.is_left:
            if error is not None:
                failed = self._failed
                self.stop()
                if failed is not None:
                    failed(error)
                return
            if self._done is not None:
                place, self._at = self._at, self._at + 1
                self._done(place, future.result())
                self.moved.emit(self._at, len(self._steps))
        self._go_on()

    def wait(self) -> None:
        """Until nothing is under way; nothing can be started afterwards."""
        self.stop()
        self._pool.shutdown(wait=True)
