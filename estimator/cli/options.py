"""`option`: designs that differ from the base one, offered to be ticked or only compared."""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Final

from estimator.acts.alternates import alternates
from estimator.acts.options import (
    free_name,
    kept_own,
    made_base,
    taken_from_base,
    with_option,
    without_option,
)
from estimator.cli.acting import Done, act_on, with_act
from estimator.cli.talk import (
    Commands,
    Parser,
    Refused,
    day,
    declared,
    read_book,
    read_job,
    result,
    told,
    with_date,
    with_job,
    with_json,
    with_prices,
)
from estimator.model.design import Design
from estimator.model.edit import EditError, with_value
from estimator.model.grades import Grade
from estimator.model.job import Job
from estimator.model.option_designs import design_of, option_ids, option_name, own_changes
from estimator.model.options import BASE, OptionChange
from estimator.model.pricebook import PriceBook
from estimator.model.signing import Signatures
from estimator.shown.options import own_words
from estimator.study import Study, study

__all__ = ["add"]

_MOST_PLACES: Final = 12
_DAY: Final = "day that prices and findings are counted to; today if left out"

Act = Callable[[argparse.Namespace, Job], tuple[Job, str, str]]
"""Gives the job afterwards, what the act is called, and the id of the option it was about."""


def add(commands: Commands) -> None:
    """Declare the command."""
    words = "Options: whole designs beside the base one, offered on the quote or only compared."
    group = commands.add_parser("option", help=words, description=words)
    acts = group.add_subparsers(dest="act", metavar="ACT", parser_class=Parser, required=True)

    def plain(name: str, words: str) -> Parser:
        return acts.add_parser(name, help=words, description=words)

    def act(made: Parser, run: Act | None) -> Parser:
        with_job(made)
        if run is not None:
            with_act(made, _DAY)
        else:
            with_prices(made)
            with_date(made, _DAY)
            with_json(made)
        made.set_defaults(run=_list if run is None else lambda arguments: _do(arguments, run))
        return made

    act(plain("list", "Show all options with their prices."), None)
    act(plain("add", "A new option, the base design to begin with."), _add).add_argument(
        "--name", default="Option", metavar="TEXT", help="what it is called"
    )
    copy = act(declared(acts, "copy", "options.make"), _copy)
    copy.add_argument("option", metavar="ID", help="the option to copy; base for the base design")
    copy.add_argument("--name", metavar="TEXT", help="what the new one is called")
    ready = act(declared(acts, "alternate", "options.ready"), _alternate)
    ready.add_argument("alternate", metavar="KEY", help="which; a wrong one is answered with those there are")
    ready.add_argument(
        "--of", default=BASE, metavar="ID", help="the option to begin with; the base if left out"
    )
    remove = act(declared(acts, "remove", "options.remove"), _remove)
    remove.add_argument("option", metavar="ID")
    offer = act(declared(acts, "offer", "options.offer"), _offer)
    offer.add_argument("option", metavar="ID")
    offer.add_argument("--no", action="store_true", help="the quote offers it no longer")
    rename = act(declared(acts, "rename", "options.rename"), _rename)
    rename.add_argument("option", metavar="ID")
    rename.add_argument("name", metavar="TEXT")
    own = act(plain("own", "Show what an option has of its own, and how it stands to the base design."), None)
    own.add_argument("option", metavar="ID")
    own.set_defaults(run=_own)
    for name, words, run in (
        ("keep-own", "options.keep-own", _keep_own),
        ("take-base", "options.take-base", _take_base),
    ):
        made = act(declared(acts, name, words), run)
        made.add_argument("option", metavar="ID")
        made.add_argument("place", metavar="PLACE", help="as “own” shows it")
    base = act(declared(acts, "make-base", "options.make-base"), _make_base)
    base.add_argument("option", metavar="ID")


def _do(arguments: argparse.Namespace, act: Act) -> int:
    def done(job: Job, _book: PriceBook, _on: date) -> Done:
        try:
            new, name, option = act(arguments, job)
        except LookupError as error:
            raise Refused(str(error)) from None
        except EditError as error:
            raise Refused(*told(error.findings)) from None
        return Done(new, name, f"{name} ({option})", lambda made: {"option": option, "options": _rows(made)})

    return act_on(arguments, done)


def _list(arguments: argparse.Namespace) -> int:
    on = day(arguments.date)
    made = study(read_job(arguments.job), read_book(arguments.prices), on)
    if arguments.json:
        return result(made, {"options": _rows(made)}, as_json=True, words=())
    lines = [
        f"{row['id']}  {row['name']}  {row['total']} {made.price.currency}"
        + (
            ""
            if row["id"] == BASE
            else f"  {row['difference']}  {'offered' if row['offered'] else 'not offered'}"
        )
        + f"  {_open_words(row)}"
        for row in _rows(made)
    ]
    return result(made, {}, as_json=False, words=lines)


def _own(arguments: argparse.Namespace) -> int:
    on = day(arguments.date)
    job = read_job(arguments.job)
    try:
        found = own_words(job, arguments.option)
    except LookupError as error:
        raise Refused(str(error)) from None
    rows: list[dict[str, object]] = [
        {
            "place": ".".join(one.change.place),
            "state": one.state.value,
            "what": one.what,
            "own": one.own,
            "base": one.base,
            "note": one.note,
        }
        for one in found
    ]
    lines = [
        f"{row['place']}  {row['what']}: {row['own']}, base: {row['base'] or 'nothing'}  {row['note']}"
        for row in rows
    ]
    made = study(job, read_book(arguments.prices), on)
    return result(made, {"option": arguments.option, "own": rows}, as_json=arguments.json, words=lines)


