"""The words of a proposal: why a size was chosen, and what its neighbours would do."""

from __future__ import annotations

from estimator.model.finding import Phrase, facts
from estimator.proposal.trial import LineTrial, Outcome
from estimator.proposal.types import Neighbour
from estimator.sizing import rules, told
from estimator.sizing.rules import Limit

__all__ = ["HELD", "effect", "why_setting", "why_tube"]

HELD = Phrase("Pinned or standing already; left alone.")
"""Why a choice is as it was."""


def effect(trial: LineTrial, outcome: Outcome) -> Phrase:
    """What a candidate does."""
    said = _effect(trial, outcome)
    if outcome.off_pa == 0.0:
        return said
    return Phrase(
        "with the setting {off} lower {effect}"
        if outcome.off_pa < 0.0
        else "with the setting {off} higher {effect}",
        facts(off=told.pressure(abs(outcome.off_pa), 1), effect=said),
    )


def _effect(trial: LineTrial, outcome: Outcome) -> Phrase:
    line, at = trial.line, outcome.at
    if outcome.limit in (Limit.LOW, Limit.HIGH, Limit.MUCH):
        drop = told.drop(line.drops[at].drop.id)
        lowest = trial.windows(outcome.nozzles)[0][at]
        given = told.flow(float(outcome.together_m3_s[at]))
        if outcome.limit is Limit.HIGH:
            alone = told.pressure(float(outcome.alone_pa[at]))
            return Phrase("{drop} would have {alone} alone, above its window", facts(drop=drop, alone=alone))
        if outcome.limit is Limit.MUCH:
            return Phrase("{drop} would give {given}, more than wanted", facts(drop=drop, given=given))
        if not rules.too_low(lowest, outcome.together_pa[at]):
            return Phrase("{drop} would give {given}, less than wanted", facts(drop=drop, given=given))
        return Phrase(
            "{drop} would have {pressure} at the nozzle, below the {low} of its window",
            facts(
                drop=drop,
                pressure=told.pressure(float(outcome.together_pa[at])),
                low=told.pressure(float(lowest)),
            ),
        )
    segment = told.segment(line.layout.segments[at].id, line.layout.id)
    if outcome.limit is Limit.VELOCITY:
        speed, most = told.speed(float(outcome.velocity_m_s[at])), told.speed(rules.MAX_VELOCITY_M_S)
        return Phrase("{speed} in {segment}, over {most}", facts(speed=speed, segment=segment, most=most))
    if outcome.limit is Limit.CAPACITY:
        return Phrase("{flow}, more than the pump gives", facts(flow=told.flow(outcome.flow_m3_s, 1)))
    if outcome.limit is Limit.RATING:
        return Phrase(
            "the pressure at rest would pass the rating of a part of {segment}", facts(segment=segment)
        )
    if outcome.limit is Limit.SURGE:
        return Phrase(
            "the surge of a gun that snaps shut would pass the rating of a part of {segment}",
            facts(segment=segment),
        )
    if outcome.limit is Limit.PUMP:
        return Phrase("the setting would be above the pump's limit")
    if outcome.limit is Limit.SUPPLY:
        return Phrase("the setting would be above the compressor's pressure")
    return Phrase("all drops inside their windows, least room {room}", facts(room=told.share(outcome.room)))


def why_tube(smaller: Neighbour | None, proved: bool) -> Phrase:
    """Why a tube (or pump) was chosen over the next size down."""
    if smaller is None:
        return Phrase("The smallest size is enough.")
    if smaller.extra_cost < 0.0:
        return Phrase("One size smaller is not enough: {effect}.", facts(effect=smaller.note))
    if proved:
        return Phrase("One size smaller is no cheaper; this is the cheapest that works.")
    return Phrase("One size smaller is no cheaper; this is the cheapest that was found to work.")


def why_setting(settings_pa: tuple[float, float] | None) -> Phrase:
    """Why a regulator is set so, by the lowest and highest setting that work; None where it was left as it was."""
    if settings_pa is None:
        return Phrase("It works as it is.")
    low, high = (told.pressure(pressure, 1) for pressure in settings_pa)
    if low == high:
        return Phrase("The only setting that works with these sizes.")
    return Phrase("In the middle of what works with these sizes: {low} to {high}.", facts(low=low, high=high))
