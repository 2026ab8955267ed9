"""Work of the window's own thread in pieces: one in each turn of its loop, so that what a person does comes between."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable

from PySide6.QtCore import QObject, QTimer

__all__ = ["Turns"]

Piece = Callable[[], object]
"""Done in one go. It looks at what holds when its turn comes, not when it was given."""


class Turns(QObject):
    """Pieces of work, done in the order in which they were given.

    Args:
        at_once: done where they are given, for a script or a test that looks right afterwards.
    """

    def __init__(self, parent: QObject | None = None, *, at_once: bool = False) -> None:
        super().__init__(parent)
        self.at_once = at_once
        self._pieces: deque[Piece] = deque()
        self._timer = QTimer(self)
        self._timer.setInterval(0)
        self._timer.timeout.connect(self._turn)

    @property
    def is_busy(self) -> bool:
        """Whether some wait for their turn."""
        return bool(self._pieces)

    def give(self, *pieces: Piece) -> None:
        """Do these after those that wait."""
        self._pieces.extend(pieces)
        if self.at_once:
            self.finish()
        elif self._pieces:
            self._timer.start()

    def leave(self) -> None:
        """Do none of those that wait: what they were for holds no more."""
        self._pieces.clear()
        self._timer.stop()

    def finish(self) -> None:
        """Do all that wait now."""
        while self._pieces:
            self._turn()

    def _turn(self) -> None:
        piece = self._pieces.popleft()
        if not self._pieces:
            self._timer.stop()
        piece()
