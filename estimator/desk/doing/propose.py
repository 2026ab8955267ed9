"""The act that proposes sizes: worked out beside the window, shown in a dialog, taken as one act or left."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import QApplication, QWidget

from estimator.desk.session import Session
from estimator.desk.work import Work

if TYPE_CHECKING:
    from estimator.acts.propose import PricedProposal
    from estimator.desk.doing.propose_dialog import ProposeDialog

__all__ = ["ProposeAct"]


class ProposeAct(QObject):
    """Runs a proposal.

    Signals:
        failed: it could not be worked out.
        shown: the dialog is there.
    """

    failed = Signal(object)
    shown = Signal()

    def __init__(self, session: Session, parent: QWidget) -> None:
        super().__init__(parent)
        self._session = session
        self._parent = parent
        self.work = Work(self)
        self.work.left.connect(self._left)
        self.dialog: ProposeDialog | None = None
        self._ended = False

    def _left(self) -> None:
        QApplication.restoreOverrideCursor()
        if self.dialog is not None:
            self.dialog.reject()
        self._session.said.emit("The search was left; the sizes are as they were.")

    def end(self) -> None:
        """Wait for what is under way and show nothing any more."""
        self.work.stop()
        self._ended = True
        self.work.wait()

    def start(self) -> None:
        """Work out a proposal for the job that holds and show it."""
        if self.work.is_busy or self.dialog is not None:
            return
        if not self._session.job.design.drops:
            self._session.said.emit("There are no drops to size yet.")
            return
        self._session.said.emit("Looking for the cheapest sizes that work …")
        self._run(self._session.job.design.pinned, self._show)

    def _run(self, pinned: tuple[str, ...], done: Callable[[PricedProposal], None]) -> None:
        from estimator.acts.propose import (  # the search is loaded when it is asked for
            PricedProposal,
            concerned,
            offer,
        )

        job, book, parts = self._session.job, self._session.book, self._session.parts
        on = self._session.today()

        def finish(found: object) -> None:
            if self._ended:
                return
            QApplication.restoreOverrideCursor()
            assert isinstance(found, PricedProposal)
            now = self._session
            if (concerned(now.job), now.book) != (concerned(job), book):
                self._run(now.job.design.pinned, done)  # what it follows from was changed meanwhile
            else:
                done(found)

        def fail(error: BaseException) -> None:
            if self._ended:
                return
            QApplication.restoreOverrideCursor()
            if self.dialog is not None:
                self.dialog.reject()
            self.failed.emit(error)

        QApplication.setOverrideCursor(Qt.CursorShape.BusyCursor)
        self.work.start(lambda going: offer(job, book, parts, pinned, on, going=going), finish, fail)

    def _show(self, found: PricedProposal) -> None:
        from estimator.desk.doing.propose_dialog import ProposeDialog

        dialog = ProposeDialog(found, self._session.book, self._session.job.terms.locale, self._parent)
        self.dialog = dialog
        dialog.pins_changed.connect(self._anew)
        dialog.finished.connect(self._closed)
        dialog.open()
        self._session.said.emit("Sizes are proposed; nothing is changed before you take them.")
        self.shown.emit()

    def _anew(self, pinned: tuple[str, ...]) -> None:
        if self.dialog is not None:
            self.dialog.set_busy(True)
        if self.work.is_busy:
            return  # asked again when the one under way is there
        self._run(pinned, self._again)

    def _again(self, found: PricedProposal) -> None:
        if self.dialog is None:
            return
        if self.dialog.pinned != found.proposal.design.pinned:
            self._run(self.dialog.pinned, self._again)
            return
        self.dialog.show_offer(found)
        self.dialog.set_busy(False)

    def _closed(self, result: int) -> None:
        dialog, self.dialog = self.dialog, None
        if dialog is None:
            return
        from estimator.acts.propose import act_name, concerned, taken  # loaded by now, with the search

        job = self._session.job
        if result and concerned(dialog.offer.of) == concerned(job):
            name = act_name(dialog.offer)
            self._session.job_holder.forget(("design",))
            self._session.act(name, job=taken(dialog.offer, job))
            self._session.said.emit(f"{name}. Undo brings the old sizes back.")
        else:
            self._session.said.emit("The sizes are as they were.")
        dialog.deleteLater()
