"""Five hundred kills at random moments of a save, a recovery copy, an issue and an edit of prices: nothing is broken.

    python -m tests.benchmarks.kills [--kills 500] [--seed 1] [--only issue-desk] [--one 17] [--calls]

A process of its own does one act after the other, by the desk's own code or the command line's, and is killed
(SIGKILL) after a random time: half of them anywhere in an act, half between the first call that touches the disk and
the last. Then everything that lies there is looked at: each file is whole and holds what it held before the act or
after it, no issued revision is without its paper nor a paper without its revision, and nothing that was told as saved
is missing. Then the next start happens: the lock of the dead process is in nobody's way, what it left half written is
swept, unsaved work is offered, and the same act goes well. `--calls` kills one act of each at every call that changes
the disk instead, one after the other, where it writes in its middle. The program ends with 1 if anything is wrong. Not
collected by pytest: Needs a system that copies processes (POSIX).
"""

from __future__ import annotations

import argparse
import contextlib
import importlib
import os
import signal
import sys
import tempfile
import time
import traceback
from abc import ABC, abstractmethod
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from random import Random
from typing import Any, Final, NoReturn
from unittest.mock import patch

from estimator import cli
from estimator.desk.doing import files as desk_files
from estimator.desk.views.revisions import RevisionsView
from estimator.model.issued import kept_paper
from estimator.model.revisions import issue_findings
from estimator.store import autosave, backups
from estimator.store.book_exchange import export_book, read_book
from estimator.store.document import JobFile
from estimator.store.jobs import load_job, save_job
from estimator.store.places import HOME_VARIABLE
from estimator.store.pricebooks import (
    load_price_book,
    save_price_book,
    shipped_price_book,
    user_price_book_path,
)
from tests.benchmarks.desk_alone import (
    DAY,
    Person,
    application,
    desk,
    number_of,
    numbered,
    small_job,
    until,
    with_words,
)
from tests.killing import KILLED, killed_at

__all__ = ["SCENES", "Outcome", "Scene", "at_every_call", "kills"]

_CALIBRATED: Final = 3
"""Acts that are timed before the first kill."""
_PATIENCE_S: Final = 120.0

Tell = Callable[[str], None]
"""Tells the parent: the number of an act that begins, "d" where it comes to the disk."""


class Scene(ABC):
    """What is done over and over, and what must hold after a kill.

    Args:
        folder: everything lies below it: `jobs`, `papers` and `home`.
    """

    name = ""

    def __init__(self, folder: Path) -> None:
        self.jobs, self.papers, self.home = folder / "jobs", folder / "papers", folder / "home"
        self.path = self.jobs / "job.baydrop"

    def prepare(self) -> None:
        """Before anything is done."""
        for folder in (self.jobs, self.papers, self.home):
            folder.mkdir()
        save_job(self.path, small_job())

    @abstractmethod
    def begin(self, tell: Tell) -> Callable[[int], None]:
        """In the process that is killed: what does the act of a number."""

    @abstractmethod
    def look(self, number: int) -> Iterator[str]:
        """What is wrong after a kill in the act of that number; the acts before it were told as done."""

    def start_again(self, number: int) -> Iterator[str]:
        """The next start: what is wrong."""
        file, job = JobFile.read(self.path)
        file.take()
        if file.lock is None:
            yield "no lock could be kept"
        file.save(numbered(job, 1_000_000))
        file.close()
        session, files = desk(Person(choice=None))
        files.offer_recovery()
        # A folder of papers is swept by whoever writes there next.
        export_book(self.papers / "again.csv", session.book)
        files.end(b"", b"")

    def state(self) -> str:
        """What is there after a kill in the first act, in words."""
        return ""

    def leftovers(self) -> Iterator[str]:
        """What a start leaves of the dead process."""
        for folder in (self.jobs, self.papers, self.home):
            for path in folder.rglob("*"):
                if path.suffix in (".part", ".lock"):
                    yield f"{path.relative_to(folder.parent)} was not swept"


