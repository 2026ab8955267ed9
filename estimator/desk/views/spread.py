"""The spread chart: rows ranked by how much of the spread they carry, a bar with its figures each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QPainter, QPen
from PySide6.QtWidgets import (
    QListWidget,
    QListWidgetItem,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from estimator.desk.plain import ListItem, shown_text, tip
from estimator.desk.theme import current_theme

__all__ = ["SpreadBar", "SpreadChart"]

_BAR = Qt.ItemDataRole.UserRole
Index = QModelIndex | QPersistentModelIndex


@dataclass(frozen=True, slots=True)
class SpreadBar:
    """One bar: where Enter goes, name, share of the variance (0 to 1), its words, the range, what is told more."""

    key: str
    name: str
    share: float
    share_text: str
    more: str
    told: str


class _Bars(QStyledItemDelegate):
    """Draws a row: name and range above, bar below, the share at its end."""

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """Two lines high."""
        return QSize(200, self._line(option) + 16)

    @staticmethod
    def _line(option: QStyleOptionViewItem) -> int:
        return int(option.fontMetrics.height())

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Draw."""
        bar = index.data(_BAR)
        if not isinstance(bar, SpreadBar):
            super().paint(painter, option, index)
            return
        theme = current_theme()
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        room = QRectF(option.rect)
        if option.state & QStyle.StateFlag.State_Selected:
            painter.fillRect(room, QColor(theme.chosen))
        if option.state & QStyle.StateFlag.State_HasFocus:
            painter.setPen(QPen(QColor(theme.accent), 1, Qt.PenStyle.DashLine))
            painter.drawRect(room.adjusted(1, 1, -1, -1))
        line = self._line(option)
        left, width = room.left() + 8, room.width() - 16
        metrics = option.fontMetrics
        more = metrics.horizontalAdvance(bar.more)
        painter.setPen(QColor(theme.ink))
        name = metrics.elidedText(shown_text(bar.name), Qt.TextElideMode.ElideRight, int(width - more - 12))
        top = QRectF(left, room.top() + 2, width, line)
        painter.drawText(top, int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter), name)
        painter.setPen(
            QColor(theme.faint if not option.state & QStyle.StateFlag.State_Selected else theme.ink)
        )
        painter.drawText(top, int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter), bar.more)
        painter.restore()
        self._draw_bar(painter, option, bar, QRectF(left, room.top() + 3 + line, width, 9))

    def _draw_bar(
        self, painter: QPainter, option: QStyleOptionViewItem, bar: SpreadBar, place: QRectF
    ) -> None:
        theme = current_theme()
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        figure = option.fontMetrics.horizontalAdvance("over 99 %") + 8
        whole = QRectF(place.left(), place.top(), place.width() - figure, place.height())
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(theme.raised))
        painter.drawRoundedRect(whole, 3, 3)
        painter.setBrush(QColor(theme.accent))
        share = min(max(bar.share, 0.0), 1.0)
        painter.drawRoundedRect(QRectF(whole.left(), whole.top(), max(whole.width() * share, 2), 9), 3, 3)
        painter.setPen(QColor(theme.ink))
        line = self._line(option)
        text = QRectF(whole.right(), place.center().y() - line / 2, figure, line)
        painter.drawText(
            text, int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter), bar.share_text
        )
        painter.restore()


class SpreadChart(QListWidget):
    """A list whose rows are bars, so that the keyboard and a screen reader reach each.

    It is a drawing with one bar in each row, not a table of texts.

    Signals:
        entered: key of a bar on which Enter was pressed.
    """

    entered = Signal(str)

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setAccessibleName("Spread chart")
        self.setAccessibleDescription(
            "Rows by the share of the cost's spread they carry, largest first. Enter goes to the price of a row."
        )
        self.setItemDelegate(_Bars(self))
        self.setUniformItemSizes(True)
        self.setMinimumHeight(90)
        self.bars: tuple[SpreadBar, ...] = ()
        self.itemActivated.connect(self._enter)

    def show_bars(self, bars: Sequence[SpreadBar]) -> None:
        """Show other bars; the keyboard stays on the row it was on."""
        before = self.item(self.currentRow()).data(_BAR) if self.currentRow() >= 0 else None
        self.bars = tuple(bars)
        self.clear()
        for bar in bars:
            item = ListItem()
            item.setData(_BAR, bar)
            item.setData(
                Qt.ItemDataRole.AccessibleTextRole,
                shown_text(f"{bar.name}: {bar.share_text} of the spread, cost {bar.more}"),
            )
            item.setData(Qt.ItemDataRole.AccessibleDescriptionRole, shown_text(bar.told))
            item.setToolTip(tip(f"{bar.name}. {bar.told}"))
            self.addItem(item)
            if isinstance(before, SpreadBar) and bar.name == before.name:
                self.setCurrentItem(item)

    def _enter(self, item: QListWidgetItem) -> None:
        bar = item.data(_BAR)
        if isinstance(bar, SpreadBar):
            self.entered.emit(bar.key)
