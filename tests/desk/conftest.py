"""A window with its own home folder, offscreen."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from estimator.desk.doing.files import Files
from estimator.desk.session import Session
from estimator.desk.window import Window
from estimator.model.job import Job
from estimator.store.pricebooks import user_price_book
from tests.conftest import settle
from tests.desk.hands import Hands, Said


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The person's own folder."""
    folder = tmp_path / "home"
    monkeypatch.setenv("BAYDROP_HOME", str(folder))
    return folder


def make_window() -> tuple[Window, Said]:
    """A window with a blank job, and who answers its questions."""
    session = Session(Job(), user_price_book())
    said = Said()
    return Window(session, Files(session, said), said), said


@pytest.fixture(scope="module")
def _shared(qapp: QApplication, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Window, Said]]:
    """One window for the tests of a module that only look, the new-system example open."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("BAYDROP_HOME", str(tmp_path_factory.mktemp("home")))
        window, said = make_window()
        window.menus.actions["file.example.gannet-quay"].trigger()
    yield window, said
    window.close()
    window.deleteLater()
    settle()


@pytest.fixture
def looked_at(home: Path, _shared: tuple[Window, Said], qtbot: QtBot) -> Iterator[Hands]:
    """The shared window in view, for a test that leaves its job as it is."""
    window, said = _shared
    job = window.session.job
    window.show()
    window.activateWindow()
    qtbot.waitExposed(window)
    yield Hands(window, said, qtbot)
    window.hide()
    assert window.session.job is job, "this test changes the job: it needs a window of its own"


@pytest.fixture
def desk(home: Path, qtbot: QtBot) -> Iterator[Hands]:
    """A window with a blank job and a pair of hands."""
    window, said = make_window()
    qtbot.addWidget(window)
    window.show_theme("light")
    window.resize(1366, 768)
    window.show()
    window.activateWindow()
    qtbot.waitExposed(window)
    yield Hands(window, said, qtbot)
    window.close()
