"""`import` and `prices`: the price book as a whole, and the prices that a job holds on to."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from decimal import Decimal, InvalidOperation
from pathlib import Path

from estimator.acts.edits import edited
from estimator.acts.prices import held, released, renewed
from estimator.cli.editing import edits_of, with_edits
from estimator.cli.talk import (
    GOOD,
    Commands,
    Parser,
    Refused,
    day,
    declared,
    job_target,
    json_bytes,
    of_file,
    open_job,
    read_book,
    reports,
    result,
    save,
    tell,
    told,
    with_date,
    with_job,
    with_json,
    with_out,
    with_prices,
    write,
)
from estimator.model.edit import EditError
from estimator.model.finding import Finding
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook
from estimator.pricing.book_changes import (
    BookChangeError,
    EntryChange,
    bulk_change,
    changed_since,
    completed,
    entry_changes,
)
from estimator.store.document import JobFile
from estimator.store.pricebooks import PriceBookError, shipped_price_book, user_price_book_path
from estimator.store.shared_book import BookConflict, keep_edit
from estimator.study import study

__all__ = ["add"]


def add(commands: Commands) -> None:
    """Declare the commands."""
    parser = declared(commands, "import", "book.import", "--take takes it over.")
    parser.add_argument("file", metavar="FILE", type=Path, help="price book to read (*.csv, *.xlsx)")
    parser.add_argument(
        "--replace",
        action="store_true",
        help="remove the entries that the file does not hold; kept if left out",
    )
    _with_book(parser)
    parser.set_defaults(run=_import)
    words = "Prices: hold those a job uses, let go of them, take new ones; change or export the price book."
    group = commands.add_parser("prices", help=words, description=words)
    acts = group.add_subparsers(dest="act", metavar="ACT", parser_class=Parser, required=True)
    for name, act, run in (
        ("hold", "book.hold", _hold),
        ("release", "book.release", _release),
        ("renew", "book.take-new", _renew),
    ):
        made = declared(acts, name, act)
        with_job(made)
        if name == "renew":
            made.add_argument("--take", action="store_true", help="take them, as one act")
        with_out(made)
        with_prices(made)
        with_date(made, "day on which they are taken; today if left out")
        with_json(made)
        made.set_defaults(run=run)
    percent = declared(acts, "percent", "book.percent", "--take does it.")
    percent.add_argument("percent", metavar="PERCENT", help="3 makes them 3 %% dearer, -10 a tenth cheaper")
    percent.add_argument("--group", metavar="NAME", help="only this group of the price book")
    with_date(percent, "day of the new figures; today if left out")
    _with_book(percent)
    percent.set_defaults(run=_percent)
    complete = declared(acts, "complete", "book.complete", "--take does it.")
    _with_book(complete)
    complete.set_defaults(run=_complete)
    words = "Change entries of the price book; --take does it."
    book = acts.add_parser("edit", help=words, description=words)
    with_edits(book)
    _with_book(book)
    book.set_defaults(run=_edit_book)
    export = declared(acts, "export", "book.export")
    export.add_argument("file", metavar="FILE", type=Path, help="where to write it (*.csv, *.xlsx)")
    with_prices(export)
    export.set_defaults(run=_export)


def _with_book(parser: Parser) -> None:
    parser.add_argument("--take", action="store_true", help="take it over; only shown if left out")
    with_prices(parser)
    with_json(parser)


# The price book.


def _change(change: EntryChange) -> dict[str, object]:
    return {
        "kind": change.kind.value,
        "code": change.code,
        "description": change.description,
        "cells": [
            {"field": c.field, "before": c.words("en_US")[0], "after": c.words("en_US")[1]}
            for c in change.cells
        ],
    }


def _preview(
    arguments: argparse.Namespace,
    before: PriceBook,
    book: PriceBook,
    changes: Sequence[EntryChange],
    facts: dict[str, object],
    warnings: Sequence[Finding] = (),
) -> int:
    """Tell what would change in the price book, and do it where it is wanted."""
    path = arguments.prices or user_price_book_path()
    if arguments.take:
        try:
            keep_edit(path, before, book)
        except BookConflict as conflict:
            raise Refused(f"{conflict} Nothing was changed; give the command again.") from None
        except PriceBookError as error:
            raise Refused(*of_file(path, error.findings)) from None
    if arguments.json:
        document = {
            **facts,
            "book": str(path),
            "taken": arguments.take,
            "changes": [_change(c) for c in changes],
            "warnings": [{"place": w.place, "rule": w.rule, "sentence": w.message} for w in warnings],
        }
        write(None, json_bytes(document), "--json")
        return GOOD
    tell((c.words_in("en_US") for c in changes), sys.stdout)
    tell(reports(warnings), sys.stderr)
    count = f"{len(changes)} {'entry' if len(changes) == 1 else 'entries'}"
    done = f"{count} changed in {path}." if arguments.take else f"{count} would change; --take does it."
    tell([done], sys.stdout)
    return GOOD


def _import(arguments: argparse.Namespace) -> int:
    # Only these two acts wait for the library that reads and writes spreadsheets.
    from estimator.store.book_exchange import ImportMode, preview_import

    book = read_book(arguments.prices)
    mode = ImportMode.REPLACE if arguments.replace else ImportMode.MERGE
    try:
        found = preview_import(arguments.file, book, mode)
    except PriceBookError as error:
        raise Refused(*of_file(arguments.file, error.findings)) from None
    facts: dict[str, object] = {"file": str(arguments.file), "mode": mode.value, "same": found.same}
    return _preview(arguments, book, found.book, found.changes, facts, found.warnings)


def _percent(arguments: argparse.Namespace) -> int:
    on, book = day(arguments.date), read_book(arguments.prices)
    try:
        percent = Decimal(arguments.percent.strip().removesuffix("%").strip())
    except InvalidOperation:
        raise Refused(f"PERCENT: “{arguments.percent}” is no number; write one such as 3 or -2.5.") from None
    try:
        new = bulk_change(book, percent, on, arguments.group)
    except BookChangeError as error:
        raise Refused(*told(error.findings)) from None
    return _preview(arguments, book, new, entry_changes(book.entries, new.entries), {"percent": str(percent)})


def _complete(arguments: argparse.Namespace) -> int:
    book = read_book(arguments.prices)
    try:
        new = completed(book, shipped_price_book())
    except BookChangeError as error:
        raise Refused(*told(error.findings)) from None
    return _preview(arguments, book, new, entry_changes(book.entries, new.entries), {})


def _edit_book(arguments: argparse.Namespace) -> int:
    edits, book = edits_of(arguments), read_book(arguments.prices)
    try:
        done = edited(book, edits)
    except EditError as error:
        raise Refused(*told(error.findings)) from None
    assert isinstance(done.whole, PriceBook)
    changes = entry_changes(book.entries, done.whole.entries)
    return _preview(arguments, book, done.whole, changes, {"acts": list(done.names)})


def _export(arguments: argparse.Namespace) -> int:
    from estimator.store.book_exchange import export_book

    book, path = read_book(arguments.prices), arguments.file
    if arguments.prices is not None and path.exists() and path.samefile(arguments.prices):
        raise Refused(f"FILE: “{path}” is the input itself; name another file.")
    try:
        export_book(path, book)
    except PriceBookError as error:
        raise Refused(*of_file(path, error.findings)) from None
    tell([f"Wrote {path}."], sys.stdout)
    return GOOD


# Prices of a job.


def _done(
    arguments: argparse.Namespace,
    file: JobFile,
    before: Job,
    job: Job,
    book: PriceBook,
    name: str,
    same: str,
    changes: Sequence[EntryChange] = (),
) -> int:
    place = job_target("--out", arguments.out, file)
    if job is not before or arguments.out is not None:
        save(place, job)
    acts = [] if job is before else [name]
    count = 0 if job.prices is None else len(job.prices.entries)
    return result(
        study(job, book, day(arguments.date)),
        {"job": str(place.path), "acts": acts, "held": count, "changes": [_change(c) for c in changes]},
        as_json=arguments.json,
        words=[f"{name}. Wrote {place.path}." if acts else same],
    )


def _hold(arguments: argparse.Namespace) -> int:
    (file, job), book = open_job(arguments.job), read_book(arguments.prices)
    new = held(job, study(job, book, day(arguments.date)), book)
    same = "The job holds all prices that it uses already."
    return _done(arguments, file, job, new, book, "Hold these prices", same)


def _release(arguments: argparse.Namespace) -> int:
    (file, job), book = open_job(arguments.job), read_book(arguments.prices)
    same = "The job holds no prices; those of the price book hold."
    return _done(arguments, file, job, released(job), book, "Let go of held prices", same)


def _renew(arguments: argparse.Namespace) -> int:
    (file, job), book = open_job(arguments.job), read_book(arguments.prices)
    changes = changed_since(job, book)
    try:
        new = renewed(job, book, day(arguments.date))
    except BookChangeError as error:
        raise Refused(*told(error.findings)) from None
    if not arguments.json:
        tell((c.words_in(job.terms.locale) for c in changes), sys.stdout)
    same = "No price changed since." if job.prices is not None else "The job holds no prices."
    if changes and not arguments.take:
        new, same = job, f"{len(changes)} prices changed since; --take takes them."
    return _done(arguments, file, job, new, book, "Take new prices", same, changes)
