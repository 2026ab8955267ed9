"""Lines that could be taken for each other."""

from __future__ import annotations

from itertools import pairwise

from estimator.model.design import Design
from estimator.model.finding import Finding, IdKind, Ref, Severity, facts

__all__ = ["line_colour_findings"]


def line_colour_findings(design: Design) -> tuple[Finding, ...]:
    """A note for each two lines that run side by side in one colour. Lines run in the order of the products."""
    served = {drop.service for drop in design.drops}
    lines = [(i, product) for i, product in enumerate(design.products) if product.id in served]
    return tuple(
        Finding(
            Severity.NOTE,
            f"design.products.{place}.colour",
            "line-colours-alike",
            "Line colour: the lines of {a} and {b} run side by side and both are {colour}; on site only their tags "
            "tell them apart. Choose another colour for one of them.",
            "common practice, no source",
            facts=facts(a=Ref(IdKind.PRODUCT, a.id), b=Ref(IdKind.PRODUCT, b.id), colour=b.colour.value),
        )
        for (_, a), (place, b) in pairwise(lines)
        if a.colour is b.colour
    )
