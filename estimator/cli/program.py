"""The second front end: quote, study and check a job from the command line, without a window or a display.

Exit codes: 0 all is well; 1 the job was read but has errors; 2 the input is bad (a sentence on the error
stream names the field and what would be right). Output is written whole or not at all and never over a job or
a price book.
"""

from __future__ import annotations

import argparse
import hashlib
import re
import sys
from collections.abc import Iterable, Sequence
from contextlib import suppress
from datetime import date
from pathlib import Path
from typing import Final, NoReturn, TextIO

from estimator.documents.study_json import study_json
from estimator.model.edit import with_value
from estimator.model.finding import Finding, Severity
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook
from estimator.pricing.revise import issue_findings, revision
from estimator.store.files import FileTrouble, write_whole
from estimator.store.jobs import JobFileError, load_job
from estimator.store.pricebooks import (
    PriceBookError,
    load_price_book,
    user_price_book,
    user_price_book_path,
)
from estimator.study import study

__all__ = ["main"]

GOOD: Final = 0
HAS_ERRORS: Final = 1
BAD_INPUT: Final = 2
STDOUT: Final = "-"
JOB_SUFFIX: Final = ".baydrop"


class _Refused(Exception):
    """Bad input; the sentences say what is wrong and what would be right."""

    def __init__(self, *sentences: str) -> None:
        super().__init__(" ".join(sentences))
        self.sentences = sentences


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        """Instead of leaving the program."""
        raise _Refused(f"Command line: {message}. “{self.prog} --help” shows what is right.")


def _on_one_line(text: str) -> str:
    return " ".join(text.split())


def _report(finding: Finding) -> str:
    return f"{finding.severity.value}  {finding.place or '-'}  {_on_one_line(finding.message)}"


def _of_file(path: Path, findings: Iterable[Finding]) -> tuple[str, ...]:
    """What is wrong with an input file: the file, the place in it where there is one, the sentence."""
    return tuple(
        f"{path}: {f.message}"
        if f.place in ("", "file") or f.message.startswith(f.place)
        else f"{path}: {f.place}: {f.message}"
        for f in findings
    )


def _tell(lines: Iterable[str], stream: TextIO) -> None:
    for line in lines:
        print(line, file=stream)


def _parser() -> _Parser:
    parser = _Parser(
        prog="baydrop",
        description="Design, check and quote a central chemical dispensing system from its job file.",
        epilog="Exit codes: 0 all is well, 1 the job has errors, 2 the input is bad.",
    )
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", parser_class=_Parser)

    def command(name: str, words: str) -> _Parser:
        made = commands.add_parser(name, help=words, description=words)
        made.add_argument("job", metavar="JOB", type=Path, help=f"job file (*{JOB_SUFFIX})")
        made.add_argument(
            "--prices", metavar="FILE", type=Path, help="price book (CSV); your own price book if left out"
        )
        return made

    quote = command("quote", "Write the quote as PDF.")
    quote.add_argument(
        "--pdf", metavar="FILE", required=True, help="where to write it; - for the output stream"
    )
    quote.add_argument(
        "--date",
        metavar="YYYY-MM-DD",
        help="date of the quote; the job's own date, else today, if left out; with --revision the day of printing",
    )
    quote.add_argument(
        "--revision",
        metavar="LETTER",
        help="print an issued revision with the prices of then, such as A; the job as it is now if left out",
    )
    whole = command("study", "Write everything the program worked out as JSON.")
    whole.add_argument(
        "--json", metavar="FILE", required=True, help="where to write it; - for the output stream"
    )
    whole.add_argument(
        "--date",
        metavar="YYYY-MM-DD",
        help="day that the study holds for; today if left out",
    )
    check = command("check", "Print what is missing or wrong, one finding a line: severity, place, sentence.")
    check.add_argument(
        "--date",
        metavar="YYYY-MM-DD",
        help="day that the age of prices and the validity of the quote are counted to; today if left out",
    )
    return parser


def _read(arguments: argparse.Namespace) -> tuple[Job, PriceBook]:
    try:
        job = load_job(arguments.job)
    except JobFileError as error:
        raise _Refused(*_of_file(arguments.job, error.findings)) from None
    try:
        book = load_price_book(arguments.prices) if arguments.prices else user_price_book()
    except PriceBookError as error:
        raise _Refused(*_of_file(arguments.prices or user_price_book_path(), error.findings)) from None
    return job, book


def _date(text: str | None, otherwise: date | None) -> date:
    """The date on the command line, else the other one, else today."""
    if text is None:
        return otherwise or date.today()
    if re.fullmatch(r"\d{4}-\d{2}-\d{2}", text, re.ASCII):
        with suppress(ValueError):
            return date.fromisoformat(text)
    raise _Refused(f"--date: “{text[:40]}” is not a date; write year, month and day such as 2027-03-31.")


