"""`quote`, `study` and `check`: what a job is worked out to be; the job stays as it is."""

from __future__ import annotations

import argparse
import hashlib
import sys
from pathlib import Path

from estimator.cli.talk import (
    GOOD,
    HAS_ERRORS,
    Commands,
    Refused,
    day,
    errors_of,
    escaped,
    of_file,
    read_book,
    read_job,
    report,
    target,
    tell,
    with_date,
    with_job,
    with_prices,
    write,
)
from estimator.documents.study_json import study_json
from estimator.model.edit import with_value
from estimator.model.finding import Finding, Severity
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook
from estimator.pricing.revise import issue_findings, revision
from estimator.shown.findings import sentences_of
from estimator.store.pricebooks import user_price_book_path
from estimator.study import study

__all__ = ["add"]


def add(commands: Commands) -> None:
    """Declare the commands."""
    words = "Write the quote as PDF."
    quote = commands.add_parser("quote", help=words, description=words)
    with_job(quote)
    with_prices(quote)
    quote.add_argument(
        "--pdf", metavar="FILE", required=True, help="where to write it; - for the output stream"
    )
    with_date(
        quote,
        "date of the quote; the job's own date, else today, if left out; with --revision the day of printing",
    )
    quote.add_argument(
        "--revision",
        metavar="LETTER",
        help="print an issued revision with the prices of then, such as A; the job as it is now if left out",
    )
    quote.set_defaults(run=_quote)
    words = "Write everything the program worked out as JSON."
    whole = commands.add_parser("study", help=words, description=words)
    with_job(whole)
    with_prices(whole)
    whole.add_argument(
        "--json", metavar="FILE", required=True, help="where to write it; - for the output stream"
    )
    with_date(whole, "day that the study holds for; today if left out")
    whole.set_defaults(run=_study)
    words = "Print what is missing or wrong, one finding a line: severity, place, sentence."
    check = commands.add_parser("check", help=words, description=words)
    with_job(check)
    with_prices(check)
    with_date(
        check, "day that the age of prices and the validity of the quote are counted to; today if left out"
    )
    check.set_defaults(run=_check)


def _read(arguments: argparse.Namespace) -> tuple[Job, PriceBook]:
    return read_job(arguments.job), read_book(arguments.prices)


def _target(option: str, text: str, arguments: argparse.Namespace) -> Path | None:
    return target(option, text, (arguments.job, arguments.prices or user_price_book_path()))


def _issued(arguments: argparse.Namespace, job: Job) -> tuple[bytes, tuple[Finding, ...]]:
    """The paper of an issued revision, and what is wrong with it: it is printed all the same."""
    from estimator.documents.quote import write_revision

    letter = arguments.revision.strip().upper()
    try:
        issued = revision(job, letter)
    except LookupError:
        known = ", ".join(r.letter for r in job.issued) or "none yet"
        raise Refused(
            f"--revision: there is no revision “{arguments.revision[:10]}”; issued are: {known}."
        ) from None
    on = day(arguments.date, issued.dated)
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
    place = _target("--pdf", arguments.pdf, arguments)
    job, book = _read(arguments)
    # Reading and checking a job needs no PDF library; only a quote waits for it.
    from estimator.documents.quote import QuoteError, unprintable, write_quote

    if arguments.revision is not None:
        try:
            content, found = _issued(arguments, job)
        except QuoteError as error:
            raise Refused(*of_file(arguments.job, error.findings)) from None
        tell(map(report, found), sys.stderr)
        write(place, content, "--pdf")
        return HAS_ERRORS if errors_of(found) else GOOD
    on = day(arguments.date, job.quote.dated)
    if arguments.date is not None:
        # The job may carry a date of its own; the one on the command line wins.
        job = with_value(job, ("quote", "dated"), on)
    made = study(job, book, on)
    errors, sentences = errors_of(made.findings), sentences_of(made)
    if not made.price.complete:
        tell((report(f, sentences) for f in errors), sys.stderr)
        tell(["The price is not complete, so no quote is written."], sys.stderr)
        return HAS_ERRORS
    tell((report(f, sentences) for f in (*errors, *unprintable(made))), sys.stderr)
    try:
        content = write_quote(made)
    except QuoteError as error:
        raise Refused(*of_file(arguments.job, error.findings)) from None
    write(place, content, "--pdf")
    return HAS_ERRORS if errors else GOOD


def _study(arguments: argparse.Namespace) -> int:
    place = _target("--json", arguments.json, arguments)
    made = study(*_read(arguments), day(arguments.date))
    write(place, escaped(study_json(made)).encode("utf-8"), "--json")
    return GOOD


def _check(arguments: argparse.Namespace) -> int:
    job, book = _read(arguments)
    made = study(job, book, day(arguments.date))
    sentences = sentences_of(made)
    tell((report(f, sentences) for f in made.findings), sys.stdout)
    return HAS_ERRORS if errors_of(made.findings) else GOOD
