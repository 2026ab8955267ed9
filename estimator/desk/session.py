"""The open document for the window: its signals, and the study that follows from it."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import replace
from datetime import date
from functools import partial
from pathlib import Path as FilePath
from typing import cast

from pydantic import BaseModel
from PySide6.QtCore import QObject, Qt, QTimer, Signal

from estimator.acts import rows as acts
from estimator.acts.document import Document, State
from estimator.acts.history import History
from estimator.acts.options import lost_changes
from estimator.acts.typed import Path
from estimator.desk.holder import Holder
from estimator.desk.studies import Studies
from estimator.desk.turns import Turns
from estimator.desk.work import Work
from estimator.going import Going
from estimator.model.edit import EditError
from estimator.model.finding import Finding, in_order
from estimator.model.job import Job
from estimator.model.makers import MakerData
from estimator.model.options import BASE
from estimator.model.pricebook import PriceBook
from estimator.model.spec import FieldSpec
from estimator.pricing.types import Price
from estimator.reference.catalogue import Catalogue, catalogue
from estimator.reference.own_parts import with_makers
from estimator.shown.air_words import air_choices
from estimator.shown.figures import Figures, figures_of
from estimator.shown.flow_sizes import flow_sizes
from estimator.shown.options import lost_words
from estimator.study import Pipeline, Study

__all__ = ["BookHolder", "JobHolder", "Session"]


class Session(QObject):
    """One open document. Every act makes a new one, and a new study beside the window.

    An act is taken at once. Its study comes later, and until then there is none (`known`): an answer to an earlier job
    is never handed out as that of the job that holds. A newer act takes its place.

    Args:
        patience_s: seconds after which a study that is not there is late; until then nobody notices. None where an act
            waits until the study is there, for a script or a test.

    Attributes:
        turns: what is done in the window's thread in pieces, such as showing a study. A newer act leaves it.

    Signals:
        changed: another document holds.
        late: the study of the document that holds takes so long that it must be told.
        priced: the price of the document that holds is there before its study.
        worked_out: the study of the document that holds is there, after `changed` was told without it.
        found: what an offered option has wrong is another, or is being worked out.
        opened: another job was opened or begun.
        said: a sentence for the status line.
    """

    changed = Signal()
    late = Signal()
    priced = Signal()
    _heard = Signal(int, object)
    worked_out = Signal()
    found = Signal()
    opened = Signal()
    said = Signal(str)

    def __init__(
        self, job: Job, book: PriceBook, parts: Catalogue | None = None, *, patience_s: float | None = None
    ) -> None:
        super().__init__()
        self.parts = parts or catalogue()
        self._pipeline = Pipeline(self.parts)
        self._with_makers: tuple[MakerData, Catalogue] = (MakerData(), self.parts)
        self.document = Document.of(job, book)
        self.only_here = False
        self.turns = Turns(self)
        self._patience = QTimer(self)
        self._patience.setSingleShot(True)
        self._patience.timeout.connect(self._run_late)
        self._is_late = False
        self.patience_s = patience_s
        self._today: Callable[[], date] = date.today
        self._work = Work(self)
        self._asked: Future[object] | None = None
        # Whether `worked_out` is not owed to anybody; and whether the studies could not be worked out at all.
        self._told, self._lost = True, False
        # How often a study was asked for, so that a price is not taken for that of another job; and the last one.
        self._asking, self._price = 0, cast(Price | None, None)
        self._heard.connect(self._hear_price, Qt.ConnectionType.QueuedConnection)
        self._now: dict[str, Study] = {}
        self._listed: Study | None = None
        self.studies = Studies(self._pipeline, self)
        self.studies.arrived.connect(lambda _: self._list_anew())
        self.studies.moved.connect(self.found)
        self.studies.failed.connect(self._tell_not_compared)
        self.job_holder = JobHolder(self)
        self.book_holder = BookHolder(self)
        # In this thread: a blank job is worked out before another one has begun.
        on = self.today()
        self.studies.follow(job, book, on)
        self._hold({BASE: self._pipeline.design(job, book, on)})

    @property
    def patience_s(self) -> float | None:
        """See above."""
        return self._patience_s

    @patience_s.setter
    def patience_s(self, seconds: float | None) -> None:
        self._patience_s = seconds
        self.turns.at_once = seconds is None

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
        if self._on == day:
            return False
        self._follow(self.document)
        self.said.emit(
            f"It is {figures_of(self.whole).day(day)} now: dates, prices and papers are of that day."
        )
        return True

    # What follows from the document.

    @property
    def known(self) -> Study | None:
        """The study of the design worked on, None while it is worked out: for what is shown meanwhile."""
        return self._now.get(self.option)

    @property
    def price(self) -> Price | None:
        """The price of the design worked on, None while it is worked out; it may be there before the study."""
        known = self.known
        if known is None:
            return None if self._lost else self._price
        return known.price

    @property
    def is_late(self) -> bool:
        """Whether the study is not there and it is time to say so; before, what is shown may stay for a moment."""
        return self.known is None and (self._is_late or self._lost)

    @property
    def meanwhile(self) -> str:
        """What stands in the place of figures while there are none."""
        return "could not be worked out" if self._lost else "working out …"

    @property
    def known_base(self) -> Study | None:
        """The study of the base design alone, whatever option is worked on; None while it is worked out."""
        return self._now.get(BASE)

    @property
    def study(self) -> Study:
        """The study of the design worked on; waited for where it is still being worked out."""
        self._settle()
        return self._now[self.option]

    @property
    def base_study(self) -> Study:
        """The study of the base design alone; waited for like `study`."""
        self._settle()
        return self._now[BASE]

    @property
    def listed(self) -> Study:
        """The study of the design worked on with what was found so far in the others that are on the quote.

        Waited for like `study`; the others are not (see `Studies.missing`).
        """
        if self._listed is None:
            study, base, of = self.study, self.base_study, self.studies.of
            base = base.with_options(o for a in self.whole.alternatives if (o := of(a.id)) is not None)
            self._listed = base if study.option == BASE else study.seen_with(base)
        return self._listed

    def _designs(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys((self.option, BASE)))

    def _settle(self) -> None:
        """Wait for the studies of the job that holds; what is under way for it is not begun again."""
        if self.option in self._now:
            return
        if self._asked is None:
            self._ask()
        assert self._asked is not None
        self._take_answer(self._asked.result())

    def _ask(self) -> Future[object]:
        """Begin the studies of the design worked on and of the base, in the place of those under way."""
        whole, book, on, designs = self.whole, self.book, self.today(), self._designs()
        self._on = on
        self._now, self._listed, self._lost, self._price = {}, None, False, None
        self._asking += 1
        asking, shown = self._asking, designs[0]
        self.studies.follow(whole, book, on)

        def work(going: Going) -> dict[str, Study]:
            # Nobody waits for proofs to see what it costs.
            self._heard.emit(asking, self._pipeline.price(whole, book, shown, going))
            return {option: self._pipeline.alone(whole, book, on, option, going) for option in designs}

        self._asked = asked = self._work.start(
            work, lambda answer: self._arrive(asked, answer), lambda error: self._lose(asked, error)
        )
        return asked

    def _hold(self, studies: dict[str, Study]) -> None:
        self._now, self._listed, self._asked = studies, None, None
        self._is_late = False
        self._patience.stop()
        self._on = next(iter(studies.values())).on
        self.studies.put(studies.values())

    def _take_answer(self, answer: object) -> None:
        assert isinstance(answer, dict)
        self._hold(answer)

    def _arrive(self, asked: Future[object], answer: object) -> None:
        """The answer came back through the window's events; it may have been waited for before."""
        if asked is self._asked:
            self._take_answer(answer)
        if not self._told:
            self._tell_there()

    def _hear_price(self, asking: int, price: Price) -> None:
        if asking == self._asking and self.known is None:
            self._price = price
            self.priced.emit()

    def _tell_there(self) -> None:
        self._told = True
        self.worked_out.emit()
        # What is shown first is not held up by what is worked out beside it.
        self.turns.give(self.studies.go_on)

    def _run_late(self) -> None:
        if self.known is None:
            self._is_late = True
            self.late.emit()

    def _lose(self, asked: Future[object], error: BaseException) -> None:
        if asked is not self._asked or self._told:
            return
        self._told = self._lost = True
        self._patience.stop()
        try:
            self.worked_out.emit()
        finally:
            raise error

    def _list_anew(self) -> None:
        self._listed = None

    def _tell_not_compared(self, error: BaseException) -> None:
        self.said.emit(f"The options could not be worked out: {error}")

    def end(self) -> None:
        """Leave what is under way beside the window and wait for its end."""
        self._patience.stop()
        self.turns.leave()
        self._work.stop()
        self.studies.wait()
        self._work.wait()

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

    def whole_study(self) -> Callable[[Going], Study]:
        """What works out the study of the job that holds with all its options, beside the window or in it.

        The quote is written from it, whatever option is worked on.
        """
        return partial(self._pipeline.study, self.whole, self.book, self.today())

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
        """What was typed and not taken over, and what was found in all designs on the quote, in their order.

        Waited for like `listed`.
        """
        return in_order((*self.kept_back, *self.listed.findings))

    @property
    def signable_findings(self) -> tuple[Finding, ...]:
        """What was typed and not taken over, and what was found in the designs on the quote, whatever is worked on.

        Waited for like `listed`; an offered option that is not worked out yet is not among them.
        """
        base, of = self.base_study, self.studies.of
        whole = base.with_options(o for a in self.whole.alternatives if (o := of(a.id)) is not None)
        return in_order((*self.kept_back, *whole.findings))

    @property
    def kept_back(self) -> tuple[Finding, ...]:
        """What was typed and not taken over, in the design worked on."""
        kept = (*self.job_holder.kept_back(), *self.book_holder.kept_back())
        return tuple(replace(finding, option=self.option) for finding in kept)

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
        self.turns.leave()
        asked = self._ask()
        if self.patience_s is None:
            self._told = True
            try:
                self._lost = asked.exception() is not None
                self._take_answer(asked.result())
            finally:
                self.changed.emit()
            self.studies.go_on()
            return
        self._told = False
        if self.patience_s <= 0:
            self._is_late = True
        elif not self._is_late and not self._patience.isActive():
            # Of several acts in a row the first began to wait: what is shown is from before it.
            self._patience.start(round(self.patience_s * 1000))
        self.changed.emit()


class _SessionHolder(Holder):
    """Follows a session."""

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._session = session
        session.changed.connect(self.changed)

    @property
    def figures(self) -> Figures:
        """As the job's are."""
        return figures_of(self._session.job)

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
        parts = self._session.parts_with(acts.design_at(job).makers)
        if field.catalogue == "nozzle_sizes":
            return flow_sizes(parts, figures_of(job))
        found = acts.choices(job, field, parts)
        if (*parent, field.name) == ("site", "air", "reference"):
            return air_choices(found, figures_of(job))
        return found

    def suggestions(self, field: FieldSpec, parent: Path) -> tuple[str, ...]:
        """Segments of the line that a measured length or a tube size is stated for."""
        if field.name != "segment" or parent[:2] != ("design", "lines"):
            return ()
        known = self._session.known  # while it is worked out there is nothing to suggest
        line = known and known.layout.line(self.at((*parent[:3], "service")))
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
