"""The country of the job: what rules of another one are worth there."""

from __future__ import annotations

from collections.abc import Iterator

from estimator.model.countries import Country
from estimator.model.finding import Finding, Severity, facts
from estimator.safety.scene import LOCAL, Scene

__all__ = ["country"]


def country(scene: Scene) -> Iterator[Finding]:
    """Which country's law holds; the rules named here are those of the United States."""
    there = scene.site.country
    if not scene.design.products and not scene.design.drops:
        return
    if there is None:
        yield Finding(
            Severity.NOTE,
            "site.country",
            "country-missing",
            "Country: it is not stated. The rules named as sources are mostly those of the United States; elsewhere "
            "they are references only. State the country of the job.",
            "common practice, no source",
            LOCAL,
        )
    elif there is not Country.US:
        yield Finding(
            Severity.NOTE,
            "site.country",
            "country-abroad",
            "Country: the job is in {country}. Rules of the United States that are named as sources are references "
            "only; what holds there must be asked for.",
            "common practice, no source",
            LOCAL,
            facts(country=there.label),
        )
