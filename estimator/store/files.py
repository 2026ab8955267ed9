"""Files read with a limit and written as a whole: after a failure the old file is as it was."""

from __future__ import annotations

import contextlib
import os
import secrets
import stat
from pathlib import Path
from typing import Final

__all__ = ["FileTrouble", "read_whole", "shown", "write_whole"]

_MEGABYTE: Final = 1_000_000


class FileTrouble(Exception):
    """A file cannot be read or written; the message is a sentence for a person."""


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


def read_whole(path: Path, most_bytes: int) -> bytes:
    """All bytes of an ordinary file.

    Raises:
        FileTrouble: no such file, not an ordinary file, larger than `most_bytes`, or not readable.
    """
    name = shown(path.name)
    try:
        about = path.stat()
        # A pipe or a device could be waited for, or read from, for ever.
        if not stat.S_ISREG(about.st_mode):
            raise FileTrouble(f"“{name}” is not a file; choose a file.")
        with path.open("rb") as file:
            content = file.read(most_bytes + 1)
    except FileNotFoundError:
        raise FileTrouble(f"There is no file “{name}” in “{shown(str(path.parent))}”.") from None
    except (OSError, ValueError) as error:
        why = (
            _reason(error) if isinstance(error, OSError) else "its name holds a character that is not allowed"
        )
        raise FileTrouble(f"“{name}” cannot be read: {why}.") from None
    if len(content) > most_bytes:
        raise FileTrouble(
            f"“{name}” is larger than {most_bytes / _MEGABYTE:g} MB, far more than such a file needs; "
            "it was not read."
        )
    return content


def write_whole(path: Path, content: bytes) -> None:
    """Put the content in the place of a file, all of it or nothing.

    It is written beside the file, flushed to the disk and then renamed over it. An existing file keeps its
    permissions; of a link, the file that it points to is replaced. A file that is write-protected is left alone.

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
        beside = target.with_name(f".{secrets.token_hex(8)}.part")
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
        why = (
            _reason(error) if isinstance(error, OSError) else "its name holds a character that is not allowed"
        )
        raise FileTrouble(
            f"“{name}” cannot be written in “{shown(str(path.parent))}”: {why}. What was there is unharmed."
        ) from None
    finally:
        if beside is not None:
            with contextlib.suppress(OSError):
                beside.unlink()


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
