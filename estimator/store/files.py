"""Files read with a limit and written as a whole: after a failure the old file is as it was.

A file is never written over by content of another kind, such as a photo by a job; the kind is told by how it begins.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import secrets
import stat
import time
from enum import Enum
from functools import lru_cache
from pathlib import Path
from typing import BinaryIO, Final

from estimator.going import ALONE, Going
from estimator.store.processes import Process, this_process

__all__ = [
    "FileBusy",
    "FileKind",
    "FileTrouble",
    "exists",
    "fingerprint",
    "kind_of",
    "part_name",
    "read_whole",
    "shown",
    "sweep",
    "write_whole",
]

_MEGABYTE: Final = 1_000_000
_AT_ONCE: Final = 4_000_000
_HEAD: Final = 4096
_DAY_S: Final = 86_400
_PART: Final = re.compile(r"\.([0-9a-f]{12})-(\d{1,10})-[0-9a-f]{16}\.part", re.ASCII)
_OLD_PART: Final = re.compile(r"\.[0-9a-f]{16}\.part", re.ASCII)
"""A part as versions before wrote it: nothing in its name tells whose it is."""


class FileKind(Enum):
    """What a file holds, told by how it begins; the words for a person."""

    EMPTY = "nothing"
    JOB = "a job"
    DATA = "data in JSON"
    BOOK = "a price book"
    PDF = "a PDF"
    ZIP = "a workbook or another archive"
    OTHER = "something of another program"


_STARTS: Final = (
    (FileKind.PDF, re.compile(rb"%PDF")),
    (FileKind.ZIP, re.compile(rb"PK[\x03\x05]")),
    (FileKind.JOB, re.compile(rb'(?:\xef\xbb\xbf)?\s*\{\s*"format"\s*:\s*\d{1,9}\s*,\s*"units"\s*:')),
    (FileKind.DATA, re.compile(rb"(?:\xef\xbb\xbf)?\s*[\[{]")),
    (FileKind.BOOK, re.compile(rb'(?:\xef\xbb\xbf)?\s*"?currency"?\s*[,;]', re.IGNORECASE)),
    (FileKind.EMPTY, re.compile(rb"\s*\Z")),
)


def kind_of(content: bytes) -> FileKind:
    """What some content is.

    >>> kind_of(b"%PDF-1.7 ...").value, kind_of(b'{"format": 2, "units": "us"}').value
    ('a PDF', 'a job')
    """
    head = content[:_HEAD]
    return next((kind for kind, start in _STARTS if start.match(head)), FileKind.OTHER)


def fingerprint(content: bytes) -> str:
    """SHA-256 of what a file holds: whether it is still the same."""
    return hashlib.sha256(content).hexdigest()


def exists(path: Path) -> bool:
    """Whether something stands there; False too where it cannot be looked at."""
    try:
        return path.exists()
    except (OSError, ValueError):
        return False


class FileTrouble(Exception):
    """A file cannot be read or written; the message is a sentence for a person."""


class FileBusy(FileTrouble):
    """A file was written to by somebody while it was read: it is not broken, and whole in a moment."""


def shown(text: str, longest: int = 80) -> str:
    """Foreign text as it may stand in a message: one line, shortened, nothing unprintable.

    >>> shown("one\\ntwo")
    'one�two'
    >>> shown("x" * 100, 5)
    'xxxx…'
    """
    cut = text if len(text) <= longest else text[: longest - 1] + "…"
    return "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in cut)


def _reason(error: OSError) -> str:
    return shown(error.strerror or type(error).__name__)


def _why(error: OSError | ValueError) -> str:
    return _reason(error) if isinstance(error, OSError) else "its name holds a character that is not allowed"


def read_whole(path: Path, most_bytes: int, going: Going = ALONE) -> bytes:
    """All bytes of an ordinary file.

    Args:
        path: of the file.
        most_bytes: how large it may be.
        going: asked between pieces; a disk at the other end of a line may be slow.

    Raises:
        FileTrouble: no such file, not an ordinary file, larger than `most_bytes` or not readable.
        FileBusy: written to by somebody while it was read.
        Stopped: it is not wanted any more.
    """
    name = shown(path.name)
    try:
        # A pipe would be waited for as it is opened, a device be read from for ever.
        if not stat.S_ISREG(path.stat().st_mode):
            raise FileTrouble(f"“{name}” is not a file; choose a file.")
        flags = os.O_RDONLY | getattr(os, "O_BINARY", 0) | getattr(os, "O_NONBLOCK", 0)
        with os.fdopen(os.open(path, flags), "rb") as file:
            before = os.fstat(file.fileno())
            if not stat.S_ISREG(before.st_mode):
                raise FileTrouble(f"“{name}” is not a file; choose a file.")
            content = _pieces(file, most_bytes + 1, going)
            after = os.fstat(file.fileno())
    except FileNotFoundError:
        raise FileTrouble(f"There is no file “{name}” in “{shown(str(path.parent))}”.") from None
    except (OSError, ValueError) as error:
        raise FileTrouble(f"“{name}” cannot be read: {_why(error)}.") from None
    if len(content) > most_bytes:
        raise FileTrouble(
            f"“{name}” is larger than {most_bytes / _MEGABYTE:g} MB, far more than such a file needs; "
            "it was not read."
        )
    if (before.st_size, before.st_mtime_ns) != (after.st_size, after.st_mtime_ns):
        raise FileBusy(f"“{name}” is being written by another program; try again in a moment.")
    return content


def _pieces(file: BinaryIO, most_bytes: int, going: Going) -> bytes:
    """What a file holds, up to so many bytes; one that grows without end is read no further."""
    pieces: list[bytes] = []
    room = most_bytes
    while room > 0:
        wanted = min(room, _AT_ONCE)
        pieces.append(file.read(wanted))
        going.check()
        if len(pieces[-1]) < wanted:
            break
        room -= wanted
    return b"".join(pieces)


def write_whole(path: Path, content: bytes, *, over_any: bool = False) -> None:
    """Put the content in the place of a file, all of it or nothing.

    It is written beside the file, flushed to the disk and then renamed over it. An existing file keeps its
    permissions; of a link, the file that it points to is replaced. A file that is write-protected is left alone, and
    so is one that holds something of another kind (see `FileKind`).

    Args:
        path: of the file.
        content: what it holds from then on.
        over_any: whoever calls has read what stands there and knows that it may go, however it begins.

    Raises:
        FileTrouble: it cannot be written; what was there is unharmed.
    """
    name = shown(path.name)
    beside: Path | None = None
    try:
        target = Path(os.path.realpath(path))
        mode: int | None = None
        with contextlib.suppress(FileNotFoundError):
            about = target.stat()
            if not stat.S_ISREG(about.st_mode):
                raise FileTrouble(f"“{name}” is not a file; choose another name.")
            mode = stat.S_IMODE(about.st_mode)
            # A rename would pass by the protection, which only guards the file's content.
            if not mode & (stat.S_IWUSR | stat.S_IWGRP | stat.S_IWOTH):
                raise FileTrouble(f"“{name}” is write-protected; choose another name or lift the protection.")
            if not over_any:
                _check_kind(target, content, name)
        _sweep_once(target.parent, os.getpid())
        beside = target.with_name(part_name())
        flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
        with os.fdopen(os.open(beside, flags, 0o666), "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        if mode is not None:
            os.chmod(beside, mode)
        os.replace(beside, target)
        beside = None
        _flush_folder(target.parent)
    except (OSError, ValueError) as error:
        raise FileTrouble(
            f"“{name}” cannot be written in “{shown(str(path.parent))}”: {_why(error)}. What was there is unharmed."
        ) from None
    finally:
        if beside is not None:
            with contextlib.suppress(OSError):
                beside.unlink()


def _check_kind(target: Path, content: bytes, name: str) -> None:
    with target.open("rb") as file:
        there = kind_of(file.read(_HEAD))
    ours = kind_of(content)
    if FileKind.EMPTY not in (there, ours) and there is not ours:
        raise FileTrouble(
            f"“{name}” holds {there.value}, not {ours.value}, and stays as it is; choose another name."
        )


def part_name() -> str:
    """A name for what is being written, that tells whose it is (see `sweep`)."""
    process = this_process()
    return f".{process.machine_key}-{process.number}-{secrets.token_hex(8)}.part"


def sweep(folder: Path) -> int:
    """Remove what processes that are gone left half written in a folder; how many files that were.

    Parts of other machines stay: whether their process is gone cannot be seen from here.
    """
    here = this_process()
    swept = 0
    try:
        with os.scandir(folder) as found:
            names = [entry.name for entry in found if entry.name.endswith(".part")]
    except OSError:
        return 0
    for name in names:
        part, old = _PART.fullmatch(name), _OLD_PART.fullmatch(name)
        with contextlib.suppress(OSError):
            path = folder / name
            gone = (
                part is not None
                and part[1] == here.machine_key
                and not Process(here.machine, int(part[2])).is_there()
            )
            if gone or (old is not None and time.time() - path.stat().st_mtime > _DAY_S):
                path.unlink()
                swept += 1
    return swept


@lru_cache(maxsize=1000)
def _sweep_once(folder: Path, _process: int) -> None:
    """Sweep a folder when a process first writes there.

    One of papers, of exports or of earlier versions is opened by nobody who would do it.
    """
    sweep(folder)


def _flush_folder(folder: Path) -> None:
    """Make the rename itself last through a power cut, where the system has a way to ask for it."""
    if os.name != "posix":
        return
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
