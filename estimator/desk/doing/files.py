"""Files of the window: jobs, price books, recovery copies, settings."""

from __future__ import annotations

import base64
import binascii
import contextlib
import os
import time
import uuid
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import cast

from PySide6.QtCore import QObject, QTimer, Signal

from estimator import __version__
from estimator.acts.document import Document
from estimator.desk.doing.disk import OWN_FOLDER_AWAY, PATIENCE_S, Disk, DiskAway, OwnFolder
from estimator.desk.doing.papers import Papers
from estimator.desk.doing.questions import Dialogs, UnsavedAnswer
from estimator.desk.session import Session
from estimator.desk.work import DiskWork, Ending
from estimator.locales import moment_text
from estimator.model.edit import with_value
from estimator.model.finding import Finding
from estimator.model.job import Job, snapshot_of
from estimator.model.pricebook import PriceBook, PriceEntry
from estimator.pricing.revise import job_changes
from estimator.shipped import shipped
from estimator.store import autosave, backups
from estimator.store.document import NOT_KNOWN, ChangedOutside, JobFile
from estimator.store.files import exists, shown, sweep
from estimator.store.jobs import EXTENSION, JobFileError, load_job
from estimator.store.lock import Lock, Locked, holder_of, sweep_locks, take_lock
from estimator.store.places import user_folder
from estimator.store.pricebooks import (
    PriceBookError,
    load_price_book,
    near_limits,
    user_price_book_path,
)
from estimator.store.settings import Settings, ThemeChoice, keep_setting, load_settings, remembered
from estimator.store.shared_book import BookConflict, keep_edit
from estimator.units import UnitSystem

__all__ = ["Files"]

_JOBS = f"Jobs (*{EXTENSION});;All files (*)"
_QUIET_S = 1.5
"""A recovery copy is written when nothing was done for so long,"""
_MOST_S = 4.5
"""or so long after the first act that is in none, however fast the acts come."""
_MOST_WORDS = 12
_OWN = "your own folder"


