"""Undo and redo as a list of earlier values; nothing is ever un-done by computing backwards."""

from __future__ import annotations

from typing import Generic, TypeVar

__all__ = ["History"]

T = TypeVar("T")


class History(Generic[T]):
    """Values in the order they came to be, each with the name of the act that made it. No limit.

    >>> past = History("blank")
    >>> past.push("Write a word", "word")
    >>> past.undo()
    'blank'
    >>> past.redo_name
    'Write a word'
    >>> past.redo()
    'word'
    """

    def __init__(self, first: T) -> None:
        self._steps: list[tuple[str, T]] = [("", first)]
        self._at = 0

    @property
    def now(self) -> T:
        """The value that holds."""
        return self._steps[self._at][1]

    @property
    def position(self) -> int:
        """How many acts lead to the value that holds."""
        return self._at

    @property
    def names(self) -> tuple[str, ...]:
        """Names of all acts, those that can be redone included; act i leads to position i + 1."""
        return tuple(name for name, _ in self._steps[1:])

    @property
    def undo_name(self) -> str:
        """Name of the act that undo takes back, "" if there is none."""
        return self._steps[self._at][0]

    @property
    def redo_name(self) -> str:
        """Name of the act that redo brings back, "" if there is none."""
        return self._steps[self._at + 1][0] if self._at + 1 < len(self._steps) else ""

    def push(self, name: str, value: T) -> None:
        """A new act after the value that holds; what could be redone is gone."""
        del self._steps[self._at + 1 :]
        self._steps.append((name, value))
        self._at += 1

    def undo(self) -> T:
        """One act back; the first value stays where it is."""
        return self.go_to(max(self._at - 1, 0))

    def redo(self) -> T:
        """One act forward; the last value stays where it is."""
        return self.go_to(min(self._at + 1, len(self._steps) - 1))

    def go_to(self, position: int) -> T:
        """The value after that many acts.

        Raises:
            IndexError: there are not that many acts.
        """
        if not 0 <= position < len(self._steps):
            raise IndexError(position)
        self._at = position
        return self.now