class _Save(Scene):
    """The job, saved again and again."""

    name = "save"

    def begin(self, tell: Tell) -> Callable[[int], None]:
        application()
        session, files = desk(Person())
        assert files.open_path(self.path)
        job = session.whole

        def act(number: int) -> None:
            session.act("Name", job=numbered(job, number))
            with _marked(JobFile, "save", tell):
                assert files.save()

        return act

    def look(self, number: int) -> Iterator[str]:
        there = number_of(load_job(self.path))
        if there not in (number - 1, number):
            yield f"the file holds {there}"
        yield from _earlier(self.path)


class _Copy(Scene):
    """Acts and a recovery copy after each; every fifth is saved, and its copy goes."""

    name = "autosave"

    def begin(self, tell: Tell) -> Callable[[int], None]:
        application()
        session, files = desk(Person())
        assert files.open_path(self.path)
        job = session.whole

        def act(number: int) -> None:
            session.act("Name", job=numbered(job, number))
            with _marked(autosave, "write", tell):
                files.write_recovery()
            if number % 5 == 0:
                assert files.save()

        return act

    def look(self, number: int) -> Iterator[str]:
        copies, problems = autosave.copies()
        yield from (p.message for p in problems)
        held = [number_of(autosave.read(copy.job_id)) for copy in copies]
        saved = number_of(load_job(self.path))
        if max([saved, *held]) not in (number - 1, number):
            yield f"the file holds {saved}, copies {held}"
        if saved % 5 or saved > number:
            yield f"the file holds {saved}"

    def start_again(self, number: int) -> Iterator[str]:
        copies, _ = autosave.copies()
        newest = max((number_of(autosave.read(copy.job_id)) for copy in copies), default=None)
        session, files = desk(Person(choice=0))
        if files.offer_recovery() != (newest is not None):
            yield "unsaved work was not offered"
        if newest is not None:
            if number_of(session.whole) != newest:
                yield f"{number_of(session.whole)} was recovered, not {newest}"
            if not files.save():
                yield "what was recovered cannot be saved"
            if number_of(load_job(self.path)) != newest:
                yield "what was recovered is not in its file"
        files.end(b"", b"")
        if autosave.copies() != ((), ()):
            yield "a copy is still there"
        yield from super().start_again(number)


class _Issue(Scene):
    """Revisions with their papers, one after the other."""

    def paper(self, number: int) -> Path:
        return self.papers / f"{number}.pdf"

    def state(self) -> str:
        revision, copy = bool(load_job(self.path).issued), self.paper(1).exists()
        return f"{'a' if revision else 'no'} revision, {'a' if copy else 'no'} copy of its paper"

    def look(self, number: int) -> Iterator[str]:
        whole = load_job(self.path)
        if len(whole.issued) not in (number - 1, number):
            yield f"the file holds {len(whole.issued)} revisions"
        yield from (f.message for f in issue_findings(whole))
        papers = {f"{i}.pdf": kept_paper(issued) for i, issued in enumerate(whole.issued, 1)}
        for name, pdf in papers.items():
            if not (pdf.startswith(b"%PDF") and pdf.rstrip().endswith(b"%%EOF")):
                yield f"the paper {name} in the job is not whole"
        for path in self.papers.glob("*.pdf"):
            if path.name not in papers:
                yield f"{path.name} is a paper of no revision"
            elif path.read_bytes() != papers[path.name]:
                yield f"{path.name} is not the paper that the job keeps"
        missing = [n for n in range(1, number) if not self.paper(n).exists()]
        if missing:
            yield f"papers {missing} were told as written"
        yield from _earlier(self.path)


