"""Installed cost of sizes as pricing counts it, as plain floats to compare with.

Only what depends on a size is here. Clips, tags, hoses and guns cost the same whatever is proposed.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from estimator.layout.types import Segment
from estimator.model.pricebook import PriceBook
from estimator.pricing.installed import installed_cost
from estimator.reference.catalogue import Catalogue, Part

__all__ = ["SizeCosts", "size_costs"]


@dataclass(frozen=True, slots=True)
class SizeCosts:
    """Installed cost by catalogue key, in the price book's currency; a size without a price is not in it.

    Attributes:
        tube_m: one metre of tube.
        fittings: one fitting by (tube key, fitting kind).
        pumps, tanks, boosters, reducers: one; the choice of none costs nothing.
        missing: price codes that the book lacks.
    """

    tube_m: dict[str, float]
    fittings: dict[tuple[str, str], float]
    pumps: dict[str, float]
    tanks: dict[str, float]
    boosters: dict[str, float]
    reducers: dict[str, float]
    missing: tuple[str, ...] = ()

    def segment(self, segment: Segment, tube: str) -> float | None:
        """Cost of a segment in a tube size with its joints; None where a price is missing.

        What exists is not bought and costs nothing.
        """
        total = 0.0
        if not segment.existing and segment.length_m > 0.0:
            metre = self.tube_m.get(tube)
            if metre is None:
                return None
            total += metre * segment.length_m
        for fitting in segment.fittings:
            if fitting.existing:
                continue
            one = self.fittings.get((tube, fitting.kind.value))
            if one is None:
                return None
            total += one
        return total


def size_costs(parts: Catalogue, book: PriceBook, hour: Decimal) -> SizeCosts:
    """Costs from a price book: likely cost and likely labour.

    Args:
        parts: the sizes.
        book: prices.
        hour: likely cost of an installer's hour, in the book's currency.
    """
    known = {entry.code: float(installed_cost(entry, hour)) for entry in book.entries}
    missing: dict[str, None] = {}

    def cost(code: str) -> float | None:
        if not code:
            return 0.0
        if code not in known:
            missing.setdefault(code)
            return None
        return known[code]

    def each(table: tuple[Part, ...]) -> dict[str, float]:
        found = ((part.key, cost(part.code)) for part in table)
        return {key: value for key, value in found if value is not None}

    fittings: dict[tuple[str, str], float] = {}
    for tube in parts.tubes:
        for kind, code in tube.fitting_codes.items():
            value = cost(code)
            if value is not None:
                fittings[tube.key, kind] = value
    return SizeCosts(
        each(parts.tubes),
        fittings,
        each(parts.pumps),
        each(parts.tanks),
        each(parts.boosters),
        each(parts.reducers),
        tuple(missing),
    )
