"""The proof: drops, lines, plant, and what air, water and assumptions say; each row leads to its field."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from PySide6.QtCore import (
    QAbstractTableModel,
    QItemSelectionModel,
    QModelIndex,
    QPersistentModelIndex,
    QSortFilterProxyModel,
    Qt,
    Signal,
)
from PySide6.QtGui import QColor, QFont, QKeyEvent, QShowEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QListView,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QTableView,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from estimator.desk.session import Session
from estimator.desk.theme import current_theme
from estimator.shown.commands import ACTS
from estimator.shown.proof_tables import Row, Table, drop_table, line_table, plant_table, sentences, summary

__all__ = ["FiguresTable", "ProofView"]

Index = QModelIndex | QPersistentModelIndex
_ORDER = Qt.ItemDataRole.UserRole
_PLACE = Qt.ItemDataRole.UserRole
_DEMO = (
    "Curves of pumps, proportioners, nozzles, guns and hoses are generic demo data unless a maker's own figures "
    "are entered under Design, Makers' data. Confirm with the maker's data and by a test on site."
)


class _Figures(QAbstractTableModel):
    """A table of the proof."""

    def __init__(self, table: Table, parent: QWidget) -> None:
        super().__init__(parent)
        self.table = table

    def show_table(self, table: Table) -> None:
        """Show another table of the same kind."""
        before = [r.key for r in self.table.rows]
        same = len(table.columns) == len(self.table.columns) and before == [r.key for r in table.rows]
        if not same:
            self.beginResetModel()
        self.table = table
        if not same:
            self.endResetModel()
        elif table.rows:
            self.dataChanged.emit(self.index(0, 0), self.index(len(table.rows) - 1, len(table.columns) - 1))
        self.headerDataChanged.emit(Qt.Orientation.Horizontal, 0, len(table.columns) - 1)

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """Number of rows."""
        return 0 if parent.isValid() else len(self.table.rows)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """Number of columns."""
        return 0 if parent.isValid() else len(self.table.columns)

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = 0) -> Any:
        """Headings with their meaning as tip."""
        if orientation is Qt.Orientation.Vertical or section >= len(self.table.columns):
            return None
        column = self.table.columns[section]
        if role == Qt.ItemDataRole.DisplayRole:
            return column.heading
        if role == Qt.ItemDataRole.ToolTipRole:
            return column.meaning
        if role == Qt.ItemDataRole.TextAlignmentRole:
            across = Qt.AlignmentFlag.AlignRight if column.figures else Qt.AlignmentFlag.AlignLeft
            return across | Qt.AlignmentFlag.AlignTop
        return None

    def data(self, index: Index, role: int = 0) -> Any:
        """Text, order, colour; a screen reader hears the heading too."""
        if not index.isValid():
            return None
        row = self.table.rows[index.row()]
        cell, column = row.cells[index.column()], self.table.columns[index.column()]
        if role == Qt.ItemDataRole.DisplayRole:
            return cell.text
        if role == _ORDER:
            return cell.order
        if role == Qt.ItemDataRole.ToolTipRole:
            return row.told
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{' '.join(column.heading.split())}: {cell.text}"
        if role == Qt.ItemDataRole.AccessibleDescriptionRole:
            return row.told
        if role == Qt.ItemDataRole.TextAlignmentRole:
            across = Qt.AlignmentFlag.AlignRight if column.figures else Qt.AlignmentFlag.AlignLeft
            return across | Qt.AlignmentFlag.AlignVCenter
        if role == Qt.ItemDataRole.ForegroundRole and cell.standing is not None:
            return QColor(current_theme().standing(cell.standing))
        if role == Qt.ItemDataRole.FontRole and cell.standing is not None:
            bold = QFont()
            bold.setBold(True)
            return bold
        return None


class FiguresTable(QTableView):
    """A sortable table; Enter or a double click goes to the field of a row.

    Signals:
        wanted: place of a row to go to.
        row_chosen: the current row, None for none.
    """

    wanted = Signal(str)
    row_chosen = Signal(object)

    def __init__(self, table: Table, name: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.figures = _Figures(table, self)
        self.proxy = QSortFilterProxyModel(self)
        self.proxy.setSourceModel(self.figures)
        self.proxy.setSortRole(_ORDER)
        self.setModel(self.proxy)
        self.setAccessibleName(name)
        self.setAccessibleDescription("Enter goes to the field of a row; a click on a heading sorts.")
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setTabKeyNavigation(False)
        self.setAlternatingRowColors(True)
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(self.fontMetrics().height() + 9)
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        header = self.horizontalHeader()
        header.setHighlightSections(False)
        header.setSortIndicatorShown(True)
        header.setSortIndicatorClearable(True)
        header.setSortIndicator(-1, Qt.SortOrder.AscendingOrder)
        self.setSortingEnabled(True)
        self.doubleClicked.connect(self._go)
        self.selectionModel().selectionChanged.connect(lambda *_: self.row_chosen.emit(self.current))
        self._sized: tuple[object, ...] = ()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter goes to the field."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._go(self.currentIndex())
            return
        super().keyPressEvent(event)

    def _go(self, index: QModelIndex) -> None:
        if index.isValid():
            row = self.figures.table.rows[self.proxy.mapToSource(index).row()]
            self.wanted.emit(row.place)

    @property
    def selected(self) -> tuple[Row, ...]:
        """The selected rows."""
        indexes = self.selectionModel().selectedRows()
        return tuple(self.figures.table.rows[self.proxy.mapToSource(i).row()] for i in indexes)

    @property
    def current(self) -> Row | None:
        """The selected row the keyboard is on, or the first that is selected."""
        rows, index = self.selected, self.currentIndex()
        if index.isValid():
            now = self.figures.table.rows[self.proxy.mapToSource(index).row()]
            if now in rows:
                return now
        return rows[0] if rows else None

    def select(self, keys: Iterable[str]) -> None:
        """Select the rows of these keys, without telling."""
        wanted = set(keys)
        if {r.key for r in self.selected} == wanted:
            return
        model = self.selectionModel()
        blocked = self.blockSignals(True)
        model.clearSelection()
        first = True
        for i, row in enumerate(self.figures.table.rows):
            if row.key in wanted:
                index = self.proxy.mapFromSource(self.figures.index(i, 0))
                flag = QItemSelectionModel.SelectionFlag
                model.select(index, flag.Select | flag.Rows)
                if first:
                    model.setCurrentIndex(index, flag.NoUpdate)
                    self.scrollTo(index)
                    first = False
        self.blockSignals(blocked)
        self.viewport().update()

    def show_table(self, table: Table) -> None:
        """Show another table of the same kind; what was selected stays."""
        if table == self.figures.table:
            self.viewport().update()
        else:
            keys = [r.key for r in self.selected]
            self.figures.show_table(table)
            self.select(keys)
        about = (tuple(c.heading for c in table.columns), bool(table.rows))
        if about != self._sized:
            self._sized = about
            self._size_columns()

    def _size_columns(self) -> None:
        metrics, header = self.fontMetrics(), self.horizontalHeader()
        widest = metrics.averageCharWidth() * 44
        for i, column in enumerate(self.figures.table.columns):
            heading = max(metrics.horizontalAdvance(line) for line in column.heading.split("\n"))
            # The style's cell padding is not in the contents' width; bold letters are wider.
            cells = self.sizeHintForColumn(i) + 14
            header.resizeSection(i, max(min(cells, widest), heading + 22))


class ProofView(QWidget):
    """Everything that the proof says.

    Signals:
        wanted: place in the job to go to.
        drops_chosen: ids of the drops of the selected rows.
        propose_wanted: the person wants sizes proposed.
    """

    wanted = Signal(str)
    drops_chosen = Signal(tuple)
    propose_wanted = Signal()

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 6, 0, 0)
        column.setSpacing(6)
        top = QHBoxLayout()
        self.summary = QLabel(self)
        self.summary.setWordWrap(True)
        self.summary.setTextFormat(Qt.TextFormat.PlainText)
        self.summary.setAccessibleName("How the drops stand")
        self.propose = QPushButton("Propose si&zes…", self)
        self.propose.setAutoDefault(False)
        self.propose.setAccessibleDescription(ACTS["sizes.propose"].told)
        self.propose.setToolTip(self.propose.accessibleDescription())
        self.propose.clicked.connect(self.propose_wanted)
        top.addWidget(self.summary, 1)
        top.addWidget(self.propose, 0, Qt.AlignmentFlag.AlignTop)
        column.addLayout(top)
        self.parts = QTabWidget(self)
        self.parts.setDocumentMode(True)
        self.parts.setAccessibleName("Parts of the proof")
        study = session.study
        self.drops = FiguresTable(drop_table(study), "Drops and their figures", self)
        self.lines = FiguresTable(line_table(study), "Lines and their figures", self)
        self.plant = FiguresTable(plant_table(study), "Plant and its figures", self)
        self.list = QListWidget(self)
        self.list.setWordWrap(True)
        self.list.setResizeMode(QListView.ResizeMode.Adjust)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setAccessibleName("Air, water and assumptions")
        self.list.setAccessibleDescription("Enter on air or water goes to its field.")
        self.list.itemActivated.connect(self._go)
        for widget, name in (
            (self.drops, "Drops"),
            (self.lines, "Lines"),
            (self.plant, "Plant"),
            (self.list, "Air, water, assumptions"),
        ):
            self.parts.addTab(widget, name)
        column.addWidget(self.parts, 1)
        self.told = QLabel(self)
        self.told.setObjectName("help")
        self.told.setWordWrap(True)
        self.told.setTextFormat(Qt.TextFormat.PlainText)
        self.told.setAccessibleName("The row in words")
        column.addWidget(self.told)
        self.demo = QLabel(_DEMO, self)
        self.demo.setObjectName("faint")
        self.demo.setWordWrap(True)
        self.demo.setAccessibleName("About the equipment figures")
        column.addWidget(self.demo)
        for table in (self.drops, self.lines, self.plant):
            table.wanted.connect(self.wanted)
            table.row_chosen.connect(self._chosen)
        self.parts.currentChanged.connect(lambda _: self._tell())
        self._shown: object = None

    def showEvent(self, event: QShowEvent) -> None:
        """What changed while it was out of view."""
        super().showEvent(event)
        self.refresh()

    def refresh(self) -> None:
        """Show what holds; what was selected and sorted stays."""
        if self._shown is not None and not self.isVisible():
            return  # shown when it comes into view
        job, study = self._session.job, self._session.study
        shown = (study.proof, job.design, job.units, job.site, job.terms.locale, current_theme().name)
        if shown == self._shown:
            return
        self._shown = shown
        self.summary.setText(summary(job, study.proof))
        self.propose.setEnabled(bool(job.design.drops))
        self.drops.show_table(drop_table(study))
        self.lines.show_table(line_table(study))
        self.plant.show_table(plant_table(study))
        at = self.list.currentRow()
        self.list.clear()
        theme = current_theme()
        for sentence in sentences(study):
            item = QListWidgetItem(sentence.told)
            if sentence.standing is not None:
                item.setForeground(QColor(theme.standing(sentence.standing)))
            item.setData(_PLACE, sentence.place)
            self.list.addItem(item)
        self.list.setCurrentRow(min(max(at, 0), self.list.count() - 1))
        self._tell()

    @property
    def focus_widget(self) -> QWidget:
        """Where the keyboard goes when the view is entered."""
        return self.parts.currentWidget()

    def choose(self, drops: Iterable[str]) -> None:
        """Show these drops as selected."""
        self.drops.select(drops)
        self._tell()

    def _go(self, item: QListWidgetItem) -> None:
        place = item.data(_PLACE)
        if place:
            self.wanted.emit(str(place))

    def _chosen(self, _row: object) -> None:
        self._tell()
        table = self.sender()
        if isinstance(table, FiguresTable):
            drops = tuple(dict.fromkeys(d for row in table.selected for d in row.drops))
            self.drops_chosen.emit(drops)

    def _tell(self) -> None:
        table = self.parts.currentWidget()
        if not isinstance(table, FiguresTable):
            self.told.setText("Enter on air or water goes to its field.")
            return
        row = table.current
        self.told.setText(row.told if row else "Choose a row to read it in words; Enter goes to its field.")
