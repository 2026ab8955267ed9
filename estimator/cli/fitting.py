"""`fit`: parts that stand their product in place of those that do not, and what that costs."""

from __future__ import annotations

import argparse
from datetime import date
from typing import Final

from estimator.acts.document import Document
from estimator.acts.fitting import FitPart, fits, place_of_fit
from estimator.cli.acting import Done, act_on, with_act
from estimator.cli.talk import Commands, Refused, declared, with_job
from estimator.model.edit import EditError
from estimator.model.finding import Finding
from estimator.model.job import Job
from estimator.model.options import BASE
from estimator.model.pricebook import PriceBook
from estimator.money import money_text
from estimator.study import Pipeline

__all__ = ["add"]

_NAME: Final = "Parts that stand their products"


def add(commands: Commands) -> None:
    """Declare the command."""
    parser = declared(
        commands,
        "fit",
        "findings.fit",
        "The cheapest is taken for each, or that of --with; what nothing in the catalogue stands is told and stays. "
        "With --list nothing is changed.",
    )
    with_job(parser)
    parser.add_argument("--at", metavar="PLACE", help="only the part at this place, as “check” prints it")
    parser.add_argument("--with", dest="key", metavar="KEY", help="this part, by its key in the catalogue")
    parser.add_argument("--list", dest="only", action="store_true", help="tell what there is, change nothing")
    parser.add_argument("--option", metavar="ID", help="work on this option instead of the base design")
    parser.set_defaults(run=_fit)
    with_act(parser)


def _wrong(job: Job, book: PriceBook, on: date, at: str | None) -> list[Finding]:
    found = [f for f in Pipeline().design(job, book, on).findings if place_of_fit(f)]
    return [f for f in found if at is None or f.place == at]


def _told(offers: tuple[FitPart, ...]) -> list[dict[str, object]]:
    return [{"key": offer.key, "name": offer.name, "extra": offer.extra} for offer in offers]


def _chosen(offers: tuple[FitPart, ...], key: str | None, place: str) -> FitPart | None:
    """The one of a key, else the cheapest.

    Raises:
        Refused: no offer has that key.
    """
    if key is None:
        return offers[0] if offers else None
    fit = next((offer for offer in offers if offer.key == key), None)
    if fit is None:
        there = ", ".join(offer.key for offer in offers) or "nothing"
        raise Refused(f"--with: “{key[:40]}” does not stand what flows at {place}; there is: {there}.")
    return fit


def _fit(arguments: argparse.Namespace) -> int:
    if arguments.only and arguments.out is not None:
        raise Refused("--out: with --list nothing is written; leave one of the two out.")

    def act(whole: Job, book: PriceBook, on: date) -> Done:
        document = Document.of(whole, book, arguments.job)
        try:
            if arguments.option is not None and arguments.option != BASE:
                document = document.working_on(arguments.option)
        except LookupError as error:
            raise Refused(f"--option: {error}") from None
        names: list[str] = []
        told: list[dict[str, object]] = []
        for finding in _wrong(document.job, book, on, arguments.at):
            # One exchange after another: the price of each is that beside those before it.
            offers = fits(document.job, book, on, finding)
            fit = _chosen(offers, arguments.key, finding.place)
            told.append({"place": finding.place, "offers": _told(offers)})
            if fit is None:
                names.append(f"{finding.place}: nothing in the catalogue stands it")
                continue
            extra = "price not known"
            if fit.extra is not None:
                extra = f"{'+' if fit.extra >= 0 else ''}{money_text(fit.extra, book.currency, whole.terms.locale)}"
            names.append(f"{finding.place}: {fit.act} ({extra})")
            if not arguments.only:
                told[-1]["taken"] = fit.key
                try:
                    document = document.after(fit.act, job=fit.job)
                except EditError as error:
                    raise Refused(str(error)) from None
        if not told:
            raise Refused("Nothing to fit: no part is found there that does not stand its product.")
        said = "; ".join(names)
        facts: dict[str, object] = {"parts": told}
        return Done(document.whole, _NAME, said, lambda _: facts, writes=not arguments.only)

    return act_on(arguments, act)
