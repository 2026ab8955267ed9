"""Validation errors as findings: a dotted place, the field's own label, a sentence."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from functools import lru_cache
from typing import Any, Final, NamedTuple

from pydantic import BaseModel, ValidationError

from estimator.model.finding import (
    Amount,
    AsTyped,
    Fact,
    Facts,
    FieldEnd,
    Finding,
    Number,
    Severity,
    Units,
    facts,
)
from estimator.model.spec import FieldKind, FieldSpec, fields_of
from estimator.units import Dimension, parse

__all__ = [
    "MISSING",
    "Misfit",
    "label_of",
    "misfits_of",
    "missing_fields",
    "place_of",
    "problems_of",
    "some_choices",
]

MISSING: Final = "missing"
"""Rule of a declared field that is not there."""

Path = tuple[str | int, ...]

_SENTENCES = {
    "missing": "This is missing and must be given.",
    "extra_forbidden": "This key is not known here; remove it or correct its name.",
    "string_type": "This must be text.",
    "bool_type": "This must be true or false.",
    "int_type": "This must be a whole number.",
    "int_from_float": "This must be a whole number.",
    "float_type": "This must be a number.",
    "finite_number": "This must be a finite number.",
    "decimal_type": "This must be a number.",
    "decimal_parsing": "This must be a number.",
    "decimal_max_digits": "This number has too many digits; {max_digits} at most.",
    "decimal_max_places": "This number has too many decimals; {decimal_places} at most.",
    "decimal_whole_digits": "This number is too large.",
    "int_parsing_size": "This number is too large.",
    "string_unicode": "This text holds a character that is not valid; remove it.",
    "tuple_type": "This must be a list.",
    "string_too_long": "This text is too long; {max_length} characters at most.",
    "string_too_short": "This must not be empty.",
    "enum": "This must be one of {expected}.",
    "too_long": "There are too many; {max_length} at most.",
    "date_type": "This must be a date such as 2027-03-31.",
    "date_from_datetime_parsing": "This must be a date such as 2027-03-31.",
    "date_parsing": "This must be a date such as 2027-03-31.",
    "model_type": "This must be a group of fields.",
    "model_attributes_type": "This must be a group of fields.",
}
_MOST_CHOICES: Final = 40
_PATTERNS = {
    r"^[A-Za-z0-9][A-Za-z0-9_-]*$": "Only letters, digits, hyphens and underscores are allowed here, "
    "a letter or digit first.",
    r"^[A-Z][A-Z0-9-]*$": "Only capital letters, digits and hyphens are allowed here, "
    "a capital letter first.",
    r"^[A-Z]{1,2}$": "This must be one or two capital letters.",
    r"^[A-Za-z]{2,3}(_[A-Za-z0-9]+)*$": "This must be a locale, such as en_US or de_DE.",
}
_LONGEST_STEP = 40
_MOST_PLACES = 6


def _step(step: str | int) -> str:
    """A step of a path as it is told; a key of a foreign file may be of any length and any characters."""
    text = str(step)
    shown = "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in text[:_LONGEST_STEP])
    return shown + ("…" if len(text) > _LONGEST_STEP else "")


def place_of(path: Sequence[str | int]) -> str:
    """A path, dotted; steps of a foreign file are shortened and printable."""
    return ".".join(_step(step) for step in path)


def label_of(model: type[BaseModel], path: Sequence[str | int]) -> str:
    """Labels along a path: ("design", "drops", 2, "gun") -> "Drops 3, Gun".

    Args:
        model: where the path starts.
        path: attribute names and list positions.
    """
    words: list[str] = []
    current: type[BaseModel] | None = model
    for step in path:
        if isinstance(step, int):
            if words:
                words[-1] += f" {step + 1}"
            continue
        found = next((f for f in fields_of(current) if f.name == step), None) if current else None
        words.append(found.label if found else _step(step))
        current = found.model if found else None
    return ", ".join(words[-2:])


def _limits(rule: str, known: Mapping[str, Any]) -> tuple[str, Facts] | None:
    """What is outside the limits of its field, as facts: a person reads it in units and a number format of a job."""
    if rule == "quantity_range":
        dimension = Dimension(known["dimension"])
        low, high = (FieldEnd(parse(known[end], dimension), end == "low") for end in ("low", "high"))
        return "“{text}” is outside {low} to {high}.", facts(
            text=AsTyped(str(known["text"])), low=low, high=high
        )
    if rule == "quantity" and "sentence" in known:
        dimension = Dimension(known["dimension"])
        words: dict[str, Fact] = {name: str(known[name]) for name in ("measure", "unit") if name in known}
        words["text"] = AsTyped(str(known["text"]))
        if "units" in known:
            words["units"] = Units(dimension)
        if "example" in known:
            # A round figure of one system is told as a whole one of the other.
            words["example"] = Amount(parse(known["example"], dimension).si, dimension, 0)
        return str(known["sentence"]), facts(**words)
    if "facts" in known:
        return str(known["sentence"]), known["facts"]
    for name, told in (("ge", "least"), ("le", "most")):
        if rule in ("greater_than_equal", "less_than_equal") and name in known:
            end: Fact = Number(Decimal(str(known[name])), _MOST_PLACES)
            return f"This must be at {told} {{end}}.", facts(end=end)
    return None


def some_choices(choices: Sequence[str]) -> str:
    """Choices in a sentence: of a long list the first ones and how many more there are.

    >>> some_choices(["US", "CA"]), some_choices([str(n) for n in range(249)])
    ('US, CA', '0, 1, 2 and 246 more')
    """
    if len(choices) <= _MOST_CHOICES:
        return ", ".join(choices)
    return f"{', '.join(choices[:3])} and {len(choices) - 3} more"


def _told(context: Mapping[str, Any]) -> Mapping[str, Any]:
    """What a sentence of validation speaks of, without the whole of a long list of choices."""
    expected = str(context.get("expected", "")).split(", ")
    return context if len(expected) <= _MOST_CHOICES else {**context, "expected": some_choices(expected)}


def problems_of(
    error: ValidationError,
    model: type[BaseModel],
    above: tuple[str | int, ...] = (),
    most: int | None = None,
) -> tuple[Finding, ...]:
    """Each validation error as a finding of severity error.

    Args:
        error: from validating `model`, or the part of it at `above`.
        model: the whole model, which places are told from.
        above: path from the whole to the part that was validated.
        most: only the first so many; all if left out.
    """
    found = []
    for item in error.errors(include_url=False)[:most]:
        path = (*above, *item["loc"])
        if limits := _limits(item["type"], item.get("ctx", {})):
            sentence, known = limits
            known = (("label", label_of(model, path)), *known)
            found.append(
                Finding(Severity.ERROR, place_of(path), item["type"], f"{{label}}: {sentence}", facts=known)
            )
            continue
        template = _SENTENCES.get(item["type"])
        if item["type"] == "string_pattern_mismatch":
            template = (
                _PATTERNS.get(item.get("ctx", {}).get("pattern", "")) or "This is not written as it must be."
            )
            template = template.replace("{", "{{").replace("}", "}}")
        sentence = template.format(**_told(item.get("ctx", {}))) if template else item["msg"]
        if not sentence.endswith((".", "!", "?")):
            sentence += "."
        found.append(
            Finding(
                Severity.ERROR,
                place_of(path),
                item["type"],
                f"{label_of(model, path)}: {sentence}",
            )
        )
    return tuple(found)


class Misfit(NamedTuple):
    """Where the keys and lists of plain data do not fit the declared fields.

    Attributes:
        path: of the field, key or row.
        rule: as validation would call it.
        sentence: what would be right.
    """

    path: Path
    rule: str
    sentence: str


class _Shape(NamedTuple):
    """What a model declares: its fields in order, their names, and those with fields below or a limit of rows."""

    fields: tuple[FieldSpec, ...]
    names: frozenset[str]
    below: tuple[FieldSpec, ...]


@lru_cache(maxsize=256)
def _shape(model: type[BaseModel]) -> _Shape:
    fields = fields_of(model)
    below = tuple(f for f in fields if f.kind in (FieldKind.GROUP, FieldKind.LIST))
    return _Shape(fields, frozenset(f.name for f in fields), below)


def misfits_of(model: type[BaseModel], data: Mapping[str, Any], above: Path = ()) -> Iterator[Misfit]:
    """Declared fields that plain data does not hold, one with a default too; keys nobody declared, too many rows, and
    rows that are no groups. Values are not looked at."""
    shape = _shape(model)
    if data.keys() != shape.names:
        for field in shape.fields:
            if field.name not in data:
                yield Misfit((*above, field.name), MISSING, f"“{field.name}” is missing and must be given.")
        for key in data:
            if key not in shape.names:
                yield Misfit((*above, key), "extra_forbidden", _SENTENCES["extra_forbidden"])
    for field in shape.below:
        value = data.get(field.name)
        if isinstance(value, list):
            if field.kind is FieldKind.LIST:
                yield from _misfits_of_rows(field, value, (*above, field.name))
        elif isinstance(value, dict) and field.model is not None and field.kind is FieldKind.GROUP:
            yield from misfits_of(field.model, value, (*above, field.name))


def _misfits_of_rows(field: FieldSpec, rows: list[Any], path: Path) -> Iterator[Misfit]:
    if 0 < field.max_length < len(rows):
        yield Misfit(path, "too_long", f"There are {len(rows)}; {field.max_length} at most.")
    if field.model is None:
        return
    shape = _shape(field.model)
    for i, row in enumerate(rows):
        if not isinstance(row, dict):
            yield Misfit((*path, i), "model_type", _SENTENCES["model_type"])
        elif shape.below or row.keys() != shape.names:
            yield from misfits_of(field.model, row, (*path, i))


def missing_fields(model: type[BaseModel], data: Mapping[str, Any], above: Path = ()) -> Iterator[Path]:
    """Paths of the declared fields that plain data does not hold; one with a default is missing too."""
    return (misfit.path for misfit in misfits_of(model, data, above) if misfit.rule == MISSING)