class _IssueDesk(_Issue):
    """By the desk: worked out beside the window, then job, settings, recovery copy and paper."""

    name = "issue-desk"

    def begin(self, tell: Tell) -> Callable[[int], None]:
        app = application()
        person = Person()
        session, files = desk(person)
        assert files.open_path(self.path)
        view = RevisionsView(session, files, person)
        self._kept: Any = view, app

        def act(number: int) -> None:
            person.path = self.paper(number)
            session.act("Name", job=numbered(session.job, number))
            # A copy of what is about to be issued; it knows nothing of the revision.
            files.write_recovery()
            view.reason.setText(f"Revision {number}")
            with _marked(JobFile, "save", tell):
                view.start()
                until(lambda: not (files.papers.is_issuing or files.papers.is_busy))
            assert not person.told, person.told

        return act

    def look(self, number: int) -> Iterator[str]:
        yield from super().look(number)
        yield from (p.message for p in autosave.copies()[1])

    def start_again(self, number: int) -> Iterator[str]:
        issued = load_job(self.path).issued
        person = Person(choice=0)
        session, files = desk(person)
        if files.offer_recovery():
            knew = session.whole.issued == issued
            # A copy from before the issue never goes over the revision in silence.
            person.choice = None
            if files.save() != knew:
                yield "a copy from before the issue was saved unasked" if not knew else "it cannot be saved"
        if load_job(self.path).issued != issued:
            yield "a revision is gone"
        # The person is done with this copy.
        for copy in autosave.copies()[0]:
            autosave.discard(copy.job_id, copy.mark)
        files.end(b"", b"")
        yield from super().start_again(number)


class _IssueTerminal(_Issue):
    """By the command line."""

    name = "issue-cli"

    def begin(self, tell: Tell) -> Callable[[int], None]:
        book = self.home / "book.csv"
        save_price_book(book, shipped_price_book())

        def act(number: int) -> None:
            arguments = [
                *("issue", str(self.path), "--anyway", "--reason", f"Revision {number}", "--date", f"{DAY}"),
                *("--pdf", str(self.paper(number)), "--prices", str(book)),
            ]
            with _marked(JobFile, "save", tell), contextlib.redirect_stderr(None), _silent():
                assert cli.main(arguments) in (0, 1)

        return act


class _Book(Scene):
    """A row of the price book edited at the desk, then the whole book exported, as CSV and as a workbook by turns."""

    name = "book"

    def prepare(self) -> None:
        super().prepare()
        save_price_book(user_price_book_path(), with_words(shipped_price_book(), 0))

    def begin(self, tell: Tell) -> Callable[[int], None]:
        application()
        session, _files = desk(Person())
        self._kept: Any = _files

        def act(number: int) -> None:
            with _marked(desk_files, "keep_edit", tell):
                session.act("Price", book=with_words(session.book, number))
            export_book(self._exported(number), session.book)

        return act

    def _exported(self, number: int) -> Path:
        return self.papers / ("book.csv" if number % 2 else "book.xlsx")

    def look(self, number: int) -> Iterator[str]:
        there = int(load_price_book(user_price_book_path()).entries[0].description)
        if there not in (number - 1, number):
            yield f"the price book holds {there}"
        for last, could_be in ((number - 1, (number - 1,)), (number, (number, number - 2))):
            path = self._exported(last)
            if path.exists():
                words = int(read_book(path).entries[0].description)
                if words not in could_be:
                    yield f"{path.name} holds {words}"
            elif could_be[-1] > 0:
                yield f"{path.name} is not there"


SCENES: Final[dict[str, type[Scene]]] = {
    scene.name: scene for scene in (_Save, _Copy, _IssueDesk, _IssueTerminal, _Book)
}


def _earlier(path: Path) -> Iterator[str]:
    for version in backups.earlier_of(path):
        try:
            backups.read_earlier(version)
        except ValueError as error:
            yield f"an earlier version: {error}"


@contextlib.contextmanager
def _marked(owner: object, name: str, tell: Tell) -> Iterator[None]:
    """Tell when the act comes to the disk."""
    real = getattr(owner, name)

    def call(*arguments: Any, **named: Any) -> Any:
        tell("d")
        return real(*arguments, **named)

    with patch.object(owner, name, call):
        yield


@contextlib.contextmanager
def _silent() -> Iterator[None]:
    with open(os.devnull, "w", encoding="utf-8") as nowhere, contextlib.redirect_stdout(nowhere):
        yield


# The killing.


