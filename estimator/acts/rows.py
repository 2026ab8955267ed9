"""Edits of a job that touch more than one place: new rows, ids that others refer to, removals that take along."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from pydantic import BaseModel, ValidationError

from estimator.acts.fitting import standing
from estimator.acts.following import cannot_follow
from estimator.acts.row_titles import row_title
from estimator.acts.typed import Path
from estimator.model.called import bay_names, service_names
from estimator.model.choices import NozzleType
from estimator.model.colours import free_colour
from estimator.model.design import AIR, Bay, Design, Drop, LinePlan, PlantUnit, Product
from estimator.model.edit import EditError, inserted, moved, value_at, with_value
from estimator.model.finding import some
from estimator.model.job import Job
from estimator.model.makers import OwnProportioner, OwnPump, PumpPoint, VacuumPoint
from estimator.model.option_changes import REFERENCES
from estimator.model.problems import problems_of
from estimator.model.spec import FieldKind, FieldSpec, fields_of
from estimator.reference.catalogue import Catalogue, catalogue
from estimator.units import Dimension, Quantity, parse, to_unit

__all__ = [
    "NothingToReferTo",
    "RowEdit",
    "added",
    "choices",
    "copied",
    "design_at",
    "dropped",
    "duplicated",
    "free_id",
    "new_row",
    "renamed",
    "shifted",
    "taken_along",
    "with_field",
    "without_rows",
]


_ROWS_OF: Final = {
    "drops": ("drop", "drops"),
    "plant": ("plant unit", "plant units"),
    "lines": ("line plan", "line plans"),
}
"""What one row and several rows of a list that refers to another are called."""


class NothingToReferTo(ValueError):
    """A new row needs something else first; the message says what."""


def free_id(stem: str, taken: Iterable[str]) -> str:
    """The first of stem-1, stem-2 … that is not taken.

    >>> free_id("bay", ["bay-1", "bay-3"])
    'bay-2'
    """
    used = set(taken)
    number = 1
    while f"{stem}-{number}" in used:
        number += 1
    return f"{stem}-{number}"


def new_row(
    whole: BaseModel, path: Path, model: type[BaseModel], given: Mapping[str, Any] | None = None
) -> BaseModel:
    """A new row for the list at a path, with a free id and references that exist.

    Args:
        whole: what the list is in.
        path: of the list.
        model: class of the row.
        given: values that it takes as they are.

    Raises:
        NothingToReferTo: it needs a product or a bay first, or everything has its row already.
        EditError: a value given is not allowed.
    """
    rows = value_at(whole, path)
    values: dict[str, Any] = dict(given or {})
    for field in fields_of(model):
        if field.name in values or not model.model_fields[field.name].is_required():
            continue
        if field.refers_to:
            values[field.name] = _reference(whole, rows, field.name, field.refers_to, model)
        elif field.name == "id":
            values["id"] = free_id(model.__name__.casefold(), (row.id for row in rows))
        elif field.name == "key":
            values["key"] = free_id(model.__name__.casefold(), (row.key for row in rows))
        elif field.name == "segment":
            values["segment"] = free_id("segment", (row.segment for row in rows))
        elif field.name == "code":
            values["code"] = free_id("NEW", (row.code for row in rows))
        elif field.kind is FieldKind.CHOICE and field.catalogue == "tubes":
            values[field.name] = "tube-8"
        elif field.kind is FieldKind.QUANTITY:
            values[field.name] = field.low
        else:
            values[field.name] = "new"
    try:
        began = {**values, **_start(model, rows, values)}
        return model(**{**began, **_standing(whole, model, began), **(given or {})})
    except ValidationError as error:
        raise EditError(problems_of(error, type(whole), (*path, len(rows)))) from None


def _pressure(text: str) -> Quantity:
    return parse(text, Dimension.PRESSURE)


def _start(model: type[BaseModel], rows: Sequence[Any], values: Mapping[str, Any]) -> dict[str, Any]:
    """Figures that a new row begins with where the model allows no empty one; to be typed over."""
    if model is Drop:
        # What hangs on a service already fits it; compressed air takes no liquid gun.
        alike = next((row for row in reversed(rows) if row.service == values["service"]), None)
        if alike is not None:
            names = (
                "hose",
                "hose_bore",
                "hose_length",
                "gun",
                "nozzle",
                "nozzle_size",
                "nozzle_make",
                "fan_angle",
            )
            return {name: getattr(alike, name) for name in names}
        if values["service"] == AIR:
            gun = next(g.key for g in catalogue().guns if g.for_air)
            return {"gun": gun, "nozzle": NozzleType.NONE}
    if model is Product:
        return {"colour": free_colour([p.colour for p in rows], len(rows))}
    if model is OwnPump:
        air, flow, out = ("4 bar",) * 3, ("0 L/min", "9 L/min", "18 L/min"), ("4 bar", "3 bar", "2 bar")
        return {
            "points": tuple(
                PumpPoint(air=_pressure(a), flow=parse(f, Dimension.FLOW), discharge=_pressure(d))
                for a, f, d in zip(air, flow, out, strict=True)
            )
        }
    if model is OwnProportioner:
        return {
            "vacuum": tuple(
                VacuumPoint(inlet=_pressure(i), vacuum=_pressure(v))
                for i, v in (("1 bar", "20 kPa"), ("3 bar", "60 kPa"))
            )
        }
    if model is VacuumPoint and rows:
        # Water pressures must rise from row to row.
        return {"inlet": _pressure(f"{to_unit(rows[-1].inlet.si, Dimension.PRESSURE, 'bar') + 0.5:g} bar")}
    return {}


_DESIGN: Path = ("design",)


def design_at(whole: object) -> Design:
    """The design of a job as it is seen; an empty one where there is none."""
    return whole.design if isinstance(whole, Job) else Design()


def _reference(
    whole: BaseModel, rows: Sequence[Any], name: str, refers_to: str, model: type[BaseModel]
) -> str:
    design = design_at(whole)
    products = [p.id for p in design.products]
    known = {
        "bays": [b.id for b in design.bays],
        "products": products,
        "services": [*products, AIR],
    }[refers_to]
    if model is Drop:
        free = known
        if rows and getattr(rows[-1], name) in known:
            free = [getattr(rows[-1], name)]
    else:
        used = {getattr(row, name) for row in rows}
        free = [k for k in known if k not in used]
    if not known:
        what = "a bay" if refers_to == "bays" else "a product"
        raise NothingToReferTo(f"Add {what} first; this refers to one.")
    if not free:
        raise NothingToReferTo("Each of them has its row already.")
    return free[0]


def duplicated(whole: Any, path: Path, position: int) -> Any:
    """The same with a copy of one row right after it, under a free id.

    Raises:
        NothingToReferTo: the row is one of its kind and everything has its row already.
        EditError: the list is full.
    """
    rows = value_at(whole, path)
    row = rows[position]
    changes: dict[str, Any] = {}
    if isinstance(row, PlantUnit | LinePlan):
        name = "product" if isinstance(row, PlantUnit) else "service"
        field = next(f for f in fields_of(type(row)) if f.name == name)
        changes[name] = _reference(whole, rows, name, field.refers_to, type(row))
    for name in ("id", "key", "code"):
        if name == "code" and "key" in changes:
            # An own part: its key is its name, its price code may well be shared.
            continue
        if hasattr(row, name):
            stem = str(getattr(row, name)).rstrip("0123456789").rstrip("-") or type(row).__name__.casefold()
            changes[name] = free_id(stem[:34], (getattr(r, name) for r in rows))
    if isinstance(row, Product):
        changes["colour"] = free_colour([p.colour for p in rows], position + 1)
    fields = {name: getattr(row, name) for name in type(row).model_fields}
    return inserted(whole, path, position + 1, type(row)(**{**fields, **changes}))


def choices(job: Job, field: FieldSpec, parts: Catalogue) -> tuple[tuple[str, str], ...]:
    """(key, name) pairs of a choice field: of an enumeration, of a catalogue table, or the ids in the design.

    Args:
        field: which field.
        parts: the catalogue with the design's own parts.
    """
    if field.catalogue:
        return parts.choices(field.catalogue)
    design = design_at(job)
    products = tuple((key, name) for key, name in service_names(design).items() if key != AIR)
    match field.refers_to:
        case "bays":
            return tuple(bay_names(design).items())
        case "products":
            return products
        case "services":
            return (*products, (AIR, "Compressed air"))
        case _:
            return field.choices


def with_field(job: Job, path: Path, value: object) -> Job:
    """The job with one field changed; where it is an id, what refers to it follows.

    Raises:
        LookupError: nothing stands at the path.
        EditError: the value is not allowed, or an option cannot follow.
    """
    new: Job = _followed(job, path, lambda whole: _with_field(whole, path, value))
    return new


def _followed(whole: Any, path: Path, edit: Callable[[Any], Any]) -> Any:
    """An edit at a path; what an option refuses of it is told by the option's name."""
    try:
        return edit(whole)
    except EditError as error:
        if not isinstance(whole, Job) or not whole.alternatives or path[:1] == ("alternatives",):
            raise
        # What is wrong with the base design itself is told first.
        alone = edit(with_value(whole, ("alternatives",), ()))
        raise cannot_follow(error, alone.design, whole.alternatives) from None


