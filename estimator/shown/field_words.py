"""What is told of a field: its help, and what may stand in it, in the units and the number format of the job."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from estimator.locales import day_short
from estimator.model.spec import FieldKind, FieldSpec
from estimator.shown.figures import Figures
from estimator.units import parse, units_of

__all__ = ["described", "limits_words"]

_MOST_PLACES = 6


def limits_words(field: FieldSpec, figures: Figures) -> str:
    """The least and the most that a field takes, "" where it has no limits.

    >>> from estimator.model.site import WaterSupply
    >>> from estimator.model.spec import fields_of
    >>> from estimator.units import UnitSystem
    >>> pressure = next(f for f in fields_of(WaterSupply) if f.name == "pressure")
    >>> limits_words(pressure, Figures("de_DE", "EUR", UnitSystem.US)).replace("\\xa0", " ")
    '0 psi to 232 psi'
    """
    if not (field.low and field.high):
        return ""
    if field.dimension is not None:
        low, high = (parse(end, field.dimension) for end in (field.low, field.high))
        return f"{figures.limit(low, lowest=True)} to {figures.limit(high, lowest=False)}"
    ends = (figures.number(Decimal(end), _MOST_PLACES) for end in (field.low, field.high))
    gap = "" if field.unit.startswith(":") else " "
    return f"{' to '.join(ends)}{gap if field.unit else ''}{field.unit}"


def described(field: FieldSpec, figures: Figures) -> str:
    """Help and limits of a field in words."""
    words = [field.help] if field.help else []
    if limits := limits_words(field, figures):
        words.append(f"{limits}.")
    if field.dimension is not None:
        words.append(f"With a unit: {', '.join(units_of(field.dimension))}.")
    if field.kind is FieldKind.DATE:
        example = date(2027, 3, 31)
        words.append(f"Write it such as {day_short(example, figures.locale)} or {example}.")
    if field.optional:
        words.append("May stay empty: not stated.")
    if field.demo:
        words.append("The default is an invented demo figure; put in your own.")
    return " ".join(words)
