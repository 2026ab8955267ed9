"""A list of rows: a table to see and select them, buttons to change the list, a form for what is selected."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, Final

from pydantic import BaseModel, ValidationError
from PySide6.QtCore import (
    QAbstractTableModel,
    QItemSelectionModel,
    QModelIndex,
    QPersistentModelIndex,
    QSortFilterProxyModel,
    Qt,
    Signal,
)
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QSplitter,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from estimator.acts import rows as acts
from estimator.acts.row_titles import row_title
from estimator.acts.typed import Path, text_of
from estimator.desk.flow import Flow
from estimator.desk.form.fields import FieldEditor
from estimator.desk.form.inputs import ComboBox
from estimator.desk.holder import Holder
from estimator.desk.plain import Label, shown_text, tip
from estimator.model.edit import EditError
from estimator.model.spec import FieldKind, FieldSpec, fields_of
from estimator.units import UnitSystem

__all__ = ["ROW_ACTS", "RowAct", "RowForm", "RowsEditor", "RowsModel"]

Index = QModelIndex | QPersistentModelIndex
_SIMPLE = (
    FieldKind.TEXT,
    FieldKind.QUANTITY,
    FieldKind.NUMBER,
    FieldKind.WHOLE,
    FieldKind.FLAG,
    FieldKind.CHOICE,
    FieldKind.DATE,
)
_PLAIN_ROLE = Qt.ItemDataRole.UserRole + 1


class RowsModel(QAbstractTableModel):
    """The rows of a list of a holder's value; a cell edits its field."""

    def __init__(self, holder: Holder, model: type[BaseModel], parent: QWidget) -> None:
        super().__init__(parent)
        self._holder = holder
        self._row_model = model
        self.path: Path | None = None
        self.fields: tuple[FieldSpec, ...] = tuple(f for f in fields_of(model) if f.kind in _SIMPLE)
        self._rows: tuple[Any, ...] = ()
        self._choices: dict[str, dict[str, str]] = {}

    @property
    def rows(self) -> tuple[Any, ...]:
        """The rows as they were at the last refresh."""
        return self._rows

    def refresh(self) -> None:
        """Show what holds; the selection survives unless the number of rows changes."""
        rows = () if self.path is None else tuple(self._holder.at(self.path))
        self._choices = {}
        if len(rows) != len(self._rows):
            self.beginResetModel()
            self._rows = rows
            self.endResetModel()
        else:
            self._rows = rows
            if rows:
                self.dataChanged.emit(self.index(0, 0), self.index(len(rows) - 1, len(self.fields) - 1))

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """Number of rows."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """Number of fields that fit a cell."""
        return 0 if parent.isValid() else len(self.fields)

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = 0) -> Any:
        """Field labels across, row numbers down."""
        if orientation is Qt.Orientation.Vertical:
            return str(section + 1) if role == Qt.ItemDataRole.DisplayRole else None
        if role == Qt.ItemDataRole.DisplayRole:
            return self.fields[section].label
        if role == Qt.ItemDataRole.ToolTipRole:
            return tip(self.fields[section].help)
        return None

    def _cell_path(self, index: Index) -> Path:
        assert self.path is not None
        return (*self.path, index.row(), self.fields[index.column()].name)

    def _shown(self, field: FieldSpec, value: Any) -> str:
        if field.kind is FieldKind.FLAG:
            return "Yes" if value else "No"
        if value is None:
            return "–"
        text = text_of(field, value, self._holder.locale)
        if field.kind is FieldKind.CHOICE:
            # The toolkit asks for each cell at every paint; what can be chosen changes with a refresh alone.
            if field.name not in self._choices:
                self._choices[field.name] = dict(self._holder.choices(field, self.path or ()))
            return self._choices[field.name].get(text, f"{text} (not known here)")
        return text

    def data(self, index: Index, role: int = 0) -> Any:
        """Text of a cell; a text that is kept back is shown with a cross and its sentence as tip."""
        if not index.isValid() or self.path is None:
            return None
        field = self.fields[index.column()]
        pending = self._holder.pending.get(self._cell_path(index))
        value = getattr(self._rows[index.row()], field.name)
        if role == Qt.ItemDataRole.DisplayRole:
            return shown_text(f"✕ {pending.raw}" if pending else self._shown(field, value))
        if role == Qt.ItemDataRole.EditRole:
            if pending:
                return str(pending.raw)
            return value if field.kind is FieldKind.FLAG else text_of(field, value, self._holder.locale)
        if role == Qt.ItemDataRole.ToolTipRole:
            return tip(self._holder.why(self._cell_path(index))) if pending else None
        if role == Qt.ItemDataRole.AccessibleTextRole:
            text = f"{field.label}: {self._shown(field, value)}"
            return shown_text(
                text + (f". Not allowed: {self._holder.why(self._cell_path(index))}" if pending else "")
            )
        if role == Qt.ItemDataRole.TextAlignmentRole and field.kind in (
            FieldKind.NUMBER,
            FieldKind.WHOLE,
            FieldKind.QUANTITY,
        ):
            return Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        if role == _PLAIN_ROLE:
            return " ".join(self._shown(f, getattr(self._rows[index.row()], f.name)) for f in self.fields)
        return None

    def setData(self, index: Index, value: Any, role: int = 0) -> bool:
        """Commit a cell; what is not allowed is kept in the cell with its sentence."""
        if role != Qt.ItemDataRole.EditRole or self.path is None:
            return False
        if value == self.data(index, Qt.ItemDataRole.EditRole):
            return True
        raw = value if isinstance(value, bool) else str(value)
        field = self.fields[index.column()]
        return self._holder.commit(self._row_model, field, [(*self.path, index.row())], raw)

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Every cell can be edited."""
        return super().flags(index) | Qt.ItemFlag.ItemIsEditable


