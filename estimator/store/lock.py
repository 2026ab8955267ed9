"""Locks: who has a file open, and since when.

A lock is a small hidden file beside the one that it is for. One that a process left which is gone counts for nothing;
one of another machine counts until somebody takes it over.
"""

from __future__ import annotations

import contextlib
import getpass
import hashlib
import json
import os
import random
import re
import secrets
import stat
import time
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from estimator.locales import moment_text
from estimator.store.files import FileTrouble, part_name, read_whole, shown
from estimator.store.processes import Process, this_process

__all__ = [
    "Lock",
    "LockHolder",
    "Locked",
    "holder_of",
    "lock_path",
    "sweep_locks",
    "take_lock",
    "wait_for_lock",
]

_MOST_BYTES: Final = 10_000
_ENDING: Final = ".lock"
_NAME: Final = re.compile(r"\.[0-9a-f]{24}\.lock", re.ASCII)
_DAY_S: Final = 86_400
_NOT_REMOVED: Final[set[str]] = set()
"""Tokens of locks that this process let go of while the disk did not: they count for nothing."""
_TRIES: Final = 200
_WAIT_S: Final = 0.02


@dataclass(frozen=True, slots=True)
class LockHolder:
    """Who has a file open.

    Attributes:
        user: name of the account, "" where the lock does not say.
        process: which process.
        since: in UTC, None where the lock does not say.
        token: tells two locks of one process from another.
    """

    user: str
    process: Process
    since: datetime | None
    token: str

    def words(self, locale: str = "en_US") -> str:
        """As part of a sentence: by whom, where, since when, its day by a locale."""
        if not self.token:
            return "by a program that left no name"
        where = "on this computer" if self.is_here else f"on “{shown(self.process.machine, 40)}”"
        since = f" since {moment_text(self.since.astimezone(), locale)}" if self.since else ""
        return f"by {shown(self.user, 40) or 'somebody'} {where} (process {self.process.number}){since}"

    @property
    def is_gone(self) -> bool:
        """Whether its process is gone for sure, or let go of it."""
        return self.token in _NOT_REMOVED or (bool(self.token) and not self.process.is_there())

    @property
    def is_here(self) -> bool:
        """Whether its process is one of this computer, by the computer's name as it is now."""
        return self.process.machine == this_process().machine


class Locked(Exception):
    """Somebody else has the file open; the message is a sentence for a person."""

    def __init__(self, path: Path, holder: LockHolder) -> None:
        super().__init__(path, holder)
        self.path = path
        self.holder = holder

    def __str__(self) -> str:
        return self.told()

    def told(self, locale: str = "en_US") -> str:
        """The sentence, its day by a locale."""
        return f"“{shown(self.path.name)}” is open {self.holder.words(locale)}."


@dataclass(frozen=True, slots=True)
class Lock:
    """A lock that is held."""

    path: Path
    token: str

    @property
    def is_held(self) -> bool:
        """Whether it is still ours: another person may have taken it over. One that cannot be read still is."""
        there = _read(self.path)
        return there is not None and there.token in (self.token, "")

    def release(self) -> None:
        """Let go of it; one that was taken over stays with whoever took it."""
        if self.is_held:
            try:
                self.path.unlink()
            except OSError:
                _NOT_REMOVED.add(self.token)


def lock_path(path: Path, *, writing: bool = False) -> Path:
    """Where the lock of a file is: beside the very file, whatever link led there.

    Args:
        path: the file.
        writing: the lock for the moment of writing it, beside that of whoever has it open.
    """
    target = Path(os.path.realpath(path))
    # Short whatever the name is: one of 255 bytes leaves no room for an ending. No name has a slash.
    name = os.fsencode(target.name) + (b"/writing" if writing else b"")
    return target.with_name(f".{hashlib.sha256(name).hexdigest()[:24]}{_ENDING}")


def holder_of(path: Path) -> LockHolder | None:
    """Who has a file open; None where nobody has, or only a process that is gone."""
    try:
        holder = _read(lock_path(path))
    except (OSError, ValueError):
        return None
    return None if holder is None or holder.is_gone else holder