def _with_field(job: Job, path: Path, value: object) -> Job:
    if path[-1:] == ("id",) and isinstance(value, str):
        return renamed(job, path, str(value_at(job, path)), value)
    return with_value(job, path, value)


def renamed(job: Job, path: Path, old: str, new: str) -> Job:
    """The job with an id changed and everything that refers to it following.

    Args:
        path: of the id field, such as ("design", "products", 2, "id").

    Raises:
        EditError: the new id is not allowed.
    """
    place = path[1:]
    if path[:1] != _DESIGN or len(place) != 3 or place[0] not in REFERENCES or place[2] != "id":
        return with_value(job, path, new)
    kind = str(place[0])
    # The id alone first, so that a bad one is told at its own field and not at what refers to it.
    row = value_at(job, path[:-1])
    checked = with_value(row, ("id",), new)
    design = design_at(job)
    changes: dict[str, Any] = {
        kind: tuple(checked if i == place[1] else r for i, r in enumerate(getattr(design, kind)))
    }
    for list_name, field in REFERENCES[kind]:
        changes[list_name] = tuple(
            with_value(r, (field,), new) if getattr(r, field) == old else r
            for r in getattr(design, list_name)
        )
    fields = {name: getattr(design, name) for name in type(design).model_fields}
    return with_value(job, _DESIGN, Design(**{**fields, **changes}))


