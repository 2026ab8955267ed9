"""The open document as a value: the job with its history, what the file holds, which option is worked on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

from estimator.acts.history import History
from estimator.acts.options import with_edit
from estimator.model.job import Job
from estimator.model.option_designs import option_ids, option_name, worked_on
from estimator.model.options import BASE
from estimator.model.pricebook import PriceBook

__all__ = ["Document", "State"]


@dataclass(frozen=True)
class State:
    """What an act changes.

    Attributes:
        whole: the job as it is kept in a file.
        book: the price book.
        option: id of the option worked on.
    """

    whole: Job
    book: PriceBook
    option: str = BASE

    @cached_property
    def job(self) -> Job:
        """The job with the design of the option worked on in the place of the base design."""
        return self.whole if self.option == BASE else worked_on(self.whole, self.option)

    def whole_with(self, job: Job, *, only_here: bool = False) -> Job:
        """The whole job after an edit of what is seen.

        Args:
            job: what is seen, changed.
            only_here: the design of the option worked on alone is meant, and not that of all options.

        Raises:
            EditError: the whole job would not hold together.
        """
        return with_edit(self.whole, self.option, job, only_here=only_here)


@dataclass(frozen=True, slots=True)
class Document:
    """One open job; every act gives a new document.

    A job holds several options; one of them is worked on. `job` is the job as if that option were its base design,
    so that whoever shows or changes it needs to know nothing of options; `whole` is what a file holds.

    Attributes:
        history: of its states.
        saved: what the file holds.
        path: of the file, None for a job that no file holds yet.
    """

    history: History[State]
    saved: Job
    path: Path | None = None

    @classmethod
    def of(cls, job: Job, book: PriceBook, path: Path | None = None, *, saved: bool = True) -> Document:
        """The document of a job that was just begun or opened.

        Args:
            saved: False for a recovered copy, which no file holds.
        """
        return cls(History.of(State(job, book)), job if saved else Job(), path)

    @property
    def job(self) -> Job:
        """The job that holds, with the option worked on as its base design."""
        return self.history.now.job

    @property
    def whole(self) -> Job:
        """The job that holds, as it is kept in a file."""
        return self.history.now.whole

    @property
    def book(self) -> PriceBook:
        """The price book that holds."""
        return self.history.now.book

    @property
    def option(self) -> str:
        """Id of the option worked on."""
        return self.history.now.option

    @property
    def is_modified(self) -> bool:
        """Whether the job differs from what the file holds."""
        return self.whole is not self.saved and self.whole != self.saved

    def after(
        self, name: str, *, job: Job | None = None, book: PriceBook | None = None, only_here: bool = False
    ) -> Document:
        """After one act on what is seen.

        Args:
            name: what undo calls it.
            job: what is seen, changed: its design is that of the option worked on.
            book: another price book.
            only_here: the edit is one of the option worked on alone, and not of all options.

        Raises:
            EditError: the whole job would not hold together.
        """
        whole = self.whole if job is None else self.history.now.whole_with(job, only_here=only_here)
        return self.after_whole(name, whole, book=book)

    def after_whole(
        self,
        name: str,
        whole: Job,
        *,
        option: str | None = None,
        book: PriceBook | None = None,
        final: bool = False,
    ) -> Document:
        """After one act on the whole job.

        Args:
            name: what undo calls it.
            whole: the job, changed.
            option: id of the option to work on from now on; the base where the old one is gone.
            book: another price book.
            final: it cannot be undone, nor what was done before it.
        """
        to = option or self.option
        if to not in option_ids(whole):
            to = BASE
        state = State(whole, book or self.book, to)
        return replace(self, history=self.history.after(name, state, final=final))

    def working_on(self, option: str) -> Document:
        """Another option shown and changed from now on, as an act.

        Raises:
            LookupError: there is none of that id.
        """
        name = option_name(self.whole, option)
        return (
            self if option == self.option else self.after_whole(f"Work on {name}", self.whole, option=option)
        )

    def undone(self) -> Document:
        """Without the last act."""
        return replace(self, history=self.history.back())

    def redone(self) -> Document:
        """With the act that was undone last."""
        return replace(self, history=self.history.forth())

    def at(self, position: int) -> Document:
        """The state after that many acts.

        Raises:
            IndexError: there are not that many, or one that cannot be undone lies after them.
        """
        return replace(self, history=self.history.at(position))

    def saved_to(self, path: Path) -> Document:
        """The file at the path now holds the job."""
        return replace(self, saved=self.whole, path=path)
