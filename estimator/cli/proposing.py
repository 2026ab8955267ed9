"""`propose`: the cheapest sizes that work, looked at or taken as one act."""

from __future__ import annotations

import argparse
import sys
from dataclasses import asdict

from estimator.acts.document import Document
from estimator.acts.propose import NotProposed, PricedProposal, act_name, offer
from estimator.cli.acting import with_act
from estimator.cli.talk import (
    GOOD,
    HAS_ERRORS,
    Commands,
    Refused,
    day,
    declared,
    errors_of,
    job_target,
    json_bytes,
    open_job,
    read_book,
    reports,
    save,
    tell,
    told,
    with_job,
    write,
)
from estimator.model.edit import EditError
from estimator.proposal.types import LineProposal, Neighbour
from estimator.reference.catalogue import catalogue
from estimator.shown.findings import Sentences, sentences_of

__all__ = ["add"]


def add(commands: Commands) -> None:
    """Declare the command."""
    parser = declared(commands, "propose", "sizes.propose", "--take takes them.")
    with_job(parser)
    parser.add_argument(
        "--line", action="append", default=[], metavar="ID", help="size only this line; may be repeated"
    )
    parser.add_argument(
        "--choice",
        action="append",
        default=[],
        metavar="ADDRESS",
        help="size only this choice, such as plant.foam.pump; may be repeated",
    )
    parser.add_argument(
        "--keep", action="append", default=[], metavar="ADDRESS", help="a choice that stays, now and later"
    )
    parser.add_argument(
        "--free",
        action="append",
        default=[],
        metavar="ADDRESS",
        help="a choice that was kept and is free again",
    )
    parser.add_argument("--option", metavar="ID", help="work on this option instead of the base design")
    parser.add_argument(
        "--only-here",
        action="store_true",
        help="size that option alone and not the base design and all options",
    )
    parser.add_argument("--take", action="store_true", help="take the sizes, as one act")
    with_act(parser, "day that it is worked out for; today if left out")
    parser.set_defaults(run=_propose)


def _document(found: PricedProposal) -> dict[str, object]:
    sentences = sentences_of(found.study)
    return {
        "price_change": found.price_change,
        "currency": found.study.price.currency,
        "changes": found.changes,
        "pinned": list(found.proposal.design.pinned),
        "lines": [_line(line, sentences) for line in found.proposal.lines],
        "not_possible": [
            {
                "severity": f.severity.value,
                "place": f.place,
                "rule": f.rule,
                "sentence": sentences.installer(f),
            }
            for f in found.proposal.infeasible
        ],
    }


def _line(line: LineProposal, sentences: Sentences) -> dict[str, object]:
    """A line's choices as data, what is said of them in the job's units and names."""

    def near(one: Neighbour | None) -> dict[str, object] | None:
        return None if one is None else {**asdict(one), "note": sentences.phrase(one.note)}

    choices = [
        {
            **asdict(choice),
            "reason": sentences.phrase(choice.reason),
            "smaller": near(choice.smaller),
            "larger": near(choice.larger),
        }
        for choice in line.choices
    ]
    return {**asdict(line), "choices": choices, "note": sentences.phrase(line.note)}


def _propose(arguments: argparse.Namespace) -> int:
    on = day(arguments.date)
    (file, job), book = open_job(arguments.job), read_book(arguments.prices)
    place = job_target("--out", arguments.out, file)
    document = Document.of(job, book, arguments.job)
    try:
        if arguments.option is not None:
            document = document.working_on(arguments.option)
        pinned = [p for p in document.job.design.pinned if p not in arguments.free]
        pinned += [p for p in arguments.keep if p not in pinned]
        found = offer(document.job, book, catalogue(), pinned, on, (*arguments.line, *arguments.choice))
    except LookupError as error:
        raise Refused(f"--option: {error}") from None
    except NotProposed as error:
        raise Refused(f"--line or --choice: {error}") from None
    except EditError as error:
        raise Refused(*told(error.findings)) from None
    if arguments.take:
        save(place, document.after(act_name(found), job=found.job, only_here=arguments.only_here).whole)
    if arguments.json:
        facts = {"job": str(place.path) if arguments.take else str(arguments.job), "taken": arguments.take}
        write(None, json_bytes({**facts, **_document(found)}), "--json")
    else:
        tell(_lines(found), sys.stdout)
        tell(
            [f"Wrote {place.path}." if arguments.take else "Nothing is changed; --take takes the sizes."],
            sys.stdout,
        )
    errors = errors_of(found.proposal.infeasible)
    if not arguments.json:
        tell(reports(found.proposal.infeasible, sentences_of(found.study)), sys.stderr)
    return HAS_ERRORS if errors else GOOD


def _lines(found: PricedProposal) -> list[str]:
    sentences = sentences_of(found.study)
    changed = [
        f"{choice.place}: {choice.old or 'none'} → {choice.new or 'none'}  {sentences.phrase(choice.reason)}"
        for line in found.proposal.lines
        for choice in line.choices
        if choice.old != choice.new
    ]
    return [
        *changed,
        f"{act_name(found)}. Firm price without tax: {found.price_change:+} {found.study.price.currency}.",
    ]