def _used_by(design: Design, kind: str, ids: set[str]) -> dict[str, int]:
    return {
        list_name: sum(getattr(r, field) in ids for r in getattr(design, list_name))
        for list_name, field in REFERENCES.get(kind, ())
    }


def taken_along(job: object, path: Path, positions: Iterable[int]) -> dict[str, int]:
    """How many drops, plant units and line plans go with rows when these are removed."""
    if not isinstance(job, Job) or path[:-1] != _DESIGN:
        return {}
    rows = value_at(job, path)
    ids = {rows[i].id for i in positions if isinstance(rows[i], Product | Bay)}
    return {k: n for k, n in _used_by(design_at(job), str(path[-1]), ids).items() if n}


def without_rows(whole: Any, path: Path, positions: Iterable[int]) -> Any:
    """The same without some rows of a list; what refers to a removed product or bay goes too."""
    gone = set(positions)
    rows = value_at(whole, path)
    kept = tuple(r for i, r in enumerate(rows) if i not in gone)
    if not isinstance(whole, Job) or path[:-1] != _DESIGN or path[-1] not in REFERENCES:
        return with_value(whole, path, kept)
    kind = str(path[-1])
    ids = {rows[i].id for i in gone}
    design = design_at(whole)
    fields: dict[str, Any] = {name: getattr(design, name) for name in type(design).model_fields}
    fields[kind] = kept
    for list_name, field in REFERENCES[kind]:
        fields[list_name] = tuple(r for r in fields[list_name] if getattr(r, field) not in ids)
    return with_value(whole, _DESIGN, Design(**fields))


