"""The setting of a regulator in the middle of those that work, so that neither a gauge nor a drift breaks the line.

The search takes the lowest setting, which tells sizes that work from sizes that do not. To be set there a line would
have no margin: a gauge of accuracy class 2.5 (EN 837-1, from memory) may be off by 2.5 % of its full scale either way.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from estimator.proposal.tree_search import Found, Space
from estimator.proposal.trial import LineTrial, Outcome

__all__ = ["Middled", "middled"]

_TOGETHER = 8


@dataclass(frozen=True, slots=True)
class Middled:
    """Sizes at the setting in the middle.

    Attributes:
        found: the same sizes and cost at that setting.
        low_pa, high_pa: lowest and highest step of the gauge from which on and up to which all work [Pa].
    """

    found: Found
    low_pa: float
    high_pa: float


def middled(trial: LineTrial, found: Found, space: Space) -> Middled:
    """The step of the gauge in the middle of those that work with the sizes found; of two the one that saves air.

    Args:
        trial: the line.
        found: what works at the lowest setting at which its sizes do.
        space: what may be chosen; the compressor's pressure is the most that may be set.

    Raises:
        NetworkError: a setting cannot be solved.
    """
    gauge, pick = space.gauge, found.pick
    if space.fixed_pa is not None:
        return Middled(found, pick.pressure_pa, pick.pressure_pa)
    most = min(space.supply_pa, float(trial.pump_limit[pick.pump]))
    low = gauge.steps(pick.pressure_pa)
    top = max(low, gauge.steps(gauge.highest(most)))
    known: dict[int, Outcome] = {low: found.outcome}

    def tried(steps: range) -> None:
        new = [k for k in steps if k not in known]
        answers = trial.run([replace(pick, pressure_pa=k * gauge.step_pa) for k in new])
        known.update(zip(new, answers, strict=True))

    # What grows with the setting passes its limit once: halve. Only where fewer guns run together at more pressure can
    # a limit be kept again above one at which it was passed.
    high, beyond = low, top + 1
    while beyond - high > 1:
        at = (high + beyond) // 2
        tried(range(at, at + 1))
        high, beyond = (at, beyond) if not known[at].broken else (high, at)
    if known[high].guns != known[low].guns:
        high = low
        while high < top:
            tried(range(high + 1, min(high + _TOGETHER, top) + 1))
            if known[high + 1].broken:
                break
            high += 1
    middle = (low + high) // 2
    tried(range(middle, middle + 1))
    at_middle = Found(replace(pick, pressure_pa=middle * gauge.step_pa), found.cost, known[middle])
    return Middled(found if middle == low else at_middle, low * gauge.step_pa, high * gauge.step_pa)
