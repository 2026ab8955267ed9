"""What a typed text means for a field, and the texts that are not allowed yet.

A text that a value cannot take is kept with its sentence, so that nothing typed is lost, and is tried again together
with its neighbours: low, likely and high can be raised one after the other.
"""

from __future__ import annotations

import re
import types
import typing
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import Enum
from typing import Annotated, Any, TypeVar

from pydantic import BaseModel, ValidationError

from estimator.acts.row_titles import place_title
from estimator.locales import day_read, day_short, decimal_mark
from estimator.model.edit import EditError, value_at, with_value
from estimator.model.finding import Finding, Phrase, Severity, facts, plain
from estimator.model.problems import problems_of, some_choices
from estimator.model.spec import FieldKind, FieldSpec, fields_of
from estimator.units import Quantity, for_file, written_in

__all__ = [
    "Kept",
    "Path",
    "Pending",
    "Put",
    "Typed",
    "kept_findings",
    "kept_moved",
    "kept_outside",
    "put",
    "reason_of",
    "text_of",
    "value_from",
    "with_refused",
]

M = TypeVar("M", bound=BaseModel)

Path = tuple[str | int, ...]

Put = Callable[[M, Path, Any], M]
"""Gives the whole with one value changed, and what must follow it."""

_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)")
_LINE_BREAK = "⏎"
_FLAGS = {"yes": True, "true": True, "no": False, "false": False}
_SHORT = 28


@dataclass(frozen=True, slots=True)
class Pending:
    """A text that was typed and is not allowed, with the reason.

    Attributes:
        raw: what was typed.
        reason: why it is not allowed; words are made last.
    """

    raw: str | bool
    reason: Phrase

    @property
    def message(self) -> str:
        """The reason without a job."""
        return plain(self.reason)


Kept = Mapping[Path, Pending]
"""What is kept back, by the path of its field."""


def _base_type(annotation: Any) -> Any:
    """The plain type under Annotated and `| None`."""
    while typing.get_origin(annotation) in (Annotated, typing.Union, types.UnionType):
        annotation = next(a for a in typing.get_args(annotation) if a is not type(None))
    return annotation


def _number_text(field: FieldSpec, text: str, locale: str) -> str:
    if not _NUMBER.fullmatch(text.replace(decimal_mark(locale), ".", 1)):
        example = "3" if field.kind is FieldKind.WHOLE else f"3{decimal_mark(locale)}5"
        raise ValueError(f"{field.label}: “{text[:40]}” is not a number; write one such as {example}.")
    if decimal_mark(locale) != "," and re.search(r"\d,\d{3}$", text):
        raise ValueError(
            f"{field.label}: “{text[:40]}” can be read two ways; write the thousands without a comma or the "
            "decimals with a point."
        )
    return text.replace(decimal_mark(locale), ".").replace(",", ".")


def _one_reading(field: FieldSpec, raw: str, locale: str) -> None:
    """Refuse "1.500" where the locale parts thousands with a point: it would be kept as one and a half.

    A quantity "1,500 m" is refused where the comma may part thousands.
    """
    numeric = field.dimension is not None or field.kind in (FieldKind.NUMBER, FieldKind.WHOLE)
    if not numeric or decimal_mark(locale) != ",":
        return
    if re.match(r"\s*[+-]?[1-9]\d{0,2}\.\d{3}(?!\d)", raw):
        raise ValueError(
            f"{field.label}: “{raw.strip()[:40]}” can be read two ways; write the thousands without a point or the "
            "decimals with a comma."
        )


