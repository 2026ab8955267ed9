"""Range and risk: how sure the cost is, what the firm price buys, and which rows make it unsure."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from estimator.desk.flow import Flow
from estimator.desk.plain import tip
from estimator.desk.session import Session
from estimator.desk.tables import plain_label
from estimator.desk.views.spread import SpreadBar, SpreadChart
from estimator.money import money_text
from estimator.pricing.firmness import firmness
from estimator.pricing.policy import Bought, chance_words, what_it_buys
from estimator.takeoff.words import row_words

if TYPE_CHECKING:
    from estimator.pricing.risk import RiskItem, RiskModel
    from estimator.pricing.spread import FirmUp, SpreadRow

__all__ = ["RiskView"]

_ROWS = 12
_FIGURES = (
    ("floor", "Hard floor", "Every row at its low cost."),
    ("p10", "P10", "Cost that is not passed with 10 % chance."),
    ("p50", "P50", "Cost that is not passed with 50 % chance."),
    ("p90", "P90", "Cost that is not passed with 90 % chance."),
    ("ceiling", "Hard ceiling", "Every row at its high cost."),
)
_NOTE = (
    "Each row: beta-PERT of its low, likely and high cost (Malcolm et al. 1959). Rows of one “moves with” group move "
    "together, groups are independent. These are figures of your price book, not a promise."
)


class RiskView(QWidget):
    """The distribution of the cost, kept up with every edit.

    Signals:
        wanted: place of a row of the price book to go to.
    """

    wanted = Signal(str)

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.model: RiskModel | None = None
        self.bought: Bought | None = None
        self.spread: tuple[SpreadRow, ...] = ()
        self.firm: FirmUp | None = None
        self._of: object = None
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 6, 0, 0)
        column.setSpacing(6)
        row = Flow(10)
        self.figures = {}
        for key, name, meaning in _FIGURES:
            caption = plain_label(self, style="faint", wrap=False)
            caption.setText(f"{name} of cost" if key.startswith("p") else name)
            label = plain_label(
                self, f"{name} of cost", "paneTitle" if key.startswith("p") else "", wrap=False
            )
            for widget in (caption, label):
                widget.setToolTip(tip(meaning))
            label.setAccessibleDescription(meaning)
            figure = QWidget(self)
            lines = QVBoxLayout(figure)
            lines.setContentsMargins(0, 0, 0, 0)
            lines.setSpacing(0)
            lines.addWidget(caption)
            lines.addWidget(label)
            row.add(figure, fills=True)
            self.figures[key] = label
        column.addLayout(row)
        self.covers = plain_label(self, "What the firm price buys")
        self.basis = plain_label(self, "How the firm price is made", "faint")
        self.how_firm = plain_label(self, "How firm the figures are", "faint")
        self.sentence = plain_label(self, "What firming up would do", "paneTitle")
        self.chart = SpreadChart(self)
        self.chart.entered.connect(self._go)
        self.note = plain_label(self, "How it is worked out", "faint")
        self.note.setText(_NOTE)
        column.addWidget(self.covers)
        column.addWidget(self.basis)
        column.addWidget(self.how_firm)
        column.addWidget(self.sentence)
        column.addWidget(self.chart, 1)
        column.addWidget(self.note)

    def showEvent(self, event: QShowEvent) -> None:
        """Work out what was left while out of view."""
        super().showEvent(event)
        self.refresh()

    def refresh(self) -> None:
        """Show what holds, if in view; only the groups that changed are worked out anew."""
        session = self._session
        now = (session.study.price, session.job.terms, session.study.prices)
        if not self.isVisible():
            return
        if now == self._of:
            self.chart.update()
            return
        self._of = now
        from estimator.pricing.spread import firm_up, spread  # loaded, numpy with it, when the view is seen

        price, terms = session.study.price, session.job.terms
        self.model = session.study.risk
        result = self.model.result

        def money(amount: Decimal) -> str:
            return money_text(amount, price.currency, terms.locale)

        for key, _, _ in _FIGURES:
            self.figures[key].setText(money(getattr(result, key)))
        self.bought = what_it_buys(price, terms, result, session.today())
        words = self.bought.words
        if not price.complete:
            words += " ▲ Some parts have no price; they are in none of these figures."
        self.covers.setText(words)
        firm = firmness(result.floor, result.likely, result.ceiling)
        self.basis.setText(price.basis.words)
        self.how_firm.setText(f"Cost: {firm.words}" if firm else "")
        called = row_words(session.job)
        names = {r.takeoff.key: called.named(r.description, r.takeoff) for r in price.rows}
        codes = {r.takeoff.key: r.takeoff.code for r in price.rows}
        self.firm = firm_up(self.model, 3, names)
        self.sentence.setText(self.firm.sentence)
        self.spread = spread(self.model, _ROWS)
        before = result.p90 - result.p10
        self.chart.show_bars(
            tuple(
                SpreadBar(
                    key=codes[row.item.key],
                    name=names[row.item.key],
                    share=row.share,
                    share_text=chance_words(max(row.share, 0.0)),
                    more=f"{money(row.item.low)} – {money(row.item.high)}",
                    told=(
                        f"Likely {money(row.item.likely)}. Known for certain, the range from P10 to P90 would be "
                        f"{money(row.range_without)} instead of {money(before)}."
                        f"{_firm(row.item)}"
                    ),
                )
                for row in self.spread
            )
        )

    def _go(self, code: str) -> None:
        extras = {
            r.takeoff.code: r.takeoff.objects[0]
            for r in self._session.study.price.rows
            if r.takeoff.objects and r.takeoff.objects[0].startswith("terms.")
        }
        self.wanted.emit(extras.get(code, f"price_book.{code}"))


def _firm(item: RiskItem) -> str:
    found = firmness(item.low, item.likely, item.high)
    return f" {found.words}" if found else ""
