"""The table to read, by itself: rows are invented demo data."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QAbstractItemModelTester, QTest
from PySide6.QtWidgets import QDialog, QPushButton, QTreeView, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from estimator.desk.tables import Column, Look, ReadTable, TableLine
from estimator.desk.tables.lines import copied
from tests.work import calls_of

COLUMNS = ("Part", Column("Cost\nUSD", True, "Without tax"))


def flat(count: int) -> tuple[TableLine, ...]:
    return tuple(
        TableLine(f"k{i}", (f"part {i}", f"{count - i}.00"), orders=(f"part {i}", count - i))
        for i in range(count)
    )


GROUPS = (
    TableLine(
        "a",
        ("Tubes", ""),
        bold=True,
        children=(TableLine("a1", ("one", "1")), TableLine("a2", ("two", "2"), tick=False)),
    ),
    TableLine("b", ("Valves", ""), bold=True, children=(TableLine("b1", ("three", "3")),)),
)


@pytest.fixture
def table(qtbot: QtBot) -> Iterator[ReadTable]:
    """A sortable table in view, watched by the toolkit's own tester of models."""
    parent = QWidget()
    qtbot.addWidget(parent)
    found = ReadTable("Parts", "To look at.", COLUMNS, parent, sortable=True)
    QAbstractItemModelTester(found.lines_model, QAbstractItemModelTester.FailureReportingMode.Fatal, found)
    column = QVBoxLayout(parent)
    column.addWidget(found)
    parent.resize(400, 300)
    parent.show()
    qtbot.waitExposed(parent)
    yield found
    parent.close()