class Files(QObject):
    """What the window reads and writes.

    Args:
        session: the open job.
        dialogs: asks the person.
        keep_book: whether edits of the price book go to the person's own file; False when that file is broken
            and must stay as it is.

    Attributes:
        papers: writes them.
        opening: reads jobs beside the window.
        looking: look beside the window what others did to the job's file, and to the price book.
        disk: makes calls of a disk that may not answer.
        own: makes those of the person's own folder.
        start_disk: makes those of it that the start waits for.

    Signals:
        theme_changed: another theme is to be shown, by its name.
        recent_changed: the list of files opened lately is another.
        book_outside: the price book's file holds what others changed; that book.
    """

    theme_changed = Signal(str)
    recent_changed = Signal()
    book_outside = Signal(object)
    _kept_late = Signal(object, object, object)

    def __init__(self, session: Session, dialogs: Dialogs, *, keep_book: bool = True) -> None:
        super().__init__()
        self.session = session
        self.dialogs = dialogs
        self.papers = Papers(session, dialogs, self)
        self.opening = DiskWork(self)
        self.opening.left.connect(lambda: session.said.emit("Left: the open job is as it was."))
        self.looking = DiskWork(self), DiskWork(self)
        patience_s = None if session.patience_s is None else PATIENCE_S
        self.disk = Disk(dialogs, patience_s)
        self.start_disk = Disk(dialogs, patience_s)
        self.own = OwnFolder(session.said.emit, patience_s)
        dialogs.is_there = self._is_there
        try:
            self.settings, problems = self.start_disk.do(load_settings, _OWN)
            self._start_sentences = [f.message for f in problems]
        except DiskAway:
            self.settings, self._start_sentences = Settings(), [OWN_FOLDER_AWAY]
        self._kept_book = session.book
        self._asking = self._is_over = False
        self._writing = 0
        self._afterwards: list[Callable[[], object]] = []
        self._offered: PriceBook | None = None
        self._near = ""
        self._taken: dict[str, tuple[PriceEntry | None, PriceEntry]] = {}
        self._keep_book = keep_book
        self._job_id = ""
        self._copy_mark: str | None = None
        self._wants_copy = False
        self._copied: Job | None = None
        self._came_from: autosave.RecoveryCopy | None = None
        self._file: JobFile | None = None
        self._lock: Lock | None = None
        self._begin_recovery()
        self.clock: Callable[[], float] = time.monotonic
        self._due: float | None = None
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.timeout.connect(self.write_recovery_soon)
        session.changed.connect(self._changed)
        self._kept_late.connect(self._book_kept)

    # Jobs.

    def new(self) -> None:
        """A blank job."""
        if self.may_leave():
            self._adopt(Job(units=self.settings.units), None)
            self.session.said.emit("A blank job.")

    def open(self) -> None:
        """A job that the person picks."""
        folder = self.session.path.parent if self.session.path else None
        path = self.dialogs.open_file("Open a job", _JOBS, folder)
        if path is not None:
            self.open_path(path)

    def open_path(self, path: Path) -> bool:
        """A job from a file, read beside the window; the open job stays if that is not possible.

        Returns:
            Whether it is open now; False, too, while a large one is still being read.
        """
        return self._read(path, None)

    def _read(self, path: Path, known: tuple[JobFile, Job] | None, left: Document | None = None) -> bool:
        """Read a job, then leave the open one.

        Args:
            known: what was read there before the person was asked about the open job. What was just saved may be
                this very file, so it is looked at once more.
            left: the open job as it was when the person let it go.
        """
        opened = []

        def done(answer: object) -> None:
            read = cast(tuple[JobFile, Job], answer)
            if left is None or self.session.document is not left:
                if self.may_leave():
                    opened.append(self._read(path, read, self.session.document))
            else:
                opened.append(self._opened(path, *read))

        def fail(error: BaseException) -> None:
            self._not_opened("This file cannot be opened", error)

        if known is None:
            self.session.said.emit(f"Opening {shown(path.name)} …")
        self.opening.start_patiently(
            lambda going: JobFile.read(path, known, going),
            lambda answer: self.when_written(partial(done, answer)),
            fail,
            self.session.patience_s,
        )
        return any(opened)

    def _not_opened(self, title: str, error: BaseException) -> None:
        if not isinstance(error, JobFileError):
            raise error
        self.session.said.emit("The open job is as it was.")
        self.dialogs.tell(title, [f.message for f in error.findings])

    def _opened(self, path: Path, file: JobFile, job: Job) -> bool:
        """Take what was read in the place of the open job; False if the person changed their mind."""
        before = self._file
        self._let_go(before)
        taken = self._take(file)
        if taken is None:
            if before is not None:
                with contextlib.suppress(Locked, DiskAway):
                    self._lock_file(before)
            return False
        self._adopt(job, file if taken else None)
        if not taken:
            self.session.said.emit(f"Opened a copy of {path.name}; save it under a name of its own.")
            return True
        self._remember(path)
        self.session.said.emit(f"Opened {path.name}.")
        return True

    @property
    def _locale(self) -> str:
        """How days are told: by the job that is open."""
        return self.session.whole.terms.locale

    def _lock_file(self, file: JobFile, *, over: bool = False) -> None:
        """Lock a file.

        Raises:
            Locked: somebody else has it open.
            DiskAway: its disk does not answer.
        """
        working = replace(file)

        def take() -> Lock | None:
            working.take(over=over)
            return working.lock

        # A lock that is had too late would tell others that the file is open here.
        file.lock = self.disk.do(take, file.path.name, lambda _: working.close())

    @contextlib.contextmanager
    def _alone(self) -> Iterator[None]:
        """While a job is saved nothing that was being read gets into its place; see `when_written`."""
        self._writing += 1
        try:
            yield
        finally:
            self._writing -= 1
            if not self._writing and self._afterwards:
                QTimer.singleShot(0, self, self._go_on)

    def when_written(self, act: Callable[[], object]) -> None:
        """Take an answer now, or once the job that is being saved is saved.

        Its disk is waited for with the window awake; what comes meanwhile must neither be taken for what was saved nor
        be gone over by it.
        """
        if self._writing:
            self._afterwards.append(act)
        else:
            act()

    def _go_on(self) -> None:
        acts, self._afterwards = self._afterwards, []
        for act in () if self._is_over else acts:
            self.when_written(act)

    def _let_go(self, file: JobFile | None) -> None:
        """Close a file; a lock on a disk that does not answer stays there until this process is gone."""
        if file is not None and file.lock is not None:
            lock, file.lock = file.lock, None
            self.disk.let(lock.release)

    def _write(self, file: JobFile, whole: Job) -> str:
        """Save a job into a file; see `JobFile.save`.

        Raises:
            DiskAway: its disk does not answer; whether it was written is not known. If it was, the next save asks.
        """
        working = replace(file)

        def save() -> tuple[str, Exception | None]:
            try:
                return working.save(whole), None
            except (JobFileError, Locked, ChangedOutside) as trouble:
                return "", trouble

        note, trouble = self.disk.do(save, file.path.name)
        file.mark, file.issued, file.lock = working.mark, working.issued, working.lock
        if trouble is not None:
            raise trouble
        return note

    def _take(self, file: JobFile) -> bool | None:
        """Lock a file: True; False for a copy of it instead, None if the person changed their mind."""
        try:
            return self._take_asking(file)
        except DiskAway as away:
            self.dialogs.tell("This file cannot be opened", [str(away)])
            return None

    def _take_asking(self, file: JobFile) -> bool | None:
        try:
            self._lock_file(file)
        except Locked as locked:
            answer = self.dialogs.choose(
                "This job is open elsewhere",
                locked.told(self._locale),
                "If you take it over, whoever has it open is asked before what you save is written over.",
                ("Open a copy", "Take it over"),
            )
            if answer != 1:
                return None if answer is None else False
            self._lock_file(file, over=True)
        return True

    def open_example(self, path: Path) -> None:
        """An example as a new job, so that the example itself stays as it is."""
        try:
            job = load_job(path)
        except JobFileError as error:
            self.dialogs.tell("This example cannot be opened", [f.message for f in error.findings])
            return
        if self.may_leave():
            self._adopt(job, None)
            self.session.said.emit("Opened an example; save it under a name of your own.")

    @staticmethod
    def examples() -> tuple[Path, ...]:
        """Example jobs that come with the program."""
        folder = Path(str(shipped("examples")))
        return tuple(sorted(folder.glob(f"*{EXTENSION}")))

    def recent(self) -> tuple[Path, ...]:
        """Files opened or saved lately, the last first."""
        return tuple(Path(name) for name in self.settings.recent)

    def save(self) -> bool:
        """Save; asks for a name the first time. False if it was not saved."""
        if self.session.path is None:
            return self.save_as()
        return self._save_to(self.session.path)

    def save_as(self) -> bool:
        """Save under a name that the person picks."""
        path = self._name_for(self.session.path or Path(self._stem() + EXTENSION))
        return path is not None and self._save_to(path)

    def _name_for(self, suggestion: Path) -> Path | None:
        return self.dialogs.where_to("Save the job", _JOBS, suggestion, own=self.session.path)

    def _is_there(self, path: Path) -> bool | None:
        """Whether something stands there; None where its disk does not answer, which is told."""
        try:
            return self.disk.do(partial(exists, path), path.name)
        except DiskAway as away:
            self.dialogs.tell("Nothing was written", [str(away)])
            return None

    def is_same(self, one: Path, other: Path) -> bool | None:
        """Whether two names are of one file; None where a disk does not answer, which is told."""
        try:
            return self.disk.do(lambda: os.path.realpath(one) == os.path.realpath(other), one.name)
        except DiskAway as away:
            self.dialogs.tell("Nothing was written", [str(away)])
            return None

    def job_path(self) -> Path | None:
        """Where the job is kept; asked for the first time, None where the person does not say."""
        if self.session.path is not None:
            return self.session.path
        return self._name_for(Path(self._stem() + EXTENSION))

    def keep_final(self, path: Path, name: str, whole: Job) -> bool:
        """Save a job whose last act cannot be undone, then take the act; neither of them if it cannot be saved."""
        with self._alone():
            return self._keep_final(path, name, whole)

    def _keep_final(self, path: Path, name: str, whole: Job) -> bool:
        try:
            file = self._file_at(path)
            note = self._write(file, whole)
        except DiskAway as away:
            self._tell_away(away)
            return False
        except JobFileError as error:
            self.dialogs.tell("The job was not saved", [f.message for f in error.findings])
            return False
        except (Locked, ChangedOutside) as trouble:
            why = trouble.told(self._locale) if isinstance(trouble, Locked) else str(trouble)
            self.dialogs.tell("The job was not saved", [why, "Save it first, then do this again."])
            return False
        self.session.act_whole(name, whole, final=True)
        self._was_saved(file, note)
        return True

    def _file_at(self, path: Path) -> JobFile:
        """The open file, or another one to be written to.

        Raises:
            JobFileError: something else than a job stands there.
            DiskAway: its disk does not answer.
        """
        if self._file is not None and self._file.path == path:
            return self._file
        return self.disk.do(partial(JobFile.to_be, path), path.name)

    def _tell_away(self, away: DiskAway) -> None:
        self.dialogs.tell(
            "Whether the job was saved is not known",
            [
                str(away),
                "The job stays open as it is. Save it under another name, on another disk, to be safe.",
                "If it was written after all, the next save into this file asks before it goes over it.",
            ],
        )

    def _was_saved(self, file: JobFile, note: str = "") -> None:
        if self._file is not file:
            self._let_go(self._file)
            self._file = file
        if file.lock is None:
            # Somebody who opens it in this very moment has it; the next save says so.
            with contextlib.suppress(Locked, DiskAway):
                self._lock_file(file)
        self.session.was_saved(file.path)
        self._remember(file.path)
        self._discard_recovery()
        self._leave_older()
        if note:
            self.dialogs.tell("The job is saved", [note])

    def _save_to(self, path: Path) -> bool:
        try:
            with self._alone():
                return self._save_asking(path)
        except DiskAway as away:
            self._tell_away(away)
            return False

    def _save_asking(self, path: Path) -> bool:
        try:
            file = self._file_at(path)
        except JobFileError as error:
            self.dialogs.tell("The job was not saved", [f.message for f in error.findings])
            return False
        note = ""
        while True:
            try:
                whole = self.session.whole
                note = self._write(file, whole)
                if self.session.whole is whole:
                    break  # else an answer came while the disk was waited for
            except JobFileError as error:
                self.dialogs.tell("The job was not saved", [f.message for f in error.findings])
                return False
            except Locked as locked:
                answer = self.dialogs.choose(
                    "The job was not saved",
                    locked.told(self._locale),
                    "Nothing was written.",
                    ("Keep mine as a copy…", "Take it over and save"),
                )
                if answer != 1:
                    return answer == 0 and self._save_copy(path)
                self._lock_file(file, over=True)
                self._file = file if self.session.path == path else self._file
            except ChangedOutside as changed:
                done = self._settle(file, changed)
                if done is not None:
                    return done
        self._was_saved(file, note)
        kept = len(self.session.job_holder.pending)
        note = f" {kept} typed values that are not allowed yet are not in it." if kept else ""
        self.session.said.emit(f"Saved {path.name}.{note}")
        return True

    def _save_copy(self, path: Path) -> bool:
        copy = self._name_for(path.with_name(f"{path.stem} (mine){path.suffix}"))
        return copy is not None and copy != path and self._save_to(copy)

    def _settle(self, file: JobFile, changed: ChangedOutside) -> bool | None:
        """Ask what to do about a file that somebody else changed: whether all is saved now, None to ask again."""
        theirs = changed.theirs
        choices = ("Keep mine as a copy…", *(("Take theirs", "Compare") if theirs is not None else ()))
        answer = self.dialogs.choose("The job was not saved", str(changed), "Nothing was written.", choices)
        if answer is None:
            return False
        if answer == 0:
            return self._save_copy(file.path)
        assert theirs is not None
        if answer == 1:
            try:
                now, theirs = self.disk.do(partial(JobFile.read, file.path), file.path.name)
            except JobFileError:
                return None
            file.mark = now.mark
            self.session.act_whole("Take what somebody else saved", theirs)
            self._was_saved(file)
            self.session.said.emit(f"This is what {file.path.name} holds. Undo brings yours back.")
            return True
        words = _moved(self.session.whole, theirs)
        told = ["Yours stands before the arrow, theirs after it.", *words]
        self.dialogs.tell("What is different in theirs", told if words else ["Nothing that was decided."])
        return None

    def look_outside(self) -> None:
        """Say so if somebody else changed the job's file; saving will ask. Offer what they did to the price book."""
        if self._is_over:
            return  # the application may be left and come back to once more before it ends
        of_job, of_book = self.looking
        file = self._file
        if file is not None and not of_job.is_busy:
            seen = replace(file)

            def tell(answer: object) -> None:
                if answer and self._file is file and file.mark == seen.mark:
                    self.session.said.emit(
                        f"{shown(file.path.name)} was changed by somebody else; saving asks."
                    )

            of_job.start_patiently(
                lambda _: seen.is_changed_outside(), tell, _raised, self.session.patience_s
            )
        if self._keep_book and self.session.book is self._kept_book and not of_book.is_busy:
            book = self._kept_book

            def meet(answer: object) -> None:
                if answer is not None and self._kept_book is book and self.session.book is book:
                    self._meet(cast(PriceBook, answer))

            of_book.start_patiently(lambda _: _own_book(), meet, _raised, self.session.patience_s)

    def earlier(self) -> tuple[tuple[str, backups.Earlier], ...]:
        """Versions that were saved earlier, each with what it is called: of this job's file, of all files while this
        job has none."""
        path = self.session.path
        nothing: tuple[backups.Earlier, ...] = ()
        versions = self.own.do(partial(backups.earlier_of, path) if path else backups.earlier_of_all, nothing)
        return tuple(zip(backups.words(versions, self._locale), versions, strict=True))

    def open_earlier(self, version: backups.Earlier) -> None:
        """A version that was saved earlier, as a new job; the file stays as it is."""

        def done(answer: object) -> None:
            assert isinstance(answer, Job)
            if self.may_leave():
                self._adopt(answer, None)
                (words,) = backups.words([version], self._locale)
                self.session.said.emit(f"Opened {words}; save it under a name of its own.")

        def fail(error: BaseException) -> None:
            self._not_opened("This version cannot be opened", error)

        self.opening.start_patiently(
            partial(backups.read_earlier, version),
            lambda answer: self.when_written(partial(done, answer)),
            fail,
            self.session.patience_s,
        )

    def may_leave(self) -> bool:
        """Whether the open job may go: it is saved, or the person says so."""
        if not self.session.is_modified and not self.session.job_holder.pending:
            return True
        kept = len(self.session.job_holder.pending)
        warning = f"{kept} typed values are not allowed yet and would be lost." if kept else ""
        answer = self.dialogs.ask_unsaved(self._name(), warning)
        if answer is UnsavedAnswer.CANCEL:
            return False
        return self.save() if answer is UnsavedAnswer.SAVE else True

    def _name(self) -> str:
        return self.session.path.name if self.session.path else self.session.job.quote.title or "New job"

    def _stem(self) -> str:
        job = self.session.job
        words = job.quote.number or job.quote.title or job.customer.name or "job"
        return "".join(c if c.isalnum() else "-" for c in words).strip("-").lower()[:60] or "job"

    def _adopt(self, job: Job, file: JobFile | None, *, saved: bool = True) -> None:
        # What is still being read is not wanted any more: another job was opened or begun.
        self.opening.stop()
        self._discard_recovery()
        self._begin_recovery()
        self._came_from = None
        if self._file is not file:
            self._let_go(self._file)
        self._file = file
        self.session.open(job, file.path if file is not None else None, saved=saved)

    # Settings.

    @property
    def geometry(self) -> bytes:
        """Place and size of the window at its last end, b"" where that is not known."""
        return _bytes(self.settings.geometry)

    @property
    def layout(self) -> bytes:
        """Shares of the window's panes at its last end, b"" where they are not known."""
        return _bytes(self.settings.layout)

    @property
    def theme(self) -> str:
        """The theme chosen: system, light or dark."""
        return self.settings.theme.value

    def show_theme(self, choice: str) -> None:
        """Show a theme and remember it."""
        self._keep(lambda settings: settings.model_copy(update={"theme": ThemeChoice(choice)}))
        self.theme_changed.emit(choice)

    def show_units(self, system: UnitSystem) -> None:
        """Show figures in a system, as an act; what was typed stays as typed."""
        self._keep(lambda settings: settings.model_copy(update={"units": system}))
        if self.session.job.units is not system:
            words = "US" if system is UnitSystem.US else "metric"
            self.session.act(f"Units shown: {words}", job=with_value(self.session.job, ("units",), system))

    def _remember(self, path: Path) -> None:
        self._keep(lambda settings: remembered(settings, path))
        self.recent_changed.emit()

    def _keep(self, edit: Callable[[Settings], Settings]) -> None:
        """An edit of the settings: here, and in the file as others left it; recent files are shared."""
        nothing: tuple[Finding, ...] = ()
        there, problems = self.own.do(
            partial(keep_setting, self.settings, edit), (edit(self.settings), nothing)
        )
        self.settings = edit(self.settings).model_copy(update={"recent": there.recent})
        for finding in problems:
            self.session.said.emit(finding.message)

    def end(self, geometry: bytes, layout: bytes, ending: Ending | None = None) -> None:
        """The window closes: remember its place, the recovery copy is not needed any more.

        Args:
            geometry: place and size of the window, as it reads them again at the next start.
            layout: shares of its panes, likewise.
            ending: how long what hangs is waited for.
        """
        ending = ending or Ending()
        self._is_over = True
        if self.own.patience_s is not None:
            self.own.patience_s = min(self.own.patience_s, ending.left_s / 4)
        place = {"geometry": _letters(geometry), "layout": _letters(layout)}
        self._keep(lambda settings: settings.model_copy(update=place))
        self._timer.stop()
        self._discard_recovery()
        if self._lock is not None:
            self.own.let(self._lock.release)
        if self.disk.patience_s is not None:
            self.disk.patience_s = ending.left_s
        self._let_go(self._file)
        for reading in (self.opening, *self.looking):
            reading.wait(ending.left_s)
        self.papers.queue.wait(ending.left_s)
        self.own.end(ending.left_s)
        self.start_disk.end(0.0)
        self.disk.end(ending.left_s)

    # Price book.

    def _changed(self) -> None:
        self._keep_copy()
        if self.session.book is not self._kept_book and not self._asking:
            self._asking = True
            try:
                self._keep_edit()
            finally:
                self._asking = False

    def _keep_edit(self) -> None:
        """Write what was edited in the price book into the person's file, and no more than that."""
        before, after = self._kept_book, self.session.book
        if not self._keep_book:
            self._kept_book = after
            return
        if after is self._offered:
            old = {e.code: e for e in before.entries}
            self._taken = {e.code: (old.get(e.code), e) for e in after.entries if old.get(e.code) != e}
        path = user_price_book_path()
        # Undoing that one took what others changed shows the older figures again; the file keeps theirs.
        left = self._given_back(before, after)
        try:
            try:
                now = self._keep_in(path, before, after, frozenset(), left)
            except BookConflict as conflict:
                words = "\n".join(change.words_in(self._locale) for change in conflict.changes)
                mine = self.dialogs.choose(
                    "The price book was changed by somebody else",
                    str(conflict),
                    f"Yours instead of theirs: {words}",
                    ("Write mine", "Keep theirs in the file"),
                )
                chosen = conflict.codes if mine == 0 else frozenset()
                left = left | (conflict.codes - chosen)
                now = self._keep_in(path, before, after, chosen, left)
        except BookConflict as again:
            self.session.said.emit(f"{again} Nothing of it was written.")
            return
        except PriceBookError as error:
            # The next edit tries to write this one too.
            self.session.said.emit(f"The price book was not kept: {error}")
            return
        if now is not None:  # else it may be written yet, and the next edit tries to write this one too
            self._book_kept(before, after, now)

    def _keep_in(
        self, path: Path, before: PriceBook, after: PriceBook, mine: frozenset[str], theirs: frozenset[str]
    ) -> PriceBook | None:
        """What the file holds then; None while it does not answer."""
        return self.own.do(
            lambda: keep_edit(path, before, after, mine=mine, theirs=theirs),
            None,
            lambda now: self._kept_late.emit(before, after, now),
        )

    def _book_kept(self, before: PriceBook, after: PriceBook, now: PriceBook) -> None:
        if self._kept_book is not before:
            return
        self._kept_book = after
        near = near_limits(now)
        if near and near != self._near:
            self.session.said.emit(near)
        self._near = near
        self._meet(now)

    def _given_back(self, before: PriceBook, after: PriceBook) -> frozenset[str]:
        old, new = ({e.code: e for e in book.entries} for book in (before, after))
        return frozenset(
            code
            for code, (was, theirs) in self._taken.items()
            if old.get(code) == theirs and new.get(code) == was
        )

    def _meet(self, now: PriceBook) -> None:
        """Offer what others changed in the price book, once."""
        if now != self.session.book and now != self._offered:
            self._offered = now
            self.book_outside.emit(now)

    # Recovery.

    def _begin_recovery(self) -> None:
        if self._lock is not None:
            self.own.let(self._lock.release)
        self._job_id, self._copy_mark, self._copied = uuid.uuid4().hex, None, None
        path = autosave.path_of(self._job_id)

        def take() -> Lock | None:
            with contextlib.suppress(OSError):
                autosave.folder().mkdir(parents=True, exist_ok=True)
            return take_lock(path)

        # Tells other windows that this copy is in use.
        nothing: Lock | None = None
        self._lock = self.own.do(take, nothing, lambda lock: lock.release() if lock is not None else None)

    def _keep_copy(self) -> None:
        """After every act: a recovery copy soon, none where the file holds it all."""
        if not self.session.is_modified:
            self._discard_recovery()
            return
        now = self.clock()
        if self._due is None:
            self._due = now + _MOST_S
        wait = min(_QUIET_S, self._due - now)
        if wait > 0:
            self._timer.start(int(wait * 1000))
        else:
            self.write_recovery_soon()

    def write_recovery_soon(self) -> None:
        """The same as `write_recovery`, beside the window where it takes longer than a person notices."""
        self.write_recovery(soon=True)

    def write_recovery(self, *, soon: bool = False) -> None:
        """Write the recovery copy now if the job has unsaved changes."""
        self._timer.stop()
        self._due = None
        if not self.session.is_modified:
            return
        if self.own.is_away:
            self._timer.start(int(_QUIET_S * 1000))
            return
        if self._copied is self.session.whole:  # written by a call that was not waited for
            self._leave_older()
            return
        try:
            try:
                is_written = self._write_copy(soon)
            except autosave.CopyChanged as changed:
                self._begin_recovery()
                is_written = self._write_copy(soon)
                self.session.said.emit(f"{changed} Another copy is kept beside it.")
        except autosave.AutosaveError as error:
            self.session.said.emit(str(error))
            return
        if is_written:
            self._leave_older()

    def _write_copy(self, soon: bool) -> bool:
        """Whether it is written; False where the folder does not answer yet."""
        held = self._file.mark if self._file is not None else None
        whole, path = self.session.whole, self.session.path
        job_id, mark = self._job_id, self._copy_mark
        self._wants_copy = True

        def late(written: str | None) -> None:
            # Beside the window, which may want no copy any more by now, or have begun another.
            if self._job_id == job_id:
                self._copy_mark, self._copied = written, whole
            if written is not None and (self._job_id != job_id or not self._wants_copy):
                autosave.discard(job_id, written)

        task = partial(autosave.write, job_id, whole, path, held=held, mark=mark)
        nothing: str | None = None
        written = self.own.do(task, nothing, late, soon=soon)
        if written is None:
            self._timer.start(int(_QUIET_S * 1000))  # whether it was written is not known yet
            return False
        self._copy_mark = written
        return True

    def _discard_recovery(self) -> None:
        self._timer.stop()
        self._due = None
        self._wants_copy, self._copied = False, None
        if self._copy_mark is not None:
            self._discard(self._job_id, self._copy_mark)
            self._copy_mark = None

    def _discard(self, job_id: str, mark: str) -> None:
        try:
            self.own.let(partial(autosave.discard, job_id, mark))
        except autosave.AutosaveError as error:
            self.session.said.emit(str(error))

    def _leave_older(self) -> None:
        """What a recovered job holds is whole in another place by now: the copy that it came from may go."""
        older, self._came_from = self._came_from, None
        if older is not None:
            self._discard(older.job_id, older.mark)

    def offer_recovery(self) -> bool:
        """Offer what a window that ended badly left; True if the person took one."""
        try:
            return self._offer_recovery()
        except DiskAway:
            if OWN_FOLDER_AWAY not in self._start_sentences:
                self._start_sentences.append(OWN_FOLDER_AWAY)
            return False

    def _offer_recovery(self) -> bool:
        """May raise DiskAway: the person's own folder does not answer."""
        found, problems = self.start_disk.do(_copies_left, _OWN)
        self._start_sentences += [f.message for f in problems]
        for copy in found:
            holder = self.start_disk.do(partial(holder_of, autosave.path_of(copy.job_id)), _OWN)
            if holder is not None and holder.is_here:
                continue
            try:
                job = self.start_disk.do(partial(autosave.read, copy.job_id), _OWN)
            except autosave.AutosaveError as error:
                self._start_sentences.append(str(error))
                continue
            name = copy.title or (copy.original.name if copy.original else "a job without a name")
            lines = self._about(copy, job)
            if holder is not None:
                lines.insert(
                    0,
                    f"It is in use {holder.words(self._locale)}, unless this computer had that name before.",
                )
            answer = self.dialogs.choose(
                "Unsaved work was found",
                f"“{name}” was not saved when the program ended.",
                "\n".join(lines),
                ("Open it", "Open beside as a new job", "Discard it"),
                "Ask again later",
            )
            if answer is None:
                continue
            if answer == 2:
                self._discard(copy.job_id, copy.mark)
                continue
            beside = answer == 1 or copy.original is None
            file = None if beside or copy.original is None else self._recovered(copy.original, copy.held)
            self._adopt(job, file, saved=False)
            self.session.said.emit("Recovered. Save it to keep it.")
            # The copy goes when what it holds is written elsewhere, and not before.
            self._came_from = copy
            self.write_recovery()
            return True
        return False

    def _about(self, copy: autosave.RecoveryCopy, job: Job) -> list[str]:
        name = "" if copy.original is None else copy.original.name
        try:
            return self.disk.do(partial(_about, copy, job), name)
        except DiskAway as away:
            return [_written(copy, job), str(away)]

    def _recovered(self, original: Path, held: str | None) -> JobFile | None:
        """The file that a recovered job came from; what was saved there since is asked about before it goes."""
        file = JobFile(original, held or NOT_KNOWN)
        return file if self._take(file) else None

    # Words.

    def tell_start(self) -> None:
        """What went wrong at the start."""
        if self._start_sentences:
            self.dialogs.tell("Something could not be read", self._start_sentences)
            self._start_sentences = []

    def tell_book(self, sentences: Sequence[str]) -> None:
        """The person's own price book cannot be read."""
        self.dialogs.tell("Your price book cannot be read", sentences)

    def tell_about(self) -> None:
        """What this is."""
        self.dialogs.tell(
            f"Baydrop {__version__}",
            (
                "Designs, prices and quotes a central chemical dispensing system for vehicle-detailing shops.",
                "Chemicals and pressure can hurt people: local codes and licensed trades decide.",
            ),
        )