def _change(job: Job, option: str, place: str) -> OptionChange:
    """What an option has of its own at a place.

    Raises:
        LookupError: there is no such option, or it has nothing of its own there.
    """
    known = {".".join(own.change.place): own.change for own in own_changes(job, option)}
    if place not in known:
        told_ = ", ".join(list(known)[:_MOST_PLACES]) or "nothing at all"
        raise LookupError(
            f"“{option_name(job, option)}” has nothing of its own at “{place}”; it has {told_}."
        )
    return known[place]


def _own_act(job: Job, option: str, change: OptionChange, done: str) -> str:
    """What undo would call an act on what an option has of its own."""
    what = next(words.what for words in own_words(job, option) if words.change == change)
    return f"{option_name(job, option)}, {what}: {done}"


def _keep_own(arguments: argparse.Namespace, job: Job) -> tuple[Job, str, str]:
    option = arguments.option
    change = _change(job, option, arguments.place)
    new = kept_own(job, option, change)
    return new, _own_act(job, option, change, "keeps its own"), option


def _take_base(arguments: argparse.Namespace, job: Job) -> tuple[Job, str, str]:
    option = arguments.option
    change = _change(job, option, arguments.place)
    new = taken_from_base(job, option, change)
    return new, _own_act(job, option, change, "as in the base"), option


def _open_words(row: dict[str, object]) -> str:
    """How much is open in a design, the hardest first; what is only to be known is not counted."""
    counts = row["grades"]
    assert isinstance(counts, dict)
    told = [grade.counted(counts[grade]) for grade in Grade if counts[grade] and grade is not Grade.KNOW]
    return ", ".join(told) or "nothing open"


def _rows(made: Study) -> list[dict[str, object]]:
    offered = {a.id for a in made.job.alternatives if a.offered} | {BASE}
    signatures = Signatures(made.job)

    def grades(one: Study) -> dict[str, int]:
        """Open findings of one design by grade."""
        own = [replace(f, option=one.option) for f in one.findings if one.option != BASE or f.option == BASE]
        left = Counter(f.grade for f in own if signatures.of(f) is None)
        return {grade.value: left[grade] for grade in Grade}

    total = made.price.totals.total.likely
    return [
        {
            "id": one.option,
            "name": option_name(made.job, one.option),
            "offered": one.option in offered,
            "total": one.price.totals.total.likely,
            "difference": f"{one.price.totals.total.likely - total:+}",
            "complete": one.price.complete,
            "grades": grades(one),
        }
        for one in (made, *made.options)
    ]


def _new(job: Job, wanted: str, design: Design) -> tuple[Job, str, str]:
    name = free_name(job, wanted)
    new, option = with_option(job, name, design)
    return new, f"Make option {name}", option


def _add(arguments: argparse.Namespace, job: Job) -> tuple[Job, str, str]:
    return _new(job, arguments.name, job.design)


def _copy(arguments: argparse.Namespace, job: Job) -> tuple[Job, str, str]:
    name = arguments.name or f"Copy of {option_name(job, arguments.option)}"
    return _new(job, name, design_of(job, arguments.option))


def _alternate(arguments: argparse.Namespace, job: Job) -> tuple[Job, str, str]:
    ready = alternates(design_of(job, arguments.of))
    for alternate, design in ready:
        if arguments.alternate == alternate.key:
            return _new(job, alternate.name, design)
    known = ", ".join(alternate.key for alternate, _ in ready) or "none yet"
    raise LookupError(f"There is no alternate “{arguments.alternate}” for this design; there are: {known}.")


def _remove(arguments: argparse.Namespace, job: Job) -> tuple[Job, str, str]:
    if arguments.option == BASE:
        raise LookupError("The base design cannot be removed; make another option the base first.")
    name = option_name(job, arguments.option)
    return without_option(job, arguments.option), f"Remove option {name}", arguments.option


def _offer(arguments: argparse.Namespace, job: Job) -> tuple[Job, str, str]:
    option, offered = arguments.option, not arguments.no
    name = option_name(job, option)
    if option == BASE:
        raise LookupError("The base design is always on the quote; name another option.")
    place = option_ids(job).index(option) - 1
    new = with_value(job, ("alternatives", place, "offered"), offered)
    return new, f"{name}: {'offered' if offered else 'not offered'}", option


def _rename(arguments: argparse.Namespace, job: Job) -> tuple[Job, str, str]:
    option_name(job, arguments.option)
    path: tuple[str | int, ...] = ("design", "name")
    if arguments.option != BASE:
        path = ("alternatives", option_ids(job).index(arguments.option) - 1, "name")
    name = arguments.name.strip()
    return with_value(job, path, name), f"Rename option: {name}", arguments.option


def _make_base(arguments: argparse.Namespace, job: Job) -> tuple[Job, str, str]:
    name = option_name(job, arguments.option)
    return made_base(job, arguments.option), f"Make {name} the base", arguments.option
