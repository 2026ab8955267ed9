"""What stops a start, told in sentences instead of a traceback."""

from __future__ import annotations

import sys
from collections.abc import Callable

__all__ = ["Trouble", "guarded", "say"]

INTERRUPTED = 130


class Trouble(Exception):
    """The start cannot go on; the text says why and what to do."""


def say(text: str) -> None:
    """Tell the person who started this, at once even into a pipe."""
    print(text, flush=True)


def guarded(main: Callable[[], int]) -> int:
    """The exit code of `main`; 1 with a sentence on the error stream for `Trouble`."""
    try:
        return main()
    except Trouble as trouble:
        print(trouble, file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        return INTERRUPTED
