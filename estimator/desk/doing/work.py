"""Slow work beside the window, so that it stays alive; the answer comes back as a signal."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass

from PySide6.QtCore import QObject, Signal

__all__ = ["Work"]


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
