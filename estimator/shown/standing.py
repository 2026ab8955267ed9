"""How something stands: a sign and always the words."""

from __future__ import annotations

from enum import Enum

from estimator.sizing.types import DropProof, Verdict

__all__ = ["CLOSE_MARGIN", "Standing", "standing_of", "standing_of_verdict"]

CLOSE_MARGIN = 0.05
"""A drop nearer than this share to an end of its window is shown as close. Common practice, no source."""


class Standing(Enum):
    """How something stands: its sign and its words."""

    GOOD = ("✓", Verdict.GOOD.value)
    CLOSE = ("≈", f"{Verdict.GOOD.value}, close to its end")
    LOW = ("↓", Verdict.LOW.value)
    HIGH = ("↑", Verdict.HIGH.value)
    NO_FLOW = ("✕", Verdict.NO_FLOW.value)
    SHORT = ("✕", Verdict.SHORT.value)
    UNKNOWN = ("?", Verdict.UNKNOWN.value)

    @property
    def sign(self) -> str:
        """One character."""
        return self.value[0]

    @property
    def words(self) -> str:
        """What the sign means."""
        return self.value[1]

    @property
    def told(self) -> str:
        """Sign and words.

        >>> Standing.LOW.told
        '↓ pressure too low'
        """
        return f"{self.sign} {self.words}"


def standing_of_verdict(verdict: Verdict) -> Standing:
    """The standing of what has a verdict and no margin."""
    return Standing[verdict.name]


def standing_of(drop: DropProof | None) -> Standing:
    """The standing of a drop by its verdict and its margin; None is a drop that was not proved."""
    if drop is None:
        return Standing.UNKNOWN
    if drop.verdict is Verdict.GOOD and drop.margin < CLOSE_MARGIN:
        return Standing.CLOSE
    return standing_of_verdict(drop.verdict)
