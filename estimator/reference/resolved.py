"""Every catalogue key of a design looked up once: the parts it names, and each key that the catalogue does not have.

Stages take the parts from here. A part that is not there is None for all of them, and told in one place.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Final

from estimator.model.choices import NozzleType
from estimator.model.design import AIR, Design, Drop, LinePlan, PlantUnit
from estimator.model.finding import Fact, Finding, IdKind, Listed, Phrase, Ref, Severity, facts
from estimator.reference.catalogue import (
    Backflow,
    Booster,
    Catalogue,
    Gun,
    Hose,
    Nozzle,
    NozzleMake,
    NozzleSize,
    Proportioner,
    Pump,
    Reducer,
    Tank,
    Tube,
)

__all__ = ["PICK_UP", "KnownDrop", "KnownUnit", "Resolved", "resolve"]

PICK_UP: Final = ("suction_tube", "foot_valve", "tip_set")
"""What the concentrate flows through on its way to the proportioner, by the names of `Catalogue.codes`."""


@dataclass(frozen=True, slots=True)
class KnownDrop:
    """A drop with the parts it names, None where the catalogue does not have one."""

    drop: Drop
    gun: Gun | None
    hose: Hose | None
    nozzle: Nozzle | None
    size: NozzleSize | None
    make: NozzleMake | None = None


@dataclass(frozen=True, slots=True)
class KnownUnit:
    """The plant of one product with the parts it names, None where the catalogue does not have one.

    `pick_up`: what the concentrate touches in foot valve, suction tube and tips, by their name in `Catalogue.codes`;
    empty where nobody stated it.
    """

    unit: PlantUnit
    proportioner: Proportioner | None
    tank: Tank | None
    pump: Pump | None
    pick_up: dict[str, dict[str, str]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Resolved:
    """A design with its parts.

    Attributes:
        drops, plant: in the order of the design.
        backflow, booster, reducer: what the board's water passes.
        tubes: by key.
        segments: key of the tube of each segment that has a size of its own, by (service, segment).
        lines: what was decided about each line, by service.
        findings: keys that the catalogue does not have, each with those that it has.
    """

    drops: tuple[KnownDrop, ...]
    plant: tuple[KnownUnit, ...]
    backflow: Backflow | None
    booster: Booster | None
    reducer: Reducer | None
    tubes: dict[str, Tube]
    lines: dict[str, LinePlan]
    findings: tuple[Finding, ...]
    segments: dict[tuple[str, str], str] = field(default_factory=dict, repr=False)
    _units: dict[str, KnownUnit] = field(default_factory=dict, repr=False, compare=False)
    _drops_of: dict[str, list[KnownDrop]] = field(default_factory=dict, repr=False, compare=False)

    def drops_of(self, service: str) -> Sequence[KnownDrop]:
        """Drops of a product, or of air, in the order of the design."""
        return self._drops_of.get(service, ())

    def unit(self, product: str) -> KnownUnit | None:
        """The plant of a product, None where it has none."""
        return self._units.get(product)

    def tubes_of(self, service: str) -> tuple[Tube, ...]:
        """The tubes chosen for a line, its own size first, each once; what a line has that nobody planned."""
        plan = self.lines.get(service) or LinePlan(service=service)
        keys = dict.fromkeys((plan.tube, *(chosen.tube for chosen in plan.segment_tubes)))
        return tuple(self.tubes[key] for key in keys if key in self.tubes)

    def tube(self, service: str, segment: str) -> Tube | None:
        """The tube of a segment: its own size, else that of its line."""
        plan = self.lines.get(service) or _unplanned()
        return self.tubes.get(self.segments.get((service, segment), plan.tube))


@cache
def _unplanned() -> LinePlan:
    """What a line has that nobody planned."""
    return LinePlan(service=AIR)


def resolve(design: Design, parts: Catalogue) -> Resolved:
    """Look up every key of a design.

    Args:
        design: what was chosen.
        parts: the catalogue, makers' data included.
    """
    guns = {p.key: p for p in parts.guns}
    hoses = {p.key: p for p in parts.hoses}
    nozzles = {p.key: p for p in parts.nozzles}
    sizes = {p.key: p for p in parts.nozzle_sizes}
    makes = {p.key: p for p in parts.nozzle_makes}
    proportioners = {p.key: p for p in parts.proportioners}
    tanks = {p.key: p for p in parts.tanks}
    pumps = {p.key: p for p in parts.pumps}
    lines: dict[str, LinePlan] = {}
    for plan in design.lines:
        lines.setdefault(plan.service, plan)
    plant = tuple(
        KnownUnit(
            u,
            made := proportioners.get(u.proportioner),
            tanks.get(u.tank),
            pumps.get(u.pump),
            {
                name: made.pick_up[name].wetted
                if made and name in made.pick_up
                else parts.wetted.get(name, {})
                for name in PICK_UP
            },
        )
        for u in design.plant
    )
    drops = tuple(
        KnownDrop(
            d,
            guns.get(d.gun),
            hoses.get(d.hose_bore),
            nozzles.get(d.nozzle),
            sizes.get(d.nozzle_size),
            makes.get(d.nozzle_make),
        )
        for d in design.drops
    )
    drops_of: dict[str, list[KnownDrop]] = {}
    for one in drops:
        drops_of.setdefault(one.drop.service, []).append(one)
    return Resolved(
        drops=drops,
        plant=plant,
        backflow=next((b for b in parts.backflow if b.key == design.common.backflow), None),
        booster=next((b for b in parts.boosters if b.key == design.common.booster), None),
        reducer=next((r for r in parts.reducers if r.key == design.common.reducer), None),
        tubes={p.key: p for p in parts.tubes},
        lines=lines,
        findings=_unknown(design, parts),
        # Of what is given twice the first counts.
        segments={
            (plan.service, s.segment): s.tube for plan in lines.values() for s in reversed(plan.segment_tubes)
        },
        _drops_of=drops_of,
        _units={known.unit.product: known for known in reversed(plant)},
    )


def _unknown(design: Design, parts: Catalogue) -> tuple[Finding, ...]:
    asked: list[tuple[str, IdKind, str, str, Fact]] = []
    for i, drop in enumerate(design.drops):
        at, of = f"design.drops.{i}", Ref(IdKind.DROP, drop.id)
        asked.append((f"{at}.gun", IdKind.GUN, drop.gun, "Gun of drop", of))
        asked.append((f"{at}.hose_bore", IdKind.HOSE, drop.hose_bore, "Hose size of drop", of))
        asked.append((f"{at}.nozzle", IdKind.NOZZLE, drop.nozzle.value, "Nozzle type of drop", of))
        # What has no nozzle needs no size, unless a liquid is to come out of it.
        if drop.nozzle is not NozzleType.NONE or drop.service != AIR:
            asked.append(
                (f"{at}.nozzle_size", IdKind.NOZZLE_SIZE, drop.nozzle_size, "Nozzle size of drop", of)
            )
        if drop.nozzle is not NozzleType.NONE:
            asked.append(
                (f"{at}.nozzle_make", IdKind.NOZZLE_MAKE, drop.nozzle_make, "Nozzle make of drop", of)
            )
    for i, unit in enumerate(design.plant):
        at, of = f"design.plant.{i}", Ref(IdKind.PRODUCT, unit.product)
        asked.append(
            (f"{at}.proportioner", IdKind.PROPORTIONER, unit.proportioner, "Proportioner of product", of)
        )
        asked.append((f"{at}.tank", IdKind.TANK, unit.tank, "Day tank of product", of))
        asked.append((f"{at}.pump", IdKind.PUMP, unit.pump, "Pump of product", of))
    common = design.common
    asked.append(("design.common.backflow", IdKind.BACKFLOW, common.backflow, "Backflow protection", ""))
    asked.append(("design.common.booster", IdKind.BOOSTER, common.booster, "Booster pump", ""))
    asked.append(("design.common.reducer", IdKind.REDUCER, common.reducer, "Pressure-reducing valve", ""))
    for i, line in enumerate(design.lines):
        at, of = f"design.lines.{i}", Ref(IdKind.LINE, line.service)
        asked.append((f"{at}.tube", IdKind.TUBE, line.tube, "Tube of line", of))
        asked.extend(
            (f"{at}.segment_tubes.{j}.tube", IdKind.TUBE, chosen.tube, "Segment size of line", of)
            for j, chosen in enumerate(line.segment_tubes)
        )
    allowed = {kind: [key for key, _ in parts.choices(kind.value)] for kind in {k for _, k, *_ in asked}}
    return tuple(
        Finding(
            Severity.ERROR,
            place,
            "unknown-key",
            "{what}: {key} is not in the catalogue; use one of {allowed}.",
            facts=facts(
                what=Phrase("{label} {of}" if of else "{label}", facts(label=label, of=of)),
                key=Ref(kind, key),
                allowed=Listed(tuple(Ref(kind, known) for known in allowed[kind]), 20),
            ),
        )
        for place, kind, key, label, of in asked
        if key not in allowed[kind]
    )
