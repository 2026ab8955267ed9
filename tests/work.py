"""Work counted instead of timed: the same on every machine, however busy it is."""

from __future__ import annotations

import sys
from collections.abc import Callable
from types import FrameType
from typing import Any

__all__ = ["calls_of"]


def calls_of(work: Callable[[], object]) -> int:
    """How many functions are called, Python's own and those of libraries in C, each call counted once.

    What a library does inside one call is not seen: a batch of numpy counts as one. So this holds growth, of loops
    above all; speed is what `tests/benchmarks/` measure.

    >>> calls_of(lambda: [abs(x) for x in range(200)]) - calls_of(lambda: [abs(x) for x in range(100)])
    100
    """
    count = 0

    def follow(_frame: FrameType, event: str, _argument: Any) -> None:
        nonlocal count
        count += event in ("call", "c_call")

    before = sys.getprofile()
    sys.setprofile(follow)
    try:
        work()
    finally:
        sys.setprofile(before)
    return count
