"""Calls of a disk that may not answer: one at the other end of a line that broke, or whose stick was pulled out.

They are made beside the window and waited for. A person who does not want to wait any longer need not: the window
goes on, and what the call would have done is not known. For the person's own folder nobody is asked to wait: what is
kept there (recovery copies, settings, the price book) is kept later, or not, and the status line says so.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from concurrent.futures import Future, wait
from typing import Final, TypeVar, cast

from PySide6.QtCore import QTimer

from estimator.desk.doing.questions import Dialogs
from estimator.desk.work import Worker
from estimator.store.files import shown

__all__ = ["OWN_FOLDER_AWAY", "Disk", "DiskAway", "OwnFolder"]

_Answer = TypeVar("_Answer")

PATIENCE_S: Final = 0.5
"""Seconds that a call is waited for without a word."""

_SOON_S: Final = 0.02
"""Seconds that nobody notices."""

_SAID_AFTER_MS: Final = 3_000
"""Milliseconds that a call of the own folder may hang without a word: a recovery copy of a large job takes a second."""

OWN_FOLDER_AWAY: Final = (
    "Your own folder does not answer. "
    "Until it does no recovery copies, settings or edits of the price book are kept."
)


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


class OwnFolder:
    """Makes calls of the person's own folder, one after the other, and asks nobody.

    Args:
        say: says a sentence, where a call hangs for longer than one may take.
        patience_s: seconds that a call is waited for; None to wait until the answer is there, for a script or a test.

    Attributes:
        hanging: tells that, once for each call that hangs.
    """

    def __init__(self, say: Callable[[str], object], patience_s: float | None) -> None:
        self.patience_s = patience_s
        self._worker = Worker()
        self._late: Future[object] | None = None
        self._is_over = False
        self.hanging = QTimer()
        self.hanging.setSingleShot(True)
        self.hanging.setInterval(_SAID_AFTER_MS)
        self.hanging.timeout.connect(lambda: say(OWN_FOLDER_AWAY) if self.is_away else None)

    @property
    def is_away(self) -> bool:
        """Whether a call of before is not answered yet."""
        return self._late is not None and not self._late.done()

    def do(
        self,
        task: Callable[[], _Answer],
        otherwise: _Answer,
        too_late: Callable[[_Answer], object] | None = None,
        *,
        soon: bool = False,
    ) -> _Answer:
        """What a call answers; what it would be otherwise, where the folder does not answer.

        Args:
            task: the call. It is not made while one before it hangs; it must change nothing that is used meanwhile.
            otherwise: the answer where there is none.
            too_late: takes, beside the window, what the call answered after nobody waited any longer.
            soon: the answer is not worth waiting for longer than a person notices.

        Raises:
            Exception: what the call raises.
        """
        if self.is_away or self._is_over:
            return otherwise
        answer = self._worker.do(task)
        most_s = self.patience_s
        wait([answer], min(most_s, _SOON_S) if soon and most_s is not None else most_s)
        if answer.done():
            return cast(_Answer, answer.result())

        def put_right(late: Future[object]) -> None:
            with contextlib.suppress(Exception):
                if too_late is not None:
                    too_late(cast(_Answer, late.result()))

        self._late = answer
        self.hanging.start()
        answer.add_done_callback(put_right)
        return otherwise

    def let(self, task: Callable[[], object]) -> None:
        """Make a call that nobody needs the answer of, after those before it, as soon as they are answered."""
        if self._is_over:
            return
        answer = self._worker.do(task)
        if self.is_away:
            return
        wait([answer], self.patience_s)
        if not answer.done():
            self._late = answer
            self.hanging.start()
        elif (error := answer.exception()) is not None:
            raise error

    def end(self, most_s: float) -> None:
        """Nothing is called any more; what is under way is waited for, for so many seconds at most."""
        self._is_over = True
        self.hanging.stop()
        self._worker.end(most_s)
