"""A person's settings: recent files, units and theme they like, where the window was.

None of this is worth stopping for: a file that cannot be read is set aside and reported.
"""

from __future__ import annotations

import contextlib
import os
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Final

from pydantic import Field, ValidationError

from estimator.model.finding import Finding, Severity
from estimator.model.spec import Frozen
from estimator.store.files import FileTrouble, exists, read_whole, shown, write_whole
from estimator.store.places import user_folder
from estimator.units import UnitSystem

__all__ = [
    "MOST_RECENT",
    "Settings",
    "Theme",
    "load_settings",
    "remembered",
    "save_settings",
    "settings_path",
]

MOST_RECENT: Final = 10
_MOST_BYTES: Final = 1_000_000


class Theme(StrEnum):
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
    theme: Theme = Theme.SYSTEM
    geometry: Annotated[str, Field(max_length=20_000)] = ""
    layout: Annotated[str, Field(max_length=100_000)] = ""


def settings_path() -> Path:
    """Where the settings are."""
    return user_folder() / "settings.json"


def load_settings() -> tuple[Settings, tuple[Finding, ...]]:
    """The settings; the defaults and a finding where they cannot be read, with the broken file set aside."""
    path = settings_path()
    if not exists(path):
        return Settings(), ()
    try:
        return Settings.model_validate_json(read_whole(path, _MOST_BYTES)), ()
    except (FileTrouble, ValidationError, RecursionError):
        aside = _free_name(path)
        try:
            os.replace(path, aside)
            kept = f"it was set aside as “{aside.name}”"
        except OSError:
            kept = "it could not be set aside"
        message = f"The settings in “{shown(str(path))}” cannot be read; {kept} and the defaults are used."
        return Settings(), (Finding(Severity.WARNING, "settings", "settings-broken", message),)


def _free_name(path: Path) -> Path:
    number = 1
    while (aside := path.with_name(f"settings.broken-{number}.json")).exists():
        number += 1
    return aside


def save_settings(settings: Settings) -> tuple[Finding, ...]:
    """Keep the settings; a finding where that is not possible."""
    path = settings_path()
    try:
        with contextlib.suppress(OSError):
            path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, (settings.model_dump_json(indent=2) + "\n").encode("utf-8"))
    except FileTrouble as trouble:
        return (
            Finding(Severity.WARNING, "settings", "settings-not-kept", f"Settings are not kept: {trouble}"),
        )
    return ()


def remembered(settings: Settings, path: Path) -> Settings:
    """The settings with a job file first in the recent list."""
    name = os.path.abspath(path)
    recent = (name, *(other for other in settings.recent if other != name))
    return settings.model_copy(update={"recent": recent[:MOST_RECENT]})
