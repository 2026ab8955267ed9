"""`quote`, `safety`, `labels`, `study` and `check`: what a job is worked out to be; the job stays as it is."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Final

from estimator.acts.signable import blocked_words
from estimator.cli.talk import (
    GOOD,
    HAS_ERRORS,
    STREAM,
    Commands,
    Refused,
    day,
    declared,
    errors_of,
    escaped,
    findings_document,
    json_bytes,
    of_file,
    pdf_name,
    read_book,
    read_job,
    reports,
    target,
    tell,
    warned_of,
    with_date,
    with_job,
    with_json,
    with_prices,
    write,
)
from estimator.documents.study_json import study_json
from estimator.model.edit import with_value
from estimator.model.finding import Finding
from estimator.model.issued import PROMISE, PaperError, kept_paper
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook
from estimator.model.revisions import issue_findings, revision, revision_notes
from estimator.model.signed import short_seal
from estimator.model.signing import Signatures, blocking
from estimator.shown.findings import Sentences, sentences_of, sentences_of_job
from estimator.shown.papers import draft_path
from estimator.shown.signed_words import signed_document, stale_words
from estimator.store.pricebooks import user_price_book_path
from estimator.study import Study, study

__all__ = ["add"]


_ANYWAY: Final = (
    "“baydrop sign” signs, by the keys above; --anyway writes a draft that says what keeps it back."
)


def add(commands: Commands) -> None:
    """Declare the commands."""
    quote = declared(commands, "quote", "file.quote", "Or a copy of the paper of an issued revision.")
    with_job(quote)
    with_prices(quote)
    quote.add_argument(
        "--pdf",
        metavar="FILE",
        required=True,
        help="where to write it; - for the output stream. “.pdf” is added to a name without, and the name "
        "of a draft says so: “-draft” is put before the ending where the word is not in it",
    )
    with_date(
        quote,
        "date of the draft; the job's own date, else today, if left out",
    )
    quote.add_argument(
        "--revision",
        metavar="LETTER",
        help="copy the paper of an issued revision, such as A, byte for byte; a draft of the job as it is now if left "
        "out",
    )
    with_json(quote)
    quote.set_defaults(run=_quote)
    quote.add_argument(
        "--anyway",
        action="store_true",
        help="write a draft although something must never go out, which then says so; refused otherwise",
    )
    for name, act, run in (("safety", "file.safety", _safety), ("labels", "file.labels", _labels)):
        crew = declared(commands, name, act)
        with_job(crew)
        with_prices(crew)
        crew.add_argument(
            "--pdf",
            metavar="FILE",
            required=True,
            help="where to write it; - for the output stream. “.pdf” is added to a name without",
        )
        with_date(crew, "day that it is printed on; today if left out")
        with_json(crew)
        crew.set_defaults(run=run)
    words = "Write everything the program worked out as JSON."
    whole = commands.add_parser("study", help=words, description=words)
    with_job(whole)
    with_prices(whole)
    whole.add_argument(
        "--json", metavar="FILE", required=True, help="where to write it; - for the output stream"
    )
    with_date(whole, "day that the study holds for; today if left out")
    whole.set_defaults(run=_study)
    words = "Print what is missing or wrong, one finding a line: grade, place, sentence, source, who decides."
    check = commands.add_parser("check", help=words, description=f"{words} {PROMISE}")
    with_job(check)
    with_prices(check)
    with_date(
        check, "day that the age of prices and the validity of the quote are counted to; today if left out"
    )
    with_json(check)
    check.set_defaults(run=_check)


def _read(arguments: argparse.Namespace) -> tuple[Job, PriceBook]:
    return read_job(arguments.job), read_book(arguments.prices)


def _inputs(arguments: argparse.Namespace) -> tuple[Path, Path]:
    return arguments.job, arguments.prices or user_price_book_path()


def _issued(arguments: argparse.Namespace, job: Job) -> tuple[bytes, tuple[Finding, ...]]:
    """A copy of the paper of an issued revision, and what is wrong with the revisions: it is copied all the same."""
    letter = arguments.revision.strip().upper()
    if arguments.date is not None:
        raise Refused("--date: an issued revision is copied as it was handed over; leave the date out.")
    try:
        issued = revision(job, letter)
    except LookupError as error:
        known = ", ".join(r.letter for r in job.issued) or "none yet"
        raise Refused(f"--revision: {str(error)[:60]} Issued are: {known}.") from None
    try:
        content = kept_paper(issued)
    except PaperError as error:
        raise Refused(f"--revision: {error}") from None
    place = f"issued.{job.issued.index(issued)}"
    notes = (f for f in revision_notes(job) if f.place == place)
    return content, (*issue_findings(job), *notes)


def _draft_name(typed: Path) -> Path:
    return draft_path(pdf_name(typed))


def _quote(arguments: argparse.Namespace) -> int:
    if arguments.json and arguments.pdf == STREAM:
        raise Refused("--json: the output stream takes the paper already; name a file for it.")
    name = pdf_name if arguments.revision is not None else _draft_name
    place = target("--pdf", arguments.pdf, _inputs(arguments), name)
    job, book = _read(arguments)
    # Reading and checking a job needs no PDF library; only a quote waits for it.
    from estimator.documents.quote import QuoteError, unprintable, write_quote

    if arguments.revision is not None:
        content, found = _issued(arguments, job)
        return _written(arguments, place, content, (), found, sentences_of_job(job), job)
    on = day(arguments.date, job.quote.dated)
    if arguments.date is not None:
        # The job may carry a date of its own; the one on the command line wins.
        job = with_value(job, ("quote", "dated"), on)
    made = study(job, book, on)
    found, sentences = warned_of(made.findings), sentences_of(made)
    if not made.price.complete:
        if arguments.json:
            _as_json(arguments, None, findings_document(found, sentences, job))
        else:
            tell(reports(found, sentences, job), sys.stderr)
        tell(["The price is not complete, so no quote is written."], sys.stderr)
        return HAS_ERRORS
    kept_back = blocking(job, found)
    if kept_back and not arguments.anyway:
        if arguments.json:
            _as_json(arguments, None, findings_document(found, sentences, job))
        else:
            tell(reports(found, sentences, job), sys.stderr)
        tell([f"No quote is written: {blocked_words(len(kept_back))} {_ANYWAY}"], sys.stderr)
        return HAS_ERRORS
    try:
        content = write_quote(made)
    except QuoteError as error:
        raise Refused(*of_file(arguments.job, error.findings)) from None
    return _written(arguments, place, content, found, unprintable(made), sentences, job)


def _safety(arguments: argparse.Namespace) -> int:
    from estimator.documents.quote import write_notes  # only a paper waits for the PDF library

    return _for_the_crew(arguments, write_notes)


def _labels(arguments: argparse.Namespace) -> int:
    from estimator.documents.quote import write_labels  # only a paper waits for the PDF library

    return _for_the_crew(arguments, write_labels)


def _for_the_crew(arguments: argparse.Namespace, written: Callable[[Study], bytes]) -> int:
    if arguments.json and arguments.pdf == STREAM:
        raise Refused("--json: the output stream takes the paper already; name a file for it.")
    place = target("--pdf", arguments.pdf, _inputs(arguments), pdf_name)
    made = study(*_read(arguments), day(arguments.date))
    from estimator.documents.quote import QuoteError

    try:
        content = written(made)
    except QuoteError as error:
        raise Refused(*of_file(arguments.job, error.findings)) from None
    write(place, content, "--pdf")
    if arguments.json:
        write(None, json_bytes({"job": str(arguments.job), "pdf": str(place)}), "--json")
    elif place is not None:
        tell([f"Wrote {place}."], sys.stdout)
    return GOOD


def _written(
    arguments: argparse.Namespace,
    place: Path | None,
    content: bytes,
    warned: Iterable[Finding],
    more: Iterable[Finding],
    sentences: Sentences,
    job: Job,
) -> int:
    """Write a paper, and tell where it is (that of a draft may have another name than was typed) and what was found."""
    found = (*warned, *more)
    if not arguments.json:
        tell(reports(found, sentences, job), sys.stderr)
    write(place, content, "--pdf")
    if arguments.json:
        _as_json(arguments, place, findings_document(found, sentences, job))
    elif place is not None:
        tell([f"Wrote {place}."], sys.stdout)
    return HAS_ERRORS if errors_of(found, job) else GOOD


def _as_json(arguments: argparse.Namespace, place: Path | None, findings: list[dict[str, object]]) -> None:
    revision = arguments.revision
    document = {
        "job": str(arguments.job),
        "pdf": None if place is None else str(place),
        "draft": revision is None,
        "revision": None if revision is None else revision.strip().upper(),
        "findings": findings,
    }
    write(None, json_bytes(document), "--json")


def _study(arguments: argparse.Namespace) -> int:
    place = target("--json", arguments.json, _inputs(arguments))
    made = study(*_read(arguments), day(arguments.date))
    write(place, escaped(study_json(made)).encode("utf-8"), "--json")
    return GOOD


def _check(arguments: argparse.Namespace) -> int:
    job, book = _read(arguments)
    made = study(job, book, day(arguments.date))
    sentences = sentences_of(made)
    # A note for each revision comes last: what a paper in hand is held against.
    found = (*made.findings, *revision_notes(job))
    stale = Signatures(job).stale(made.findings)
    if arguments.json:
        document = {
            "job": str(arguments.job),
            "findings": findings_document(found, sentences, job),
            "stale_signatures": [
                {"key": short_seal(s.seal), "rule": s.rule, "objects": list(s.objects), **signed_document(s)}
                for s in stale
            ],
        }
        write(None, json_bytes(document), "--json")
    else:
        tell(reports(found, sentences, job), sys.stdout)
        told = ((stale_words(s, sentences.figures), short_seal(s.seal)) for s in stale)
        tell((f"know  signed  {words} Take it back by: {seal}." for words, seal in told), sys.stdout)
    return HAS_ERRORS if errors_of(made.findings, job) else GOOD
