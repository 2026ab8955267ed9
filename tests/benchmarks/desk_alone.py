"""The desk without its window, for programs that press its buttons thousands of times, and a person who answers."""

from __future__ import annotations

import functools
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import Final

from PySide6.QtCore import QCoreApplication, QEventLoop
from PySide6.QtWidgets import QApplication

from estimator.acts.quick_build import QuickBuild, built
from estimator.desk.doing.files import Files
from estimator.desk.doing.questions import Dialogs, UnsavedAnswer
from estimator.desk.session import Session
from estimator.model.edit import with_value
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook
from estimator.store.pricebooks import (
    PriceBookError,
    load_price_book,
    shipped_price_book,
    user_price_book_path,
)

__all__ = [
    "DAY",
    "Person",
    "application",
    "desk",
    "number_of",
    "numbered",
    "small_job",
    "until",
    "with_words",
]

DAY: Final = date(2027, 3, 1)


class Person(Dialogs):
    """Answers as told, and keeps what was told.

    Attributes:
        path: the file chosen where one is asked for.
        choice: the answer to a question of several.
        told: every sentence that was shown.
    """

    def __init__(self, path: Path | None = None, choice: int | None = None) -> None:
        super().__init__()
        self.path, self.choice = path, choice
        self.told: list[str] = []

    def tell(self, title: str, sentences: Sequence[str]) -> None:
        """Keep it."""
        self.told.append(f"{title}: {' '.join(sentences)}")

    def ask(self, title: str, question: str, yes: str, no: str = "Cancel") -> bool:
        """Yes."""
        return True

    def choose(
        self, title: str, question: str, more: str, choices: Sequence[str], otherwise: str = "Cancel"
    ) -> int | None:
        """The answer set before."""
        self.told.append(f"{title}: {question}")
        return self.choice

    def ask_unsaved(self, name: str, warning: str = "") -> UnsavedAnswer:
        """Stay."""
        return UnsavedAnswer.CANCEL

    def save_file(self, title: str, kinds: str, suggestion: Path) -> tuple[Path, str] | None:
        """The file set before, of the first kind."""
        return None if self.path is None else (self.path, kinds.partition(";;")[0])

    def open_file(self, title: str, kinds: str, folder: Path | None = None) -> Path | None:
        """The file set before."""
        return self.path


def application() -> QApplication:
    """The application; made where there is none."""
    app = QApplication.instance() or QApplication(["desk"])
    assert isinstance(app, QApplication)
    return app


def desk(person: Person) -> tuple[Session, Files]:
    """A desk with a blank job and the person's own price book; the application must be there."""
    try:
        book = load_price_book(user_price_book_path())
    except PriceBookError:
        book = shipped_price_book()
    session = Session(Job(), book)
    session.today = lambda: DAY
    return session, Files(session, person)


def until(done: Callable[[], bool]) -> None:
    """Let events happen until something is so."""
    while not done():
        QCoreApplication.processEvents(QEventLoop.ProcessEventsFlag.WaitForMoreEvents, 50)


def numbered(job: Job, number: int) -> Job:
    """The job with a number in the place of the customer's name."""
    return with_value(job, ("customer", "name"), f"{number}")


def number_of(job: Job) -> int:
    """The number that `numbered` gave it."""
    return int(job.customer.name)


@functools.cache
def small_job() -> Job:
    """A job that is quickly worked out and says what an issue asks for, number 0."""
    job = built(Job(), QuickBuild(bays=1, products=2, drops_per_side=1))
    for place, words in ((("company", "name"), "Baydrop yard"), (("quote", "number"), "1")):
        job = with_value(job, place, words)
    return numbered(job, 0)


def with_words(book: PriceBook, number: int) -> PriceBook:
    """The price book with a number in the place of its first entry's description."""
    entry = book.entries[0].model_copy(update={"description": f"{number}"})
    return book.model_copy(update={"entries": (entry, *book.entries[1:])})
