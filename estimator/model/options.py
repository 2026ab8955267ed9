"""Options of a job: each is what it has otherwise than the base design."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Final, Self

from pydantic import Field, ValidationInfo, model_validator

from estimator.going import Going
from estimator.model.datum import Datum
from estimator.model.spec import Frozen, Identifier, ShortText, spec

__all__ = ["BASE", "Alternative", "HowChanged", "OptionChange"]

BASE: Final = "base"
"""Id that stands for the job's own design; no alternative has it."""


class HowChanged(StrEnum):
    """How an option differs from the base design at one place."""

    SET = "set"
    ADD = "add"
    REMOVE = "remove"
    MOVE = "move"


class OptionChange(Frozen):
    """One thing that an option has otherwise than the base design."""

    kind: HowChanged = spec("Kind", "Set a field, add a row, remove a row, or move a row.")
    place: Annotated[tuple[ShortText, ...], Field(min_length=1, max_length=8)] = spec(
        "Place",
        "From the design down: field names, and each row by its id, service, product, segment or key.",
    )
    value: Datum = spec(
        "Value", "Of a field that is set, or of the whole row that is added.", default=Datum()
    )
    instead_of: Datum = spec(
        "Instead of",
        "What the base design had there when the option changed it: tells whether the base was changed since.",
        default=Datum(),
    )
    after: ShortText = spec(
        "After", "Row that an added or moved row stands after; empty for the first.", default=""
    )

    @property
    def key(self) -> str:
        """What tells it from the other changes of its option."""
        return " / ".join(self.place)


class Alternative(Frozen):
    """An option: what it has otherwise than the base design; offered beside it or only kept for comparison."""

    id: Identifier = spec("Id", "Short name; letters, digits and hyphens.")
    name: ShortText = spec("Option", "Name as it is printed.", default="")
    offered: bool = spec(
        "On the quote", "The quote shows it with its price, for the customer to tick.", default=False
    )
    changes: Annotated[tuple[OptionChange, ...], Field(max_length=20_000)] = spec(
        "Changes", "What it has otherwise than the base design.", default=()
    )

    @model_validator(mode="after")
    def _going_on(self, info: ValidationInfo) -> Self:
        # Fifty options of a file may take a second to read: whoever opens it can leave it between two.
        if isinstance(info.context, Going):
            info.context.check()
        return self
