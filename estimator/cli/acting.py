"""An act on a job file as the command line does it: opened, done, saved, and told with what follows from it."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from estimator.cli.talk import (
    Parser,
    day,
    job_target,
    open_job,
    read_book,
    result,
    save,
    with_date,
    with_json,
    with_out,
    with_prices,
)
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook
from estimator.study import Study, study

__all__ = ["Done", "act_on", "with_act"]


def with_act(parser: Parser, words: str = "day that the findings are counted to; today if left out") -> None:
    """What every act on a job takes besides the job.

    Args:
        words: what its day is.
    """
    with_out(parser)
    with_prices(parser)
    with_date(parser, words)
    with_json(parser)


@dataclass(frozen=True, slots=True)
class Done:
    """What an act made of a job.

    Attributes:
        job: afterwards.
        name: of the act.
        said: what is told of it; its name where left out.
        facts: what else is told as JSON, of the study of the new job.
        writes: whether there is anything to save.
    """

    job: Job
    name: str
    said: str = ""
    facts: Callable[[Study], dict[str, object]] = lambda _: {}
    writes: bool = True


def act_on(arguments: argparse.Namespace, act: Callable[[Job, PriceBook, date], Done]) -> int:
    """Open a job, do an act, save it, tell what was done; see `with_act`.

    Args:
        act: of the job, the price book and the day; what it refuses, it raises as `Refused`.
    """
    on = day(arguments.date)
    (file, job), book = open_job(arguments.job), read_book(arguments.prices)
    place = job_target("--out", arguments.out, file)
    done = act(job, book, on)
    if done.writes:
        save(place, done.job)
    made = study(done.job, book, on)
    facts: dict[str, object] = {"job": str(place.path), "acts": [done.name], **done.facts(made)}
    wrote = f"Wrote {place.path}." if done.writes else "Nothing was changed."
    words = [f"{done.said or done.name}. {wrote}"]
    return result(made, facts, as_json=arguments.json, words=words)
