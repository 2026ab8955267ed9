"""A table to read: rows of words and figures, by keyboard and by screen reader."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from heapq import nlargest

from PySide6.QtCore import (
    QItemSelectionModel,
    QMetaMethod,
    QModelIndex,
    QPersistentModelIndex,
    QRect,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QFont, QFontMetrics, QGuiApplication, QKeyEvent, QKeySequence, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTreeView,
    QWidget,
)

from estimator.desk.tables.lines import Column, TableLine, below, columns_of, copied
from estimator.desk.tables.model import LinesModel

__all__ = ["ReadTable"]

_FLAG = QItemSelectionModel.SelectionFlag
_MEASURED = 12
"""The widest text of a column is among this many of its longest ones."""
_CELL, _HEADING, _BOX = 16, 24, 20
"""Beside a text: margins of a cell, of a heading with its sign of order, and the box of a line (pixels)."""
_INDENT = 14
_HIGH = 100_000
_MOST_KNOWN = 5_000


class _Heights(QStyledItemDelegate):
    """One line for each row; a sentence is as high as its lines."""

    def __init__(self, table: ReadTable) -> None:
        super().__init__(table)
        self._table = table
        self._known: dict[tuple[str, int, str], int] = {}

    def sizeHint(self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex) -> QSize:
        """Room for the text of a cell."""
        table = self._table
        if table.lines_model.sentences:
            width = max(table.columnWidth(0) - _CELL, 40)
            return QSize(width + _CELL, self._height(str(index.data()), width) + 8)
        size = super().sizeHint(option, index)
        size.setHeight(table.fontMetrics().height() + 9)
        return size

    def _height(self, text: str, width: int) -> int:
        """Of a sentence broken at a width (pixels), found once: one row that goes has all laid out anew."""
        key = (text, width, self._table.font().key())
        if key not in self._known:
            if len(self._known) >= _MOST_KNOWN:
                self._known.clear()
            flags = Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignLeft
            room = QRect(0, 0, width, _HIGH)
            self._known[key] = self._table.fontMetrics().boundingRect(room, flags, text).height()
        return self._known[key]


class ReadTable(QTreeView):
    """Rows that are read and chosen, not edited.

    Args:
        name: what a screen reader calls it.
        description: what the keys do.
        columns: each a column, or a heading, which with ">" in front is one of figures.
        sentences: the one column holds sentences, which run over several lines; it needs no heading.
        sortable: a click on a heading sorts.
        fill: the column that takes what the others leave, None for none.
        least: what that column has at least, in letters, if its texts need it.
        always: some row is under the keyboard as long as there is one.

    Signals:
        entered: key of a row on which Enter was pressed or that was double clicked.
        chosen: key of the current row, "" for none.
        picked: other rows are selected.
        ticked: key of a row and whether its box is now ticked.
    """

    entered = Signal(str)
    chosen = Signal(str)
    picked = Signal()
    ticked = Signal(str, bool)

    def __init__(
        self,
        name: str,
        description: str,
        columns: Sequence[str | Column],
        parent: QWidget,
        *,
        sentences: bool = False,
        sortable: bool = False,
        fill: int | None = 0,
        least: int = 22,
        always: bool = False,
    ) -> None:
        super().__init__(parent)
        self._fill, self._least, self._always = fill, least, always
        self._widths: list[int] = []
        self._folded: set[str] = set()
        self._quiet = False
        self.lines_model = LinesModel(sentences, self)
        self.setModel(self.lines_model)
        self.setItemDelegate(_Heights(self))
        self.setAccessibleName(name)
        self.setAccessibleDescription(f"{description} Ctrl+C copies the selected rows.".strip())
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setRootIsDecorated(False)
        self.setIndentation(0)
        self.setUniformRowHeights(not sentences)
        self.setAlternatingRowColors(not sentences)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        header = self.header()
        header.setStretchLastSection(False)
        header.setSectionsMovable(False)
        header.setMinimumSectionSize(24)
        header.setSectionResizeMode(QHeaderView.ResizeMode.Interactive)
        if sentences:
            self.setHeaderHidden(True)
            self.setWordWrap(True)
            self.setTextElideMode(Qt.TextElideMode.ElideNone)
            self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
            self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        if sortable:
            header.setSortIndicatorClearable(True)
            header.setSortIndicator(-1, Qt.SortOrder.AscendingOrder)
            self.setSortingEnabled(True)
        self.set_columns(columns)
        self.lines_model.ticked.connect(self.ticked)
        model = self.selectionModel()
        model.currentChanged.connect(lambda *_: self._tell())
        model.selectionChanged.connect(lambda *_: None if self._quiet else self.picked.emit())
        self.collapsed.connect(lambda index: self._folded.add(self.lines_model.line(index).key))
        self.expanded.connect(lambda index: self._folded.discard(self.lines_model.line(index).key))
        self.doubleClicked.connect(self._enter)

    # What is shown.

    def set_columns(self, columns: Sequence[str | Column]) -> None:
        """Other headings. The rows stay if there are as many columns, and go otherwise."""
        wanted, model = columns_of(columns), self.lines_model
        if wanted == model.columns:
            return
        if len(wanted) == len(model.columns):
            model.rename(wanted)
        else:
            model.show_columns(wanted)
        self._measure()

    @property
    def lines(self) -> tuple[TableLine, ...]:
        """What is shown, in the order in which it was given."""
        return self.lines_model.lines

    @property
    def keys(self) -> list[str]:
        """Keys in the order of the rows, those below others too."""
        model = self.lines_model
        return [model.line(model.index_of(number)).key for number in model.shown()]

    def line_of(self, key: str) -> TableLine | None:
        """The line of a key as it is now, None for none."""
        index = self.lines_model.find(key)
        return self.lines_model.line(index) if index.isValid() else None

    @property
    def current(self) -> str:
        """Key of the current row, "" for none."""
        index = self.currentIndex()
        return self.lines_model.line(index).key if index.isValid() else ""

    @property
    def selected(self) -> list[str]:
        """Keys of the selected rows, from the top."""
        chosen = {self.lines_model.line(index).key for index in self.selectionModel().selectedRows()}
        return [key for key in self.keys if key in chosen] if chosen else []

    def select(self, key: str) -> bool:
        """Put the keyboard on a row; False if there is none of that key."""
        index = self.lines_model.find(key)
        if index.isValid():
            self.setCurrentIndex(index)
            self.scrollTo(index)
        return index.isValid()

    def show_selected(self, keys: Iterable[str]) -> None:
        """Select the rows of these keys, without telling."""
        wanted = set(keys)
        if set(self.selected) == wanted:
            return
        self._quiet = True
        model = self.selectionModel()
        model.clearSelection()
        found = [index for index in map(self.lines_model.find, wanted) if index.isValid()]
        for index in found:
            model.select(index, _FLAG.Select | _FLAG.Rows)
        if found:
            first = min(found, key=lambda index: index.row())
            model.setCurrentIndex(first, _FLAG.NoUpdate)
            self.scrollTo(first)
        self._quiet = False

    def tick(self, key: str, tick: bool) -> None:
        """Tick the box of a row, or not, and tell it."""
        self.lines_model.set_tick(key, tick)

    def show_lines(self, lines: Sequence[TableLine]) -> None:
        """Show other rows; what was selected, folded and under the keyboard stays."""
        wanted, model = tuple(lines), self.lines_model
        if model.holds(wanted):
            return
        current, place, selected = self.current, self._place(), self.selected
        self._quiet = True
        if model.show_lines(wanted):
            grouped = any(line.children for line in wanted)
            self.setRootIsDecorated(grouped)
            self.setIndentation(_INDENT if grouped else 0)
            if grouped:
                folded = set(self._folded)
                self.expandAll()
                self._folded = folded
                for key in folded:
                    index = model.find(key)
                    if index.isValid():
                        self.collapse(index)
            self._restore(current, place, selected)
        elif model.sentences:
            self.scheduleDelayedItemsLayout()
        self._quiet = False
        self._measure()
        self._tell()

    def _place(self) -> int:
        current = self.current
        return self.keys.index(current) if self._always and current else 0

    def _restore(self, current: str, place: int, selected: list[str]) -> None:
        model, keys = self.lines_model, self.keys if self._always else []
        index = model.find(current) if current else QModelIndex()
        if not index.isValid() and keys:
            index = model.index_of(model.shown()[min(place, len(keys) - 1)])
            selected = [model.line(index).key]
        if index.isValid():
            self.selectionModel().setCurrentIndex(index, _FLAG.NoUpdate)
            self.scrollTo(index)
        for key in selected:
            if key and (again := model.find(key)).isValid():
                self.selectionModel().select(again, _FLAG.Select | _FLAG.Rows)

    def _tell(self) -> None:
        if not self._quiet:
            self.chosen.emit(self.current)

    # Widths: from the longest texts of a column, so that the work grows with the rows and no faster.

    def _measure(self) -> None:
        model = self.lines_model
        rows = list(below(model.lines))
        bold = QFont(self.font())
        bold.setBold(True)
        metrics = QFontMetrics(bold)
        grouped = any(line.children for line in model.lines)
        ticked = any(line.tick is not None for line in rows)
        most = metrics.averageCharWidth() * 44
        widths = []
        for i, column in enumerate(model.columns):
            texts = nlargest(_MEASURED, {line.cells[i] for line in rows}, key=len)
            beside = _CELL + (2 * _INDENT * grouped + _BOX * ticked if i == 0 else 0)
            cells = max((metrics.horizontalAdvance(text) for text in texts), default=0) + beside
            heading = max(metrics.horizontalAdvance(line) for line in column.heading.split("\n"))
            widths.append(max(cells if i == self._filled else min(cells, most), heading + _HEADING))
        if widths == self._widths:
            return
        self._widths = widths
        for i, width in enumerate(widths):
            self.header().resizeSection(i, width)
        self._fit()

    @property
    def _filled(self) -> int | None:
        return None if self._fill is None else self._fill % max(len(self.lines_model.columns), 1)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """One column takes what the others leave."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        filled, header = self._filled, self.header()
        if filled is None or not self._widths:
            return
        others = sum(header.sectionSize(i) for i in range(len(self._widths)) if i != filled)
        beside = self.indentation() * 2 if filled == 0 else 0
        least = min(self._widths[filled], self.fontMetrics().averageCharWidth() * self._least + beside)
        before, now = header.sectionSize(filled), max(self.viewport().width() - others, least)
        if self.lines_model.sentences:
            now = self.viewport().width()
        header.resizeSection(filled, now)
        if self.lines_model.sentences and before != now:
            self.scheduleDelayedItemsLayout()

    # Keys.

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter leads on, the space bar ticks, Ctrl+C copies."""
        index = self.currentIndex()
        if event.matches(QKeySequence.StandardKey.Copy):
            self.copy_rows()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            # Where Enter leads nowhere it is for the dialog that the table stands in.
            leads = self.isSignalConnected(QMetaMethod.fromSignal(self.entered))
            event.setAccepted(leads and index.isValid())
            if event.isAccepted():
                self._enter(index)
        elif event.key() == Qt.Key.Key_Space and index.isValid():
            line = self.lines_model.line(index)
            if line.tick is not None:
                self.tick(line.key, not line.tick)
            else:
                super().keyPressEvent(event)
        else:
            super().keyPressEvent(event)

    def _enter(self, index: QModelIndex) -> None:
        if index.isValid() and (key := self.lines_model.line(index).key):
            self.entered.emit(key)

    def copy_rows(self) -> None:
        """The selected rows to the clipboard, for a spreadsheet."""
        found = [line for key in self.selected if (line := self.line_of(key)) is not None]
        if found:
            QGuiApplication.clipboard().setText(copied(found))
