"""Shares that add up to the whole, to the last minor unit.

Largest remainder: each share is first cut down to whole units, then the units left over go one each to the
largest remainders, the first in order where two are equal. Known from apportionment as the method of Hamilton.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

__all__ = ["apportion"]


def apportion(amount: Decimal, weights: Sequence[Decimal], unit: Decimal) -> tuple[Decimal, ...]:
    """Shares of an amount in proportion to weights; they add up to it exactly.

    A share is never above the whole unit over its exact share, and one of weight zero is zero.

    Args:
        amount: to share, a whole number of units; may be negative.
        weights: none negative.
        unit: smallest step of a share (0.01).

    Raises:
        ValueError: a negative weight, all weights zero while the amount is not, or an amount that is no whole
            number of units.

    >>> [str(share) for share in apportion(Decimal("100.00"), [Decimal(1)] * 3, Decimal("0.01"))]
    ['33.34', '33.33', '33.33']
    """
    if any(weight < 0 for weight in weights):
        raise ValueError("weights must not be negative")
    units = int(abs(amount) / unit)
    if unit * units != abs(amount):
        raise ValueError(f"{amount} is no whole number of {unit}")
    # Whole numbers all the way: a product of two long decimals would lose digits.
    scale = max((-int(weight.as_tuple().exponent) for weight in weights), default=0)
    parts = [int(weight.scaleb(max(scale, 0))) for weight in weights]
    whole = sum(parts)
    if whole == 0:
        if units:
            raise ValueError("there is nothing to share over: all weights are zero")
        return tuple(Decimal(0) * unit for _ in weights)
    shares = [units * part // whole for part in parts]
    rest = [units * part % whole for part in parts]
    for i in sorted(range(len(parts)), key=lambda i: -rest[i])[: units - sum(shares)]:
        shares[i] += 1
    sign = -1 if amount < 0 else 1
    return tuple(unit * (sign * share) for share in shares)
