"""The plant board at the desk: its picture follows the job, and a slider says how many tanks fill."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from tests.desk.hands import Hands


@pytest.fixture
def board(desk: Hands) -> Hands:
    """The new-system example, its board in view."""
    desk.command("file.example.gannet-quay")
    desk.command("view.board")
    QApplication.processEvents()
    return desk


def words(desk: Hands) -> list[str]:
    return [line.cells[0] for line in desk.window.board.table.lines]


def test_the_usual_moment_is_shown_first(board: Hands) -> None:
    view = board.window.board
    assert (view.slider.minimum(), view.slider.maximum(), view.slider.value()) == (0, 5, 1)
    assert view.heading.text().startswith("1 tank fills")
    assert sum("It fills with" in text for text in words(board)) == 1


def test_the_arrow_keys_let_more_tanks_fill(board: Hands) -> None:
    view = board.window.board
    view.slider.setFocus()
    for _ in range(4):
        board.key(view.slider, Qt.Key.Key_Right)
    assert view.heading.text().startswith("All 5 tanks fill at once")
    assert all("It fills with" in text for text in words(board))
    assert view.number.text() == "5 of 5"
    board.key(view.slider, Qt.Key.Key_Home)
    assert view.heading.text() == "Nothing fills" and all("It rests" in text for text in words(board))


def test_it_follows_an_edit_and_keeps_what_was_chosen(board: Hands) -> None:
    view = board.window.board
    view.slider.setValue(5)
    before = words(board)
    board.put(board.editor("design", "common", "booster"), "booster-large")
    board.command("view.board")
    QApplication.processEvents()
    assert view.slider.value() == 5
    assert words(board) != before


def test_without_a_proof_it_says_so(board: Hands) -> None:
    board.command("file.new")
    board.command("view.board")
    QApplication.processEvents()
    view = board.window.board
    assert "Nothing to show yet" in view.heading.text()
    assert not view.slider.isVisible() and not view.drawing.isVisible()


def test_enter_goes_to_the_tip(board: Hands) -> None:
    table = board.window.board.table
    table.select(table.lines[1].key)
    table.setFocus()
    board.key(table, Qt.Key.Key_Return)
    assert board.window.page.key == "plant"


@pytest.mark.parametrize(("width", "height"), [(911, 450), (1366, 768), (2000, 1200)])
def test_every_card_is_drawn_whole(board: Hands, width: int, height: int) -> None:
    """The picture is as high as its cards need, however many stand in a row."""
    board.window.resize(width, height)
    QApplication.processEvents()
    drawing = board.window.board.drawing
    assert drawing.height() == drawing.height_at(drawing.width())
    assert drawing.grab().toImage().pixelColor(2, 2).isValid()
    spoken = drawing.accessibleDescription()
    assert all(name in spoken for name in ("Alkaline foam pre-wash", "Interior sanitiser"))
