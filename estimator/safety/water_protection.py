"""Protection of the drinking water: who decides, the height of an air gap, the yearly test of an assembly."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from estimator.model.finding import Amount, Finding, Phrase, Severity, facts
from estimator.safety.scene import Scene
from estimator.units import Dimension

__all__ = ["LEAST_GAP_M", "air_gap", "backflow", "gap_needed", "yearly_test"]

LEAST_GAP_M: Final = 0.0254
"""1 in."""
_GAP: Final = "ASME A112.1.2; UPC chapter 6 (from memory)"
_DECIDES: Final = "local plumbing code, water authority, licensed plumber"


def backflow(scene: Scene) -> Iterator[Finding]:
    """Protection of the drinking water, and who decides."""
    if not scene.design.products:
        return
    stays = scene.design.common.existing
    yield Finding(
        Severity.NOTE,
        "design.common.backflow",
        "backflow-defer",
        "Backflow protection: the water supply of a chemical dispenser needs a listed dispenser (ASSE "
        "1055), an air gap or an approved assembly. The local plumbing code and water authority decide "
        "which, and a licensed plumber installs and tests it."
        + (" The one that stays must be checked for the products added." if stays else ""),
        "UPC 2024 603.5.22 (confirmed); IPC 608 and ASSE 1055 (from memory, numbering moves by edition)",
        "local plumbing code, water authority, licensed plumber",
    )


def gap_needed(bore_m: float) -> float:
    """Least height (m) of an air gap below an opening of that inside diameter (m): twice as much, never under 1 in.

    >>> gap_needed(0.010), gap_needed(0.020)
    (0.0254, 0.04)
    """
    return max(2.0 * bore_m, LEAST_GAP_M)


def _small(length_m: float) -> Amount:
    # Told in millimetres or inches, as small lengths are.
    return Amount(length_m, Dimension.SMALL_LENGTH, 1)


def air_gap(scene: Scene) -> Iterator[Finding]:
    """The height of an air gap, where one is chosen."""
    common, known = scene.design.common, scene.known.backflow
    if known is None or not known.gap or not scene.design.plant:
        return
    bore, gap = common.spout_bore, common.air_gap
    if bore is None or gap is None:
        yield Finding(
            Severity.NOTE,
            f"design.common.{'spout_bore' if bore is None else 'air_gap'}",
            "air-gap-open",
            "Air gap: {asked} is not stated. From the water outlet down to the rim of the break tank it is at least "
            "twice "
            "the outlet's inside diameter and never under {least}{here}.",
            _GAP,
            _DECIDES,
            facts(
                asked="the diameter of the supply opening" if bore is None else "its height",
                least=_small(LEAST_GAP_M),
                here=""
                if bore is None
                else Phrase(": {needed} here", facts(needed=_small(gap_needed(bore.si)))),
            ),
        )
    elif gap.si < gap_needed(bore.si) * (1 - 1e-6):
        yield Finding(
            Severity.WARNING,
            "design.common.air_gap",
            "air-gap-small",
            "Air gap: {gap} is too little below an outlet of {bore}. Twice its inside diameter and never under {least} "
            "keeps chemicals out of the drinking water: {needed} here.",
            _GAP,
            _DECIDES,
            facts(
                gap=Amount.of(gap),
                bore=Amount.of(bore),
                least=_small(LEAST_GAP_M),
                needed=_small(gap_needed(bore.si)),
            ),
        )


def yearly_test(scene: Scene) -> Iterator[Finding]:
    """Who tests an assembly."""
    known = scene.known.backflow
    if (
        known is not None
        and known.tested_yearly
        and scene.design.plant
        and not scene.design.common.yearly_test.strip()
    ):
        yield Finding(
            Severity.WARNING,
            "design.common.yearly_test",
            "test-yearly",
            "Yearly test by: nobody is named. A backflow prevention assembly is tested when it is fitted and every "
            "year "
            "after that, by a licensed tester, and the report goes to the water authority.",
            "usual rule of water authorities in the United States, from memory",
            _DECIDES,
        )
