"""What a line does when a gun shuts and the pump stops: the surge, and a tank that empties itself.

The pressure at rest is judged in `line_findings` and `ratings`; here is what comes on top of it for a moment, and what
the height of the tank alone does.

Sources
-------
.. [1] Joukowsky's surge and Korteweg's speed of the wave: :mod:`estimator.hydraulics.surge`.
.. [2] Moduli of the walls: the upper end of what handbooks give for a short load at room temperature, from memory;
   they differ by grade, warmth and speed of load by a factor of two and more. A stiffer wall surges more.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

from estimator.hydraulics.pump import barometric_pressure
from estimator.hydraulics.siphon import siphon
from estimator.hydraulics.solution import liquid
from estimator.hydraulics.surge import WATER_BULK_PA, surge, wave_speed
from estimator.layout.types import Layout, LineLayout, Segment
from estimator.model.design import Design, Product
from estimator.model.finding import Amount, Finding, IdKind, Listed, Phrase, Ref, Severity, facts
from estimator.model.site import Site
from estimator.reference.catalogue import Tube
from estimator.reference.resolved import KnownDrop, Resolved
from estimator.sizing import rules, told
from estimator.sizing.line_network import cracking_pa
from estimator.sizing.line_proof import LineAnswer
from estimator.sizing.ratings import PartHere, all_stand, parts_here

__all__ = ["WALL_MODULUS_PA", "rest_findings", "surge_in"]

WALL_MODULUS_PA: Final = {
    "polyethylene": 0.8e9,
    "polypropylene": 1.5e9,
    "PVDF": 2.0e9,
    "PTFE": 0.6e9,
    "nylon": 1.5e9,
    "polyurethane": 0.1e9,
}
"""Of the material of a tube's wall [Pa], source [2]. A material that is not here counts as rigid: the upper end."""

_FLOOR_M: Final = 0.0
"""A gun is left open on the floor."""

_Push = tuple[float, float]
_SURGE: Final = "Joukowsky (1898); moduli of walls from memory"
_SIPHON: Final = "hydrostatics"


def rest_findings(
    site: Site, design: Design, layout: Layout, answers: Sequence[LineAnswer], known: Resolved
) -> Iterator[Finding]:
    """Of each line: a surge above what a part stands, and a tank that runs out through a gun left open."""
    products = {p.id: p for p in design.products}
    by_drop = {one.drop.id: one for one in known.drops}
    at = {unit.product: i for i, unit in enumerate(design.plant)}
    level = design.common.tank_level or site.board.outlet_height
    pushes: list[tuple[Product, _Push]] = []
    for answer in answers:
        laid, product = layout.line(answer.line.line), products[answer.line.line]
        if laid is None or product.id not in at:
            continue
        density = liquid(site.water.temperature.si, product.specific_gravity, None).density_kg_m3
        yield from _surges(answer, laid, product, density, by_drop, known, at[product.id])
        push = _pushes(site, level.si, laid, density, known)
        if push is not None:
            pushes.append((product, push))
    yield from _empties(site, design, pushes)


def surge_in(tube: Tube, flow_m3_s: float, density_kg_m3: float) -> float:
    """Rise of pressure in a tube when a flow through it is stopped at once [Pa], in proportion to the flow; see
    `estimator.hydraulics.surge`.

    Worked example: 1.62 m/s (45.8 mL/s) of water in a polyethylene tube of 6 mm bore and 1 mm wall.

    >>> from estimator.reference.catalogue import catalogue
    >>> tube = next(t for t in catalogue().tubes if t.key == "tube-8")
    >>> round(1e-5 * surge_in(tube, 1.62 * 0.25 * math.pi * 6e-3**2, 998.2), 3)
    5.739
    """
    bore_m, wall_m = tube.bore_mm / 1000.0, (tube.od_mm - tube.bore_mm) / 2000.0
    modulus = WALL_MODULUS_PA.get(tube.wetted.get("wall", ""))
    wave = (
        math.sqrt(WATER_BULK_PA / density_kg_m3)
        if modulus is None
        else wave_speed(bore_m, wall_m, modulus, density_kg_m3)
    )
    return surge(density_kg_m3, wave, flow_m3_s / (0.25 * math.pi * bore_m**2))