class _CellDelegate(QStyledItemDelegate):
    """Choices as a combo box, everything else as a line."""

    def __init__(self, holder: Holder, rows: RowsModel, parent: QWidget) -> None:
        super().__init__(parent)
        self._holder = holder
        self._rows = rows

    def createEditor(self, parent: QWidget, option: QStyleOptionViewItem, index: Index) -> QWidget:
        """The input of a cell."""
        field = self._rows.fields[index.column()]
        if field.kind is FieldKind.CHOICE:
            combo = ComboBox(parent)
            if field.optional:
                combo.addItem("Not stated", "")
            for key, name in self._holder.choices(field, self._rows.path or ()):
                combo.offer(name, key)
            combo.activated.connect(lambda _: self._done(combo))
            editor: QWidget = combo
        elif field.kind is FieldKind.FLAG:
            combo = ComboBox(parent)
            combo.addItem("Yes", True)
            combo.addItem("No", False)
            combo.activated.connect(lambda _: self._done(combo))
            editor = combo
        else:
            editor = QLineEdit(parent)
        editor.setAccessibleName(field.label)
        editor.setAccessibleDescription(field.help)
        editor.setAutoFillBackground(True)
        return editor

    def _done(self, editor: QWidget) -> None:
        self.commitData.emit(editor)
        self.closeEditor.emit(editor, QStyledItemDelegate.EndEditHint.NoHint)

    def setEditorData(self, editor: QWidget, index: Index) -> None:
        """Show the cell's value in its input."""
        value = index.data(Qt.ItemDataRole.EditRole)
        if isinstance(editor, ComboBox):
            editor.setCurrentIndex(editor.findData(value))
        elif isinstance(editor, QLineEdit):
            editor.setText(str(value))
            editor.selectAll()

    def setModelData(self, editor: QWidget, model: Any, index: Index) -> None:
        """Hand the input's value over."""
        if isinstance(editor, ComboBox):
            if editor.currentIndex() >= 0:
                model.setData(index, editor.currentData(), Qt.ItemDataRole.EditRole)
        elif isinstance(editor, QLineEdit):
            model.setData(index, editor.text(), Qt.ItemDataRole.EditRole)


class _Table(QTableView):
    """A table whose Tab leaves it and whose Delete removes rows."""

    delete_pressed = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Delete removes what is selected."""
        if event.key() == Qt.Key.Key_Delete and self.state() != QAbstractItemView.State.EditingState:
            self.delete_pressed.emit()
            return
        super().keyPressEvent(event)


class RowForm(QWidget):
    """What stands below a table: inputs for all fields of the selected rows."""

    editors: dict[str, FieldEditor]
    lists: dict[str, RowsEditor]

    def bind(self, parents: Sequence[Path]) -> None:
        """Edit these values from now on."""
        raise NotImplementedError

    def refresh(self, system: UnitSystem) -> None:
        """Show what holds."""
        raise NotImplementedError

    def editor_at(self, path: Path) -> FieldEditor | None:
        """The editor of a field below the form's values, None if there is none."""
        raise NotImplementedError


