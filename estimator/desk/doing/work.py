"""Slow work beside the window, so that it stays alive; the answer comes back as a signal."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass

from PySide6.QtCore import QObject, Signal

__all__ = ["Course", "Work"]


@dataclass(frozen=True, slots=True)
class _Order:
    task: Callable[[], object]
    done: Callable[[object], None]
    failed: Callable[[BaseException], None]


class Work(QObject):
    """Does one thing at a time; a newer request waits and replaces one that waits.

    Signals:
        busy_changed: whether something is under way.
    """

    busy_changed = Signal(bool)
    _ended = Signal(object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pool = ThreadPoolExecutor(max_workers=1)
        self._now: _Order | None = None
        self._next: _Order | None = None
        # The signal carries the answer from the worker's thread into the window's.
        self._ended.connect(self._end)

    @property
    def is_busy(self) -> bool:
        """Whether something is under way."""
        return self._now is not None

    def start(
        self,
        task: Callable[[], object],
        done: Callable[[object], None],
        failed: Callable[[BaseException], None],
    ) -> None:
        """Do a task; `done` gets its answer, `failed` its exception, both in the window's thread."""
        order = _Order(task, done, failed)
        if self._now is not None:
            self._next = order
            return
        self._now = order
        self.busy_changed.emit(True)
        self._pool.submit(task).add_done_callback(self._ended.emit)

    def _end(self, future: Future[object]) -> None:
        order, self._now = self._now, None
        if self._next is not None:
            following, self._next = self._next, None
            self.start(following.task, following.done, following.failed)
        else:
            self.busy_changed.emit(False)
        error = future.exception()
        if order is None:
            return
        if error is None:
            order.done(future.result())
        else:
            order.failed(error)

    def wait(self) -> None:
        """Until nothing is under way; nothing can be started afterwards."""
        self._next = None
        self._pool.shutdown(wait=True)


class Course(QObject):
    """A row of steps beside the window, one after the other; it can be stopped between two steps.

    The window gets each answer before the next step begins, so that what is ready is seen at once.

    Signals:
        moved: how many steps are done, and of how many; equal when nothing is under way any more.
    """

    moved = Signal(int, int)
    _ended = Signal(object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pool = ThreadPoolExecutor(max_workers=1)
        self._steps: tuple[Callable[[], object], ...] = ()
        self._done: Callable[[int, object], None] | None = None
        self._failed: Callable[[BaseException], None] | None = None
        self._at = 0
        self._running = False
        # A step that was under way when another course began ends unheard.
        self._heard = False
        self._ended.connect(self._end)

    @property
    def is_busy(self) -> bool:
        """Whether steps of the course are still to come."""
        return self._at < len(self._steps)

    @property
    def is_idle(self) -> bool:
        """Whether nothing runs beside the window, not even a step that was left."""
        return not self._running

    def start(
        self,
        steps: Sequence[Callable[[], object]],
        done: Callable[[int, object], None],
        failed: Callable[[BaseException], None],
    ) -> None:
        """Do steps from now on, in the place of those that were under way.

        Args:
            steps: what to do, in order.
            done: gets the number of a step and its answer, in the window's thread.
            failed: gets the exception of a step; the steps after it are left.
        """
        self._steps, self._done, self._failed, self._at = tuple(steps), done, failed, 0
        self._heard = False
        self.moved.emit(0, len(self._steps))
        self._go_on()

    def stop(self) -> None:
        """Leave the steps that are still to come; one under way ends unheard."""
        self._steps, self._at, self._heard = (), 0, False
        self.moved.emit(0, 0)

    def _go_on(self) -> None:
        if self._running or not self.is_busy:
            return
        self._running = self._heard = True
        self._pool.submit(self._steps[self._at]).add_done_callback(self._ended.emit)

    def _end(self, future: Future[object]) -> None:
        self._running = False
        error = future.exception()
        if self._heard and error is not None:
            failed = self._failed
            self.stop()
            if failed is not None:
                failed(error)
            return
        if self._heard and self._done is not None:
            place, self._at = self._at, self._at + 1
            self._done(place, future.result())
            self.moved.emit(self._at, len(self._steps))
        self._go_on()

    def wait(self) -> None:
        """Until nothing is under way; nothing can be started afterwards."""
        self.stop()
        self._pool.shutdown(wait=True)
