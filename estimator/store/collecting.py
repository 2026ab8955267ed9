"""Python's search for cycles, put off while a large file is taken in.

What a file is made into is a tree. The search finds nothing there, and goes through all that is there again and again
as it grows: of 80,000 changes of options it took more than half of the time of opening them.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Lock

__all__ = ["collecting_later"]

_LOCK = Lock()
_within: list[bool] = []
"""For each block that is under way, in whatever thread, whether the search was on before it."""


@contextmanager
def collecting_later() -> Iterator[None]:
    """No search for cycles until the end of the block; several threads may be in one at a time."""
    with _LOCK:
        _within.append(gc.isenabled())
        gc.disable()
    try:
        yield
    finally:
        with _LOCK:
            # The first block to begin knows how it was; it hands that on to whoever is still within one.
            was = any(_within)
            _within.pop()
            if _within:
                _within[0] = was
            elif was:
                gc.enable()