@dataclass(frozen=True, slots=True)
class RowAct:
    """Something that is done with the rows of a list; buttons, menus and the list of keys read it here.

    Attributes:
        words: for a menu.
        button: on a button below the table; `short` where that is narrow.
        told: what it does, for a tip and a screen reader.
        does: does it.
        applies: whether it can be done now.
    """

    id: str
    words: str
    button: str
    short: str
    key: str
    told: str
    does: Callable[[RowsEditor], None]
    applies: Callable[[RowsEditor], bool]


ROW_ACTS: Final = (
    RowAct(
        "add",
        "&Add row",
        "Add",
        "Add",
        "Ctrl+Ins",
        "Add a row",
        lambda rows: rows.add(),
        lambda rows: rows.rows.path is not None,
    ),
    RowAct(
        "duplicate",
        "&Duplicate row",
        "Duplicate",
        "Copy",
        "Ctrl+D",
        "Add a copy of the selected row",
        lambda rows: rows.duplicate(),
        lambda rows: len(rows.selection) == 1,
    ),
    RowAct(
        "remove",
        "Re&move rows",
        "Remove",
        "Remove",
        "Ctrl+Del",
        "Remove the selected rows",
        lambda rows: rows.remove(),
        lambda rows: bool(rows.selection),
    ),
    RowAct(
        "up",
        "Move row u&p",
        "Move up",
        "↑",
        "Ctrl+Shift+Up",
        "Move the selected row up",
        lambda rows: rows.shift(-1),
        lambda rows: rows.can_shift(-1),
    ),
    RowAct(
        "down",
        "Move row do&wn",
        "Move down",
        "↓",
        "Ctrl+Shift+Down",
        "Move the selected row down",
        lambda rows: rows.shift(1),
        lambda rows: rows.can_shift(1),
    ),
)


