"""Work on the system: lock-out, trapped pressure, labels, and what must be within reach."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from estimator.model.air_pressure import highest_air
from estimator.model.choices import Provided
from estimator.model.design import AIR
from estimator.model.finding import Amount, Count, Finding, Severity, facts
from estimator.safety.scene import Scene
from estimator.units import Dimension

__all__ = ["MOUTH_M", "REACH_HEIGHT_M", "heights", "labels", "lockout", "trapped_pressure"]

_LOCKOUT: Final = "29 CFR 1910.147 (from memory)"
_PRACTICE: Final = "common practice, no source"
_EMPLOYER: Final = "employer of those who service it"

REACH_HEIGHT_M: Final = 2.0
"""Above it a person of middle height needs a ladder; common practice, no source."""
MOUTH_M: Final = 1.5
"""About the height of the eyes; common practice, no source."""


def lockout(scene: Scene) -> Iterator[Finding]:
    """Valves that are locked before somebody works on the system: air and water, of a board for air alone air."""
    design = scene.design
    common, air = design.common, any(d.service == AIR for d in design.drops)
    missing = [
        (name, word)
        for name, word, wanted, there in (
            ("water_lockout", "water", bool(design.plant), common.water_lockout),
            ("air_lockout", "air", bool(design.plant) or air, common.air_lockout),
        )
        if wanted and there is Provided.NOT_STATED
    ]
    if missing:
        yield Finding(
            Severity.WARNING,
            f"design.common.{missing[0][0]}",
            "lockout-missing",
            "Lockable valves: none is stated for the board's {what}. Before service it is shut off, locked shut and "
            "the "
            "pressure let out; quote a valve that can be locked, or make sure that one is there.",
            _LOCKOUT,
            _EMPLOYER,
            facts(what=" and its ".join(word for _, word in missing)),
        )


def trapped_pressure(scene: Scene) -> Iterator[Finding]:
    """What stays in the lines when air and water are shut off."""
    design = scene.design
    settings = [unit.regulator for unit in design.plant if scene.design.drops]
    if any(d.service == AIR for d in design.drops):
        settings.append(highest_air(scene.air, design.lines).pressure)
    if settings:
        yield Finding(
            Severity.NOTE,
            "design.plant" if design.plant else "site.air.pressure",
            "pressure-trapped",
            "Trapped pressure: with everything shut off up to {pressure} stays behind closed guns and check valves "
            "until "
            "each gun is opened. A coil hose under pressure springs back.",
            f"{_LOCKOUT}; common practice",
            _EMPLOYER,
            facts(pressure=Amount.of(max(settings, key=lambda q: q.si))),
        )


def labels(scene: Scene) -> Iterator[Finding]:
    """What must say what is in it."""
    tanks = len(scene.design.plant)
    drops = sum(d.service != AIR for d in scene.design.drops)
    if tanks:
        yield Finding(
            Severity.NOTE,
            "design.plant",
            "labels-needed",
            "Labels: {tanks} here, and every bottle that is filled, carry the product's name and its hazards in words, "
            "pictures or symbols; tubing this small is tagged, at {drops} too.",
            "29 CFR 1910.1200(f)(6); ASME A13.1 (second-hand)",
            _EMPLOYER,
            facts(tanks=Count(tanks, "day tank"), drops=Count(drops, "drop")),
        )


def heights(scene: Scene) -> Iterator[Finding]:
    """Chemicals are not handled above the head, nor poured above the eyes."""
    if not scene.design.plant:
        return
    outlet, mouth = scene.site.board.outlet_height, scene.design.common.mouth_height
    for place, rule, sentence, height, limit in (
        (
            "site.board.outlet_height",
            "board-above-reach",
            (
                "Board outlet height: {height} is above {limit}, so that joints full of chemicals are worked on above "
                "the "
                "head "
                "and from a ladder. Hang the board lower."
            ),
            outlet,
            REACH_HEIGHT_M,
        ),
        (
            "design.common.mouth_height",
            "mouth-high",
            (
                "Highest open mouth: {height} is above {limit}, so that what is poured in splashes into the eyes. Set "
                "tank and container lower, or fill by a pump."
            ),
            mouth,
            MOUTH_M,
        ),
    ):
        if height is not None and height.si > limit * (1 + 1e-9):
            yield Finding(
                Severity.WARNING,
                place,
                rule,
                sentence,
                _PRACTICE,
                _EMPLOYER,
                facts(height=Amount.of(height), limit=Amount(limit, Dimension.LENGTH, 1)),
            )
