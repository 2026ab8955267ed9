"""`sign` and `unsign`: who takes on what must otherwise never go out, and that nobody does any more."""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from datetime import date

from estimator.acts.sign import SignError, sign_for, without_signs
from estimator.cli.acting import Done, act_on, with_act
from estimator.cli.talk import Commands, Refused, declared, with_job
from estimator.model.finding import Finding
from estimator.model.grades import Grade
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook
from estimator.model.signed import SignOff, short_seal
from estimator.model.signing import Signatures
from estimator.study import study

__all__ = ["add"]

_MOST = 12
_DAY = "day of the act, and that findings are counted to; today if left out"


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
    with_act(parser, _DAY)
    parser = declared(commands, "unsign", "findings.unsign")
    with_job(parser)
    parser.add_argument("keys", metavar="KEY", nargs="+", help="of which findings, by their keys")
    parser.set_defaults(run=_unsign)
    with_act(parser, _DAY)


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


def _counted(number: int, noun: str) -> str:
    return f"{number} {noun if number == 1 else f'{noun}s'}"


def _sign(arguments: argparse.Namespace) -> int:
    def act(job: Job, book: PriceBook, on: date) -> Done:
        signatures = Signatures(job)
        found: dict[str, list[Finding]] = {}
        for finding in study(job, book, on).findings:
            if finding.grade is Grade.NEVER:
                found.setdefault(signatures.about(finding).short, []).append(finding)
        wanted = _wanted(arguments.keys, found, "that must never go out")
        chosen = (f for key in found if key in wanted for f in found[key])
        try:
            new = sign_for(job, chosen, arguments.name, arguments.reason, on)
        except SignError as error:
            raise Refused(f"Nothing was signed: {error}") from None
        name = f"Sign for {_counted(len(wanted), 'finding')}"
        return Done(new, name, facts=lambda _: {"keys": sorted(wanted)})

    return act_on(arguments, act)


def _unsign(arguments: argparse.Namespace) -> int:
    def act(job: Job, _book: PriceBook, _on: date) -> Done:
        # Any signature can be taken back, that of what is not found any more too.
        held: dict[str, SignOff] = {short_seal(sign.seal): sign for sign in job.signed}
        wanted = _wanted(arguments.keys, held, "that was signed for")
        new = without_signs(job, (held[key] for key in wanted))
        name = f"Take back {_counted(len(wanted), 'signature')}"
        return Done(new, name, facts=lambda _: {"keys": sorted(wanted)})

    return act_on(arguments, act)
