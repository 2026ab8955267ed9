"""The list of earlier values, without any window."""

from __future__ import annotations

import pytest

from estimator.acts.history import History


def test_history_forgets_what_could_be_redone_after_a_new_act() -> None:
    past = History.of(0).after("one", 1).after("two", 2).back()
    assert past.now == 1
    past = past.after("three", 3)
    assert past.redo_name == ""
    assert past.names == ("one", "three")
    with pytest.raises(IndexError):
        past.at(3)


def test_the_ends_stay_where_they_are() -> None:
    past = History.of("first").after("write", "second")
    assert past.forth() == past
    assert past.back().back().now == "first"
    assert past.back().undo_name == ""
