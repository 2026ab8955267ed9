"""A disk that fails: the call of a number, of all that a program makes below a folder, is refused by the system.

Counted are the calls that look, open, read, make, fill, flush, name, list and remove; what happens elsewhere (fonts,
modules) is left alone.
"""

from __future__ import annotations

import builtins
import errno
import io
import os
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final
from unittest.mock import patch

__all__ = ["REASONS", "Disk", "failing"]

REASONS: Final = (errno.ENOSPC, errno.EIO, errno.EACCES)
"""A full disk, a broken one, one that may not be written to."""

_BY_PATH: Final = (
    "stat", "lstat", "chmod", "replace", "rename", "link", "unlink", "remove", "mkdir", "rmdir", "utime", "scandir",
    "listdir", "truncate",
)  # fmt: skip
_FILLING: Final = frozenset({"open", "write", "flush", "fsync", "link", "mkdir", "replace", "rename"})
"""What a disk that stays full refuses; looking, reading and removing go on, and so does emptying a file that is there:
whoever writes over one in its place loses it then."""


@dataclass
class Disk:
    """What was called so far.

    Attributes:
        folder: calls below it count.
        number: of the call that fails, 0 for none.
        reason: its `errno`.
        stays: every later call that fills the disk fails too, as on one that is full.
        calls: names of the calls made, in order.
        failed: the call that failed first, "" while none did.
    """

    folder: Path
    number: int = 0
    reason: int = errno.ENOSPC
    stays: bool = False
    calls: list[str] = field(default_factory=list)
    failed: str = ""
    handles: set[int] = field(default_factory=set)

    def counts(self, path: object) -> bool:
        """Whether a path, or a handle, is of something below the folder."""
        if isinstance(path, int):
            return path in self.handles
        if not isinstance(path, str | bytes | os.PathLike):
            return False
        return os.fsdecode(path).startswith(f"{self.folder}")

    def step(self, name: str, *, filling: bool | None = None) -> None:
        """One call.

        Args:
            filling: whether it needs room, where its name alone does not tell.

        Raises:
            OSError: it is the one that fails.
        """
        self.calls.append(name)
        filling = name in _FILLING if filling is None else filling
        if len(self.calls) == self.number or (self.stays and self.failed and filling):
            self.failed = self.failed or name
            raise OSError(self.reason, os.strerror(self.reason))


class _File:
    """An open file whose reading, writing and flushing may fail; writing fails in its middle."""

    def __init__(self, file: Any, disk: Disk) -> None:
        self._file, self._disk = file, disk

    def __getattr__(self, name: str) -> Any:
        return getattr(self._file, name)

    def __enter__(self) -> _File:
        return self

    def __exit__(self, *_: object) -> None:
        self._file.close()

    def __iter__(self) -> Iterator[Any]:
        return iter(self._file)

    def read(self, *arguments: Any) -> Any:
        self._disk.step("read")
        return self._file.read(*arguments)

    def write(self, content: Any) -> Any:
        try:
            self._disk.step("write")
        except OSError:
            self._file.write(content[: len(content) // 2])
            raise
        return self._file.write(content)

    def flush(self) -> None:
        self._disk.step("flush")
        self._file.flush()


@contextmanager
def failing(disk: Disk) -> Iterator[Disk]:
    """Let a disk fail as it says, in this process, until the end of the block."""
    real = {name: getattr(os, name) for name in (*_BY_PATH, "open", "fdopen", "fsync", "close")}
    real_open = io.open

    def there(path: Any) -> bool:
        try:
            real["lstat"](path)
        except OSError:
            return False
        return True

    def by_path(name: str) -> Callable[..., Any]:
        def call(*arguments: Any, **named: Any) -> Any:
            if any(disk.counts(argument) for argument in arguments[:2]):
                disk.step(name)
            return real[name](*arguments, **named)

        return call

    def opened(path: Any, *arguments: Any, **named: Any) -> int:
        if not disk.counts(path):
            handle: int = real["open"](path, *arguments, **named)
            return handle
        # One that only reads fills nothing.
        flags = arguments[0] if arguments else named["flags"]
        writing = bool(flags & (os.O_WRONLY | os.O_RDWR))
        disk.step("open" if writing else "open to read", filling=writing and not there(path))
        handle = real["open"](path, *arguments, **named)
        disk.handles.add(handle)
        return handle

    def as_file(handle: Any, *arguments: Any, **named: Any) -> Any:
        file = real["fdopen"](handle, *arguments, **named)
        return _File(file, disk) if disk.counts(handle) else file

    def flushed(handle: Any) -> None:
        if disk.counts(handle):
            disk.step("fsync")
        real["fsync"](handle)

    def closed(handle: int) -> None:
        disk.handles.discard(handle)
        real["close"](handle)

    def plainly(path: Any, mode: str = "r", *arguments: Any, **named: Any) -> Any:
        if isinstance(path, int) or not disk.counts(path):
            return real_open(path, mode, *arguments, **named)
        writing = not set(mode) <= set("rbt")
        disk.step("open" if writing else "open to read", filling=writing and not there(path))
        return _File(real_open(path, mode, *arguments, **named), disk)

    fakes: dict[str, Callable[..., Any]] = {name: by_path(name) for name in _BY_PATH}
    fakes |= {"open": opened, "fdopen": as_file, "fsync": flushed, "close": closed}
    with ExitStack() as stack:
        for name, fake in fakes.items():
            stack.enter_context(patch.object(os, name, fake))
        for module in (io, builtins):
            stack.enter_context(patch.object(module, "open", plainly))
        yield disk
