"""What a proposal is made of: choices with their reason, cost and neighbours."""

from __future__ import annotations

from dataclasses import dataclass

from estimator.model.design import Design
from estimator.model.finding import Finding, Phrase
from estimator.sizing.types import Verdict

__all__ = ["Choice", "LineProposal", "Neighbour", "Proposal"]


@dataclass(frozen=True, slots=True)
class Neighbour:
    """What the next size down or up would cost and do, all else as proposed.

    Attributes:
        size: its key, or the regulator setting.
        extra_cost: installed cost above that of the proposal, in the price book's currency; negative if cheaper.
        worst_room: least room of the line's drops with it, nan-free; None where no pressure depends on it.
        verdict: how the line (or the plant unit) would stand with it.
        note: what it would do; words are made last.
    """

    size: str
    extra_cost: float
    worst_room: float | None
    verdict: Verdict
    note: Phrase


@dataclass(frozen=True, slots=True)
class Choice:
    """One choice.

    Attributes:
        place: its address, as `Design.pinned` holds it.
        old, new: keys before and after; "" where nothing was chosen.
        reason: why; words are made last.
        cost: installed cost of what is chosen, in the price book's currency.
        smaller, larger: next size down and up; None where there is none or the choice is not free.
        fixed: it is pinned or exists, and was left alone.
    """

    place: str
    old: str
    new: str
    reason: Phrase
    cost: float
    smaller: Neighbour | None = None
    larger: Neighbour | None = None
    fixed: bool = False


@dataclass(frozen=True, slots=True)
class LineProposal:
    """The proposal of one line.

    Attributes:
        line: product id, or "air".
        choices: nozzles, tubes, plant, in that order.
        cost: installed cost of all that the proposal may choose.
        proved_cheapest: no cheaper combination of the sizes offered holds all limits.
        note: how it was found; words are made last.
    """

    line: str
    choices: tuple[Choice, ...]
    cost: float
    proved_cheapest: bool
    note: Phrase


@dataclass(frozen=True, slots=True)
class Proposal:
    """Sizes of everything that is not pinned and does not exist already.

    Attributes:
        design: the design with the choices written in. A line without a solution keeps what it had.
        lines: in the order of the layout.
        infeasible: for each line or service that cannot be made to work the limit that binds, in words, with
            what would lift it. Empty if everything holds.
    """

    design: Design
    lines: tuple[LineProposal, ...]
    infeasible: tuple[Finding, ...]