@dataclass(frozen=True, slots=True)
class Outcome:
    """One kill.

    Attributes:
        scene, number: which.
        act: the act that was under way.
        at_disk: whether it had come to the disk.
        wrong: sentences; empty where all holds.
        state: what was there after it, in words, where that is of interest.
    """

    scene: str
    number: int
    act: int
    at_disk: bool
    wrong: tuple[str, ...]
    state: str = ""


@dataclass(slots=True)
class _Span:
    """How long acts take, in seconds: the whole, and from the disk on."""

    whole: float = 0.0
    disk: float = 0.0


class _Child:
    """The process that is killed, and what it tells."""

    def __init__(self, scene: Scene) -> None:
        here, there = os.pipe()
        self.process = os.fork()
        if not self.process:
            os.close(here)
            _work(scene, lambda words: _say(there, words))
        os.close(there)
        self._pipe = os.fdopen(here, "rb", buffering=0)
        self._read = b""

    def hear(self) -> tuple[str, float]:
        """What it tells next, and when; "" where it ended."""
        while b"\n" not in self._read:
            more = self._pipe.read(4096)
            if not more:
                return self._read.decode(), time.perf_counter()
            self._read += more
        line, _, self._read = self._read.partition(b"\n")
        return line.decode(), time.perf_counter()

    def rest(self) -> list[str]:
        """All that it told until it was killed."""
        while more := self._pipe.read(4096):
            self._read += more
        return self._read.decode().split()

    def end(self) -> int:
        """Kill it; how it ended."""
        with contextlib.suppress(ProcessLookupError):
            os.kill(self.process, signal.SIGKILL)
        return os.waitstatus_to_exitcode(os.waitpid(self.process, 0)[1])

    def close(self) -> None:
        self._pipe.close()


def _say(pipe: int, words: str) -> None:
    os.write(pipe, f"{words}\n".encode("ascii"))


def _work(scene: Scene, tell: Tell) -> None:
    signal.alarm(int(_PATIENCE_S))
    try:
        act = scene.begin(tell)
        number = 0
        while True:
            number += 1
            tell(f"{number}")
            act(number)
    except BaseException:
        traceback.print_exc()
    finally:
        os._exit(3)


def _measured(kind: type[Scene], folder: Path) -> _Span:
    """How long acts take; the first one loads what the others have."""
    scene = _prepared(kind, folder)
    child = _Child(scene)
    begun: list[float] = []
    disk: list[float] = []
    while len(begun) < _CALIBRATED + 2:
        words, now = child.hear()
        if not words:
            break
        if words == "d":
            disk.append(now)
        else:
            begun.append(now)
    child.end()
    child.close()
    if len(begun) < _CALIBRATED + 2:
        raise RuntimeError(f"{kind.name}: the acts do not go well without a kill")
    spans = list(pairwise(begun[1:]))
    wholes = [end - start for start, end in spans]
    disks = [max(end - d for d in disk if start <= d < end) for start, end in spans]
    return _Span(max(wholes), max(disks))


def _prepared(kind: type[Scene], folder: Path) -> Scene:
    folder.mkdir()
    scene = kind(folder)
    os.environ[HOME_VARIABLE] = str(scene.home)
    scene.prepare()
    return scene


def _killed(kind: type[Scene], number: int, seed: int, span: _Span, folder: Path) -> Outcome:
    dice = Random(f"{seed} {kind.name} {number}")
    scene = _prepared(kind, folder)
    child = _Child(scene)
    act, at_disk = 0, False
    wanted, in_disk = dice.randint(1, 4), number % 2 == 0
    while True:
        words, _ = child.hear()
        if not words:
            break
        at_disk = words == "d"
        act = act if at_disk else int(words)
        if act >= wanted and (at_disk or not in_disk):
            break
    time.sleep(dice.uniform(0, 1.05 * (span.disk if in_disk else span.whole)))
    code = child.end()
    for words in child.rest():
        at_disk = words == "d"
        act = act if at_disk else int(words)
    child.close()
    wrong = [] if code == -signal.SIGKILL else [f"it ended with {code} before it was killed"]
    state = scene.state()
    return Outcome(kind.name, number, act, at_disk, (*wrong, *_after(scene, act)), state)


