"""What a form edits: a frozen value behind a small face, with the texts that are not allowed yet.

A text that the value cannot take is kept with its sentence, so that nothing typed is lost, and is tried again
together with its neighbours: low, likely and high can be raised one after the other.
"""

from __future__ import annotations

import re
import types
import typing
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import Enum
from typing import Annotated, Any

from pydantic import BaseModel, ValidationError
from PySide6.QtCore import QObject, Signal

from estimator.model.edit import EditError, value_at, with_value
from estimator.model.finding import Finding, Severity
from estimator.model.problems import label_of, problems_of
from estimator.model.spec import FieldKind, FieldSpec, fields_of

__all__ = ["Holder", "Path", "Pending", "text_of", "value_from"]

Path = tuple[str | int, ...]

_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)")
_LINE_BREAK = "⏎"


@dataclass(frozen=True, slots=True)
class Pending:
    """A text that was typed and is not allowed, with the reason."""

    raw: str | bool
    message: str


def _base_type(annotation: Any) -> Any:
    """The plain type under Annotated and `| None`."""
    while typing.get_origin(annotation) in (Annotated, typing.Union, types.UnionType):
        annotation = next(a for a in typing.get_args(annotation) if a is not type(None))
    return annotation


def _number_text(field: FieldSpec, text: str) -> str:
    if not _NUMBER.fullmatch(text):
        example = "3" if field.kind is FieldKind.WHOLE else "3.5"
        raise ValueError(f"{field.label}: “{text[:40]}” is not a number; write one such as {example}.")
    if re.search(r"\d,\d{3}$", text):
        raise ValueError(
            f"{field.label}: “{text[:40]}” can be read two ways; write the thousands without a comma or the "
            "decimals with a point."
        )
    return text.replace(",", ".")


def value_from(model: type[BaseModel], field: FieldSpec, raw: str | bool) -> Any:
    """What a typed text or a chosen entry means for a field; limits are checked later, by the model.

    Raises:
        ValueError: the text is not of the field's kind; the message is a sentence for a person.
    """
    if isinstance(raw, bool):
        return raw
    if field.kind is FieldKind.TEXT_LIST:
        return tuple(line.replace(_LINE_BREAK, "\n") for line in raw.split("\n") if line.strip())
    if field.kind in (FieldKind.TEXT, FieldKind.LONG_TEXT):
        return raw
    text = raw.strip()
    if not text and field.optional:
        return None
    if field.kind in (FieldKind.NUMBER, FieldKind.WHOLE):
        text = _number_text(field, text)
    elif field.kind not in (FieldKind.DATE, FieldKind.CHOICE):
        return text
    base = _base_type(model.model_fields[field.name].annotation)
    if base is date:
        try:
            return date.fromisoformat(text)
        except ValueError:
            raise ValueError(
                f"{field.label}: “{text[:40]}” is not a date; write one such as 2027-03-31."
            ) from None
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
        return base(text)
    return text


def text_of(field: FieldSpec, value: Any) -> str:
    """A value as the text that a person would type for it; "" for what is not stated."""
    if value is None:
        return ""
    if field.kind is FieldKind.TEXT_LIST:
        return "\n".join(str(item).replace("\n", _LINE_BREAK) for item in value)
    if field.kind is FieldKind.NUMBER:
        return f"{value:.10g}" if isinstance(value, float) else f"{value:f}"
    return str(getattr(value, "value", value))


