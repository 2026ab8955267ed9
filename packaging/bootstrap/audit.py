"""What an advisory check answered about a lock: none, some, or not to be asked, with the reason."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

__all__ = ["CLEAN", "FOUND", "NOT_ASKED", "Answer", "answered", "recorded"]

CLEAN = 0
FOUND = 1
NOT_ASKED = 3


@dataclass(frozen=True)
class Answer:
    """What was answered about one lock.

    Attributes:
        lock: the lock's path inside the project.
        asked: number of packages that were asked about with an answer.
        found: for each advisory the package with its version, and the advisory's id.
        why_not: why packages could not be asked about, "" if all were.
    """

    lock: str
    asked: int
    found: tuple[str, ...]
    why_not: str

    @property
    def code(self) -> int:
        """Exit code: an advisory outweighs what could not be asked."""
        if self.found:
            return FOUND
        return NOT_ASKED if self.why_not else CLEAN


def answered(lock: str, out: str, err: str) -> Answer:
    """The answer in what pip-audit printed.

    Args:
        lock: the lock's path inside the project.
        out: what it printed, JSON where it came to an end.
        err: what it printed as an error.
    """
    try:
        packages = json.loads(out)["dependencies"]
    except (ValueError, KeyError, TypeError):
        lines = [line.strip() for line in err.splitlines() if line.strip()]
        return Answer(lock, 0, (), _without_address(lines[-1]) if lines else "the check printed nothing")
    asked = [p for p in packages if "skip_reason" not in p]
    found = tuple(f"{p['name']} {p['version']}: {v['id']}" for p in asked for v in p["vulns"])
    left = len(packages) - len(asked)
    if not packages:
        return Answer(lock, 0, (), "no package was read from the lock")
    why = f"the source of advisories does not answer for {left} of {len(packages)} packages" if left else ""
    return Answer(lock, len(asked), found, why)


def _without_address(line: str) -> str:
    """The kind of trouble alone: the rest of such a line names hosts, which the record does not keep."""
    kind = line.split("(", maxsplit=1)[0].split(":", maxsplit=1)[0].rsplit(".", maxsplit=1)[-1].strip()
    return f"the source of advisories could not be reached ({kind or 'no reason given'})"


def recorded(day: date, answers: Sequence[Answer]) -> str:
    """The record of a check, a line for each lock and for each advisory."""
    lines = [f"Advisories asked about on {day.isoformat()} by `python3 packaging/advisories.py`."]
    for answer in answers:
        if answer.why_not:
            lines.append(f"{answer.lock}: not wholly checked; {answer.why_not}.")
        if answer.found:
            lines.append(f"{answer.lock}: {len(answer.found)} found.")
            lines += [f"  {one}" for one in answer.found]
        elif not answer.why_not:
            lines.append(f"{answer.lock}: none for its {answer.asked} packages.")
    return "\n".join(lines) + "\n"
