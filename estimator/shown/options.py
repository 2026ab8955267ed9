"""What an option has of its own, in words: the names of the job, never an id."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, Final

from pydantic import BaseModel

from estimator.model.called import on_one_line
from estimator.model.design import Design
from estimator.model.differences import plain_value
from estimator.model.job import Job
from estimator.model.option_designs import (
    LostChange,
    OwnChange,
    OwnState,
    design_of,
    option_name,
    own_changes,
)
from estimator.model.options import HowChanged, OptionChange
from estimator.model.spec import FieldKind, FieldSpec, fields_of
from estimator.shown.figures import Figures, figures_of
from estimator.shown.names import Names
from estimator.units import parse, told_beside

__all__ = ["OwnWords", "lost_words", "own_words"]

_LONGEST: Final = 80
_MOST: Final = 4
_HOW: Final = {HowChanged.ADD: "added", HowChanged.REMOVE: "left out", HowChanged.MOVE: "moved"}


@dataclass(frozen=True, slots=True)
class OwnWords:
    """One thing that an option has of its own.

    Attributes:
        change: as it is kept.
        state: how it stands to the base design.
        what: the place.
        own: what the option has there.
        base: what the base design has there now.
        note: a sentence where the two need a look; else "".
    """

    change: OptionChange
    state: OwnState
    what: str
    own: str
    base: str
    note: str


class _Namer:
    """Names of the base design and of an option's: what is left out stands in the one, what is added in the other."""

    def __init__(self, option: Design, base: Design, figures: Figures) -> None:
        self._figures = figures
        self._option, self._base = Names(option), Names(base)
        self._designs = option, base
        self._ids = {
            name: {row.id for row in getattr(option, name)} for name in ("products", "bays", "drops")
        }

    def _of(self, kind: str, key: str) -> Names:
        return self._option if key in self._ids[kind] else self._base

    def row(self, list_name: str, key: str, label: str, added: Any = None) -> str:
        """A row of a list of the design.

        Args:
            added: the row as plain data where the option adds it, in case that neither design has it.
        """
        if list_name == "drops" and isinstance(added, dict) and key not in self._ids["drops"]:
            # Its bay or its product is gone, so it hangs nowhere.
            bay, service = str(added.get("bay", "")), str(added.get("service", ""))
            return (
                f"{self._of('bays', bay).bay(bay)} {added.get('side', '')}, "
                f"{self._of('products', service).line(service)}"
            )
        if (maker := self._makers(list_name, key, label)) is not None:
            return maker
        match list_name:
            case "drops":
                return self._of("drops", key).drop(key)
            case "bays":
                return self._of("bays", key).bay(key)
            case "products":
                return self._of("products", key).product(key)
            case "plant":
                return f"Plant, {self._of('products', key).product(key)}"
            case "lines":
                return f"Line, {self._of('products', key).line(key)}"
        return f"{label} {key}"

    def _makers(self, list_name: str, key: str, label: str) -> str | None:
        """A row of makers' data by its name or its position; None where it is none."""
        for design in self._designs:
            rows = getattr(design.makers, list_name, ())
            for i, row in enumerate(rows):
                if row.key == key:
                    name = on_one_line(row.name)
                    return f"{label}, {name}" if name else f"{label} {i + 1}"
        return None

    def value(self, field: FieldSpec, value: Any, beside: Any = None) -> str:
        """A value of a field.

        Args:
            beside: what it is told beside; two quantities that differ never read alike.
        """
        if field.dimension is not None and isinstance(value, str):
            other = parse(beside, field.dimension) if isinstance(beside, str) else None
            typed = parse(value, field.dimension)
            return told_beside(typed, other, self._figures.system, self._figures.locale)
        if (
            field.kind in (FieldKind.NUMBER, FieldKind.WHOLE)
            and not isinstance(value, bool)
            and value is not None
        ):
            return plain_value(field, Decimal(str(value)), locale=self._figures.locale)
        if field.kind is FieldKind.DATE and isinstance(value, str):
            return self._figures.day(date.fromisoformat(value))
        if value is None:
            return "not stated"
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, list):
            if field.kind is FieldKind.CHOICES:
                named = dict(field.choices)
                return ", ".join(named.get(str(key), str(key)) for key in value) or "none"
            return (
                ", ".join(map(str, value))
                if field.kind is FieldKind.TEXT_LIST and value
                else f"{len(value)} rows"
            )
        text = str(value)
        if field.catalogue:
            text = self._option.part(field.catalogue, text)
        elif field.refers_to == "bays":
            text = self._of("bays", text).bay(text)
        elif field.refers_to:
            text = self._of("products", text).line(text)
        else:
            text = dict(field.choices).get(text, text)
        text = f"{' '.join(text.split())} {field.unit}".strip()
        return (text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…") or "empty"


def _place(namer: _Namer, place: Sequence[str], added: Any = None) -> tuple[str, FieldSpec | None]:
    """A place in words, and the field that it leads to.

    Args:
        added: the row that is added there, as plain data.
    """
    words: list[str] = []
    model: type[BaseModel] | None = Design
    field: FieldSpec | None = None
    steps = list(place)
    while steps:
        name = steps.pop(0)
        field = next((f for f in fields_of(model) if f.name == name), None) if model else None
        if field is None:
            return ", ".join([*words, name]), None
        model = field.model
        if field.kind is FieldKind.LIST and steps:
            words.append(namer.row(name, steps.pop(0), field.label, added))
        else:
            words.append(field.label)
    return ", ".join(words), field


def _words(namer: _Namer, own: OwnChange) -> OwnWords:
    change = own.change
    what, field = _place(namer, change.place, change.value.data if change.kind is HowChanged.ADD else None)
    has, base = _HOW.get(change.kind, ""), "" if own.base is None else "there"
    if change.kind is HowChanged.SET and field is not None:
        has = namer.value(field, change.value.data, own.base)
        base = "" if own.state is OwnState.IDLE else namer.value(field, own.base, change.value.data)
    note = {
        OwnState.OWN: "",
        OwnState.BOTH: "The base was changed here too; this option keeps its own.",
        OwnState.SAME: "The base has the same by now.",
        OwnState.IDLE: "Does nothing: the base no longer has what it changes.",
    }[own.state]
    return OwnWords(change, own.state, what, has, base, note)


def own_words(job: Job, option: str) -> tuple[OwnWords, ...]:
    """What an option has of its own, what needs a look first.

    Raises:
        LookupError: there is none of that id.
    """
    namer = _Namer(design_of(job, option), job.design, figures_of(job))
    order = {OwnState.BOTH: 0, OwnState.IDLE: 1}
    found = [_words(namer, own) for own in own_changes(job, option)]
    return tuple(sorted(found, key=lambda words: order.get(words.state, 2)))


def lost_words(job: Job, lost: Iterable[LostChange]) -> str:
    """A sentence on what options had of their own and lost with an edit of the base; "" where nothing was.

    Args:
        job: before the edit, with the names of what is gone.
    """
    by_option: dict[str, list[OptionChange]] = {}
    for one in lost:
        by_option.setdefault(one.option, []).append(one.change)
    sentences = []
    for option, changes in by_option.items():
        namer = _Namer(design_of(job, option), job.design, figures_of(job))
        told = ["“" + _place(namer, change.place)[0] + "”" for change in changes[:_MOST]]
        more = f" and {len(changes) - _MOST} more" if len(changes) > _MOST else ""
        sentences.append(
            f"Option “{option_name(job, option)}” no longer has of its own, as what it was about is gone: "
            f"{', '.join(told)}{more}."
        )
    return " ".join(sentences)
