"""From an older file format to the one this program writes: pure steps on a copy, one a format number.

A step takes the parsed data of a file of its format and gives that of the next. It supposes nothing: a file may be
damaged, and what is wrong with it is told afterwards, by validation. What a step cannot read it leaves as it is.

They stand here because two rooms ask for them: the store for a file, and an issued revision for the job it was made
of, which is kept in the words of its own format and brought up only to be looked at.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Mapping
from typing import Any, Final

from estimator.model.choices import LineColour
from estimator.model.colours import free_colour
from estimator.model.pricebook import is_demo_source
from estimator.model.snapshot import FORMAT

__all__ = ["upgraded"]

Data = dict[str, Any]


def _groups(value: object) -> list[Data]:
    """The groups of a list; nothing of what is no list of groups."""
    return [row for row in value if isinstance(row, dict)] if isinstance(value, list) else []


def _rows_without_keys(data: Data) -> None:
    """Issued rows had no keys: they are matched by their words."""
    for issued in _groups(data.get("issued")):
        for row in _groups(issued.get("rows")):
            row.setdefault("key", "")


def _line_colours(data: Data) -> None:
    """Lines were coloured by their place. In an option and in what was issued a product keeps the base's colour."""
    known: dict[str, LineColour] = {}
    snapshots = (issued.get("snapshot") for issued in _groups(data.get("issued")))
    for part in (data, *(s for s in snapshots if isinstance(s, dict))):
        for design in (part.get("design"), *(a.get("design") for a in _groups(part.get("alternatives")))):
            _colour_design(design, known)


def _colour_design(design: object, known: dict[str, LineColour]) -> None:
    products = _groups(design.get("products")) if isinstance(design, dict) else []
    products = [p for p in products if isinstance(p.get("id"), str) and "colour" not in p]
    for place, product in enumerate(products):
        others = [known[p["id"]] for p in products if p["id"] in known]
        colour = known.setdefault(product["id"], free_colour(others, min(place, len(others))))
        product["colour"] = colour.value


def _demo_marks(data: Data) -> None:
    """Prices that a job holds on to had no mark of demo data: `PriceEntry` tells the demo book's own."""
    prices = data.get("prices")
    for part in (prices, *_groups(data.get("issued"))):
        for entry in _groups(part.get("entries")) if isinstance(part, dict) else ():
            entry.setdefault("demo", is_demo_source(entry.get("source")))


_STEPS: Final[Mapping[int, tuple[Callable[[Data], None], ...]]] = {
    1: (_rows_without_keys, _line_colours, _demo_marks)
}
"""By the format they start from; each changes the copy it is given."""


def upgraded(data: Mapping[str, Any]) -> Data:
    """The same in the format of today; what it was made from stays as it was.

    Args:
        data: of a file whose format number is one that this program knows.
    """
    made: Data = copy.deepcopy(dict(data))
    for number in range(int(made["format"]), FORMAT):
        for step in _STEPS[number]:
            step(made)
        made["format"] = number + 1
    return made