def _moved(before: Job, after: Job) -> list[str]:
    """What is otherwise in the later job, in words."""
    words = [d.placed_words for d in job_changes(snapshot_of(before), snapshot_of(after))]
    if before.issued != after.issued:
        words.append(f"Issued revisions: {len(before.issued)} → {len(after.issued)}.")
    return words


def _copies_left() -> tuple[tuple[autosave.RecoveryCopy, ...], tuple[Finding, ...]]:
    """The recovery copies in the person's own folder, after what is half written there was swept."""
    for folder in (user_folder(), autosave.folder()):
        sweep(folder)
        sweep_locks(folder)
    return autosave.copies()


def _own_book() -> PriceBook | None:
    """The person's own price book, None where there is none that can be read."""
    try:
        return load_price_book(user_price_book_path())
    except PriceBookError:
        return None


def _raised(error: BaseException) -> None:
    raise error


def _written(copy: autosave.RecoveryCopy, job: Job) -> str:
    return f"The copy was written {moment_text(copy.written.astimezone(), job.terms.locale)}."


def _about(copy: autosave.RecoveryCopy, job: Job) -> list[str]:
    """When the copy and the file were written, and what the copy has otherwise."""
    locale = job.terms.locale
    lines = [_written(copy, job)]
    if copy.original is None:
        return [*lines, "It was never saved to a file."]
    try:
        saved = datetime.fromtimestamp(copy.original.stat().st_mtime, UTC).astimezone()
        kept = load_job(copy.original)
    except (OSError, OverflowError, ValueError):
        return [*lines, f"Its file {shown(copy.original.name)} cannot be read."]
    newer = saved > copy.written
    lines.append(
        f"{shown(copy.original.name)} was saved {moment_text(saved, locale)}{', after the copy' if newer else ''}."
    )
    moved = _moved(kept, job)
    if not moved:
        return [*lines, "Both hold the same."]
    more = [f"… and {len(moved) - _MOST_WORDS} more."] if len(moved) > _MOST_WORDS else []
    return [*lines, "Otherwise in the copy:", *moved[:_MOST_WORDS], *more]


def _letters(data: bytes) -> str:
    return base64.b64encode(data).decode("ascii")


def _bytes(letters: str) -> bytes:
    try:
        return base64.b64decode(letters.encode("ascii", "ignore"), validate=True)
    except binascii.Error:
        return b""
