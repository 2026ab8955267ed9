"""Which process this is, and whether another one is still there."""

from __future__ import annotations

import hashlib
import os
import platform
import sys
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

__all__ = ["Process", "this_process"]


@dataclass(frozen=True, slots=True)
class Process:
    """A process on some machine.

    Attributes:
        machine: its name.
        number: its id there.
        began: when it began, as the system counts it; "" where that is not known. Ids are given out again.
    """

    machine: str
    number: int
    began: str = ""

    @property
    def machine_key(self) -> str:
        """The machine as it may stand in a file name."""
        return hashlib.sha256(self.machine.encode("utf-8", "replace")).hexdigest()[:12]

    def is_there(self) -> bool:
        """Whether it still runs; True where that cannot be told: on another machine."""
        if self.machine != platform.node():
            return True
        return _runs(self.number) and (not self.began or _began(self.number) in ("", self.began))


@lru_cache(maxsize=8)
def _process(number: int) -> Process:
    return Process(platform.node(), number, _began(number))


def this_process() -> Process:
    """The process that asks."""
    return _process(os.getpid())


def _began(number: int) -> str:
    try:
        # The second field is a name in parentheses and may hold anything; what follows it is plain.
        fields = Path(f"/proc/{number}/stat").read_bytes().rpartition(b")")[2].split()
        return fields[19].decode("ascii")
    except (OSError, IndexError, UnicodeDecodeError):
        return ""


if sys.platform == "win32":

    def _runs(number: int) -> bool:
        import ctypes

        # A signal to look whether a process is there would end it on this system.
        handle = ctypes.windll.kernel32.OpenProcess(0x00100000, False, number)  # SYNCHRONIZE
        if not handle:
            return bool(ctypes.windll.kernel32.GetLastError() == 5)  # there, and not ours
        waiting: int = ctypes.windll.kernel32.WaitForSingleObject(handle, 0)
        ctypes.windll.kernel32.CloseHandle(handle)
        return waiting != 0  # an ended process is signalled

else:

    def _runs(number: int) -> bool:
        try:
            os.kill(number, 0)
        except ProcessLookupError:
            return False
        except (PermissionError, OverflowError):
            return True
        return True
