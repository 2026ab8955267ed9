"""A process that ends without a word at a call that changes the disk, as in a power cut."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final, NoReturn

__all__ = ["KILLED", "killed_at"]

KILLED: Final = 77
"""How it ends."""

_CALLS: Final = (
    "open",
    "write",
    "fsync",
    "chmod",
    "rename",
    "replace",
    "link",
    "unlink",
    "remove",
    "mkdir",
    "truncate",
)
"""Of `os`: all that make, fill, name, flush or remove a file."""


def killed_at(number: int, run: Callable[[], int], reached: Path) -> NoReturn:
    """In a process of its own: run, and end without a word before the call of that number, or in the middle of it
    where it writes. How many calls there were is left in a file."""
    count = 0

    def step() -> bool:
        nonlocal count
        count += 1
        return count == number

    def counted(real: Callable[..., Any], name: str) -> Callable[..., Any]:
        def call(*arguments: Any, **more: Any) -> Any:
            if name == "open" and not int(arguments[1]) & (os.O_WRONLY | os.O_RDWR):
                return real(*arguments, **more)  # reading
            if step():
                os._exit(KILLED)
            return real(*arguments, **more)

        return call

    def opened(real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*arguments: Any, **more: Any) -> Any:
            file = real(*arguments, **more)
            if "w" not in str(arguments[1:2]):
                return file
            write: Callable[[Any], Any] = file.write

            class Halved:
                """A file whose writing breaks off in its middle."""

                def __getattr__(self, name: str) -> Any:
                    return getattr(file, name)

                def __enter__(self) -> Halved:
                    return self

                def __exit__(self, *_: object) -> None:
                    file.close()

                def write(self, content: Any) -> Any:
                    if step():
                        write(content[: len(content) // 2])
                        file.flush()
                        os._exit(KILLED)
                    return write(content)

            return Halved()

        return call

    real_open = os.open
    for name in _CALLS:
        setattr(os, name, counted(getattr(os, name), name))
    os.fdopen = opened(os.fdopen)
    code = 99
    try:
        code = run()
    finally:
        handle = real_open(reached, os.O_WRONLY | os.O_CREAT)
        os.set_inheritable(handle, False)
        with open(handle, "w", encoding="ascii") as file:
            file.write(str(count))
        os._exit(code)
