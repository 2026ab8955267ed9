"""A hundred thousand random acts on documents, each held against a plain list of what its history must be.

    python -m tests.benchmarks.random_acts [--acts 100000] [--seed 1] [--only 17]

Designs are edited as a person edits them, fields typed into, rows added, doubled, moved and removed, options made,
worked on and left, the price book edited; acts undone, redone and jumped to; revisions issued and withdrawn; the job
saved and opened again. After every act: the job that holds is the one of the list, undo and redo go where the list
says, what was refused changed nothing, nothing takes back an issued revision, "modified" says whether the file holds
the job. After every save: the file holds the job, and reading and writing it again gives the same bytes. Every job
begins a document of its own from the seed and its number, so that one that fails can be done again: `--only`. The
program ends with 1 at the first thing that does not hold. Not collected by pytest: `tests/acts/test_random_acts.py`
does a small sample.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from random import Random
from typing import Any, Final

from estimator.acts.document import Document
from estimator.acts.edits import edited, edits_from
from estimator.acts.issue import IssueError, issue, withdraw
from estimator.acts.options import made_base, with_option, without_option
from estimator.acts.quick_build import QuickBuild, act_name, built
from estimator.acts.sign import sign_for
from estimator.model.edit import EditError, with_value
from estimator.model.job import Job
from estimator.model.option_designs import option_ids
from estimator.model.options import BASE
from estimator.model.party import Company, Party, QuoteInfo
from estimator.model.revisions import issue_findings
from estimator.model.signing import blocking
from estimator.store.document import JobFile
from estimator.store.jobs import job_text, load_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Study, study
from tests.days import STUDIED
from tests.random_edits import edited_design

__all__ = ["Acts", "Broken"]

_A_JOB: Final = 500
"""Acts done to one document: its history is a list that grows."""
_MOST_OPTIONS: Final = 4
_TEXTS: Final = (
    "7 m", "23 ft", "12 ft 6 in", "9", "-1 m", "", "nonsense", "40", "0.5", "yes", "=1+1", "Ω é Ж", "2027-03-31",
    "<b>x</b>", "3 psi", "\u202e", "1e999",
)  # fmt: skip
_PLACES: Final = (
    "site.floor.width", "site.use.guns_open", "site.board.along", "customer.name", "customer.contact", "quote.title",
    "terms.rule_percent", "terms.labour.high", "terms.discount_percent", "terms.currency", "design.clip_spacing",
    "design.drops.0.hose_length", "design.drops.1.gun", "design.drops.1.bay", "design.products.0.id",
    "design.products.0.dilution", "design.bays.0.id", "design.bays.0.width", "quote.dated", "design.common.eyewash",
    "nowhere.at.all",
)  # fmt: skip
_LISTS: Final = ("products", "bays", "drops", "plant", "lines")


class Broken(AssertionError):
    """Something that must hold does not; the message says what and after which act."""


@lru_cache(maxsize=8)
def _begun(bays: int, products: int, air: bool) -> Job:
    # Who quotes whom and the number are what an issue asks for.
    named = Job(
        quote=QuoteInfo(number="7"), company=Company(name="Demo installer"), customer=Party(name="Demo shop")
    )
    return built(named, QuickBuild(bays=bays, products=products, drops_per_side=1, air=air))


@dataclass(frozen=True, slots=True)
class _Past:
    """The plain list: what each act left behind, and how much of it nothing takes back."""

    jobs: tuple[Job, ...]
    at: int = 0
    floor: int = 0

    def after(self, job: Job, *, final: bool = False) -> _Past:
        jobs = (*self.jobs[: self.at + 1], job)
        return _Past(jobs, self.at + 1, self.at + 1 if final else self.floor)


class Acts:
    """One document, and the list beside it.

    Args:
        dice: decides what is done.
        path: of the job's file.

    Attributes:
        done: how often each act was done.
    """

    def __init__(self, dice: Random, path: Path) -> None:
        self._dice, self._path = dice, path
        start = _begun(dice.randint(1, 2), dice.randint(1, 3), dice.random() < 0.5)
        self.document = Document.of(start, shipped_price_book())
        self._past = _Past((start,))
        self._file = JobFile(path, None)
        self._day = STUDIED
        self.done: Counter[str] = Counter()
        self._kept = start
        self._ways: tuple[tuple[int, Callable[[], str]], ...] = (
            (30, self._edit_design),
            (14, self._type),
            (14, self._rows),
            (4, self._several),
            (4, self._option),
            (5, self._work_on),
            (3, self._price),
            (12, self._undo),
            (7, self._redo),
            (2, self._jump),
            (3, self._save),
            (1, self._reopen),
            (1, self._build),
        )

    def act(self, number: int) -> None:
        """Do one act and look whether everything holds.

        Args:
            number: of the act; every 120th issues a revision.

        Raises:
            Broken: something does not.
        """
        if number % 120 == 119:
            way: Callable[[], str] = self._issue
        else:
            way = self._dice.choices([w for _, w in self._ways], [weight for weight, _ in self._ways])[0]
        name = way()
        self.done[name] += 1
        try:
            self._hold()
        except Broken as broken:
            raise Broken(f"act {number}, {name}: {broken}") from None

    def _hold(self) -> None:
        document, past = self.document, self._past
        history = document.history
        _must(document.whole == past.jobs[past.at], "the job is not the one of the list")
        _must(history.position == past.at, f"{history.position} acts lead here, in the list {past.at}")
        _must(bool(history.redo_name) == (past.at + 1 < len(past.jobs)), "redo is offered wrongly")
        _must(bool(history.undo_name) == (past.at > past.floor), "undo is offered wrongly")
        _must(document.option in option_ids(document.whole), "the option worked on is not there")
        _must(document.is_modified == (document.whole != self._kept), "modified is told wrongly")

    # Acts. Each does one thing and says what that was.

    def _does(self, name: str, change: Callable[[], Document]) -> str:
        before, wanted = self.document, self.document.whole
        try:
            after = change()
        except EditError as error:
            _must(all(f.message.strip() for f in error.findings), f"{name} was refused without a sentence")
            _must(
                self.document is before and before.whole is wanted,
                f"{name} was refused and changed something",
            )
            return f"{name}, refused"
        self.document = after
        if after.history is not before.history:
            self._past = self._past.after(after.whole)
        return name

    def _edit_design(self) -> str:
        document, dice = self.document, self._dice
        design = edited_design(dice, document.job.design, 2)
        job = with_value(document.job, ("design",), design)
        return self._does(
            "edit a design", lambda: document.after("Edit", job=job, only_here=dice.random() < 0.3)
        )

    def _edits(self, name: str, *edits: dict[str, Any]) -> str:
        document = self.document

        def change() -> Document:
            whole = edited(document.job, edits_from(list(edits))).whole
            assert isinstance(whole, Job)
            return document.after(name, job=whole)

        return self._does(name, change)

    def _type(self) -> str:
        return self._edits("type", {"set": self._dice.choice(_PLACES), "to": self._dice.choice(_TEXTS)})

    def _rows(self) -> str:
        verb, name = self._dice.choice(("add", "duplicate", "remove", "move")), self._dice.choice(_LISTS)
        place = f"design.{name}" if verb == "add" else f"design.{name}.{self._dice.randrange(9)}"
        return self._edits(f"{verb} rows", {verb: place, **({"to": 0} if verb == "move" else {})})

    def _several(self) -> str:
        second = {"set": self._dice.choice(_PLACES), "to": self._dice.choice(_TEXTS)}
        return self._edits(
            "type several", {"set": "customer.contact", "to": f"{self._dice.random()}"}, second
        )

    def _build(self) -> str:
        job = built(
            self.document.job, QuickBuild(bays=1, products=self._dice.randint(1, 3), drops_per_side=1)
        )
        return self._does("build", lambda: self.document.after(act_name(job), job=job))

    def _option(self) -> str:
        document, dice = self.document, self._dice
        ids = [name for name in option_ids(document.whole) if name != BASE]
        way = dice.choice(("add", "remove", "base")) if ids else "add"
        if way == "add" and len(ids) >= _MOST_OPTIONS:
            way = "remove"

        def change() -> Document:
            whole = document.whole
            if way == "add":
                design = edited_design(dice, document.job.design, 3)
                new, _ = with_option(whole, f"Option {len(ids)}", design, offered=dice.random() < 0.5)
                return document.after_whole("Add an option", new)
            act = without_option if way == "remove" else made_base
            return document.after_whole(way, act(whole, dice.choice(ids)))

        return self._does(f"option, {way}", change)

    def _work_on(self) -> str:
        document = self.document
        option = self._dice.choice(option_ids(document.whole))
        return self._does("work on an option", lambda: document.working_on(option))

    def _price(self) -> str:
        document, dice = self.document, self._dice
        entries = list(document.book.entries)
        at = dice.randrange(len(entries))
        entries[at] = entries[at].model_copy(update={"high": entries[at].high + Decimal(1)})
        book = document.book.model_copy(update={"entries": tuple(entries)})
        name = self._does("price", lambda: document.after("Price", book=book))
        _must(self.document.book is book, "the price book is another one")
        return name

    def _undo(self) -> str:
        self.document = self.document.undone()
        past = self._past
        self._past = _Past(past.jobs, max(past.at - 1, past.floor), past.floor)
        return "undo"

    def _redo(self) -> str:
        self.document = self.document.redone()
        past = self._past
        self._past = _Past(past.jobs, min(past.at + 1, len(past.jobs) - 1), past.floor)
        return "redo"

    def _jump(self) -> str:
        past = self._past
        to = self._dice.randrange(len(past.jobs))
        try:
            self.document = self.document.at(to)
        except IndexError:
            _must(to < past.floor, f"act {to} cannot be jumped to")
            return "jump, refused"
        _must(to >= past.floor, "what cannot be undone was jumped over")
        self._past = _Past(past.jobs, to, past.floor)
        return "jump"

    def _save(self) -> str:
        whole = self.document.whole
        self._file.save(whole)
        self.document = self.document.saved_to(self._path)
        _must(not self.document.is_modified, "a saved job is modified")
        self._kept = there = load_job(self._path)
        _must(there == whole, "the file holds another job")
        _must(job_text(there).encode("utf-8") == self._path.read_bytes(), "written again it is another file")
        return "save"

    def _reopen(self) -> str:
        """As it was saved last, if ever; a new history begins."""
        if not self._path.exists():
            return self._save()
        self._file, job = JobFile.read(self._path)
        _must(job == self.document.saved, "the file holds another job than was saved")
        self.document = Document.of(job, self.document.book, self._path)
        self._past = _Past((job,))
        self._kept = job
        return "open again"

    def _issue(self) -> str:
        """Issue with a paper of a few bytes, or withdraw the last; saved first, as the desk does it."""
        document, before = self.document, self.document.whole
        try:
            made: Study = study(before, document.book, self._day)
            if before.issued and self._dice.random() < 0.4:
                whole, name = withdraw(before, before.issued[-1].letter, self._day, "Wrong"), "withdraw"
            else:
                # Somebody takes on what must otherwise never go out.
                never = blocking(before, made.findings)
                signed = sign_for(before, never, "Demo signer", "Because.", self._day) if never else before
                made = study(signed, document.book, self._day)
                whole, name = issue(made, "Offer", lambda bare: f"%PDF {bare.fingerprint}".encode()), "issue"
        except (IssueError, EditError) as error:
            _must(bool(str(error).strip()), "refused without a sentence")
            return "issue, refused"
        self._day += timedelta(days=1)
        _must(len(whole.issued) == len(before.issued) + (name == "issue"), "a revision vanished or came")
        wrong = issue_findings(whole)
        _must(not wrong, f"an issued revision does not hold: {wrong[:1]}")
        self._file.save(whole)
        self.document = document.after_whole(name, whole, final=True).saved_to(self._path)
        self._past = self._past.after(whole, final=True)
        self._kept = load_job(self._path)
        _must(self._kept.issued == whole.issued, "the file holds other revisions")
        return name


def _must(holds: bool, otherwise: str) -> None:
    if not holds:
        raise Broken(otherwise)


def _many(numbers: range, acts: int, seed: int) -> Counter[str]:
    done: Counter[str] = Counter()
    began, reported = time.process_time(), 0
    with tempfile.TemporaryDirectory() as folder:
        for number in numbers:
            run = Acts(Random(f"{seed} {number}"), Path(folder) / f"{number}.baydrop")
            for i in range(min(_A_JOB, acts - sum(done.values()))):
                try:
                    run.act(i)
                except Exception:
                    print(f"job {number} (--seed {seed} --only {number})", flush=True)
                    raise
            done += run.done
            if sum(done.values()) >= reported + 5_000:
                reported = sum(done.values())
                rate = reported / (time.process_time() - began)
                print(f"{reported} acts, {rate:.0f} a second of the processor", flush=True)
            if sum(done.values()) >= acts:
                break
    return done


def main() -> int:
    """1 if something does not hold."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--acts", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", type=int, help="one job by its number")
    chosen = parser.parse_args()
    numbers = range(chosen.acts) if chosen.only is None else range(chosen.only, chosen.only + 1)
    done = _many(numbers, chosen.acts, chosen.seed)
    for name, times in sorted(done.items()):
        print(f"  {times:6} {name}")
    print(f"{sum(done.values())} acts: everything holds")
    return 0


if __name__ == "__main__":
    sys.exit(main())
