"""What a proposed choice is called, what it is now and would be, and what it costs more or less."""

from __future__ import annotations

import re
from dataclasses import dataclass

from estimator.layout.types import Layout
from estimator.proposal.cost import SizeCosts
from estimator.proposal.types import Choice
from estimator.reference.catalogue import Catalogue, catalogue
from estimator.shown.figures import Figures
from estimator.shown.flow_sizes import flow_sizes
from estimator.shown.names import Names
from estimator.units import Dimension, parse

__all__ = ["Named", "named", "short_name"]

_TABLES = {
    "nozzle_size": "nozzle_sizes",
    "tube": "tubes",
    "pump": "pumps",
    "tank": "tanks",
    "booster": "boosters",
    "reducer": "reducers",
}
_PLANT = {
    "pump": "Pump",
    "regulator": "Regulator setting",
    "tank": "Day tank",
    "tip_drill": "Metering tip",
    "booster": "Booster pump",
    "reducer": "Pressure-reducing valve",
    "reducer_setting": "Valve setting",
}
_SETTINGS = ("regulator", "reducer_setting")


@dataclass(frozen=True, slots=True)
class Named:
    """A choice for a person.

    Attributes:
        what: what is chosen.
        old, new: names before and after.
        smaller, larger: names of the sizes beside it, "" for none.
        short: names without the words that all sizes of their table share, by name.
        difference: installed cost above that of what is there, in the price book's currency; None where a price
            is missing.
    """

    what: str
    old: str
    new: str
    smaller: str
    larger: str
    short: dict[str, str]
    difference: float | None


def _cost(choice: Choice, key: str, layout: Layout, costs: SizeCosts) -> float | None:
    """Installed cost of a size in the place of a choice; 0 for what needs no other part."""
    kind = choice.place.rsplit(".", 1)[-1]
    if kind == "pump":
        return costs.pumps.get(key)
    if kind == "tank":
        return costs.tanks.get(key)
    if kind in ("booster", "reducer"):
        return (costs.boosters if kind == "booster" else costs.reducers).get(key)
    if kind != "tube":
        return 0.0
    _, line_id, rest = choice.place.split(".", 2)
    line = layout.line(line_id)
    segment = next((s for s in line.segments if s.id == rest.rsplit(".", 1)[0]), None) if line else None
    return costs.segment(segment, key) if segment is not None else None


def short_name(kind: str, name: str) -> str:
    """The part of a shipped part's name that tells its size.

    >>> short_name("tube", "Polyethylene tube 6 x 4 mm"), short_name("nozzle_size", "04 red")
    ('6 x 4 mm', '04 red')
    """
    if kind == "nozzle_size":
        return name
    digits = re.search(r"\d.*", name)
    return digits[0] if digits and kind in _TABLES else name


def _what(choice: Choice, names: Names) -> str:
    """What is chosen: where it stands in a line's group, so that the line itself needs no name."""
    steps = choice.place.split(".")
    kind = steps[-1]
    if steps[0] == "drops":
        return f"Nozzle, {names.place('.'.join(steps[1:-1]))}"
    if steps[0] == "lines":
        told = names.segment(steps[1], ".".join(steps[2:-1])).removeprefix("the ").removeprefix("a ")
        return told[:1].upper() + told[1:]
    return _PLANT.get(kind, kind)


def named(
    choice: Choice, layout: Layout, parts: Catalogue, costs: SizeCosts, names: Names, figures: Figures
) -> Named:
    """A choice in words.

    Args:
        names: what the objects of the design are called; with its layout, for the names of tubes.
        figures: how figures are written.
    """
    kind = choice.place.rsplit(".", 1)[-1]
    flows = kind == "nozzle_size"
    sizes = dict(
        flow_sizes(parts, figures) if flows else parts.choices(_TABLES[kind]) if kind in _TABLES else ()
    )
    # A person's own part keeps its whole name.
    shipped = catalogue().choices(_TABLES[kind]) if kind in _TABLES else ()
    short = {sizes[key]: short_name(kind, name) for key, name in shipped}

    def name(key: str) -> str:
        if not key:
            return "from the dilution" if kind == "tip_drill" else "none"
        if kind in _SETTINGS:
            return figures.typed(parse(key, Dimension.PRESSURE))
        return f"drill {key}" if kind == "tip_drill" else sizes.get(key, key)

    difference: float | None = 0.0
    if choice.old != choice.new:
        before = _cost(choice, choice.old, layout, costs)
        after = _cost(choice, choice.new, layout, costs)
        difference = None if before is None or after is None else after - before
    return Named(
        _what(choice, names),
        name(choice.old),
        name(choice.new),
        name(choice.smaller.size) if choice.smaller else "",
        name(choice.larger.size) if choice.larger else "",
        short,
        difference,
    )
