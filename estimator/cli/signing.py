"""`sign` and `unsign`: who takes on what must otherwise never go out, and that nobody does any more."""

from __future__ import annotations

import argparse
from collections.abc import Iterable

from estimator.acts.sign import SignError, sign_for, without_signs
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
from estimator.model.finding import Finding
from estimator.model.grades import Grade
from estimator.model.signed import SignOff, short_seal
from estimator.model.signing import Signatures
from estimator.study import study

__all__ = ["add"]

_MOST = 12


def add(commands: Commands) -> None:
    """Declare the commands."""
    parser = declared(commands, "sign", "findings.sign")
    with_job(parser)
    parser.add_argument(
        "keys", metavar="KEY", nargs="+", help="which findings, by the keys that “check” prints"
    )
    parser.add_argument("--name", metavar="TEXT", required=True, help="who signs; it stands on the paper")
    parser.add_argument(
        "--reason", metavar="TEXT", required=True, help="why it may go out as it is; it stands on the paper"
    )
    parser.set_defaults(run=_sign)
    _others(parser)
    parser = declared(commands, "unsign", "findings.unsign")
    with_job(parser)
    parser.add_argument("keys", metavar="KEY", nargs="+", help="of which findings, by their keys")
    parser.set_defaults(run=_unsign)
    _others(parser)


def _others(parser: Parser) -> None:
    with_out(parser)
    with_prices(parser)
    with_date(parser, "day of the act, and that findings are counted to; today if left out")
    with_json(parser)


def _wanted(keys: Iterable[str], known: Iterable[str], none: str) -> set[str]:
    """The keys as they are kept.

    Raises:
        Refused: one of them is of nothing.
    """
    there = list(dict.fromkeys(known))
    wanted = {key.strip().lower() for key in keys}
    for key in sorted(wanted):
        if key not in there:
            told = ", ".join(there[:_MOST]) + (", …" if len(there) > _MOST else "")
            raise Refused(f"KEY: “{key[:40]}” is of nothing {none}; there is: {told or 'nothing'}.")
    return wanted


def _sign(arguments: argparse.Namespace) -> int:
    on = day(arguments.date)
    (file, job), book = open_job(arguments.job), read_book(arguments.prices)
    place = job_target("--out", arguments.out, file)
    signatures = Signatures(job)
    found: dict[str, list[Finding]] = {}
    for finding in study(job, book, on).findings:
        if finding.grade is Grade.NEVER:
            found.setdefault(signatures.about(finding).short, []).append(finding)
    wanted = _wanted(arguments.keys, found, "that must never go out")
    try:
        new = sign_for(
            job,
            (f for key in found if key in wanted for f in found[key]),
            arguments.name,
            arguments.reason,
            on,
        )
    except SignError as error:
        raise Refused(f"Nothing was signed: {error}") from None
    save(place, new)
    name = f"Sign for {len(wanted)} {'finding' if len(wanted) == 1 else 'findings'}"
    facts: dict[str, object] = {"job": str(place.path), "acts": [name], "keys": sorted(wanted)}
    return result(study(new, book, on), facts, as_json=arguments.json, words=[f"{name}. Wrote {place.path}."])


def _unsign(arguments: argparse.Namespace) -> int:
    on = day(arguments.date)
    (file, job), book = open_job(arguments.job), read_book(arguments.prices)
    place = job_target("--out", arguments.out, file)
    # Any signature can be taken back, that of what is not found any more too.
    held: dict[str, SignOff] = {short_seal(sign.seal): sign for sign in job.signed}
    wanted = _wanted(arguments.keys, held, "that was signed for")
    new = without_signs(job, (held[key] for key in wanted))
    save(place, new)
    name = f"Take back {len(wanted)} {'signature' if len(wanted) == 1 else 'signatures'}"
    facts: dict[str, object] = {"job": str(place.path), "acts": [name], "keys": sorted(wanted)}
    return result(study(new, book, on), facts, as_json=arguments.json, words=[f"{name}. Wrote {place.path}."])
