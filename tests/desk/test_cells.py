"""Editing in the cells of a table, by keyboard."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtWidgets import QLineEdit, QWidget

from estimator.desk.form.inputs import ComboBox
from estimator.desk.form.rows import RowsEditor
from tests.desk.hands import Hands

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support")  # no window system offscreen


def _open_cell(desk: Hands, rows: RowsEditor, row: int, name: str) -> QWidget:
    """F2 on a cell; its input."""
    column = [f.name for f in rows.rows.fields].index(name)
    model = rows.table.model()
    index: QModelIndex = model.index(row, column)
    rows.table.setCurrentIndex(index)
    rows.table.setFocus()
    desk.key(rows.table, Qt.Key.Key_F2)
    found = [
        w
        for kind in (QLineEdit, ComboBox)
        for w in rows.table.viewport().findChildren(kind)
        if w.accessibleName() == rows.rows.fields[column].label and w.isVisible()
    ]
    assert len(found) == 1
    return found[0]


def test_a_text_cell(desk: Hands) -> None:
    """Typed and entered; a wrong quantity stays in the cell with its sentence and the next one is taken."""
    desk.quick()
    rows = desk.rows("drops")
    cell = _open_cell(desk, rows, 2, "hose_length")
    assert isinstance(cell, QLineEdit)
    assert cell.text() == "6 m"
    assert cell.accessibleDescription()
    cell.selectAll()
    desk.type(cell, "8 psi")
    desk.key(cell, Qt.Key.Key_Return)
    # The toolkit hands an entered cell over in its next round.
    holder = desk.window.session.job_holder
    desk.bot.waitUntil(lambda: bool(holder.pending))
    assert holder.pending[("design", "drops", 2, "hose_length")].raw == "8 psi"
    assert desk.job.design.drops[2].hose_length.text == "6 m"
    cell = _open_cell(desk, rows, 2, "hose_length")
    assert isinstance(cell, QLineEdit)
    assert cell.text() == "8 psi"
    cell.selectAll()
    desk.type(cell, "8 m")
    desk.key(cell, Qt.Key.Key_Return)
    desk.bot.waitUntil(lambda: desk.job.design.drops[2].hose_length.text == "8 m")
    assert not desk.window.session.job_holder.pending


def test_a_choice_cell_and_a_yes_or_no_cell(desk: Hands) -> None:
    """A combo box in the cell; choosing takes over."""
    desk.quick()
    rows = desk.rows("drops")
    at = next(i for i, d in enumerate(desk.job.design.drops) if d.gun == "gun-plastic")
    cell = _open_cell(desk, rows, at, "gun")
    assert isinstance(cell, ComboBox)
    wanted = cell.findData("gun-metal")
    cell.setCurrentIndex(wanted)
    cell.activated.emit(wanted)
    assert desk.job.design.drops[at].gun == "gun-metal"
    cell = _open_cell(desk, rows, at, "existing")
    assert isinstance(cell, ComboBox)
    assert cell.currentText() == "No"
    cell.setCurrentIndex(0)
    cell.activated.emit(0)
    assert desk.job.design.drops[at].existing is True
    desk.window.session.undo()
    desk.window.session.undo()
    assert desk.job.design.drops[at].gun == "gun-plastic"


def test_delete_removes_the_selected_rows(desk: Hands) -> None:
    """The key does what the button does."""
    desk.quick()
    rows = desk.rows("drops")
    before = desk.job.design.drops
    rows.select([0, 2])
    desk.key(rows.table, Qt.Key.Key_Delete)
    assert desk.job.design.drops == (before[1], *before[3:])
    desk.key(rows.table, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert desk.job.design.drops == before
