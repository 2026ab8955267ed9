"""Which rows make the cost unsure, and what firming them up would buy.

The share of a row is its covariance with the total over the variance of the total: shares of all rows add up to
one, and a row that moves together with others carries its part of what they do together. What firming up does
to the range is not taken from the shares: the rows are set to their likely cost and the distribution is worked
out anew.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from estimator.pricing.risk import RiskError, RiskItem, RiskModel

__all__ = ["FirmUp", "SpreadRow", "firm_up", "spread"]

_NUMBERS = ("", "", "two", "three", "four", "five", "six")


@dataclass(frozen=True, slots=True)
class SpreadRow:
    """One row of the spread chart.

    Attributes:
        item: the uncertain amount.
        share: part of the variance of the total it carries, 0 to 1.
        range_without: width from P10 to P90 with this row alone firm, in the job's currency.
    """

    item: RiskItem
    share: float
    range_without: Decimal


@dataclass(frozen=True, slots=True)
class FirmUp:
    """What firming up the first rows of the spread does.

    Attributes:
        keys: the rows, largest share first; fewer than asked for where fewer have a range.
        range_before, range_after: width from P10 to P90 in the job's currency.
        falls_percent: by how much the width falls, 0 to 100; worked out, not estimated.
        sentence: the same in words.
    """

    keys: tuple[str, ...]
    range_before: Decimal
    range_after: Decimal
    falls_percent: float
    sentence: str


def _width(model: RiskModel) -> Decimal:
    return model.result.p90 - model.result.p10


def _ranked(model: RiskModel) -> list[tuple[RiskItem, float]]:
    covariances = model.covariances()
    whole = sum(covariances.values())
    rows = [(model.item(key), share / whole) for key, share in covariances.items()]
    # The key settles ties, so that the order never hangs on how the job was reached.
    return sorted(rows, key=lambda row: (-row[1], row[0].key))


def spread(model: RiskModel, most: int = 12) -> tuple[SpreadRow, ...]:
    """The rows that carry most of the spread, largest first; firm rows are left out.

    Args:
        model: the job's risk.
        most: how many rows at most.

    Raises:
        RiskError: `most` is below one.
    """
    if most < 1:
        raise RiskError(f"rows of the spread: {most}; ask for at least 1.")
    return tuple(
        SpreadRow(item, share, _width(model.changed(item.firmed()))) for item, share in _ranked(model)[:most]
    )


def firm_up(model: RiskModel, count: int = 3, names: Mapping[str, str] | None = None) -> FirmUp:
    """What the range becomes once the rows with the largest shares are known for certain at their likely cost.

    Args:
        model: the job's risk.
        count: how many rows to firm up.
        names: key -> words to call a row by; the key itself where it is missing.

    Raises:
        RiskError: `count` is below one.
    """
    if count < 1:
        raise RiskError(f"rows to firm up: {count}; ask for at least 1.")
    chosen = [item for item, _ in _ranked(model)[:count]]
    before = _width(model)
    keys = tuple(item.key for item in chosen)
    if not chosen:
        return FirmUp((), before, before, 0.0, "Every row is firm: the cost has no range.")
    firm = set(keys)
    after = _width(model.moved_to([i.firmed() if i.key in firm else i for i in model.items]))
    falls = float((before - after) / before * 100) if before > 0 else 0.0
    called = ", ".join((names or {}).get(key, key) for key in keys)
    number = _NUMBERS[len(keys)] if len(keys) < len(_NUMBERS) else str(len(keys))
    which = f"these {number}" if len(keys) > 1 else "this row"
    sentence = f"Firm up {which} and the range from P10 to P90 falls by {falls:.0f} %: {called}."
    return FirmUp(keys, before, after, falls, sentence)
