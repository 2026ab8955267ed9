"""Calls of a disk that may not answer: one at the other end of a line that broke, or whose stick was pulled out.

They are made beside the window and waited for. A person who does not want to wait any longer need not: the window
goes on, and what the call would have done is not known.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from concurrent.futures import Future, wait
from typing import Final, TypeVar, cast

from estimator.desk.doing.questions import Dialogs
from estimator.desk.work import Worker
from estimator.store.files import shown

__all__ = ["Disk", "DiskAway"]

_Answer = TypeVar("_Answer")

PATIENCE_S: Final = 0.5
"""Seconds that a call is waited for without a word."""


class DiskAway(Exception):
    """A disk did not answer, and the person does not wait for it any longer; the message is a sentence for a person."""

    def __init__(self, name: str) -> None:
        super().__init__(f"“{shown(name)}” is on a disk that does not answer.")


class Disk:
    """Makes calls of disks, one after the other.

    Args:
        dialogs: asks whether to wait on.
        patience_s: seconds after which that is asked; None to wait until the answer is there, for a script or a test.
    """

    def __init__(self, dialogs: Dialogs, patience_s: float | None = PATIENCE_S) -> None:
        self._dialogs, self.patience_s = dialogs, patience_s
        self._worker = Worker()

    def do(
        self,
        task: Callable[[], _Answer],
        name: str,
        too_late: Callable[[_Answer], object] | None = None,
    ) -> _Answer:
        """What a call answers.

        Args:
            task: the call; it must change nothing that is used while it hangs.
            name: of the file.
            too_late: puts right what the call did after nobody waited any longer.

        Raises:
            DiskAway: the person does not wait any longer.
            Exception: what the call raises.
        """
        answer = self._worker.do(task)
        wait([answer], self.patience_s)
        if not answer.done() and not self._dialogs.wait_for(answer.done, name):
            self._leave(answer, too_late)
            raise DiskAway(name)
        return cast(_Answer, answer.result())

    def let(self, task: Callable[[], object]) -> None:
        """Make a call that nobody needs the answer of: one that hangs is left after a while, without a word."""
        answer = self._worker.do(task)
        wait([answer], self.patience_s)
        if not answer.done():
            self._leave(answer, None)
        elif (error := answer.exception()) is not None:
            raise error

    def _leave(self, answer: Future[object], too_late: Callable[[_Answer], object] | None) -> None:
        def put_right(late: Future[object]) -> None:
            with contextlib.suppress(Exception):
                if too_late is not None:
                    too_late(cast(_Answer, late.result()))

        answer.add_done_callback(put_right)
        # The next call has a thread of its own and does not wait for this one.
        self._worker.end(0.0)
        self._worker = Worker()

    def end(self, most_s: float) -> None:
        """Nothing is called any more; what is under way is waited for, for so many seconds at most."""
        self._worker.end(most_s)
