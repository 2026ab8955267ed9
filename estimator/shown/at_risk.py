"""Where on the plan something is that must never go out."""

from __future__ import annotations

from collections.abc import Iterable

from estimator.model.design import Design
from estimator.model.finding import Finding, IdKind, refs_of

__all__ = ["drops_at_risk"]


def drops_at_risk(findings: Iterable[Finding], design: Design) -> dict[str, tuple[Finding, ...]]:
    """The drops that findings are about, by their ids: those named, and where a product is named all that give it.

    Args:
        findings: of this design.
        design: that is drawn.
    """
    found: dict[str, list[Finding]] = {}
    for finding in findings:
        refs = tuple(refs_of(finding.facts))
        drops = {ref.id for ref in refs if ref.kind is IdKind.DROP}
        services = {ref.id for ref in refs if ref.kind in (IdKind.PRODUCT, IdKind.LINE)}
        services |= {ref.of for ref in refs if ref.kind is IdKind.SEGMENT}
        for drop in design.drops:
            if drop.id in drops or (not drops and drop.service in services):
                found.setdefault(drop.id, []).append(finding)
    return {drop: tuple(of) for drop, of in found.items()}