class RowsEditor(QWidget):
    """Table, buttons and form of one list.

    Args:
        holder: what is edited.
        model: class of the rows.
        label: what the list is called.
        form: makes the form of the selected rows; none: the table alone.
        nested: it stands in a form, where there is less room.

    Signals:
        selected: positions of the selected rows, after a selection by the person or the program.
        said: a sentence for the status line.
    """

    selected = Signal(list)
    said = Signal(str)

    def __init__(
        self,
        holder: Holder,
        model: type[BaseModel],
        label: str,
        *,
        form: Callable[[Holder, type[BaseModel]], RowForm] | None,
        parent: QWidget | None = None,
        nested: bool = False,
        with_filter: bool = False,
    ) -> None:
        super().__init__(parent)
        self._holder = holder
        self.model = model
        self._label = label
        self._nested = nested
        self._system = UnitSystem.METRIC
        self.rows: RowsModel = RowsModel(holder, model, self)
        self._proxy = QSortFilterProxyModel(self)
        self._proxy.setSourceModel(self.rows)
        self._proxy.setFilterRole(_PLAIN_ROLE)
        self._proxy.setFilterCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        top = QWidget(self)
        column = QVBoxLayout(top)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(6)
        self.filter = QLineEdit(self)
        self.filter.setPlaceholderText("Show only rows with these words")
        self.filter.setAccessibleName(f"Filter {label}")
        self.filter.setAccessibleDescription("Only rows that hold this text are shown.")
        if with_filter:
            self.filter.setClearButtonEnabled(True)
            self.filter.textChanged.connect(self._proxy.setFilterFixedString)
            column.addWidget(self.filter)
        else:
            self.filter.hide()
        self.table = _Table(self)
        self.table.setModel(self._proxy)
        self.table.setAccessibleName(f"{label} table")
        self.table.setAccessibleDescription("Rows can be selected together; F2 edits a cell.")
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.table.setEditTriggers(
            QAbstractItemView.EditTrigger.DoubleClicked
            | QAbstractItemView.EditTrigger.EditKeyPressed
            | QAbstractItemView.EditTrigger.AnyKeyPressed
        )
        self.table.setTabKeyNavigation(False)
        self.table.setAlternatingRowColors(True)
        self.table.setShowGrid(False)
        self.table.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        line = self.table.fontMetrics().height() + 9
        self.table.verticalHeader().setDefaultSectionSize(line)
        self.table.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.table.horizontalHeader().setHighlightSections(False)
        self.table.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft)
        self.table.setItemDelegate(_CellDelegate(holder, self.rows, self.table))
        self.table.delete_pressed.connect(self.remove)
        self.table.setMinimumHeight(line * 5)
        if nested:
            self.table.setMaximumHeight(line * 6)
        column.addWidget(self.table, 1)
        column.addLayout(self._buttons())
        self.problem = Label("", self)
        self.problem.setObjectName("fieldError")
        self.problem.setWordWrap(True)
        self.problem.hide()
        column.addWidget(self.problem)
        self.heading = Label("", self)
        self.heading.setObjectName("rowHeading")
        self.form: RowForm | None = None if form is None else form(holder, model)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        if self.form is None:
            self.heading.hide()
            whole.addWidget(top)
        elif nested:
            whole.addWidget(top)
            whole.addWidget(self.heading)
            whole.addWidget(self.form)
        else:
            whole.addWidget(self._split(top, self.form))
        self.table.selectionModel().selectionChanged.connect(self._follow_selection)
        self._wanted: list[int] | None = None
        self._sized = False

    def _split(self, top: QWidget, form: RowForm) -> QSplitter:
        """Table above, form below; the form scrolls by itself."""
        below = QWidget(self)
        column = QVBoxLayout(below)
        column.setContentsMargins(0, 4, 0, 0)
        column.setSpacing(6)
        area = QScrollArea(below)
        area.setWidgetResizable(True)
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        body = QWidget(area)
        body.setObjectName("pageBody")
        inside = QVBoxLayout(body)
        inside.setContentsMargins(0, 0, 8, 0)
        inside.addWidget(form)
        inside.addStretch(1)
        area.setWidget(body)
        column.addWidget(self.heading)
        column.addWidget(area, 1)
        split = QSplitter(Qt.Orientation.Vertical, self)
        split.setChildrenCollapsible(False)
        split.setObjectName(f"rows {self._label}")
        split.addWidget(top)
        split.addWidget(below)
        split.setSizes([240, 300])
        return split

    def _buttons(self) -> Flow:
        row = Flow()
        self.buttons: dict[str, QPushButton] = {}
        for act in ROW_ACTS:
            # In a form there is less room; the arrows keep their words for a screen reader.
            button = QPushButton(act.short if self._nested else act.button, self)
            button.setAccessibleName(f"{act.button}: {self._label}")
            button.setAccessibleDescription(act.told)
            button.setToolTip(tip(act.told))
            button.setAutoDefault(False)
            button.clicked.connect(partial(self._do, act))
            self.buttons[act.id] = button
            row.add(button)
        return row

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Narrow buttons where the whole words do not fit."""
        super().resizeEvent(event)
        whole = [self.fontMetrics().horizontalAdvance(act.button) + 30 for act in ROW_ACTS]
        short = self._nested or sum(whole) > event.size().width()
        for act in ROW_ACTS:
            self.buttons[act.id].setText(act.short if short else act.button)

    def _do(self, act: RowAct) -> None:
        act.does(self)

    def bind(self, path: Path | None) -> None:
        """Edit the list at a path from now on; None for no list."""
        if path != self.rows.path:
            self.rows.path = path
            self.rows.refresh()
            self.table.clearSelection()

    def refresh(self, system: UnitSystem) -> None:
        """Show what holds."""
        self._system = system
        wanted = self._wanted if self._wanted is not None else self.selection
        self._wanted = None
        count = len(self.rows.rows)
        self.rows.refresh()
        if len(self.rows.rows) != count or wanted != self.selection:
            self.select([i for i in wanted if i < len(self.rows.rows)])
        if not self._sized and self.rows.rows:
            self._size_columns()
            self._sized = True
        self._show_form()

    def _size_columns(self) -> None:
        self.table.resizeColumnsToContents()
        widest = self.table.fontMetrics().averageCharWidth() * 34
        for i in range(self.rows.columnCount()):
            # The style's cell padding is not in the contents' width.
            self.table.setColumnWidth(i, min(self.table.columnWidth(i) + 14, widest))

    @property
    def selection(self) -> list[int]:
        """Positions of the selected rows in the list."""
        return sorted(
            self._proxy.mapToSource(index).row() for index in self.table.selectionModel().selectedRows()
        )

    def select(self, positions: Sequence[int]) -> None:
        """Select rows by their position in the list; a filter that hides one is taken off."""
        model = self.table.selectionModel()
        model.clearSelection()
        for position in positions:
            index = self._proxy.mapFromSource(self.rows.index(position, 0))
            if not index.isValid():
                self.filter.clear()
                index = self._proxy.mapFromSource(self.rows.index(position, 0))
            model.select(
                index, QItemSelectionModel.SelectionFlag.Select | QItemSelectionModel.SelectionFlag.Rows
            )
        if positions:
            index = self._proxy.mapFromSource(self.rows.index(positions[0], 0))
            model.setCurrentIndex(index, QItemSelectionModel.SelectionFlag.NoUpdate)
            self.table.scrollTo(index)

    def _follow_selection(self) -> None:
        self._show_form()
        self.selected.emit(self.selection)

    def _show_form(self) -> None:
        chosen = self.selection
        # An empty table in a form would only take room from the other fields.
        self.table.setVisible(bool(self.rows.rows) or not self._nested)
        for act in ROW_ACTS:
            self.buttons[act.id].setEnabled(act.applies(self))
        if self.form is None:
            return
        self.form.setVisible(bool(chosen))
        if not chosen or self.rows.path is None:
            self.heading.setText(
                "Select a row to see and change all of it."
                if self.rows.rows
                else "No rows yet: “Add” makes one."
            )
            return
        self.heading.setText(
            self._title(self.rows.path, chosen[0])
            if len(chosen) == 1
            else f"{len(chosen)} rows selected: a value set here is set for all of them"
        )
        self.form.bind([(*self.rows.path, i) for i in chosen])
        self.form.refresh(self._system)

    def _title(self, path: Path, position: int) -> str:
        title = row_title(self._holder.whole, path, position)
        return title[:1].upper() + title[1:]

    def _try(self, edit: Callable[[BaseModel, Path], acts.RowEdit]) -> None:
        self.problem.hide()
        path = self.rows.path
        if path is None:
            return
        before = self.selection
        try:
            found = edit(self._holder.whole, path)
            self._wanted = list(found.rows)
            self._holder.act(found.name, lambda _: found.whole, path, found.goes_to)
        except (acts.NothingToReferTo, EditError, ValidationError) as error:
            self._wanted = before
            text = str(error) if not isinstance(error, ValidationError) else "There is no room for more."
            self.problem.setText(f"✕ {text}")
            self.problem.show()
            self.said.emit(text)
        else:
            self.said.emit(found.name)

    def add(self) -> None:
        """A new row after the selected one, or at the end."""
        at = self.selection[-1] + 1 if self.selection else len(self.rows.rows)
        self._try(lambda whole, path: acts.added(whole, path, self.model, at, self._label))

    def duplicate(self) -> None:
        """A copy of the selected row right after it."""
        chosen = self.selection
        if len(chosen) == 1:
            self._try(lambda whole, path: acts.copied(whole, path, chosen[0], self._label))

    def remove(self) -> None:
        """Without the selected rows and what refers to them."""
        chosen = self.selection
        if chosen:
            self._try(lambda whole, path: acts.dropped(whole, path, chosen, self._label))

    def can_shift(self, by: int) -> bool:
        """Whether the selected row has a place above (-1) or below (+1)."""
        chosen = self.selection
        return len(chosen) == 1 and 0 <= chosen[0] + by < len(self.rows.rows)

    def shift(self, by: int) -> None:
        """The selected row up (-1) or down (+1)."""
        if self.can_shift(by):
            at = self.selection[0]
            self._try(lambda whole, path: acts.shifted(whole, path, at, at + by, self._label))

    def editor_at(self, path: Path) -> FieldEditor | None:
        """Select the row that a path leads to and give the editor of its field."""
        if not path or not isinstance(path[0], int) or path[0] >= len(self.rows.rows):
            return None
        self.select([path[0]])
        return self.form.editor_at(path[1:]) if self.form is not None else None
