"""Edits: each takes a value and gives a new one, checked as a whole; the old one stays as it was."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from estimator.model.finding import Finding, Severity
from estimator.model.problems import label_of, problems_of

__all__ = ["EditError", "inserted", "moved", "removed", "value_at", "with_value"]

M = TypeVar("M", bound=BaseModel)
Path = Sequence[str | int]


class EditError(ValueError):
    """The edit is not allowed; nothing was changed.

    Attributes:
        findings: each problem with its place in the whole job and a sentence.
    """

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        super().__init__(" ".join(f.message for f in findings))
        self.findings = findings


def value_at(whole: Any, path: Path) -> Any:
    """What stands at a path of attribute names and list positions.

    Raises:
        LookupError: nothing stands there.
    """
    for step in path:
        try:
            whole = whole[step] if isinstance(step, int) else getattr(whole, step)
        except (AttributeError, IndexError, TypeError):
            raise LookupError(f"nothing at {'.'.join(map(str, path))}") from None
    return whole


def _replaced(whole: Any, path: Path, value: Any, root: type[BaseModel], above: tuple[str | int, ...]) -> Any:
    if not path:
        return value
    step, rest = path[0], path[1:]
    if isinstance(step, int):
        items = list(whole)
        items[step] = _replaced(items[step], rest, value, root, (*above, step))
        return tuple(items)
    # Parts off the path are kept as the very same objects: what has not changed can be told by identity.
    fields = {name: getattr(whole, name) for name in type(whole).model_fields}
    fields[step] = _replaced(fields[step], rest, value, root, (*above, step))
    try:
        return type(whole)(**fields)
    except ValidationError as error:
        raise EditError(problems_of(error, root, above)) from None


def with_value(whole: M, path: Path, value: Any) -> M:
    """The same with one value changed, validated.

    Raises:
        LookupError: nothing stands at the path.
        EditError: the value, or the whole with it, is not allowed; or the part is sealed (see `Job.sealed`).
    """
    value_at(whole, path)
    if path and path[0] in getattr(whole, "sealed", ()):
        label = label_of(type(whole), path[:1])
        raise EditError(
            (
                Finding(
                    Severity.ERROR,
                    ".".join(map(str, path)),
                    "sealed",
                    f"{label}: what was issued stays as it is; change the job and issue a new revision.",
                ),
            )
        )
    result: M = _replaced(whole, path, value, type(whole), ())
    return result


def inserted(whole: M, path: Path, position: int, item: BaseModel) -> M:
    """The same with an item put into the list at a path."""
    items = list(value_at(whole, path))
    items.insert(position, item)
    return with_value(whole, path, tuple(items))


def removed(whole: M, path: Path, position: int) -> M:
    """The same without one item of the list at a path."""
    items = list(value_at(whole, path))
    del items[position]
    return with_value(whole, path, tuple(items))


def moved(whole: M, path: Path, position: int, to: int) -> M:
    """The same with one item of the list at a path put at another position."""
    items = list(value_at(whole, path))
    items.insert(to, items.pop(position))
    return with_value(whole, path, tuple(items))
