"""Commands: declared once, reached by menu, key, context menu and the list of keys."""

from __future__ import annotations

import argparse
from collections import Counter

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QAction, QContextMenuEvent
from PySide6.QtWidgets import QApplication, QMenu

from estimator.cli.program import parser
from estimator.desk.commands import GESTURES, Command, key_lines
from estimator.desk.form.inputs import button_of
from estimator.desk.form.pages import QuickPage
from estimator.desk.menus import KeysDialog
from estimator.shown.commands import ACTS
from tests.desk.hands import Hands


def commands(desk: Hands) -> list[Command]:
    """All commands."""
    return [c for c in desk.window.menus.commands if isinstance(c, Command)]


def in_menus(menu: QMenu) -> list[QAction]:
    """All actions of a menu and of those below it."""
    found: list[QAction] = []
    for action in menu.actions():
        below = action.menu()
        if isinstance(below, QMenu):
            found += in_menus(below)
        elif not action.isSeparator():
            found.append(action)
    return found


def test_every_command_stands_once_in_the_menus_and_has_a_key_of_its_own(desk: Hands) -> None:
    """Names, keys and letters of a menu meet nowhere."""
    menus = desk.window.menus
    names = [c.id for c in commands(desk)]
    assert len(names) > 50
    assert max(Counter(names).values()) == 1
    tops = [a.menu() for a in desk.window.menuBar().actions()]
    there = [
        a.objectName() for top in tops if isinstance(top, QMenu) for a in in_menus(top) if a.objectName()
    ]
    assert sorted(there) == sorted(names)
    keys = [k.toString() for a in menus.actions.values() for k in a.shortcuts()]
    assert [k for k, count in Counter(keys).items() if count > 1] == []
    for path, menu in menus.menus.items():
        letters = [a.text()[a.text().index("&") + 1].casefold() for a in menu.actions() if "&" in a.text()]
        if path != "&Go":  # titles of pages, which have keys
            assert [x for x, count in Counter(letters).items() if count > 1] == [], path


def test_what_cannot_be_done_now_is_grey(desk: Hands) -> None:
    """Rows, undo and held prices follow the job, the page and the selection."""
    actions = desk.window.menus.actions

    def able(*names: str) -> list[bool]:
        return [actions[name].isEnabled() for name in names]

    names = ("rows.add", "rows.remove", "rows.up", "sizes.propose", "edit.undo", "book.take-new")
    assert able(*names) == [False] * 6
    desk.quick()
    desk.rows("drops").select([1])
    assert able(*names) == [True, True, True, True, True, False]
    desk.rows("drops").select([0])
    assert able("rows.up", "rows.down") == [False, True]
    desk.window.go_to_page("customer")
    assert able("rows.add", "rows.remove") == [False, False]


def test_a_command_that_does_not_apply_says_why(desk: Hands) -> None:
    """From the list of commands any can be chosen."""
    desk.window.menus.do_named("rows.remove")
    assert desk.window.statusBar().currentMessage() == "No list is in view, or no row is selected."


def test_the_list_of_keys_holds_all_and_does_one(desk: Hands) -> None:
    """Every command with its keys, narrowed by words; Enter does it."""
    desk.command("help.keys")
    (dialog,) = desk.window.findChildren(KeysDialog)
    lines = dialog.table.lines
    assert [line.key for line in lines if not line.key.startswith(" ")] == [c.id for c in commands(desk)]
    assert len(lines) == len(commands(desk)) + len(GESTURES)
    assert ("&" in "".join(line.cells[0] for line in lines)) is False
    by_name = {line.key: line.cells for line in lines}
    assert by_name["view.buying"] == ("Buying", "Ctrl+8")
    assert by_name["view.units.us"][0] == "Units shown: US (ft, psi, gpm)"
    desk.type(dialog.words, "terms")
    assert [line.key for line in dialog.table.lines] == ["go.terms"]
    desk.key(dialog.words, Qt.Key.Key_Return)
    assert desk.window.page.key == "terms"
    assert not dialog.isVisible()


