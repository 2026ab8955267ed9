"""Dialogs on a laptop of 1366 × 768 at 150 %: 911 × 512 points, of which bars leave about 450."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QRect
from PySide6.QtWidgets import QApplication, QDialog, QPushButton, QToolButton, QWidget

from estimator.desk.doing.exchange_dialog import BulkDialog, ImportDialog
from estimator.desk.doing.propose_dialog import ProposeDialog
from estimator.store.book_exchange import export_book
from tests.desk.hands import Hands
from tests.desk.test_exchange import dearer, import_book, opened
from tests.desk.test_propose import propose
from tests.desk.test_signing import ask, bleached

Opens = Callable[[Hands, Path], QDialog]

SMALL = (911, 450)


def _import(desk: Hands, folder: Path) -> QDialog:
    book = desk.window.session.book
    path = folder / "new.csv"
    export_book(path, dearer(book, {e.code for e in book.entries}))
    desk.said.opens = path
    import_book(desk)
    return opened(desk, ImportDialog)


def _bulk(desk: Hands, folder: Path) -> QDialog:
    desk.window.exchange.change_group()
    return opened(desk, BulkDialog)


def _sign(desk: Hands, folder: Path) -> QDialog:
    desk.window.session.open(bleached(), None)
    return ask(desk)


def _propose(desk: Hands, folder: Path) -> ProposeDialog:
    return propose(desk)


def _keys(desk: Hands, folder: Path) -> QDialog:
    dialog = desk.window.menus.show_keys(desk.window)
    dialog.show()
    return dialog


@pytest.mark.parametrize(
    "make", [_import, _bulk, _sign, _propose, _keys], ids=lambda f: f.__name__.strip("_")
)
def test_a_dialog_fits_in_the_window_of_a_small_laptop(desk: Hands, tmp_path: Path, make: Opens) -> None:
    """An import took 860 × 520 and its buttons were below the screen."""
    desk.window.menus.actions["file.example.gannet-quay"].trigger()
    desk.window.resize(*SMALL)
    dialog = make(desk, tmp_path)
    QApplication.processEvents()
    assert dialog.width() <= SMALL[0] and dialog.height() <= SMALL[1]
    least = dialog.minimumSizeHint()
    assert least.width() <= SMALL[0] and least.height() <= SMALL[1]
    inside = QRect(QPoint(0, 0), dialog.size())
    for widget in dialog.findChildren(QWidget):
        if isinstance(widget, QPushButton) and widget.isVisible():
            place = QRect(widget.mapTo(dialog, QPoint(0, 0)), widget.size())
            assert inside.contains(place), widget.text()
            assert widget.width() >= widget.minimumSizeHint().width(), widget.text()
    dialog.reject()


def test_a_view_takes_the_whole_window_and_gives_the_room_back(desk: Hands) -> None:
    """A third of 911 × 450 points was left for a table of the proof."""
    window = desk.window
    desk.command("file.example.gannet-quay")
    window.resize(*SMALL)
    window.show_view("proof")
    QApplication.processEvents()
    small, shares, below = window.tabs.size(), window.split.sizes(), window.right.sizes()
    desk.command("view.whole")
    QApplication.processEvents()
    assert window.tabs.width() >= 0.95 * window.width()
    assert window.tabs.height() > 1.3 * small.height()
    assert not window.nav.isVisible() and not window.findings.isVisible()
    assert desk.window.menus.actions["view.whole"].isChecked()
    desk.command("view.next-pane")
    here = QApplication.focusWidget()
    assert here is not None and here.isVisible()
    desk.command("view.whole")
    QApplication.processEvents()
    assert window.split.sizes() == shares and window.right.sizes() == below
    assert window.findings.isVisible()


def test_going_to_a_field_brings_the_form_back(desk: Hands) -> None:
    desk.command("file.example.gannet-quay")
    desk.command("view.whole")
    desk.command("book.edit")
    assert desk.window.page.isVisible()
    assert not desk.window.is_whole and not desk.window.menus.actions["view.whole"].isChecked()


def test_a_button_beside_the_tabs_gives_the_view_the_whole_window_and_is_down_meanwhile(desk: Hands) -> None:
    """Who does not know the key has a button in view; it says which key it is."""
    window = desk.window
    desk.command("file.example.gannet-quay")
    window.resize(*SMALL)
    QApplication.processEvents()
    button = window.tabs.cornerWidget()
    assert isinstance(button, QToolButton) and button.isVisible() and not button.isChecked()
    assert button.accessibleName() == "View in the whole window" and "(F11)" in button.toolTip()
    # It stands beside the arrows of a bar that has no room for its tabs, not over them.
    assert button.mapTo(window.tabs, QPoint(0, 0)).x() >= window.tabs.tabBar().geometry().right()
    button.click()
    assert [window.is_whole, button.isChecked()] == [True, True]
    desk.command("view.whole")
    assert [window.is_whole, button.isChecked()] == [False, False]
    button.click()
    button.click()
    assert [window.is_whole, button.isChecked()] == [False, False]
