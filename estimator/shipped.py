"""Where the data is that comes with the program: parts catalogue, price book, file schema, example jobs.

In a checkout it lies in `resources/` beside the program, where a person finds and edits it. An installed program
carries the same folder inside its package, so that nothing else is put among the person's packages.
"""

from __future__ import annotations

from importlib import resources
from importlib.resources.abc import Traversable

__all__ = ["shipped"]


def shipped(*names: str) -> Traversable:
    """A file or folder of the shipped data.

    Args:
        names: its path below `resources/`, step by step.

    >>> shipped("examples", "gannet-quay.baydrop").is_file()
    True
    """
    inside = resources.files("estimator").joinpath("resources")
    folder = inside if inside.is_dir() else resources.files("resources")
    return folder.joinpath(*names)
