"""Every call that touches the disk fails in turn, as on a full, a broken or a locked disk: nothing is lost.

    python -m tests.benchmarks.full_disk [--only save] [--one 17]

Each act of the desk that reads or writes is done once to count its calls below the person's folders, then once for
each of them, that call failing: with no space left, a fault of the disk, no permission; alone, and with everything
after it that fills the disk failing too. Nothing may be raised; the files are as before the act or after it, whole; a
job that was not saved is open and modified; what could not be done is told in a sentence; nothing is left half
written. Then, on a disk that works again, the same act goes well. The program ends with 1 if anything is wrong.
"""

from __future__ import annotations

import argparse
import errno
import os
import shutil
import sys
import tempfile
import traceback
from abc import ABC, abstractmethod
from collections import Counter
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import ClassVar, Final

from estimator.desk.doing.files import Files
from estimator.desk.session import Session
from estimator.desk.views.revisions import RevisionsView
from estimator.model.issued import kept_paper
from estimator.model.revisions import issue_findings
from estimator.store import autosave, backups
from estimator.store.book_exchange import export_book, read_book
from estimator.store.document import JobFile
from estimator.store.files import write_whole
from estimator.store.jobs import load_job, save_job
from estimator.store.places import HOME_VARIABLE
from estimator.store.pricebooks import (
    load_price_book,
    save_price_book,
    shipped_price_book,
    user_price_book,
    user_price_book_path,
)
from estimator.store.settings import Settings, ThemeChoice, load_settings
from tests.benchmarks.desk_alone import (
    Person,
    application,
    desk,
    number_of,
    numbered,
    small_job,
    until,
    with_words,
)
from tests.faults import REASONS, Disk, failing

__all__ = ["ACTS", "Act", "Try", "tries"]


