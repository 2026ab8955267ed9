"""Two concentrates on one board: the worst that their traits do, for sure and while questions are open."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from estimator.safety.reactivity import MeetingVerdict, Reaction, reaction
from estimator.safety.traits import Trait, Why

__all__ = ["ORDER", "Meeting", "meeting"]

ORDER: Final = {verdict: place for place, verdict in enumerate(MeetingVerdict)}
"""Place of each verdict, the worst first."""


@dataclass(frozen=True, slots=True)
class Meeting:
    """What happens when two concentrates meet.

    Attributes:
        sure: the worst that is known; None where no table has a rule.
        open: the worst that also could be until questions are answered, where it is worse than what is sure.
        asked: the questions of the first and of the second concentrate that `open` rests on.
    """

    sure: Reaction | None
    open: Reaction | None
    asked: tuple[tuple[Why, ...], tuple[Why, ...]] = ((), ())


def meeting(one: Mapping[Trait, Why], other: Mapping[Trait, Why]) -> Meeting:
    """What two concentrates of these traits do."""
    return _meeting(tuple(one.items()), tuple(other.items()))


# Of hundreds of products most are alike in their traits: the tables are asked once for each two kinds.
@lru_cache(maxsize=16_384)
def _meeting(one: tuple[tuple[Trait, Why], ...], other: tuple[tuple[Trait, Why], ...]) -> Meeting:
    sure: Reaction | None = None
    may: Reaction | None = None
    asked: list[set[Why]] = [set(), set()]
    for a, why_a in one:
        for b, why_b in other:
            rule = reaction(a, b)
            if rule is None:
                continue
            if not (why_a.is_open or why_b.is_open):
                if sure is None or ORDER[rule.verdict] < ORDER[sure.verdict]:
                    sure = rule
                continue
            if may is None or ORDER[rule.verdict] < ORDER[may.verdict]:
                may, asked = rule, [set(), set()]
            if rule.verdict is may.verdict:
                for questions, why in zip(asked, (why_a, why_b), strict=True):
                    if why.is_open:
                        questions.add(why)
    if may is None or (sure is not None and ORDER[sure.verdict] <= ORDER[may.verdict]):
        return Meeting(sure, None)
    return Meeting(sure, may, (tuple(sorted(asked[0])), tuple(sorted(asked[1]))))
