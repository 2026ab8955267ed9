"""A user's folder of its own for every test."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.store.places import HOME_VARIABLE


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder that stands in for the user's."""
    folder = tmp_path / "home" / "baydrop"
    monkeypatch.setenv(HOME_VARIABLE, str(folder))
    return folder