def test_key_lines_name_the_keys_of_the_system(desk: Hands) -> None:
    """A standard key is written as it is bound here."""
    rows = {row[0]: row for row in key_lines(desk.window.menus.commands)}
    assert rows["file.save"][2] == "Ctrl+S"
    assert rows["edit.undo"][1] == "Undo"


@pytest.mark.qt_log_ignore("This plugin does not support")  # no window system offscreen to raise a popup
def test_context_menus_hold_the_commands_of_their_place(desk: Hands) -> None:
    """On the floor plan its zoom, on a list its rows; the same actions as in the menu bar."""
    desk.quick()
    window = desk.window

    def names(where: QPoint) -> list[str]:
        at = window.mapToGlobal(where)
        QApplication.sendEvent(window, QContextMenuEvent(QContextMenuEvent.Reason.Mouse, where, at))
        menu = QApplication.activePopupWidget()
        if not isinstance(menu, QMenu):
            return []
        found = [a.objectName() for a in menu.actions()]
        menu.close()
        return found

    plan = window.plan.view
    assert names(plan.mapTo(window, plan.rect().center())) == ["plan.larger", "plan.smaller", "plan.fit"]
    rows = desk.rows("drops")
    rows.select([0])
    QApplication.processEvents()
    found = names(rows.mapTo(window, rows.rect().center()))
    assert found == ["rows.add", "rows.duplicate", "rows.remove", "rows.up", "rows.down"]
    assert names(window.header.mapTo(window, window.header.rect().center())) == []


def test_a_button_follows_its_command(desk: Hands) -> None:
    """Short words, tip and state of the price book's buttons are those of the command."""
    action = desk.window.menus.actions["book.take-new"]
    button = button_of(action, desk.window)
    assert button.text() == "Take new prices…"
    assert not button.isEnabled()
    assert button.toolTip() == action.toolTip()
    action.setEnabled(True)
    assert button.isEnabled()
    assert button_of(desk.window.menus.actions["book.import"], desk.window).text() == "Import…"


def _descriptions(of: argparse.ArgumentParser) -> list[str]:
    """What each command of the command line says of itself, those below other commands too."""
    found = []
    for action in of._actions:
        if isinstance(action, argparse._SubParsersAction):
            helps = {choice.dest: choice.help or "" for choice in action._choices_actions}
            for name, below in action.choices.items():
                assert below.description is not None
                assert below.description.startswith(helps[name])
                found += [below.description, *_descriptions(below)]
    return found


def test_what_both_front_ends_offer_is_told_in_the_same_words(desk: Hands) -> None:
    """Menus, buttons and tips of the desk and the help of the command line have an act's words from one place."""
    desk.quick()
    window = desk.window
    told = _descriptions(parser())
    declared = {c.id: c for c in commands(desk)}
    options, revisions = window.options, window.revisions
    page = window.go_to_page("quick")
    assert isinstance(page, QuickPage)
    buttons = {
        "quick.build": page.panel.button,
        "sizes.propose": window.proof.propose,
        "file.quote": window.preview.write,
        "revisions.issue": revisions.issue,
        "revisions.withdraw": revisions.withdraw,
        "options.make": options.copy,
        "options.ready": options.ready,
        "options.offer": options.offered,
        "options.rename": options.name,
        "options.make-base": options.base,
        "options.remove": options.remove,
        "options.take-base": options.take_base,
        "options.keep-own": options.keep_own,
    }
    for name, act in ACTS.items():
        assert [t for t in told if t == act.told or t.startswith(f"{act.told} ")], name
        assert name in declared or name in buttons, name
        if name in declared:
            assert (declared[name].words, declared[name].told) == (act.words, act.told)
        if name in buttons:
            assert buttons[name].accessibleDescription().startswith(act.told), name
    # What has no act of the desk's behind it: whole groups, rows and fields of both, and what only looks.
    others = [t for t in told if not any(t.startswith(act.told) for act in ACTS.values())]
    assert len(others) == len(told) - len(ACTS)
