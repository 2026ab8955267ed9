"""Edits as data: what a person does to fields and rows of a job or a price book, several in one go or none at all.

An edit is a group with one verb:

    {"set": PLACE, "to": TEXT}                          a field, typed as in the form; a list of places sets it in all;
                                                        a group of fields takes a group of texts
    {"add": LIST, "values": {FIELD: TEXT}, "at": N}     a new row, at the end if no position is given
    {"duplicate": ROW, "values": {FIELD: TEXT}}         a copy right after it
    {"remove": ROW}                                     a list of rows of one list goes together
    {"move": ROW, "to": N}                              to a position from 0
    {"rename": ROW, "to": ID}                           what refers to it follows

Places are those of `places.place_at`. A number, true, false or null stands for its text; null for “not stated”.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from pydantic import BaseModel, ValidationError

from estimator.acts.places import Place, PlaceError, key_field, place_at, written
from estimator.acts.rows import (
    NothingToReferTo,
    RowEdit,
    added,
    choices,
    copied,
    design_at,
    dropped,
    shifted,
    with_field,
)
from estimator.acts.typed import Kept, Path, kept_moved, put, value_from
from estimator.model.edit import EditError, value_at, with_value
from estimator.model.finding import Facts, Finding, Phrase, Severity, facts
from estimator.model.job import Job
from estimator.model.problems import problems_of
from estimator.model.spec import FieldKind, FieldSpec, fields_of
from estimator.reference.catalogue import catalogue
from estimator.reference.own_parts import with_makers

__all__ = ["VERBS", "Edit", "Edited", "edited", "edits_from", "texts_into"]

VERBS: Final = {
    "set": ("to",),
    "add": ("values", "at"),
    "duplicate": ("values",),
    "remove": (),
    "move": ("to",),
    "rename": ("to",),
}
"""What an edit can do, with the keys beside the verb."""

_MOST_EDITS: Final = 20_000
_MOST_CHOICES: Final = 12
_LONGEST: Final = 60


@dataclass(frozen=True, slots=True)
class Edit:
    """One edit.

    Attributes:
        verb: one of `VERBS`.
        places: where; one, or several for "set" and "remove".
        to: the text or group of texts, the position, or the new id; None where the verb has none.
        values: fields of a new row.
    """

    verb: str
    places: tuple[str, ...]
    to: Any = None
    values: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Edited:
    """What edits made.

    Attributes:
        whole: afterwards.
        names: what undo calls each act.
        places: for each edit, the place of the row or field that it was about.
    """

    whole: BaseModel
    names: tuple[str, ...]
    places: tuple[str, ...]


def _refused(place: str, message: str, rule: str = "edit") -> EditError:
    return EditError((Finding(Severity.ERROR, place, rule, message),))


def edits_from(data: object) -> tuple[Edit, ...]:
    """Edits as they stand in JSON: one, or a list of them.

    Raises:
        EditError: it is none; the finding's place counts the edits from 0, such as "edits.2".
    """
    items = data if isinstance(data, list) else [data]
    if len(items) > _MOST_EDITS:
        raise _refused("edits", f"Edits: {len(items)} are too many; at most {_MOST_EDITS} in one go.")
    return tuple(_edit(item, f"edits.{i}") for i, item in enumerate(items))


def _edit(item: object, where: str) -> Edit:
    example = '{"set": "customer.name", "to": "Demo customer"}'
    if not isinstance(item, dict):
        raise _refused(where, f"{where}: an edit is a group such as {example}.")
    verbs = [verb for verb in VERBS if verb in item]
    if len(verbs) != 1:
        raise _refused(where, f"{where}: an edit has one of the keys {', '.join(VERBS)}, such as {example}.")
    verb = verbs[0]
    allowed = (verb, *VERBS[verb])
    for key in item:
        if key not in allowed:
            raise _refused(
                where, f"{where}: “{str(key)[:40]}” is no key of “{verb}”; its keys are {', '.join(allowed)}."
            )
    several = verb in ("set", "remove") and isinstance(item[verb], list)
    places = item[verb] if several else [item[verb]]
    if not places or not all(isinstance(place, str) for place in places):
        raise _refused(where, f"{where}: “{verb}” takes a place such as design.drops.1-l-foam.")
    values = item.get("values", {})
    if not isinstance(values, dict):
        raise _refused(where, f"{where}: “values” is a group of fields and their texts.")
    if "to" in VERBS[verb] and "to" not in item:
        raise _refused(where, f"{where}: “{verb}” needs “to”.")
    return Edit(verb, tuple(places), item.get("at") if verb == "add" else item.get("to"), values)


def edited(whole: BaseModel, edits: Sequence[Edit]) -> Edited:
    """After all edits, in their order; a text that is not allowed alone may be with a later one, as in the form.

    Args:
        whole: a job, a price book, or any other declared value.
        edits: what to do.

    Raises:
        EditError: one of them is not allowed; nothing was changed.
    """
    desk = _Desk(whole)
    for number, edit in enumerate(edits):
        try:
            desk.do(edit)
        except PlaceError as error:
            raise _refused(edit.places[0][:_LONGEST], _told(edits, number, str(error)), "place") from None
        except NothingToReferTo as error:
            place = edit.places[0]
            raise _refused(place, _told(edits, number, f"{place}: {error}"), "refers-to") from None
        except EditError as error:
            raise EditError(
                tuple(
                    Finding(f.severity, f.place, f.rule, "{edit}{reason}", facts=_facts(edits, number, f))
                    for f in error.findings
                )
            ) from None
    if desk.kept:
        raise EditError(
            tuple(
                Finding(
                    Severity.ERROR,
                    written(desk.whole, path),
                    "not-taken",
                    "{reason}",
                    facts=facts(reason=item.reason),
                )
                for path, item in desk.kept.items()
            )
        )
    return Edited(desk.whole, tuple(desk.names), tuple(desk.places))


def _facts(edits: Sequence[Edit], number: int, found: Finding) -> Facts:
    """Which edit it was, and its reason, which is put into words last."""
    return facts(edit=_told(edits, number, ""), reason=Phrase(found.sentence, found.facts))


def _told(edits: Sequence[Edit], number: int, message: str) -> str:
    return message if len(edits) == 1 else f"edits.{number}: {message}"


def texts_into(whole: BaseModel, texts: Mapping[str, Any]) -> BaseModel:
    """A declared value with typed texts put into its fields.

    Args:
        whole: what the fields not named keep.
        texts: by field; a group for a group of fields.

    Raises:
        EditError: a field that is not there, or a text that is not allowed; each is told.
    """
    return edited(whole, [Edit("set", (name,), text) for name, text in texts.items()]).whole


class _Desk:
    """The value while edits are done to it, with what is kept back meanwhile."""

    def __init__(self, whole: BaseModel) -> None:
        self.whole = whole
        self.kept: Kept = {}
        self.names: list[str] = []
        self.places: list[str] = []

    def do(self, edit: Edit) -> None:
        """One edit.

        Raises:
            PlaceError, NothingToReferTo, EditError: it is not allowed.
        """
        places = [place_at(self.whole, text) for text in edit.places]
        for text, place in zip(edit.places, places, strict=True):
            if isinstance(self.whole, Job) and (why := Job.acted.get(str(place.path[0]))):
                raise PlaceError(f"{text}: {why}")
        if edit.verb == "set":
            self._set(places, edit.to)
        elif edit.verb == "add":
            self._add(places[0], edit)
        else:
            for text, place in zip(edit.places, places, strict=True):
                if not place.is_row:
                    raise PlaceError(f"{text}: this is a field; “{edit.verb}” takes a row of a list.")
            self._rows(edit, places)

    # Fields.

    def _set(self, places: Sequence[Place], raw: object) -> None:
        first = places[0]
        names = {place.field.name if place.field else "" for place in places}
        if len(names) > 1 or any(place.model is not first.model for place in places):
            raise PlaceError("Only the same field of several rows can be set together.")
        if first.field is None or first.field.kind is FieldKind.GROUP:
            self._set_parts(places, raw)
        elif first.field.kind is FieldKind.LIST:
            value = _value(self.whole, first.path, first.field, first.model, raw)
            for place in places:
                self.whole = with_value(self.whole, place.path, value)
            self._note(f"{first.field.label}: {len(value)} rows", first.path)
        else:
            self._type(first.field, first.model, [place.path[:-1] for place in places], raw)

    def _set_parts(self, places: Sequence[Place], raw: object) -> None:
        """A group or a row: its fields by name."""
        where = written(self.whole, places[0].path)
        spec = places[0].field
        unstated = [place.path for place in places if value_at(self.whole, place.path) is None]
        if spec is not None and spec.optional and (raw is None or unstated):
            value = None if raw is None else _value(self.whole, places[0].path, spec, places[0].model, raw)
            for place in places:
                self.whole = _put(self.whole, place.path, value)
            self._note(f"{spec.label}: {'not stated' if value is None else 'stated'}", places[0].path)
            return
        if not isinstance(raw, dict):
            raise _refused(where, "This is a group of fields; give a group of their texts.")
        for name, value in raw.items():
            inside = [place_at(self.whole, f"{written(self.whole, p.path)}.{name}") for p in places]
            self._set(inside, value)

    def _type(self, field: FieldSpec, model: type[BaseModel], parents: Sequence[Path], raw: object) -> None:
        path = (*parents[0], field.name)
        known = _choices(self.whole, field)
        text = _text(field, raw, written(self.whole, path), known)
        locale = _locale(self.whole, raw)
        typed = put(
            self.whole, self.kept, model, field, parents, text, place=_put, choices=known, locale=locale
        )
        self.whole, self.kept = typed.whole, typed.kept
        self._note(typed.name or f"{field.label}: {text}", path)

    def _note(self, name: str, path: Path) -> None:
        self.names.append(name)
        # An id that was just given changes how its own place is written.
        self.places.append(written(self.whole, path))

    # Rows.

    def _add(self, place: Place, edit: Edit) -> None:
        spec = place.field
        if spec is None or spec.kind is not FieldKind.LIST or spec.model is None:
            raise PlaceError(f"{edit.places[0]}: this is no list; a row is added to a list.")
        count = len(value_at(self.whole, place.path))
        at = count if edit.to is None else _position(edit, count + 1)
        values = _values(self.whole, (*place.path, at), spec.model, edit.values)
        self._take(added(self.whole, place.path, spec.model, at, spec.label, values), place.path)

    def _rows(self, edit: Edit, places: Sequence[Place]) -> None:
        path, position = places[0].path[:-1], _at(places[0].path)
        if any(place.path[:-1] != path for place in places):
            raise PlaceError("Rows of one list can be removed together, not those of several.")
        label = _label(self.whole, path)
        if edit.verb == "remove":
            self._take(dropped(self.whole, path, [_at(p.path) for p in places], label), path)
        elif edit.verb == "move":
            to = _position(edit, len(value_at(self.whole, path)))
            self._take(shifted(self.whole, path, position, to, label), path)
        elif edit.verb == "duplicate":
            self._take(copied(self.whole, path, position, label), path)
            if edit.values:
                self._set_parts([Place((*path, position + 1), places[0].model, None)], edit.values)
        else:
            name = key_field(places[0].model)
            if not name:
                raise PlaceError(f"{edit.places[0]}: rows of this list have no id.")
            spec = next(f for f in fields_of(places[0].model) if f.name == name)
            self._type(spec, places[0].model, [places[0].path], edit.to)

    def _take(self, edit: RowEdit, path: Path) -> None:
        self.whole = edit.whole
        self.kept = kept_moved(self.kept, path, edit.goes_to)
        self.names.append(edit.name)
        self.places.append(written(self.whole, (*path, *edit.rows)))


def _at(path: Path) -> int:
    """Position of the row at a path."""
    step = path[-1]
    assert isinstance(step, int)
    return step


def _label(whole: BaseModel, path: Path) -> str:
    place = place_at(whole, written(whole, path))
    assert place.field is not None
    return place.field.label


def _position(edit: Edit, count: int) -> int:
    """A position from JSON, whole numbers as numbers or as their text."""
    text = str(edit.to)
    if isinstance(edit.to, bool) or not (text.isascii() and text.isdecimal() and len(text) < 9):
        raise PlaceError(f"{edit.places[0]}: “{text[:40]}” is not a position; count from 0.")
    if int(text) >= count:
        raise PlaceError(f"{edit.places[0]}: there is no position {text}; the last one is {count - 1}.")
    return int(text)


def _put(whole: BaseModel, path: Path, value: Any) -> BaseModel:
    return with_field(whole, path, value) if isinstance(whole, Job) else with_value(whole, path, value)


def _choices(whole: BaseModel, field: FieldSpec) -> tuple[tuple[str, str], ...]:
    if field.kind is not FieldKind.CHOICE or not isinstance(whole, Job):
        return field.choices
    parts, _ = with_makers(design_at(whole).makers, catalogue())
    return choices(whole, field, parts)


def _text(field: FieldSpec, raw: object, place: str, known: Sequence[tuple[str, str]] = ()) -> str | bool:
    """What a person would have typed; a choice by its key or by its name.

    Raises:
        EditError: no text stands for it, or it is no choice.
    """
    if isinstance(raw, bool):
        text: str | bool = raw if field.kind is FieldKind.FLAG else str(raw).lower()
    elif raw is None:
        text = ""
    elif isinstance(raw, str | int | float):
        text = str(raw)
    elif isinstance(raw, list) and field.kind is FieldKind.TEXT_LIST and all(isinstance(x, str) for x in raw):
        text = "\n".join(str(x).replace("\n", "⏎") for x in raw)
    elif isinstance(raw, list) and field.kind is FieldKind.CHOICES and all(isinstance(x, str) for x in raw):
        text = ", ".join(map(str, raw))
    else:
        raise _refused(place, f"{field.label}: this must be a text.")
    if field.kind is not FieldKind.CHOICE or isinstance(text, bool) or (field.optional and not text.strip()):
        return text
    wanted = text.strip()
    if wanted in (key for key, _ in known):
        return wanted
    named = [key for key, name in known if name.casefold() == wanted.casefold()]
    if len(named) == 1:
        return named[0]
    told = ", ".join(key for key, _ in known[:_MOST_CHOICES]) + (", …" if len(known) > _MOST_CHOICES else "")
    there = f"they are {told}" if known else "there are none yet"
    raise _refused(place, f"{field.label}: “{wanted[:40]}” is not one of the choices; {there}.")


def _values(whole: BaseModel, path: Path, model: type[BaseModel], texts: Mapping[str, Any]) -> dict[str, Any]:
    """Fields of a new value from their texts.

    Args:
        path: where it will stand.
        model: its class.
        texts: by field.
    """
    known = {f.name: f for f in fields_of(model)}
    found = {}
    for name, raw in texts.items():
        where = ".".join(map(str, (*path, name)))
        if name not in known:
            raise _refused(
                where,
                f"{where}: there is no field “{str(name)[:40]}” here; the fields are {', '.join(known)}.",
            )
        found[name] = _value(whole, (*path, name), known[name], model, raw)
    return found


def _locale(whole: BaseModel, raw: object) -> str:
    """By which a text is read; a number of the request is nobody's typing and has a point."""
    return whole.terms.locale if isinstance(whole, Job) and isinstance(raw, str) else "en_US"


def _value(whole: BaseModel, path: Path, field: FieldSpec, model: type[BaseModel], raw: object) -> Any:
    where = ".".join(map(str, path))
    if field.model is not None and field.kind is FieldKind.LIST:
        if not isinstance(raw, list):
            raise _refused(where, f"{field.label}: this must be a list of rows.")
        return tuple(_made(whole, (*path, i), field.model, row) for i, row in enumerate(raw))
    if field.model is not None and field.kind is FieldKind.GROUP:
        return _made(whole, path, field.model, raw)
    text = _text(field, raw, where, _choices(whole, field))
    try:
        return value_from(model, field, text, _locale(whole, raw))
    except ValueError as error:
        raise _refused(where, str(error), "not-taken") from None


def _made(whole: BaseModel, path: Path, model: type[BaseModel], raw: object) -> BaseModel:
    where = ".".join(map(str, path))
    if not isinstance(raw, dict):
        raise _refused(where, "This must be a group of fields and their texts.")
    values = _values(whole, path, model, raw)
    try:
        return model(**values)
    except ValidationError as error:
        raise EditError(problems_of(error, type(whole), path)) from None
