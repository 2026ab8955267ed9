"""The toolkit itself: faults of a release that would end the program after minutes."""

from __future__ import annotations

import sys

import pytest
from PySide6.QtWidgets import QLabel
from pytestqt.qtbot import QtBot


@pytest.mark.skipif(sys.version_info >= (3, 12), reason="None has no reference count there (PEP 683)")
def test_calls_that_return_nothing_keep_nothing_alive(qtbot: QtBot) -> None:
    """A call that returns None must not take a reference to None away.

    Release 6.12.0 of the toolkit does under Python 3.11: after some thousand calls the interpreter aborts with
    "deallocating None".
    """
    label = QLabel()
    qtbot.addWidget(label)
    label.setText("")
    before = sys.getrefcount(None)
    for _ in range(500):
        label.setText("")
    assert abs(sys.getrefcount(None) - before) < 100
