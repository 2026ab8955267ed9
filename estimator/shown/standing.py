"""How something stands: a sign and always the words."""

from __future__ import annotations

from enum import Enum

from estimator.sizing.types import DropProof, Verdict

__all__ = ["Standing", "standing_of", "standing_of_verdict"]


class Standing(Enum):
    """How something stands: its sign and its words."""

    GOOD = ("✓", Verdict.GOOD.value)
    CLOSE = ("≈", Verdict.CLOSE.value)
    LOW = ("↓", Verdict.LOW.value)
    HIGH = ("↑", Verdict.HIGH.value)
    NO_FLOW = ("✕", Verdict.NO_FLOW.value)
    SHORT = ("✕", Verdict.SHORT.value)
    UNFIT = ("✕", Verdict.UNFIT.value)
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
    """The standing that a verdict tells."""
    return Standing[verdict.name]


def standing_of(drop: DropProof | None) -> Standing:
    """The standing of a drop; None is one that was not proved."""
    return Standing.UNKNOWN if drop is None else standing_of_verdict(drop.verdict)
