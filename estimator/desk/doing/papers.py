"""The papers of the window: made once for preview and file alike, written one after the other beside the window."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from estimator.acts.signable import blocked_words
from estimator.desk.doing.questions import Dialogs
from estimator.desk.work import Queue, Task
from estimator.going import Going
from estimator.model.finding import Severity
from estimator.model.grades import Grade
from estimator.model.issued import Issued, PaperError, kept_paper
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook
from estimator.model.signing import blocking
from estimator.shown.papers import draft_path, paper_stem
from estimator.store.files import FileTrouble, write_whole

if TYPE_CHECKING:
    from estimator.desk.session import Session
    from estimator.study import Study

__all__ = ["Draft", "Papers"]

_PAPERS = "PDF (*.pdf)"


@dataclass(frozen=True, slots=True)
class Draft:
    """A draft of the quote as it was made.

    Attributes:
        whole, book, on: what it was made of, and the day that it holds for.
        pdf: its bytes; whoever shows or writes this draft has these and no others.
        kept_back: how many findings keep it from being issued.
    """

    whole: Job
    book: PriceBook
    on: date
    pdf: bytes
    kept_back: int = 0


class _KeptBack(Exception):
    """A draft that the person was not asked about; the message says what keeps it back."""


def _kept_back_words(count: int) -> str:
    return f"{blocked_words(count)} A draft says so on its cover and above the signature."


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
        self.queue.left.connect(self._left)
        self.in_view: Draft | None = None
        self._last: Draft | None = None
        self._making = Lock()
        self._issuing = False
        self._awaited: list[Path] = []

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
                    study = work_out(going)
                    going.check()
                    last = self._last = Draft(
                        *inputs, write_quote(study, going), len(blocking(study.job, study.findings))
                    )
                return last

        return make

    def write_draft(self) -> None:
        """Write the quote to a file that the person picks: the draft in view where there is one, byte for byte."""
        session, dialogs = self._session, self._dialogs
        # Before any question: while one is open a new day may begin, and what was seen is what is wanted.
        seen = self.in_view
        if seen is not None and (seen.whole, seen.book) != (session.whole, session.book):
            seen = None
        never = len(blocking(session.whole, session.signable_findings))
        if never and not dialogs.ask(
            "Write the quote", _kept_back_words(never), "Write a draft that says so"
        ):
            return
        errors = len(
            [
                f
                for f in session.signable_findings
                if f.severity is Severity.ERROR and f.grade is not Grade.NEVER
            ]
        )
        if errors and not dialogs.ask(
            "Write the quote",
            f"There {'is 1 error' if errors == 1 else f'are {errors} errors'} in the list of what is missing or "
            "wrong. The quote would not be right.",
            "Write it anyway",
        ):
            return
        suggestion = Path(paper_stem(session.whole) + ".pdf")
        path = self.where_to("Write a draft of the quote", suggestion, draft_path)
        if path is None:
            return
        make = self.draft()

        def write(going: Going) -> None:
            made = seen if seen is not None else make(going)
            going.check()
            if made.kept_back and not never:
                # An option that was still being worked out when the person was asked.
                raise _KeptBack(_kept_back_words(made.kept_back))
            write_whole(path, made.pdf)

        self._begin(write, path)

    def write_notes(self) -> None:
        """Write the safety notes to a file that the person picks."""

        def notes(study: Study, going: Going) -> bytes:
            from estimator.documents.quote import write_notes  # loaded when a paper is wanted

            return write_notes(study, going)

        self._write_for_crew("Write the safety notes", "safety", notes)

    def write_labels(self) -> None:
        """Write the labels to a file that the person picks."""

        def labels(study: Study, going: Going) -> bytes:
            from estimator.documents.quote import write_labels  # loaded when a paper is wanted

            return write_labels(study, going)

        self._write_for_crew("Write the labels", "labels", labels)

    def _write_for_crew(self, title: str, ending: str, written: Callable[[Study, Going], bytes]) -> None:
        session = self._session
        path = self.where_to(title, Path(f"{paper_stem(session.whole)}-{ending}.pdf"))
        if path is None:
            return
        work_out = session.whole_study()

        def write(going: Going) -> None:
            pdf = written(work_out(going), going)
            going.check()
            write_whole(path, pdf)

        self._begin(write, path)

    def _begin(self, write: Task, path: Path) -> None:
        said = self._session.said
        said.emit(f"Writing {path.name} …")
        self.start(write, lambda _: said.emit(f"Wrote {path}."), self._not_written, path)

    def where_to(
        self,
        title: str,
        suggestion: Path,
        becomes: Callable[[Path], Path] | None = None,
        kinds: str = _PAPERS,
    ) -> Path | None:
        """Where a paper goes, or a file of other kinds that is written in its turn; see `Dialogs.where_to`."""
        return self._dialogs.where_to(title, kinds, suggestion, becomes=becomes, awaited=tuple(self._awaited))

    def start(
        self,
        task: Task,
        done: Callable[[object], None],
        failed: Callable[[BaseException], None],
        path: Path,
    ) -> None:
        """Write a file when those before it are written; see `Queue.start`.

        Args:
            path: of the file, which counts as there from now on.
        """

        def finish(answer: object) -> None:
            self._awaited.remove(path)
            done(answer)

        def fail(error: BaseException) -> None:
            self._awaited.remove(path)
            failed(error)

        self._awaited.append(path)
        self.queue.start(task, finish, fail, path.name)

    def _left(self) -> None:
        self._awaited.clear()
        self._issuing = False
        self._session.said.emit("Left: what was not written yet is not written.")

    def start_issue(
        self,
        task: Task,
        done: Callable[[object], None],
        failed: Callable[[BaseException], None],
        path: Path,
    ) -> None:
        """Issue a revision in its turn; `is_issuing` until it was told."""

        def finish(answer: object) -> None:
            self._issuing = False
            done(answer)

        def fail(error: BaseException) -> None:
            self._issuing = False
            failed(error)

        self._issuing = True
        self.start(task, finish, fail, path)

    def start_copy(self, issued: Issued, path: Path, words: str, otherwise: str = "") -> None:
        """Copy the paper of an issued revision to a file in its turn.

        Args:
            issued: the revision.
            path: of the copy.
            words: what is said when it is there.
            otherwise: what is told besides the trouble where it cannot be written.
        """

        def copy(going: Going) -> None:
            paper = kept_paper(issued)
            going.check()
            write_whole(path, paper)

        def fail(error: BaseException) -> None:
            trouble = str(error) if isinstance(error, FileTrouble | PaperError) else _unforeseen(error)
            self._dialogs.tell("The paper was not written", [s for s in (trouble, otherwise) if s])

        self.start(copy, lambda _: self._session.said.emit(words), fail, path)

    def _not_written(self, error: BaseException) -> None:
        if isinstance(error, FileTrouble | _KeptBack):
            self._dialogs.tell("The paper was not written", [str(error)])
        else:
            self.tell_failure(error)

    def tell_failure(self, error: object) -> None:
        """A paper could not be made; the job is untouched."""
        self._dialogs.tell("The paper could not be made", [_unforeseen(error), "The job is as it was."])


def _unforeseen(error: object) -> str:
    return str(error) or type(error).__name__