def _after(scene: Scene, act: int) -> list[str]:
    """What is wrong after a kill in an act, then after the next start."""
    wrong = _asked(lambda: [*scene.look(act)])
    return wrong or _asked(lambda: [*scene.start_again(act), *scene.leftovers()])


def _asked(look: Callable[[], list[str]]) -> list[str]:
    """What a look finds, in a process of its own: the next start is one too."""
    here, there = os.pipe()
    process = os.fork()
    if not process:
        os.close(here)
        try:
            signal.alarm(int(_PATIENCE_S))
            application()
            wrong = look()
        except BaseException:
            wrong = [traceback.format_exc()]
        with os.fdopen(there, "wb") as pipe:
            pipe.write("\0".join(wrong).encode("utf-8", "replace"))
        os._exit(0)
    os.close(there)
    with os.fdopen(here, "rb") as pipe:
        told = pipe.read().decode("utf-8")
    code = os.waitstatus_to_exitcode(os.waitpid(process, 0)[1])
    return [words for words in told.split("\0") if words] + (
        [f"the next start ended with {code}"] if code else []
    )


def kills(name: str, numbers: Sequence[int], seed: int) -> Iterator[Outcome]:
    """Kill a scene again and again, each time in a folder of its own."""
    # Loaded here, once, and not in each process.
    importlib.import_module("estimator.documents.quote")
    with tempfile.TemporaryDirectory() as outer:
        span = _measured(SCENES[name], Path(outer) / "measured")
        for number in numbers:
            yield _killed(SCENES[name], number, seed, span, Path(outer) / f"{number}")


def at_every_call(name: str) -> Iterator[Outcome]:
    """Kill the first act of a scene at each call that changes the disk in turn; the last one is not killed."""
    importlib.import_module("estimator.documents.quote")
    with tempfile.TemporaryDirectory() as outer:
        reached, number = Path(outer) / "reached", 0
        while not reached.exists():
            number += 1
            scene = _prepared(SCENES[name], Path(outer) / f"{number}")
            process = os.fork()
            if not process:
                _first_act(scene, number, reached)
            code = os.waitstatus_to_exitcode(os.waitpid(process, 0)[1])
            killed = not reached.exists()
            wrong = [] if code == (KILLED if killed else 0) else [f"it ended with {code}"]
            state = scene.state()
            yield Outcome(name, number, 1, killed, (*wrong, *_after(scene, 1)), state)


def _first_act(scene: Scene, number: int, reached: Path) -> NoReturn:
    signal.alarm(int(_PATIENCE_S))
    try:
        act = scene.begin(lambda _: None)
    except BaseException:
        traceback.print_exc()
        os._exit(3)

    def run() -> int:
        act(1)
        return 0

    killed_at(number, run, reached)


def main() -> int:
    """1 if anything is wrong."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--kills", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", choices=sorted(SCENES), help="one scene")
    parser.add_argument("--one", type=int, help="one kill by its number")
    parser.add_argument("--calls", action="store_true", help="at every call that changes the disk")
    chosen = parser.parse_args()
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    names = [chosen.only] if chosen.only else list(SCENES)
    each = chosen.kills // len(names)
    bad = 0
    for name in names:
        numbers = range(each) if chosen.one is None else [chosen.one]
        found = []
        for outcome in at_every_call(name) if chosen.calls else kills(name, numbers, chosen.seed):
            found.append(outcome)
            if outcome.wrong:
                print(f"  {name} {outcome.number}, act {outcome.act}: {'; '.join(outcome.wrong)}", flush=True)
        wrong = sum(bool(o.wrong) for o in found)
        acts = Counter(o.act for o in found)
        print(
            f"{name}: {len(found)} kills, {sum(o.at_disk for o in found)} of them at the disk, in acts "
            f"{min(acts)} to {max(acts)}; {wrong} wrong",
            flush=True,
        )
        for state, times in Counter(o.state for o in found if chosen.calls and o.state).items():
            print(f"  {times} x {state}", flush=True)
        bad += wrong
    return int(bad > 0)


if __name__ == "__main__":
    sys.exit(main())
