"""`logo`: the company's logo, taken from a picture file or left out."""

from __future__ import annotations

import argparse
from pathlib import Path

from estimator.acts.logo import MOST_FILE_BYTES, LogoError, logo_from, with_logo, without_logo
from estimator.cli.acting import Done, act_on, with_act
from estimator.cli.talk import Commands, Parser, Refused, declared, with_job
from estimator.store.files import FileTrouble, read_whole

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
        with_act(parser)


def _choose(arguments: argparse.Namespace) -> int:
    try:
        logo = logo_from(read_whole(arguments.file, MOST_FILE_BYTES))
    except (FileTrouble, LogoError) as error:
        raise Refused(f"FILE: {error}") from None
    return act_on(arguments, lambda job, _book, _on: Done(with_logo(job, logo), "Company logo"))


def _remove(arguments: argparse.Namespace) -> int:
    return act_on(arguments, lambda job, _book, _on: Done(without_logo(job), "Remove the company logo"))
