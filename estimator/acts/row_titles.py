"""What a row is called in headings, messages and the names of acts; an id is no name."""

from __future__ import annotations

from pydantic import BaseModel

from estimator.model.called import row_names
from estimator.model.design import Design
from estimator.model.differences import name_of_row
from estimator.model.edit import value_at
from estimator.model.job import Job
from estimator.model.problems import label_of

__all__ = ["ROW_KEYS", "place_title", "row_key", "row_title"]

Path = tuple[str | int, ...]

ROW_KEYS = ("id", "key", "code", "service", "product", "segment")
"""Fields that tell a row of a list from its neighbours."""


def row_key(row: BaseModel) -> str:
    """What tells a row from its neighbours, "" where only its position does."""
    return next((str(getattr(row, name)) for name in ROW_KEYS if getattr(row, name, None)), "")


def _named(whole: BaseModel, path: Path) -> str:
    """The name of the row at a path, "" where it has none."""
    row = value_at(whole, path)
    design = whole.design if isinstance(whole, Job) else Design()
    named = row_names(design).get(str(path[-2]), {}) if path[0] == "design" else {}
    # A segment is known by what the tube schedule calls it.
    return named.get(row_key(row)) or name_of_row(row) or str(getattr(row, "segment", ""))


def row_title(whole: BaseModel, path: Path, position: int) -> str:
    """What a row of the list at a path is called in a heading or a message: its name, or its number; never its id.

    Raises:
        LookupError: there is no such row.
    """
    return _named(whole, (*path, position)) or f"row {position + 1}"


def place_title(whole: BaseModel, path: Path) -> str:
    """What a field is called: ("design", "drops", 2, "gun") -> "Bay 1 left, Wax, Gun", "Drops 3, Gun" without a name.

    Raises:
        LookupError: there is no such row.
    """
    last = max((i for i, step in enumerate(path) if isinstance(step, int)), default=None)
    if last is None or not (name := _named(whole, path[: last + 1])):
        return label_of(type(whole), path)
    return f"{name}, {label_of(type(value_at(whole, path[: last + 1])), path[last + 1 :])}"
