"""The first problems of a file's data, and work that does not grow with how many there are.

Validation gathers every problem before it tells one: hundreds of thousands of them take longer and more memory than
the largest job. So what is missing or too much is looked for first, and where validation finds very many it is asked
again, part by part, until there are enough to tell.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from itertools import islice
from typing import Any, Final, NamedTuple

from pydantic import BaseModel, ValidationError

from estimator.model.finding import Finding, Severity
from estimator.model.problems import MISSING, Misfit, label_of, misfits_of, place_of, problems_of
from estimator.model.spec import FieldKind, fields_of

__all__ = ["MOST_FINDINGS", "StructureFit", "first_problems", "fit_of", "some"]

MOST_FINDINGS: Final = 50
"""Of one file; further ones are counted."""
_ENOUGH: Final = 2_000

Path = tuple[str | int, ...]


def some(findings: tuple[Finding, ...], untold: int = 0, *, at_least: bool = False) -> tuple[Finding, ...]:
    """The first findings; a file can hold any number of them.

    Args:
        findings: in the order in which they are told.
        untold: how many there are besides.
        at_least: there can be more than these; nobody counted on.
    """
    more = max(0, len(findings) - MOST_FINDINGS) + untold
    first = findings[:MOST_FINDINGS]
    if not more and not at_least:
        return first
    number = f"at least {more}" if at_least else str(more)
    sentence = f"There are {number} more problems in the file."
    return (*first, Finding(Severity.ERROR, "file", "more", sentence))


class StructureFit(NamedTuple):
    """How plain data fits the declared fields, before any value is looked at.

    Attributes:
        findings: fields that are missing; or, where it is hopeless, the first of all that does not fit.
        hopeless: so much is missing or too much that validating the rest is of no use.
    """

    findings: tuple[Finding, ...]
    hopeless: bool


def fit_of(model: type[BaseModel], data: dict[str, Any]) -> StructureFit:
    """What is missing or too much, looked at once.

    Args:
        model: what a file holds.
        data: parsed.
    """
    found = list(islice(misfits_of(model, data), _ENOUGH + 1))
    if len(found) <= MOST_FINDINGS:
        return StructureFit(
            tuple(_finding(model, misfit) for misfit in found if misfit.rule == MISSING), False
        )
    told = tuple(_finding(model, misfit) for misfit in found[:MOST_FINDINGS])
    return StructureFit(some(told, len(found) - len(told), at_least=len(found) > _ENOUGH), True)


def _finding(model: type[BaseModel], misfit: Misfit) -> Finding:
    sentence = f"{label_of(model, misfit.path)}: {misfit.sentence}"
    return Finding(Severity.ERROR, place_of(misfit.path), misfit.rule, sentence)


def first_problems(
    error: ValidationError, model: type[BaseModel], data: Any
) -> tuple[tuple[Finding, ...], int]:
    """Validation errors as findings and how many more there are at least: all and 0 if they are not too many.

    Args:
        error: from validating the data.
        model: what a file holds.
        data: parsed.
    """
    if error.error_count() <= _ENOUGH:
        return problems_of(error, model), 0
    found = tuple(islice(_by_parts(model, model, data, ()), MOST_FINDINGS))
    return (found, error.error_count() - len(found)) if found else (problems_of(error, model), 0)


def _by_parts(whole: type[BaseModel], model: type[BaseModel], data: Any, above: Path) -> Iterator[Finding]:
    for field in fields_of(model):
        value, path = data.get(field.name), (*above, field.name)
        if field.model is None:
            continue
        rows = value if field.kind is FieldKind.LIST and isinstance(value, list) else [value]
        for i, row in enumerate(rows):
            here = (*path, i) if rows is value else path
            if not isinstance(row, dict):
                continue
            try:
                field.model.model_validate_json(json.dumps(row))
            except ValidationError as error:
                if error.error_count() > _ENOUGH:
                    yield from _by_parts(whole, field.model, row, here)
                else:
                    yield from problems_of(error, whole, here)
