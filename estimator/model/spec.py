"""How a field is declared, once: type and limits in the annotation, label and help in `spec`.

Validation, form, file schema and documentation all read these declarations (see `fields_of`).
"""

from __future__ import annotations

import re
import types
import typing
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum, StrEnum
from functools import lru_cache
from typing import Annotated, Any, Final

import annotated_types
from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StringConstraints
from pydantic.fields import FieldInfo
from pydantic_core import PydanticCustomError

from estimator.model.datum import Datum
from estimator.units import Dimension, Measure, Quantity

__all__ = [
    "Amount",
    "FieldKind",
    "FieldSpec",
    "Frozen",
    "Identifier",
    "LongText",
    "Percent",
    "ShortText",
    "fields_of",
    "spec",
]

_CONTROL: Final = re.compile(r"[\x00-\x08\x0b-\x1f\x7f\ud800-\udfff]")


def _printable(text: str) -> str:
    if not text.isprintable() and _CONTROL.search(text):
        raise PydanticCustomError("control_character", "This text holds a control character; remove it.")
    return text


class Frozen(BaseModel):
    """Base of every part of a job: immutable, strict, no unknown keys, no NaN or infinity."""

    model_config = ConfigDict(
        defer_build=True,
        frozen=True,
        extra="forbid",
        strict=True,
        validate_default=True,
        allow_inf_nan=False,
        arbitrary_types_allowed=True,
        ser_json_inf_nan="constants",
    )


ShortText = Annotated[str, StringConstraints(max_length=120), AfterValidator(_printable)]
LongText = Annotated[str, StringConstraints(max_length=2000), AfterValidator(_printable)]
Identifier = Annotated[
    str, StringConstraints(min_length=1, max_length=40, pattern=r"^[A-Za-z0-9][A-Za-z0-9_-]*$")
]
Percent = Annotated[Decimal, Field(ge=0, le=100, max_digits=7, decimal_places=4)]
Amount = Annotated[Decimal, Field(ge=0, le=Decimal(10_000_000), max_digits=14, decimal_places=4)]


def spec(
    label: str,
    help: str = "",
    *,
    default: Any = ...,
    catalogue: str = "",
    refers_to: str = "",
    unit: str = "",
    demo: bool = False,
    picture: bool = False,
) -> Any:
    """Declare a field: its label, help and default, where its choices come from.

    Args:
        label: sentence-case label shown on the form.
        help: one sentence; shown as help and used in messages.
        default: default value; required if left out.
        catalogue: name of the reference table whose keys are the choices ("guns").
        refers_to: name of the list in the design whose ids are the choices ("bays").
        unit: unit shown beside a plain number ("%", "parts water").
        demo: the default is an invented demo figure and the form says so.
        picture: the text is a picture (see `model.picture`), which nobody types.
    """
    extra: dict[str, Any] = {
        "x-catalogue": catalogue,
        "x-refers-to": refers_to,
        "x-unit": unit,
        "x-demo": demo,
        "x-picture": picture,
    }
    return Field(
        default=default,
        title=label,
        description=help,
        json_schema_extra={k: v for k, v in extra.items() if v},
    )


class FieldKind(StrEnum):
    """What editor a field needs."""

    TEXT = "text"
    LONG_TEXT = "long text"
    QUANTITY = "quantity"
    NUMBER = "number"
    WHOLE = "whole number"
    FLAG = "yes or no"
    CHOICE = "choice"
    DATE = "date"
    GROUP = "group"
    LIST = "list"
    TEXT_LIST = "list of texts"
    CHOICES = "several choices"
    DATUM = "value of any kind"
    PICTURE = "picture"


@dataclass(frozen=True, slots=True)
class FieldSpec:
    """A declared field as the form and the documentation see it.

    Attributes:
        name: attribute name in the model.
        label, help: words for a person.
        kind: which editor.
        dimension: of a quantity, else None.
        low, high: limits as text ("" where there is none).
        choices: (value, label) pairs of an enumeration.
        catalogue: reference table whose keys are the choices.
        refers_to: list in the design whose ids are the choices.
        unit: unit beside a plain number.
        optional: None is allowed and means "not stated".
        model: the model class of a group or of the rows of a list.
        max_length: longest text.
        demo: the default is an invented demo figure.
    """

    name: str
    label: str
    help: str
    kind: FieldKind
    dimension: Dimension | None = None
    low: str = ""
    high: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    catalogue: str = ""
    refers_to: str = ""
    unit: str = ""
    optional: bool = False
    model: type[BaseModel] | None = None
    max_length: int = 0
    demo: bool = False


