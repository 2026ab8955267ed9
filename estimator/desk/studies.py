"""The designs of the open job worked out beside the window, each once, for whoever asks.

The list of findings, the table of options and the paper rely on the same answers. A design is worked out again only
where something that its study follows from is another.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import date

from PySide6.QtCore import QObject, Signal

from estimator.desk.work import Course, Step
from estimator.going import Going
from estimator.model.job import Job
from estimator.model.option_designs import option_ids, option_name
from estimator.model.options import BASE
from estimator.model.pricebook import PriceBook
from estimator.pricing.compare import OptionFigures, option_figures
from estimator.study import Pipeline, Study, followed

__all__ = ["Studies"]


@dataclass(frozen=True, slots=True)
class _Key:
    """What a step works out: a design, what it follows from, and whether its figures to compare are wanted too.

    A step that leaves the figures out is no other one: it goes on, and they are worked out after it.
    """

    option: str
    follows: tuple[object, ...]
    figures: bool = field(compare=False)


@dataclass(frozen=True, slots=True)
class _Known:
    follows: tuple[object, ...]
    study: Study
    figures: OptionFigures | None = None


class Studies(QObject):
    """The studies of all designs that are wanted: of those on the quote always, of the others where they are compared.

    Args:
        pipeline: works them out; what others asked it for is found ready.

    Signals:
        arrived: id of a design whose study is there.
        moved: another one is there, or some were left, or are taken up again.
        began: some are being worked out.
        failed: one could not be worked out; the others are left.
    """

    arrived = Signal(str)
    moved = Signal()
    began = Signal()
    failed = Signal(object)

    def __init__(self, pipeline: Pipeline, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pipeline = pipeline
        self._course = Course(self)
        self._known: dict[str, _Known] = {}
        self._inputs: tuple[Job, PriceBook, date] | None = None
        self._follows: dict[str, tuple[object, ...]] = {}
        self._compared = False
        self._left: dict[str, tuple[object, ...]] = {}

    # Asking.

    def of(self, option: str) -> Study | None:
        """The study of a design as the job holds it now, None where it is not worked out."""
        known = self._known.get(option)
        return known.study if known is not None and known.follows == self._follows.get(option) else None

    def figures(self, option: str) -> OptionFigures | None:
        """What is compared of a design, None where it is not worked out."""
        return self._known[option].figures if self.of(option) is not None else None

    @property
    def wanted(self) -> tuple[str, ...]:
        """Ids of the designs that are to be there, in the order of the job."""
        if self._inputs is None:
            return ()
        whole = self._inputs[0]
        if self._compared:
            return option_ids(whole)
        offered = tuple(a.id for a in whole.alternatives if a.offered)
        # An offered option is held against the base, whatever is worked on.
        return (BASE, *offered) if offered else ()

    @property
    def missing(self) -> tuple[str, ...]:
        """Those of them that are not there yet."""
        return tuple(option for option in self.wanted if not self._is_there(option))

    @property
    def is_busy(self) -> bool:
        """Whether some of them are being worked out."""
        return self._course.is_busy

    @property
    def is_left(self) -> bool:
        """Whether the person left some that are missing, or one of them failed."""
        return any(self._left.get(option) == self._follows[option] for option in self.missing)

    def _is_there(self, option: str) -> bool:
        return (self.figures(option) if self._compared else self.of(option)) is not None

    # Working.

    def follow(self, whole: Job, book: PriceBook, on: date) -> None:
        """Another job, price book or day holds; nothing new begins before `go_on`.

        What is under way goes on where it works out what is still wanted.
        """
        self._inputs = whole, book, on
        self._follows = {option: followed(whole, book, on, option) for option in option_ids(whole)}
        self._known = {option: known for option, known in self._known.items() if option in self._follows}
        self._left = {option: at for option, at in self._left.items() if self._follows.get(option) == at}
        self._course.keep([self._key(option) for option in self.missing])

    def put(self, studies: Iterable[Study]) -> None:
        """Studies of the job that holds, worked out elsewhere."""
        for study in studies:
            known, follows = self._known.get(study.option), self._follows[study.option]
            figures = known.figures if known is not None and known.follows == follows else None
            self._known[study.option] = _Known(follows, study, figures)

    def compare(self, compared: bool) -> None:
        """Whether all designs are wanted with their figures, or from the next act on those on the quote alone."""
        if compared is not self._compared:
            self._compared = compared
            if compared:
                self.go_on()

    def go_on(self) -> None:
        """Work out what is missing and was not left."""
        if self._inputs is None:
            return
        steps = [
            Step(key, self._task(key))
            for key in map(self._key, self.missing)
            if self._left.get(key.option) != key.follows
        ]
        self._course.want(steps, self._arrive, self._fail)
        if steps:
            self.began.emit()

    def again(self) -> None:
        """Work out those, too, that were left."""
        self._left = {}
        self.go_on()
        self.moved.emit()

    def stop(self) -> None:
        """Leave those that are missing, until what they follow from is another or they are asked for again."""
        self._left = {option: self._follows[option] for option in self.missing}
        self._course.stop()
        self.moved.emit()

    def wait(self) -> None:
        """Until nothing is under way; nothing can be worked out afterwards."""
        self._course.wait()

    def _key(self, option: str) -> _Key:
        return _Key(option, self._follows[option], self._compared)

    def _task(self, key: _Key) -> Callable[[Going], object]:
        assert self._inputs is not None
        whole, book, on = self._inputs
        there = self.of(key.option)

        def work(going: Going) -> _Known:
            study = there or self._pipeline.alone(whole, book, on, key.option, going)
            going.check()
            if not key.figures:
                return _Known(key.follows, study)
            name = option_name(whole, key.option)
            figures = option_figures(key.option, name, study.price, study.proof, study.risk.result)
            return _Known(key.follows, study, figures)

        return work

    def _arrive(self, key: object, answer: object) -> None:
        assert isinstance(key, _Key)
        assert isinstance(answer, _Known)
        self._known[key.option] = answer
        self.arrived.emit(key.option)
        self.moved.emit()
        if not self._is_there(key.option):
            self.go_on()

    def _fail(self, error: BaseException) -> None:
        self._left = {option: self._follows[option] for option in self.missing}
        self.failed.emit(error)
        self.moved.emit()
