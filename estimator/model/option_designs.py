"""The designs of a job: the base and each option, and what an option has of its own."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from pydantic import BaseModel

from estimator.model.design import Design
from estimator.model.edit import with_value
from estimator.model.finding import Finding, Severity
from estimator.model.job import Job
from estimator.model.option_changes import applied, as_data, key_name
from estimator.model.options import BASE, Alternative, HowChanged, OptionChange
from estimator.model.snapshot import Snapshot
from estimator.model.spec import FieldKind, fields_of

__all__ = [
    "LostChange",
    "OwnChange",
    "OwnState",
    "alternative_of",
    "design_of",
    "option_findings",
    "option_ids",
    "option_name",
    "own_changes",
    "place_of_option",
    "worked_on",
]


def option_ids(job: Snapshot) -> tuple[str, ...]:
    """The base first, then the alternatives in order."""
    return (BASE, *(alternative.id for alternative in job.alternatives))


def place_of_option(job: Snapshot, option: str) -> int:
    """Position of an alternative.

    Raises:
        LookupError: there is none of that id; the base design is no alternative.
    """
    for i, alternative in enumerate(job.alternatives):
        if alternative.id == option:
            return i
    raise LookupError(f"There is no option “{option}”; the options are {', '.join(option_ids(job))}.")


def alternative_of(job: Snapshot, option: str) -> Alternative:
    """The alternative of an id.

    Raises:
        LookupError: there is none of that id; the base design is no alternative.
    """
    return job.alternatives[place_of_option(job, option)]


def option_name(job: Snapshot, option: str) -> str:
    """What a person calls an option.

    Raises:
        LookupError: there is none of that id.
    """
    if option == BASE:
        return job.design.name.strip() or "Base design"
    alternative = alternative_of(job, option)
    # Files of format 1 could leave an option to the name of its design.
    own = any(change.place == ("name",) for change in alternative.changes)
    named = design_of(job, option).name.strip() if own else ""
    return alternative.name.strip() or named or alternative.id


def design_of(job: Snapshot, option: str) -> Design:
    """The whole design of an option; asked again of the same job, the same object.

    Raises:
        LookupError: there is none of that id.
    """
    return job.design if option == BASE else applied(job.design, alternative_of(job, option)).design


def worked_on(job: Job, option: str) -> Job:
    """The job as if an option were its base design, alone: what it costs and does is studied on this.

    Raises:
        LookupError: there is none of that id.
    """
    design = design_of(job, option)
    return with_value(with_value(job, ("alternatives",), ()), ("design",), design)


class OwnState(StrEnum):
    """How something that an option has of its own stands to the base design."""

    OWN = "own"
    BOTH = "both"  # the base was changed there since, too; the option keeps its own
    SAME = "same"  # the base has the same by now
    IDLE = "idle"  # the base no longer has what is changed


@dataclass(frozen=True, slots=True)
class OwnChange:
    """One thing that an option has of its own.

    Attributes:
        change: as it is kept.
        state: how it stands to the base design.
        base: what the base design has there, as plain data; None where it has nothing.
    """

    change: OptionChange
    state: OwnState
    base: Any


@dataclass(frozen=True, slots=True)
class LostChange:
    """A change that went with what it hung on.

    Attributes:
        option: id of its option.
        change: as it was kept.
    """

    option: str
    change: OptionChange


def _base_value(base: Design, place: tuple[str, ...]) -> tuple[bool, Any]:
    """Whether the base has something at a place, and what, as plain data."""
    value: Any = base
    steps = list(place)
    while steps:
        name = steps.pop(0)
        if not isinstance(value, BaseModel):
            return False, None
        spec = next((f for f in fields_of(type(value)) if f.name == name), None)
        if spec is None:
            return False, None
        if spec.kind is FieldKind.LIST and spec.model is not None and steps and (key := key_name(spec.model)):
            wanted = steps.pop(0)
            value = next((row for row in getattr(value, name) if getattr(row, key) == wanted), None)
            if value is None:
                return False, None
        elif steps:
            value = getattr(value, name)
        else:
            return True, value.model_dump(mode="json", include={name})[name]
    return True, as_data(value)


def _own(base: Design, change: OptionChange, idle: bool) -> OwnChange:
    there, value = _base_value(base, change.place)
    if idle:
        state = OwnState.IDLE
    elif change.kind is HowChanged.ADD:
        state = OwnState.OWN if not there else OwnState.BOTH
        if there and value == change.value.data:
            state = OwnState.SAME
    elif change.kind is HowChanged.MOVE:
        state = OwnState.OWN
    elif change.kind is HowChanged.SET and value == change.value.data:
        state = OwnState.SAME
    else:
        state = OwnState.OWN if value == change.instead_of.data else OwnState.BOTH
    return OwnChange(change, state, value if there else None)


def own_changes(job: Snapshot, option: str) -> tuple[OwnChange, ...]:
    """What an option has of its own; nothing for the base design.

    Raises:
        LookupError: there is none of that id.
    """
    if option == BASE:
        return ()
    alternative = alternative_of(job, option)
    idle = {told.position for told in applied(job.design, alternative).idle}
    return tuple(_own(job.design, change, i in idle) for i, change in enumerate(alternative.changes))


def option_findings(job: Snapshot) -> tuple[Finding, ...]:
    """Changes of options that do nothing, because the base no longer has what they change."""
    return tuple(
        Finding(
            Severity.WARNING,
            f"alternatives.{i}.changes.{told.position}",
            "option-idle-change",
            f"Option “{option_name(job, alternative.id)}”: {told.sentence} The change is kept and does nothing; take "
            "it out, or give the base design what it needs.",
        )
        for i, alternative in enumerate(job.alternatives)
        for told in applied(job.design, alternative).idle
    )