def _target(option: str, text: str, arguments: argparse.Namespace) -> Path | None:
    """Where output goes, None for the output stream.

    Raises:
        _Refused: the place is a folder, is missing its folder, or holds a job or a price book.
    """
    if text == STDOUT:
        return None
    target = Path(text)
    if not text.strip() or target.is_dir():
        raise _Refused(f"{option}: “{text}” is not a file name; write the name of a file.")
    if not target.parent.is_dir():
        raise _Refused(f"{option}: there is no folder “{target.parent}”; make it first or name another.")
    if target.suffix.casefold() == JOB_SUFFIX:
        raise _Refused(f"{option}: “{target}” names a job file, which output never goes over; name another.")
    for source in (arguments.job, arguments.prices or user_price_book_path()):
        if source.exists() and target.exists() and source.samefile(target):
            raise _Refused(f"{option}: “{target}” is the input itself; name another file.")
    return target


def _write(target: Path | None, content: bytes, option: str) -> None:
    if target is None:
        sys.stdout.flush()
        sys.stdout.buffer.write(content)
        sys.stdout.buffer.flush()
        return
    try:
        write_whole(target, content)
    except FileTrouble as trouble:
        raise _Refused(f"{option}: {trouble}") from None


def _errors(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    return tuple(f for f in findings if f.severity is Severity.ERROR)


def _issued(arguments: argparse.Namespace, job: Job) -> tuple[bytes, tuple[Finding, ...]]:
    """The paper of an issued revision, and what is wrong with it: it is printed all the same."""
    from estimator.documents.quote import write_revision

    letter = arguments.revision.strip().upper()
    try:
        issued = revision(job, letter)
    except LookupError:
        known = ", ".join(r.letter for r in job.issued) or "none yet"
        raise _Refused(
            f"--revision: there is no revision “{arguments.revision[:10]}”; issued are: {known}."
        ) from None
    on = _date(arguments.date, issued.dated)
    content = write_revision(job, letter, on)
    found = list(issue_findings(job))
    if (
        issued.pdf_fingerprint
        and on == issued.dated
        and hashlib.sha256(content).hexdigest() != issued.pdf_fingerprint
    ):
        words = (
            f"Revision {letter}: this PDF is not the one that was given out, byte by byte; compare it with the "
            "paper that the customer has."
        )
        found.append(Finding(Severity.WARNING, f"issued.{job.issued.index(issued)}", "paper-other", words))
    return content, tuple(found)


def _quote(arguments: argparse.Namespace) -> int:
    target = _target("--pdf", arguments.pdf, arguments)
    job, book = _read(arguments)
    # Reading and checking a job needs no PDF library; only a quote waits for it.
    from estimator.documents.quote import QuoteError, unprintable, write_quote

    if arguments.revision is not None:
        try:
            content, found = _issued(arguments, job)
        except QuoteError as error:
            raise _Refused(*_of_file(arguments.job, error.findings)) from None
        _tell(map(_report, found), sys.stderr)
        _write(target, content, "--pdf")
        return HAS_ERRORS if _errors(found) else GOOD
    on = _date(arguments.date, job.quote.dated)
    if arguments.date is not None:
        # The job may carry a date of its own; the one on the command line wins.
        job = with_value(job, ("quote", "dated"), on)
    made = study(job, book, on)
    errors = _errors(made.findings)
    if not made.price.complete:
        _tell((*map(_report, errors), "The price is not complete, so no quote is written."), sys.stderr)
        return HAS_ERRORS
    _tell(map(_report, (*errors, *unprintable(made))), sys.stderr)
    try:
        content = write_quote(made)
    except QuoteError as error:
        raise _Refused(*_of_file(arguments.job, error.findings)) from None
    _write(target, content, "--pdf")
    return HAS_ERRORS if errors else GOOD


def _study(arguments: argparse.Namespace) -> int:
    target = _target("--json", arguments.json, arguments)
    made = study(*_read(arguments), _date(arguments.date, None))
    _write(target, study_json(made).encode("utf-8"), "--json")
    return GOOD


def _check(arguments: argparse.Namespace) -> int:
    job, book = _read(arguments)
    on = _date(arguments.date, None)
    findings = study(job, book, on).findings
    _tell(map(_report, findings), sys.stdout)
    return HAS_ERRORS if _errors(findings) else GOOD


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command.

    Args:
        argv: arguments without the program's name; the process's own if left out.

    Returns:
        The exit code (see the module). `--help` leaves by SystemExit(0) as is usual.
    """
    for stream in (sys.stdout, sys.stderr):
        # A console that lacks a character shows an escape of it instead of ending the program.
        if reconfigure := getattr(stream, "reconfigure", None):
            reconfigure(errors="backslashreplace")
    parser = _parser()
    try:
        arguments = parser.parse_args(argv)
        if arguments.command is None:
            parser.print_help()
            return GOOD
        commands = {"quote": _quote, "study": _study, "check": _check}
        return commands[arguments.command](arguments)
    except _Refused as refused:
        _tell((_on_one_line(s) for s in refused.sentences), sys.stderr)
        return BAD_INPUT
    except OSError as error:
        name = f"“{error.filename}” " if error.filename else ""
        _tell([_on_one_line(f"{name}cannot be read or written ({error.strerror or error}).")], sys.stderr)
        return BAD_INPUT


if __name__ == "__main__":
    sys.exit(main())
