"""Slow work beside the window, so that it stays alive; the answer comes back as a signal."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject, QRunnable, QThreadPool, Signal

__all__ = ["Work"]


class _Bell(QObject):
    done = Signal(object)
    failed = Signal(object)


class _Task(QRunnable):
    def __init__(self, task: Callable[[], object], bell: _Bell) -> None:
        super().__init__()
        self._task = task
        self._bell = bell

    def run(self) -> None:
        """Do it; whatever goes wrong is handed over, never lost in the thread."""
        try:
            answer = self._task()
        except Exception as error:
            self._bell.failed.emit(error)
        else:
            self._bell.done.emit(answer)


class Work(QObject):
    """Does one thing at a time; a newer request waits and replaces one that waits."""

    busy_changed = Signal(bool)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(1)
        self._bell: _Bell | None = None
        self._waiting: (
            tuple[Callable[[], object], Callable[[object], None], Callable[[Exception], None]] | None
        ) = None

    @property
    def is_busy(self) -> bool:
        """Whether something is under way."""
        return self._bell is not None

    def start(
        self,
        task: Callable[[], object],
        done: Callable[[object], None],
        failed: Callable[[Exception], None],
    ) -> None:
        """Do a task; `done` gets its answer, `failed` its exception, both in the window's thread."""
        if self._bell is not None:
            self._waiting = (task, done, failed)
            return
        bell = _Bell(self)
        self._bell = bell
        bell.done.connect(lambda answer: self._end(lambda: done(answer)))
        bell.failed.connect(lambda error: self._end(lambda: failed(error)))
        self.busy_changed.emit(True)
        self._pool.start(_Task(task, bell))

    def _end(self, tell: Callable[[], None]) -> None:
        bell, self._bell = self._bell, None
        if bell is not None:
            bell.deleteLater()
        waiting, self._waiting = self._waiting, None
        if waiting is not None:
            self.start(*waiting)
        else:
            self.busy_changed.emit(False)
        tell()

    def wait(self) -> None:
        """Until nothing is under way in the thread."""
        self._pool.waitForDone()