@dataclass(frozen=True, slots=True)
class RowEdit:
    """An act on the rows of a list.

    Attributes:
        name: what undo calls it.
        whole: after it.
        goes_to: new position of each old row, None for one that is gone.
        rows: positions of the rows it is about, in the new list.
    """

    name: str
    whole: BaseModel
    goes_to: Callable[[int], int | None]
    rows: tuple[int, ...]


def _standing(whole: BaseModel, model: type[BaseModel], values: Mapping[str, Any]) -> dict[str, str]:
    return {field: part.key for field, part in standing(design_at(whole), model, values).items()}


def _told(whole: BaseModel, row: BaseModel) -> str:
    """What a new row has in place of the usual parts, as those do not stand its product; "" where it has those."""
    refers = {name: getattr(row, name) for name in ("product", "service") if hasattr(row, name)}
    parts = standing(design_at(whole), type(row), refers).items()
    others = [part.name for field, part in parts if getattr(row, field) == part.key]
    return f" with {some(others, len(others))} for what flows there" if others else ""


def added(
    whole: BaseModel,
    path: Path,
    model: type[BaseModel],
    at: int,
    label: str,
    values: Mapping[str, Any] | None = None,
) -> RowEdit:
    """A new row.

    Args:
        whole: what is edited.
        path: of the list.
        model: class of its rows.
        at: position of the new row.
        label: of the list.
        values: what it holds instead of what a new row begins with.

    Raises:
        NothingToReferTo: see `new_row`.
        EditError: the list is full, or a value is not allowed.
    """
    row = new_row(whole, path, model, values or {})
    new = _followed(whole, path, lambda one: inserted(one, path, at, row))
    return RowEdit(f"{label}: add{_told(whole, row)}", new, lambda i: i if i < at else i + 1, (at,))


def copied(whole: BaseModel, path: Path, position: int, label: str) -> RowEdit:
    """A copy of a row right after it.

    Raises:
        NothingToReferTo, EditError: see `duplicated`.
    """
    title = row_title(whole, path, position)
    new = _followed(whole, path, lambda one: duplicated(one, path, position))
    return RowEdit(
        f"{label}: duplicate {title}", new, lambda i: i if i <= position else i + 1, (position + 1,)
    )


def dropped(whole: BaseModel, path: Path, positions: Sequence[int], label: str) -> RowEdit:
    """Without some rows and what refers to them.

    Raises:
        EditError: the list needs them.
    """
    gone = sorted(set(positions))
    rows = value_at(whole, path)
    what = row_title(whole, path, gone[0]) if len(gone) == 1 else f"{len(gone)} rows"
    along = taken_along(whole, path, gone).items()
    more = ", ".join(f"{n} {_ROWS_OF[kind][n > 1]}" for kind, n in along)
    left = len(rows) - len(gone)
    return RowEdit(
        f"{label}: remove {what}" + (f" with {more}" if more else ""),
        _followed(whole, path, lambda one: without_rows(one, path, gone)),
        lambda i: None if i in gone else i - sum(g < i for g in gone),
        (min(gone[0], left - 1),) if left else (),
    )


def shifted(whole: BaseModel, path: Path, position: int, to: int, label: str) -> RowEdit:
    """A row put at another position of its list; those between close up."""

    def goes_to(i: int) -> int:
        if i == position:
            return to
        if position < i <= to:
            return i - 1
        return i + 1 if to <= i < position else i

    title = row_title(whole, path, position)
    new = _followed(whole, path, lambda one: moved(one, path, position, to))
    return RowEdit(f"{label}: move {title}", new, goes_to, (to,))
