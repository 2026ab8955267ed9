"""Lines as the toolkit's model of rows, with their order, their boxes and what a screen reader says."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, overload

from PySide6.QtCore import QAbstractItemModel, QModelIndex, QObject, QPersistentModelIndex, Qt, Signal
from PySide6.QtGui import QColor, QFont

from estimator.desk.plain import shown_text, tip
from estimator.desk.tables.lines import Column, TableLine, below, with_tick

__all__ = ["LinesModel"]

Index = QModelIndex | QPersistentModelIndex
_TOP = -1
_ROLE = Qt.ItemDataRole
_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter

# By whether a line has a key and a cell a box. Put together once: the toolkit asks for every cell at every paint.
_FLAGS = {
    (key, box): Qt.ItemFlag.ItemIsEnabled
    | (Qt.ItemFlag.ItemIsSelectable if key else Qt.ItemFlag.NoItemFlags)
    | (Qt.ItemFlag.ItemIsUserCheckable if box else Qt.ItemFlag.NoItemFlags)
    for key in (False, True)
    for box in (False, True)
}


class LinesModel(QAbstractItemModel):
    """The lines; each has a number that stays while they are sorted.

    Args:
        sentences: the one column holds sentences over several lines.
        parent: what it lives with.

    Signals:
        ticked: key of a line and whether its box is now ticked.
    """

    ticked = Signal(str, bool)

    def __init__(self, sentences: bool, parent: QObject) -> None:
        super().__init__(parent)
        self.sentences = sentences
        self.columns: tuple[Column, ...] = ()
        self.lines: tuple[TableLine, ...] = ()
        self._order: tuple[int, Qt.SortOrder] = (-1, Qt.SortOrder.AscendingOrder)
        self._flat: list[TableLine] = []
        self._above: list[int] = []
        self._at: list[int] = []
        self._below: dict[int, list[int]] = {_TOP: []}
        self._numbers: dict[str, int] = {}
        self._touched = False
        self._bold = QFont()
        self._bold.setBold(True)

    # Showing.

    def show_columns(self, columns: tuple[Column, ...]) -> None:
        """Other columns; the lines go."""
        self.beginResetModel()
        self.columns = columns
        self._take(())
        self.endResetModel()

    def rename(self, columns: tuple[Column, ...]) -> None:
        """Other headings for the same columns."""
        self.columns = columns
        self.headerDataChanged.emit(Qt.Orientation.Horizontal, 0, len(columns) - 1)

    def holds(self, lines: tuple[TableLine, ...]) -> bool:
        """Whether just these lines are shown, with the boxes as given."""
        return lines == self.lines and not self._touched

    def show_lines(self, lines: tuple[TableLine, ...]) -> bool:
        """Show other lines; whether the rows are others than before (True) or only what stands in them."""
        before = [(line.key, len(line.children)) for line in self._flat]
        if before == [(line.key, len(line.children)) for line in below(lines)]:
            if self._order[0] < 0:
                self._take(lines)
            else:
                self._sorted(lines)
            for number, rows in self._below.items():
                if rows:
                    top = self.index_of(number)
                    last = self.index(len(rows) - 1, len(self.columns) - 1, top)
                    self.dataChanged.emit(self.index(0, 0, top), last)
            return False
        self.beginResetModel()
        self._take(lines)
        self.endResetModel()
        return True

    def _take(self, lines: tuple[TableLine, ...]) -> None:
        self.lines, self._touched = lines, False
        self._flat, self._above, self._below = [], [], {_TOP: []}
        self._add(lines, _TOP)
        # Of two lines with one key the first is meant.
        self._numbers = {line.key: i for i, line in reversed(list(enumerate(self._flat)))}
        self._arrange()

    def _add(self, some: Sequence[TableLine], above: int) -> None:
        for line in some:
            number = len(self._flat)
            self._flat.append(line)
            self._above.append(above)
            self._below[above].append(number)
            self._below[number] = []
            self._add(line.children, number)

    def _arrange(self) -> None:
        column, order = self._order
        for numbers in self._below.values():
            numbers.sort()
            if 0 <= column < len(self.columns):
                numbers.sort(
                    key=lambda n: self._rank(n, column), reverse=order is Qt.SortOrder.DescendingOrder
                )
        self._at = [0] * len(self._flat)
        for numbers in self._below.values():
            for row, number in enumerate(numbers):
                self._at[number] = row

    def _rank(self, number: int, column: int) -> tuple[bool, float, str]:
        line = self._flat[number]
        rank = line.orders[column] if line.orders else line.cells[column]
        return (True, 0.0, rank) if isinstance(rank, str) else (False, float(rank), "")

    def sort(self, column: int, order: Qt.SortOrder = Qt.SortOrder.AscendingOrder) -> None:
        """Sort by a column, -1 for the order in which the lines were given."""
        self._order = (column, order)
        self._sorted(self.lines)

    def _sorted(self, lines: tuple[TableLine, ...]) -> None:
        self.layoutAboutToBeChanged.emit()
        kept = self.persistentIndexList()
        self._take(lines)
        self.changePersistentIndexList(kept, [self.index_of(i.internalId(), i.column()) for i in kept])
        self.layoutChanged.emit()

    # Where a line is.

    def line(self, index: Index) -> TableLine:
        """The line of an index."""
        return self._flat[index.internalId()]

    def find(self, key: str) -> QModelIndex:
        """Where a line is, no valid index for none of that key."""
        number = self._numbers.get(key)
        return QModelIndex() if number is None else self.index_of(number)

    def index_of(self, number: int, column: int = 0) -> QModelIndex:
        """The index of the line with this number."""
        return QModelIndex() if number == _TOP else self.createIndex(self._at[number], column, number)

    def shown(self, above: int = _TOP) -> list[int]:
        """Numbers of the lines in the order of the rows, those below others too."""
        found = []
        for number in self._below[above]:
            found += [number, *self.shown(number)]
        return found

    def set_tick(self, key: str, tick: bool) -> None:
        """Tick the box of a line, or not."""
        index = self.find(key)
        if index.isValid() and self.line(index).tick not in (None, tick):
            self._flat[index.internalId()] = with_tick(self.line(index), tick)
            self._touched = True
            self.dataChanged.emit(index, index)
            self.ticked.emit(key, tick)

    # What the toolkit asks.

    def _below_index(self, parent: Index) -> list[int]:
        return self._below[parent.internalId() if parent.isValid() else _TOP]

    def index(self, row: int, column: int, parent: Index = QModelIndex()) -> QModelIndex:  # noqa: B008
        """The index of a row below a parent."""
        rows = self._below_index(parent)
        if not (0 <= row < len(rows) and 0 <= column < len(self.columns)):
            return QModelIndex()
        return self.createIndex(row, column, rows[row])

    @overload
    def parent(self) -> QObject | None: ...
    @overload
    def parent(self, child: Index) -> QModelIndex: ...
    def parent(self, child: Index | None = None) -> QObject | QModelIndex | None:
        """The row above a row."""
        if child is None:
            return super().parent()
        return self.index_of(self._above[child.internalId()]) if child.isValid() else QModelIndex()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """Number of rows below a row."""
        return 0 if parent.isValid() and parent.column() else len(self._below_index(parent))

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """Number of columns."""
        return len(self.columns)

    def flags(self, index: Index) -> Qt.ItemFlag:
        """What can be done with a cell."""
        if not index.isValid():
            return Qt.ItemFlag.NoItemFlags
        line = self.line(index)
        return _FLAGS[bool(line.key), line.tick is not None and index.column() == 0]

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = 0) -> Any:
        """Headings with their meaning as tip."""
        if orientation is Qt.Orientation.Vertical or not 0 <= section < len(self.columns):
            return None
        column = self.columns[section]
        if role == _ROLE.DisplayRole:
            return column.heading
        if role == _ROLE.ToolTipRole:
            return tip(column.tip)
        if role == _ROLE.TextAlignmentRole:
            across = Qt.AlignmentFlag.AlignRight if column.figures else Qt.AlignmentFlag.AlignLeft
            return across | Qt.AlignmentFlag.AlignTop
        return None

    def data(self, index: Index, role: int = 0) -> Any:
        """Text, look, box; a screen reader hears a whole line at its first cell, its heading at others."""
        if not index.isValid():
            return None
        line, at = self._flat[index.internalId()], index.column()
        if role == _ROLE.DisplayRole:
            text = shown_text(line.cells[at])
            return text if self.sentences else text.replace("\n", " ")
        look = line.looks[at] if line.looks else None
        if role == _ROLE.ForegroundRole:
            colour = look.colour if look and look.colour else line.colour
            return QColor(colour) if colour else None
        if role == _ROLE.FontRole:
            return self._bold if line.bold or (look and look.bold) else None
        if role == _ROLE.TextAlignmentRole:
            return _RIGHT if self.columns[at].figures else _LEFT
        if role == _ROLE.CheckStateRole and at == 0 and line.tick is not None:
            return Qt.CheckState.Checked if line.tick else Qt.CheckState.Unchecked
        if role == _ROLE.ToolTipRole:
            own = look.tip if look else ""
            return tip(own or line.told or ("" if self.sentences else line.cells[at]))
        if role == _ROLE.AccessibleTextRole:
            return shown_text(self._said(line, at))
        if role == _ROLE.AccessibleDescriptionRole:
            return shown_text(line.told)
        return None

    def _said(self, line: TableLine, at: int) -> str:
        if len(self.columns) == 1:
            return line.cells[at]
        headings = [" ".join(c.heading.split()) for c in self.columns]
        pairs = list(zip(headings, line.cells, strict=True))
        return ", ".join(f"{h}: {c}" for h, c in (pairs if at == 0 else [pairs[at]]) if c)

    def setData(self, index: Index, value: Any, role: int = _ROLE.EditRole) -> bool:
        """Only boxes can be changed."""
        if role != _ROLE.CheckStateRole or not index.isValid() or index.column():
            return False
        self.set_tick(self.line(index).key, Qt.CheckState(value) is Qt.CheckState.Checked)
        return True
