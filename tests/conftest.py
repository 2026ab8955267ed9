"""For every test: folders of its own instead of the user's, and no window left behind."""

from __future__ import annotations

import gc
import os
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

# "ci" draws the same examples everywhere; "explore" searches on by hand. No deadline: machines are shared and slow.
settings.register_profile("ci", deadline=None, derandomize=True)
settings.register_profile("explore", deadline=None, max_examples=1000)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ci"))

ELSEWHERE = ("XDG_CACHE_HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME", "BAYDROP_HOME")
"""Variables that would put a user's files outside the home folder."""


def pytest_collection_finish() -> None:
    """What was loaded to collect the tests stays until the end: looking for windows left need not go through it."""
    gc.collect()
    gc.freeze()


@pytest.fixture(scope="session")
def _home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One folder, emptied after each test: thousands of folders cost seconds to make and to take away."""
    return tmp_path_factory.mktemp("user")


@pytest.fixture(autouse=True)
def _folders_of_its_own(_home: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Nothing is read from or written to the folders of the person who runs the tests."""
    for variable in ELSEWHERE:
        monkeypatch.delenv(variable, raising=False)
    monkeypatch.setenv("HOME", str(_home))
    if os.name == "nt":  # where no variable moves the folders that the system names
        monkeypatch.setenv("BAYDROP_HOME", str(_home))
    yield
    for left in _home.iterdir():
        if left.is_dir() and not left.is_symlink():
            shutil.rmtree(left)
        else:
            left.unlink()


@pytest.fixture(autouse=True)
def _no_window_left() -> Iterator[None]:
    """A test that leaves a top-level widget alive fails: the next one would meet it."""
    before = {id(widget) for widget in top_level_widgets()}
    yield
    if any(id(widget) not in before for widget in top_level_widgets()):
        settle()
        left = [widget for widget in top_level_widgets() if id(widget) not in before]
        if left:
            pytest.fail(f"windows left behind: {', '.join(type(widget).__name__ for widget in left)}")
        # What is kept now is kept by caches and shared windows: the next search need not go through it again.
        gc.freeze()


def top_level_widgets() -> list[QWidget]:
    """Windows that nothing owns; none, and Qt stays unloaded, when the test did not load it."""
    if "PySide6.QtWidgets" not in sys.modules:
        return []
    from PySide6.QtWidgets import QApplication

    return [widget for widget in QApplication.topLevelWidgets() if widget.parent() is None]


def settle() -> None:
    """Let Qt and Python drop what nothing refers to any more."""
    from PySide6.QtCore import QCoreApplication, QEvent

    gc.collect()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
    QCoreApplication.processEvents()
