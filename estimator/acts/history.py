"""Undo and redo as a list of earlier values; nothing is ever un-done by computing backwards."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Generic, TypeVar

__all__ = ["History"]

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class History(Generic[T]):
    """Values in the order they came to be, each with the name of the act that made it. No limit.

    An act may be final: what was handed to somebody is not taken back by forgetting it.

    Attributes:
        steps: (name of the act, value), the first without a name.
        position: how many acts lead to the value that holds.
        floor: how many acts nothing takes back, the last final one among them; 0 if none was.

    >>> past = History.of("blank").after("Write a word", "word").back()
    >>> past.now, past.redo_name
    ('blank', 'Write a word')
    >>> past.forth().now
    'word'
    """

    steps: tuple[tuple[str, T], ...]
    position: int = 0
    floor: int = 0

    @classmethod
    def of(cls, first: T) -> History[T]:
        """The history of a value that nothing was done to yet."""
        return cls((("", first),))

    @property
    def now(self) -> T:
        """The value that holds."""
        return self.steps[self.position][1]

    @property
    def names(self) -> tuple[str, ...]:
        """Names of all acts, those that can be redone included; act i leads to position i + 1."""
        return tuple(name for name, _ in self.steps[1:])

    @property
    def floor_name(self) -> str:
        """Name of the act that undo stops at, "" while it does not."""
        return self.steps[self.position][0] if self.position == self.floor else ""

    @property
    def undo_name(self) -> str:
        """Name of the act that undo takes back, "" if there is none."""
        return self.steps[self.position][0] if self.position > self.floor else ""

    @property
    def redo_name(self) -> str:
        """Name of the act that redo brings back, "" if there is none."""
        return self.steps[self.position + 1][0] if self.position + 1 < len(self.steps) else ""

    def after(self, name: str, value: T, *, final: bool = False) -> History[T]:
        """With a new act after the value that holds; what could be redone is gone.

        Args:
            name: of the act.
            value: that holds from now on.
            final: whether nothing takes the act back, nor those before it.
        """
        position = self.position + 1
        steps = (*self.steps[:position], (name, value))
        return History(steps, position, position if final else self.floor)

    def back(self) -> History[T]:
        """One act back; the value that nothing takes back, or the first, stays where it is."""
        return self.at(max(self.position - 1, self.floor))

    def forth(self) -> History[T]:
        """One act forward; the last value stays where it is."""
        return self.at(min(self.position + 1, len(self.steps) - 1))

    def at(self, position: int) -> History[T]:
        """With the value after that many acts.

        Raises:
            IndexError: there are not that many acts, or one that nothing takes back lies after them.
        """
        if not self.floor <= position < len(self.steps):
            raise IndexError(position)
        return replace(self, position=position)
