"""Work of the window's thread in pieces: events come between them, in order, and what holds no more is left."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import QTimer
from pytestqt.qtbot import QtBot

from estimator.desk.turns import Turns


def test_an_event_comes_between_two_pieces(qtbot: QtBot) -> None:
    done: list[str] = []
    turns = Turns()
    turns.give(partial(done.append, "first"), partial(done.append, "second"))
    QTimer.singleShot(0, lambda: done.append("a click"))
    assert done == []
    assert turns.is_busy
    qtbot.waitUntil(lambda: len(done) == 3, timeout=60_000)
    assert done.index("first") < done.index("second")
    assert done.index("a click") < done.index("second")
    assert not turns.is_busy


def test_a_piece_may_give_more(qtbot: QtBot) -> None:
    done: list[str] = []
    turns = Turns()
    turns.give(lambda: turns.give(partial(done.append, "third")), partial(done.append, "second"))
    qtbot.waitUntil(lambda: len(done) == 2, timeout=60_000)
    assert done == ["second", "third"]


def test_what_is_left_is_not_done(qtbot: QtBot) -> None:
    done: list[str] = []
    turns = Turns()
    turns.give(partial(done.append, "old"))
    turns.leave()
    turns.give(partial(done.append, "new"))
    qtbot.waitUntil(lambda: not turns.is_busy, timeout=60_000)
    assert done == ["new"]


def test_a_script_has_them_done_where_it_gives_them() -> None:
    done: list[str] = []
    Turns(at_once=True).give(partial(done.append, "first"), partial(done.append, "second"))
    assert done == ["first", "second"]
