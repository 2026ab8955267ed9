"""Job files: readable UTF-8 JSON, extension `.baydrop`, format number first.

Formats so far: 1, the first; 2, options as differences and issued papers. A file holds every field; a missing one is
an error, not a silent default. A change of the model that old files do not hold takes the next number and a step in
`model.upgrades` that brings them up to it.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final, NamedTuple, NoReturn

from pydantic import ValidationError
from pydantic.json_schema import GenerateJsonSchema
from pydantic_core import core_schema

from estimator.going import ALONE, Going
from estimator.model.finding import Finding, Severity
from estimator.model.job import FORMAT, Job
from estimator.model.problems import label_of
from estimator.model.upgrades import upgraded
from estimator.store.collecting import collecting_later
from estimator.store.files import FileTrouble, read_whole, shown, write_whole
from estimator.store.structure import MOST_FINDINGS, first_problems, fit_of, some

__all__ = [
    "EXTENSION",
    "MOST_BYTES",
    "JobFileError",
    "job_bytes",
    "job_bytes_at",
    "job_from_bytes",
    "job_from_text",
    "job_schema",
    "job_text",
    "load_job",
    "near_limits",
    "refuse",
    "save_job",
    "schema_text",
]

EXTENSION: Final = ".baydrop"
MOST_BYTES: Final = 60_000_000
"""Of a job's file: papers of 200 revisions and what they were made of."""
_NEAR: Final = 0.8
_MOST_PARTS: Final = 300_000
_MOST_VALUES: Final = 1_200_000
"""Both nearly twice those of a job whose 50 options each change all of its 1,600 drops."""
_PIECE_LENGTH: Final = 500_000
_MEGABYTE: Final = 1_000_000
_MOST_DEPTH: Final = 40
_MOST_KEYS: Final = 200


class JobFileError(ValueError):
    """The file is no job that this program can open, or cannot be written; nothing was changed.

    Attributes:
        findings: each problem with its place ("file", or a dotted path in the job) and a sentence.
    """

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        super().__init__(" ".join(f.message for f in findings))
        self.findings = findings


def refuse(rule: str, sentence: str) -> NoReturn:
    """Say why a file is no job, or cannot be written, as a finding of the whole file."""
    raise JobFileError((Finding(Severity.ERROR, "file", rule, sentence),)) from None


def load_job(path: Path) -> Job:
    """Read a job file.

    Raises:
        JobFileError: not readable, not a job, of a newer format, or not valid.
    """
    return job_from_bytes(job_bytes_at(path), shown(path.name))


def job_bytes_at(path: Path, going: Going = ALONE) -> bytes:
    """What a job's file holds, unread.

    Raises:
        JobFileError: it cannot be read, or is larger than a job's file can be.
        Stopped: it is not wanted any more.
    """
    try:
        return read_whole(path, MOST_BYTES, going)
    except FileTrouble as trouble:
        refuse("file", str(trouble))


def job_from_bytes(content: bytes, name: str, going: Going = ALONE) -> Job:
    """The job that a file's content holds.

    Raises:
        JobFileError: see `load_job`.
        Stopped: it is not wanted any more.
    """
    return job_from_text(_text(content, name), name, going)


def save_job(path: Path, job: Job) -> None:
    """Write a job file as a whole; its bytes depend on the job alone.

    Raises:
        JobFileError: it cannot be written, or the job is not one that could be read again: it is larger than a file
            may be, or was put together past validation. What was there is unharmed.
    """
    content = job_bytes(job, shown(path.name))
    try:
        write_whole(path, content)
    except FileTrouble as trouble:
        refuse("file", str(trouble))


def job_bytes(job: Job, name: str) -> bytes:
    """The content of a job's file, which can be read again for sure.

    Args:
        job: the job.
        name: what the file is called in messages.

    Raises:
        JobFileError: it could not be read again.
    """
    text = job_text(job)
    content = text.encode("utf-8")
    if len(content) > MOST_BYTES:
        refuse(
            "too-large",
            f"“{name}” would be {len(content) / _MEGABYTE:.1f} MB; a job's file has at most "
            f"{MOST_BYTES / _MEGABYTE:g} MB, so it could not be opened again. It was not written: take out options or "
            "pictures, or begin a new quote for further revisions.",
        )
    job_from_text(text, name)
    return content


def near_limits(content: bytes, name: str) -> str:
    """A warning where a job's file comes near the size beyond which it is not saved; else ""."""
    if len(content) <= _NEAR * MOST_BYTES:
        return ""
    return (
        f"“{name}” takes {len(content) / _MEGABYTE:.0f} of the {MOST_BYTES / _MEGABYTE:g} MB that a job's file may "
        "have; begin a new quote for further revisions soon."
    )


