"""How the commands talk: what is refused, what is printed, what is read and written.

A person's text reaches the terminal with every control character written out, one finding on one line. Output is
written whole or not at all.
"""

from __future__ import annotations

import argparse
import json
import re
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from datetime import date
from pathlib import Path
from typing import Any, Final, NoReturn, Protocol, TextIO

from estimator.model.finding import Finding, Severity
from estimator.model.grades import Grade
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook
from estimator.model.signing import Signatures
from estimator.shown.commands import ACTS
from estimator.shown.entries import entries_of
from estimator.shown.findings import Sentences, sentences_of, sentences_of_job
from estimator.shown.plain import HIDDEN, written_out
from estimator.shown.signed_words import signed_document, signed_words
from estimator.shown.sources import source_in
from estimator.store.document import ChangedOutside, JobFile, named
from estimator.store.files import FileTrouble, exists, read_whole, write_whole
from estimator.store.jobs import EXTENSION, JobFileError, load_job
from estimator.store.lock import Locked
from estimator.store.places import no_folder
from estimator.store.pricebooks import (
    PriceBookError,
    load_price_book,
    user_price_book,
    user_price_book_path,
)
from estimator.study import Study

__all__ = [
    "BAD_INPUT",
    "GOOD",
    "HAS_ERRORS",
    "STREAM",
    "Commands",
    "Parser",
    "Refused",
    "day",
    "declared",
    "errors_of",
    "escaped",
    "findings_document",
    "job_target",
    "json_bytes",
    "new_job_file",
    "of_file",
    "open_job",
    "pdf_name",
    "read_book",
    "read_job",
    "read_json",
    "reports",
    "result",
    "save",
    "target",
    "tell",
    "told",
    "visible",
    "warned_of",
    "with_date",
    "with_job",
    "with_json",
    "with_out",
    "with_prices",
    "write",
]

GOOD: Final = 0
HAS_ERRORS: Final = 1
BAD_INPUT: Final = 2
STREAM: Final = "-"

_MOST_JSON: Final = 20_000_000


class Refused(Exception):
    """Bad input; the sentences say what is wrong and what would be right."""

    def __init__(self, *sentences: str) -> None:
        super().__init__(" ".join(sentences))
        self.sentences = sentences


class Parser(argparse.ArgumentParser):
    """Refuses a wrong command line in a sentence."""

    def error(self, message: str) -> NoReturn:
        """Instead of leaving the program."""
        raise Refused(f"Command line: {message}. “{self.prog} --help” shows what is right.")


class Commands(Protocol):
    """Where a command is declared."""

    def add_parser(self, name: str, *, help: str, description: str) -> Parser:
        """A command of that name."""


def declared(commands: Commands, name: str, act: str, more: str = "") -> Parser:
    """A command of that name for an act that the desk has too, in the same words.

    Args:
        act: its id in `ACTS`.
        more: what is true of the command line alone.
    """
    words = f"{ACTS[act].told} {more}".strip()
    return commands.add_parser(name, help=words, description=words)


# Arguments that several commands have.


def with_job(parser: Parser) -> None:
    """The job that a command is about."""
    parser.add_argument("job", metavar="JOB", type=Path, help=f"job file (*{EXTENSION})")


def with_prices(parser: Parser) -> None:
    """The price book that a command works with."""
    parser.add_argument(
        "--prices", metavar="FILE", type=Path, help="price book (CSV); your own price book if left out"
    )


def with_date(parser: Parser, words: str) -> None:
    """The day that a command works for."""
    parser.add_argument("--date", metavar="YYYY-MM-DD", help=words)


def with_json(parser: Parser) -> None:
    """Whether a command tells what it did as JSON."""
    parser.add_argument("--json", action="store_true", help="print what was done as JSON")


def with_out(parser: Parser) -> None:
    """Where the job goes that a command changed."""
    parser.add_argument(
        "--out", metavar="FILE", help="write the job here instead of over JOB; it must not be there yet"
    )


# Printing.


