"""The PDF library as it came: what lies in a person's home, folder or environment neither runs nor changes a paper.

reportlab runs `~/.reportlab_mods`, `~/.reportlab_settings` and modules of those names from anywhere on the path when
it is first imported, takes options from the environment, and searches the home and the present folder for
character maps. A stranger's folder could so run code as the installer, or change a paper's bytes.
"""

from __future__ import annotations

import os
import sys
from collections.abc import MutableMapping
from types import ModuleType
from typing import Final

__all__ = ["PREFIX", "VARIABLES", "look_inside_only", "seal_off"]

PREFIX: Final = "RL_"
"""Variables that begin so are reportlab's options."""

VARIABLES: Final = ("EVAL_DEBUG", "SOURCE_DATE_EPOCH")
"""Other variables that it reads; a word where it looks for a number ends it, and the second dates a paper."""

_LOOKED_FOR: Final = (
    "reportlab.local_rl_mods",
    "reportlab_mods",
    "reportlab.local_rl_settings",
    "reportlab_settings",
)
"""What it imports if it is there. Found empty, it does not go on to the files in the home folder."""


def seal_off(
    environment: MutableMapping[str, str] = os.environ, modules: MutableMapping[str, ModuleType] = sys.modules
) -> None:
    """See to it that reportlab hears nobody; to be called before its first import.

    The variables are taken out for good: it reads some of them only when a paper is written.

    Args:
        environment: the variables of the process.
        modules: what the process has imported, or is made to believe it has.
    """
    for name in [*VARIABLES, *(n for n in environment if n.startswith(PREFIX))]:
        environment.pop(name, None)
    for name in _LOOKED_FOR:
        modules.setdefault(name, ModuleType(name))


def look_inside_only() -> None:
    """Character maps and fonts that are looked for by name come from reportlab's own folder; streams are bytes."""
    from reportlab import rl_config

    own = os.path.join(os.path.dirname(os.path.abspath(rl_config.__file__)), "fonts")
    for paths in (rl_config.T1SearchPath, rl_config.TTFSearchPath, rl_config.CMapSearchPath):
        paths[:] = [own]  # in place: other modules of the library hold the same list
    rl_config.useA85 = 0  # written in printable letters, a paper is a quarter larger and takes longer