def _unwrap(annotation: Any, metadata: list[Any]) -> tuple[Any, list[Any], bool]:
    """Strip Annotated and `| None`, collecting metadata."""
    optional = False
    while True:
        origin = typing.get_origin(annotation)
        if origin is Annotated:
            annotation, *more = typing.get_args(annotation)
            metadata = [*metadata, *more]
        elif origin in (typing.Union, types.UnionType):
            members = [a for a in typing.get_args(annotation) if a is not type(None)]
            optional = optional or len(members) < len(typing.get_args(annotation))
            annotation = members[0]
        else:
            return annotation, metadata, optional


def _limits(metadata: list[Any]) -> tuple[str, str, int]:
    low = high = ""
    longest = 0
    for item in metadata:
        parts = item.metadata if isinstance(item, FieldInfo) else [item]
        for part in parts:
            if isinstance(part, Measure):
                low, high = part.low, part.high
            elif isinstance(part, annotated_types.Ge | annotated_types.Gt):
                low = str(getattr(part, "ge", getattr(part, "gt", "")))
            elif isinstance(part, annotated_types.Le | annotated_types.Lt):
                high = str(getattr(part, "le", getattr(part, "lt", "")))
            elif isinstance(part, StringConstraints | annotated_types.MaxLen):
                longest = part.max_length or 0
    return low, high, longest


def _choices(kind: type[Enum]) -> tuple[tuple[str, str], ...]:
    return tuple((str(m.value), str(getattr(m, "label", m.value))) for m in kind)


def _field(name: str, info: FieldInfo) -> FieldSpec:
    annotation, metadata, optional = _unwrap(info.annotation, list(info.metadata))
    low, high, longest = _limits(metadata)
    extra = info.json_schema_extra if isinstance(info.json_schema_extra, dict) else {}
    kind = FieldKind.TEXT
    dimension: Dimension | None = None
    choices: tuple[tuple[str, str], ...] = ()
    model: type[BaseModel] | None = None
    if typing.get_origin(annotation) is tuple:
        row, row_metadata, _ = _unwrap(typing.get_args(annotation)[0], [])
        if isinstance(row, type) and issubclass(row, BaseModel):
            kind, model = FieldKind.LIST, row
        elif isinstance(row, type) and issubclass(row, Enum):
            kind, choices = FieldKind.CHOICES, _choices(row)
        else:
            kind, longest = FieldKind.TEXT_LIST, _limits(row_metadata)[2]
    elif annotation is Datum:
        kind = FieldKind.DATUM
    elif annotation is Quantity:
        kind = FieldKind.QUANTITY
        dimension = next(m.dimension for m in metadata if isinstance(m, Measure))
    elif isinstance(annotation, type) and issubclass(annotation, BaseModel):
        kind, model = FieldKind.GROUP, annotation
    elif isinstance(annotation, type) and issubclass(annotation, Enum):
        kind, choices = FieldKind.CHOICE, _choices(annotation)
    elif annotation is bool:
        kind = FieldKind.FLAG
    elif annotation is int:
        kind = FieldKind.WHOLE
    elif annotation in (float, Decimal):
        kind = FieldKind.NUMBER
    elif getattr(annotation, "__name__", "") == "date":
        kind = FieldKind.DATE
    elif extra.get("x-picture"):
        kind = FieldKind.PICTURE
    elif extra.get("x-catalogue") or extra.get("x-refers-to"):
        kind = FieldKind.CHOICE
    elif longest > 500:
        kind = FieldKind.LONG_TEXT
    return FieldSpec(
        name=name,
        label=info.title or name.replace("_", " ").capitalize(),
        help=info.description or "",
        kind=kind,
        dimension=dimension,
        low=low,
        high=high,
        choices=choices,
        catalogue=str(extra.get("x-catalogue", "")),
        refers_to=str(extra.get("x-refers-to", "")),
        unit=str(extra.get("x-unit", "")),
        optional=optional,
        model=model,
        max_length=longest,
        demo=bool(extra.get("x-demo", False)),
    )


@lru_cache(maxsize=256)
def fields_of(model: type[BaseModel]) -> tuple[FieldSpec, ...]:
    """The declared fields of a model in the order of their declaration."""
    return tuple(_field(name, info) for name, info in model.model_fields.items())