def visible(text: str) -> str:
    """A text on one line, with plain spaces, and with what a terminal would obey written out.

    >>> visible("two\\nlines"), visible("\\x1b[2J"), visible("\\u202etxt")
    ('two lines', '\\\\x1b[2J', '\\\\u202etxt')
    """
    return written_out(re.sub(r"[ \t]*[\t\r\n]\s*|[\u00a0\u202f]", " ", text).strip())


def tell(lines: Iterable[str], stream: TextIO) -> None:
    """Print lines, each as `visible` shows it."""
    for line in lines:
        print(visible(line), file=stream)


def reports(
    findings: Iterable[Finding], sentences: Sentences | None = None, job: Job | None = None
) -> Iterator[str]:
    """Findings as lines: grade, place, sentence, source and who decides; those that say the same are one line.

    What must never go out is told with the keys that it is signed for by, or with who signed for it.

    Args:
        findings: what was found.
        sentences: make them in the words of a job; without a job if left out.
        job: with its signatures.
    """
    say, signatures = sentences or sentences_of_job(Job()), Signatures(job or Job())
    for entry in entries_of(findings, signatures.of):
        told = [entry.installer(say), entry.source(job.site.country if job else None)]
        if entry.grade is Grade.NEVER and job is not None:
            sign = signatures.of(entry.first)
            keys = " ".join(dict.fromkeys(signatures.about(f).short for f in entry.findings))
            told.append(f"Sign for it by: {keys}." if sign is None else signed_words(sign, say.figures))
        yield f"{entry.grade.value}  {entry.first.place or '-'}  {' '.join(filter(None, told))}"


def of_file(path: Path, findings: Iterable[Finding]) -> tuple[str, ...]:
    """What is wrong with an input file: the file, the place in it where there is one, the sentence."""
    return tuple(
        f"{path}: {f.message}"
        if f.place in ("", "file") or f.message.startswith(f.place)
        else f"{path}: {f.place}: {f.message}"
        for f in findings
    )


def told(findings: Iterable[Finding], job: Job | None = None) -> tuple[str, ...]:
    """What is wrong with an input that is no file: the place, the sentence.

    Args:
        job: what it was for: its units, its number format and its names are used.
    """
    say = None if job is None else sentences_of_job(job)
    words = ((f.place, f.message if say is None else say.installer(f)) for f in findings)
    return tuple(told if not place or place in told else f"{place}: {told}" for place, told in words)


def errors_of(findings: Iterable[Finding], job: Job | None = None) -> tuple[Finding, ...]:
    """Those that make the quote not right; what somebody signed for is none.

    Args:
        findings: what was found.
        job: with its signatures.
    """
    signatures = Signatures(job or Job())
    return tuple(f for f in findings if f.severity is Severity.ERROR and signatures.of(f) is None)


