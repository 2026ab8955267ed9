"""The order in which the tanks of an empty board are filled, so that each ends with the mixture that it should hold."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Final

from estimator.hydraulics.board import WaterBoard
from estimator.hydraulics.first_fill import Commissioning, FirstFill, commissioning
from estimator.hydraulics.tank import TankLevels
from estimator.model.design import Product
from estimator.model.finding import Amount, Fact, Finding, Listed, Number, Phrase, Severity, facts
from estimator.sizing import rules, told
from estimator.sizing.board_rates import rates_of
from estimator.sizing.types import BoardProof, FillingOrder, FillingTurn
from estimator.units import Dimension

__all__ = ["filling_order", "order_finding"]

_MOST_TURNS: Final = 8
"""Turns that a sentence names one by one."""


def filling_order(
    products: Sequence[Product], board: BoardProof, tanks: Sequence[TankLevels]
) -> FillingOrder | None:
    """The order of filling empty tanks that is done soonest and leaves each with a mixture inside its limits.

    None where all may be filled at once, and where no order does it because a mixture is wrong even alone, which is
    told by itself.

    Args:
        products: of the tanks, in the order of the board's posts.
        board: the proof of the water that they share.
        tanks: the day tanks, in the same order.
    """
    first = [shared.first.dilution for shared in board.products]
    if not any(d is None or rules.misses(p, d) for p, d in zip(products, first, strict=True)):
        return None
    limits = tuple(rules.dilution_limits(product) for product in products)
    found = _found(board.water, tuple(tanks), limits)
    order, at_once = found.order, found.all_at_once
    if order is None or len(order.groups) == 1:
        return None
    return FillingOrder(
        tuple(_turn(products, order, group) for group in order.groups), order.total_s, at_once.total_s
    )


def _turn(products: Sequence[Product], order: FirstFill, group: Sequence[int]) -> FillingTurn:
    began = order.opened_s[group[0]]
    return FillingTurn(tuple(products[at].id for at in group), max(order.full_s[at] for at in group) - began)


@lru_cache(maxsize=16)
def _found(
    board: WaterBoard, tanks: tuple[TankLevels, ...], limits: tuple[tuple[float, float], ...]
) -> Commissioning:
    """Kept by value: what the guns do does not change it."""
    return commissioning(tanks, rates_of(board), [low for low, _ in limits], [high for _, high in limits])


def order_finding(order: FillingOrder, source: str) -> Finding:
    """What whoever starts the board has to do; `source` is what found it."""
    at_once = Phrase(
        " All at once would take {time} and leave wrong mixtures in the tanks.",
        facts(time=_time(order.at_once_s)),
    )
    return Finding(
        Severity.NOTE,
        "site.water.flow",
        "first-fill-order",
        "First fill: {turns}. Open the next when the last are full; all is full after {time}.{at_once}",
        source,
        facts=facts(
            turns=_turns(order.turns),
            time=_time(order.total_s),
            at_once=at_once if order.at_once_s < float("inf") else Phrase(""),
        ),
    )


def _turns(turns: Sequence[FillingTurn]) -> Phrase:
    if len(turns) > _MOST_TURNS:
        return Phrase(
            "fill the empty tanks one after another, {turns} turns", facts(turns=Number(len(turns), 0))
        )
    said = _group(turns[-1])
    for turn in reversed(turns[:-1]):
        said = Phrase("{group}, then {rest}", facts(group=_group(turn), rest=said))
    return Phrase("fill {turns}", facts(turns=said))


def _group(turn: FillingTurn) -> Phrase:
    together = Listed(tuple(told.product(key) for key in turn.products))
    return Phrase("{together} together" if len(turn.products) > 1 else "{together}", facts(together=together))


def _time(seconds: float) -> Fact:
    return Amount(seconds, Dimension.TIME, 0)
