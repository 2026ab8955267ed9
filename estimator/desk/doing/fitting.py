"""Parts that stand their product in place of one that does not: a menu with prices, each an act that can be undone."""

from __future__ import annotations

from PySide6.QtCore import QObject, QPoint, Signal
from PySide6.QtWidgets import QMenu, QWidget

from estimator.acts.fitting import FitPart, fits, place_of_fit
from estimator.desk.session import Session
from estimator.desk.work import Work
from estimator.money import money_text
from estimator.shown.entries import Entry

__all__ = ["FittingAct"]


class FittingAct(QObject):
    """Offers what stands a product, for an entry of the list of findings.

    Signals:
        failed: it could not be looked for.

    Args:
        session: the open job.
        parent: above which window it offers.
    """

    failed = Signal(object)

    def __init__(self, session: Session, parent: QWidget) -> None:
        super().__init__(parent)
        self._session, self._parent = session, parent
        self.menu: QMenu | None = None
        self.work = Work(self)
        self._ended = False

    def can_offer(self, entry: Entry | None) -> bool:
        """Whether an entry is about a part of the design worked on that does not stand its product."""
        return entry is not None and place_of_fit(entry.first) and entry.first.option == self._session.option

    def start(self, entry: Entry | None) -> None:
        """Look for what there is beside the window, and show it when it is there."""
        if entry is None or not self.can_offer(entry):
            return
        job, book, on = self._session.job, self._session.book, self._session.today()
        finding = entry.first

        def found(answer: object) -> None:
            if self._ended:
                return
            if self._session.job is not job:
                self._session.said.emit("The job was changed meanwhile; ask again for parts that stand it.")
                return
            assert isinstance(answer, tuple)
            self._show(answer)

        def failed(error: BaseException) -> None:
            if not self._ended:
                self.failed.emit(error)

        self._session.said.emit("Looking for parts that stand it …")
        self.work.start(lambda going: fits(job, book, on, finding, going), found, failed)

    def end(self) -> None:
        """Wait for what is under way and show nothing any more."""
        self._ended = True
        self.work.wait()

    def _show(self, found: tuple[FitPart, ...]) -> None:
        """A menu, the cheapest first, with what each makes of the total."""
        menu = QMenu("Parts that stand it", self._parent)
        for fit in found:
            action = menu.addAction(f"{fit.act}: {self._price(fit)}".replace("&", "&&"))
            action.triggered.connect(lambda _=False, fit=fit: self._take(fit))
        if not found:
            nothing = menu.addAction(
                "Nothing in the catalogue does; choose another product or a maker's part."
            )
            nothing.setEnabled(False)
        if self.menu is not None:
            self.menu.deleteLater()
        self.menu = menu
        self._session.said.emit("")
        menu.popup(self._parent.mapToGlobal(QPoint(self._parent.width() // 2, self._parent.height() // 2)))

    def _price(self, fit: FitPart) -> str:
        if fit.extra is None:
            return "price not known"
        session = self._session
        told = money_text(fit.extra, session.book.currency, session.job.terms.locale)
        return f"+{told}" if fit.extra >= 0 else told

    def _take(self, fit: FitPart) -> None:
        self._session.act(fit.act, job=fit.job)
        self._session.said.emit(f"{fit.name} is in its place. Undo takes it back.")