def job_text(job: Job) -> str:
    """The text of a job's file."""
    return json.dumps(job.model_dump(mode="json"), indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def job_from_text(text: str, name: str, going: Going = ALONE) -> Job:
    """The job that a file's text holds.

    Args:
        text: JSON.
        name: what the file is called in messages.
        going: asked between the steps and at each option.

    Raises:
        JobFileError: see `load_job`.
        Stopped: it is not wanted any more.
    """
    with collecting_later():
        return _job_from_text(text, name, going)


def _job_from_text(text: str, name: str, going: Going) -> Job:
    going.check()
    data = _parsed(text, name)
    going.check()
    odd = _odd_values(_levels(data, name))
    going.check()
    if odd:
        raise JobFileError(some(odd))
    if not isinstance(data, dict) or "format" not in data:
        refuse("not-a-job", f"“{name}” is JSON but not a job of this program: it has no format number.")
    _check_format(data["format"], name)
    if data["format"] < FORMAT:
        data = upgraded(data)
        text = json.dumps(data)
    half = tuple(_half_upgraded(data))
    if half:
        raise JobFileError(some(half))
    missing, hopeless = fit_of(Job, data)
    going.check()
    if hopeless:
        raise JobFileError(missing)
    try:
        job = Job.model_validate_json(text, context=going)
    except ValidationError as error:
        if error.error_count() == 1 and error.errors(include_url=False)[0]["type"] == "json_invalid":
            # What reads JSON here takes an escape of half a pair of characters; what checks it does not.
            refuse(
                "json_invalid",
                f"“{name}” holds half of a pair of characters (an escape from \\ud800 to \\udfff that stands alone), "
                "which is no text; correct it or take it out.",
            )
        told = {f.place for f in missing}
        first, untold = first_problems(error, Job, data)
        wrong = tuple(f for f in first if f.place not in told)
        raise JobFileError(some((*missing, *wrong), untold, at_least=untold > 0)) from None
    except RecursionError:
        _too_deep(name)
    if missing:
        raise JobFileError(some(missing))
    return job


def _text(content: bytes, name: str) -> str:
    if not content.strip():
        refuse("empty", f"“{name}” is empty; open a job file ({EXTENSION}).")
    if content.startswith(b"%PDF"):
        refuse("not-a-job", f"“{name}” is a PDF, not a job file ({EXTENSION}).")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        refuse(
            "not-text",
            f"“{name}” is not a job file: it is not UTF-8 text (byte {error.start + 1} cannot be read).",
        )


class _Constant(NamedTuple):
    """NaN, Infinity or -Infinity where JSON has numbers."""

    word: str


class _Doubled(dict[str, Any]):
    """A JSON object in which keys stand more than once.

    Attributes:
        keys_twice: these.
    """

    keys_twice: tuple[str, ...] = ()


def _group(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    group = dict(pairs)
    if len(group) == len(pairs):
        return group
    doubled = _Doubled(group)
    counts = Counter(key for key, _ in pairs)
    doubled.keys_twice = tuple(key for key, count in counts.items() if count > 1)
    return doubled


def _too_deep(name: str) -> NoReturn:
    refuse("too-deep", f"“{name}” is not a job file: its groups are nested more than {_MOST_DEPTH} deep.")


def _parsed(text: str, name: str) -> object:
    if "\x00" in text:
        refuse("not-text", f"“{name}” is not a job file: it holds zero bytes, so it is not text.")
    _check_amount(text, name)
    try:
        data: object = json.loads(text, object_pairs_hook=_group, parse_constant=_Constant)
    except json.JSONDecodeError as error:
        if not text[error.pos :].strip():
            refuse(
                "cut-off",
                f"“{name}” ends too early, at line {error.lineno}, column {error.colno}: it was cut off. "
                "Open a whole copy of it.",
            )
        near = shown(text[error.pos : error.pos + 20].strip(), 20)
        refuse(
            "not-json",
            f"“{name}” is not readable as JSON: line {error.lineno}, column {error.colno}, at “{near}”: "
            f"{error.msg[:1].lower()}{error.msg[1:]}.",
        )
    except RecursionError:
        _too_deep(name)
    except ValueError:
        # Python refuses to turn thousands of digits into a whole number.
        refuse("number", f"“{name}” holds a whole number of thousands of digits; no field of a job does.")
    return data


def _check_amount(text: str, name: str) -> None:
    """Refuse what would take far more memory than its size: millions of empty lists."""
    # Brackets and commas inside texts are no structure.
    if text.count("[") + text.count("{") <= _MOST_PARTS and text.count(",") <= _MOST_VALUES:
        return
    parts = values = 0
    for bare in _without_texts(text):
        parts += bare.count("[") + bare.count("{")
        values += bare.count(",")
        if parts > _MOST_PARTS or values > _MOST_VALUES:
            refuse(
                "too-many-parts",
                f"“{name}” holds more groups, lists and values than any job: {parts} groups and lists and {values} "
                f"values were counted until then; a job has at most {_MOST_PARTS} and {_MOST_VALUES}. It was not read.",
            )


def _without_texts(text: str) -> Iterator[str]:
    """What of a JSON text stands outside of its texts, a piece at a time: never a second copy of a large file.

    Without patterns: those that keep no way back left texts in under Python 3.11.2 (right under 3.11.7), and those that
    keep one grow with a text of nothing but escapes.
    """
    at, inside = 0, False
    while at < len(text):
        end = min(at + _PIECE_LENGTH, len(text))
        before = end
        while before > at and text[before - 1] == "\\":
            before -= 1
        if (end - before) % 2:
            end += 1  # never between a backslash and what it stands before
        pieces = text[at:end].replace("\\\\", "").replace('\\"', "").split('"')
        yield "".join(pieces[1 if inside else 0 :: 2])
        inside ^= len(pieces) % 2 == 0
        at = end


_HOLDING: Final = frozenset({dict, _Doubled, list, _Constant})
"""What there is to be looked at; most of a file are plain values."""
_Container = dict[str, Any] | list[Any] | _Constant


def _levels(data: object, name: str) -> list[list[_Container]]:
    """All groups and lists, and words for numbers that are none, by how deep they stand."""
    levels: list[list[_Container]] = []
    level: list[Any] = [data] if type(data) in _HOLDING else []
    while level:
        if len(levels) == _MOST_DEPTH:
            _too_deep(name)
        levels.append(level)
        level = [
            child
            for value in level
            for child in (value.values() if isinstance(value, dict) else value)
            if type(child) in _HOLDING
        ]
    return levels


def _told(path: tuple[str | int, ...]) -> tuple[str, str]:
    """Place and label of a path that may lead through foreign keys."""
    return ".".join(shown(str(step), 40) for step in path) or "file", label_of(Job, path) or "File"


def _doubled_key(place: str, label: str, key: str) -> Finding:
    sentence = f"{label}: the key “{shown(key, 40)}” stands here more than once; keep one of them."
    return Finding(Severity.ERROR, place, "duplicate-key", sentence)


def _is_odd(value: _Container) -> bool:
    kind = type(value)
    return kind is _Doubled or kind is _Constant or (kind is dict and len(value) > _MOST_KEYS)


def _odd_values(levels: list[list[_Container]]) -> tuple[Finding, ...]:
    """Doubled keys, words for numbers that are none, and groups of far more keys than any part of a job has."""
    found: list[Finding] = []
    for depth, level in enumerate(levels):
        for position in [i for i, value in enumerate(level) if _is_odd(value)]:
            found += _oddities(level[position], *_told(_path(levels, depth, position)))
            if len(found) > MOST_FINDINGS:
                return tuple(found)
    return tuple(found)


def _path(levels: list[list[_Container]], depth: int, position: int) -> tuple[str | int, ...]:
    """Where a part stands, found only for what is told: paths of all would take longer than reading the file."""
    if depth == 0:
        return ()
    for above, value in enumerate(levels[depth - 1]):
        steps = value.items() if isinstance(value, dict) else enumerate(value)
        for step, child in steps:
            if type(child) in _HOLDING:
                if position == 0:
                    return (*_path(levels, depth - 1, above), step)
                position -= 1
    raise AssertionError("a part stands in no other")


def _oddities(value: _Container, place: str, label: str) -> Iterator[Finding]:
    if isinstance(value, _Constant):
        sentence = f"{label}: {value.word} is not a number a job can hold."
        yield Finding(Severity.ERROR, place, "not-finite", sentence)
        return
    if isinstance(value, _Doubled):
        for key in value.keys_twice:
            yield _doubled_key(place, label, key)
    if len(value) > _MOST_KEYS:
        sentence = f"{label}: {len(value)} keys stand here; no part of a job has so many."
        yield Finding(Severity.ERROR, place, "too-many-keys", sentence)


def _check_format(number: object, name: str) -> None:
    if isinstance(number, bool) or not isinstance(number, int) or number < 1:
        refuse(
            "format",
            f"“{name}”: Format: this must be a whole number from 1 to {FORMAT}; the file is damaged or is not a "
            "job of this program.",
        )
    if number > FORMAT:
        refuse(
            "newer-format",
            f"“{name}” is of file format {shown(str(number), 12)}, written by a newer version of the program. "
            f"This version reads formats up to {FORMAT}; open the file with the newer version.",
        )


def _half_upgraded(data: dict[str, Any]) -> Iterator[Finding]:
    options = data.get("alternatives")
    for i, option in enumerate(options if isinstance(options, list) else ()):
        if isinstance(option, dict) and "design" in option:
            yield Finding(
                Severity.ERROR,
                f"alternatives.{i}.design",
                "whole-design",
                f"Options {i + 1}: this option holds its whole design, as in files of format 1, and not what it has "
                "otherwise than the base design. Either a field is missing in one of the two designs, or the file says "
                "another format than it has; correct that, or take the option out.",
            )


class _WholeFile(GenerateJsonSchema):
    """A file holds every field, those with a default too."""

    def field_is_required(
        self,
        field: core_schema.ModelField | core_schema.DataclassField | core_schema.TypedDictField,
        total: bool,
    ) -> bool:
        return True


def job_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of what `save_job` writes, from the model's declarations."""
    schema = Job.model_json_schema(mode="serialization", schema_generator=_WholeFile)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:baydrop:job:{FORMAT}",
        **schema,
    }


def schema_text() -> str:
    """The schema as `resources/job.schema.json` holds it."""
    return json.dumps(job_schema(), indent=2, ensure_ascii=False) + "\n"
