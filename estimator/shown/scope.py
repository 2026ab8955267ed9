"""The scope of a design in words and counts, nothing about paper."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass
from typing import Final

from estimator.model.called import bay_names, service_names
from estimator.model.choices import HoseKind, NozzleType
from estimator.model.design import AIR, Drop, Product
from estimator.shown.figures import Figures
from estimator.shown.names import Names
from estimator.study import Study

__all__ = [
    "DropKind",
    "SideGroup",
    "classes_text",
    "dilution_text",
    "scope_sentences",
    "side_groups",
    "staying",
]


def classes_text(product: Product) -> str:
    """What a product is, in words."""
    return ", ".join(c.label for c in product.sheet.classes) or "No class chosen"


def dilution_text(dilution: float, figures: Figures) -> str:
    """A dilution as it is written in the trade.

    >>> from estimator.units import UnitSystem
    >>> dilution_text(40.0, Figures("en_US", "USD", UnitSystem.METRIC))
    '40:1'
    """
    return f"{figures.number(dilution, 2)}:1" if dilution > 0 else "undiluted"


def _listed(words: list[str]) -> str:
    if len(words) < 2:
        return "".join(words)
    return ", ".join(words[:-1]) + " and " + words[-1]


def scope_sentences(study: Study, figures: Figures) -> tuple[str, ...]:
    """What is built, as short paragraphs.

    Args:
        study: the study.
        figures: how figures are written.
    """
    site, design, layout = study.job.site, study.job.design, study.layout
    liquid = [d for d in design.drops if d.service != AIR]
    air = len(design.drops) - len(liquid)
    used_bays = {d.bay for d in design.drops}
    count = figures.count
    if not design.drops:
        return ("This design has no hose drops yet.",)
    first = (
        f"This quote covers a central dispensing system with {count(len(design.drops), 'hose drop')} at "
        f"{count(len(layout.stations), 'bay side')} in {count(len(used_bays), 'bay')}"
    )
    first += (
        f": {len(liquid)} for liquids and {air} for compressed air."
        if liquid and air
        else (", all for liquids." if liquid else ", all for compressed air.")
    )
    sentences = [first]
    made = {unit.product for unit in design.plant}
    if made:
        sentences.append(
            f"{count(len(made), 'product', start=True)} {'is' if len(made) == 1 else 'are'} made at the plant "
            f"board on the {site.board.wall.value} wall: each concentrate is proportioned with water into a "
            "day tank of its own, and an air-operated diaphragm pump feeds it through a tube line of its own to "
            "every gun that uses it."
        )
    if design.products:
        called = service_names(design)
        tap = [f"{called[p.id]} {dilution_text(p.dilution, figures)}" for p in design.products]
        sentences.append(
            f"On tap, water to concentrate: {_listed(tap)}{'; and compressed air' if air else ''}."
        )
    length = sum(line.length_m for line in layout.lines)
    if layout.lines:
        sentences.append(
            f"The design has {count(len(layout.lines), 'line')} with {figures.length(length, 0)} of tube in all, "
            f"run at a height of {figures.length(site.floor.run_height.si)} over the hall of "
            f"{figures.length(site.floor.width.si)} × {figures.length(site.floor.depth.si)}, and from there down "
            "to each bay side."
        )
    bare = [name for bay, name in bay_names(design).items() if bay not in used_bays]
    if bare:
        sentences.append(f"Without hose drops in this design: {_listed(bare)}.")
    return tuple(sentences)


def staying(study: Study, figures: Figures) -> tuple[str, ...]:
    """What hangs there already and stays, one line each; empty for a new system."""
    design, layout = study.job.design, study.layout
    lines: list[str] = []
    called = service_names(design)
    kept = Counter(called[d.service] for d in design.drops if d.existing)
    if kept:
        each = _listed([f"{number} × {name}" for name, number in kept.items()])
        total = sum(kept.values())
        lines.append(
            f"{figures.count(total, 'hose drop', start=True)} with "
            f"{'its' if total == 1 else 'their'} hoses, guns and nozzles: {each}."
        )
    plant = [called[u.product] for u in design.plant if u.existing]
    if plant:
        lines.append(f"The plant of {_listed(plant)}.")
    if design.common.existing:
        common = design.common
        kept_parts = ["rails", "manifolds", "backflow protection"]
        kept_parts += ["booster pump"] if common.booster != "no-booster" else []
        kept_parts += ["pressure-reducing valve"] if common.reducer != "no-reducer" else []
        lines.append(f"The board with its {_listed(kept_parts)}.")
    mounts = [s for s in layout.stations if s.mount_existing]
    if mounts:
        lines.append(f"The mounting of {figures.count(len(mounts), 'bay side')}.")
    tube = sum(s.length_m for line in layout.lines for s in line.segments if s.existing)
    if tube > 0:
        lines.append(f"{figures.length(tube, 0)} of tube with the joints and valves on it.")
    return tuple(lines)


@dataclass(frozen=True, slots=True)
class DropKind:
    """Drops of a bay side that are alike."""

    service: str
    count: int
    hose: str
    outlet: str
    existing: bool


@dataclass(frozen=True, slots=True)
class SideGroup:
    """Bay sides that get the same drops: their names and the kinds of drops."""

    sides: tuple[str, ...]
    kinds: tuple[DropKind, ...]


_PLAIN_MAKE: Final = str(Drop.model_fields["nozzle_make"].default)


def _outlet(drop: Drop, makers: Collection[str], names: Names, figures: Figures) -> str:
    gun = names.part("guns", drop.gun)
    if drop.service == AIR or drop.nozzle is NozzleType.NONE:
        return gun
    size = names.part("nozzle_sizes", drop.nozzle_size)
    if drop.nozzle_size not in makers:
        size = f"size {drop.nozzle_size}"
    if drop.nozzle_make != _PLAIN_MAKE and drop.nozzle_size not in makers:
        make = names.part("nozzle_makes", drop.nozzle_make)
        size += f", {make if make[:2].isupper() else make[:1].lower() + make[1:]}"
    if drop.nozzle is NozzleType.FOAM_GUN:
        return f"{gun}, outlet {size}"
    nozzle = drop.nozzle.label[0].lower() + drop.nozzle.label[1:]
    if drop.nozzle is NozzleType.FAN:
        degrees = figures.number(round(drop.fan_angle.si * 57.29577951308232, 6), 1)
        nozzle = f"fan {degrees}°"
    return f"{gun}; {nozzle}, {size}"


def side_groups(study: Study, names: Names, figures: Figures) -> tuple[SideGroup, ...]:
    """Bay sides grouped by what they get, in the order of bays."""
    design = study.job.design
    drops = {d.id: d for d in design.drops}
    rank = {p.id: i for i, p in enumerate(design.products)}
    makers = {nozzle.key for nozzle in design.makers.nozzles}
    groups: dict[tuple[DropKind, ...], list[str]] = {}
    for station in study.layout.stations:
        alike: Counter[tuple[str, str, str, bool]] = Counter()
        for drop in sorted((drops[i] for i in station.drops), key=lambda d: rank.get(d.service, len(rank))):
            kind = "coil" if drop.hose is HoseKind.COIL else "straight"
            hose = f"{kind}, {figures.length(drop.hose_length.si)}"
            alike[(drop.service, hose, _outlet(drop, makers, names, figures), drop.existing)] += 1
        kinds = tuple(DropKind(s, n, h, o, e) for (s, h, o, e), n in alike.items())
        groups.setdefault(kinds, []).append(names.station(station.bay, station.side.value))
    return tuple(SideGroup(tuple(sides), kinds) for kinds, sides in groups.items())
