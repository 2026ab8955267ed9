"""The open document for the window: its signals, and the study that follows from it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from functools import partial
from pathlib import Path as FilePath

from pydantic import BaseModel
from PySide6.QtCore import QObject, Signal

from estimator.acts import rows as acts
from estimator.acts.document import Document, State
from estimator.acts.history import History
from estimator.acts.options import lost_changes
from estimator.acts.typed import Path
from estimator.desk.holder import Holder
from estimator.model.edit import EditError
from estimator.model.finding import Finding
from estimator.model.job import Job
from estimator.model.makers import MakerData
from estimator.model.options import BASE
from estimator.model.pricebook import PriceBook
from estimator.model.spec import FieldSpec
from estimator.reference.catalogue import Catalogue, catalogue
from estimator.reference.own_parts import with_makers
from estimator.shown.figures import figures_of
from estimator.shown.options import lost_words
from estimator.study import Pipeline, Study

__all__ = ["BookHolder", "JobHolder", "Session"]


class Session(QObject):
    """One open document. Every act makes a new one and a new study.

    Signals:
        changed: another document holds.
        opened: another job was opened or begun.
        said: a sentence for the status line.
    """

    changed = Signal()
    opened = Signal()
    said = Signal(str)

    def __init__(self, job: Job, book: PriceBook, parts: Catalogue | None = None) -> None:
        super().__init__()
        self.parts = parts or catalogue()
        self._pipeline = Pipeline(self.parts)
        self._with_makers: tuple[MakerData, Catalogue] = (MakerData(), self.parts)
        self.document = Document.of(job, book)
        self.only_here = False
        self._today: Callable[[], date] = date.today
        self.study: Study = self.study_of(BASE)()
        self.job_holder = JobHolder(self)
        self.book_holder = BookHolder(self)

    @property
    def today(self) -> Callable[[], date]:
        """What tells the day that studies hold for."""
        return self._today

    @today.setter
    def today(self, clock: Callable[[], date]) -> None:
        self._today = clock
        self._follow(self.document)

    def follow_day(self) -> bool:
        """Work everything out anew where another day began since; whether one did."""
        day = self.today()
        if self.study.on == day:
            return False
        self._follow(self.document)
        self.said.emit(
            f"It is {figures_of(self.whole).day(day)} now: dates, prices and papers are of that day."
        )
        return True

    @property
    def job(self) -> Job:
        """The job that holds, with the option worked on as its base design."""
        return self.document.job

    @property
    def whole(self) -> Job:
        """The job that holds, as it is kept in a file."""
        return self.document.whole

    @property
    def option(self) -> str:
        """Id of the option worked on."""
        return self.document.option

    @property
    def history(self) -> History[State]:
        """What was done so far."""
        return self.document.history

    @property
    def path(self) -> FilePath | None:
        """The file of the job, None where it has none yet."""
        return self.document.path

    def whole_study(self) -> Callable[[], Study]:
        """What works out the study of the job that holds with all its options, beside the window or in it.

        The quote is written from it, whatever option is worked on.
        """
        return partial(self._pipeline.study, self.whole, self.book, self.today())

    def study_of(self, option: str) -> Callable[[], Study]:
        """What works out the study of one design of the job that holds, beside the window or in it.

        Args:
            option: id of the option; of the base design, that of the base design alone.
        """
        return partial(self._pipeline.alone, self.whole, self.book, self.today(), option)

    @property
    def base_study(self) -> Study:
        """The study of the base design alone, whatever option is worked on."""
        return self.study if self.option == BASE else self.study_of(BASE)()

    @property
    def book(self) -> PriceBook:
        """The price book that holds."""
        return self.document.book

    def parts_with(self, makers: MakerData) -> Catalogue:
        """The catalogue with a design's own parts."""
        if self._with_makers[0] is not makers:
            self._with_makers = (makers, with_makers(makers, self.parts)[0])
        return self._with_makers[1]

    @property
    def is_modified(self) -> bool:
        """Whether the job differs from what the file holds."""
        return self.document.is_modified

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What was typed and not taken over, then what the study found."""
        return (
            *self.job_holder.kept_back(),
            *self.book_holder.kept_back(),
            *self.study.findings,
        )

    def act(self, name: str, *, job: Job | None = None, book: PriceBook | None = None) -> None:
        """One act that can be undone.

        Args:
            job: what is seen, changed: its design is that of the option worked on. Of all options where an option is
                worked on and `only_here` is off. What cannot be done for all of them is said and not done.
        """
        try:
            self.take(name, job=job, book=book)
        except EditError as error:
            self.changed.emit()
            self.said.emit(str(error))

    def take(self, name: str, *, job: Job | None = None, book: PriceBook | None = None) -> None:
        """The same for whoever says what is wrong where it was typed.

        Raises:
            EditError: allowed in the option worked on, and another one cannot follow; nothing was changed.
        """
        before = self.whole
        self._follow(self.document.after(name, job=job, book=book, only_here=self.only_here))
        if job is not None and (words := lost_words(before, lost_changes(before, self.whole))):
            self.said.emit(words)

    def act_whole(
        self,
        name: str,
        whole: Job,
        *,
        option: str | None = None,
        book: PriceBook | None = None,
        final: bool = False,
    ) -> None:
        """One act on the whole job that can be undone.

        Args:
            option: id of the option to work on from now on; the base where the old one is gone.
            final: it cannot be undone, nor what was done before it.
        """
        self._follow(self.document.after_whole(name, whole, option=option, book=book, final=final))

    def work_on(self, option: str) -> None:
        """Show and change an option from now on, as an act.

        Raises:
            LookupError: there is none of that id.
        """
        if option != self.option:
            self._follow(self.document.working_on(option))

    @property
    def undo_stops(self) -> str:
        """Why the last act cannot be undone; "" where it can, or where there is none."""
        name = self.history.floor_name
        return f"{name}: this cannot be undone, and neither can what was done before it." if name else ""

    def undo(self) -> None:
        """Take the last act back, or say why not."""
        name = self.history.undo_name
        if name:
            self._follow(self.document.undone(), forget=True)
            self.said.emit(f"Undone: {name}")
        elif self.undo_stops:
            self.said.emit(self.undo_stops)

    def redo(self) -> None:
        """Bring back the act that was undone last."""
        name = self.history.redo_name
        if name:
            self._follow(self.document.redone(), forget=True)
            self.said.emit(f"Redone: {name}")

    def go_to(self, position: int) -> None:
        """The state after that many acts."""
        self._follow(self.document.at(position), forget=True)

    def open(self, job: Job, path: FilePath | None, *, saved: bool = True) -> None:
        """Work on another job from now on; the price book stays.

        Args:
            saved: False for a recovered copy, which no file holds.
        """
        self._follow(Document.of(job, self.book, path, saved=saved), forget=True)
        self.opened.emit()

    def was_saved(self, path: FilePath) -> None:
        """The file at the path now holds the job."""
        self.document = self.document.saved_to(path)
        self.changed.emit()

    def _follow(self, document: Document, *, forget: bool = False) -> None:
        if forget or document.option != self.option:
            # What was typed and not taken belongs to the state it was typed in.
            self.job_holder.pending = {}
            self.book_holder.pending = {}
        self.document = document
        try:
            self.study = self.study_of(document.option)()
        finally:
            self.changed.emit()


class _SessionHolder(Holder):
    """Follows a session."""

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._session = session
        session.changed.connect(self.changed)

    @property
    def locale(self) -> str:
        """That of the job."""
        return self._session.job.terms.locale

    def _tell(self) -> None:
        self._session.changed.emit()


class JobHolder(_SessionHolder):
    """The session's job for the forms."""

    @property
    def whole(self) -> BaseModel:
        """The job."""
        return self._session.job

    def _take(self, name: str, whole: BaseModel) -> None:
        assert isinstance(whole, Job)
        self._session.take(name, job=whole)

    def _set(self, whole: BaseModel, path: Path, value: object) -> BaseModel:
        assert isinstance(whole, Job)
        return acts.with_field(whole, path, value)

    def choices(self, field: FieldSpec, parent: Path) -> tuple[tuple[str, str], ...]:
        """Of an enumeration, of a catalogue table, or the ids in the design."""
        job = self._session.job
        return acts.choices(job, field, self._session.parts_with(acts.design_at(job).makers))

    def suggestions(self, field: FieldSpec, parent: Path) -> tuple[str, ...]:
        """Segments of the line that a measured length or a tube size is stated for."""
        if field.name != "segment" or parent[:2] != ("design", "lines"):
            return ()
        line = self._session.study.layout.line(self.at((*parent[:3], "service")))
        return tuple(s.id for s in line.segments) if line else ()


class BookHolder(_SessionHolder):
    """The session's price book for its table."""

    @property
    def whole(self) -> BaseModel:
        """The price book."""
        return self._session.book

    def _take(self, name: str, whole: BaseModel) -> None:
        assert isinstance(whole, PriceBook)
        self._session.act(f"Price book, {name}", book=whole)
