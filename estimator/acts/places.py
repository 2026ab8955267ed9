"""Places in a job or a price book as a person writes them: names of fields and ids of rows, joined by dots."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from estimator.acts.row_titles import ROW_KEYS, row_key
from estimator.acts.typed import Path
from estimator.model.edit import value_at
from estimator.model.problems import label_of
from estimator.model.spec import FieldKind, FieldSpec, fields_of

__all__ = ["Place", "PlaceError", "place_at", "written"]

_LONGEST = 60
_MOST_NAMES = 12


class PlaceError(ValueError):
    """Nothing stands at the place; the message says at which step and what stands there instead."""


@dataclass(frozen=True, slots=True)
class Place:
    """A place that exists.

    Attributes:
        path: to the value.
        model: class of the value that has the field; of the row itself where the place is a row.
        field: the field, None where the place is a row.
    """

    path: Path
    model: type[BaseModel]
    field: FieldSpec | None

    @property
    def is_row(self) -> bool:
        """Whether a row of a list stands here."""
        return self.field is None


def key_field(model: type[BaseModel]) -> str:
    """Name of the field that holds a row's key, "" where rows have none."""
    return next((name for name in ROW_KEYS if name in model.model_fields), "")


def place_at(whole: BaseModel, text: str) -> Place:
    """The place that a text names, such as "design.drops.1-l-foam.gun".

    A row is named by its key (id, code, service, product or segment) or, where none has that key, by its position
    from 0, as places of findings are.

    Args:
        whole: the job, or whatever the place is in.
        text: steps joined by dots.

    Raises:
        PlaceError: nothing stands there.
    """
    steps = text.strip().split(".")
    if steps == [""]:
        raise PlaceError("There is no place; write one such as customer.name.")
    path: Path = ()
    model: type[BaseModel] | None = type(whole)
    parent: type[BaseModel] = type(whole)
    field: FieldSpec | None = None
    rest = list(steps)
    while rest:
        if field is not None and field.kind is FieldKind.LIST and field.model is not None:
            used, position = _row(value_at(whole, path), rest, text, field)
            path, parent, model, field = (*path, position), field.model, field.model, None
            rest = rest[used:]
            continue
        if model is not None and value_at(whole, path) is None:
            raise PlaceError(f"{_cut(text)}: {label_of(type(whole), path)}: nothing is stated here yet.")
        if model is None:
            raise PlaceError(f"{_cut(text)}: “{_cut(rest[0])}” stands below a field that has no parts.")
        known = {f.name: f for f in fields_of(model)}
        name = rest.pop(0)
        if name not in known:
            raise PlaceError(
                f"{_cut(text)}: there is no field “{_cut(name)}” here; the fields are {', '.join(known)}."
            )
        field, parent = known[name], model
        path = (*path, name)
        model = field.model if field.kind is FieldKind.GROUP else None
    return Place(path, parent, field)


def _row(rows: Any, rest: list[str], text: str, field: FieldSpec) -> tuple[int, int]:
    """How many steps name the row, and its position; a segment's own name may hold dots."""
    keys = [row_key(row) for row in rows]
    for used in range(len(rest), 0, -1):
        if (name := ".".join(rest[:used])) in keys:
            return used, keys.index(name)
    step = rest[0]
    if step.isascii() and step.isdecimal() and len(step) < 9 and int(step) < len(keys):
        return 1, int(step)
    told = ", ".join(key or str(i) for i, key in enumerate(keys[:_MOST_NAMES]))
    more = ", …" if len(keys) > _MOST_NAMES else ""
    there = f"they are {told}{more}" if keys else "there are none yet"
    raise PlaceError(f"{_cut(text)}: there is no row “{_cut(step)}” in {field.label}; {there}.")


def _cut(text: str) -> str:
    return text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…"


def written(whole: BaseModel, path: Path) -> str:
    """A path as `place_at` reads it, rows by their keys.

    Raises:
        LookupError: nothing stands there.
    """
    steps: list[str] = []
    for i, step in enumerate(path):
        value = value_at(whole, path[: i + 1])
        steps.append((row_key(value) or str(step)) if isinstance(step, int) else step)
    return ".".join(steps)
