"""Recovery copies: what was not saved yet outlives a crash or a power cut.

One file for each open job in the user's folder, named by an id that the window gives the job while it is open.
"""

from __future__ import annotations

import contextlib
import json
import re
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from estimator.model.finding import Finding, Severity
from estimator.model.job import Job
from estimator.store.files import FileTrouble, exists, fingerprint, read_whole, shown, write_whole
from estimator.store.jobs import MOST_BYTES, JobFileError, job_from_text
from estimator.store.places import no_folder, user_folder

__all__ = [
    "AutosaveError",
    "CopyChanged",
    "RecoveryCopy",
    "copies",
    "discard",
    "folder",
    "path_of",
    "read",
    "write",
]

_ID: Final = re.compile(r"[A-Za-z0-9_-]{1,64}", re.ASCII)
_EXTENSION: Final = ".recovery"
_MOST_BYTES: Final = MOST_BYTES + 1_000_000
"""A copy is a job without its white space and a line of what else is known of it."""


class AutosaveError(Exception):
    """A recovery copy cannot be written or read; the message is a sentence for a person."""


class CopyChanged(AutosaveError):
    """A recovery copy holds something else than this window wrote there; it was left as it is."""


@dataclass(frozen=True, slots=True)
class RecoveryCopy:
    """One recovery copy.

    Attributes:
        job_id: id of the open job.
        original: file that the job was opened from, None for a job never saved.
        written: when, in UTC.
        title: quote title, else customer, else "": to tell one from another.
        held: fingerprint of what the file held when it was opened or saved last, None where that is not known.
        mark: fingerprint of the copy itself.
    """

    job_id: str
    original: Path | None
    written: datetime
    title: str
    held: str | None = None
    mark: str = ""


def folder() -> Path:
    """Where recovery copies are."""
    return user_folder() / "recovery"


def path_of(job_id: str) -> Path:
    """Where the copy of a job is.

    Raises:
        ValueError: the id has other characters than one may have.
    """
    # The id becomes a file name: nothing that could lead out of the folder.
    if not _ID.fullmatch(job_id):
        raise ValueError("a job id has 1 to 64 letters, digits, hyphens or underscores")
    return folder() / f"{job_id}{_EXTENSION}"


def write(
    job_id: str,
    job: Job,
    original: Path | None,
    now: datetime | None = None,
    *,
    held: str | None = None,
    mark: str | None = None,
) -> str:
    """Write the copy of a job, in the place of its last one.

    Args:
        job_id: letters, digits, hyphens, underscores.
        job: the job as it is now.
        original: file it was opened from.
        now: the time, the clock's if left out.
        held: fingerprint of what that file held when it was opened or saved last.
        mark: fingerprint of the last copy, None where there is none yet.

    Returns:
        The fingerprint of this one.

    Raises:
        CopyChanged: what is there is not the last copy; it stays.
        AutosaveError: it cannot be written; the last copy is unharmed.
        ValueError: `job_id` has other characters.
    """
    path = path_of(job_id)
    content = {
        "written": (now or datetime.now(UTC)).astimezone(UTC).isoformat(),
        "original": None if original is None else str(original.absolute()),
        "held": held,
        "job": job.model_dump(mode="json"),
    }
    text = json.dumps(content, ensure_ascii=False, allow_nan=False) + "\n"
    try:
        with contextlib.suppress(OSError):
            path.parent.mkdir(parents=True, exist_ok=True)
        if exists(path) and fingerprint(read_whole(path, _MOST_BYTES)) != mark:
            raise CopyChanged(
                f"“{shown(path.name)}” was changed by somebody else and stays as it is; the recovery copy was not "
                "written."
            )
        encoded = text.encode("utf-8")
        if len(encoded) > _MOST_BYTES:
            raise AutosaveError(
                f"The recovery copy was not written: it would be larger than {_MOST_BYTES / 1_000_000:g} MB and could "
                "not be read again. Take out options or pictures, or begin a new quote for further revisions."
            )
        write_whole(path, encoded)
    except (FileTrouble, UnicodeEncodeError) as trouble:
        raise AutosaveError(f"The recovery copy was not written: {no_folder() or trouble}") from None
    return fingerprint(encoded)


