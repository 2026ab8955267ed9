"""From a base design and what an option changes to the option's design, and back.

Rows are matched by their id, service, product, segment or key, never by their position. Where an option takes a
product or a bay out, what hangs on it in the base goes too and is no change of its own.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, Final, NamedTuple

from pydantic import BaseModel, ValidationError, create_model

from estimator.model.datum import Datum
from estimator.model.design import AIR, Design
from estimator.model.options import Alternative, HowChanged, OptionChange
from estimator.model.problems import label_of, missing_fields, problems_of
from estimator.model.spec import FieldKind, FieldSpec, Frozen, fields_of

__all__ = [
    "REFERENCES",
    "Applied",
    "Told",
    "Unreadable",
    "applied",
    "as_data",
    "changes_of",
    "differences_of",
    "key_name",
    "rows_by_key",
]

Data = dict[str, Any]
Place = tuple[str, ...]

REFERENCES: Final[Mapping[str, tuple[tuple[str, str], ...]]] = {
    "products": (("drops", "service"), ("plant", "product"), ("lines", "service")),
    "bays": (("drops", "bay"),),
}
"""Which fields of which lists of a design hold ids of products or bays."""

_KEYS: Final = ("id", "key", "service", "product", "segment")


def key_name(model: type[BaseModel]) -> str:
    """The field that tells the rows of a model apart; "" if they have none.

    >>> from estimator.model.design import Drop, LinePlan
    >>> key_name(Drop), key_name(LinePlan)
    ('id', 'service')
    """
    return next((name for name in _KEYS if name in model.model_fields), "")


def _keys_below(model: type[BaseModel]) -> Iterator[tuple[str, str]]:
    for spec in fields_of(model):
        if spec.model is not None:
            if spec.kind is FieldKind.LIST and (key := key_name(spec.model)):
                yield spec.name, key
            yield from _keys_below(spec.model)


_KEY_OF_LIST: Final[Mapping[str, str]] = dict(_keys_below(Design))


# From two designs to what is different. On plain data: a file of an older format takes the same way.


class Unreadable(ValueError):
    """The data is no design, so that it cannot be told what is different."""


def rows_by_key(rows: Any, key: str) -> dict[str, Any] | None:
    """Rows of plain data by their key; None where they cannot be told apart."""
    if not key or not isinstance(rows, list):
        return None
    found = {row[key]: row for row in rows if isinstance(row, dict) and isinstance(row.get(key), str)}
    return found if len(found) == len(rows) else None


def _change(how: HowChanged, place: Place, **more: Any) -> Data:
    # Every field, as a file holds it.
    blank = {"value": None, "instead_of": None, "after": ""}
    return {"kind": how.value, "place": list(place), **blank, **more}


def _longest_rising(numbers: Sequence[int]) -> set[int]:
    """Positions of a longest rising run: rows that stand still while the others move."""
    ends: list[int] = []
    places: list[int] = []
    before: list[int] = []
    for i, number in enumerate(numbers):
        at = bisect_left(ends, number)
        before.append(places[at - 1] if at else -1)
        if at == len(ends):
            ends.append(number)
            places.append(i)
        else:
            ends[at], places[at] = number, i
    kept: set[int] = set()
    i = places[-1] if places else -1
    while i >= 0:
        kept.add(i)
        i = before[i]
    return kept


def _gone(before: Data, after: Data) -> dict[str, set[str]]:
    """Ids of products and bays that stand in the one and not in the other."""
    gone = {}
    for kind in REFERENCES:
        old, new = (rows_by_key(d.get(kind), _KEY_OF_LIST[kind]) or {} for d in (before, after))
        gone[kind] = old.keys() - new.keys()
    return gone


def _hangs_on(gone: Mapping[str, set[str]], list_name: str, row: Data) -> bool:
    return any(
        row.get(name) in gone[kind]
        for kind, references in REFERENCES.items()
        for where, name in references
        if where == list_name
    )


def _list_changes(
    before: dict[str, Any], after: dict[str, Any], place: Place, gone: Mapping[str, set[str]]
) -> Iterator[Data]:
    for key, row in before.items():
        if key not in after and not (len(place) == 1 and _hangs_on(gone, place[0], row)):
            yield _change(HowChanged.REMOVE, (*place, key), instead_of=row)
    order = list(after)
    kept = [key for key in order if key in before]
    at = {key: i for i, key in enumerate(before)}
    still = _longest_rising([at[key] for key in kept])
    stays = {key for i, key in enumerate(kept) if i in still}
    previous = ""
    for key in order:
        if key not in before:
            yield _change(HowChanged.ADD, (*place, key), value=after[key], after=previous)
        else:
            if key not in stays:
                yield _change(HowChanged.MOVE, (*place, key), after=previous)
            yield from _group_changes(before[key], after[key], (*place, key), gone)
        previous = key


def _group_changes(before: Any, after: Any, place: Place, gone: Mapping[str, set[str]]) -> Iterator[Data]:
    if not isinstance(before, dict) or not isinstance(after, dict) or before.keys() - after.keys():
        # A missing field has no value that a change could give it.
        raise Unreadable(".".join(place))
    for name, value in after.items():
        here = (*place, name)
        if name in before and value == before[name]:
            continue
        old = before.get(name)
        key = _KEY_OF_LIST.get(name, "")
        rows_before, rows_after = rows_by_key(old, key), rows_by_key(value, key)
        if rows_before is not None and rows_after is not None:
            yield from _list_changes(rows_before, rows_after, here, gone)
        elif isinstance(old, dict) and isinstance(value, dict):
            yield from _group_changes(old, value, here, gone)
        else:
            yield _change(HowChanged.SET, here, value=value, instead_of=old)


def differences_of(before: Any, after: Any) -> list[Data]:
    """What one design has otherwise than another, as a file holds it.

    Args:
        before, after: plain data of two designs of one format.

    Raises:
        Unreadable: they are not designs, or a field is missing.
    """
    gone = _gone(before, after) if isinstance(before, dict) and isinstance(after, dict) else {}
    return list(_group_changes(before, after, (), gone))


def as_data(part: BaseModel) -> Data:
    """Plain data of a part of a job, as a file holds it."""
    return part.model_dump(mode="json")


def changes_of(before: Design, after: Design) -> tuple[OptionChange, ...]:
    """What one design has otherwise than another."""
    if before is after:
        return ()
    return tuple(
        OptionChange(
            kind=HowChanged(data["kind"]),
            place=tuple(data["place"]),
            value=Datum.of(data["value"]),
            instead_of=Datum.of(data["instead_of"]),
            after=data["after"],
        )
        for data in differences_of(as_data(before), as_data(after))
    )


# From the base design and the changes to the option's design.


class Told(NamedTuple):
    """What is to be said of one change.

    Attributes:
        position: of the change in the option's list.
        rule: short name.
        sentence: for a person.
    """

    position: int
    rule: str
    sentence: str


@dataclass(frozen=True, slots=True)
class Applied:
    """An option's design.

    Attributes:
        design: the base design with every change that applies.
        idle: changes of what the base no longer has; they do nothing and lose nothing.
        wrong: changes that no design can take.
    """

    design: Design
    idle: tuple[Told, ...] = ()
    wrong: tuple[Told, ...] = ()


@dataclass(slots=True)
class _Node:
    """Changes below a place."""

    own: list[int] = field(default_factory=list)
    below: dict[str, _Node] = field(default_factory=dict)

    def all(self) -> Iterator[int]:
        yield from self.own
        waiting = list(self.below.values())[::-1]
        while waiting:
            node = waiting.pop()
            yield from node.own
            waiting += list(node.below.values())[::-1]


@lru_cache(maxsize=512)
def _holder(model: type[BaseModel], name: str) -> type[BaseModel]:
    """A part with just one field of another, to check a single value by its declaration."""
    info = model.model_fields[name]
    fields: dict[str, Any] = {name: (info.annotation, info)}
    return create_model(model.__name__, __base__=Frozen, **fields)


class _Applying:
    def __init__(self, changes: Sequence[OptionChange]) -> None:
        self.changes = changes
        self.idle: list[Told] = []
        self.wrong: list[Told] = []
        self.known: dict[str, set[str]] = {}
        self.gone: dict[str, set[str]] = {kind: set() for kind in REFERENCES}
        self.root = _Node()
        self._labels: dict[Place, str] = {}
        for i, change in enumerate(changes):
            node = self.root
            for step in change.place:
                below = node.below.get(step)
                if below is None:
                    below = node.below[step] = _Node()
                node = below
            node.own.append(i)

    # Saying.

    def _idle(self, positions: Iterable[int], rule: str, sentence: str) -> None:
        self.idle += [Told(i, rule, sentence) for i in positions]

    def _wrong(self, positions: Iterable[int], rule: str, sentence: str) -> None:
        self.wrong += [Told(i, rule, sentence) for i in positions]

    def _refused(self, positions: Sequence[int], error: ValidationError, model: type[BaseModel]) -> None:
        found = problems_of(error, model, most=1)[0]
        self._wrong(positions, found.rule, found.message)

    # Applying.

    def group(self, model: type[BaseModel], old: Any, node: _Node, place: Place) -> Any:
        """A group with its changes."""
        specs = _specs(model)
        for name in (name for name in node.below if name not in specs):
            where = label_of(Design, _labelled(place)) or "Design"
            self._wrong(
                node.below[name].all(), "unknown_place", f"{where}: there is no field “{name[:40]}” here."
            )
        changed: dict[str, Any] = {}
        touched: list[int] = []
        for name, spec in specs.items():
            below = node.below.get(name)
            if below is None and (place or not any(self.gone.values())):
                continue
            below = below or _Node()
            before = getattr(old, name)
            value = self._field(model, spec, before, below, (*place, name))
            if value is not before:
                changed[name] = value
                touched += below.all()
            if not place and name in REFERENCES:
                self._know(name, before, value)
        if not changed:
            return old
        try:
            return model(**{**{name: getattr(old, name) for name in specs}, **changed})
        except ValidationError as error:
            self._refused(touched[:1] or [0], error, model)
            return old

    def _know(self, kind: str, before: Sequence[Any], after: Sequence[Any]) -> None:
        self.known[kind] = {row.id for row in after}
        self.gone[kind] = {row.id for row in before} - self.known[kind]

    def _field(self, model: type[BaseModel], spec: FieldSpec, old: Any, node: _Node, place: Place) -> Any:
        rows = spec.kind is FieldKind.LIST and spec.model is not None and bool(key_name(spec.model))
        if node.own:
            position, *more = node.own
            if more:
                self._twice(more)
            if self.changes[position].kind is not HowChanged.SET or spec.kind is FieldKind.GROUP:
                self._wrong(
                    [position],
                    "not_here",
                    f"{spec.label}: a field can be set and nothing else; a group is changed field by field.",
                )
                return old
            if node.below:
                self._twice(i for i in node.all() if i != position)
            return self._value(model, spec, old, position)
        if rows:
            assert spec.model is not None
            return self._rows(spec.model, spec, old, node, place)
        if spec.kind is FieldKind.GROUP and spec.model is not None and old is not None:
            return self.group(spec.model, old, node, place)
        if node.below:
            self._wrong(node.all(), "unknown_place", f"{spec.label}: there is nothing below this field.")
        return old

    def _twice(self, positions: Iterable[int]) -> None:
        self._wrong(
            positions,
            "doubled_change",
            "This option changes the same thing twice, here and in another of its changes; keep one of them.",
        )

    def _value(self, model: type[BaseModel], spec: FieldSpec, old: Any, position: int) -> Any:
        text = self.changes[position].value.text
        try:
            value = getattr(
                _holder(model, spec.name).model_validate_json(f'{{"{spec.name}":{text}}}'), spec.name
            )
        except ValidationError as error:
            self._refused([position], error, model)
            return old
        if unknown := self._unknown(spec, value):
            self._idle([position], "idle_change", f"{self._called(position)}: {unknown}")
            return old
        return value

    def _unknown(self, spec: FieldSpec, value: Any) -> str:
        """What to say where a product or bay that is referred to is not there; "" if it is."""
        if not spec.refers_to or not self.known:
            return ""
        kind = "bays" if spec.refers_to == "bays" else "products"
        ok = value in self.known[kind] or (spec.refers_to == "services" and value == AIR)
        noun = "bay" if kind == "bays" else "product"
        return "" if ok else f"the {noun} that this row needs is gone from the base."

    def _called(self, position: int) -> str:
        """Labels of the place of a change; the id of what is gone would tell a person nothing."""
        place = self.changes[position].place
        if place[0] not in _LISTS:
            return label_of(Design, _labelled(place))
        # Which row it is does not count: of the many changes of a list there are few labels.
        label = self._labels.get(rest := (place[0], *place[2:]))
        if label is None:
            label = self._labels[rest] = label_of(Design, _labelled(place))
        return label

    def _row(self, model: type[BaseModel], key: str, position: int) -> Any:
        """A row that is added; None if it cannot be."""
        change = self.changes[position]
        row, refused = None, None
        try:
            row = model.model_validate_json(change.value.text)
        except ValidationError as error:
            refused = error
        specs = fields_of(model)
        # Looked at as data only where a field was not given, or there are groups below.
        if row is None or len(row.model_fields_set) < len(specs) or _has_groups(model):
            data = change.value.data
            if isinstance(data, dict) and (lacking := next(missing_fields(model, data), None)):
                sentence = f"{label_of(model, lacking)}: “{lacking[-1]}” is missing and must be given."
                self._wrong([position], "missing", sentence)
                return None
        if refused is not None:
            self._refused([position], refused, model)
            return None
        if getattr(row, key) != change.place[-1]:
            self._wrong(
                [position],
                "place",
                f"The place names the row “{change.place[-1]}”, the row itself “{getattr(row, key)}”; "
                "they must be the same.",
            )
            return None
        for spec in _referring(model):
            if unknown := self._unknown(spec, getattr(row, spec.name)):
                self._idle([position], "idle_change", f"{self._called(position)}, {spec.label}: {unknown}")
                return None
        return row

    def _rows(
        self, model: type[BaseModel], listed: FieldSpec, old: Sequence[Any], node: _Node, place: Place
    ) -> Any:
        key = key_name(model)
        rows = {getattr(row, key): row for row in old}
        if len(rows) < len(old):
            sentence = (
                f"{listed.label}: two rows of the base are called the same; give each a name of its own."
            )
            self._wrong(node.all(), "not_told_apart", sentence)
            return old
        moving: list[tuple[int, str]] = []
        for name, below in node.below.items():
            by_kind: dict[HowChanged, int] = {}
            for position in below.own:
                kind = self.changes[position].kind
                if kind in by_kind or (by_kind.keys() - {HowChanged.MOVE} and kind is not HowChanged.MOVE):
                    self._twice([position])
                elif kind is HowChanged.SET:
                    self._wrong(
                        [position],
                        "not_here",
                        f"{listed.label}: a row is changed field by field, not as a whole.",
                    )
                else:
                    by_kind[kind] = position
            whole = by_kind.get(HowChanged.ADD, by_kind.get(HowChanged.REMOVE))
            if whole is not None and (below.below or HowChanged.MOVE in by_kind):
                self._twice(i for i in below.all() if i != whole)
                continue
            if HowChanged.ADD in by_kind:
                row = self._row(model, key, by_kind[HowChanged.ADD])
                if row is not None:
                    rows[name] = row
                    moving.append((by_kind[HowChanged.ADD], name))
            elif name not in rows:
                for position in below.all():
                    what = f"the row that this option {_DONE[self.changes[position].kind]} is gone from the base."
                    self._idle([position], "idle_change", f"{self._called(position)}: {what}")
            elif HowChanged.REMOVE in by_kind:
                del rows[name]
            else:
                rows[name] = self.group(model, rows[name], below, (*place, name))
                if HowChanged.MOVE in by_kind:
                    moving.append((by_kind[HowChanged.MOVE], name))
        if len(place) == 1:
            self._leave_out(place[0], rows)
        order = self._ordered(rows, old, key, sorted(moving))
        made = tuple(rows[name] for name in order)
        return old if len(made) == len(old) and all(a is b for a, b in zip(made, old, strict=True)) else made

    def _leave_out(self, list_name: str, rows: dict[str, Any]) -> None:
        """Take out the rows that hang on a product or bay that the option takes out."""
        for kind, references in REFERENCES.items():
            for where, attribute in references:
                if where == list_name and self.gone[kind]:
                    for name in [n for n, row in rows.items() if getattr(row, attribute) in self.gone[kind]]:
                        del rows[name]

    def _ordered(
        self, rows: Mapping[str, Any], old: Sequence[Any], key: str, moving: list[tuple[int, str]]
    ) -> list[str]:
        away = {name for _, name in moving}
        # Which row follows which: in a list, each row put in would be looked for and would move all after it.
        following: dict[str | None, str | None] = {None: None}
        last: str | None = None
        for row in old:
            name = getattr(row, key)
            if name in rows and name not in away:
                following[last], following[name], last = name, None, name
        for position, name in moving:
            if name not in rows:
                continue
            after = self.changes[position].after
            before = None if not after else after if after in following else last
            following[name], following[before] = following[before], name
            if before == last:
                last = name
        order: list[str] = []
        step = following[None]
        while step is not None:
            order.append(step)
            step = following[step]
        return order


@lru_cache(maxsize=256)
def _specs(model: type[BaseModel]) -> Mapping[str, FieldSpec]:
    return {spec.name: spec for spec in fields_of(model)}


@lru_cache(maxsize=256)
def _has_groups(model: type[BaseModel]) -> bool:
    return any(spec.model for spec in fields_of(model))


@lru_cache(maxsize=256)
def _referring(model: type[BaseModel]) -> tuple[FieldSpec, ...]:
    """Fields that hold the id of something else."""
    return tuple(spec for spec in fields_of(model) if spec.refers_to)


def _labelled(place: Place) -> tuple[str | int, ...]:
    """A place without the keys of rows, for its label."""
    found: list[str] = []
    model: type[BaseModel] | None = Design
    steps = iter(place)
    for step in steps:
        spec = next((f for f in fields_of(model) if f.name == step), None) if model else None
        found.append(step)
        model = spec.model if spec else None
        if spec is not None and spec.kind is FieldKind.LIST:
            next(steps, None)
    return tuple(found)


_LISTS: Final = frozenset(spec.name for spec in fields_of(Design) if spec.kind is FieldKind.LIST)

_DONE: Final = {
    HowChanged.ADD: "adds",
    HowChanged.SET: "changes",
    HowChanged.REMOVE: "leaves out",
    HowChanged.MOVE: "moves",
}


class _Same:
    """A value as a key by its identity; it is kept alive as long as the key."""

    __slots__ = ("value",)

    def __init__(self, value: Any) -> None:
        self.value = value

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other.value is self.value

    def __hash__(self) -> int:
        return id(self.value)


@lru_cache(maxsize=256)
def _applied(base: _Same, option: _Same) -> Applied:
    changes = option.value.changes
    applying = _Applying(changes)
    applying.known = {kind: {row.id for row in getattr(base.value, kind)} for kind in REFERENCES}
    design = applying.group(Design, base.value, applying.root, ())
    wrong = tuple(dict.fromkeys(applying.wrong))
    return Applied(base.value if wrong else design, tuple(applying.idle), wrong)


def applied(base: Design, option: Alternative) -> Applied:
    """The design of an option. The answer for the same two objects is kept.

    Args:
        base: the base design; ids in its lists differ.
    """
    if not option.changes:
        return Applied(base)
    # By identity: parts of a job that an edit does not touch stay the very same objects.
    return _applied(_Same(base), _Same(option))
