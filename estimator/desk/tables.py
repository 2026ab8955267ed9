"""A table to read: rows of words and figures, by keyboard and by screen reader."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QColor, QResizeEvent
from PySide6.QtWidgets import QHeaderView, QLabel, QTreeWidget, QTreeWidgetItem, QWidget

__all__ = ["Line", "ReadTable", "plain_label"]

_KEY = Qt.ItemDataRole.UserRole
_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter


def plain_label(parent: QWidget, name: str = "", style: str = "", *, wrap: bool = True) -> QLabel:
    """A label for plain text, which is never read as markup."""
    label = QLabel(parent)
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setWordWrap(wrap)
    if name:
        label.setAccessibleName(name)
    if style:
        label.setObjectName(style)
    return label


@dataclass(frozen=True, slots=True)
class Line:
    """One row: its key, a text for each column, what a tip and a screen reader say more, a colour or none."""

    key: str
    cells: tuple[str, ...]
    told: str = ""
    colour: str = ""


class ReadTable(QTreeWidget):
    """Rows that are read and chosen, not edited.

    Args:
        name: what a screen reader calls it.
        description: what the keys do.
        columns: headings; one that begins with ">" holds figures.

    Signals:
        entered: key of a row on which Enter was pressed or that was double clicked.
        chosen: key of the current row, "" for none.
    """

    entered = Signal(str)
    chosen = Signal(str)

    def __init__(self, name: str, description: str, columns: Sequence[str], parent: QWidget) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.setAccessibleDescription(description)
        self.setRootIsDecorated(False)
        self.setAlternatingRowColors(True)
        self.setUniformRowHeights(True)
        self.setHorizontalScrollMode(QTreeWidget.ScrollMode.ScrollPerPixel)
        self._lines: tuple[Line, ...] = ()
        self._columns: tuple[str, ...] = ()
        self.header().setStretchLastSection(False)
        self.header().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.set_columns(columns)
        self.currentItemChanged.connect(lambda *_: self.chosen.emit(self.current))
        self.itemActivated.connect(lambda item: self.entered.emit(str(item.data(0, _KEY))))

    def set_columns(self, columns: Sequence[str]) -> None:
        """Other headings; the rows go."""
        if self._columns == tuple(columns):
            return
        self.clear()
        self._lines, self._columns = (), tuple(columns)
        self.setColumnCount(len(columns))
        self.setHeaderLabels([c.removeprefix(">") for c in columns])
        for i, column in enumerate(columns):
            if column.startswith(">"):
                self.headerItem().setTextAlignment(i, _RIGHT)
        self.header().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.header().setSectionResizeMode(0, QHeaderView.ResizeMode.Interactive)

    @property
    def lines(self) -> tuple[Line, ...]:
        """What is shown."""
        return self._lines

    @property
    def current(self) -> str:
        """Key of the current row, "" for none."""
        item = self.currentItem()
        return str(item.data(0, _KEY)) if item is not None else ""

    def select(self, key: str) -> bool:
        """Put the keyboard on a row; False if there is none of that key."""
        for i, line in enumerate(self._lines):
            item = self.topLevelItem(i)
            if line.key == key and item is not None:
                self.setCurrentItem(item)
                return True
        return False

    def show_lines(self, lines: Sequence[Line]) -> None:
        """Show other rows; the keyboard stays on the row it was on."""
        if tuple(lines) == self._lines:
            return
        before = self.current
        self._lines = tuple(lines)
        blocked = self.blockSignals(True)
        self.clear()
        headings = [c.removeprefix(">") for c in self._columns]
        for line in lines:
            item = QTreeWidgetItem(list(line.cells))
            item.setData(0, _KEY, line.key)
            said = ", ".join(f"{h}: {c}" for h, c in zip(headings, line.cells, strict=True) if c)
            item.setData(0, Qt.ItemDataRole.AccessibleTextRole, said)
            item.setData(0, Qt.ItemDataRole.AccessibleDescriptionRole, line.told)
            for i, column in enumerate(self._columns):
                item.setToolTip(i, line.told or line.cells[i])
                if column.startswith(">"):
                    item.setTextAlignment(i, _RIGHT)
                if line.colour:
                    item.setForeground(i, QColor(line.colour))
            self.addTopLevelItem(item)
        self.blockSignals(blocked)
        self.select(before)
        self.chosen.emit(self.current)
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The first column takes what the others leave."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        others = sum(self.columnWidth(i) for i in range(1, self.columnCount()))
        least = self.fontMetrics().averageCharWidth() * 22
        self.setColumnWidth(0, max(self.viewport().width() - others, least))
