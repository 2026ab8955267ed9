"""Deposit and stage payments: shares of the total that add up to it to the minor unit."""

from __future__ import annotations

from decimal import Decimal

from estimator.model.finding import Finding, Number, Severity, facts
from estimator.model.terms import Stage
from estimator.pricing.apportion import apportion
from estimator.pricing.types import StageAmount

__all__ = ["stage_amounts"]

_WHOLE = Decimal(100)


def stage_amounts(
    total: Decimal, stages: tuple[Stage, ...], unit: Decimal
) -> tuple[tuple[StageAmount, ...], tuple[Finding, ...]]:
    """What each stage asks for.

    The units that percentages leave over go to the largest remainders, so 33.3333 % thrice with a rest is
    still the total.

    Args:
        total: to pay.
        stages: at most one without a percent, which takes the rest.
        unit: minor unit of the currency.

    Returns:
        The payments, none where the stages do not add up; a finding then says by how much.

    >>> made, _ = stage_amounts(
    ...     Decimal("99.99"), (Stage(name="Deposit", percent=Decimal(50)), Stage(name="Rest")), Decimal("0.01")
    ... )
    >>> [str(stage.amount) for stage in made]
    ['50.00', '49.99']
    """
    if not stages:
        return (), ()
    open_stages = [i for i, stage in enumerate(stages) if stage.percent is None]
    stated = sum((stage.percent for stage in stages if stage.percent is not None), Decimal(0))
    trouble = ""
    if len(open_stages) > 1:
        trouble = "{open} of them have no share; one at most can take the rest. Give the others a percent."
    elif stated > _WHOLE:
        trouble = "the shares add up to {sum}; they must not pass {whole}."
    elif not open_stages and stated != _WHOLE:
        trouble = (
            "the shares add up to {sum}; they must make {whole}, or leave the share of one stage out to give it the "
            "rest."
        )
    if trouble:
        known = facts(
            open=Number(len(open_stages), 0), sum=Number(stated, 4, "%"), whole=Number(_WHOLE, 0, "%")
        )
        found = Finding(Severity.ERROR, "terms.stages", "stages-sum", f"Payments: {trouble}", facts=known)
        return (), (found,)
    weights = [_WHOLE - stated if s.percent is None else s.percent for s in stages]
    amounts = apportion(total, weights, unit)
    return (
        tuple(
            StageAmount(stage.name.strip() or f"Payment {i}", stage.percent, amount)
            for i, (stage, amount) in enumerate(zip(stages, amounts, strict=True), 1)
        ),
        (),
    )
