"""Acts on the options of a job; each takes a job and gives a new one, whole and checked."""

from __future__ import annotations

from estimator.model.design import Design
from estimator.model.edit import inserted, removed, with_value
from estimator.model.job import Job
from estimator.model.options import BASE, Alternative

__all__ = [
    "design_of",
    "made_base",
    "option_ids",
    "option_name",
    "with_design",
    "with_option",
    "without_option",
    "worked_on",
]


def option_ids(job: Job) -> tuple[str, ...]:
    """The base first, then the alternatives in order."""
    return (BASE, *(alternative.id for alternative in job.alternatives))


def _place(job: Job, option: str) -> int:
    for i, alternative in enumerate(job.alternatives):
        if alternative.id == option:
            return i
    raise LookupError(f"There is no option “{option}”; the options are {', '.join(option_ids(job))}.")


def option_name(job: Job, option: str) -> str:
    """What a person calls an option.

    Raises:
        LookupError: there is none of that id.
    """
    if option == BASE:
        return job.design.name.strip() or "Base design"
    alternative = job.alternatives[_place(job, option)]
    return alternative.name.strip() or alternative.design.name.strip() or alternative.id


def design_of(job: Job, option: str) -> Design:
    """The whole design of an option.

    Raises:
        LookupError: there is none of that id.
    """
    return job.design if option == BASE else job.alternatives[_place(job, option)].design


def with_design(job: Job, option: str, design: Design) -> Job:
    """The job with another design for one option.

    Raises:
        LookupError: there is none of that id.
        EditError: the job would not hold together.
    """
    if option == BASE:
        return with_value(job, ("design",), design)
    return with_value(job, ("alternatives", _place(job, option), "design"), design)


def with_option(job: Job, name: str, design: Design, *, offered: bool = False) -> tuple[Job, str]:
    """The job with one option more, at the end, and its id: the first of option-1, option-2 … that is free.

    Raises:
        EditError: the name or the design is not allowed, or there are too many.
    """
    taken = set(option_ids(job))
    number = next(n for n in range(1, len(taken) + 2) if f"option-{n}" not in taken)
    new = f"option-{number}"
    whole = inserted(
        job,
        ("alternatives",),
        len(job.alternatives),
        Alternative(id=new, design=design, offered=offered),
    )
    return with_value(whole, ("alternatives", len(job.alternatives), "name"), name), new


def without_option(job: Job, option: str) -> Job:
    """The job without one alternative.

    Raises:
        LookupError: there is none of that id; the base design cannot be removed.
    """
    return removed(job, ("alternatives",), _place(job, option))


def worked_on(job: Job, option: str) -> Job:
    """The job as if an option were its base design, alone: what it costs and does is studied on this.

    Raises:
        LookupError: there is none of that id.
    """
    return with_value(with_value(job, ("design",), design_of(job, option)), ("alternatives",), ())


def made_base(job: Job, option: str) -> Job:
    """The job with an alternative and the base design changed over; names go with their designs.

    Raises:
        LookupError: there is none of that id.
    """
    if option == BASE:
        return job
    place = _place(job, option)
    alternative = job.alternatives[place]
    name = option_name(job, option)
    base = option_name(job, BASE)
    up = with_value(job, ("design",), alternative.design.model_copy(update={"name": name}))
    fields = {"name": base, "design": job.design}
    return with_value(up, ("alternatives", place), alternative.model_copy(update=fields))
