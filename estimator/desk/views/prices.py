"""The takeoff with its prices by section, sums below; a row tells the objects it came from."""

from __future__ import annotations

from decimal import Decimal

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFont, QResizeEvent
from PySide6.QtWidgets import QHeaderView, QLabel, QTreeWidget, QTreeWidgetItem, QVBoxLayout, QWidget

from estimator.desk.session import Session
from estimator.locales import number_text
from estimator.model.choices import ContingencyBasis, PriceBasis
from estimator.model.terms import Terms
from estimator.money import money_text
from estimator.pricing.types import CostRange, Price, PricedRow
from estimator.shown.figures import figures_of
from estimator.takeoff.words import row_words

__all__ = ["PriceView"]

_COLUMNS = ("Part", "Quantity", "Unit", "Low", "Price", "High", "Cost", "Labour")
_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
_ROW = Qt.ItemDataRole.UserRole


class PriceView(QWidget):
    """Takeoff and price.

    Signals:
        objects_chosen: ids of the objects of the current row.
    """

    objects_chosen = Signal(tuple)

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 6, 0, 0)
        column.setSpacing(6)
        self.tree = QTreeWidget(self)
        self.tree.setColumnCount(len(_COLUMNS))
        self.tree.setHeaderLabels(_COLUMNS)
        self.tree.setAccessibleName("Takeoff and price")
        self.tree.setAccessibleDescription(
            "Parts by section with quantity and price; the last group holds sums."
        )
        self.tree.setAlternatingRowColors(True)
        self.tree.setUniformRowHeights(True)
        self.tree.setIndentation(14)
        header = self.tree.header()
        header.setStretchLastSection(False)
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.Interactive)
        header.setMinimumSectionSize(44)
        self.tree.headerItem().setToolTip(4, "Firm price, without tax")
        self.tree.headerItem().setToolTip(6, "Likely cost: never on the quote")
        for i in range(1, len(_COLUMNS)):
            if i != 2:
                self.tree.headerItem().setTextAlignment(i, _RIGHT)
        self.tree.currentItemChanged.connect(self._tell)
        self.origin = QLabel(self)
        self.origin.setObjectName("help")
        self.origin.setWordWrap(True)
        self.origin.setTextFormat(Qt.TextFormat.PlainText)
        self.origin.setAccessibleName("Where the row comes from")
        column.addWidget(self.tree, 1)
        column.addWidget(self.origin)
        self._shown: object = None
        self._words = row_words(session.job)
        self._tell()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The first column takes what the figures leave, and never less than a name needs."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        figures = sum(self.tree.columnWidth(i) for i in range(1, len(_COLUMNS)))
        room = self.tree.viewport().width() - figures
        self.tree.setColumnWidth(0, max(room, self.fontMetrics().averageCharWidth() * 34))

    def _number(self, value: float) -> str:
        return number_text(value, 2, self._session.job.terms.locale)

    def _percent(self, value: Decimal) -> str:
        return figures_of(self._session.job).percent(value)

    def _money(self, amount: Decimal) -> str:
        job = self._session.job
        return money_text(amount, self._session.study.price.currency, job.terms.locale)

    def refresh(self) -> None:
        """Show what holds; what was folded and where the keyboard was stays."""
        price = self._session.study.price
        terms = self._session.job.terms
        words = row_words(self._session.job)
        if self._shown == (price, terms, words):
            return
        self._shown = (price, terms, words)
        self._words = words
        folded = {top.text(0) for top in self._tops() if not top.isExpanded()}
        current = self.tree.currentItem()
        key = self._key(current) if current else None
        self.tree.blockSignals(True)
        self.tree.clear()
        bold = QFont(self.tree.font())
        bold.setBold(True)
        for section in price.sections:
            rows = price.rows_of(section.section)
            top = self._item(str(section.section), section.price, section.cost)
            for i in range(len(_COLUMNS)):
                top.setFont(i, bold)
            self.tree.addTopLevelItem(top)
            for row in rows:
                top.addChild(self._row_item(row))
            top.setExpanded(section.section.value not in folded)
        if price.rows:
            sums = QTreeWidgetItem(["Sums"])
            sums.setFont(0, bold)
            self.tree.addTopLevelItem(sums)
            totals = price.totals
            for name, amounts in self._sums(price, terms):
                item = self._item(name, amounts, None)
                if name == "Total to pay":
                    item.setText(7, self._hours(totals.labour_minutes))
                    item.setText(6, self._money(totals.cost.likely))
                    for i in range(len(_COLUMNS)):
                        item.setFont(i, bold)
                item.setToolTip(0, price.basis.words)
                sums.addChild(item)
            payments = QTreeWidgetItem(["Payments"])
            payments.setFont(0, bold)
            if price.stages:
                self.tree.addTopLevelItem(payments)
                payments.setExpanded("Payments" not in folded)
            for stage in price.stages:
                paid = QTreeWidgetItem([stage.name, "", "", "", self._money(stage.amount), "", "", ""])
                paid.setTextAlignment(4, _RIGHT)
                payments.addChild(paid)
            sums.setExpanded("Sums" not in folded)
        self.tree.blockSignals(False)
        self._restore(key)
        self._fit()
        self._tell()

    def _sums(self, price: Price, terms: Terms) -> list[tuple[str, CostRange]]:
        """Names and amounts from the rows to the total; a percentage stands only where it makes the amount."""
        totals = price.totals
        contingency = "Contingency"
        if terms.contingency_basis is ContingencyBasis.PERCENT and terms.price_basis is not PriceBasis.TYPED:
            contingency += f" {self._percent(terms.contingency_percent)}"
        sums = [
            ("Parts and work", totals.rows),
            (contingency, totals.contingency),
            ("Subtotal", totals.subtotal),
            (f"Discount {self._percent(terms.discount_percent)}", totals.discount),
            ("Net", totals.net),
        ]
        sums += [(f"{t.name or 'Tax'} {self._percent(t.percent)}", t.tax) for t in price.taxes]
        if totals.rounding.low or totals.rounding.likely or totals.rounding.high:
            sums.append(("Rounding", totals.rounding))
        return [*sums, ("Total to pay", totals.total)]

    def _tops(self) -> list[QTreeWidgetItem]:
        found = (self.tree.topLevelItem(i) for i in range(self.tree.topLevelItemCount()))
        return [top for top in found if top is not None]

    def _hours(self, minutes: Decimal) -> str:
        return f"{self._number(float(minutes) / 60)} h"

    def _item(self, name: str, amounts: CostRange, cost: CostRange | None) -> QTreeWidgetItem:
        item = QTreeWidgetItem(
            [
                name,
                "",
                "",
                self._money(amounts.low),
                self._money(amounts.likely),
                self._money(amounts.high),
                self._money(cost.likely) if cost else "",
                "",
            ]
        )
        for i in range(1, len(_COLUMNS)):
            item.setTextAlignment(i, _RIGHT)
        return item

    def _row_item(self, row: PricedRow) -> QTreeWidgetItem:
        takeoff = row.takeoff
        name = self._words.named(row.description, takeoff)
        item = self._item(name, row.price, row.cost)
        item.setText(1, self._number(takeoff.quantity))
        item.setText(2, row.unit)
        item.setTextAlignment(2, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        item.setText(7, self._hours(row.labour_minutes))
        if not row.known:
            missing = f"{takeoff.code} is not in the price book"
            item.setText(0, f"▲ {self._words.named(missing, takeoff)}")
        item.setToolTip(0, f"{takeoff.code}: {name}")
        item.setData(0, _ROW, row)
        return item

    @staticmethod
    def _key(item: QTreeWidgetItem) -> str:
        row = item.data(0, _ROW)
        if isinstance(row, PricedRow):
            return row.takeoff.key
        return item.text(0)

    def _restore(self, key: str | None) -> None:
        for top in self._tops():
            for item in (top, *(top.child(j) for j in range(top.childCount()))):
                if item is not None and self._key(item) == key:
                    self.tree.setCurrentItem(item)
                    return

    @property
    def current(self) -> PricedRow | None:
        """The row under the keyboard."""
        item = self.tree.currentItem()
        row = item.data(0, _ROW) if item else None
        return row if isinstance(row, PricedRow) else None

    def _tell(self) -> None:
        row = self.current
        if row is None:
            self.origin.setText(
                "Choose a part to see which drops, lines and bays it comes from."
                if self._session.study.price.rows
                else "Nothing to buy yet. Quick build makes a whole design; or add products, bays and drops."
            )
            self.objects_chosen.emit(())
            return
        takeoff = row.takeoff
        text = f"{takeoff.code} comes from: {', '.join(takeoff.objects) or 'the whole job'}."
        if takeoff.existing:
            text += f" {self._number(takeoff.existing)} {row.unit} hang there already and are not priced."
        if takeoff.pieces_m:
            text += f" Pieces: {', '.join(self._number(p) for p in takeoff.pieces_m)} m."
        self.origin.setText(text)
        self.objects_chosen.emit(takeoff.objects)
