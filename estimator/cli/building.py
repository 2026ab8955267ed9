"""`build`: a whole job from a handful of inputs."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from estimator.acts.edits import texts_into
from estimator.acts.quick_build import QuickBuild, QuickBuildError, act_name, built
from estimator.cli.talk import (
    Commands,
    Refused,
    day,
    declared,
    new_job_file,
    open_job,
    read_book,
    read_json,
    result,
    save,
    told,
    with_date,
    with_json,
    with_prices,
)
from estimator.model.edit import EditError
from estimator.model.job import Job
from estimator.model.spec import FieldKind, fields_of
from estimator.store.document import JobFile
from estimator.store.settings import load_settings
from estimator.study import study

__all__ = ["add"]


def add(commands: Commands) -> None:
    """Declare the command."""
    parser = declared(commands, "build", "quick.build", "An input that is left out has its usual value.")
    parser.add_argument("job", metavar="JOB", help="job file to write; it must not be there yet")
    parser.add_argument(
        "--from",
        dest="source",
        metavar="FILE",
        help='inputs as JSON, such as {"bays": 3, "floor_width": "24 m"}; - for the input stream',
    )
    parser.add_argument(
        "--again",
        action="store_true",
        help="put the new design in the place of the one in a job file that is there; customer and terms stay",
    )
    for field in fields_of(QuickBuild):
        choices = ", ".join(key for key, _ in field.choices) or {FieldKind.FLAG: "yes, no"}.get(
            field.kind, ""
        )
        limits = f"{field.low} to {field.high}" if field.low and field.high else ""
        parser.add_argument(
            f"--{field.name.replace('_', '-')}",
            dest=f"input_{field.name}",
            metavar="TEXT",
            help=f"{field.label}: {field.help} ({choices or limits})".replace("%", "%%"),
        )
    with_prices(parser)
    with_date(parser, "day that the findings are counted to; today if left out")
    with_json(parser)
    parser.set_defaults(run=_build)


def _inputs(arguments: argparse.Namespace) -> dict[str, Any]:
    """Texts by field, those of the command line over those of the file."""
    texts: dict[str, Any] = {}
    if arguments.source is not None:
        read = read_json("--from", arguments.source)
        if not isinstance(read, dict):
            raise Refused('--from: the inputs are a group such as {"bays": 3}.')
        texts = read
    for field in fields_of(QuickBuild):
        typed = getattr(arguments, f"input_{field.name}")
        if typed is not None:
            texts[field.name] = typed
    return texts


def _build(arguments: argparse.Namespace) -> int:
    on = day(arguments.date)
    if arguments.again:
        file, job = open_job(Path(arguments.job))
    else:
        file = JobFile(new_job_file("JOB", arguments.job), None)
        job = Job(units=load_settings()[0].units)
    book = read_book(arguments.prices)
    try:
        inputs = texts_into(QuickBuild(), _inputs(arguments))
        assert isinstance(inputs, QuickBuild)
        job = built(job, inputs)
    except (QuickBuildError, EditError) as error:
        raise Refused(*told(error.findings, job)) from None
    save(file, job)
    name = act_name(job)
    return result(
        study(job, book, on),
        {"job": str(file.path), "acts": [name]},
        as_json=arguments.json,
        words=[f"{name}. Wrote {file.path}."],
    )
