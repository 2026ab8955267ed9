"""What a form edits: a frozen value behind a small face, with the texts that are not allowed yet."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from pydantic import BaseModel
from PySide6.QtCore import QObject, Signal

from estimator.acts.typed import (
    Kept,
    Path,
    kept_findings,
    kept_moved,
    kept_outside,
    put,
    reason_of,
    with_refused,
)
from estimator.model.design import Design
from estimator.model.edit import EditError, value_at, with_value
from estimator.model.finding import Finding
from estimator.model.spec import FieldSpec
from estimator.shown.figures import Figures
from estimator.shown.findings import Sentences
from estimator.shown.names import Names
from estimator.units import UnitSystem

__all__ = ["Holder"]


class Holder(QObject):
    """The value that a form edits; every edit makes a new one and is one act.

    Signals:
        changed: the value, or what is kept back, is another.
        picture_wanted: the person wants to choose the file of a picture.
    """

    changed = Signal()
    picture_wanted = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.pending: Kept = {}

    @property
    def whole(self) -> BaseModel:
        """The value."""
        raise NotImplementedError

    @property
    def figures(self) -> Figures:
        """How figures in and beside the fields are written."""
        return Figures("en_US", "USD", UnitSystem.METRIC)

    @property
    def locale(self) -> str:
        """By which figures are typed."""
        return self.figures.locale

    def why(self, path: Path) -> str:
        """Why what was typed at a path is not allowed, "" where nothing is kept back there."""
        kept = self.pending.get(path)
        if kept is None:
            return ""
        return Sentences(self.figures, Names(Design())).told(kept.reason.sentence, kept.reason.facts)

    def _take(self, name: str, whole: BaseModel) -> None:
        """Make the new value the one that holds, as an act of that name, and tell.

        Raises:
            EditError: something that must follow it cannot; nothing was changed.
        """
        raise NotImplementedError

    def _tell(self) -> None:
        """Tell that the value, or what is kept back, is another."""
        self.changed.emit()

    def _set(self, whole: BaseModel, path: Path, value: Any) -> BaseModel:
        return with_value(whole, path, value)

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
        return value_at(self.whole, path)

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
        new, before = edit(self.whole), self.pending
        if path is not None:
            self.pending = kept_moved(before, path, goes_to)
        try:
            self._take(name, new)
        except EditError:
            self.pending = before
            raise

    def forget(self, path: Path) -> None:
        """Drop what was kept back at a path and below it."""
        self.pending = kept_outside(self.pending, path)

    def commit(
        self, model: type[BaseModel], field: FieldSpec, parents: Sequence[Path], raw: str | bool
    ) -> bool:
        """Set one field of every parent, as one act (see `typed.put`).

        Returns:
            Whether it is allowed. If not, the text is kept with its sentence and the value stays as it was.
        """
        typed = put(
            self.whole,
            self.pending,
            model,
            field,
            parents,
            raw,
            place=self._set,
            choices=self.choices(field, parents[0]),
            locale=self.locale,
        )
        before, self.pending = self.pending, typed.kept
        if typed.whole == self.whole:
            self._tell()
            return not typed.refused
        try:
            self._take(typed.name, typed.whole)
        except EditError as error:
            # Allowed in what is seen; another option, or the base design, cannot follow.
            paths = [(*parent, field.name) for parent in parents]
            self.pending = with_refused(before, paths, raw, reason_of(error))
            self._tell()
            return False
        return True

    def kept_back(self) -> tuple[Finding, ...]:
        """What was typed and is not allowed, as findings."""
        return kept_findings(self.pending)
