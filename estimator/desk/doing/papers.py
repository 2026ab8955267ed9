"""The papers of the window: made once for preview and file alike, written one after the other beside the window."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from estimator.desk.doing.questions import Dialogs
from estimator.desk.doing.work import Queue
from estimator.going import Going
from estimator.model.finding import Severity
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook
from estimator.shown.papers import draft_path, paper_stem
from estimator.store.files import FileTrouble, write_whole

if TYPE_CHECKING:
    from estimator.desk.session import Session

__all__ = ["Draft", "Papers"]

_PAPERS = "PDF (*.pdf)"


@dataclass(frozen=True, slots=True)
class Draft:
    """A draft of the quote as it was made.

    Attributes:
        whole, book, on: what it was made of, and the day that it holds for.
        pdf: its bytes; whoever shows or writes this draft has these and no others.
    """

    whole: Job
    book: PriceBook
    on: date
    pdf: bytes


class Papers(QObject):
    """Makes drafts and writes papers.

    Args:
        session: the open job.
        dialogs: asks the person.

    Signals:
        finished: no paper is under way any more; False where one of them could not be written.
    """

    finished = Signal(bool)

    def __init__(self, session: Session, dialogs: Dialogs, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session, self._dialogs = session, dialogs
        self.queue = Queue(self)
        self.queue.idle.connect(self.finished)
        self.queue.left.connect(lambda: session.said.emit("Left: what was not written yet is not written."))
        self.in_view: Draft | None = None
        self._last: Draft | None = None
        self._making = Lock()
        self._issuing = False

    @property
    def is_busy(self) -> bool:
        """Whether papers are under way."""
        return self.queue.is_busy

    @property
    def is_issuing(self) -> bool:
        """Whether the paper of a revision is under way: the next letter is not known before it is issued."""
        return self._issuing

    def draft(self) -> Callable[[Going], Draft]:
        """What makes the draft of the job that holds, on this day; the same object where it was made already."""
        session = self._session
        inputs = session.whole, session.book, session.today()
        work_out = session.whole_study()

        def make(going: Going) -> Draft:
            with self._making:  # preview and queue may want the same one at once
                last = self._last
                if last is None or (last.whole, last.book, last.on) != inputs:
                    from estimator.documents.quote import write_quote  # loaded when a paper is wanted

                    going.check()
                    study = work_out()
                    going.check()
                    last = self._last = Draft(*inputs, write_quote(study))
                return last

        return make

    def write_draft(self) -> None:
        """Write the quote to a file that the person picks: the draft in view where there is one, byte for byte."""
        session, dialogs = self._session, self._dialogs
        # Before any question: while one is open a new day may begin, and what was seen is what is wanted.
        seen = self.in_view
        if seen is not None and (seen.whole, seen.book) != (session.whole, session.book):
            seen = None
        errors = sum(f.severity is Severity.ERROR for f in session.findings)
        if errors and not dialogs.ask(
            "Write the quote",
            f"There {'is 1 error' if errors == 1 else f'are {errors} errors'} in the list of what is missing or "
            "wrong. The quote would not be right.",
            "Write it anyway",
        ):
            return
        suggestion = Path(paper_stem(session.whole) + ".pdf")
        wanted = dialogs.where_to("Write a draft of the quote", _PAPERS, suggestion)
        if wanted is None:
            return
        path = draft_path(wanted)
        # The question whether to write over a file was asked for the name that was typed.
        if (
            path != wanted
            and path.exists()
            and not dialogs.ask("Write the quote", f"{path} is there already.", "Write over it")
        ):
            return
        make = self.draft()

        def write(going: Going) -> None:
            made = seen if seen is not None else make(going)
            going.check()
            write_whole(path, made.pdf)

        session.said.emit(f"Writing {path.name} …")
        self.queue.start(write, lambda _: session.said.emit(f"Wrote {path}."), self._not_written, path.name)

    def start_issue(
        self,
        task: Callable[[Going], object],
        done: Callable[[object], None],
        failed: Callable[[BaseException], None],
        name: str,
    ) -> None:
        """Issue a revision in its turn; `is_issuing` until it was told."""

        def ended() -> None:
            self._issuing = False
            self.queue.left.disconnect(ended)

        def finish(answer: object) -> None:
            ended()
            done(answer)

        def fail(error: BaseException) -> None:
            ended()
            failed(error)

        self._issuing = True
        self.queue.left.connect(ended)
        self.queue.start(task, finish, fail, name)

    def _not_written(self, error: BaseException) -> None:
        if isinstance(error, FileTrouble):
            self._dialogs.tell("The quote was not written", [str(error)])
        else:
            self.tell_failure(error)

    def tell_failure(self, error: object) -> None:
        """A paper could not be made; the job is untouched."""
        sentences = [str(error) or type(error).__name__, "The job is as it was."]
        self._dialogs.tell("The quote could not be made", sentences)
