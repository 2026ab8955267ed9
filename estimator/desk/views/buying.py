"""Buying: whole coils, stock lengths and packs against what is needed, the offcut and its cost."""

from __future__ import annotations

from decimal import Decimal

from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from estimator.desk.session import Session
from estimator.desk.tables import ReadTable, TableLine, plain_label
from estimator.money import money_text
from estimator.shown.figures import Figures, figures_of
from estimator.takeoff.buying import BoughtRow
from estimator.takeoff.words import row_words

__all__ = ["BuyingView"]

_COLUMNS = ("Part", ">Needed", ">Bought", "Bought as", ">Left over", ">Cost", ">More than needed")


class BuyingView(QWidget):
    """What to buy."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._of: object = None
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 6, 0, 0)
        column.setSpacing(6)
        self.table = ReadTable("Buying", "The text below tells the cuts of the current row.", _COLUMNS, self)
        self.table.chosen.connect(lambda _: self._tell())
        self.sum = plain_label(self, "Cost of buying in whole coils, lengths and packs", "paneTitle")
        self.cuts = plain_label(self, "Cuts of the row", "help")
        column.addWidget(self.table, 1)
        column.addWidget(self.sum)
        column.addWidget(self.cuts)

    def showEvent(self, event: QShowEvent) -> None:
        """Show what was left while out of view."""
        super().showEvent(event)
        self.refresh()

    @property
    def _figures(self) -> Figures:
        return figures_of(self._session.job)

    def _quantity(self, value: float, unit: str) -> str:
        return " ".join(self._figures.quantity(value, unit))

    def _length(self, metres: float) -> str:
        return self._figures.length(metres, 2)

    def _money(self, amount: Decimal) -> str:
        return money_text(amount, self._session.study.prices.currency, self._session.job.terms.locale)

    def refresh(self) -> None:
        """Show what holds, if in view."""
        study = self._session.study
        now = (study.bought, study.prices, row_words(self._session.job))
        if not self.isVisible() or now == self._of:
            return
        self._of = now
        self.table.show_lines([self._line(i, row) for i, row in enumerate(study.bought)])
        extra = sum((row.extra.likely for row in study.bought), Decimal(0))
        whole = sum((row.cost.likely for row in study.bought), Decimal(0))
        self.sum.setText(
            f"{self._money(whole)} at likely cost, {self._money(extra)} more than the needed quantities alone. "
            "The price counts what is needed."
            if study.bought
            else "Nothing that is sold in coils, stock lengths or packs yet."
        )
        self._tell()

    def _line(self, place: int, row: BoughtRow) -> TableLine:
        entry = self._session.study.prices.entry(row.code)
        name = entry.description if entry is not None else row.code
        detail = row_words(self._session.job).bought(row.services, row.colour)
        packs = " + ".join(f"{p.count} × {self._figures.quantity(p.size, row.unit)[0]}" for p in row.packs)
        cells = (
            f"{name}, {detail}" if detail else name,
            self._quantity(row.needed, row.unit),
            self._quantity(row.bought, row.unit),
            packs,
            self._quantity(row.offcut, row.unit),
            self._money(row.cost.likely) if row.priced else "no price",
            self._money(row.extra.likely) if row.priced else "–",
        )
        return TableLine(str(place), cells, f"{row.code}. {row.note}")

    def _tell(self) -> None:
        key, bought = self.table.current, self._session.study.bought
        if not key or int(key) >= len(bought):
            self.cuts.setText("Choose a row to see how it is cut. Coils are not spliced inside a run.")
            return
        row = bought[int(key)]
        cuts = [f"{self._length(a)}: {' + '.join(map(self._length, pieces))}" for a, pieces in row.cuts[:8]]
        if len(row.cuts) > 8:
            cuts.append(f"… and {len(row.cuts) - 8} more")
        self.cuts.setText("  ·  ".join((row.note, *cuts)))