def take_lock(path: Path, *, over: bool = False, writing: bool = False) -> Lock | None:
    """Lock a file.

    Args:
        path: the file; it need not be there.
        over: take the lock over from whoever holds it.
        writing: for the moment of writing; see `wait_for_lock`.

    Returns:
        The lock; None where none can be kept, as in a folder that only can be read.

    Raises:
        Locked: somebody else has the file open.
    """
    try:
        place = lock_path(path, writing=writing)
    except (OSError, ValueError):
        return None
    process = this_process()
    token = secrets.token_hex(16)
    content = {
        "user": _user(),
        "machine": process.machine,
        "process": process.number,
        "began": process.began,
        "since": datetime.now(UTC).isoformat(),
        "token": token,
    }
    # A lock that is gone by now, or was left behind, makes room for another try.
    for _ in range(3):
        try:
            if _put(place, json.dumps(content).encode("utf-8")):
                return Lock(place, token)
        except OSError:
            return None
        holder = _read(place)
        if holder is None:
            continue
        if not over and not holder.is_gone:
            raise Locked(path, holder)
        if not _clear(place, holder.token):
            return None
    holder = _read(place)
    if holder is not None:
        raise Locked(path, holder)
    return None


def wait_for_lock(path: Path) -> Lock | None:
    """Lock a file for the moment of comparing and writing it; nobody has such a lock for longer.

    It is another one than that of whoever has the file open, which can be taken over in that very moment.

    Of one that stays all the while, and of which it cannot be seen whether its process is gone, it is taken over: it
    was left under an earlier name of this computer, or is damaged, and would be in the way for ever.

    Returns:
        The lock; None where none can be kept, as in a folder that only can be read.

    Raises:
        Locked: another process of this computer does not let go of it.
    """
    seen: set[str] = set()
    is_here = True
    for _ in range(_TRIES):
        try:
            return take_lock(path, writing=True)
        except Locked as locked:
            seen.add(locked.holder.token)
            is_here = locked.holder.is_here
        # Never in step with another one that writes again and again.
        time.sleep(random.uniform(0, _WAIT_S))
    return take_lock(path, over=len(seen) == 1 and not is_here, writing=True)


def _put(place: Path, content: bytes) -> bool:
    """Make the lock, whole or not at all; False where there is one."""
    beside = place.with_name(part_name())
    try:
        with os.fdopen(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666), "wb") as file:
            file.write(content)
        try:
            os.link(beside, place)
        except FileExistsError:
            return False
        except OSError:
            # Some file systems have no second names; there a lock is for a moment empty.
            return _put_plainly(place, content)
        return True
    finally:
        with contextlib.suppress(OSError):
            beside.unlink()


def _put_plainly(place: Path, content: bytes) -> bool:
    try:
        with os.fdopen(os.open(place, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666), "wb") as file:
            file.write(content)
    except FileExistsError:
        return False
    return True


def _clear(place: Path, token: str) -> bool:
    """Remove the lock that was seen, and no other that took its place meanwhile; False where it cannot be."""
    aside = place.with_name(part_name())
    try:
        os.replace(place, aside)
    except FileNotFoundError:
        return True
    except OSError:
        return False
    moved = _read(aside)
    if moved is not None and moved.token != token:
        with contextlib.suppress(OSError):
            os.link(aside, place)
    with contextlib.suppress(OSError):
        aside.unlink()
    return True


def _read(place: Path) -> LockHolder | None:
    """What a lock says; a holder without a name where it says nothing that can be read, None where there is none."""
    nobody = LockHolder("", Process("", 0), None, "")
    try:
        os.lstat(place)
    except (FileNotFoundError, NotADirectoryError, ValueError):
        return None
    except OSError:
        return nobody  # whether there is one cannot be seen
    try:
        content = json.loads(read_whole(place, _MOST_BYTES))
        user, machine, began, token = (str(content[key]) for key in ("user", "machine", "began", "token"))
        process = Process(machine, int(content["process"]), began)
        return LockHolder(user, process, datetime.fromisoformat(str(content["since"])), token)
    except FileTrouble:
        return nobody if os.path.lexists(place) else None
    except (ValueError, KeyError, TypeError, RecursionError, OverflowError):
        return nobody


def sweep_locks(folder: Path) -> int:
    """Remove the locks in a folder that processes left which are gone, and after a day those whose writing broke off;
    how many that were."""
    swept = 0
    try:
        with os.scandir(folder) as found:
            names = [entry.name for entry in found if _NAME.fullmatch(entry.name)]
    except OSError:
        return 0
    for name in names:
        holder = _read(folder / name)
        if holder is None or not (holder.is_gone or (not holder.token and _is_old(folder / name))):
            continue
        swept += _clear(folder / name, holder.token)
    return swept


def _is_old(place: Path) -> bool:
    with contextlib.suppress(OSError):
        about = os.lstat(place)
        return stat.S_ISREG(about.st_mode) and time.time() - about.st_mtime > _DAY_S
    return False


def _user() -> str:
    try:
        return getpass.getuser()
    except (KeyError, OSError, ImportError):
        # An account without a name, as in a container.
        return ""
