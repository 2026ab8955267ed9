"""What may stand where a file should be: for every front end and every kind of file that is read or written."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType
from typing import Final

__all__ = ["BAD", "LONGEST", "not_for_ever", "state"]

_DEVICES: Final = {"zero": "/dev/zero", "full": "/dev/full", "null": "/dev/null"}
LONGEST: Final = "the longest name"
"""Of a file that is not there: it can be written."""


def _pipe(place: Path) -> Path:
    os.mkfifo(place)
    return place


def _folder(place: Path) -> Path:
    place.mkdir()
    return place


def _loop(place: Path) -> Path:
    place.symlink_to(place)
    return place


def _to(target: str) -> Callable[[Path], Path]:
    def linked(place: Path) -> Path:
        place.symlink_to(target)
        return place

    return linked


def _named(length: int) -> Callable[[Path], Path]:
    def named(place: Path) -> Path:
        return place.with_name(place.name.rjust(length, "x"))

    return named


def _below_a_file(place: Path) -> Path:
    place.write_bytes(b"")
    return place / place.name


def _below_a_loop(place: Path) -> Path:
    return _loop(place) / place.name


BAD: Final[dict[str, Callable[[Path], Path]]] = {
    "a pipe": _pipe,
    "a folder": _folder,
    "a loop of links": _loop,
    **{f"a link to the device {name}": _to(path) for name, path in _DEVICES.items()},
    LONGEST: _named(255),
    "a longer name": _named(256),
    "in no folder": lambda place: place.with_name("none") / place.name,
    "below a file": _below_a_file,
    "below a loop": _below_a_loop,
}
"""Makes it at a place, whose ending it keeps; answers the name to give."""


def state(folder: Path) -> dict[str, object]:
    """What is in a folder: the content of files, the kind of everything else. A lock is gone by the end."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        if path.is_file() and not path.is_symlink()
        else path.lstat().st_mode
        for path in sorted(folder.rglob("*"))
    }


@contextmanager
def not_for_ever() -> Iterator[None]:
    """What is done within ends: a pipe that is waited for would stop all tests."""

    def hangs(_number: int, _frame: FrameType | None) -> None:
        raise AssertionError("it hangs")

    before = signal.signal(signal.SIGALRM, hangs)
    signal.alarm(60)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)
