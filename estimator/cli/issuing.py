"""`issue` and `withdraw`: a revision with its paper, kept for good, and that it no longer holds."""

from __future__ import annotations

import argparse
import sys
from functools import partial

from estimator.acts.issue import IssueError, issue, withdraw
from estimator.acts.signable import blocked_words
from estimator.cli.talk import (
    GOOD,
    HAS_ERRORS,
    Commands,
    Parser,
    Refused,
    day,
    declared,
    errors_of,
    json_bytes,
    of_file,
    open_job,
    pdf_name,
    read_book,
    reports,
    save,
    target,
    tell,
    told,
    warned_of,
    with_date,
    with_job,
    with_json,
    with_prices,
    write,
)
from estimator.model.edit import EditError
from estimator.model.issued import kept_paper
from estimator.model.seals import short
from estimator.model.signing import blocking
from estimator.pricing.compare import CompareError
from estimator.shown.findings import sentences_of
from estimator.store.pricebooks import user_price_book_path
from estimator.study import study

__all__ = ["add"]


def add(commands: Commands) -> None:
    """Declare the command."""
    parser = declared(commands, "issue", "revisions.issue")
    with_job(parser)
    with_prices(parser)
    parser.add_argument(
        "--reason", metavar="TEXT", required=True, help="why it is issued; it stands on the paper"
    )
    parser.add_argument(
        "--pdf",
        metavar="FILE",
        required=True,
        help="where its paper goes, “.pdf” added to a name without; - for the output stream",
    )
    parser.add_argument(
        "--anyway",
        action="store_true",
        help="issue it although the job has errors, but for what must never go out; refused otherwise",
    )
    _with_earlier(parser)
    with_date(parser, "date of issue; today if left out")
    with_json(parser)
    parser.set_defaults(run=_issue)
    parser = declared(commands, "withdraw", "revisions.withdraw")
    with_job(parser)
    parser.add_argument("letter", metavar="LETTER", help="which one, such as A")
    parser.add_argument("--reason", metavar="TEXT", required=True, help="why; it stays on record")
    _with_earlier(parser)
    with_date(parser, "date of the withdrawal; today if left out")
    with_json(parser)
    parser.set_defaults(run=_withdraw)


def _with_earlier(parser: Parser) -> None:
    parser.add_argument(
        "--earlier",
        action="store_true",
        help="although an issued revision is dated later, as where a clock was ahead; refused otherwise",
    )


def _issue(arguments: argparse.Namespace) -> int:
    on, reason = day(arguments.date), arguments.reason.strip()
    if not reason:
        raise Refused("--reason: say why the revision is issued.")
    if arguments.json and arguments.pdf == "-":
        raise Refused("--json: the output stream takes the paper already; name a file for it.")
    inputs = (arguments.job, arguments.prices or user_price_book_path())
    place = target("--pdf", arguments.pdf, inputs, pdf_name)
    (file, job), book = open_job(arguments.job), read_book(arguments.prices)
    made = study(job, book, on)
    errors, sentences = errors_of(made.findings, job), sentences_of(made)
    if not arguments.json:
        tell(reports(warned_of(made.findings), sentences, job), sys.stderr)
    if kept_back := blocking(job, made.findings):
        tell([f"Nothing was issued: {blocked_words(len(kept_back))}"], sys.stderr)
        return HAS_ERRORS
    if errors and not arguments.anyway:
        tell(["Nothing was issued: the job has errors. --anyway issues it all the same."], sys.stderr)
        return HAS_ERRORS
    from estimator.documents.quote import QuoteError, write_revision

    try:
        whole = issue(made, reason, partial(write_revision, made), earlier=arguments.earlier)
    except (IssueError, CompareError) as error:
        raise Refused(f"Nothing was issued: {error}") from None
    except EditError as error:
        raise Refused(*told(error.findings)) from None
    except QuoteError as error:
        raise Refused(*of_file(arguments.job, error.findings)) from None
    # The record first: a paper that no job knows of could get a letter that is given out again.
    save(file, whole)
    issued = whole.issued[-1]
    letter = issued.letter
    try:
        write(place, kept_paper(issued), "--pdf")
    except Refused as refused:
        raise Refused(
            *refused.sentences,
            f"Revision {letter} is issued and kept in the job; “baydrop quote --revision {letter}” writes its paper.",
        ) from None
    if arguments.json:
        document = {
            "job": str(arguments.job),
            "acts": [f"Issue revision {letter}"],
            "letter": letter,
            "dated": on.isoformat(),
            "total": made.price.totals.total.likely,
            "currency": made.price.currency,
            "fingerprint": issued.fingerprint,
            "short": short(issued.fingerprint),
            "pdf": str(place),
        }
        write(None, json_bytes(document), "--json")
    elif place is not None:
        tell([f"Revision {letter} is issued and written to {place}."], sys.stdout)
    return HAS_ERRORS if errors else GOOD


def _withdraw(arguments: argparse.Namespace) -> int:
    (file, job), on = open_job(arguments.job), day(arguments.date)
    letter = arguments.letter.strip().upper()
    try:
        whole = withdraw(job, letter, on, arguments.reason, earlier=arguments.earlier)
    except (IssueError, LookupError) as error:
        raise Refused(f"Nothing was withdrawn: {error}") from None
    except EditError as error:
        raise Refused(*told(error.findings)) from None
    save(file, whole)
    if arguments.json:
        document = {
            "job": str(arguments.job),
            "acts": [f"Withdraw revision {letter}"],
            "letter": letter,
            "dated": on.isoformat(),
        }
        write(None, json_bytes(document), "--json")
    else:
        tell([f"Revision {letter} is withdrawn; it stays on record with its paper."], sys.stdout)
    return GOOD
