"""A job whose every text is what a stranger's file may hold: markup, formulas, what terminals and windows obey."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

from estimator.acts.options import with_option
from estimator.model.edit import value_at
from estimator.model.job import Job
from estimator.model.spec import FieldKind
from tests.every_field import changed, fields_in, scenes

__all__ = ["FREE_TEXTS", "MARKUP", "OBEYED", "harmless", "hostile", "hostile_job"]

MARKUP = '<img src="file:///tmp/p.png"><b>x</b>&y'
OBEYED = "\u202e\u2066\x9b31m\x85\u2028\uffff\n\t"
"""What turns a line round, colours a terminal, breaks a line; and a character that is none."""
FREE_TEXTS = 35
"""At least so many fields of a job take any text (counted)."""


def hostile(number: int) -> str:
    """A text that begins like a formula, holds markup with a picture of the disk and all that is obeyed."""
    return f"=1+1;@A{number}{MARKUP}{OBEYED}{number}"


def harmless(number: int) -> str:
    """The same without what no paper can print."""
    return f"=1+1;@A{number}{MARKUP}"


@lru_cache
def hostile_job(text: Callable[[int], str] = hostile) -> tuple[Job, dict[str, str]]:
    """The job in which each field has something to move, and what each place that takes any text holds.

    Args:
        text: makes the text of each place from its number.
    """
    job = scenes()[0]
    put: dict[str, str] = {}
    for field in fields_in(job):
        spec = field.spec
        if spec.kind not in (FieldKind.TEXT, FieldKind.LONG_TEXT, FieldKind.TEXT_LIST):
            continue
        if spec.catalogue or spec.refers_to:
            continue
        for place in field.places:
            words = text(len(put))
            value: object = (words,) if spec.kind is FieldKind.TEXT_LIST else words
            new = changed(job, place, value)
            if new is not None:
                job = new
                put[".".join(map(str, place))] = words
    return _with_hostile_option(job, put, text), put


def _with_hostile_option(job: Job, put: dict[str, str], text: Callable[[int], str]) -> Job:
    """The job with one offered option more, whose every text is another than that of the base design."""
    other = job
    for number, place in enumerate(put):
        if place.startswith("design."):
            path = tuple(int(step) if step.isdigit() else step for step in place.split("."))
            words = text(500 + number)
            new = changed(other, path, (words,) if isinstance(value_at(other, path), tuple) else words)
            assert new is not None, place
            other = new
    return with_option(job, text(499), other.design, offered=True)[0]
