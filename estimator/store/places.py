"""Where the program keeps a person's own files."""

from __future__ import annotations

import os
from pathlib import Path

import platformdirs

__all__ = ["HOME_VARIABLE", "user_folder"]

HOME_VARIABLE = "BAYDROP_HOME"
"""Environment variable that puts the user's files elsewhere, such as on a memory stick."""


def user_folder() -> Path:
    """The folder of price book, settings and recovery copies; it need not exist yet."""
    elsewhere = os.environ.get(HOME_VARIABLE, "")
    return Path(elsewhere) if elsewhere else Path(platformdirs.user_data_dir("baydrop", appauthor=False))
