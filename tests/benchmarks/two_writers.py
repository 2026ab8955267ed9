"""Two processes on one file, a thousand edits between them: none disappears without a question.

    python -m tests.benchmarks.two_writers [--edits 1000] [--seed 1]

First on a job, then on a price book. On the job each writer saves with the lock held for a while or for the moment,
takes the lock over from the other now and then, and answers what it is asked as a person would: take theirs and do the
edit again, keep mine as a copy, leave it. On the price book each edits rows of its own and rows that both edit, and
answers conflicts by writing its own or keeping theirs. What each did stands in a journal, which is held against the
files: the saves are one chain, each over what the one before it wrote; what the last ones wrote is in the file; what
was not saved was asked about; nothing is left beside the files. The program ends with 1 if an edit is missing. Not
collected by pytest: `tests/store/test_two_writers.py` does a small sample.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from random import Random
from typing import Any, Final
from unittest.mock import patch

from estimator.acts.quick_build import QuickBuild, built
from estimator.model.edit import with_value
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook
from estimator.store import shared_book
from estimator.store.document import ChangedOutside, JobFile
from estimator.store.files import fingerprint
from estimator.store.jobs import load_job, save_job
from estimator.store.lock import Locked
from estimator.store.places import HOME_VARIABLE
from estimator.store.pricebooks import load_price_book, save_price_book, shipped_price_book
from estimator.store.shared_book import BookConflict, keep_edit

__all__ = ["Account", "book_account", "job_account"]

_WRITERS: Final = 2
_SHARED: Final = 4
_OWN: Final = 8
"""Rows of the price book that both edit, and that each has for itself."""

Line = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Account:
    """What became of the edits.

    Attributes:
        outcomes: how many were saved, kept as a copy, left, how often a writer was asked, and how often a save came
            after one of the other writer.
        wrong: sentences about edits that are missing; empty where all is accounted for.
    """

    outcomes: Counter[str]
    wrong: tuple[str, ...]


class _Journal:
    """Lines that several processes write, each whole."""

    def __init__(self, path: Path) -> None:
        self._path = path

    def write(self, **line: Any) -> None:
        handle = os.open(self._path, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o644)
        os.write(handle, (json.dumps(line) + "\n").encode("utf-8"))
        os.close(handle)

    def lines(self) -> list[Line]:
        return [json.loads(line) for line in self._path.read_text(encoding="utf-8").splitlines()]


# The job. Each writer counts in the name of a bay of its own.


def _counted(job: Job, writer: int, number: int) -> Job:
    return with_value(job, ("design", "bays", writer, "name"), f"{number}")


def _counts(job: Job) -> list[int]:
    return [int(bay.name) for bay in job.design.bays[:_WRITERS]]


def _write_job(path: Path, writer: int, edits: int, seed: int, journal: _Journal) -> None:
    dice = Random(f"{seed} {writer}")
    file, job = JobFile.read(path)
    for number in range(1, edits + 1):
        job = _counted(job, writer, number)
        asked = 0
        if file.lock is None and dice.random() < 0.05:
            try:
                file.take(over=dice.random() < 0.5)
            except Locked:
                asked += 1
        outcome = ""
        while not outcome:
            before = file.mark
            try:
                file.save(job)
                journal.write(kind="save", writer=writer, number=number, before=before, after=file.mark)
                outcome = "saved"
            except Locked:
                asked += 1
                if dice.random() < 0.1:
                    file.take(over=True)
                else:
                    time.sleep(dice.uniform(0, 0.01))
            except ChangedOutside as changed:
                asked += 1
                assert changed.theirs is not None
                answer = dice.choices(("again", "copied", "left"), (8, 1, 1))[0]
                lock, mine = file.lock, job
                file, theirs = JobFile.read(path)
                file.lock = lock
                if answer == "again":
                    job = _counted(theirs, writer, number)
                    continue
                if answer == "copied":
                    JobFile.to_be(path.with_name(f"copy-{writer}-{number}")).save(mine)
                job, outcome = theirs, answer
        if file.lock is not None and dice.random() < 0.5:
            file.close()
        journal.write(kind="edit", writer=writer, number=number, outcome=outcome, asked=asked)
        time.sleep(dice.uniform(0, 0.004))
    file.close()


def job_account(folder: Path, edits: int, seed: int) -> Account:
    """Let the writers edit a job.

    Args:
        folder: an empty one.
        edits: of all writers together.
        seed: of what they do.
    """
    path, journal = folder / "job.baydrop", _Journal(folder.parent / "journal")
    job = built(Job(), QuickBuild(bays=_WRITERS, products=1, drops_per_side=1))
    for writer in range(_WRITERS):
        job = _counted(job, writer, 0)
    save_job(path, job)
    first = fingerprint(path.read_bytes())
    wrong = _run(_write_job, path, edits // _WRITERS, seed, journal)
    lines = journal.lines()
    saves = [line for line in lines if line["kind"] == "save"]
    wrong += _chain(saves, first, fingerprint(path.read_bytes()))
    counts = _counts(load_job(path))
    outcomes = Counter(turns=_turns(saves))
    for writer in range(_WRITERS):
        own = [line for line in lines if line["kind"] == "edit" and line["writer"] == writer]
        if [line["number"] for line in own] != list(range(1, edits // _WRITERS + 1)):
            wrong.append(f"writer {writer}: {len(own)} edits have an outcome")
        last = max((line["number"] for line in saves if line["writer"] == writer), default=0)
        if counts[writer] != last:
            wrong.append(f"writer {writer}: the file holds edit {counts[writer]}, saved was {last}")
        for line in own:
            outcomes[line["outcome"]] += 1
            outcomes["questions"] += line["asked"]
            if line["outcome"] != "saved" and not line["asked"]:
                wrong.append(
                    f"writer {writer}: edit {line['number']} was {line['outcome']} without a question"
                )
            copy = folder / f"copy-{writer}-{line['number']}.baydrop"
            if line["outcome"] == "copied" and _counts(load_job(copy))[writer] != line["number"]:
                wrong.append(f"{copy.name} does not hold its edit")
    wrong += [f"{p.name} was left" for p in folder.iterdir() if p.suffix != ".baydrop"]
    return Account(outcomes, tuple(wrong))


# The price book. What is written is noted while the book is locked, in the order in which it was.


def _write_book(path: Path, writer: int, edits: int, seed: int, journal: _Journal) -> None:
    dice = Random(f"{seed} {writer}")
    book = load_price_book(path)

    def noted(at: Path, new: PriceBook) -> None:
        was = at.read_bytes()
        old = {e.code: e.description for e in load_price_book(at).entries}
        save_price_book(at, new)
        moved = {e.code: [old[e.code], e.description] for e in new.entries if old[e.code] != e.description}
        marks = {"before": fingerprint(was), "after": fingerprint(at.read_bytes())}
        journal.write(kind="save", writer=writer, moved=moved, **marks)

    # The process is this writer's own and ends with it: nothing is put back.
    patch.object(shared_book, "save_price_book", noted).start()
    for number in range(1, edits + 1):
        shared = dice.random() < 0.7
        at = dice.randrange(_SHARED) if shared else _SHARED + _OWN * writer + dice.randrange(_OWN)
        entries = list(book.entries)
        words, entry = f"{writer} {number}", entries[at]
        entries[at] = entry.model_copy(update={"description": words})
        after = book.model_copy(update={"entries": tuple(entries)})
        knew, asked, kept = entry.description, 0, True
        try:
            now = keep_edit(path, book, after)
        except BookConflict:
            asked, kept = 1, dice.random() < 0.5
            answer = {"mine" if kept else "theirs": (entry.code,)}
            now = keep_edit(path, book, after, **answer)
        journal.write(
            kind="edit", writer=writer, number=number, code=entry.code, knew=knew, asked=asked, kept=kept
        )
        # What others changed is offered; some take it over at once, some later.
        book = now if dice.random() < 0.5 else after
        time.sleep(dice.uniform(0, 0.004))


def book_account(folder: Path, edits: int, seed: int) -> Account:
    """Let the writers edit a price book; see `job_account`."""
    path, journal = folder / "book.csv", _Journal(folder.parent / "journal")
    shipped = shipped_price_book()
    start = shipped.model_copy(update={"entries": shipped.entries[: _SHARED + _WRITERS * _OWN]})
    save_price_book(path, start)
    first = fingerprint(path.read_bytes())
    wrong = _run(_write_book, path, edits // _WRITERS, seed, journal)
    lines = journal.lines()
    saves = [line for line in lines if line["kind"] == "save"]
    wrong += _chain(saves, first, fingerprint(path.read_bytes()))
    by_words = {f"{line['writer']} {line['number']}": line for line in lines if line["kind"] == "edit"}
    outcomes = Counter(turns=_turns(saves))
    cells = {entry.code: entry.description for entry in start.entries}
    written = set()
    for save in saves:
        for code, (was, words) in save["moved"].items():
            edit = by_words.get(words)
            if edit is None or edit["code"] != code or edit["writer"] != save["writer"]:
                wrong.append(f"“{words}” was written to {code}, which nobody wanted there")
                continue
            written.add(words)
            if was != cells[code]:
                wrong.append(f"{code}: “{was}” was there, and “{cells[code]}” was written")
            if was != edit["knew"] and not (edit["asked"] and edit["kept"]):
                wrong.append(f"{code}: “{words}” went over “{was}” without a question")
            cells[code] = words
    if cells != {entry.code: entry.description for entry in load_price_book(path).entries}:
        wrong.append("the file holds other rows than were written")
    for words, edit in by_words.items():
        outcomes["saved" if edit["kept"] else "left"] += 1
        outcomes["questions"] += edit["asked"]
        if edit["kept"] and words not in written:
            wrong.append(f"“{words}” was never written")
        if not edit["kept"] and not edit["asked"]:
            wrong.append(f"“{words}” was left without a question")
    if len(by_words) != edits // _WRITERS * _WRITERS:
        wrong.append(f"{len(by_words)} edits have an outcome")
    wrong += [f"{p.name} was left" for p in folder.iterdir() if p.suffix != ".csv"]
    return Account(outcomes, tuple(wrong))


# Both.


def _run(
    write: Callable[[Path, int, int, int, _Journal], None],
    path: Path,
    edits: int,
    seed: int,
    journal: _Journal,
) -> list[str]:
    fork = multiprocessing.get_context("fork")
    together = fork.Barrier(_WRITERS)

    def begin(writer: int) -> None:
        together.wait()
        write(path, writer, edits, seed, journal)

    writers = [fork.Process(target=begin, args=(w,)) for w in range(_WRITERS)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    return [f"writer {w} ended badly" for w, writer in enumerate(writers) if writer.exitcode]


def _turns(saves: list[Line]) -> int:
    return sum(a["writer"] != b["writer"] for a, b in pairwise(saves))


def _chain(saves: list[Line], first: str, last: str) -> list[str]:
    """What is wrong where the saves are no chain: each over what the one before it wrote."""
    wrong = []
    by_before: dict[str, Line] = {}
    for save in saves:
        if save["before"] == save["after"]:
            continue
        if save["before"] in by_before:
            wrong.append(f"two saves went over the same content, by {by_before[save['before']]} and {save}")
        by_before[save["before"]] = save
    here = first
    while here in by_before:
        here = by_before.pop(here)["after"]
    if by_before:
        wrong.append(f"{len(by_before)} saves are in no chain")
    if here != last:
        wrong.append("what was saved last is not in the file")
    return wrong


def main() -> int:
    """1 if an edit is missing."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--edits", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    code = 0
    for name, account in (("job", job_account), ("price book", book_account)):
        with tempfile.TemporaryDirectory() as outer:
            os.environ[HOME_VARIABLE] = str(Path(outer) / "home")
            folder = Path(outer) / "files"
            folder.mkdir()
            made = account(folder, chosen.edits, chosen.seed)
        told = ", ".join(f"{times} {outcome}" for outcome, times in sorted(made.outcomes.items()))
        print(f"{name}: {chosen.edits} edits: {told}; {len(made.wrong)} wrong", flush=True)
        for sentence in made.wrong[:20]:
            print(f"  {sentence}", flush=True)
        code |= int(bool(made.wrong))
    return code


if __name__ == "__main__":
    sys.exit(main())
