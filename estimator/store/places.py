"""Where the program keeps a person's own files."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Final

import platformdirs

__all__ = ["HOME_VARIABLE", "no_folder", "user_folder"]

HOME_VARIABLE = "BAYDROP_HOME"
"""Environment variable that puts the user's files elsewhere, such as on a memory stick."""

_NOWHERE: Final = Path(os.devnull, "baydrop")
"""Where nothing is and nothing can be made."""


def user_folder() -> Path:
    """The folder of price book, settings and recovery copies; it need not exist yet."""
    elsewhere = os.environ.get(HOME_VARIABLE, "")
    if elsewhere:
        return Path(elsewhere)
    try:
        folder = Path(platformdirs.user_data_dir("baydrop", appauthor=False))
    except RuntimeError:
        return (
            _NOWHERE  # an account that the system does not know, and no variable that says where its home is
        )
    return folder if folder.is_absolute() else _NOWHERE


def no_folder() -> str:
    """Why there is no folder of a person's own, "" where one is known."""
    if user_folder() != _NOWHERE:
        return ""
    return f"This account has no home folder; set HOME or {HOME_VARIABLE} to a folder that may be written to."
