"""The open job as a value: what it is, what it was, what follows from it, where it is kept."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path as FilePath

from pydantic import BaseModel
from PySide6.QtCore import QObject, Signal

from estimator.acts import rows as acts
from estimator.acts.history import History
from estimator.desk.form.holder import Holder, Path
from estimator.model.design import AIR
from estimator.model.edit import with_value
from estimator.model.finding import Finding
from estimator.model.job import Job
from estimator.model.makers import MakerData
from estimator.model.option_acts import design_of, option_ids, option_name, with_design
from estimator.model.options import BASE
from estimator.model.pricebook import PriceBook
from estimator.model.spec import FieldSpec
from estimator.pricing.book_changes import stale_findings
from estimator.pricing.revise import expired
from estimator.reference.catalogue import Catalogue, catalogue
from estimator.reference.own_parts import with_makers
from estimator.study import Pipeline, Study

__all__ = ["BookHolder", "JobHolder", "Session", "Snapshot"]


@dataclass(frozen=True, slots=True)
class Snapshot:
    """What an act changes: the job, the price book, or which option is worked on."""

    job: Job
    book: PriceBook
    option: str = BASE


def _seen(now: Snapshot) -> Job:
    """The job with the design of the option worked on in the place of the base design."""
    if now.option == BASE:
        return now.job
    return with_value(now.job, ("design",), design_of(now.job, now.option))


def _told(now: Snapshot, seen: Job, before: Job) -> Job:
    """The whole job after an edit of what is seen; the base design stays where it is."""
    if now.option == BASE:
        return seen
    whole = with_value(seen, ("design",), now.job.design)
    if seen.design == before.design or now.option not in option_ids(whole):
        return whole
    return with_design(whole, now.option, seen.design)


class Session(QObject):
    """One open job with its history. Every act makes a new snapshot and a new study.

    A job holds several options; one of them is worked on. `job` is the job as if that option were its base
    design, so that forms, plan, price and proof show and change it; `whole` is the job as it is kept in a file.

    Signals:
        changed: another snapshot holds.
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
        self.path: FilePath | None = None
        self.saved_job = job
        self.history = History(Snapshot(job, book))
        self._job = job
        self._base = Pipeline(self.parts)
        self._base_study: tuple[Job, PriceBook, Study] | None = None
        self.today: Callable[[], date] = date.today
        self.study: Study = self._pipeline.study(job, book)
        self.job_holder = JobHolder(self)
        self.book_holder = BookHolder(self)

    @property
    def job(self) -> Job:
        """The job that holds, with the option worked on as its base design."""
        return self._job

    @property
    def whole(self) -> Job:
        """The job that holds, as it is kept in a file."""
        return self.history.now.job

    @property
    def option(self) -> str:
        """Id of the option worked on."""
        return self.history.now.option

    @property
    def base_study(self) -> Study:
        """The study of the base design, which the quote is written from, whatever option is worked on."""
        if self.option == BASE:
            return self.study
        known = self._base_study
        if known is None or known[0] is not self.whole or known[1] is not self.book:
            known = self.whole, self.book, self._base.study(self.whole, self.book)
            self._base_study = known
        return known[2]

    @property
    def book(self) -> PriceBook:
        """The price book that holds."""
        return self.history.now.book

    def parts_with(self, makers: MakerData) -> Catalogue:
        """The catalogue with a design's own parts."""
        if self._with_makers[0] is not makers:
            self._with_makers = (makers, with_makers(makers, self.parts)[0])
        return self._with_makers[1]

    @property
    def is_modified(self) -> bool:
        """Whether the job differs from what the file holds."""
        return self.whole is not self.saved_job and self.whole != self.saved_job

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What was typed and not taken over, then what the study found."""
        return (
            *self.job_holder.kept_back(),
            *self.book_holder.kept_back(),
            *self.study.findings,
            *stale_findings(self.study.price, self.job.terms, self.today()),
            *expired(self.whole, self.today()),
        )

    def act(self, name: str, *, job: Job | None = None, book: PriceBook | None = None) -> None:
        """One act that can be undone.

        Args:
            job: what is seen, changed: its design is that of the option worked on.
        """
        now = self.history.now
        whole = _told(now, job, self._job) if job is not None else now.job
        self.act_whole(name, whole, book=book)

    def act_whole(
        self, name: str, whole: Job, *, option: str | None = None, book: PriceBook | None = None
    ) -> None:
        """One act on the whole job that can be undone.

        Args:
            option: id of the option to work on from now on; the base where the old one is gone.
        """
        now = self.history.now
        to = option or now.option
        if to not in option_ids(whole):
            to = BASE
        self.history.push(name, Snapshot(whole, book or now.book, to))
        self._follow(forget=to != now.option)

    def work_on(self, option: str) -> None:
        """Show and change an option from now on, as an act.

        Raises:
            LookupError: there is none of that id.
        """
        if option != self.option:
            name = option_name(self.whole, option)
            self.act_whole(f"Work on {name}", self.whole, option=option)

    def undo(self) -> None:
        """Take the last act back."""
        name = self.history.undo_name
        if name:
            self.history.undo()
            self._follow(forget=True)
            self.said.emit(f"Undone: {name}")

    def redo(self) -> None:
        """Bring back the act that was undone last."""
        name = self.history.redo_name
        if name:
            self.history.redo()
            self._follow(forget=True)
            self.said.emit(f"Redone: {name}")

    def go_to(self, position: int) -> None:
        """The state after that many acts."""
        self.history.go_to(position)
        self._follow(forget=True)

    def open(self, job: Job, path: FilePath | None, *, saved: bool = True) -> None:
        """Work on another job from now on; the price book stays.

        Args:
            saved: False for a recovered copy, which no file holds.
        """
        self.history = History(Snapshot(job, self.book))
        self.path = path
        self.saved_job = job if saved else Job()
        self._follow(forget=True)
        self.opened.emit()

    def was_saved(self, path: FilePath) -> None:
        """The file at the path now holds the job."""
        self.path = path
        self.saved_job = self.whole
        self.changed.emit()

    def _follow(self, *, forget: bool = False) -> None:
        if forget:
            self.job_holder.pending.clear()
            self.book_holder.pending.clear()
        now = self.history.now
        self._job = _seen(now)
        try:
            self.study = self._pipeline.study(self._job, now.book)
        finally:
            self.changed.emit()


class _SessionHolder(Holder):
    """Follows a session."""

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._session = session
        session.changed.connect(self.changed)

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
        self._session.act(name, job=whole)

    def _set(self, whole: BaseModel, path: Path, value: object) -> BaseModel:
        if isinstance(whole, Job) and path[-1:] == ("id",) and isinstance(value, str):
            return acts.renamed(whole, path, str(self.at(path)), value)
        return with_value(whole, path, value)

    def choices(self, field: FieldSpec, parent: Path) -> tuple[tuple[str, str], ...]:
        """Of an enumeration, of a catalogue table, or the ids in the design."""
        if field.catalogue:
            makers = acts.design_at(self._session.job, parent).makers
            return self._session.parts_with(makers).choices(field.catalogue)
        design = acts.design_at(self._session.job, parent)
        products = tuple((p.id, p.name or p.id) for p in design.products)
        match field.refers_to:
            case "bays":
                return tuple((b.id, b.name or b.id) for b in design.bays)
            case "products":
                return products
            case "services":
                return (*products, (AIR, "Compressed air"))
            case _:
                return field.choices

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
