"""Files of the window: jobs, price books, the quote, recovery copies, settings."""

from __future__ import annotations

import base64
import binascii
import os
import uuid
from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QLockFile, QObject, QTimer, Signal

from estimator import __version__
from estimator.acts.issue import IssueError, check_lineage
from estimator.desk.doing.questions import Answer, Dialogs
from estimator.desk.doing.work import Work
from estimator.desk.session import Session
from estimator.model.edit import with_value
from estimator.model.finding import Severity
from estimator.model.job import Job
from estimator.shipped import shipped
from estimator.shown.papers import draft_path, paper_stem
from estimator.store import autosave
from estimator.store.files import FileTrouble, write_whole
from estimator.store.jobs import EXTENSION, JobFileError, load_job, save_job
from estimator.store.pricebooks import (
    PriceBookError,
    save_price_book,
    user_price_book_path,
)
from estimator.store.settings import Settings, Theme, load_settings, remembered, save_settings
from estimator.study import Study
from estimator.units import UnitSystem

__all__ = ["Files"]

_JOBS = f"Jobs (*{EXTENSION});;All files (*)"
_PAPERS = "PDF (*.pdf)"
_AUTOSAVE_MS = 1500


class Files(QObject):
    """What the window reads and writes.

    Args:
        session: the open job.
        dialogs: asks the person.
        keep_book: whether edits of the price book go to the person's own file; False when that file is broken
            and must stay as it is.

    Signals:
        theme_changed: another theme is to be shown, by its name.
        recent_changed: the list of files opened lately is another.
    """

    theme_changed = Signal(str)
    recent_changed = Signal()

    def __init__(self, session: Session, dialogs: Dialogs, *, keep_book: bool = True) -> None:
        super().__init__()
        self.session = session
        self.dialogs = dialogs
        self.work = Work(self)
        self.settings, problems = load_settings()
        self._start_sentences = [f.message for f in problems]
        self._kept_book = session.book
        self._keep_book = keep_book
        self._job_id = ""
        self._lock: QLockFile | None = None
        self._begin_recovery()
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(_AUTOSAVE_MS)
        self._timer.timeout.connect(self.write_recovery)
        session.changed.connect(self._changed)

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
        """A job from a file; the open job stays if that is not possible."""
        try:
            job = load_job(path)
        except JobFileError as error:
            self.dialogs.tell("This file cannot be opened", [f.message for f in error.findings])
            return False
        if not self.may_leave():
            return False
        self._adopt(job, path)
        self._remember(path)
        self.session.said.emit(f"Opened {path.name}.")
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
        suggestion = self.session.path or Path(self._stem() + EXTENSION)
        path = self.dialogs.save_file("Save the job", _JOBS, suggestion)
        return path is not None and self._save_to(path)

    def job_path(self) -> Path | None:
        """Where the job is kept; asked for the first time, None where the person does not say."""
        if self.session.path is not None:
            return self.session.path
        return self.dialogs.save_file("Save the job", _JOBS, Path(self._stem() + EXTENSION))

    def keep_final(self, path: Path, name: str, whole: Job) -> bool:
        """Save a job whose last act cannot be undone, then take the act; neither of them if it cannot be saved."""
        if not self._write(path, whole):
            return False
        self.session.act_whole(name, whole, final=True)
        self._was_saved(path)
        return True

    def _write(self, path: Path, whole: Job) -> bool:
        try:
            check_lineage(whole, self._held_by(path))
            save_job(path, whole)
        except JobFileError as error:
            self.dialogs.tell("The job was not saved", [f.message for f in error.findings])
            return False
        except IssueError as error:
            self.dialogs.tell("The job was not saved", [str(error)])
            return False
        return True

    @staticmethod
    def _held_by(path: Path) -> Job:
        """What a file holds that would be written over; a blank job where it holds none that can be read."""
        try:
            return load_job(path)
        except JobFileError:
            return Job()

    def _was_saved(self, path: Path) -> None:
        self.session.was_saved(path)
        self._remember(path)
        self._discard_recovery()

    def _save_to(self, path: Path) -> bool:
        if not self._write(path, self.session.whole):
            return False
        self._was_saved(path)
        kept = len(self.session.job_holder.pending)
        note = f" {kept} typed values that are not allowed yet are not in it." if kept else ""
        self.session.said.emit(f"Saved {path.name}.{note}")
        return True

    def may_leave(self) -> bool:
        """Whether the open job may go: it is saved, or the person says so."""
        if not self.session.is_modified and not self.session.job_holder.pending:
            return True
        kept = len(self.session.job_holder.pending)
        warning = f"{kept} typed values are not allowed yet and would be lost." if kept else ""
        answer = self.dialogs.ask_unsaved(self._name(), warning)
        if answer is Answer.CANCEL:
            return False
        return self.save() if answer is Answer.SAVE else True

    def _name(self) -> str:
        return self.session.path.name if self.session.path else self.session.job.quote.title or "New job"

    def _stem(self) -> str:
        job = self.session.job
        words = job.quote.number or job.quote.title or job.customer.name or "job"
        return "".join(c if c.isalnum() else "-" for c in words).strip("-").lower()[:60] or "job"

    def _adopt(self, job: Job, path: Path | None, *, saved: bool = True) -> None:
        self._discard_recovery()
        self._begin_recovery()
        self.session.open(job, path, saved=saved)

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
        self._keep(self.settings.model_copy(update={"theme": Theme(choice)}))
        self.theme_changed.emit(choice)

    def show_units(self, system: UnitSystem) -> None:
        """Show figures in a system, as an act; what was typed stays as typed."""
        self._keep(self.settings.model_copy(update={"units": system}))
        if self.session.job.units is not system:
            words = "US" if system is UnitSystem.US else "metric"
            self.session.act(f"Units shown: {words}", job=with_value(self.session.job, ("units",), system))

    def _remember(self, path: Path) -> None:
        self._keep(remembered(self.settings, path))
        self.recent_changed.emit()

    def _keep(self, settings: Settings) -> None:
        self.settings = settings
        for finding in save_settings(settings):
            self.session.said.emit(finding.message)

    def end(self, geometry: bytes, layout: bytes) -> None:
        """The window closes: remember its place, the recovery copy is not needed any more.

        Args:
            geometry: place and size of the window, as it reads them again at the next start.
            layout: shares of its panes, likewise.
        """
        place = {"geometry": _letters(geometry), "layout": _letters(layout)}
        self._keep(self.settings.model_copy(update=place))
        self._timer.stop()
        self._discard_recovery()
        if self._lock is not None:
            self._lock.unlock()
        self.work.wait()

    # Price book.

    def _changed(self) -> None:
        if self.session.is_modified:
            self._timer.start()
        if self.session.book is not self._kept_book:
            self._kept_book = self.session.book
            if self._keep_book:
                try:
                    save_price_book(user_price_book_path(), self.session.book)
                except PriceBookError as error:
                    self.session.said.emit(f"The price book was not kept: {error}")

    # Quote.

    def write_pdf(self) -> None:
        """Write the quote to a file that the person picks."""
        errors = sum(f.severity is Severity.ERROR for f in self.session.findings)
        if errors and not self.dialogs.ask(
            "Write the quote",
            f"There {'is 1 error' if errors == 1 else f'are {errors} errors'} in the list of what is missing or "
            "wrong. The quote would not be right.",
            "Write it anyway",
        ):
            return
        suggestion = Path(paper_stem(self.session.whole) + ".pdf")
        wanted = self.dialogs.save_file("Write a draft of the quote", _PAPERS, suggestion)
        if wanted is None:
            return
        path = draft_path(wanted)
        # The question whether to write over a file was asked for the name that was typed.
        if (
            path != wanted
            and path.exists()
            and not self.dialogs.ask("Write the quote", f"{path} is there already.", "Write over it")
        ):
            return
        from estimator.documents.quote import write_quote  # what writes PDF is loaded when one is wanted

        work_out = self.session.whole_study()

        def write() -> tuple[Study, bytes]:
            study = work_out()
            return study, write_quote(study)

        self.session.said.emit(f"Writing {path.name} …")
        self.work.start(write, lambda written: self._pdf_done(path, written), self.tell_failure)

    def _pdf_done(self, path: Path, written: object) -> None:
        assert isinstance(written, tuple)
        study, pdf = written
        try:
            write_whole(path, pdf)
        except FileTrouble as trouble:
            self.dialogs.tell("The quote was not written", [str(trouble)])
            return
        self.session.said.emit(f"Wrote {path}.")
        from estimator.documents.quote import unprintable

        problems = unprintable(study)
        if problems:
            self.dialogs.tell("Some characters could not be printed", [f.message for f in problems])

    # Recovery.

    def _begin_recovery(self) -> None:
        if self._lock is not None:
            self._lock.unlock()
        self._job_id = uuid.uuid4().hex
        self._lock = self._lock_of(self._job_id)

    @staticmethod
    def _lock_of(job_id: str) -> QLockFile | None:
        """A lock that tells other windows that this copy is in use, None where it is."""
        folder = autosave.folder()
        try:
            os.makedirs(folder, exist_ok=True)
        except OSError:
            return None
        lock = QLockFile(str(folder / f"{job_id}.lock"))
        # Only a process that is gone leaves a stale lock, however long the window was open.
        lock.setStaleLockTime(0)
        return lock if lock.tryLock(0) else None

    def write_recovery(self) -> None:
        """Write the recovery copy now if the job has unsaved changes."""
        if not self.session.is_modified:
            return
        try:
            autosave.write(self._job_id, self.session.whole, self.session.path)
        except autosave.AutosaveError as error:
            self.session.said.emit(str(error))

    def _discard_recovery(self) -> None:
        self._timer.stop()
        try:
            autosave.discard(self._job_id)
        except autosave.AutosaveError as error:
            self.session.said.emit(str(error))

    def offer_recovery(self) -> bool:
        """Offer what a window that ended badly left; True if the person took one."""
        found, problems = autosave.copies()
        self._start_sentences += [f.message for f in problems]
        for copy in found:
            lock = self._lock_of(copy.job_id)
            if lock is None:
                continue
            lock.unlock()
            name = copy.title or (copy.original.name if copy.original else "a job without a name")
            when = copy.written.astimezone().strftime("%Y-%m-%d %H:%M")
            if not self.dialogs.ask(
                "Unsaved work was found",
                f"“{name}” was not saved when the program ended ({when}).",
                "Open it",
                "Leave it for later",
            ):
                continue
            try:
                job = autosave.read(copy.job_id)
            except autosave.AutosaveError as error:
                self.dialogs.tell("This copy cannot be opened", [str(error)])
                continue
            self._adopt(job, copy.original, saved=False)
            self.write_recovery()
            autosave.discard(copy.job_id)
            self.session.said.emit("Recovered. Save it to keep it.")
            return True
        return False

    # Words.

    def tell_start(self) -> None:
        """What went wrong at the start."""
        if self._start_sentences:
            self.dialogs.tell("Something could not be read", self._start_sentences)
            self._start_sentences = []

    def tell_failure(self, error: object) -> None:
        """Something failed beside the window; the job is untouched."""
        self.dialogs.tell("The quote could not be made", _sentences(error))

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


def _letters(data: bytes) -> str:
    return base64.b64encode(data).decode("ascii")


def _bytes(letters: str) -> bytes:
    try:
        return base64.b64decode(letters.encode("ascii", "ignore"), validate=True)
    except binascii.Error:
        return b""


def _sentences(error: object) -> Sequence[str]:
    return [str(error) or type(error).__name__, "The job is as it was."]