def value_from(model: type[BaseModel], field: FieldSpec, raw: str | bool, locale: str = "en_US") -> Any:
    """What a typed text or a chosen entry means for a field; limits are checked later, by the model.

    Raises:
        ValueError: the text is not of the field's kind; the message is a sentence for a person.
    """
    if isinstance(raw, bool):
        return raw
    _one_reading(field, raw, locale)
    if field.kind is FieldKind.TEXT_LIST:
        return tuple(line.replace(_LINE_BREAK, "\n") for line in raw.split("\n") if line.strip())
    if field.kind in (FieldKind.TEXT, FieldKind.LONG_TEXT):
        return raw
    if field.kind is FieldKind.PICTURE:
        if raw.strip():
            raise ValueError(f"{field.label}: a picture is taken from its file and not typed.")
        return ""
    if field.kind is FieldKind.CHOICES:
        return _several(model, field, raw)
    text = raw.strip()
    if not text and field.optional:
        return None
    if field.dimension is not None:
        return for_file(text, locale)
    if field.kind is FieldKind.FLAG:
        if text.casefold() not in _FLAGS:
            raise ValueError(f"{field.label}: “{text[:40]}” is neither yes nor no.")
        return _FLAGS[text.casefold()]
    if field.kind in (FieldKind.NUMBER, FieldKind.WHOLE):
        text = _number_text(field, text, locale)
    elif field.kind not in (FieldKind.DATE, FieldKind.CHOICE):
        return text
    base = _base_type(model.model_fields[field.name].annotation)
    if base is date:
        day = day_read(text, locale)
        if day is None:
            raise ValueError(
                f"{field.label}: “{text[:40]}” is not a date; write one such as 2027-03-31 or "
                f"{day_short(date(2027, 3, 31), locale)}."
            )
        return day
    if base is int:
        try:
            return int(text)
        except ValueError:
            raise ValueError(f"{field.label}: “{text[:40]}” must be a whole number.") from None
    if base is float:
        return float(text)
    if base is Decimal:
        return Decimal(text)
    if isinstance(base, type) and issubclass(base, Enum):
        wanted = text.casefold()
        for key, label in field.choices:
            if wanted in (key.casefold(), label.casefold()):
                return base(key)
        known = some_choices([key for key, _ in field.choices])
        raise ValueError(f"{field.label}: “{text[:40]}” is not one of the choices; they are {known}.")
    return text


def _several(model: type[BaseModel], field: FieldSpec, raw: str) -> tuple[Any, ...]:
    """The chosen ones, in the order of the choices: keys or words parted by commas, semicolons or lines."""
    kind = typing.get_args(_base_type(model.model_fields[field.name].annotation))[0]
    by_word = {name.casefold(): key for key, name in field.choices} | {key: key for key, _ in field.choices}
    # A name may hold a comma itself, so what is no choice as it stands is parted.
    chosen: set[str] = set()
    for part in (raw,) if raw.strip().casefold() in by_word else re.split(r"[,;\n]", raw):
        word = part.strip().casefold()
        if not word:
            continue
        if word not in by_word:
            known = ", ".join(key for key, _ in field.choices)
            raise ValueError(
                f"{field.label}: “{part.strip()[:40]}” is not one of the choices; they are {known}."
            )
        chosen.add(by_word[word])
    return tuple(kind(key) for key, _ in field.choices if key in chosen)


def text_of(field: FieldSpec, value: Any, locale: str = "en_US") -> str:
    """A value as the text that a person of a locale would type for it; "" for what is not stated."""
    if value is None:
        return ""
    if field.kind is FieldKind.PICTURE:
        return "a picture" if value else ""
    if field.kind is FieldKind.TEXT_LIST:
        return "\n".join(str(item).replace("\n", _LINE_BREAK) for item in value)
    if field.kind is FieldKind.CHOICES:
        return ", ".join(item.value for item in value)
    if field.kind is FieldKind.NUMBER:
        text = f"{value:.10g}" if isinstance(value, float) else f"{value:f}"
        return text.replace(".", decimal_mark(locale))
    if isinstance(value, Quantity):
        return written_in(value, locale)
    if isinstance(value, date):
        return day_short(value, locale)
    return str(getattr(value, "value", value))


@dataclass(frozen=True, slots=True)
class Typed:
    """What became of a typed text.

    Attributes:
        whole: with the value where it is allowed, else as it was.
        kept: what is kept back from now on.
        name: what undo calls the act; "" where the text was refused.
        refused: why it is not allowed, "" where it is.
    """

    whole: BaseModel
    kept: Kept
    name: str
    refused: str = ""


def put(
    whole: M,
    kept: Kept,
    model: type[BaseModel],
    field: FieldSpec,
    parents: Sequence[Path],
    raw: str | bool,
    *,
    place: Put[M] = with_value,
    choices: Iterable[tuple[str, str]] = (),
    locale: str = "en_US",
) -> Typed:
    """Set one field of every parent, as one act, and with it what was kept back beside it where that is now allowed.

    Args:
        whole: what is edited.
        kept: texts kept back so far.
        model: class of the parents.
        field: which field.
        parents: paths of the values that have the field.
        raw: the text typed, the key chosen, or the state of a box.
        place: puts a value into the whole.
        choices: (key, name) pairs of a choice field, for the name of the act.
        locale: by which the person writes numbers.
    """
    paths = [(*parent, field.name) for parent in parents]
    try:
        value = value_from(model, field, raw, locale)
        new, used = _with_neighbours(whole, kept, parents, field.name, value, place, locale)
    except EditError as error:
        reason = reason_of(error)
    except ValueError as error:
        reason = Phrase(str(error))
    else:
        gone = {*paths, *used}
        left = {path: item for path, item in kept.items() if path not in gone}
        return Typed(new, left, _name(whole, field, paths, value, choices, locale))
    return Typed(whole, with_refused(kept, paths, raw, reason), "", plain(reason))


