"""Where what runs off the floor goes."""

from __future__ import annotations

from collections.abc import Iterator

from estimator.model.choices import DrainTo
from estimator.model.finding import Finding, Severity, facts
from estimator.safety.scene import LOCAL, Scene

__all__ = ["drain"]

_SOURCE = "40 CFR 122.26 (storm water) and 40 CFR 144.82 (wells for waste water), from memory"
_SEWER = "40 CFR 403.5 (what a public sewer must not be given), from memory; the local sewer rules"


def drain(scene: Scene) -> Iterator[Finding]:
    """The destination of the floor drain; into a storm drain or the ground only with a permit."""
    if not scene.design.products:
        return
    to, place = scene.site.drain, "site.drain"
    if to in (DrainTo.STORM, DrainTo.GROUND):
        yield Finding(
            Severity.ERROR,
            place,
            "drain-without-permit",
            "Floor drain: {where}. What is sprayed reaches open water or the ground untreated; that needs a permit. "
            "Lead "
            "it elsewhere, or sign for it with the permit named.",
            _SOURCE,
            LOCAL,
            facts(where="storm drain" if to is DrainTo.STORM else "the ground"),
        )
    elif to is DrainTo.NOT_KNOWN:
        yield Finding(
            Severity.WARNING,
            place,
            "drain-open",
            "Floor drain: where it leads is not stated. Into a storm drain or the ground nothing of this may run "
            "without a "
            "permit. Find out before the first use.",
            _SOURCE,
            LOCAL,
        )
    elif to is DrainTo.SANITARY:
        yield Finding(
            Severity.NOTE,
            place,
            "drain-separator",
            "Floor drain: it leads to the sanitary sewer without a separator. Ask whether one for oil and grit is "
            "needed "
            "and what of these products the sewer takes.",
            _SEWER,
            LOCAL,
        )
