"""Long work while it goes on: whether it is still wanted, and how far it is. Knows neither window nor thread."""

from __future__ import annotations

from collections.abc import Callable
from threading import Event
from typing import Final

__all__ = ["ALONE", "Going", "Stopped"]


class Stopped(Exception):
    """The work is not wanted any more; whoever asked for it left it."""


class Going:
    """What long work asks and tells on its way; one for each piece of work.

    Args:
        heard: gets how many steps are done, and of how many, in the thread of the work.
    """

    def __init__(self, heard: Callable[[int, int], None] | None = None) -> None:
        self._left = Event()
        self._heard = heard

    @property
    def is_left(self) -> bool:
        """Whether it is not wanted any more."""
        return self._left.is_set()

    def leave(self) -> None:
        """Say that it is not wanted any more; from any thread."""
        self._left.set()

    def check(self) -> None:
        """To be called in every loop that may take long.

        Raises:
            Stopped: the work is not wanted any more.
        """
        if self._left.is_set():
            raise Stopped

    def tell(self, done: int, of: int) -> None:
        """Say how far it is; see `check`.

        Raises:
            Stopped: the work is not wanted any more.
        """
        self.check()
        if self._heard is not None:
            self._heard(done, of)


ALONE: Final = Going()
"""Work that nobody watches and nobody leaves: that of a command or a test."""