def _surges(
    answer: LineAnswer,
    laid: LineLayout,
    product: Product,
    density: float,
    by_drop: dict[str, KnownDrop],
    known: Resolved,
    unit_at: int,
) -> Iterator[Finding]:
    """The worst place of a line, where a part stands less than what is there at rest and the surge of one gun.

    Guns do not shut in the same moment: of those behind a segment the one that gives most counts, open alone.
    """
    alone = {drop.drop: drop.alone.flow_m3_s for drop in answer.drops}
    worst: tuple[float, Segment, float, PartHere] | None = None
    per_flow: dict[str, float] = {}
    for segment, proof in zip(laid.segments, answer.line.segments, strict=True):
        tube, one = known.tube(laid.id, segment.id), by_drop.get(segment.ends_at_drop)
        if tube is None:
            continue
        if tube.key not in per_flow:
            per_flow[tube.key] = surge_in(tube, 1.0, density)
        rise = per_flow[tube.key] * max([alone.get(d, 0.0) for d in segment.drops], default=0.0)
        if all_stand(tube, proof.rating_pa, one, proof.pressure_pa + rise):
            continue
        for part in parts_here(tube, proof.rating_pa, one, product.specific_gravity):
            rest = proof.pressure_pa + part.below_pa
            # What does not even stand the pressure at rest has a finding of its own.
            if rules.over_rating(rest + rise, part.rating_pa) and not rules.over_rating(rest, part.rating_pa):
                over = (rest + rise) / part.rating_pa
                if worst is None or over > worst[0]:
                    worst = over, segment, rise, part
    if worst is not None:
        over, segment, rise, part = worst
        yield Finding(
            Severity.WARNING,
            f"design.plant.{unit_at}.regulator",
            "surge",
            "{product}: a gun that snaps shut adds up to {rise} for a moment, which makes {peak} in {segment}; {part} "
            "{verb} rated for {rating}. A wider tube, a smaller nozzle or a lower regulator setting lowers it; what "
            "its parts stand for a moment the maker can tell.",
            _SURGE,
            "maker of the parts",
            facts(
                product=told.product(product.id),
                rise=told.pressure(rise, 1),
                peak=told.pressure(over * part.rating_pa, 1),
                segment=told.segment(segment.id, laid.id),
                part=part.called,
                verb=Phrase("is" if isinstance(part.called, Ref) else "are"),
                rating=told.pressure(part.rating_pa, 1),
            ),
        )


def _pushes(site: Site, level_m: float, laid: LineLayout, density: float, known: Resolved) -> _Push | None:
    """Of a line whose full tank alone pushes more than the springs on some way to a gun on the floor hold back: with
    how much, and what the weakest of them hold back [Pa].

    The valves of a pump that stands still are taken as open: only its maker can tell whether they hold.
    """
    crest = max([point.z for segment in laid.segments for point in segment.points])
    found = siphon(level_m, max(crest, level_m), _FLOOR_M, density, barometric_pressure(site.altitude.si))
    if not found.runs:
        return None
    held: dict[str, float] = {}
    ends: list[float] = []
    for segment in laid.segments:
        tube = known.tube(laid.id, segment.id)
        if tube is None:
            return None
        held[segment.id] = held.get(segment.upstream, 0.0) + cracking_pa(segment, tube)
        if segment.ends_at_drop:
            ends.append(held[segment.id])
    if not ends or not rules.above(found.head_pa, min(ends)):
        return None
    return found.head_pa, min(ends)


def _empties(site: Site, design: Design, pushes: Sequence[tuple[Product, _Push]]) -> Iterator[Finding]:
    """What is to be said of tanks that can run out, all in one."""
    if not pushes:
        return
    stated = design.common.tank_level
    head, spring = max((push for _, push in pushes), key=lambda push: push[0] - push[1])
    yield Finding(
        Severity.NOTE if stated is None else Severity.WARNING,
        "design.common.tank_level",
        "tank-empties",
        "Full day tanks at {level}{assumed}: with the pump stopped {products} can push with {head} at a gun on the "
        "floor, and the check valves on the way hold back only {spring}. A gun left open, or a torn hose, can empty "
        "the tank. Shut the lines off when nobody works, set the tanks lower, or ask the pumps' maker whether they "
        "hold.",
        _SIPHON,
        "maker of the pumps",
        facts(
            level=Amount.of(stated if stated is not None else site.board.outlet_height),
            assumed=Phrase(
                "" if stated is not None else ", not stated and taken as where tubes leave the board"
            ),
            products=Listed(tuple(Ref(IdKind.PRODUCT, product.id) for product, _ in pushes)),
            head=told.pressure(head),
            spring=told.pressure(spring),
        ),
    )