class Act(ABC):
    """One thing that a person does at the desk, on a disk that may fail meanwhile.

    Args:
        folder: everything lies below it: `jobs`, `papers` and `home`.

    Attributes:
        said: what the status line showed.
    """

    name: ClassVar[str]
    repeats: ClassVar[bool] = False
    """Whether it can be done again after it went well."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.jobs, self.papers, self.home = folder / "jobs", folder / "papers", folder / "home"
        self.path = self.jobs / "job.baydrop"
        self.person = Person()
        self.said: list[str] = []

    def prepare(self) -> None:
        """On a disk that works: the files, as an earlier run left them."""
        for folder in (self.jobs, self.papers, self.home):
            folder.mkdir()
        save_price_book(user_price_book_path(), with_words(shipped_price_book(), 0))
        file = JobFile(self.path, None)
        file.save(numbered(small_job(), -1))
        file.save(small_job())

    def begin(self) -> None:
        """On a disk that works: the desk, with the job open and edited."""
        self.session, self.files = self._desk()
        assert self.files.open_path(self.path)
        self.session.act("Name", job=numbered(self.session.whole, 1))

    def _desk(self) -> tuple[Session, Files]:
        session, files = desk(self.person)
        session.said.connect(self.said.append)
        return session, files

    @abstractmethod
    def do(self) -> bool:
        """The act; whether it says that it went well."""

    @abstractmethod
    def look(self, well: bool) -> Iterator[str]:
        """On a disk that works: what is wrong with the files after the act."""

    def again(self) -> Iterator[str]:
        """On a disk that works: the same act must go well."""
        if not self.do():
            yield "it does not go well on a disk that works again"
        yield from self.look(True)

    def end(self) -> None:
        """Leave the desk."""
        self.files.end(b"", b"")

    def told(self) -> str:
        """All that was said."""
        return " ".join((*self.person.told, *self.said))

    def _job_is(self, *allowed: int) -> Iterator[str]:
        there = number_of(load_job(self.path))
        if there not in allowed:
            yield f"the file holds {there}"
        for version in backups.earlier_of(self.path):
            backups.read_earlier(version)


class _Save(Act):
    """The open job, over what its file holds."""

    name = "save"
    repeats = True

    def do(self) -> bool:
        return self.files.save()

    def look(self, well: bool) -> Iterator[str]:
        yield from self._job_is(1) if well else self._job_is(0)
        if self.session.is_modified is well:
            yield "modified is told wrongly"
        if number_of(self.session.whole) != 1:
            yield "the open job is another one"


class _SaveAs(_Save):
    """Under another name, where no file is."""

    name = "save as"
    repeats = False

    def do(self) -> bool:
        self.person.path = self.jobs / "other"
        return self.files.save_as()

    def look(self, well: bool) -> Iterator[str]:
        other = self.jobs / "other.baydrop"
        yield from self._job_is(0)
        if other.exists() is not well:
            yield "the new file is there" if other.exists() else "there is no new file"
        elif well and number_of(load_job(other)) != 1:
            yield "the new file holds something else"
        if (self.session.path == other) is not well or self.session.is_modified is well:
            yield "the desk takes it for saved" if not well else "the desk takes it for not saved"


class _Open(Act):
    """Another job, in the place of one that is saved."""

    name = "open"

    def begin(self) -> None:
        super().begin()
        assert self.files.save()
        self.other = self.jobs / "other.baydrop"
        save_job(self.other, numbered(small_job(), 7))

    def do(self) -> bool:
        return self.files.open_path(self.other)

    def look(self, well: bool) -> Iterator[str]:
        if number_of(self.session.whole) != (7 if well else 1):
            yield "the open job is another one"
        if number_of(load_job(self.other)) != 7:
            yield "the other file holds something else"
        yield from self._job_is(1)


class _Recovery(Act):
    """A recovery copy, in the place of the last one."""

    name = "recovery copy"

    def begin(self) -> None:
        super().begin()
        self.files.write_recovery()
        self.session.act("Name", job=numbered(self.session.whole, 2))

    def do(self) -> bool:
        heard = len(self.said)
        self.files.write_recovery()
        return len(self.said) == heard

    def look(self, well: bool) -> Iterator[str]:
        copies, problems = autosave.copies()
        yield from (p.message for p in problems)
        held = sorted(number_of(autosave.read(copy.job_id)) for copy in copies)
        if held not in ([[2]] if well else [[1], [2], [1, 2]]):
            yield f"the copies hold {held}"
        if not self.session.is_modified or number_of(self.session.whole) != 2:
            yield "the open job is another one"


class _Offer(Act):
    """A start that finds a copy, opens it and writes one of its own."""

    name = "recover"

    def begin(self) -> None:
        held = JobFile.read(self.path)[0].mark
        autosave.write("left", numbered(small_job(), 1), self.path, held=held)
        self.person.choice = 0
        self.session, self.files = self._desk()

    def do(self) -> bool:
        recovered = self.files.offer_recovery()
        self.files.tell_start()
        return recovered

    def look(self, well: bool) -> Iterator[str]:
        held = [number_of(autosave.read(copy.job_id)) for copy in autosave.copies()[0]]
        if not held or set(held) != {1}:
            yield f"the copies hold {held}"
        if well and (number_of(self.session.whole) != 1 or not self.session.is_modified):
            yield "the open job is another one"
        yield from self._job_is(0)

    def again(self) -> Iterator[str]:
        """Recovered or not: a start that works offers it."""
        self.files.end(b"", b"")
        if not autosave.copies()[0]:
            return
        self.session, self.files = self._desk()
        yield from super().again()

    def end(self) -> None:
        self.files.save()
        super().end()


class _Issue(Act):
    """A revision and its paper."""

    name = "issue"

    def begin(self) -> None:
        super().begin()
        self.pdf = self.papers / "a.pdf"
        self.person.path = self.pdf
        self.view = RevisionsView(self.session, self.files, self.person)

    def do(self) -> bool:
        told = len(self.person.told)
        self.view.reason.setText("Offer")
        self.view.start()
        until(lambda: not (self.files.papers.is_issuing or self.files.papers.is_busy))
        return len(self.person.told) == told

    def look(self, well: bool) -> Iterator[str]:
        whole = load_job(self.path)
        yield from (f.message for f in issue_findings(whole))
        if well and len(whole.issued) != 1:
            yield f"{len(whole.issued)} revisions were issued"
        if self.session.whole.issued != whole.issued:
            yield "the desk holds other revisions than the file"
        if whole.issued and self.session.is_modified:
            yield "it is issued, and modified"
        if not whole.issued and (self.pdf.exists() or not self.session.is_modified):
            yield "there is a paper of no revision" if self.pdf.exists() else "the edit before is gone"
        if well and not self.pdf.exists():
            yield "there is no paper"
        if self.pdf.exists() and self.pdf.read_bytes() != kept_paper(whole.issued[0]):
            yield "the paper is another one than the job keeps"
        if number_of(self.session.whole) != 1:
            yield "the open job is another one"

    def again(self) -> Iterator[str]:
        """Issued without its copy: that is made of the job."""
        if self.session.whole.issued:
            write_whole(self.pdf, kept_paper(self.session.whole.issued[0]))
            yield from self.look(True)
        else:
            yield from super().again()

    def end(self) -> None:
        self.view.deleteLater()
        super().end()


class _Draft(Act):
    """A draft of the quote."""

    name = "draft"

    def do(self) -> bool:
        told = len(self.person.told)
        self.person.path = self.papers / "q.pdf"
        self.files.papers.write_draft()
        until(lambda: not self.files.papers.is_busy)
        return len(self.person.told) == told

    def look(self, well: bool) -> Iterator[str]:
        papers = list(self.papers.iterdir())
        if bool(papers) is not well:
            yield f"papers: {[p.name for p in papers]}"
        for paper in papers:
            if not paper.read_bytes().rstrip().endswith(b"%%EOF"):
                yield "the paper is not whole"
        if not self.session.is_modified or number_of(self.session.whole) != 1:
            yield "the open job is another one"


class _Book(Act):
    """An edit of the price book."""

    name = "price book"
    repeats = True

    def do(self) -> bool:
        heard = len(self.said)
        self.number = getattr(self, "number", 0) + 1
        self.session.act("Price", book=with_words(self.session.book, self.number))
        return len(self.said) == heard

    def look(self, well: bool) -> Iterator[str]:
        there = int(load_price_book(user_price_book_path()).entries[0].description)
        if there not in ((self.number,) if well else (0, self.number)):
            yield f"the price book holds {there}"
        if int(self.session.book.entries[0].description) != self.number:
            yield "the edit is gone"
        yield from self._job_is(0)


class _Export(Act):
    """The price book for a spreadsheet, over an earlier export."""

    name = "export"
    ending = ".csv"

    def begin(self) -> None:
        super().begin()
        self.sheet = self.papers / f"book{self.ending}"
        export_book(self.sheet, with_words(self.session.book, 5))

    def do(self) -> bool:
        try:
            export_book(self.sheet, self.session.book)
        except ValueError as error:
            self.said.append(str(error))
            return False
        return True

    def look(self, well: bool) -> Iterator[str]:
        there = int(read_book(self.sheet).entries[0].description)
        if there != (0 if well else 5):
            yield f"the sheet holds {there}"


class _ExportWorkbook(_Export):
    """The same as a workbook."""

    name = "export workbook"
    ending = ".xlsx"


class _Settings(Act):
    """A setting."""

    name = "settings"
    repeats = True

    def begin(self) -> None:
        super().begin()
        self.files.show_theme("light")

    def do(self) -> bool:
        heard = len(self.said)
        self.files.show_theme("dark")
        return len(self.said) == heard

    def look(self, well: bool) -> Iterator[str]:
        there, problems = load_settings()
        yield from (p.message for p in problems)
        if there.theme not in ((ThemeChoice.DARK,) if well else (ThemeChoice.LIGHT, ThemeChoice.DARK)):
            yield f"the theme is {there.theme}"
        if self.files.theme != "dark":
            yield "the window shows another theme"
        if there.recent != (str(self.path),):
            yield f"recent files are {there.recent}"


class _Start(Act):
    """What is read at a start, and written at the first one of all."""

    name = "start"

    def prepare(self) -> None:
        for folder in (self.jobs, self.papers):
            folder.mkdir()
        save_job(self.path, small_job())

    def begin(self) -> None:
        self.files = self._desk()[1]

    def do(self) -> bool:
        told_before = len(self.person.told)
        try:
            user_price_book()
        except ValueError as error:
            self.said.append(str(error))
            return False
        session, files = self._desk()
        files.offer_recovery()
        files.tell_start()
        well = len(self.person.told) == told_before and files.settings == Settings()
        files.end(b"", b"")
        session.deleteLater()
        return well

    def look(self, well: bool) -> Iterator[str]:
        path = user_price_book_path()
        if well and not path.exists():
            yield "there is no price book"
        if path.exists() and load_price_book(path) != shipped_price_book():
            yield "the price book is another one"
        yield from (p.message for p in load_settings()[1])


class _End(Act):
    """The window closes; the job is saved."""

    name = "end"

    def begin(self) -> None:
        super().begin()
        self.files.write_recovery()
        assert self.files.save()

    def do(self) -> bool:
        heard = len(self.said)
        self.files.end(b"abc", b"def")
        return len(self.said) == heard

    def look(self, well: bool) -> Iterator[str]:
        yield from self._job_is(1)
        there, problems = load_settings()
        yield from (p.message for p in problems)
        if well and there.geometry == "":
            yield "the place of the window is not kept"

    def again(self) -> Iterator[str]:
        yield from self.look(False)

    def end(self) -> None:
        pass


ACTS: Final[dict[str, type[Act]]] = {
    act.name: act
    for act in (
        *(_Save, _SaveAs, _Open, _Recovery, _Offer, _Issue, _Draft),
        *(_Book, _Export, _ExportWorkbook, _Settings, _Start, _End),
    )
}


@dataclass(frozen=True, slots=True)
class Try:
    """One act with one call failing.

    Attributes:
        act, number: which act, which call.
        call: its name, "" where the act makes fewer.
        reason: its `errno`.
        stays: everything after it that fills the disk failed too.
        well: the act said that it went well.
        told: what was said.
        wrong: sentences; empty where all holds.
    """

    act: str
    number: int
    call: str
    reason: int
    stays: bool
    well: bool
    told: str
    wrong: tuple[str, ...]


def _left(act: Act, failed: str) -> Iterator[str]:
    for folder in (act.jobs, act.papers, act.home):
        for path in folder.rglob("*"):
            # What could not be removed is swept later, when this process is gone.
            if path.suffix in (".part", ".lock") and failed not in ("unlink", "remove"):
                yield f"{path.relative_to(act.folder)} was left"


@contextmanager
def _heard(wrong: list[str]) -> Iterator[None]:
    """What is raised while an event is done, which comes back to nobody: it goes to this hook alone."""

    def hear(kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        wrong.append("".join(traceback.format_exception(kind, error, trace)))

    before, sys.excepthook = sys.excepthook, hear
    try:
        yield
    finally:
        sys.excepthook = before


def _once(kind: type[Act], disk: Disk) -> Try:
    if disk.folder.exists():
        shutil.rmtree(disk.folder)
    disk.folder.mkdir()
    act = kind(disk.folder)
    os.environ[HOME_VARIABLE] = str(act.home)
    act.prepare()
    act.begin()
    act.said.clear()
    wrong: list[str] = []
    well = False
    try:
        with failing(disk), _heard(wrong):
            well = act.do()
        told = act.told()
        wrong += act.look(well)
        if disk.failed and not well and not told.strip():
            wrong.append("nothing was said")
        if not disk.failed and not well:
            wrong.append(f"it does not go well on a disk that works: {told}")
        if not wrong and (not well or kind.repeats):
            wrong += act.again()
    except Exception:
        wrong.append(traceback.format_exc())
    told = act.told()
    try:
        act.end()
        if not wrong:
            wrong += _left(act, disk.failed)
    except Exception:
        wrong.append(traceback.format_exc())
    return Try(kind.name, disk.number, disk.failed, disk.reason, disk.stays, well, told, tuple(wrong))


def tries(
    name: str,
    folder: Path,
    reasons: tuple[int, ...] = REASONS,
    ways: tuple[bool, ...] = (False, True),
    step: int = 1,
    always: Collection[str] = (),
) -> Iterator[Try]:
    """An act on a disk that works, then with each of its calls failing; the application must be there.

    Args:
        name: of the act.
        folder: one that can be emptied.
        reasons: of the failing, each `errno` in turn.
        ways: whether what comes after it fails too.
        step: every call, or every so many.
        always: names of calls of which none is left out.
    """
    kind = ACTS[name]
    # The first time of all a process sweeps a folder that it writes to; then every time is like the others.
    _once(kind, Disk(folder))
    counted, again = Disk(folder), Disk(folder)
    yield _once(kind, counted)
    # On a slow machine a copy that is kept now and then may fall into one of them: the shorter has what each time has.
    _once(kind, again)
    counted = min(counted, again, key=lambda disk: len(disk.calls))
    for reason in reasons:
        for stays in ways:
            for number, call in enumerate(counted.calls, 1):
                if number % step == 1 % step or call in always:
                    yield _once(kind, Disk(folder, number, reason, stays))


def main() -> int:
    """1 if anything is wrong."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--only", choices=sorted(ACTS), help="one act")
    parser.add_argument("--one", type=int, help="one call by its number, with what it told")
    parser.add_argument("--step", type=int, default=1, help="every so many calls")
    chosen = parser.parse_args()
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    app = application()
    bad = 0
    with tempfile.TemporaryDirectory() as outer:
        for name in [chosen.only] if chosen.only else list(ACTS):
            if chosen.one is not None:
                for reason in REASONS:
                    for stays in (False, True):
                        print(_once(ACTS[name], Disk(Path(outer) / "disk", chosen.one, reason, stays)))
                continue
            found = list(tries(name, Path(outer) / "disk", step=chosen.step))
            app.processEvents()
            wrong = [t for t in found if t.wrong]
            failed = sum(not t.well for t in found)
            print(f"{name}: {len(found)} tries, {failed} not done and told, {len(wrong)} wrong", flush=True)
            ends = Counter(" ".join(t.wrong).strip().rpartition("\n")[2] for t in wrong)
            for end, times in ends.most_common(12):
                first = next(t for t in wrong if " ".join(t.wrong).strip().rpartition("\n")[2] == end)
                after = ", and after it" if first.stays else ""
                which = f"call {first.number}, {first.call}, {errno.errorcode[first.reason]}{after}"
                print(f"  {times} x {end[:300]}: {which}; told: {first.told[:200]}", flush=True)
            bad += len(wrong)
    return int(bad > 0)


if __name__ == "__main__":
    sys.exit(main())
