"""What is always in view at the top: the job, the firm price and what it is made from, how many findings."""

from __future__ import annotations

from collections import Counter
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from estimator.desk.plain import Label, tip
from estimator.desk.session import Session
from estimator.desk.theme import MARKS, current_theme
from estimator.locales import number_text
from estimator.model.choices import PriceBasis
from estimator.model.grades import Grade
from estimator.model.signing import Signatures
from estimator.money import money_text
from estimator.pricing.types import FirmBasis
from estimator.shown.papers import draft_mark

__all__ = ["Header"]

_ROOM_FOR_WORDS = 1160
_MEANS: Final = {
    Grade.NEVER: "never to go out before it is mended or signed for",
    Grade.MEND: "to be mended before the quote is right",
    Grade.LOOK: "to be looked at",
    Grade.KNOW: "to be known",
}


class _Elided(Label):
    """A line of text that is cut with an ellipsis where there is no room; the tip holds all of it."""

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw what there is room for."""
        painter = QPainter(self)
        text = self.fontMetrics().elidedText(self.text(), Qt.TextElideMode.ElideRight, self.width())
        self.style().drawItemText(
            painter,
            self.rect(),
            int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter),
            self.palette(),
            True,
            text,
            self.foregroundRole(),
        )


def _basis_words(basis: FirmBasis, locale: str) -> str:
    """What the firm price is made from. No figure of cost: a customer may look at the window too."""
    if basis.kind is PriceBasis.CONFIDENCE and basis.confidence_percent is not None:
        return f"From the cost at {number_text(basis.confidence_percent, 4, locale)} % confidence"
    return "Typed by hand" if basis.kind is PriceBasis.TYPED else "From the likely cost"


class Header(QFrame):
    """Job, price and counts.

    The price is firm, so nothing stands beside it that looks like a lower or a higher one; how sure the cost is stands
    in the view of range and risk.

    Signals:
        grade_wanted: a count was pressed.
    """

    grade_wanted = Signal(Grade)

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("header")
        self._session = session
        session.priced.connect(self._show_price)
        row = QHBoxLayout(self)
        row.setContentsMargins(14, 8, 14, 8)
        row.setSpacing(24)
        names = QVBoxLayout()
        names.setSpacing(2)
        self.title = _Elided("", self)
        self.title.setObjectName("jobTitle")
        self.customer = _Elided("", self)
        self.customer.setObjectName("faint")
        for label in (self.title, self.customer):
            label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
            names.addWidget(label)
        row.addLayout(names, 5)
        firm = QVBoxLayout()
        firm.setSpacing(0)
        caption = Label("Firm price", self)
        caption.setObjectName("faint")
        self.firm = Label("", self)
        self.firm.setObjectName("firmPrice")
        self.firm.setAccessibleName("Firm price")
        firm.addWidget(caption)
        firm.addWidget(self.firm)
        row.addLayout(firm)
        ranges = QVBoxLayout()
        ranges.setSpacing(2)
        self.basis = Label("", self)
        self.basis.setAccessibleName("What the firm price is made from")
        self.state = Label("", self)
        self.state.setObjectName("faint")
        ranges.addWidget(self.basis)
        ranges.addWidget(self.state)
        row.addLayout(ranges)
        self._words: dict[Grade, tuple[str, str]] = {}
        self.counts: dict[Grade, QPushButton] = {}
        for grade in Grade:
            button = QPushButton(self)
            button.setAutoDefault(False)
            button.clicked.connect(lambda _=False, g=grade: self.grade_wanted.emit(g))
            button.setToolTip(tip(f"Go to the first of what is {_MEANS[grade]}."))
            self.counts[grade] = button
            row.addWidget(button)
        row.setSpacing(12)

    def first_input(self) -> QPushButton | None:
        """The first count that leads somewhere, None if all are well."""
        return next((b for b in self.counts.values() if b.isEnabled()), None)

    def refresh(self) -> None:
        """Show what holds."""
        session = self._session
        job = session.job
        name = job.quote.title or "Untitled job"
        file = session.path.name if session.path else "not saved yet"
        self.title.setText(name + (" *" if session.is_modified else ""))
        who = job.customer.name or "No customer yet"
        state = draft_mark(session.whole).name
        number = f" · quote {job.quote.number}, {state[0].lower()}{state[1:]}" if job.quote.number else ""
        self.customer.setText(f"{who}{number} · {file}{', changed' if session.is_modified else ''}")
        self.title.setToolTip(tip(str(session.path or "")))
        self.customer.setToolTip(tip(self.customer.text()))

        known = session.known
        price = session.price
        if price is None:
            # No figure of an earlier job stands for this one.
            self.firm.setText("…")
            self.basis.setText(session.meanwhile[:1].upper() + session.meanwhile[1:])
            self.state.setText(f"{len(job.design.drops)} drops")
            self._show_counts(None)
            return
        self.firm.setText(money_text(price.totals.total.likely, price.currency, job.terms.locale))
        self.basis.setText(_basis_words(price.basis, session.job.terms.locale))
        words = [f"{len(job.design.drops)} drops"]
        words.append(f"proof {session.meanwhile}" if known is None else f"{len(known.layout.lines)} lines")
        words.append("tax included" if job.terms.tax_percent else "no tax")
        if not price.complete:
            words.insert(0, "▲ some parts have no price")
        self.state.setText(" · ".join(words))
        if known is None:
            self._show_counts(None)
            return
        self.show_findings()

    def _show_price(self) -> None:
        """The price came before the rest; what is of before may stay until it is late."""
        if self._session.is_late:
            self.refresh()

    def show_findings(self) -> None:
        """How many findings there are now."""
        if self._session.known is not None:
            signatures = Signatures(self._session.whole)
            # What somebody signed for keeps nothing back any more.
            self._show_counts(Counter(f.grade for f in self._session.findings if signatures.of(f) is None))

    def _show_counts(self, counts: Counter[Grade] | None) -> None:
        """How many there are of each grade, None where that is not known yet."""
        theme = current_theme()
        for grade, button in self.counts.items():
            count = 0 if counts is None else counts[grade]
            number = "…" if counts is None else str(count)
            words = grade.counted(number)
            self._words[grade] = (f"{MARKS[grade]} {words}", f"{MARKS[grade]} {number}")
            button.setAccessibleName(words)
            button.setAccessibleDescription("Go to the first of them.")
            button.setEnabled(count > 0)
            # What there is none of, as a rule, takes no room.
            button.setVisible(grade is not Grade.NEVER or count > 0)
            colour = theme.of(grade) if count else theme.faint
            if button.styleSheet() != (style := f"color: {colour};"):
                button.setStyleSheet(style)  # the toolkit styles the button anew even for the same one
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """In a narrow window the counts leave their words to the tip, so that the job's name is seen."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        for grade, (whole, short) in self._words.items():
            self.counts[grade].setText(short if self.width() < _ROOM_FOR_WORDS else whole)