def warned_of(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Those that somebody must look at before anything is handed over, errors among them."""
    return tuple(f for f in findings if f.grade is not Grade.KNOW)


def escaped(text: str) -> str:
    """JSON with what a terminal would obey as escapes; it says the same."""
    # A line break between two keys is JSON's own; one inside a text is an escape already.
    return HIDDEN.sub(lambda m: m[0] if m[0] == "\n" else f"\\u{ord(m[0]):04x}", text)


def json_bytes(value: object) -> bytes:
    """JSON for a file or a terminal: readable, money as its text."""
    text = json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False, default=str)
    return (escaped(text) + "\n").encode("utf-8")


def findings_document(
    findings: Iterable[Finding], sentences: Sentences, job: Job | None = None
) -> list[dict[str, object]]:
    """Findings for JSON, each in the words of a job with where its rule comes from and who decides.

    Args:
        findings: what was found.
        sentences: make them in the words of the job.
        job: with its signatures.
    """
    signatures = Signatures(job or Job())
    return [
        {
            "grade": f.grade.value,
            "danger": f.danger.words,
            "severity": f.severity.value,
            "place": f.place,
            "rule": f.rule,
            "option": f.option,
            "sentence": sentences.installer(f),
            "source": source_in(f.source, job.site.country if job else None),
            "decides": f.defer_to,
            "key": signatures.about(f).short if f.grade is Grade.NEVER else "",
            "signed": None if (sign := signatures.of(f)) is None else signed_document(sign),
        }
        for f in findings
    ]


def result(study: Study, facts: dict[str, object], *, as_json: bool, words: Iterable[str]) -> int:
    """Tell what a command did to a job and how the job stands now.

    Args:
        study: of the job as it is now.
        facts: what was done, for JSON.
        as_json: print JSON on the output stream; else the words, and errors on the error stream.
        words: what was done, in sentences.

    Returns:
        The exit code: 1 where the job has errors.
    """
    errors = errors_of(study.findings, study.job)
    sentences = sentences_of(study)
    if as_json:
        total = study.price.totals.total
        document = {
            **facts,
            "total": {"low": total.low, "likely": total.likely, "high": total.high},
            "currency": study.price.currency,
            "complete": study.price.complete,
            "findings": findings_document(study.findings, sentences, study.job),
        }
        write(None, json_bytes(document), "--json")
    else:
        tell(words, sys.stdout)
        tell(reports(errors, sentences, study.job), sys.stderr)
    return HAS_ERRORS if errors else GOOD


# Reading.


def read_job(path: Path) -> Job:
    """The job of a file.

    Raises:
        Refused: there is none.
    """
    try:
        return load_job(path)
    except JobFileError as error:
        raise Refused(*of_file(path, error.findings)) from None


def open_job(path: Path) -> tuple[JobFile, Job]:
    """A job's file and its job, for a command that changes it.

    Raises:
        Refused: there is none, or somebody has it open.
    """
    try:
        file, job = JobFile.read(path)
    except JobFileError as error:
        raise Refused(*of_file(path, error.findings)) from None
    if (holder := file.held_by()) is not None:
        raise Refused(_open_elsewhere(Locked(path, holder), job))
    return file, job


def _open_elsewhere(locked: Locked, job: Job) -> str:
    there = locked.told(job.terms.locale)
    return f"{there} Nothing was changed; close it there first, or write to another file with --out."


def read_book(path: Path | None) -> PriceBook:
    """A price book; the person's own where no path is given.

    Raises:
        Refused: it cannot be read.
    """
    if path is None and (why := no_folder()):
        raise Refused(f"{why} Or name a price book with --prices.")
    try:
        return load_price_book(path) if path else user_price_book()
    except PriceBookError as error:
        raise Refused(*of_file(path or user_price_book_path(), error.findings)) from None


def day(text: str | None, otherwise: date | None = None, option: str = "--date") -> date:
    """The date on the command line, else the other one, else today.

    Raises:
        Refused: it is no date.
    """
    if text is None:
        return otherwise or date.today()
    if re.fullmatch(r"\d{4}-\d{2}-\d{2}", text, re.ASCII):
        with suppress(ValueError):
            return date.fromisoformat(text)
    raise Refused(f"{option}: “{text[:40]}” is not a date; write year, month and day such as 2027-03-31.")


def read_json(option: str, text: str) -> Any:
    """What a JSON file holds, or the input stream for “-”; numbers as they are written, as texts.

    Raises:
        Refused: it cannot be read, is no JSON, or has a key twice.
    """
    name = "the input stream" if text == STREAM else f"“{text}”"
    try:
        if text == STREAM:
            content = sys.stdin.buffer.read(_MOST_JSON + 1)
            if len(content) > _MOST_JSON:
                raise Refused(f"{option}: {name} holds more than {_MOST_JSON // 1_000_000} MB.")
        else:
            content = read_whole(Path(text), _MOST_JSON)
        return json.loads(
            content.decode("utf-8-sig"),
            parse_int=str,
            parse_float=str,
            parse_constant=_no_number,
            object_pairs_hook=_once,
        )
    except FileTrouble as trouble:
        raise Refused(f"{option}: {trouble}") from None
    except json.JSONDecodeError as error:
        raise Refused(
            f"{option}: {name} is not readable as JSON: line {error.lineno}, column {error.colno}: "
            f"{error.msg[:1].lower()}{error.msg[1:]}."
        ) from None
    except RecursionError:
        raise Refused(f"{option}: {name} is nested too deep.") from None
    except UnicodeDecodeError as error:
        raise Refused(
            f"{option}: {name} is not UTF-8 text (byte {error.start + 1} cannot be read)."
        ) from None
    except _NotTaken as error:
        raise Refused(f"{option}: {name}: {error}") from None


class _NotTaken(Exception):
    """JSON that says something no field can take; the message says what."""


def _no_number(word: str) -> NoReturn:
    raise _NotTaken(f"{word} is no number that a field can hold.")


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    group = dict(pairs)
    if len(group) != len(pairs):
        keys = [key for key, _ in pairs]
        twice = next(key for key in keys if keys.count(key) > 1)
        raise _NotTaken(f"the key “{twice[:40]}” stands in one group more than once; keep one of them.")
    return group


# Writing.


def target(
    option: str,
    text: str,
    inputs: Iterable[Path],
    becomes: Callable[[Path], Path] = lambda place: place,
) -> Path | None:
    """Where output goes, None for the output stream.

    Args:
        option: what the place was typed for.
        text: as typed.
        inputs: files that output never goes over.
        becomes: makes the name that is written under from the typed one.

    Raises:
        Refused: the place is a folder, is missing its folder, or holds a job or one of the inputs.
    """
    if text == STREAM:
        return None
    place = _file(option, text)
    if place.suffix.casefold() == EXTENSION:
        raise Refused(f"{option}: “{place}” names a job file, which output never goes over; name another.")
    place = _file(option, str(becomes(place)))
    for source in inputs:
        if source.exists() and place.exists() and source.samefile(place):
            raise Refused(f"{option}: “{place}” is the input itself; name another file.")
    return place


def pdf_name(typed: Path) -> Path:
    """The name that a paper is written under."""
    return named(typed, ".pdf")


def _file(option: str, text: str) -> Path:
    place = Path(text)
    if not text.strip() or place.is_dir():
        raise Refused(f"{option}: “{text}” is not a file name; write the name of a file.")
    if not place.parent.is_dir():
        raise Refused(f"{option}: there is no folder “{place.parent}”; make it first or name another.")
    return place


def new_job_file(option: str, text: str) -> Path:
    """Where a job goes that no file holds yet.

    Raises:
        Refused: something is there already, the folder is missing, or it has not the ending of a job.
    """
    place = _file(option, text)
    if place.suffix.casefold() != EXTENSION:
        raise Refused(f"{option}: “{place}” is no name of a job file; give it the ending {EXTENSION}.")
    if exists(place):
        raise Refused(f"{option}: “{place}” is there already and stays as it is; name another.")
    return place


def job_target(option: str, out: str | None, job: JobFile) -> JobFile:
    """Where a changed job goes: a new file where one is named, else the file it came from.

    Raises:
        Refused: see `new_job_file`.
    """
    return job if out is None else JobFile(new_job_file(option, out), None)


def write(place: Path | None, content: bytes, option: str) -> None:
    """Write output whole.

    Args:
        place: None for the output stream.
        content: what to write.
        option: what the place was typed for.

    Raises:
        Refused: it cannot be written; what was there is unharmed.
    """
    if place is None:
        sys.stdout.flush()
        sys.stdout.buffer.write(content)
        sys.stdout.buffer.flush()
        return
    try:
        write_whole(place, content)
    except FileTrouble as trouble:
        raise Refused(f"{option}: {trouble}") from None


def save(file: JobFile, job: Job) -> None:
    """Put a job into its file, whole.

    Raises:
        Refused: it cannot be written, somebody has it open, or it was changed since it was read; what was there is
            unharmed.
    """
    try:
        notes = file.save(job)
    except JobFileError as error:
        raise Refused(*of_file(file.path, error.findings)) from None
    except Locked as locked:
        raise Refused(_open_elsewhere(locked, job)) from None
    except ChangedOutside as changed:
        raise Refused(f"{changed} Nothing was changed; give the command again.") from None
    if notes:
        tell([notes], sys.stderr)
