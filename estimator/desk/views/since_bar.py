"""What is always in view under the header: the option worked on, and what moved since the last revision."""

from __future__ import annotations

from datetime import date

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QWidget

from estimator.desk.form.inputs import ComboBox
from estimator.desk.plain import Label, menu_words, shown_text, tip
from estimator.desk.session import Session
from estimator.desk.theme import MARKS, current_theme
from estimator.model.finding import in_order
from estimator.model.grades import Grade
from estimator.model.option_designs import option_ids, option_name
from estimator.model.options import BASE
from estimator.model.revisions import issue_findings
from estimator.money import money_text
from estimator.pricing.compare import CompareError
from estimator.pricing.revise import Changes, changes_since, expired
from estimator.shown.findings import sentences_of_job

__all__ = ["SinceBar", "since_words"]


def since_words(session: Session) -> tuple[Changes | None, str]:
    """What moved since the last revision, and the line that says so; no figure while the price is worked out."""
    if session.known_base is None:
        return None, f"Since the last revision: {session.meanwhile}"
    try:
        changes = changes_since(session.whole, session.known_base.price, session.book)
    except CompareError as error:
        return None, str(error)
    if changes is None:
        return None, "All revisions are withdrawn" if session.whole.issued else "Not issued yet"
    amount = money_text(changes.difference, changes.price.currency, session.job.terms.locale)
    sign = "+" if changes.difference > 0 else ""
    count = len(changes.words)
    number = "nothing changed" if not count else "1 change" if count == 1 else f"{count} changes"
    return changes, f"Since revision {changes.letter}: {sign}{amount}, {number}"


_WIDEST_NAME = 300
"""Pixels of the names of options, which people write."""


class SinceBar(QFrame):
    """One line above everything.

    Signals:
        wanted: the list of what moved is asked for.
    """

    wanted = Signal()

    def __init__(self, session: Session, parent: QWidget) -> None:
        super().__init__(parent)
        self._session = session
        self._of: object = None
        row = QHBoxLayout(self)
        row.setContentsMargins(4, 0, 4, 0)
        row.setSpacing(8)
        label = Label("Wor&king on", self)
        self.option = ComboBox(self)
        self.option.setAccessibleName("Option worked on")
        self.option.setAccessibleDescription("Form, plan, price and proof show this option. Undo goes back.")
        self.option.setToolTip(tip(self.option.accessibleDescription()))
        self.option.setMaximumWidth(_WIDEST_NAME)
        self.option.activated.connect(self._choose)
        label.setBuddy(self.option)
        self.reach = ComboBox(self)
        self.reach.setAccessibleName("Edits of the design go to")
        self.reach.setAccessibleDescription(
            "Whether an edit is one of all options or of this one alone. What it has of its own stays its own."
        )
        self.reach.setToolTip(tip(self.reach.accessibleDescription()))
        self.reach.addItem("Edits go to all options", False)
        self.reach.addItem("Edits stay only here", True)
        self.reach.show_whole()
        self.reach.activated.connect(self._choose_reach)
        self.since = QPushButton(self)
        self.since.setAutoDefault(False)
        self.since.setAccessibleDescription("Shows the list of what moved.")
        self.since.clicked.connect(lambda _=False: self.wanted.emit())
        row.addWidget(label)
        row.addWidget(self.option)
        row.addWidget(self.reach)
        row.addStretch(1)
        row.addWidget(self.since)

    def _choose(self, index: int) -> None:
        self._session.work_on(str(self.option.itemData(index)))

    def _choose_reach(self, index: int) -> None:
        self._session.only_here = bool(self.reach.itemData(index))

    def refresh(self) -> None:
        """Show what holds."""
        session, whole = self._session, self._session.whole
        names = [(o, option_name(whole, o)) for o in option_ids(whole)]
        if not self.option.offers(names):
            self.option.clear()
            for option, name in names:
                self.option.offer(name, option)
            self.option.show_whole(_WIDEST_NAME)
        self.option.setCurrentIndex(self.option.findData(session.option))
        self.reach.setVisible(session.option != BASE)
        self.reach.setCurrentIndex(self.reach.findData(session.only_here))
        today: date = session.today()
        now = (whole, session.book, today, current_theme(), session.known_base is None and session.meanwhile)
        if now == self._of:
            return
        self._of = now
        _, words = since_words(session)
        wrong = (*issue_findings(whole), *expired(whole, today))
        colour = current_theme().ink
        told = "Shows the list of what moved."
        if wrong:
            worst = in_order(wrong)[0].grade
            short = "a revision was changed outside" if worst is Grade.MEND else "expired"
            words = f"{MARKS[worst]} {words} · {short}"
            colour = current_theme().of(worst)
            told = " ".join(map(sentences_of_job(whole).installer, wrong))
        self.since.setText(menu_words(words))
        self.since.setToolTip(tip(told))
        self.since.setAccessibleDescription(shown_text(told))
        if self.since.styleSheet() != (style := f"color: {colour};"):
            self.since.setStyleSheet(style)
