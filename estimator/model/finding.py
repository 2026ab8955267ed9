"""A finding: one sentence about one place in the job, with how bad it is and where the rule comes from."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

__all__ = ["Finding", "Severity"]


class Severity(StrEnum):
    """How bad: `error` stops a quote from being right, `warning` must be looked at, `note` informs."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Finding:
    """One report line.

    Attributes:
        severity: how bad.
        place: dotted path in the job ("design.drops.3.gun") or the id of a line or drop.
        rule: short stable name of the rule ("drop-unknown-bay").
        message: a sentence that names the field and what would be right.
        source: where the rule comes from ("common practice, no source"; a standard's number).
        defer_to: who decides ("local water authority"), empty if nobody else.
    """

    severity: Severity
    place: str
    rule: str
    message: str
    source: str = ""
    defer_to: str = ""
