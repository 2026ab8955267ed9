"""Settings: kept between starts, never in the way."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from estimator.store.places import HOME_VARIABLE, user_folder
from estimator.store.settings import (
    MOST_RECENT,
    Settings,
    Theme,
    load_settings,
    remembered,
    save_settings,
    settings_path,
)
from estimator.units import UnitSystem


def test_the_first_start_has_the_defaults_and_writes_nothing(home: Path) -> None:
    assert load_settings() == (Settings(), ())
    assert not home.exists()


def test_kept_between_starts() -> None:
    settings = Settings(
        recent=("/a/Ж.baydrop",), units=UnitSystem.US, theme=Theme.DARK, geometry="AdnQ", layout="AAA="
    )
    assert save_settings(settings) == ()
    assert load_settings() == (settings, ())


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"{",
        b"\xff\xfe",
        b"[]",
        b'{"theme": "pink"}',
        b'{"recent": [1]}',
        b"[" * 200_000,
        b'{"other": 1}',
    ],
)
def test_a_broken_file_is_set_aside_and_told(home: Path, content: bytes) -> None:
    for number in (1, 2):
        home.mkdir(parents=True, exist_ok=True)
        settings_path().write_bytes(content)
        settings, (finding,) = load_settings()
        assert settings == Settings()
        assert f"settings.broken-{number}.json" in finding.message
        assert (home / f"settings.broken-{number}.json").read_bytes() == content
        assert not settings_path().exists()


def test_settings_that_cannot_be_kept_are_told(home: Path) -> None:
    home.parent.mkdir(parents=True)
    home.write_text("a file stands here", encoding="utf-8")
    (finding,) = save_settings(Settings())
    assert "not kept" in finding.message


def test_recent_files_the_last_first_each_once() -> None:
    settings = Settings()
    for number in range(MOST_RECENT + 3):
        settings = remembered(settings, Path(f"/jobs/{number}.baydrop"))
    settings = remembered(settings, Path("/jobs/5.baydrop"))
    numbers = [Path(name).stem for name in settings.recent]
    assert numbers == ["5", "12", "11", "10", "9", "8", "7", "6", "4", "3"]
    assert save_settings(settings) == ()
    assert load_settings() == (settings, ())


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="the XDG base directories")
def test_the_user_s_folder_without_the_variable(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    # XDG Base Directory Specification: user data under $XDG_DATA_HOME.
    monkeypatch.delenv(HOME_VARIABLE)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert user_folder() == tmp_path / "baydrop"
