"""`logo`: the company's logo, taken from a picture file or left out."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path

from estimator.acts.logo import MOST_FILE_BYTES, LogoError, logo_from, with_logo, without_logo
from estimator.cli.talk import (
    Commands,
    Parser,
    Refused,
    day,
    declared,
    job_target,
    open_job,
    read_book,
    result,
    save,
    with_date,
    with_job,
    with_json,
    with_out,
    with_prices,
)
from estimator.model.job import Job
from estimator.store.files import FileTrouble, read_whole
from estimator.study import study

__all__ = ["add"]


def add(commands: Commands) -> None:
    """Declare the commands."""
    words = "The company's logo: choose it from a file, or remove it."
    group = commands.add_parser("logo", help=words, description=words)
    acts = group.add_subparsers(dest="act", metavar="ACT", parser_class=Parser, required=True)
    choose = declared(acts, "choose", "company.logo")
    with_job(choose)
    choose.add_argument("file", metavar="FILE", type=Path, help="picture (*.png, *.jpg)")
    choose.set_defaults(run=_choose)
    remove = declared(acts, "remove", "company.no-logo")
    with_job(remove)
    remove.set_defaults(run=_remove)
    for parser in (choose, remove):
        with_out(parser)
        with_prices(parser)
        with_date(parser, "day that the findings are counted to; today if left out")
        with_json(parser)


def _choose(arguments: argparse.Namespace) -> int:
    try:
        logo = logo_from(read_whole(arguments.file, MOST_FILE_BYTES))
    except (FileTrouble, LogoError) as error:
        raise Refused(f"FILE: {error}") from None
    return _done(arguments, "Company logo", lambda job: with_logo(job, logo))


def _remove(arguments: argparse.Namespace) -> int:
    return _done(arguments, "Remove the company logo", without_logo)


def _done(arguments: argparse.Namespace, name: str, act: Callable[[Job], Job]) -> int:
    on = day(arguments.date)
    file, job = open_job(arguments.job)
    place, book = job_target("--out", arguments.out, file), read_book(arguments.prices)
    new = act(job)
    save(place, new)
    return result(
        study(new, book, on),
        {"job": str(place.path), "acts": [name]},
        as_json=arguments.json,
        words=[f"{name}.", f"Wrote {place.path}."],
    )