class Holder(QObject):
    """The value that a form edits; every edit makes a new one and is one act.

    Signals:
        changed: the value, or what is kept back, is another.
    """

    changed = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.pending: dict[Path, Pending] = {}

    @property
    def whole(self) -> BaseModel:
        """The value."""
        raise NotImplementedError

    def _take(self, name: str, whole: BaseModel) -> None:
        """Make the new value the one that holds, as an act of that name, and tell."""
        raise NotImplementedError

    def _tell(self) -> None:
        """Tell that the value, or what is kept back, is another."""
        self.changed.emit()

    def _set(self, whole: BaseModel, path: Path, value: Any) -> BaseModel:
        return with_value(whole, path, value) if path else value

    def choices(self, field: FieldSpec, parent: Path) -> tuple[tuple[str, str], ...]:
        """(value, label) pairs of a choice field of the value at a path."""
        return field.choices

    def suggestions(self, field: FieldSpec, parent: Path) -> tuple[str, ...]:
        """Texts that a text field of the value at a path usually holds."""
        return ()

    def at(self, path: Path) -> Any:
        """The value at a path.

        Raises:
            LookupError: nothing stands there.
        """
        return value_at(self.whole, path) if path else self.whole

    def act(
        self,
        name: str,
        edit: Callable[[Any], BaseModel],
        path: Path | None = None,
        goes_to: Callable[[int], int | None] = lambda i: i,
    ) -> None:
        """One act that is not the editing of a field.

        Args:
            name: what undo calls it.
            edit: gives the new value from the old one.
            path: list whose rows it moves.
            goes_to: new position of each old row of that list, None for one that is gone.

        Raises:
            EditError: it is not allowed; nothing was changed.
        """
        new = edit(self.whole)
        if path is not None:
            self._move_kept_back(path, goes_to)
        self._take(name, new)

    def forget(self, path: Path) -> None:
        """Drop what was kept back at a path and below it."""
        self.pending = {p: item for p, item in self.pending.items() if p[: len(path)] != path}

    def _move_kept_back(self, path: Path, goes_to: Callable[[int], int | None]) -> None:
        depth = len(path)
        moved: dict[Path, Pending] = {}
        for place, item in self.pending.items():
            step = place[depth] if place[:depth] == path and len(place) > depth else None
            if isinstance(step, int):
                to = goes_to(step)
                if to is not None:
                    moved[(*path, to, *place[depth + 1 :])] = item
            else:
                moved[place] = item
        self.pending = moved

    def commit(
        self, model: type[BaseModel], field: FieldSpec, parents: Sequence[Path], raw: str | bool
    ) -> bool:
        """Set one field of every parent, as one act.

        Args:
            model: class of the parents.
            field: which field.
            parents: paths of the values that have the field.
            raw: the text typed, the key chosen, or the state of a box.

        Returns:
            Whether it is allowed. If not, the text is kept with its sentence and the value stays as it was.
        """
        paths = [(*parent, field.name) for parent in parents]
        try:
            value = value_from(model, field, raw)
            new = self._with_neighbours(parents, field.name, value)
        except EditError as error:
            return self._keep_back(paths, raw, error.findings[0].message)
        except ValueError as error:
            return self._keep_back(paths, raw, str(error))
        for path in paths:
            self.pending.pop(path, None)
        if new != self.whole:
            self._take(self._name(field, paths, value), new)
        else:
            self._tell()
        return True

    def _keep_back(self, paths: Sequence[Path], raw: str | bool, message: str) -> bool:
        for path in paths:
            self.pending[path] = Pending(raw, message)
        self._tell()
        return False

    def _name(self, field: FieldSpec, paths: Sequence[Path], value: Any) -> str:
        text = " ".join(text_of(field, value).split()) if value is not None else "not stated"
        if field.kind is FieldKind.FLAG:
            text = "yes" if value else "no"
        elif field.kind is FieldKind.CHOICE:
            text = dict(self.choices(field, paths[0][:-1])).get(text, text)
        short = text if len(text) <= 28 else text[:27] + "…"
        where = label_of(type(self.whole), paths[0])
        if len(paths) > 1:
            where = f"{field.label} of {len(paths)} rows"
        return f"{where}: {short}" if short else f"{where}: empty"

    def _with_neighbours(self, parents: Sequence[Path], name: str, value: Any) -> BaseModel:
        """The whole with the value set, and with it what was kept back beside it where that is now allowed."""
        whole = self.whole
        used: list[Path] = []
        for parent in parents:
            beside = {
                str(p[-1]): p
                for p in self.pending
                if p[:-1] == parent and p[-1] != name and isinstance(p[-1], str)
            }
            try:
                together = self._together(whole, parent, name, value, beside)
            except (EditError, ValueError):
                whole = self._set(whole, (*parent, name), value)
            else:
                whole = together
                used += beside.values()
        for path in used:
            del self.pending[path]
        return whole

    def _together(
        self, whole: BaseModel, parent: Path, name: str, value: Any, beside: dict[str, Path]
    ) -> BaseModel:
        if not beside:
            return self._set(whole, (*parent, name), value)
        old = value_at(whole, parent) if parent else whole
        fields: dict[str, Any] = {f: getattr(old, f) for f in type(old).model_fields}
        fields[name] = value
        model: type[BaseModel] = type(old)
        for spec in fields_of(model):
            if spec.name in beside:
                fields[spec.name] = value_from(model, spec, self.pending[beside[spec.name]].raw)
        try:
            new = type(old)(**fields)
        except ValidationError as error:
            raise EditError(problems_of(error, type(whole), parent)) from None
        return self._set(whole, parent, new)

    def kept_back(self) -> tuple[Finding, ...]:
        """What was typed and is not allowed, as findings."""
        return tuple(
            Finding(Severity.ERROR, ".".join(map(str, path)), "not-taken", f"Not taken over: {item.message}")
            for path, item in self.pending.items()
        )
