"""A row of widgets that goes on in the next line where its room ends."""

from __future__ import annotations

from PySide6.QtCore import QPoint, QRect, QSize, Qt
from PySide6.QtWidgets import QLayout, QLayoutItem, QWidget

__all__ = ["Flow"]


class Flow(QLayout):
    """From left to right, as high as its lines together; a widget alone in its line is no wider than that.

    Args:
        spacing: pixels between widgets and between lines.
    """

    def __init__(self, spacing: int = 6) -> None:
        super().__init__()
        self._items: list[QLayoutItem] = []
        self._filling: set[int] = set()
        self._gap = spacing
        self.setContentsMargins(0, 0, 0, 0)

    def add(self, widget: QWidget, *, fills: bool = False) -> None:
        """One more widget; one that fills takes what its line leaves."""
        if fills:
            self._filling.add(len(self._items))
        self.addWidget(widget)

    # What the toolkit asks of a layout.

    def addItem(self, item: QLayoutItem) -> None:
        """One more at the end."""
        self._items.append(item)

    def count(self) -> int:
        """How many there are."""
        return len(self._items)

    def itemAt(self, index: int) -> QLayoutItem | None:
        """One of them, None beyond the last."""
        return self._items[index] if 0 <= index < len(self._items) else None

    def takeAt(self, index: int) -> QLayoutItem | None:
        """Take one out."""
        if not 0 <= index < len(self._items):
            return None
        self._filling = {i - (i > index) for i in self._filling if i != index}
        return self._items.pop(index)

    def expandingDirections(self) -> Qt.Orientation:
        """Across."""
        return Qt.Orientation.Horizontal

    def hasHeightForWidth(self) -> bool:
        """The narrower, the more lines."""
        return True

    def heightForWidth(self, width: int) -> int:
        """Of all lines."""
        return self._lay(QRect(0, 0, width, 0), place=False)

    def minimumSize(self) -> QSize:
        """The widest of its widgets, in one line."""
        sizes = [item.minimumSize() for item in self._items if not item.isEmpty()]
        return QSize(
            max((size.width() for size in sizes), default=0),
            max((size.height() for size in sizes), default=0),
        )

    def sizeHint(self) -> QSize:
        """All in one line."""
        sizes = [item.sizeHint() for item in self._items if not item.isEmpty()]
        gaps = self._gap * max(len(sizes) - 1, 0)
        return QSize(
            sum(size.width() for size in sizes) + gaps, max((size.height() for size in sizes), default=0)
        )

    def setGeometry(self, rect: QRect) -> None:
        """Place them."""
        super().setGeometry(rect)
        self._lay(rect, place=True)

    def _lay(self, room: QRect, *, place: bool) -> int:
        """Lines of widgets in a room; how high they are together."""
        lines: list[list[tuple[int, QLayoutItem, QSize]]] = []
        left = 0
        for number, item in enumerate(self._items):
            if item.isEmpty():
                continue
            hint = item.sizeHint()
            size = QSize(min(hint.width(), max(room.width(), item.minimumSize().width())), hint.height())
            if not lines or left < size.width():
                lines.append([])
                left = room.width()
            lines[-1].append((number, item, size))
            left -= size.width() + self._gap
        top = room.y()
        for line in lines:
            high = max(size.height() for _, _, size in line)
            if place:
                self._place(line, QRect(room.x(), top, room.width(), high))
            top += high + self._gap
        return max(top - self._gap - room.y(), 0)

    def _place(self, line: list[tuple[int, QLayoutItem, QSize]], room: QRect) -> None:
        spare = room.width() - sum(size.width() for _, _, size in line) - self._gap * (len(line) - 1)
        filling = [number for number, _, _ in line if number in self._filling]
        x = room.x()
        for number, item, size in line:
            width = size.width() + (max(spare, 0) // len(filling) if number in filling else 0)
            y = room.y() + (room.height() - size.height()) // 2
            item.setGeometry(QRect(QPoint(x, y), QSize(width, size.height())))
            x += width + self._gap
