"""Tube sizes of the compressed air line: the cheapest that lose no more than the share of the supply allowed.

The mass flow of each segment is that of the guns behind it, whatever the sizes. Isothermal flow loses
`p1**2 - p2**2 = G**2 R T (f L / d + K + 2 ln(p1 / p2))` along a segment (G mass flux, R gas constant, T temperature, f
Darcy factor, L length, d bore, K fittings; p absolute), which hardly depends on p. So a dynamic programme on the tree
finds the cheapest sizes for each pressure at a segment's start; the proof verifies them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from estimator.going import ALONE, Going
from estimator.hydraulics.limits import OutOfRange
from estimator.proposal.cost import SizeCosts
from estimator.reference.catalogue import Tube
from estimator.sizing import rules
from estimator.sizing.air_line import AirLine

__all__ = ["AirSizes", "size_air_line", "square_losses"]

_MOST_LABELS = 400


@dataclass(frozen=True, slots=True)
class AirSizes:
    """The sizes found.

    Attributes:
        tubes: position in the catalogue's tubes, one a segment; empty where none holds the limit.
        cost: of the segments.
        exact: no label was dropped.
    """

    tubes: tuple[int, ...]
    cost: float
    exact: bool


@dataclass(frozen=True, slots=True)
class _Label:
    """Sizes of a subtree.

    Attributes:
        need: absolute pressure squared that it needs at its start [Pa2].
        cost: of its segments.
        chosen: (segment, tube) at its start, None where it only joins.
        parts: what it is put together from.
    """

    need: float
    cost: float
    chosen: tuple[int, int] | None = None
    parts: tuple[_Label, ...] = ()


def _pareto(labels: Iterable[_Label]) -> list[_Label]:
    """Those that no other beats in both: cost rises, need falls."""
    kept: list[_Label] = []
    for label in sorted(labels, key=lambda x: (x.cost, x.need)):
        if not kept or label.need < kept[-1].need:
            kept.append(label)
    return kept


def _thinned(labels: list[_Label]) -> tuple[list[_Label], bool]:
    """No more than may be kept, spread from the cheapest to that which needs least; whether they are all."""
    if len(labels) <= _MOST_LABELS:
        return labels, True
    last = len(labels) - 1
    return [labels[i * last // (_MOST_LABELS - 1)] for i in range(_MOST_LABELS)], False


def _joined(some: Sequence[_Label], others: Sequence[_Label]) -> list[_Label]:
    """Two subtrees side by side: each need that either can have, with the cheapest of both that keep to it."""
    found: list[_Label] = []
    i = j = 0
    while i < len(some) and j < len(others):
        a, b = some[i], others[j]
        found.append(_Label(max(a.need, b.need), a.cost + b.cost, None, (a, b)))
        # Only by less of what needs most is less needed.
        i, j = i + (a.need >= b.need), j + (b.need >= a.need)
    return found


def _tubes(label: _Label) -> dict[int, int]:
    """Segment -> tube of a label and all its parts."""
    found: dict[int, int] = {}
    open_ = [label]
    while open_:
        here = open_.pop()
        open_.extend(here.parts)
        if here.chosen is not None:
            found[here.chosen[0]] = here.chosen[1]
    return found


def square_losses(
    air: AirLine, options: Sequence[Sequence[int]], tubes: Sequence[Tube], going: Going = ALONE
) -> dict[tuple[int, int], float]:
    """(segment, tube) -> loss of p**2 [Pa2] with the compressor's pressure at its start; less the sizes that choke.

    Args:
        air: the line.
        options: tubes that each segment may have, positions in `tubes`.
        tubes: the catalogue's.
        going: asked from segment to segment whether the sizes are still wanted.
    """
    supply = air.supply_pa + air.barometer_pa
    found: dict[tuple[int, int], float] = {}
    for at, some in enumerate(options):
        going.check()
        for k in some:
            try:
                left = air.left_pa(at, tubes[k], air.supply_pa)
            except OutOfRange:
                continue  # it chokes, so it is no size for this flow
            found[at, k] = supply**2 - (left + air.barometer_pa) ** 2
    return found


def size_air_line(
    air: AirLine,
    square: Mapping[tuple[int, int], float],
    options: Sequence[Sequence[int]],
    tubes: Sequence[Tube],
    costs: SizeCosts,
    share: float = rules.HEADER_DROP_SHARE,
    going: Going = ALONE,
) -> AirSizes:
    """The cheapest tubes of the air line.

    Args:
        air: the line.
        square: see `square_losses`.
        options: tubes that each segment may have, positions in `tubes`.
        tubes, costs: the catalogue's, and what they cost.
        share: of the supply pressure that may be lost.
        going: asked from segment to segment whether the sizes are still wanted.
    """
    segments = air.line.segments
    supply = air.supply_pa + air.barometer_pa
    target = (air.supply_pa * (1.0 - share) + air.barometer_pa) ** 2
    onward: dict[str, list[int]] = {}
    for at, segment in enumerate(segments):
        onward.setdefault(segment.upstream, []).append(at)
    below: dict[int, list[_Label]] = {}
    exact = True
    for at in reversed(range(len(segments))):
        going.check()
        segment = segments[at]
        joined = [_Label(target if segment.ends_at_drop else 0.0, 0.0)]
        for child in onward.get(segment.id, ()):
            joined, whole = _thinned(_joined(joined, below[child]))
            exact &= whole
        labels: list[_Label] = []
        for k in options[at]:
            cost = costs.segment(segment, tubes[k].key)
            lost = square.get((at, k))
            if cost is not None and lost is not None:
                labels.extend(_Label(x.need + lost, x.cost + cost, (at, k), (x,)) for x in joined)
        # A supply that cannot be reached by any size of this subtree is no use to those upstream.
        below[at], whole = _thinned(_pareto(x for x in labels if x.need <= supply**2))
        exact &= whole
    chosen: dict[int, int] = {}
    total = 0.0
    for at in onward.get("", ()):
        if not below[at]:
            return AirSizes((), 0.0, exact)
        best = below[at][0]
        chosen.update(_tubes(best))
        total += best.cost
    return AirSizes(tuple(chosen[i] for i in range(len(segments))), total, exact)
