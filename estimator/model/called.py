"""What objects that carry a name are called. Where there is none, kind and position tell; an id never does."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import Final

from estimator.model.design import AIR, Design

__all__ = ["COMPRESSED_AIR", "bay_names", "distinct", "on_one_line", "service_names"]

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
