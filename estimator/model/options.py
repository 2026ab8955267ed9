"""Options of a job: whole designs besides the base one."""

from __future__ import annotations

from typing import Final

from estimator.model.design import Design
from estimator.model.spec import Frozen, Identifier, ShortText, spec

__all__ = ["BASE", "Alternative"]

BASE: Final = "base"
"""Id that stands for the job's own design; no alternative has it."""


class Alternative(Frozen):
    """An option: one whole design, offered beside the base design or only kept for comparison."""

    id: Identifier = spec("Id", "Short name; letters, digits and hyphens.")
    name: ShortText = spec("Option", "Name as it is printed.", default="")
    design: Design = spec("Design", "The whole design.", default=Design())
    offered: bool = spec(
        "On the quote", "The quote shows it with its price, for the customer to tick.", default=False
    )
