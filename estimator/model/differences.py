"""What is different between two parts of a job, place by place, in words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import Enum
from typing import Any, Final

from pydantic import BaseModel

from estimator.locales import day_text, number_text
from estimator.model.spec import FieldKind, FieldSpec, fields_of
from estimator.units import Quantity, UnitSystem, told_beside

__all__ = ["Difference", "RowNamer", "differences", "name_of_row", "plain_value"]

_KEYS: Final = ("id", "code", "service", "product", "segment", "key")
Namer = Callable[[FieldSpec, Any, Any], str]
"""Gives a value of a field in words, told beside another one."""

RowNamer = Callable[[FieldSpec, str, BaseModel], str]
"""Gives the name of a row of a list, of the list's field, what tells the row apart and the row; "" if it has none."""


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that moved.

    Attributes:
        place: dotted path in the newer part, or in the older one for what was removed.
        label: what a person calls the place ("Drops “Bay 1 left, Wax”, Gun").
        before, after: the values in words; "" where it was not there.
    """

    place: str
    label: str
    before: str
    after: str

    @property
    def words(self) -> str:
        """A sentence."""
        if not self.before:
            return f"{self.label}: added{f', {self.after}' if self.after != 'added' else ''}."
        if not self.after:
            return f"{self.label}: removed."
        return f"{self.label}: {self.before} → {self.after}."

    @property
    def placed_words(self) -> str:
        """The sentence with whose name or address it is, which its label alone does not tell."""
        block = self.place.partition(".")[0]
        return f"{block.capitalize()}, {self.words}" if block in ("customer", "company") else self.words


def plain_value(
    field: FieldSpec,
    value: Any,
    beside: Any = None,
    *,
    locale: str = "en_US",
    system: UnitSystem = UnitSystem.METRIC,
) -> str:
    """A value in words: labels of choices, yes and no, days and numbers by the locale; quantities in its system.

    Args:
        beside: what it is told beside; two quantities that differ never read alike.
    """
    if value is None:
        return "not stated"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Enum):
        return str(getattr(value, "label", value.value))
    if isinstance(value, Decimal | float | int):
        exact = Decimal(str(value)).normalize()
        exponent = exact.as_tuple().exponent
        text = number_text(exact, max(0, -exponent) if isinstance(exponent, int) else 0, locale)
        return f"{text}{'' if field.unit.startswith(':') else ' '}{field.unit}".strip()
    if isinstance(value, date):
        return day_text(value, locale)
    if isinstance(value, Quantity):
        return told_beside(value, beside if isinstance(beside, Quantity) else None, system, locale)
    items = value if isinstance(value, tuple) else (value,)
    text = " / ".join(str(getattr(item, "label", item)) for item in items)
    return " ".join(text.split()) or "empty"


def name_of_row(row: BaseModel) -> str:
    """The name that a row carries itself, else what it is for; "" where it carries neither. An id is no name."""
    for attribute in ("name", "description", "section", "kind"):
        value = getattr(row, attribute, None)
        text = str(getattr(value, "label", value if isinstance(value, str) else "")).split()
        if text:
            return " ".join(text)
    return ""


def _by_itself(_field: FieldSpec, _key: str, row: BaseModel) -> str:
    return name_of_row(row)


def differences(
    before: BaseModel,
    after: BaseModel,
    *,
    namer: Namer = plain_value,
    rows: RowNamer = _by_itself,
    skip: frozenset[str] = frozenset(),
) -> tuple[Difference, ...]:
    """Every field that differs, in the order of their declaration.

    Rows of lists are matched by their id, code or service, else by their position.

    Args:
        before, after: of the same model.
        namer: words for a value, told beside the other one.
        rows: names of rows; one without is told by its position.
        skip: dotted places that are left out.
    """
    found: list[Difference] = []
    _walk(before, after, (), "", found, namer, rows, skip)
    return tuple(found)


def _label(above: str, field: FieldSpec) -> str:
    return f"{above}, {field.label}" if above else field.label


def _walk(
    before: BaseModel,
    after: BaseModel,
    path: tuple[str, ...],
    above: str,
    found: list[Difference],
    namer: Namer,
    rows: RowNamer,
    skip: frozenset[str],
) -> None:
    for field in fields_of(type(after)):
        old, new = getattr(before, field.name), getattr(after, field.name)
        here = (*path, field.name)
        if old is new or old == new or ".".join(here) in skip:
            continue
        label = _label(above, field)
        if field.kind is FieldKind.PICTURE:
            now = "none" if not new else "another picture" if old else "a picture"
            found.append(Difference(".".join(here), label, "a picture" if old else "none", now))
        elif field.kind is FieldKind.TEXT_LIST:
            found += _lines(old, new, ".".join(here), label)
        elif field.kind is FieldKind.LIST:
            _rows(old, new, here, label, field, found, namer, rows, skip)
        elif field.kind is FieldKind.GROUP and isinstance(old, BaseModel) and isinstance(new, BaseModel):
            # The group's own name says nothing of a bay's side or of the terms that its fields do not.
            _walk(old, new, here, label if above else "", found, namer, rows, skip)
        elif field.kind is FieldKind.GROUP:
            place = ".".join(here)
            found.append(
                Difference(place, label, "" if old is None else "there", "" if new is None else "added")
            )
        else:
            found.append(Difference(".".join(here), label, namer(field, old, new), namer(field, new, old)))


def _lines(before: tuple[str, ...], after: tuple[str, ...], place: str, label: str) -> Iterator[Difference]:
    """Lines of a text that a contract may rest on: each that came or went, whole."""
    old, new = Counter(before), Counter(after)
    for line in (old - new).elements():
        yield Difference(place, f"{label}, “{' '.join(line.split())}”", "there", "")
    for line in (new - old).elements():
        yield Difference(place, f"{label}, “{' '.join(line.split())}”", "", "added")
    if old == new:
        yield Difference(place, f"{label}, order", "as it was", "changed")


def _key(row: BaseModel, position: int) -> str:
    for name in _KEYS:
        value = getattr(row, name, None)
        if isinstance(value, str) and value:
            return value
    return f"{position + 1}"


def _keyed(rows: tuple[BaseModel, ...]) -> dict[str, tuple[int, BaseModel]]:
    made: dict[str, tuple[int, BaseModel]] = {}
    for i, row in enumerate(rows):
        key = _key(row, i)
        made[key if key not in made else f"{key} ({i + 1})"] = (i, row)
    return made


def _rows(
    before: tuple[BaseModel, ...],
    after: tuple[BaseModel, ...],
    path: tuple[str, ...],
    label: str,
    field: FieldSpec,
    found: list[Difference],
    namer: Namer,
    rows: RowNamer,
    skip: frozenset[str],
) -> None:
    old, new = _keyed(before), _keyed(after)

    def called(key: str, position: int, row: BaseModel) -> str:
        name = rows(field, key, row)
        return f"{label} “{name}”" if name else f"{label} {position + 1}"

    for key, (i, row) in old.items():
        if key not in new:
            found.append(Difference(".".join((*path, str(i))), called(key, i, row), "there", ""))
    for key, (i, row) in new.items():
        here = (*path, str(i))
        if key not in old:
            found.append(Difference(".".join(here), called(key, i, row), "", "added"))
        elif row != old[key][1]:
            _walk(old[key][1], row, here, called(key, i, row), found, namer, rows, skip)
    kept_old = [key for key in old if key in new]
    kept_new = [key for key in new if key in old]
    if kept_old != kept_new:
        found.append(Difference(".".join(path), f"{label}, order", "as it was", "changed"))
