"""A form grown from the field declarations of a model class, for one value or several rows at once."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from pydantic import BaseModel
from PySide6.QtWidgets import QGridLayout, QGroupBox, QVBoxLayout, QWidget

from estimator.acts.typed import Path
from estimator.desk.form.fields import FieldEditor
from estimator.desk.form.rows import RowForm, RowsEditor
from estimator.desk.holder import Holder
from estimator.desk.plain import tip
from estimator.model.spec import FieldKind, FieldSpec, fields_of
from estimator.units import UnitSystem

__all__ = ["Form"]

_LABEL_ROOM = (120, 104, 80)
"""Pixels that the labels of a form have at least, by how many groups it stands in."""


class Form(RowForm):
    """Inputs for the declared fields of a model; groups become boxes, lists become tables.

    Args:
        holder: what is edited.
        model: class of the values.
        skip: names of fields that stand elsewhere.
        level: how many groups it stands in; as their frames take room, labels and margins have less.
    """

    def __init__(
        self,
        holder: Holder,
        model: type[BaseModel],
        *,
        skip: Sequence[str] = (),
        parent: QWidget | None = None,
        level: int = 0,
    ) -> None:
        super().__init__(parent)
        self._holder = holder
        self.model = model
        self.editors = {}
        self.groups: dict[str, Form] = {}
        self.lists = {}
        self._parents: tuple[Path, ...] = ()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(10)
        grid: QGridLayout | None = None
        for field in fields_of(model):
            if field.name in skip:
                continue
            if field.kind is FieldKind.GROUP and field.model is not None:
                box, inside = self._box(field, level)
                self.groups[field.name] = Form(holder, field.model, parent=box, level=level + 1)
                inside.addWidget(self.groups[field.name])
                column.addWidget(box)
                grid = None
            elif field.kind is FieldKind.LIST and field.model is not None:
                box, inside = self._box(field, level)
                form = partial(Form, level=level + 1)
                self.lists[field.name] = RowsEditor(
                    holder, field.model, field.label, form=form, parent=box, nested=True
                )
                inside.addWidget(self.lists[field.name])
                column.addWidget(box)
                grid = None
            else:
                if grid is None:
                    grid = QGridLayout()
                    grid.setHorizontalSpacing(8)
                    grid.setVerticalSpacing(6)
                    grid.setColumnMinimumWidth(0, _LABEL_ROOM[min(level, len(_LABEL_ROOM) - 1)])
                    grid.setColumnStretch(0, 2)
                    grid.setColumnStretch(1, 5)
                    column.addLayout(grid)
                editor = FieldEditor(holder, model, field, self)
                self.editors[field.name] = editor
                row = grid.rowCount()
                grid.addWidget(editor.label, row, 0)
                grid.addWidget(editor.box, row, 1)
                grid.addWidget(editor.error, row + 1, 0, 1, 2)

    def _box(self, field: FieldSpec, level: int) -> tuple[QGroupBox, QVBoxLayout]:
        """A frame for a group or a list, and the column in it."""
        box = QGroupBox(field.label, self)
        box.setToolTip(tip(field.help))
        inside = QVBoxLayout(box)
        inside.setContentsMargins(*((4, 6, 4, 4) if level == 0 else (2, 4, 2, 2)))
        return box, inside

    @property
    def parents(self) -> tuple[Path, ...]:
        """Paths of the values that are edited."""
        return self._parents

    def bind(self, parents: Sequence[Path]) -> None:
        """Edit these values from now on; all must be of the form's model."""
        self._parents = tuple(parents)
        for editor in self.editors.values():
            editor.bind(self._parents)
        several = len(self._parents) > 1
        for name in ("id", "code"):
            if name in self.editors:
                self.editors[name].input.setEnabled(not several)
        for name, form in self.groups.items():
            form.bind([(*p, name) for p in self._parents])
        for name, rows in self.lists.items():
            rows.setEnabled(len(self._parents) == 1)
            rows.bind((*self._parents[0], name) if len(self._parents) == 1 else None)

    def refresh(self, system: UnitSystem) -> None:
        """Show what holds."""
        for editor in self.editors.values():
            editor.refresh(system)
        for form in self.groups.values():
            form.refresh(system)
        for rows in self.lists.values():
            rows.refresh(system)

    def first_editor(self) -> FieldEditor | None:
        """The editor that stands first on the form, groups entered."""
        for field in fields_of(self.model):
            if field.name in self.editors:
                return self.editors[field.name]
            if field.name in self.groups and (first := self.groups[field.name].first_editor()) is not None:
                return first
        return None

    def editor_at(self, path: Path) -> FieldEditor | None:
        """The editor of a field below this form's values, None if there is none; selects rows on the way."""
        if not path:
            return self.first_editor()
        name, rest = str(path[0]), path[1:]
        if name in self.editors:
            return self.editors[name]
        if name in self.groups:
            return self.groups[name].editor_at(rest)
        if name in self.lists:
            return self.lists[name].editor_at(rest)
        return None
