"""The proof: drops, lines, plant, and what air, water and assumptions say; each row leads to its field."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QTabWidget, QVBoxLayout, QWidget

from estimator.desk.plain import Label, tip
from estimator.desk.session import Session
from estimator.desk.tables import Column, Look, ReadTable, TableLine, distinct
from estimator.desk.theme import current_theme
from estimator.shown.air_tables import air_table
from estimator.shown.commands import ACTS
from estimator.shown.proof_tables import Row, Table, drop_table, line_table, plant_table, sentences, summary
from estimator.study import Study

__all__ = ["ProofView"]

_DEMO = (
    "Curves of pumps, proportioners, nozzles, guns and hoses are generic demo data unless a maker's own figures "
    "are entered under Design, Makers' data. Confirm with the maker's data and by a test on site."
)


def _columns(table: Table) -> list[Column]:
    return [Column(c.heading, c.figures, c.meaning) for c in table.columns]


def _lines(table: Table) -> list[TableLine]:
    theme = current_theme()
    return [
        TableLine(
            row.key,
            tuple(cell.text for cell in row.cells),
            row.told,
            looks=tuple(
                Look() if c.standing is None else Look(theme.standing(c.standing), bold=True)
                for c in row.cells
            ),
            orders=tuple(cell.order for cell in row.cells),
        )
        for row in table.rows
    ]


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
        self.summary = Label("", self)
        self.summary.setWordWrap(True)
        self.summary.setAccessibleName("How the drops stand")
        self.propose = QPushButton("Propose si&zes…", self)
        self.propose.setAutoDefault(False)
        self.propose.setAccessibleDescription(ACTS["sizes.propose"].told)
        self.propose.setToolTip(tip(self.propose.accessibleDescription()))
        self.propose.clicked.connect(self.propose_wanted)
        top.addWidget(self.summary, 1)
        top.addWidget(self.propose, 0, Qt.AlignmentFlag.AlignTop)
        column.addLayout(top)
        self.parts = QTabWidget(self)
        self.parts.setDocumentMode(True)
        self.parts.setAccessibleName("Parts of the proof")
        self.drops = self._figures("Drops and their figures")
        self.lines = self._figures("Lines and their figures")
        self.plant = self._figures("Plant and its figures")
        self.air = self._figures("Compressed air at each gun")
        self.list = ReadTable(
            "Air, water and assumptions",
            "Enter on air or water goes to its field.",
            ("Sentence",),
            self,
            sentences=True,
            always=True,
        )
        self.list.entered.connect(self._go)
        self._places: dict[str, str] = {}
        for widget, name in (
            (self.drops, "Drops"),
            (self.lines, "Lines"),
            (self.plant, "Plant"),
            (self.air, "Air"),
            (self.list, "Air, water, assumptions"),
        ):
            self.parts.addTab(widget, name)
        column.addWidget(self.parts, 1)
        self.told = Label("", self)
        self.told.setObjectName("help")
        self.told.setWordWrap(True)
        self.told.setAccessibleName("The row in words")
        column.addWidget(self.told)
        self.demo = Label(_DEMO, self)
        self.demo.setObjectName("faint")
        self.demo.setWordWrap(True)
        self.demo.setAccessibleName("About the equipment figures")
        column.addWidget(self.demo)
        self._tables: dict[ReadTable, Callable[[Study], Table]] = {
            self.drops: drop_table,
            self.lines: line_table,
            self.plant: plant_table,
            self.air: air_table,
        }
        self._stale: set[QWidget] = set()
        self._chosen: tuple[str, ...] = ()
        self._rows: dict[ReadTable, dict[str, Row]] = {}
        for table in self._tables:
            self._show_table(table)
            table.entered.connect(partial(self._enter, table))
            table.picked.connect(partial(self._picked, table))
            table.chosen.connect(lambda _: self._tell())
        self.parts.currentChanged.connect(lambda _: self._in_front())
        self._shown: object = None

    def _figures(self, name: str) -> ReadTable:
        keys = "Enter goes to the field of a row; a click on a heading sorts."
        return ReadTable(name, keys, (), self, sortable=True, fill=None)

    def _show_table(self, widget: ReadTable) -> None:
        table = self._tables[widget](self._session.study)
        self._rows[widget] = {row.key: row for row in table.rows}
        widget.set_columns(_columns(table))
        widget.show_lines(_lines(table))

    def _show_list(self) -> None:
        theme, said = current_theme(), sentences(self._session.study)
        keys = distinct(sentence.place or sentence.text for sentence in said)
        self._places = {key: sentence.place for key, sentence in zip(keys, said, strict=True)}
        self.list.show_lines(
            [
                TableLine(key, (s.told,), colour=theme.standing(s.standing) if s.standing is not None else "")
                for key, s in zip(keys, said, strict=True)
            ]
        )

    def _show_part(self, part: QWidget) -> None:
        """Show what holds in one of the parts, where it does not yet."""
        if part not in self._stale or self._session.known is None:
            return
        self._stale.discard(part)
        if isinstance(part, ReadTable) and part in self._tables:
            self._show_table(part)
        else:
            self._show_list()
        if part is self.drops and self._chosen:
            self.drops.show_selected(self._chosen)
            self._chosen = ()

    def _in_front(self) -> None:
        self._show_part(self.focus_widget)
        self._tell()

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
        parts = (*self._tables, self.list)
        self._stale = set(parts)
        self._show_part(self.focus_widget)
        # Those behind it come after what is seen.
        self._session.turns.give(*(partial(self._show_part, part) for part in parts))
        self._tell()

    @property
    def focus_widget(self) -> QWidget:
        """Where the keyboard goes when the view is entered."""
        part = self.parts.currentWidget()
        assert part is not None
        return part

    def choose(self, drops: Iterable[str]) -> None:
        """Show these drops as selected."""
        chosen = tuple(drops)
        if self.drops in self._stale:
            self._chosen = chosen
        else:
            self.drops.show_selected(chosen)
        self._tell()

    def _go(self, key: str) -> None:
        if place := self._places[key]:
            self.wanted.emit(place)

    def _enter(self, table: ReadTable, key: str) -> None:
        self.wanted.emit(self._rows[table][key].place)

    def _picked(self, table: ReadTable) -> None:
        self._tell()
        rows = (self._rows[table][key] for key in table.selected)
        self.drops_chosen.emit(tuple(dict.fromkeys(drop for row in rows for drop in row.drops)))

    def _tell(self) -> None:
        table = self.parts.currentWidget()
        if table is self.list or not isinstance(table, ReadTable):
            self.told.setText("Enter on air or water goes to its field.")
            return
        # The selected row the keyboard is on, or the first that is selected.
        selected = table.selected
        key = table.current if table.current in selected else next(iter(selected), "")
        row = self._rows[table].get(key)
        self.told.setText(row.told if row else "Choose a row to read it in words; Enter goes to its field.")
