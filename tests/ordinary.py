"""Programs run as somebody whom the permissions of files bind, also where the tests run as root.

Root that gave up its power over files (capabilities(7): CAP_DAC_OVERRIDE, CAP_DAC_READ_SEARCH, CAP_FOWNER) is bound
like any owner of a file, and can still read an interpreter that stands in root's own folder.
"""

from __future__ import annotations

import os
import sys
from typing import Final

__all__ = ["ordinary"]

_GIVE_UP: Final = """
import ctypes, os, sys
for power in (1, 2, 3):
    if ctypes.CDLL(None, use_errno=True).prctl(24, power, 0, 0, 0):  # PR_CAPBSET_DROP
        sys.exit(f"the power {power} cannot be given up")
os.execv(sys.argv[1], sys.argv[1:])
"""


def ordinary(*command: str) -> list[str]:
    """The command, bound by the permissions of files."""
    return (
        [sys.executable, "-c", _GIVE_UP, *command]
        if sys.platform == "linux" and os.geteuid() == 0
        else list(command)
    )
