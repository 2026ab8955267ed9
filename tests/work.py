"""Work counted instead of timed: the same on every machine, however busy it is."""

from __future__ import annotations

import sys
from collections.abc import Callable
from types import FrameType
from typing import Any

from estimator.going import Going

__all__ = ["calls_of", "most_between_questions"]


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


def most_between_questions(work: Callable[[Going], object]) -> int:
    """The most calls that long work makes from one question whether it is still wanted to the next, or from the last to
    its end: so much is done for nobody after it was left.

    >>> most_between_questions(lambda going: [[abs(x) for x in range(50)] and going.check() for _ in range(9)]) < 60
    True
    """
    count, most = 0, 0

    class Asked(Going):
        def check(self) -> None:
            nonlocal count, most
            most, count = max(most, count), 0

    def follow(_frame: FrameType, event: str, _argument: Any) -> None:
        nonlocal count
        count += event in ("call", "c_call")

    asked, before = Asked(), sys.getprofile()
    sys.setprofile(follow)
    try:
        work(asked)
    finally:
        sys.setprofile(before)
    return max(most, count)
