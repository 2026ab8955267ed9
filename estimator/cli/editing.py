"""`edit`: fields and rows of a job, several acts in one go or none at all."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import Any

from estimator.acts.document import Document
from estimator.acts.edits import Edit, edited, edits_from
from estimator.acts.options import lost_changes
from estimator.cli.acting import with_act
from estimator.cli.talk import (
    Commands,
    Parser,
    Refused,
    day,
    job_target,
    open_job,
    read_book,
    read_json,
    result,
    save,
    told,
    with_job,
)
from estimator.model.edit import EditError
from estimator.model.job import Job
from estimator.shown.options import lost_words
from estimator.study import study

__all__ = ["add", "edits_of", "with_edits"]

_PLACES = """
A place is written as names of fields and ids of rows joined by dots: customer.name, design.drops.1-l-foam.gun,
terms.labour.low. A row without an id is named by its position from 0. Texts are typed as in the form: a length with its
unit, yes or no, a date as 2027-03-31; nothing after = for “not stated”. A choice is named by its key or its words.

JSON for --from is one edit or a list of them, done in order, all or none:
  {"set": "design.drops.1-l-foam.hose_length", "to": "12 ft"}
  {"set": ["design.drops.a.gun", "design.drops.b.gun"], "to": "gun-metal"}
  {"set": "terms.labour", "to": {"low": "40", "likely": "45", "high": "55"}}
  {"add": "design.drops", "at": 0, "values": {"bay": "bay-1", "service": "air"}}
  {"duplicate": "design.drops.1-l-foam", "values": {"id": "1-r-foam", "side": "right"}}
  {"move": "design.products.wax", "to": 0}
  {"remove": "design.bays.bay-3"}
  {"rename": "design.products.foam", "to": "prewash"}
"""


class _Next(argparse.Action):
    """Collects edits in the order they are typed in."""

    def __call__(
        self,
        parser: argparse.ArgumentParser,
        namespace: argparse.Namespace,
        values: str | Sequence[Any] | None,
        option_string: str | None = None,
    ) -> None:
        """One more."""
        assert isinstance(values, str)
        namespace.edits = [*namespace.edits, (self.dest, values)]


def with_edits(parser: Parser) -> None:
    """The arguments that tell edits."""
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.epilog = _PLACES
    parser.add_argument(
        "--from", dest="source", metavar="FILE", help="edits as JSON (see below); - for the input stream"
    )
    parser.set_defaults(edits=[])
    for verb, metavar, words in (
        ("set", "PLACE=TEXT", "type a text into a field"),
        ("add", "LIST", "a new row at the end of a list"),
        ("duplicate", "ROW", "a copy of a row right after it"),
        ("move", "ROW=POSITION", "a row to another position of its list, counted from 0"),
        ("remove", "ROW", "a row goes, and what refers to it"),
        ("rename", "ROW=ID", "another id; what refers to it follows"),
    ):
        parser.add_argument(
            f"--{verb}", dest=verb, metavar=metavar, action=_Next, help=f"{words}; may be repeated"
        )


def edits_of(arguments: argparse.Namespace) -> tuple[Edit, ...]:
    """The edits of the file, then those of the command line.

    Raises:
        Refused: one of them is none, or there are none.
    """
    try:
        found = list(edits_from(read_json("--from", arguments.source))) if arguments.source else []
    except EditError as error:
        raise Refused(*(f"--from: {sentence}" for sentence in told(error.findings))) from None
    for verb, text in arguments.edits:
        place, equals, value = text.partition("=")
        if verb in ("set", "move", "rename"):
            if not equals:
                raise Refused(f"--{verb}: “{text}” has no “=”; write a place, = and what it becomes.")
            found.append(Edit(verb, (place,), value))
        else:
            found.append(Edit(verb, (text,)))
    if not found:
        raise Refused("There is nothing to do: give edits with --from or --set and its like (see --help).")
    return tuple(found)


def add(commands: Commands) -> None:
    """Declare the command."""
    words = "Change fields and rows of a job, all in one go or nothing."
    parser = commands.add_parser("edit", help=words, description=words)
    with_job(parser)
    with_edits(parser)
    parser.add_argument("--option", metavar="ID", help="work on this option instead of the base design")
    parser.add_argument(
        "--only-here",
        action="store_true",
        help="change that option alone and not the base design and all options",
    )
    with_act(parser)
    parser.set_defaults(run=_edit)


def _edit(arguments: argparse.Namespace) -> int:
    on = day(arguments.date)
    edits = edits_of(arguments)
    file, job = open_job(arguments.job)
    place = job_target("--out", arguments.out, file)
    book = read_book(arguments.prices)
    document = Document.of(job, book, arguments.job)
    try:
        if arguments.option is not None:
            document = document.working_on(arguments.option)
    except LookupError as error:
        raise Refused(f"--option: {error}") from None
    try:
        done = edited(document.job, edits)
        assert isinstance(done.whole, Job)
        document = document.after("; ".join(done.names), job=done.whole, only_here=arguments.only_here)
    except EditError as error:
        raise Refused(*told(error.findings, job)) from None
    # What options had of their own and lost with what it hung on.
    lost = lost_words(job, lost_changes(job, document.whole))
    save(place, document.whole)
    return result(
        study(document.whole, book, on),
        {"job": str(place.path), "acts": list(done.names), "places": list(done.places), "lost": lost},
        as_json=arguments.json,
        words=[*done.names, *([lost] if lost else []), f"Wrote {place.path}."],
    )