def clipboard(table: ReadTable) -> str:
    QTest.keyClick(table, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    return QGuiApplication.clipboard().text()


def test_a_sorted_table_keeps_its_selection_and_goes_back(table: ReadTable) -> None:
    table.show_lines(flat(30))
    table.show_selected(["k3", "k20"])
    table.sortByColumn(1, Qt.SortOrder.AscendingOrder)
    assert table.keys == [f"k{i}" for i in reversed(range(30))]
    assert table.selected == ["k20", "k3"]
    table.show_lines(flat(40))
    assert table.keys[0] == "k39"
    assert table.selected == ["k20", "k3"]
    table.sortByColumn(-1, Qt.SortOrder.AscendingOrder)
    assert table.keys == [line.key for line in table.lines]


def test_figures_that_change_are_sorted_anew(table: ReadTable) -> None:
    table.show_lines(flat(3))
    table.sortByColumn(1, Qt.SortOrder.AscendingOrder)
    table.show_selected(["k0"])
    table.show_lines(tuple(TableLine(f"k{i}", ("x", str(i)), orders=("x", i)) for i in range(3)))
    assert table.keys == ["k0", "k1", "k2"]
    assert table.selected == ["k0"]


def test_folded_groups_stay_folded_when_rows_change(table: ReadTable) -> None:
    table.show_lines(GROUPS)
    model = table.lines_model
    assert table.isExpanded(model.find("a")) and table.isExpanded(model.find("b"))
    table.select("a")
    QTest.keyClick(table, Qt.Key.Key_Left)
    more = TableLine("c", ("Wood", ""), children=(TableLine("c1", ("four", "4")),))
    table.show_lines((more, *GROUPS))
    assert not table.isExpanded(model.find("a"))
    assert table.isExpanded(model.find("b")) and table.isExpanded(model.find("c"))
    assert table.current == "a"
    assert table.keys == ["c", "c1", "a", "a1", "a2", "b", "b1"]


def test_the_space_bar_ticks_in_whatever_column_the_keyboard_is(table: ReadTable) -> None:
    told: list[tuple[str, bool]] = []
    table.ticked.connect(lambda key, tick: told.append((key, tick)))
    table.show_lines(GROUPS)
    index = table.lines_model.find("a2")
    table.setCurrentIndex(index.siblingAtColumn(1))
    QTest.keyClick(table, Qt.Key.Key_Space)
    QTest.keyClick(table, Qt.Key.Key_Space)
    table.select("a1")
    QTest.keyClick(table, Qt.Key.Key_Space)
    assert told == [("a2", True), ("a2", False)]
    assert index.data(Qt.ItemDataRole.CheckStateRole) == Qt.CheckState.Unchecked


@pytest.mark.parametrize("leads", [True, False])
def test_enter_leads_on_or_is_for_the_dialog(qtbot: QtBot, leads: bool) -> None:
    dialog = QDialog()
    qtbot.addWidget(dialog)
    taken: list[str] = []
    table = ReadTable("Parts", "", COLUMNS, dialog)
    button = QPushButton("Take", dialog)
    button.setDefault(True)
    button.clicked.connect(lambda: taken.append("default"))
    column = QVBoxLayout(dialog)
    column.addWidget(table)
    column.addWidget(button)
    dialog.show()
    table.show_lines(flat(3))
    if leads:
        table.entered.connect(taken.append)
    table.select("k1")
    table.setFocus()
    QTest.keyClick(table, Qt.Key.Key_Return)
    assert taken == (["k1"] if leads else ["default"])


def test_copied_rows_come_from_the_top_and_are_no_formulas(table: ReadTable) -> None:
    table.show_lines(
        (
            TableLine("a", ("=HYPERLINK(1)", "-2.50\xa0$")),
            TableLine("b", ("left\tout\n=1", "+1")),
            TableLine("c", ("@x", "-CHF5")),
        )
    )
    table.show_selected(["c", "a"])
    assert clipboard(table) == "'=HYPERLINK(1)\t-2.50\xa0$\n'@x\t'-CHF5\n"
    table.show_selected(["b"])
    assert clipboard(table) == "left out =1\t+1\n"


@given(st.lists(st.lists(st.text(), min_size=2, max_size=2), max_size=5))
def test_copied_cells_keep_their_places_and_begin_no_formula(rows: Sequence[Sequence[str]]) -> None:
    text = copied(TableLine(str(i), tuple(cells)) for i, cells in enumerate(rows))
    lines = text.split("\n")[:-1]
    assert [len(line.split("\t")) for line in lines] == [2] * len(rows)
    for cell in (cell for line in lines for cell in line.split("\t")):
        begins = cell[:1] in ("=", "@") or (
            cell[:1] in ("+", "-") and any(c.isalpha() or c == "(" for c in cell)
        )
        assert not begins, cell


def test_the_keyboard_stays_near_a_row_that_is_gone(qtbot: QtBot) -> None:
    parent = QWidget()
    qtbot.addWidget(parent)
    told: list[str] = []
    table = ReadTable("Findings", "", ("Finding",), parent, sentences=True, always=True)
    table.chosen.connect(told.append)
    lines = tuple(TableLine(f"k{i}", (f"sentence {i}",)) for i in range(5))
    table.show_lines(lines)
    assert table.current == "k0"
    table.select("k3")
    table.show_lines([line for line in lines if line.key != "k3"])
    assert table.current == "k4" == told[-1]
    assert table.selected == ["k4"]
    table.show_lines(lines[:2])
    assert table.current == "k1"
    table.show_lines((TableLine("", ("Nothing.",)),))
    assert table.current == "" and table.selected == []
    table.show_lines(())
    assert table.current == ""


def test_a_sentence_has_the_height_of_its_lines(qtbot: QtBot) -> None:
    parent = QWidget()
    qtbot.addWidget(parent)
    table = ReadTable("Findings", "", ("Finding",), parent, sentences=True)
    column = QVBoxLayout(parent)
    column.addWidget(table)
    parent.resize(700, 300)
    parent.show()
    table.show_lines((TableLine("a", ("short",)), TableLine("b", ("a sentence of many words " * 10,))))
    qtbot.waitExposed(parent)

    def height(key: str) -> int:
        table.executeDelayedItemsLayout()
        return table.visualRect(table.lines_model.find(key)).height()

    wide = height("b")
    assert wide > 1.8 * height("a")
    parent.resize(350, 300)
    assert height("b") > 1.6 * wide
    assert table.horizontalScrollBar().maximum() == 0
    table.show_lines((TableLine("a", ("short",)), TableLine("b", ("short",))))
    assert height("b") == height("a")


def test_a_tip_is_text_and_a_screen_reader_hears_headings(table: ReadTable) -> None:
    table.show_lines(
        (TableLine("a", ("<img src='x'>", "5"), "<b>told</b>", looks=(Look(tip="own"), Look())),)
    )
    index = table.lines_model.find("a")
    assert index.data(Qt.ItemDataRole.ToolTipRole) == "own"
    assert index.siblingAtColumn(1).data(Qt.ItemDataRole.ToolTipRole) == "<qt>&lt;b&gt;told&lt;/b&gt;</qt>"
    assert index.data(Qt.ItemDataRole.AccessibleTextRole) == "Part: <img src='x'>, Cost USD: 5"
    assert index.siblingAtColumn(1).data(Qt.ItemDataRole.AccessibleTextRole) == "Cost USD: 5"
    assert index.data(Qt.ItemDataRole.AccessibleDescriptionRole) == "<b>told</b>"


def test_a_short_table_has_nothing_to_scroll(table: ReadTable, qtbot: QtBot) -> None:
    """Few short rows in a window that is wide enough: no bar, whatever the order of showing and sizing."""
    for count in (0, 3, 60, 2):
        table.show_lines(flat(count))
        for width in (400, 220, 300):
            table.window().resize(width, 200)
            qtbot.wait(1)
            table.executeDelayedItemsLayout()
            assert table.horizontalScrollBar().maximum() == 0, (count, width)
            assert not table.horizontalScrollBar().isVisible()


def test_a_column_is_as_wide_as_its_longest_text(table: ReadTable) -> None:
    rows = [TableLine(str(i), ("x", "5")) for i in range(500)]
    table.show_lines([*rows, TableLine("long", ("x", "12,345,678.00 USD"))])
    need = table.fontMetrics().horizontalAdvance("12,345,678.00 USD")
    assert need < table.columnWidth(1) < need + 60


def test_work_grows_with_the_rows_and_no_faster(table: ReadTable) -> None:
    """Eight times the rows take at most some twelve times the calls; quadratic work would take 64."""

    def work(count: int) -> None:
        table.show_lines(flat(count))
        table.show_selected([f"k{count - 1}"])
        QTreeView.grab(table)

    def taken(count: int) -> int:
        table.show_lines(())
        return calls_of(lambda: work(count))

    work(10)
    assert taken(8000) < 12 * taken(1000)