def reason_of(error: EditError) -> Phrase:
    """Why an edit is not allowed: the first of its problems."""
    first = error.findings[0]
    return Phrase(first.sentence, first.facts)


def with_refused(kept: Kept, paths: Iterable[Path], raw: str | bool, reason: Phrase) -> Kept:
    """What is kept back once a text was refused at these fields.

    Args:
        reason: why it is not allowed.
    """
    return {**kept, **dict.fromkeys(paths, Pending(raw, reason))}


def _name(
    whole: BaseModel,
    field: FieldSpec,
    paths: Sequence[Path],
    value: Any,
    choices: Iterable[tuple[str, str]],
    locale: str,
) -> str:
    text = " ".join(text_of(field, value, locale).split()) if value is not None else "not stated"
    if field.kind is FieldKind.FLAG:
        text = "yes" if value else "no"
    elif field.kind is FieldKind.CHOICE:
        text = dict(choices).get(text, text)
    elif field.kind is FieldKind.CHOICES:
        text = ", ".join(item.label for item in value)
    short = text if len(text) <= _SHORT else text[: _SHORT - 1] + "…"
    where = f"{field.label} of {len(paths)} rows" if len(paths) > 1 else place_title(whole, paths[0])
    return f"{where}: {short or 'empty'}"


def _with_neighbours(
    whole: M, kept: Kept, parents: Sequence[Path], name: str, value: Any, place: Put[M], locale: str
) -> tuple[M, list[Path]]:
    used: list[Path] = []
    for parent in parents:
        beside = {
            str(p[-1]): p for p in kept if p[:-1] == parent and p[-1] != name and isinstance(p[-1], str)
        }
        try:
            together = _together(whole, kept, parent, name, value, beside, place, locale)
        except (EditError, ValueError):
            whole = place(whole, (*parent, name), value)
        else:
            whole = together
            used += beside.values()
    return whole, used


def _together(
    whole: M,
    kept: Kept,
    parent: Path,
    name: str,
    value: Any,
    beside: dict[str, Path],
    place: Put[M],
    locale: str,
) -> M:
    if not beside:
        return place(whole, (*parent, name), value)
    old = value_at(whole, parent)
    model: type[BaseModel] = type(old)
    fields: dict[str, Any] = {f: getattr(old, f) for f in model.model_fields}
    fields[name] = value
    for spec in fields_of(model):
        if spec.name in beside:
            fields[spec.name] = value_from(model, spec, kept[beside[spec.name]].raw, locale)
    try:
        new = model(**fields)
    except ValidationError as error:
        raise EditError(problems_of(error, type(whole), parent)) from None
    return place(whole, parent, new)


def kept_outside(kept: Kept, path: Path) -> Kept:
    """What is kept back, without what is at a path and below it."""
    return {p: item for p, item in kept.items() if p[: len(path)] != path}


def kept_moved(kept: Kept, path: Path, goes_to: Callable[[int], int | None]) -> Kept:
    """What is kept back after the rows of the list at a path have moved.

    Args:
        goes_to: new position of each old row, None for one that is gone.
    """
    depth = len(path)
    moved: dict[Path, Pending] = {}
    for place, item in kept.items():
        step = place[depth] if place[:depth] == path and len(place) > depth else None
        if isinstance(step, int):
            to = goes_to(step)
            if to is not None:
                moved[(*path, to, *place[depth + 1 :])] = item
        else:
            moved[place] = item
    return moved


def kept_findings(kept: Kept) -> tuple[Finding, ...]:
    """What was typed and is not allowed, as findings; one text for a field of many rows is told once."""
    places: dict[tuple[object, ...], list[Path]] = {}
    for path, item in kept.items():
        field = tuple("" if isinstance(step, int) else step for step in path)
        places.setdefault((field, item.raw), []).append(path)
    return tuple(
        Finding(
            Severity.ERROR,
            ".".join(map(str, paths[0])),
            "not-taken",
            f"Not taken over{f' in {len(paths)} rows' if len(paths) > 1 else ''}: {{reason}}",
            facts=facts(reason=kept[paths[0]].reason),
        )
        for paths in places.values()
    )
