"""A day of the tanks that can be thrown: what the proof of the day solves, and what a proof keeps of it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from estimator.hydraulics.board import WaterBoard
from estimator.hydraulics.day import cannot_run_dry
from estimator.hydraulics.sprays import LineSprays
from estimator.hydraulics.tank import TankLevels as DayTank

__all__ = ["DayCase"]


@dataclass(frozen=True, slots=True)
class DayCase:
    """A day that can be thrown.

    Attributes:
        lines: guns of each tank.
        tanks: in the same order.
        board: the water they share, with a post for each in that order; None where there is none, or more tanks hang
            on it than are followed together.
        least_m3_s: least that each is refilled with: while all fill; all the time where there is no board.
        hours: of work.
    """

    lines: tuple[LineSprays, ...]
    tanks: tuple[DayTank, ...]
    board: WaterBoard | None
    least_m3_s: tuple[float, ...]
    hours: float

    def certain(self, at: int, vessel: DayTank | None = None) -> bool:
        """Whether the tank in that place, or another one there, cannot run dry, whatever guns and other tanks do."""
        most = sum(g.number * g.flow_m3_s for g in self.lines[at].guns if g.probability > 0.0)
        one = self.tanks[at] if vessel is None else vessel
        return cannot_run_dry(one, one.fill_stop_m3, most, self.least_m3_s[at], 3600.0 * self.hours)

    def with_all(self, vessel: DayTank) -> DayCase:
        """The same with that tank in every place: what sizes are compared by, as one run tells of them all."""
        return replace(self, tanks=(vessel,) * len(self.tanks))
