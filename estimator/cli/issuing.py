"""`issue`: a revision with its paper."""

from __future__ import annotations

import argparse
import sys

from estimator.cli.talk import (
    GOOD,
    HAS_ERRORS,
    Commands,
    Refused,
    day,
    errors_of,
    json_bytes,
    of_file,
    read_book,
    read_job,
    report,
    save,
    target,
    tell,
    told,
    with_date,
    with_job,
    with_json,
    with_prices,
    write,
)
from estimator.model.edit import EditError
from estimator.pricing.compare import CompareError
from estimator.pricing.revise import IssueError, issue, next_letter, with_paper
from estimator.shown.findings import sentences_of
from estimator.store.pricebooks import user_price_book_path
from estimator.study import study

__all__ = ["add"]


def add(commands: Commands) -> None:
    """Declare the command."""
    words = "Issue the next revision: it is kept in the job for good and its paper is written."
    parser = commands.add_parser("issue", help=words, description=words)
    with_job(parser)
    with_prices(parser)
    parser.add_argument(
        "--reason", metavar="TEXT", required=True, help="why it is issued; it stands on the paper"
    )
    parser.add_argument(
        "--pdf", metavar="FILE", required=True, help="where its paper goes; - for the output stream"
    )
    parser.add_argument(
        "--anyway", action="store_true", help="issue it although the job has errors; refused otherwise"
    )
    with_date(parser, "date of issue; today if left out")
    with_json(parser)
    parser.set_defaults(run=_issue)


def _issue(arguments: argparse.Namespace) -> int:
    on, reason = day(arguments.date), arguments.reason.strip()
    if not reason:
        raise Refused("--reason: say why the revision is issued.")
    if arguments.json and arguments.pdf == "-":
        raise Refused("--json: the output stream takes the paper already; name a file for it.")
    place = target("--pdf", arguments.pdf, (arguments.job, arguments.prices or user_price_book_path()))
    job, book = read_job(arguments.job), read_book(arguments.prices)
    made = study(job, book, on)
    errors, sentences = errors_of(made.findings), sentences_of(made)
    if not arguments.json:
        tell((report(f, sentences) for f in errors), sys.stderr)
    if errors and not arguments.anyway:
        tell(["Nothing was issued: the job has errors. --anyway issues it all the same."], sys.stderr)
        return HAS_ERRORS
    from estimator.documents.quote import QuoteError, write_revision

    letter = next_letter(job)
    try:
        whole = issue(job, made.price, book, on, reason, [offer.price for offer in made.offers])
        paper = write_revision(whole, letter)
        whole = with_paper(whole, letter, paper)
    except (IssueError, CompareError) as error:
        raise Refused(f"Nothing was issued: {error}") from None
    except EditError as error:
        raise Refused(*told(error.findings)) from None
    except QuoteError as error:
        raise Refused(*of_file(arguments.job, error.findings)) from None
    # The record first: a paper that no job knows of could get a letter that is given out again.
    save(arguments.job, whole)
    try:
        write(place, paper, "--pdf")
    except Refused as refused:
        raise Refused(
            *refused.sentences,
            f"Revision {letter} is issued and kept in the job; “baydrop quote --revision {letter}” writes its paper.",
        ) from None
    if arguments.json:
        issued = whole.issued[-1]
        document = {
            "job": str(arguments.job),
            "acts": [f"Issue revision {letter}"],
            "letter": letter,
            "dated": on.isoformat(),
            "total": issued.total_likely,
            "currency": made.price.currency,
            "fingerprint": issued.fingerprint,
            "pdf": arguments.pdf,
        }
        write(None, json_bytes(document), "--json")
    elif place is not None:
        tell([f"Revision {letter} is issued and written to {place}."], sys.stdout)
    return HAS_ERRORS if errors else GOOD
