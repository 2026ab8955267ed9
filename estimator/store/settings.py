"""A person's settings: recent files, units and theme they like, where the window was.

None of this is worth stopping for: a file that cannot be read is set aside and reported. Several windows share one
file: each writes what it changes, into what the file holds by then.
"""

from __future__ import annotations

import contextlib
import errno
import os
from collections.abc import Callable
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Final

from pydantic import Field, ValidationError

from estimator.model.finding import Finding, Severity
from estimator.model.spec import Frozen
from estimator.store.files import FileBusy, FileTrouble, exists, fingerprint, read_whole, shown, write_whole
from estimator.store.lock import Locked, wait_for_lock
from estimator.store.places import no_folder, user_folder
from estimator.units import UnitSystem

__all__ = [
    "MOST_RECENT",
    "Settings",
    "ThemeChoice",
    "keep_setting",
    "load_settings",
    "remembered",
    "settings_path",
]

MOST_RECENT: Final = 10
_MOST_BYTES: Final = 1_000_000
_TRIES: Final = 5


class ThemeChoice(StrEnum):
    """Colours of the window."""

    SYSTEM = "system"
    LIGHT = "light"
    DARK = "dark"


class Settings(Frozen):
    """What is remembered between two starts.

    Attributes:
        recent: full paths of job files, the last opened first.
        units: system of a new job.
        theme: colours of the window.
        geometry: place and size of the window, as text that only the window reads ("" for none).
        layout: places of the window's parts, likewise.
    """

    recent: Annotated[tuple[Annotated[str, Field(max_length=4096)], ...], Field(max_length=MOST_RECENT)] = ()
    units: UnitSystem = UnitSystem.METRIC
    theme: ThemeChoice = ThemeChoice.SYSTEM
    geometry: Annotated[str, Field(max_length=20_000)] = ""
    layout: Annotated[str, Field(max_length=100_000)] = ""


def settings_path() -> Path:
    """Where the settings are."""
    return user_folder() / "settings.json"


def load_settings() -> tuple[Settings, tuple[Finding, ...]]:
    """The settings; the defaults and a finding where they cannot be read, with the broken file set aside."""
    settings, _, problems = _read(Settings(), "the defaults are used")
    return settings, problems


def _read(otherwise: Settings, words: str) -> tuple[Settings, str, tuple[Finding, ...]]:
    """What the file holds and its fingerprint; the other settings, "" and a finding where it cannot be read.

    Args:
        otherwise: settings where there is no file, or a broken one, which is set aside.
        words: what becomes of them then.
    """
    path = settings_path()
    if not exists(path) and not _is_loop(path):
        return otherwise, "", ()
    try:
        content = read_whole(path, _MOST_BYTES)
        return Settings.model_validate_json(content), fingerprint(content), ()
    except FileBusy as busy:
        message = f"The settings cannot be read: {str(busy)[:-1]}; {words}."
        return otherwise, "", (Finding(Severity.WARNING, "settings", "settings-broken", message),)
    except (FileTrouble, ValidationError, RecursionError):
        aside = _free_name(path)
        try:
            os.replace(path, aside)
            kept = f"it was set aside as “{aside.name}”"
        except OSError:
            kept = "it could not be set aside"
        where = f"“{path.name}” in “{shown(str(path.parent))}”"
        message = f"The settings {where} cannot be read; {kept} and {words}."
        return otherwise, "", (Finding(Severity.WARNING, "settings", "settings-broken", message),)


def _is_loop(path: Path) -> bool:
    """Whether links lead there in a circle, which counts as nothing that exists."""
    try:
        path.stat()
    except (OSError, ValueError) as error:
        return isinstance(error, OSError) and error.errno == errno.ELOOP
    return False


def _free_name(path: Path) -> Path:
    number = 1
    while os.path.lexists(aside := path.with_name(f"settings.broken-{number}.json")):
        number += 1
    return aside


def keep_setting(
    known: Settings, edit: Callable[[Settings], Settings]
) -> tuple[Settings, tuple[Finding, ...]]:
    """Write an edit of the settings into the file as that is now: what another window changed stays.

    Args:
        known: what this window knows; it holds where there is no file, or none that can be read.
        edit: changes what it is about and nothing else.

    Returns:
        What the file holds then, and a finding where it could not be kept.
    """
    path = settings_path()
    try:
        with contextlib.suppress(OSError):
            path.parent.mkdir(parents=True, exist_ok=True)
        lock = wait_for_lock(path)
    except Locked as locked:
        return edit(known), _not_kept(str(locked))
    try:
        for _ in range(_TRIES):
            there, mark, problems = _read(known, "those of this window are kept")
            settings = edit(there)
            content = (settings.model_dump_json(indent=2) + "\n").encode("utf-8")
            if fingerprint(content) == mark:
                return settings, problems
            # Who edits the file by hand asks nobody for a lock.
            if _mark() == mark:
                try:
                    write_whole(path, content)
                except FileTrouble as trouble:
                    return settings, (*problems, *_not_kept(no_folder() or str(trouble)))
                return settings, problems
        return edit(known), _not_kept(f"“{shown(path.name)}” is changed by another program all the time.")
    finally:
        if lock is not None:
            lock.release()


def _mark() -> str:
    """Fingerprint of what the file holds at this moment, "" where there is none, or none that can be read."""
    try:
        return fingerprint(read_whole(settings_path(), _MOST_BYTES))
    except FileTrouble:
        return ""


def _not_kept(sentence: str) -> tuple[Finding, ...]:
    return (Finding(Severity.WARNING, "settings", "settings-not-kept", f"Settings are not kept: {sentence}"),)


def remembered(settings: Settings, path: Path) -> Settings:
    """The settings with a job file first in the recent list."""
    name = os.path.abspath(path)
    recent = (name, *(other for other in settings.recent if other != name))
    return settings.model_copy(update={"recent": recent[:MOST_RECENT]})