def _not_whole(path: Path) -> AutosaveError:
    return AutosaveError(f"“{shown(path.name)}” is not a whole recovery copy.")


def _content(path: Path) -> tuple[dict[str, Any], str]:
    """What a copy holds, and its fingerprint."""
    try:
        there = read_whole(path, _MOST_BYTES)
        content = json.loads(there.decode("utf-8"))
    except FileTrouble as trouble:
        raise AutosaveError(str(trouble)) from None
    except (ValueError, RecursionError):
        raise _not_whole(path) from None
    if not isinstance(content, dict) or not isinstance(content.get("job"), dict):
        raise _not_whole(path)
    return content, fingerprint(there)


def _words(job: dict[str, Any]) -> str:
    for group, field in (("quote", "title"), ("customer", "name")):
        words = job[group].get(field) if isinstance(job.get(group), dict) else None
        if isinstance(words, str) and words:
            return shown(words)
    return ""


def _copy(path: Path) -> RecoveryCopy:
    content, mark = _content(path)
    original, written, held = content.get("original"), content.get("written"), content.get("held")
    if not isinstance(written, str) or not (original is None or isinstance(original, str)):
        raise _not_whole(path)
    try:
        when = datetime.fromisoformat(written).astimezone(UTC)
    except (ValueError, OverflowError):
        raise _not_whole(path) from None
    return RecoveryCopy(
        job_id=path.name.removesuffix(_EXTENSION),
        original=None if original is None else Path(original),
        written=when,
        title=_words(content["job"]),
        held=held if isinstance(held, str) else None,
        mark=mark,
    )


def copies() -> tuple[tuple[RecoveryCopy, ...], tuple[Finding, ...]]:
    """What can be recovered, the newest first, and a finding for each file there that cannot."""
    if no_folder():
        return (), ()
    found: list[RecoveryCopy] = []
    problems: list[Finding] = []
    try:
        paths = sorted(p for p in folder().iterdir() if p.suffix == _EXTENSION and _ID.fullmatch(p.stem))
    except FileNotFoundError:
        return (), ()
    except OSError as error:
        sentence = (
            f"Whether there is unsaved work in “{shown(str(folder()))}” cannot be seen: "
            f"{shown(error.strerror or type(error).__name__)}."
        )
        return (), (Finding(Severity.WARNING, "recovery", "recovery-unseen", sentence),)
    for path in paths:
        try:
            found.append(_copy(path))
        except AutosaveError as trouble:
            problems.append(Finding(Severity.WARNING, "recovery", "recovery-broken", str(trouble)))
    return tuple(sorted(found, key=lambda c: c.written, reverse=True)), tuple(problems)


def read(job_id: str) -> Job:
    """The job of a recovery copy.

    Raises:
        AutosaveError: there is none, or it is not a whole job.
        ValueError: `job_id` has other characters than an id may have.
    """
    path = path_of(job_id)
    content, _ = _content(path)
    try:
        return job_from_text(json.dumps(content["job"]), shown(path.name))
    except JobFileError as error:
        raise AutosaveError(str(error)) from None


def discard(job_id: str, mark: str) -> None:
    """Remove a recovery copy; nothing happens where there is none, or where it holds something else by now.

    Args:
        job_id: of the copy.
        mark: its fingerprint, as far as is known.

    Raises:
        AutosaveError: it cannot be removed.
        ValueError: `job_id` has other characters than an id may have.
    """
    path = path_of(job_id)
    try:
        if exists(path) and fingerprint(read_whole(path, _MOST_BYTES)) == mark:
            path.unlink(missing_ok=True)
    except FileTrouble as trouble:
        raise AutosaveError(str(trouble)) from None
    except OSError as error:
        raise AutosaveError(
            f"“{shown(path.name)}” cannot be removed: {shown(error.strerror or '')}."
        ) from None
