"""Settings: kept between starts, never in the way."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from functools import partial
from pathlib import Path

import pytest

from estimator.store import settings as module
from estimator.store.lock import lock_path, take_lock
from estimator.store.places import HOME_VARIABLE, user_folder
from estimator.store.settings import (
    MOST_RECENT,
    Settings,
    ThemeChoice,
    keep_setting,
    load_settings,
    remembered,
    settings_path,
)
from estimator.units import UnitSystem


def dark(settings: Settings) -> Settings:
    return settings.model_copy(update={"theme": ThemeChoice.DARK})


def test_the_first_start_has_the_defaults_and_writes_nothing(home: Path) -> None:
    assert load_settings() == (Settings(), ())
    assert not home.exists()


def test_kept_between_starts() -> None:
    settings = Settings(
        recent=("/a/Ж.baydrop",), units=UnitSystem.US, theme=ThemeChoice.DARK, geometry="AdnQ", layout="AAA="
    )
    assert keep_setting(Settings(), lambda _: settings) == (settings, ())
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
    settings, (finding,) = keep_setting(Settings(), dark)
    assert settings.theme is ThemeChoice.DARK
    assert "not kept" in finding.message


def test_recent_files_the_last_first_each_once() -> None:
    settings = Settings()
    for number in range(MOST_RECENT + 3):
        settings = remembered(settings, Path(f"/jobs/{number}.baydrop"))
    settings = remembered(settings, Path("/jobs/5.baydrop"))
    numbers = [Path(name).stem for name in settings.recent]
    assert numbers == ["5", "12", "11", "10", "9", "8", "7", "6", "4", "3"]
    assert keep_setting(Settings(), lambda _: settings) == (settings, ())
    assert load_settings() == (settings, ())


def test_two_windows_by_turns_lose_nothing() -> None:
    """Each knows only what it read at its start; the file holds what either changed."""
    first, second = Settings(), Settings()
    first, _ = keep_setting(first, dark)
    second, _ = keep_setting(second, lambda s: s.model_copy(update={"units": UnitSystem.US}))
    for number in range(8):
        opened = Path(f"/jobs/{number}.baydrop")
        if number % 2:
            first, _ = keep_setting(first, partial(remembered, path=opened))
        else:
            second, _ = keep_setting(second, partial(remembered, path=opened))
    there, problems = load_settings()
    assert problems == ()
    assert (there.theme, there.units) == (ThemeChoice.DARK, UnitSystem.US)
    assert [Path(name).stem for name in there.recent] == ["7", "6", "5", "4", "3", "2", "1", "0"]


def test_nothing_is_written_where_nothing_changes(home: Path) -> None:
    keep_setting(Settings(), dark)
    before = settings_path().stat()
    assert keep_setting(Settings(), dark)[1] == ()
    assert settings_path().stat().st_mtime_ns == before.st_mtime_ns
    assert [p.name for p in home.iterdir()] == ["settings.json"]


def test_a_file_edited_by_hand_in_this_very_moment_is_not_written_over(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Who edits by hand asks nobody for a lock: what is there is compared again right before it goes."""
    keep_setting(Settings(), dark)
    edits = ["us", "metric", "us"]

    def edit(settings: Settings) -> Settings:
        if edits:
            data = json.loads(settings_path().read_bytes())
            settings_path().write_text(json.dumps({**data, "units": edits.pop()}), encoding="utf-8")
        return remembered(settings, Path("/jobs/a.baydrop"))

    kept, problems = keep_setting(Settings(), edit)
    assert problems == ()
    assert kept == load_settings()[0]
    assert (kept.units, kept.theme, kept.recent) == (UnitSystem.US, ThemeChoice.DARK, ("/jobs/a.baydrop",))
    monkeypatch.setattr(module, "_TRIES", 1)
    edits.append("metric")
    _, (finding,) = keep_setting(Settings(), lambda s: dark(edit(s)).model_copy(update={"geometry": "AA"}))
    assert "changed by another program" in finding.message
    assert load_settings()[0].units is UnitSystem.METRIC


def test_a_file_broken_meanwhile_is_set_aside_and_what_the_window_knows_is_kept(home: Path) -> None:
    known, _ = keep_setting(Settings(), dark)
    settings_path().write_bytes(b"{")
    kept, (finding,) = keep_setting(known, lambda s: remembered(s, Path("/jobs/a.baydrop")))
    assert "set aside" in finding.message
    assert load_settings() == (kept, ())
    assert (kept.theme, kept.recent) == (ThemeChoice.DARK, ("/jobs/a.baydrop",))
    assert (home / "settings.broken-1.json").read_bytes() == b"{"


def test_a_lock_that_stays_is_told_or_taken_over(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of a living process it is told; one left under another name of this computer is in no one's way."""
    monkeypatch.setattr("estimator.store.lock._WAIT_S", 0.0)
    home.mkdir(parents=True)
    lock = take_lock(settings_path(), writing=True)
    assert lock is not None
    settings, (finding,) = keep_setting(Settings(), dark)
    assert settings.theme is ThemeChoice.DARK
    assert "not kept" in finding.message and f"process {os.getpid()}" in finding.message
    lock.release()
    there = lock_path(settings_path(), writing=True)
    left = {"user": "ann", "machine": "old-name", "process": 1, "began": "", "token": "t"}
    for content in ("", json.dumps({**left, "since": "2026-11-25T08:30:00+00:00"})):
        there.write_text(content, encoding="utf-8")
        assert keep_setting(Settings(), dark)[1] == ()
        assert not there.exists()


SEVERAL = """
import sys
from pathlib import Path
from estimator.store.settings import Settings, keep_setting
for i in range(12):
    window = f"{sys.argv[1]}{i}"
    _, problems = keep_setting(Settings(), lambda s: s.model_copy(update={"layout": s.layout + window + " "}))
    assert not problems, problems
"""


def test_three_processes_at_once_lose_no_edit(home: Path) -> None:
    """Each adds twelve words to one text; the file holds all 36, each once."""
    running = [
        subprocess.Popen([sys.executable, "-c", SEVERAL, who], env={**os.environ, HOME_VARIABLE: str(home)})
        for who in "abc"
    ]
    assert [process.wait() for process in running] == [0, 0, 0]
    words = load_settings()[0].layout.split()
    assert sorted(words) == sorted(f"{who}{i}" for who in "abc" for i in range(12))
    assert [p.name for p in home.iterdir()] == ["settings.json"]


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="the XDG base directories")
def test_the_user_s_folder_without_the_variable(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    # XDG Base Directory Specification: user data under $XDG_DATA_HOME.
    monkeypatch.delenv(HOME_VARIABLE)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert user_folder() == tmp_path / "baydrop"
