"""What objects that carry a name are called. Where there is none, kind and position tell; an id never does."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import Final

from estimator.model.design import AIR, Design, Drop

__all__ = [
    "COMPRESSED_AIR",
    "bay_names",
    "distinct",
    "drop_names",
    "numbered",
    "on_one_line",
    "row_names",
    "service_names",
]

COMPRESSED_AIR: Final = "Compressed air"


def on_one_line(name: str) -> str:
    """A typed name without line ends and outer space, "" where there is nothing to read."""
    return " ".join(name.split())


def distinct(names: Iterable[tuple[str, str]], word: str) -> dict[str, str]:
    """Ids with their names; what has no name or one that another has too is told by its position.

    >>> distinct([("a", "Wash"), ("b", ""), ("c", "Wash")], "product")
    {'a': 'Wash (product 1)', 'b': 'product 2', 'c': 'Wash (product 3)'}
    """
    listed = [(key, on_one_line(name)) for key, name in names]
    uses = Counter(name for _, name in listed)
    return {
        key: (name if uses[name] == 1 else f"{name} ({word} {i})") if name else f"{word} {i}"
        for i, (key, name) in enumerate(listed, 1)
    }


def service_names(design: Design) -> dict[str, str]:
    """Names of the products and of compressed air."""
    return distinct(((p.id, p.name) for p in design.products), "product") | {AIR: COMPRESSED_AIR}


def bay_names(design: Design) -> dict[str, str]:
    """Names of the bays."""
    return distinct(((b.id, b.name) for b in design.bays), "bay")


def numbered(listed: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Ids with their names; those alike are told as "(1 of 3)".

    >>> numbered([("a", "Bay 1 left, Wax"), ("b", "Bay 1 left, Wax")])
    {'a': 'Bay 1 left, Wax (1 of 2)', 'b': 'Bay 1 left, Wax (2 of 2)'}
    """
    pairs = list(listed)
    uses = Counter(name for _, name in pairs)
    seen: Counter[str] = Counter()
    names: dict[str, str] = {}
    for key, name in pairs:
        seen[name] += 1
        names[key] = name if uses[name] == 1 else f"{name} ({seen[name]} of {uses[name]})"
    return names


def drop_names(design: Design) -> dict[str, str]:
    """Names of the drops, by where they hang and what they give ("Bay 1 left, Foam pre-wash")."""
    bays, services = bay_names(design), service_names(design)

    def name(drop: Drop) -> str:
        bay = bays.get(drop.bay, "a bay that is not there")
        return f"{bay} {drop.side.value}, {services.get(drop.service, 'a product that is not there')}"

    return numbered((drop.id, name(drop)) for drop in design.drops)


def row_names(design: Design) -> dict[str, dict[str, str]]:
    """What a person calls the rows of a design's lists, by list and by what tells rows apart."""
    services = service_names(design)
    return {
        "products": services,
        "bays": bay_names(design),
        "drops": drop_names(design),
        "plant": services,
        "lines": services,
    }
