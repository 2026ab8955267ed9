"""The takeoff with its prices by section, sums below; a row tells the objects it came from."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

from PySide6.QtCore import Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from estimator.desk.session import Session
from estimator.desk.tables import Column, ReadTable, TableLine, distinct, plain_label
from estimator.locales import number_text
from estimator.model.choices import ContingencyBasis, PriceBasis
from estimator.model.finding import some
from estimator.model.terms import Terms
from estimator.money import money_text
from estimator.pricing.types import CostRange, Price, PricedRow
from estimator.shown.figures import Figures, figures_of
from estimator.shown.names import Names
from estimator.takeoff.words import row_words

__all__ = ["PriceView"]

_MOST_NAMED = 12

_COLUMNS = (
    "Part",
    ">Quantity",
    "Unit",
    ">Low",
    Column("Price", True, "Firm price, without tax"),
    ">High",
    Column("Cost", True, "Likely cost: never on the quote"),
    ">Labour",
)


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
        self.table = ReadTable(
            "Takeoff and price",
            "Parts by section with quantity and price; the last groups hold sums and payments.",
            _COLUMNS,
            self,
            least=34,
        )
        self.table.chosen.connect(lambda _: self._tell())
        self.origin = plain_label(self, "Where the row comes from", "help")
        column.addWidget(self.table, 1)
        column.addWidget(self.origin)
        self._rows: dict[str, PricedRow] = {}
        self._shown: object = None
        self._words = row_words(session.job)
        self._tell()

    def _number(self, value: float) -> str:
        return number_text(value, 2, self._session.job.terms.locale)

    @property
    def _figures(self) -> Figures:
        return figures_of(self._session.job)

    def _percent(self, value: Decimal) -> str:
        return self._figures.percent(value)

    def _money(self, amount: Decimal) -> str:
        job = self._session.job
        return money_text(amount, self._session.study.price.currency, job.terms.locale)

    def showEvent(self, event: QShowEvent) -> None:
        """Show what changed while it was out of view."""
        super().showEvent(event)
        self.refresh()

    def refresh(self) -> None:
        """Show what holds, if in view; what was folded and where the keyboard was stays."""
        if self._shown is not None and not self.isVisible():
            return  # shown when it comes into view
        price = self._session.study.price
        terms = self._session.job.terms
        words = row_words(self._session.job)
        if self._shown == (price, terms, words):
            return
        self._shown = (price, terms, words)
        self._words = words
        keys = distinct(f"row {row.takeoff.key}" for row in price.rows)
        self._rows = dict(zip(keys, price.rows, strict=True))
        of = {id(row): key for key, row in self._rows.items()}
        lines = [
            self._line(
                f"section {section.section.value}",
                str(section.section),
                section.price,
                section.cost,
                bold=True,
                children=tuple(self._row_line(of[id(row)], row) for row in price.rows_of(section.section)),
            )
            for section in price.sections
        ]
        if price.rows:
            lines.append(self._group("Sums", tuple(self._sum_lines(price, terms))))
        if price.rows and price.stages:
            names = distinct(f"payment {stage.name}" for stage in price.stages)
            paid = (
                TableLine(key, (stage.name, "", "", "", self._money(stage.amount), "", "", ""))
                for key, stage in zip(names, price.stages, strict=True)
            )
            lines.append(self._group("Payments", tuple(paid)))
        self.table.show_lines(lines)
        self._tell()

    @staticmethod
    def _group(name: str, children: tuple[TableLine, ...]) -> TableLine:
        return TableLine(f"group {name}", (name, *[""] * (len(_COLUMNS) - 1)), bold=True, children=children)

    def _sum_lines(self, price: Price, terms: Terms) -> Iterator[TableLine]:
        sums = self._sums(price, terms)
        keys = distinct(f"sum {name}" for name, _ in sums)
        for key, (name, amounts) in zip(keys, sums, strict=True):
            cost = labour = ""
            total = amounts is price.totals.total
            if total:
                cost, labour = self._money(price.totals.cost.likely), self._hours(price.totals.labour_minutes)
            line = self._line(key, name, amounts, None, told=price.basis.words, bold=total)
            yield replace(line, cells=(*line.cells[:6], cost, labour))

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

    def _hours(self, minutes: Decimal) -> str:
        return f"{self._number(float(minutes) / 60)} h"

    def _line(
        self,
        key: str,
        name: str,
        amounts: CostRange,
        cost: CostRange | None,
        *,
        told: str = "",
        bold: bool = False,
        children: tuple[TableLine, ...] = (),
    ) -> TableLine:
        cells = (
            name,
            "",
            "",
            self._money(amounts.low),
            self._money(amounts.likely),
            self._money(amounts.high),
            self._money(cost.likely) if cost else "",
            "",
        )
        return TableLine(key, cells, told, bold=bold, children=children)

    def _row_line(self, key: str, row: PricedRow) -> TableLine:
        takeoff = row.takeoff
        name = shown = self._words.named(row.description, takeoff)
        if not row.known:
            missing = f"{takeoff.code} is not in the price book"
            shown = f"▲ {self._words.named(missing, takeoff)}"
        line = self._line(key, shown, row.price, row.cost, told=f"{takeoff.code}: {name}")
        quantity, unit = self._figures.quantity(takeoff.quantity, row.unit)
        labour = self._hours(row.labour_minutes)
        return replace(line, cells=(shown, quantity, unit, *line.cells[3:7], labour))

    @property
    def current(self) -> PricedRow | None:
        """The row under the keyboard."""
        return self._rows.get(self.table.current)

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
        names = Names(self._session.job.design, self._session.study.layout)
        where = some(dict.fromkeys(map(names.object, takeoff.objects)), _MOST_NAMED) or "the whole job"
        text = f"{takeoff.code} comes from: {where}."
        if takeoff.existing:
            there, unit = self._figures.quantity(takeoff.existing, row.unit)
            text += f" {there} {unit} hang there already and are not priced."
        if takeoff.pieces_m:
            text += f" Pieces: {', '.join(self._figures.length(p, 2) for p in takeoff.pieces_m)}."
        self.origin.setText(text)
        self.objects_chosen.emit(takeoff.objects)
