"""Earlier saved versions of jobs: what a save went over, the last five of each file.

They are in the user's own folder: no job's folder fills up with them, and a lost one does not take them along.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import shutil
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from estimator.going import ALONE, Going
from estimator.locales import moment_text
from estimator.model.job import Job
from estimator.store.files import FileTrouble, read_whole, shown, write_whole
from estimator.store.jobs import EXTENSION, job_bytes_at, job_from_bytes
from estimator.store.places import no_folder, user_folder

__all__ = ["MOST_KEPT", "Earlier", "earlier_of", "earlier_of_all", "keep_earlier", "read_earlier", "words"]

MOST_KEPT: Final = 5
"""Versions of one file."""
_MOST_FILES: Final = 200
_MOST_NAME: Final = 100_000
_MOST_SHOWN: Final = 80
_NUMBERED: Final = re.compile(rf"(\d{{1,9}}){re.escape(EXTENSION)}", re.ASCII)
_NAME: Final = "file.txt"


@dataclass(frozen=True, slots=True)
class Earlier:
    """One version that was saved earlier.

    Attributes:
        of: the job's file.
        path: where the version is.
        saved: when it was saved, in UTC.
        size: bytes.
    """

    of: Path
    path: Path
    saved: datetime
    size: int


def _folder() -> Path:
    return user_folder() / "earlier"


def _folder_of(path: Path) -> Path:
    return _folder() / hashlib.sha256(os.fsencode(os.path.realpath(path))).hexdigest()[:24]


def keep_earlier(path: Path, content: bytes, saved: float) -> str:
    """Keep what a file holds before it is written over; only the last five are kept.

    Args:
        path: the job's file.
        content: what it holds.
        saved: when that was saved, in seconds since 1970.

    Returns:
        A sentence where it cannot be kept, else "".
    """
    folder = _folder_of(path)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        numbers = _numbers(folder)
        if numbers and read_whole(folder / f"{numbers[-1]}{EXTENSION}", len(content) + 1) == content:
            return ""
    except (OSError, FileTrouble):
        numbers = _numbers(folder)
    number = numbers[-1] + 1 if numbers else 1
    kept = folder / f"{number}{EXTENSION}"
    try:
        write_whole(folder / _NAME, os.fsencode(os.path.realpath(path)))
        write_whole(kept, content)
        with contextlib.suppress(OSError, OverflowError):
            os.utime(kept, (saved, saved))
    except FileTrouble as trouble:
        return f"The version before was not kept: {no_folder() or trouble}"
    for old in numbers[: max(0, len(numbers) + 1 - MOST_KEPT)]:
        with contextlib.suppress(OSError):
            (folder / f"{old}{EXTENSION}").unlink()
    _forget_oldest()
    return ""


def _numbers(folder: Path) -> list[int]:
    try:
        return sorted(int(m[1]) for m in map(_NUMBERED.fullmatch, os.listdir(folder)) if m)
    except OSError:
        return []


def _forget_oldest() -> None:
    """Versions of files that were not saved for longest go first, when there are very many files."""
    try:
        folders = sorted((f for f in _folder().iterdir() if f.is_dir()), key=lambda f: f.stat().st_mtime)
    except OSError:
        return
    for folder in folders[: max(0, len(folders) - _MOST_FILES)]:
        shutil.rmtree(folder, ignore_errors=True)


def _in(folder: Path) -> list[Earlier]:
    try:
        of = Path(os.fsdecode(read_whole(folder / _NAME, _MOST_NAME)))
    except FileTrouble:
        return []
    found = []
    for number in reversed(_numbers(folder)):
        path = folder / f"{number}{EXTENSION}"
        with contextlib.suppress(OSError, OverflowError, ValueError):
            about = path.stat()
            found.append(Earlier(of, path, datetime.fromtimestamp(about.st_mtime, UTC), about.st_size))
    return found


def earlier_of(path: Path) -> tuple[Earlier, ...]:
    """The earlier versions of a job's file, the newest first."""
    return tuple(_in(_folder_of(path)))


def earlier_of_all() -> tuple[Earlier, ...]:
    """The newest earlier version of every job's file, the newest first: for a file that is gone."""
    try:
        folders = [f for f in _folder().iterdir() if f.is_dir()]
    except OSError:
        return ()
    newest = [versions[0] for versions in map(_in, folders) if versions]
    return tuple(sorted(newest, key=lambda e: e.saved, reverse=True))


def read_earlier(version: Earlier, going: Going = ALONE) -> Job:
    """The job of an earlier version.

    Raises:
        JobFileError: it cannot be read.
        Stopped: it is not wanted any more.
    """
    return job_from_bytes(job_bytes_at(version.path, going), shown(version.path.name), going)


def words(versions: Sequence[Earlier], locale: str) -> list[str]:
    """What versions are called in a list, no two alike.

    Args:
        versions: in the order of the list.
        locale: by which days are written.
    """
    plain = [f"{moment_text(v.saved.astimezone(), locale)}, {shown(v.of.name)}" for v in versions]
    # Files of one name in several folders; then those that were saved within a second.
    placed = [
        f"{name} in {_placed(v.of.parent)}"
        if len({o.of for o in _alike(plain, versions, name)}) > 1
        else name
        for name, v in zip(plain, versions, strict=True)
    ]
    told: list[str] = []
    for i, name in enumerate(placed):
        alike = _alike(placed, versions, name)
        # The newest is first in the list, and the last of its second.
        place = len(alike) - placed[:i].count(name)
        told.append(f"{name}, {place} of {len(alike)} in that second" if len(alike) > 1 else name)
    return told


def _placed(folder: Path) -> str:
    """A folder; of a long one the end, by which two are told apart more often than by how they begin."""
    whole = str(folder)
    return shown(whole if len(whole) <= _MOST_SHOWN else f"…{whole[1 - _MOST_SHOWN :]}")


def _alike(names: Sequence[str], versions: Sequence[Earlier], name: str) -> list[Earlier]:
    return [version for other, version in zip(names, versions, strict=True) if other == name]
