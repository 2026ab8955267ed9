"""The first problems of a file's data, and work that does not grow with how many there are.

Validation gathers every problem before it tells one: hundreds of thousands of them take longer and more memory than
the largest job. So what is missing or too much is looked for first, and where validation finds very many it is asked
again, part by part, until there are enough to tell.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from itertools import islice
from typing import Any, Final

from pydantic import BaseModel, ValidationError

from estimator.model.finding import Finding, Severity
from estimator.model.problems import label_of, place_of, problems_of
from estimator.model.spec import FieldKind, fields_of

__all__ = ["MOST_FINDINGS", "first_problems", "misfits", "some"]

MOST_FINDINGS: Final = 50
"""Of one file; further ones are counted."""
_ENOUGH: Final = 2_000
_MISSING: Final = "missing"

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


def misfits(model: type[BaseModel], data: dict[str, Any]) -> tuple[Finding, ...]:
    """Problems to tell where so much is missing or too much that validating the rest is of no use; else none.

    Args:
        model: what a file holds.
        data: parsed.
    """
    found = list(islice(_misfits(model, data, ()), _ENOUGH + 1))
    if len(found) <= MOST_FINDINGS:
        return ()
    told = tuple(_finding(model, *misfit) for misfit in found[:MOST_FINDINGS])
    return some(told, len(found) - len(told), at_least=len(found) > _ENOUGH)


def _finding(model: type[BaseModel], path: Path, rule: str, sentence: str) -> Finding:
    words = f"“{path[-1]}” is missing and must be given." if rule == _MISSING else sentence
    return Finding(Severity.ERROR, place_of(path), rule, f"{label_of(model, path)}: {words}")


def _misfits(model: type[BaseModel], data: dict[str, Any], above: Path) -> Iterator[tuple[Path, str, str]]:
    fields = fields_of(model)
    for field in fields:
        path = (*above, field.name)
        if field.name not in data:
            yield path, _MISSING, ""
            continue
        value = data[field.name]
        if isinstance(value, list) and 0 < field.max_length < len(value) and field.kind is FieldKind.LIST:
            yield path, "too_long", f"There are {len(value)}; {field.max_length} at most."
        if field.model is None:
            continue
        if field.kind is FieldKind.GROUP and isinstance(value, dict):
            yield from _misfits(field.model, value, path)
        elif field.kind is FieldKind.LIST and isinstance(value, list):
            for i, row in enumerate(value):
                if isinstance(row, dict):
                    yield from _misfits(field.model, row, (*path, i))
                else:
                    yield (*path, i), "model_type", "This must be a group of fields."
    if len(data) > len(fields):
        for key in data.keys() - {field.name for field in fields}:
            yield (
                (*above, key),
                "extra_forbidden",
                "This key is not known here; remove it or correct its name.",
            )


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
