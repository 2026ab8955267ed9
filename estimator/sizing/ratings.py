"""What fittings, hoses and guns stand, and on the air line tubes too: at rest, where the pressure is highest.

The tubes of the liquid lines are judged with their lines (`line_findings`), at the liquid's temperature. Hoses, guns
and fittings have one rating, without a temperature.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol

from estimator.layout.types import Layout, LineLayout
from estimator.model.air_pressure import highest_air
from estimator.model.design import AIR, Design, Drop
from estimator.model.finding import Fact, Finding, IdKind, Listed, Phrase, Ref, Severity, facts
from estimator.model.site import Site
from estimator.reference.catalogue import Gun, Hose, Tube
from estimator.reference.resolved import KnownDrop, Resolved
from estimator.sizing import rules, told
from estimator.sizing.air_supply import AIR_TEMPERATURE_K
from estimator.sizing.line_network import GUN_HEIGHT_M
from estimator.sizing.line_proof import LineAnswer

__all__ = ["PartHere", "all_stand", "parts_here", "rating_findings"]

_SOURCE = "catalogue data at rest"
_WATER_KG_M3, _GRAVITY_M_S2 = 1000.0, 9.80665
_MOST_BELOW_PA = 2.5 * _WATER_KG_M3 * _GRAVITY_M_S2 * 10.0
"""More than any gun has above its segment: the heaviest liquid, and the highest end of a tube, that a job may have."""


@dataclass(frozen=True, slots=True)
class PartHere:
    """A part that has the pressure of a segment of a liquid line.

    Attributes:
        kind, key: what it is.
        called: its name in a sentence.
        rating_pa: what it stands; 0 where that is not known.
        below_pa: pressure that it has above that of the segment, by its height.
    """

    kind: str
    key: str
    called: Ref | str
    rating_pa: float
    below_pa: float = 0.0


class Hung(Protocol):
    """A drop with what hangs on it; None is what the catalogue has not."""

    @property
    def drop(self) -> Drop:
        """The drop."""

    @property
    def hose(self) -> Hose | None:
        """Its hose."""

    @property
    def gun(self) -> Gun | None:
        """Its gun."""


def parts_here(tube: Tube, tube_rating_pa: float, hung: Hung | None, gravity: float) -> Iterator[PartHere]:
    """The tube of a segment, its fittings, and where a drop hangs at its end hose and gun.

    Args:
        tube, tube_rating_pa: with its rating at the liquid's temperature.
        hung: what hangs at its end, None where it ends at a tee.
        gravity: specific gravity of the liquid.
    """
    yield PartHere(IdKind.TUBE.value, tube.key, Ref(IdKind.TUBE, tube.key), tube_rating_pa)
    yield PartHere("fittings", "", "the fittings of its tube", 1000.0 * tube.fitting_rating_kpa)
    if hung is None:
        return
    # The gun is held below the end of its tube.
    fall = max(hung.drop.end_height.si - GUN_HEIGHT_M, 0.0)
    yield from _hanging(hung, gravity * _WATER_KG_M3 * _GRAVITY_M_S2 * fall)


def _hanging(hung: Hung, below_pa: float = 0.0) -> Iterator[PartHere]:
    for kind, part in ((IdKind.HOSE, hung.hose), (IdKind.GUN, hung.gun)):
        if part is not None:
            yield PartHere(kind.value, part.key, Ref(kind, part.key), 1000.0 * part.rating_kpa, below_pa)


def all_stand(tube: Tube, tube_rating_pa: float, hung: Hung | None, pressure_pa: float) -> bool:
    """Whether it can be seen at a glance that every part of a segment stands a pressure; of most it can."""
    if pressure_pa > tube_rating_pa or pressure_pa > 1000.0 * tube.fitting_rating_kpa:
        return False
    if hung is None:
        return True
    here = pressure_pa + _MOST_BELOW_PA
    return (hung.hose is None or here <= 1000.0 * hung.hose.rating_kpa) and (
        hung.gun is None or here <= 1000.0 * hung.gun.rating_kpa
    )


_Weak = dict[tuple[str, str], tuple[Ref | str, float]]
"""By kind and key: how a part is called, and what it stands [Pa]."""


def rating_findings(
    site: Site, design: Design, layout: Layout, answers: Sequence[LineAnswer], known: Resolved
) -> Iterator[Finding]:
    """Lines whose pressure at rest is above what one of their parts stands, a finding a line."""
    by_drop = {one.drop.id: one for one in known.drops}
    line = layout.line(AIR)
    if line is not None and line.segments:
        yield from _air(site, design, line, by_drop, known)
    gravity = {p.id: p.specific_gravity for p in design.products}
    at = {unit.product: i for i, unit in enumerate(design.plant)}
    for answer in answers:
        laid = layout.line(answer.line.line)
        if laid is None:
            continue
        weak: _Weak = {}
        highest = 0.0
        for segment, proof in zip(laid.segments, answer.line.segments, strict=True):
            tube, one = known.tube(laid.id, segment.id), by_drop.get(segment.ends_at_drop)
            if tube is None or all_stand(tube, math.inf, one, proof.pressure_pa):
                continue
            over: _Weak = {}
            here = proof.pressure_pa
            # The tube itself is judged with its line.
            for part in list(parts_here(tube, proof.rating_pa, one, gravity[laid.id]))[1:]:
                at_it = proof.pressure_pa + part.below_pa
                here = max(here, at_it)
                if rules.over_rating(at_it, part.rating_pa):
                    over[part.kind, part.key] = part.called, part.rating_pa
            if over:
                weak |= over
                highest = max(highest, here)
        if weak:
            yield _finding(
                f"design.plant.{at[answer.line.line]}.regulator",
                told.product(answer.line.line),
                highest,
                weak,
                "Lower the regulator setting or choose other parts.",
            )


def _air(
    site: Site, design: Design, line: LineLayout, by_drop: dict[str, KnownDrop], known: Resolved
) -> Iterator[Finding]:
    most = highest_air(site.air, design.lines)
    pressure = most.pressure.si
    weak: _Weak = {}
    for segment in line.segments:
        tube, one = known.tube(AIR, segment.id), by_drop.get(segment.ends_at_drop)
        parts: list[PartHere] = []
        if tube is not None:
            parts += parts_here(tube, rules.rating_at(tube, AIR_TEMPERATURE_K - 273.15) or 0.0, None, 0.0)
        if one is not None:
            parts += _hanging(one)
        weak |= {
            (part.kind, part.key): (part.called, part.rating_pa)
            for part in parts
            if rules.over_rating(pressure, part.rating_pa)
        }
    if weak:
        yield _finding(
            most.place,
            Phrase("Compressed air line"),
            pressure,
            weak,
            "Lower the setting of its regulator or choose other parts."
            if most.regulated
            else "Give the line a regulator of its own, set below that, or choose other parts.",
        )


def _finding(place: str, line: Fact, pressure_pa: float, weak: _Weak, mend: str) -> Finding:
    return Finding(
        Severity.ERROR,
        place,
        "part-rating",
        "{line}: up to {pressure} at rest, and that is more than {parts} {stand}: {rating} (confirm with the maker's "
        f"data). {mend}",
        _SOURCE,
        facts=facts(
            line=line,
            pressure=told.pressure(pressure_pa, 1),
            parts=Listed(tuple(called for called, _ in weak.values())),
            stand=Phrase("stands" if len(weak) == 1 else "stand"),
            rating=Phrase(
                "{least}" if len(weak) == 1 else "the weakest {least}",
                facts(least=told.pressure(min(stands for _, stands in weak.values()), 1)),
            ),
        ),
    )
