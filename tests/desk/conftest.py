"""A window with its own home folder, offscreen."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from pytestqt.qtbot import QtBot

from estimator.desk.doing.files import Files
from estimator.desk.session import Session
from estimator.desk.window import Window
from estimator.model.job import Job
from estimator.store.pricebooks import user_price_book
from tests.desk.hands import Hands, Said


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The person's own folder."""
    folder = tmp_path / "home"
    monkeypatch.setenv("BAYDROP_HOME", str(folder))
    return folder


@pytest.fixture
def desk(home: Path, qtbot: QtBot) -> Iterator[Hands]:
    """A window with a blank job and a pair of hands."""
    session = Session(Job(), user_price_book())
    said = Said()
    window = Window(session, Files(session, said), said)
    qtbot.addWidget(window)
    window.show_theme("light")
    window.resize(1366, 768)
    window.show()
    window.activateWindow()
    qtbot.waitExposed(window)
    yield Hands(window, said, qtbot)
    window.close()
