"""The words of a proposal: why a size was chosen, and what its neighbours would do."""

from __future__ import annotations

from estimator.proposal.trial import LineTrial, Outcome
from estimator.proposal.types import Neighbour
from estimator.sizing import rules
from estimator.sizing.rules import Limit

__all__ = ["effect", "pressure_text", "why_tube"]

_BAR = 1e5
_L_MIN = 1e-3 / 60.0


def pressure_text(pressure_pa: float) -> str:
    """A regulator setting as a person types it.

    >>> pressure_text(340000.0)
    '3.4 bar'
    >>> pressure_text(345000.0)
    '3.45 bar'
    """
    text = f"{pressure_pa / _BAR:.3f}"
    return f"{text[:-2]}{text[-2:].rstrip('0')} bar"


def effect(trial: LineTrial, outcome: Outcome) -> str:
    """What a candidate does, in words."""
    line = trial.line
    if outcome.limit in (Limit.LOW, Limit.HIGH, Limit.MUCH):
        drop = line.drops[outcome.at].drop.id
        if outcome.limit is Limit.HIGH:
            return f"{drop} would have {outcome.alone_pa[outcome.at] / _BAR:.2f} bar alone, above its window"
        pressure = outcome.together_pa[outcome.at] / _BAR
        if outcome.limit is Limit.MUCH:
            return (
                f"{drop} would give {outcome.together_m3_s[outcome.at] / _L_MIN:.2f} L/min, more than wanted"
            )
        lowest = trial.windows(outcome.nozzles)[0][outcome.at]
        if not rules.too_low(lowest, outcome.together_pa[outcome.at]):
            return (
                f"{drop} would give {outcome.together_m3_s[outcome.at] / _L_MIN:.2f} L/min, less than wanted"
            )
        return f"{drop} would have {pressure:.2f} bar at the nozzle, below the {lowest / _BAR:.2f} bar of its window"
    if outcome.limit is Limit.VELOCITY:
        segment = line.layout.segments[outcome.at].id
        speed = outcome.velocity_m_s[outcome.at]
        return f"{speed:.1f} m/s in segment {segment}, over {rules.MAX_VELOCITY_M_S:.0f} m/s"
    if outcome.limit is Limit.CAPACITY:
        return f"{outcome.flow_m3_s / _L_MIN:.1f} L/min, more than the pump gives"
    if outcome.limit is Limit.RATING:
        return f"the pressure at rest would pass the rating of segment {line.layout.segments[outcome.at].id}"
    if outcome.limit is Limit.PUMP:
        return "the setting would be above the pump's limit"
    if outcome.limit is Limit.SUPPLY:
        return "the setting would be above the compressor's pressure"
    return f"all drops inside their windows, least room {outcome.room:.0%}"


def why_tube(smaller: Neighbour | None, proved: bool) -> str:
    """Why a tube (or pump) was chosen over the next size down."""
    if smaller is None:
        return "The smallest size is enough."
    if smaller.extra_cost < 0.0:
        return f"One size smaller is not enough: {smaller.note}."
    told = "the cheapest that works" if proved else "the cheapest that was found to work"
    return f"One size smaller is no cheaper; this is {told}."
