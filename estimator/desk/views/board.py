"""The plant board as a picture, with a slider that says how many tanks fill at once."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QPointF, QRectF, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFontMetricsF,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
    QResizeEvent,
    QShowEvent,
)
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QSlider, QVBoxLayout, QWidget

from estimator.desk.plain import Label, shown_text
from estimator.desk.session import Session
from estimator.desk.tables import Look, ReadTable, TableLine
from estimator.desk.theme import Theme, current_theme
from estimator.shown.board_picture import BoardPicture, GaugeMark, TankMark, board_picture

__all__ = ["BoardDrawing", "BoardView"]

_PAD: Final = 10.0
_LEAST_TANK: Final = 104.0
"""Points that the card of a tank needs for its figures."""
_GAP: Final = 10.0
_ROW: Final = 26.0
"""Between two rows of cards, with a pipe in it."""
_EDGE: Final = 3.0
"""Where the water goes down to further rows."""
_LEFT = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
_MID = int(Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignVCenter)


class BoardDrawing(QWidget):
    """Draws a board: gauges along the water from the left, the manifold, a card for each tank below it."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._picture: BoardPicture | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("Picture of the plant board")

    def show_picture(self, picture: BoardPicture | None) -> None:
        """Draw another one."""
        self._picture = picture
        words = () if picture is None else (picture.heading, *(tank.told for tank in picture.tanks))
        self.setAccessibleDescription(shown_text(" ".join(words)))
        self._take_height()
        self.update()

    def _take_height(self) -> None:
        """More rows of tanks in a narrow window."""
        height = self.height_at(self.width())
        if height != self.minimumHeight():
            self.setFixedHeight(height)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Another width."""
        super().resizeEvent(event)
        self._take_height()

    def height_at(self, width: int) -> int:
        """What it takes to be read whole."""
        picture = self._picture
        if picture is None:
            return 10
        rows = -(-len(picture.tanks) // self._columns(width))
        return int(self._top() + rows * (self._card() + _ROW) - _ROW + _PAD)

    @property
    def _line(self) -> float:
        return float(self.fontMetrics().height())

    def _columns(self, width: float) -> int:
        most = max(1, int((width - 2 * _PAD + _GAP) // (self._tank_width() + _GAP)))
        return min(most, max(1, len(self._picture.tanks) if self._picture else 1))

    def _tank_width(self) -> float:
        """The widest figure of any tank decides."""
        metrics = QFontMetricsF(self.font())
        texts = [t for tank in (self._picture.tanks if self._picture else ()) for t in _figures(tank)]
        return max(_LEAST_TANK, *(metrics.horizontalAdvance(t) + 20 for t in texts)) if texts else _LEAST_TANK

    def _top(self) -> float:
        return _PAD + 3 * self._line + 30

    def _card(self) -> float:
        return 6 * self._line + 22

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw."""
        picture = self._picture
        if picture is None:
            return
        theme = current_theme()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        width = float(self.width())
        pipe = _PAD + 3 * self._line + 12
        running = picture.many > 0
        self._pipe(painter, theme, QPointF(_PAD, pipe), QPointF(width - _PAD, pipe), running)
        self._gauges(painter, theme, picture, width, pipe)
        columns = self._columns(width)
        room = (width - 2 * _PAD + _GAP) / columns - _GAP
        tops = [self._top() + row * (self._card() + _ROW) for row in range(-(-len(picture.tanks) // columns))]
        for row, top in enumerate(tops[1:], 1):  # each further row has a manifold of its own, fed at the left
            some = any(tank.fills for tank in picture.tanks[row * columns :])
            self._pipe(painter, theme, QPointF(_EDGE, pipe), QPointF(_EDGE, top - _ROW / 2), some)
            here = [at for at, tank in enumerate(picture.tanks[row * columns :][:columns]) if tank.fills]
            last = max(here, default=min(columns, len(picture.tanks) - row * columns) - 1)
            end = _PAD + last * (room + _GAP) + room / 2
            self._pipe(
                painter, theme, QPointF(_EDGE, top - _ROW / 2), QPointF(end, top - _ROW / 2), bool(here)
            )
        if len(tops) > 1:
            self._pipe(painter, theme, QPointF(_EDGE, pipe), QPointF(_PAD, pipe), running)
        for at, tank in enumerate(picture.tanks):
            row, column = divmod(at, columns)
            left, top = _PAD + column * (room + _GAP), tops[row]
            start = QPointF(left + room / 2, pipe if row == 0 else top - _ROW / 2)
            self._pipe(painter, theme, start, QPointF(left + room / 2, top), tank.fills)
            self._tank(painter, theme, tank, QRectF(left, top, room, self._card()))
        painter.end()

    @staticmethod
    def _pipe(painter: QPainter, theme: Theme, start: QPointF, end: QPointF, running: bool) -> None:
        pen = QPen(QColor(theme.accent if running else theme.line), 4 if running else 2)
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        painter.setPen(pen)
        painter.drawLine(start, end)

    def _gauges(
        self, painter: QPainter, theme: Theme, picture: BoardPicture, width: float, pipe: float
    ) -> None:
        metrics = self.fontMetrics()
        board = GaugeMark("At the board", "", picture.shared or picture.gauges[-1].rest)
        marks = (*picture.gauges, board)
        room = (width - 2 * _PAD) / len(marks)
        for at, mark in enumerate(marks):
            left = _PAD + at * room
            box = QRectF(left, _PAD, room - 6, self._line)
            painter.setPen(QColor(theme.faint))
            painter.drawText(
                box, _LEFT, metrics.elidedText(mark.name, Qt.TextElideMode.ElideRight, int(room) - 6)
            )
            painter.setPen(QColor(theme.error if mark.low else theme.ink))
            font = painter.font()
            font.setBold(True)
            painter.setFont(font)
            painter.drawText(box.translated(0, self._line), _LEFT, mark.now)
            font.setBold(False)
            painter.setFont(font)
            painter.setPen(QColor(theme.faint))
            below = picture.flow if at == len(marks) - 1 else f"at rest {mark.rest}"
            painter.drawText(
                box.translated(0, 2 * self._line),
                _LEFT,
                metrics.elidedText(below, Qt.TextElideMode.ElideRight, int(room) - 6),
            )
            painter.setPen(QPen(QColor(theme.ink), 1))
            painter.setBrush(QColor(theme.paper))
            painter.drawEllipse(QPointF(left + 6, pipe), 5, 5)

    def _tank(self, painter: QPainter, theme: Theme, tank: TankMark, card: QRectF) -> None:
        colour = QColor(tank.style.on(theme.name))
        painter.setBrush(QColor(theme.paper if tank.fills else theme.ground))
        painter.setPen(QPen(QColor(theme.accent if tank.fills else theme.line), 2 if tank.fills else 1))
        painter.drawRoundedRect(card, 5, 5)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour)
        painter.drawEllipse(QPointF(card.left() + 14, card.top() + 6 + self._line / 2), 8, 8)
        painter.setPen(QColor(theme.paper if theme.name == "light" else theme.ground))
        painter.drawText(QRectF(card.left() + 4, card.top() + 6, 20, self._line), _MID, tank.tag)
        if tank.fills:  # an arrow into the tank, so that colour is not all that tells it
            tip = QPointF(card.center().x(), card.top() - 1)
            painter.setBrush(QColor(theme.accent))
            painter.setPen(Qt.PenStyle.NoPen)
            painter.drawPolygon(QPolygonF([tip, tip + QPointF(-6, -8), tip + QPointF(6, -8)]))
        metrics = self.fontMetrics()
        painter.setPen(QColor(theme.ink))
        name = metrics.elidedText(shown_text(tank.name), Qt.TextElideMode.ElideRight, int(card.width()) - 34)
        painter.drawText(QRectF(card.left() + 27, card.top() + 6, card.width() - 32, self._line), _LEFT, name)
        for number, (text, look) in enumerate(zip(_figures(tank), _looks(theme, tank), strict=True), 1):
            painter.setPen(QColor(look))
            box = QRectF(
                card.left() + 9, card.top() + 10 + number * self._line, card.width() - 14, self._line
            )
            font = painter.font()
            font.setBold(number == 1 and tank.fills)
            painter.setFont(font)
            painter.drawText(
                box, _LEFT, metrics.elidedText(text, Qt.TextElideMode.ElideRight, int(box.width()))
            )
        font = painter.font()
        font.setBold(False)
        painter.setFont(font)


def _figures(tank: TankMark) -> tuple[str, ...]:
    """The lines of a card below its name."""
    sign = f"{tank.standing.sign} " if tank.standing is not None else ""
    return (
        f"{tank.mixture} with {tank.water}"
        if tank.fills and tank.mixture != "–"
        else tank.mixture or "rests",
        f"{sign}{tank.verdict}" if tank.fills else "",
        f"wanted {tank.wanted}",
        f"tank {tank.tank}",
        tank.often,
    )


def _looks(theme: Theme, tank: TankMark) -> tuple[str, ...]:
    verdict = theme.standing(tank.standing) if tank.standing is not None else theme.faint
    return (theme.ink, verdict, theme.faint, theme.faint, theme.faint)


class BoardView(QWidget):
    """The picture, how many tanks fill, and each tank in words.

    Signals:
        wanted: place in the job to go to.
    """

    wanted = Signal(str)

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._chosen: int | None = None
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 6, 0, 0)
        column.setSpacing(6)
        self.heading = Label("", self)
        self.heading.setWordWrap(True)
        self.heading.setObjectName("paneTitle")
        self.heading.setAccessibleName("The moment that is shown")
        column.addWidget(self.heading)
        row = QHBoxLayout()
        self.many = Label("Tanks that &fill at once", self)
        self.slider = QSlider(Qt.Orientation.Horizontal, self)
        self.slider.setAccessibleName("Tanks that fill at once")
        self.slider.setAccessibleDescription(
            "Left and Right choose how many tanks fill at the same moment; those that take the most water come first."
        )
        self.slider.setPageStep(1)
        self.slider.setTickPosition(QSlider.TickPosition.TicksBelow)
        self.slider.setTickInterval(1)
        self.slider.valueChanged.connect(self._moved)
        self.many.setBuddy(self.slider)
        self.number = Label("", self)
        self.number.setMinimumWidth(self.number.fontMetrics().horizontalAdvance("400 of 400"))
        for widget, stretch in ((self.many, 0), (self.slider, 1), (self.number, 0)):
            row.addWidget(widget, stretch)
        column.addLayout(row)
        self.drawing = BoardDrawing(self)
        column.addWidget(self.drawing)
        self.table = ReadTable(
            "Tanks in words", "Enter goes to the metering tip.", ("Tank",), self, sentences=True, always=True
        )
        self.table.entered.connect(self._go)
        column.addWidget(self.table, 1)
        self.notes = Label("", self)
        self.notes.setObjectName("faint")
        self.notes.setWordWrap(True)
        self.notes.setAccessibleName("What the figures leave out")
        column.addWidget(self.notes)
        self._places: dict[str, str] = {}

    def refresh(self) -> None:
        """Show the board of the study that holds; what the person chose stays as far as there are tanks."""
        study = self._session.known
        if study is None or not self.isVisible():
            return
        board = study.proof.board
        whole = 0 if board is None else len(board.products)
        wanted = (0 if board is None else board.at_once) if self._chosen is None else self._chosen
        blocked = self.slider.blockSignals(True)
        self.slider.setRange(0, whole)
        self.slider.setValue(min(wanted, whole))
        self.slider.blockSignals(blocked)
        self._draw()

    def showEvent(self, event: QShowEvent) -> None:
        """What changed out of view."""
        super().showEvent(event)
        self.refresh()

    def _moved(self, value: int) -> None:
        self._chosen = value
        self._draw()

    def _draw(self) -> None:
        study = self._session.known
        picture = None if study is None else board_picture(study, self.slider.value())
        shown = picture is not None
        for widget in (self.many, self.slider, self.number, self.drawing, self.table, self.notes):
            widget.setVisible(shown)
        self.drawing.show_picture(picture)
        if picture is None:
            self.heading.setText(
                "Nothing to show yet: no proportioner is proved. What is missing or wrong says why, below."
            )
            return
        self.heading.setText(picture.heading)
        self.number.setText(f"{picture.many} of {len(picture.tanks)}")
        self.notes.setText(" ".join(picture.notes))
        theme = current_theme()
        self._places = {tank.product: tank.place for tank in picture.tanks}
        self.table.show_lines(
            [
                TableLine(
                    tank.product,
                    (tank.told,),
                    looks=(Look() if tank.standing is None else Look(theme.standing(tank.standing)),),
                )
                for tank in picture.tanks
            ]
        )

    def _go(self, key: str) -> None:
        place = self._places.get(key, "")
        if place:
            self.wanted.emit(place)
