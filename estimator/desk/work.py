"""Slow work beside the window, so that it stays alive; the answer comes back as a signal.

Work gets a `Going`: it asks there whether it is still wanted, so that leaving it and closing the window take no longer
than from one question to the next.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from functools import partial

from PySide6.QtCore import QObject, Qt, Signal

from estimator.going import Going

__all__ = ["Course", "Queue", "Step", "Task", "Work"]

Task = Callable[[Going], object]
"""What is done beside the window."""


@dataclass(slots=True, eq=False)
class _Order:
    task: Task
    done: Callable[[object], None]
    failed: Callable[[BaseException], None]
    going: Going
    key: object
    future: Future[object] = field(default_factory=Future)


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
        # The first runs, or ran and its end was not told yet; the others wait for it in the pool.
        self._orders: list[_Order] = []
        self._busy_told = False
        self._well = True
        # The signals carry answer and progress from the worker's thread into the window's; queued, because a task
        # that ends at once tells so in the window's own thread, before what it told on its way.
        self._ended.connect(self._end, Qt.ConnectionType.QueuedConnection)
        self._heard.connect(self._hear, Qt.ConnectionType.QueuedConnection)

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
        going = Going(lambda at, of: self._heard.emit(going, at, of))
        order = _Order(task, done, failed, going, key)

        def run() -> object:
            going.check()
            return task(going)

        self._orders.append(order)
        self._tell_busy()
        order.future = self._pool.submit(run)
        order.future.add_done_callback(lambda _: self._ended.emit(order))
        return order

    def _tell_busy(self) -> None:
        busy = self.is_busy
        if busy is not self._busy_told:
            self._busy_told = busy
            self.busy_changed.emit(busy)

    def _hear(self, going: Going, done: int, of: int) -> None:
        if self._orders and self._orders[0].going is going and not going.is_left:
            self._move(done, of)

    def _move(self, done: int, of: int) -> None:
        self.moved.emit(done, of)

    def _end(self, order: _Order) -> None:
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

    def wait(self) -> None:
        """Leave everything, until nothing is under way; nothing can be started afterwards."""
        self._leave()
        self._pool.shutdown(wait=True)


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

    def _end(self, order: _Order) -> None:
        self._done += 1
        self.moved.emit(self._done, self._of)
        super()._end(order)

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

    def wait(self) -> None:
        """Leave everything, until nothing is under way; nothing can be started afterwards."""
        self._to_come = []
        super().wait()

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
