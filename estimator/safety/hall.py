"""The hall in winter, and what of it is still to be asked."""

from __future__ import annotations

from collections.abc import Iterator

from estimator.model.choices import Answer
from estimator.model.design import AIR
from estimator.model.finding import Amount, Finding, Severity, facts
from estimator.safety.limits import COLD_WATER_K
from estimator.safety.scene import LOCAL, Scene
from estimator.units import Dimension

__all__ = ["winter"]


def winter(scene: Scene) -> Iterator[Finding]:
    """A hall that freezes with water in tubes and tanks; what nobody stated of it."""
    if not any(d.service != AIR for d in scene.design.drops):
        return
    coldest = scene.site.coldest
    if coldest is not None and coldest.si < COLD_WATER_K - 1e-9:
        yield Finding(
            Severity.WARNING,
            "site.coldest",
            "hall-freezing",
            "Coldest in the hall: {coldest} is close to freezing. Heat the hall above {limit} or drain lines, pumps "
            "and "
            "tanks before a frost; ice bursts them, and chemicals run out when it thaws.",
            "freezing point of water; the distance to it is common practice, no source",
            facts=facts(coldest=Amount.of(coldest), limit=Amount(COLD_WATER_K, Dimension.TEMPERATURE, 0)),
        )
    sprayed = any(scene.drops_of(p) for p in scene.such(lambda h: h.sharp))
    unknown_air = sprayed and scene.site.ventilated is Answer.NOT_KNOWN
    asked = [
        (name, words)
        for name, words, left in (
            ("coldest", "how cold the hall gets in winter", coldest is None),
            (
                "ventilated",
                "whether a fan changes the air of the bays",
                unknown_air,
            ),
        )
        if left
    ]
    if asked:
        yield Finding(
            Severity.NOTE,
            f"site.{asked[0][0]}",
            "hall-open",
            "Survey: it is not stated {asked}.",
            "common practice, no source",
            LOCAL,
            facts(asked=" and ".join(words for _, words in asked)),
        )
