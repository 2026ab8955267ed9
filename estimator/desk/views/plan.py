"""The floor from above: hall, bays, board, lines, stations and drops, drawn to scale; drops can be chosen."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFont,
    QFontMetricsF,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
    QResizeEvent,
    QShowEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QHBoxLayout, QScrollArea, QToolButton, QToolTip, QVBoxLayout, QWidget

from estimator.desk.plain import MarkupLabel, in_markup, markup_tip, shown_text, tip
from estimator.desk.session import Session
from estimator.desk.theme import MARKS, Theme, current_theme
from estimator.model.called import service_names
from estimator.model.choices import Wall
from estimator.model.colours import AIR_COLOUR
from estimator.model.design import AIR
from estimator.model.finding import Finding
from estimator.model.grades import Grade
from estimator.model.job import Job
from estimator.model.options import BASE
from estimator.model.signing import blocking
from estimator.shown.at_risk import drops_at_risk
from estimator.shown.entries import entries_of
from estimator.shown.figures import figures_of
from estimator.shown.findings import sentences_of
from estimator.shown.lines import line_styles
from estimator.shown.names import Names
from estimator.shown.plan_marks import (
    BayMark,
    BoardMark,
    DropMark,
    PlanMarks,
    StationMark,
    WashMark,
    in_lane,
    plan_marks,
    wash_mark,
)
from estimator.shown.proof_tables import room_words
from estimator.shown.standing import Standing, standing_of
from estimator.sizing.types import DropProof
from estimator.study import Study

__all__ = ["PlanPane", "PlanView"]

_RADIUS, _LEAST = 9.0, 4.5
"""Of a symbol: where there is room, and the smallest whose number can be read."""
_CLEAR = 2.0
"""Between a symbol and words that are no part of it."""
_OFF, _GAP = 3.0, 0.75
"""From the rail to a symbol, and from a symbol to the end of its half of the bay."""
_MARGIN = 38.0
_LANE = 2.4
_MOST_TOLD = 3
_ROOM_FOR_KEY = 290
_ROOM_FOR_NAME = 160


@dataclass(frozen=True, slots=True)
class _Frame:
    """From metres on the floor to points in the widget."""

    left: float
    bottom: float
    scale: float

    def point(self, x: float, y: float) -> QPointF:
        return QPointF(self.left + x * self.scale, self.bottom - y * self.scale)

    def box(self, x: float, y: float, width: float, depth: float) -> QRectF:
        return QRectF(self.point(x, y + depth), self.point(x + width, y)).normalized()


class PlanView(QWidget):
    """The drawing.

    Signals:
        drop_chosen: id of a drop, and whether it is added to those chosen before.
    """

    drop_chosen = Signal(str, bool)

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.zoom = 1.0
        self.chosen: tuple[str, ...] = ()
        self.marked: frozenset[str] = frozenset()
        self._spots: dict[str, QPointF] = {}
        self._radii: dict[str, float] = {}
        self._wash: tuple[str, QPointF] | None = None
        self._wash_box: QRectF | None = None
        self._words: list[QRectF] = []
        self._proofs: dict[str, DropProof] = {}
        self._at_risk: tuple[Study | None, Job | None, dict[str, tuple[Finding, ...]]] = (None, None, {})
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setAccessibleName("Floor plan")
        self.refresh()

    def refresh(self) -> None:
        """Show what holds."""
        design, floor = self._session.job.design, self._session.job.site.floor
        figures = figures_of(self._session.job)
        width, depth = figures.length(floor.width.si), figures.length(floor.depth.si)
        words = (
            f"Floor {width} by {depth}, {len(design.bays)} bays, {len(design.drops)} drops. "
            "Arrow keys go from drop to drop, Enter opens its form, plus and minus zoom."
        )
        here = {d.id for d in design.drops}
        chosen = [d for d in self.chosen if d in here]
        if len(chosen) > _MOST_TOLD:
            words = f"Chosen: {len(chosen)} drops. " + words
        elif chosen:
            words = f"Chosen: {'; '.join(self._told(d) for d in chosen)}. " + words
        self.setAccessibleDescription(shown_text(words))
        self.update()

    def at_risk(self) -> dict[str, tuple[Finding, ...]]:
        """What must never go out and nobody signed for, by the ids of the drops of the design in view."""
        session, known = self._session, self._session.known
        if known is None:
            return {}
        whole = session.whole
        if self._at_risk[0] is not known or self._at_risk[1] is not whole:
            of_it = [replace(f, option=session.option) for f in known.findings if f.grade is Grade.NEVER]
            self._at_risk = (known, whole, drops_at_risk(blocking(whole, of_it), session.job.design))
        return self._at_risk[2]

    def choose(self, drops: Iterable[str]) -> None:
        """Show these drops as chosen."""
        self.chosen = tuple(drops)
        self.refresh()

    def mark(self, objects: Iterable[str]) -> None:
        """Show where these objects (drops, segments, stations, products) are."""
        self.marked = frozenset(objects)
        self.update()

    def sizeHint(self) -> QSize:
        """Room for a floor at a readable scale."""
        return QSize(640, 420)

    def _frame(self) -> _Frame:
        floor = self._session.job.site.floor
        width, depth = floor.width.si, floor.depth.si
        room_x, room_y = self.width() - 2 * _MARGIN, self.height() - 2 * _MARGIN
        scale = max(min(room_x / width, room_y / depth), 1.0)
        left = (self.width() - width * scale) / 2
        return _Frame(left, (self.height() + depth * scale) / 2, scale)

    # Drawing, from the floor up.

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the plan."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        theme = current_theme()
        painter.fillRect(self.rect(), QColor(theme.paper))
        frame = self._frame()
        study = self._session.known
        self._words = []
        self._paint_hall(painter, theme, frame)
        self._spots, self._radii = {}, {}
        self._wash, self._wash_box = None, None
        if study is None:
            # Where tubes run and how drops stand is not known yet; what held before the last act is not drawn.
            painter.setPen(QColor(theme.faint))
            words = f"Plan: {self._session.meanwhile}"
            painter.drawText(QRectF(self.rect()), Qt.AlignmentFlag.AlignCenter, words)
            return
        plan = plan_marks(study.job.site, study.job.design, study.layout)
        for bay in plan.bays:
            self._paint_bay(painter, theme, frame, bay)
        self._paint_corridor(painter, theme, frame, plan)
        self._paint_lines(painter, theme, frame, plan)
        self._paint_board(painter, theme, frame, plan.board)
        self._proofs = {d.drop: d for d in study.proof.drops}
        for station in plan.stations:
            self._paint_station(painter, theme, frame, station)
        if plan.wash is not None:
            self._paint_wash(painter, theme, frame, plan.wash)
        if self.hasFocus():
            painter.setPen(QPen(QColor(theme.accent), 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.rect().adjusted(1, 1, -2, -2))

    def _paint_hall(self, painter: QPainter, theme: Theme, frame: _Frame) -> None:
        floor, figures = self._session.job.site.floor, figures_of(self._session.job)
        hall = frame.box(0, 0, floor.width.si, floor.depth.si)
        painter.setPen(QPen(QColor(theme.faint), 2.5))
        painter.setBrush(QColor(theme.ground))
        painter.drawRect(hall)
        painter.setPen(QColor(theme.faint))
        width, depth = (figures.length(side.si) for side in (floor.width, floor.depth))
        painter.drawText(
            QRectF(hall.left(), hall.bottom() + 4, hall.width(), 22), Qt.AlignmentFlag.AlignHCenter, width
        )
        painter.save()
        painter.translate(hall.right() + 6, hall.center().y())
        painter.rotate(90)
        painter.drawText(QRectF(-80, -18, 160, 20), Qt.AlignmentFlag.AlignHCenter, depth)
        painter.restore()
        long = QFontMetricsF(self.font()).horizontalAdvance(depth)
        self._words.append(QRectF(hall.right() + 4, hall.center().y() - long / 2, 20, long))
        top = QPointF(hall.left() + 12, hall.top() - 30)
        painter.setBrush(QColor(theme.faint))
        painter.drawPolygon(
            QPolygonF([top, top + QPointF(5, 12), top + QPointF(0, 9), top + QPointF(-5, 12)])
        )
        painter.drawText(top + QPointF(9, 12), "North")

    def _paint_bay(self, painter: QPainter, theme: Theme, frame: _Frame, bay: BayMark) -> None:
        box = frame.box(bay.x, bay.y, bay.width, bay.depth)
        painter.setPen(QPen(QColor(theme.line), 1.5))
        painter.setBrush(QColor(theme.raised))
        painter.drawRoundedRect(box, 4, 4)
        painter.setPen(QColor(theme.ink))
        top = Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignTop
        if box.height() >= _ROOM_FOR_NAME:
            painter.drawText(box.adjusted(4, 8, -4, -4), top | Qt.TextFlag.TextWordWrap, bay.name)
            return
        # In a small bay the drops begin right below its end: one line in small letters.
        font = QFont(self.font())
        font.setPixelSize(9)
        painter.save()
        painter.setFont(font)
        name = QFontMetricsF(font).elidedText(bay.name, Qt.TextElideMode.ElideRight, box.width() - 2)
        painter.drawText(box.adjusted(1, 1, -1, 0), top, name)
        painter.restore()

    def _paint_corridor(self, painter: QPainter, theme: Theme, frame: _Frame, plan: PlanMarks) -> None:
        painter.setPen(QPen(QColor(theme.line), 7, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap))
        for start, end in plan.corridor:
            painter.drawLine(frame.point(*start), frame.point(*end))

    def _paint_lines(self, painter: QPainter, theme: Theme, frame: _Frame, plan: PlanMarks) -> None:
        for piece in plan.ways:
            style = piece.style
            marked = f"{piece.line}/{piece.segment}" in self.marked or piece.line in self.marked
            pen = QPen(QColor(style.on(theme.name)), 3.2 if marked else style.width + 0.5)
            if piece.existing:
                # Dashes tell the colour: what stays is drawn thinner, as its drops are drawn open.
                pen.setWidthF(2.4 if marked else 0.9)
            if style.dash:
                pen.setCapStyle(Qt.PenCapStyle.FlatCap)
                pen.setDashPattern([dash / pen.widthF() for dash in style.dash])
            painter.setPen(pen)
            # Lanes are told with north up; the widget's y runs south.
            spots = [(spot.x(), -spot.y()) for spot in (frame.point(*corner) for corner in piece.way)]
            way = in_lane(spots, piece.keep, piece.lane * _LANE)
            painter.drawPolyline(QPolygonF([QPointF(x, -y) for x, y in way]))

    def _paint_board(self, painter: QPainter, theme: Theme, frame: _Frame, board: BoardMark) -> None:
        at = frame.point(*board.at)
        half = max((board.high - board.low) * frame.scale / 2, 12)
        flat = not board.upright
        box = (
            QRectF(at.x() - half, at.y() - 5, 2 * half, 10)
            if flat
            else QRectF(at.x() - 5, at.y() - half, 10, 2 * half)
        )
        painter.setPen(QPen(QColor(theme.ink), 1))
        painter.setBrush(QColor(theme.accent))
        painter.drawRect(box)
        painter.setPen(QColor(theme.ink))
        painter.save()
        if flat:
            dy = -24 if board.wall is Wall.NORTH else 8
            painter.drawText(QRectF(at.x() - 60, at.y() + dy, 120, 18), Qt.AlignmentFlag.AlignCenter, "Board")
        else:
            painter.translate(at.x() + (-17 if board.wall is Wall.WEST else 17), at.y())
            painter.rotate(-90)
            painter.drawText(QRectF(-60, -9, 120, 18), Qt.AlignmentFlag.AlignCenter, "Board")
            long = QFontMetricsF(self.font()).horizontalAdvance("Board")
            middle = at.x() + (-17 if board.wall is Wall.WEST else 17)
            self._words.append(QRectF(middle - 9, at.y() - long / 2, 18, long))
        painter.restore()

    def _paint_wash(self, painter: QPainter, theme: Theme, frame: _Frame, wash: WashMark) -> None:
        """The eyewash as a cross in a square, its name, and the way to it in short dashes."""
        colour = QColor(theme.good)
        pen = QPen(colour, 1.6)
        pen.setDashPattern([1.5, 2.5])
        painter.setPen(pen)
        painter.drawPolyline(QPolygonF([frame.point(*corner) for corner in wash.way]))
        at = frame.point(*wash.at)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour)
        painter.drawRect(QRectF(at.x() - 7, at.y() - 7, 14, 14))
        painter.setPen(QPen(QColor(theme.paper), 2.4))
        painter.drawLine(at + QPointF(-4, 0), at + QPointF(4, 0))
        painter.drawLine(at + QPointF(0, -4), at + QPointF(0, 4))
        self._wash, self._wash_box = (wash.name, at), self._place_of_name(wash.name, at)
        if self._wash_box is not None:
            painter.fillRect(self._wash_box, QColor(theme.paper))
            painter.setPen(QColor(theme.ink))
            painter.drawText(self._wash_box, Qt.AlignmentFlag.AlignCenter, wash.name)

    def _place_of_name(self, name: str, at: QPointF) -> QRectF | None:
        """Beside the cross at a point, clear of drops and other words; None where there is no room.

        Without room for it the cross stands alone: the key below and its tip name it.
        """
        metrics = QFontMetricsF(self.font())
        width, height = metrics.horizontalAdvance(name) + 4, metrics.height() + 2
        inside = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        taken = self._words + [
            QRectF(spot.x() - radius, spot.y() - radius, 2 * radius, 2 * radius)
            for spot, radius in ((self._spots[d], self._radii[d] + _CLEAR) for d in self._spots)
        ]
        toward = 1 if at.x() < self.width() / 2 else -1
        beside = [QPointF(side * (11 + width / 2), 0) for side in (toward, -toward)]
        above_or_below = [
            QPointF(side * width / 2, up * (12 + height / 2))
            for up in (-1, 1)
            for side in (0, toward, -toward)
        ]
        for away in beside + above_or_below:
            centre = at + away
            box = QRectF(centre.x() - width / 2, centre.y() - height / 2, width, height)
            if inside.contains(box) and not any(box.intersects(other) for other in taken):
                return box
        return None

    @staticmethod
    def _radius(frame: _Frame, station: StationMark) -> float:
        """Of the symbols of a station, which keep to their half of the bay and to its length."""
        half, long = station.across * frame.scale / 2, station.along * frame.scale
        beside, after = (half - _OFF - _GAP) / 2, long / max(len(station.drops), 1) / 2 - _GAP
        return max(min(_RADIUS, beside, after), _LEAST)

    def _paint_station(self, painter: QPainter, theme: Theme, frame: _Frame, station: StationMark) -> None:
        rail, radius = station.rail, self._radius(frame, station)
        along = QPointF(1, 0) if rail.east_west else QPointF(0, -1)
        inward = QPointF(station.inward[0], -station.inward[1])  # the widget's y runs south
        at = frame.point(rail.x, rail.y)
        half = station.across * frame.scale / 2
        middle = at + inward * min(radius + _OFF, max(half - radius - _GAP, 0))
        spacing = 2 * rail.half / max(len(station.drops), 1)
        step = max(spacing * frame.scale, 2 * (radius + _GAP))
        reach = along * (step * max(len(station.drops) - 1, 0) / 2 + radius)
        pen = QPen(QColor(theme.ink), 4 if station.id in self.marked else 2.5)
        if station.existing:
            pen.setStyle(Qt.PenStyle.DotLine)
        painter.setPen(pen)
        painter.drawLine(at - reach, at + reach)
        room = half - 2 * (radius + _OFF)
        for k, drop in enumerate(station.drops):
            spot = middle + along * ((k - (len(station.drops) - 1) / 2) * step)
            self._spots[drop.id], self._radii[drop.id] = spot, radius
            self._paint_drop(painter, theme, drop, spot, radius)
            if not drop.air:
                self._paint_verdict(painter, theme, drop.id, inward, room)

    def _paint_drop(
        self, painter: QPainter, theme: Theme, drop: DropMark, spot: QPointF, radius: float
    ) -> None:
        colour = QColor(drop.style.on(theme.name))
        chosen = drop.id in self.chosen
        if chosen or drop.id in self.marked:
            painter.setPen(QPen(QColor(theme.accent), 2.5))
            painter.setBrush(QColor(theme.chosen))
            painter.drawEllipse(spot, radius + 3.5, radius + 3.5)
        if drop.id in self.at_risk():
            painter.setPen(QPen(QColor(theme.error), 2.5))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            edge = radius + 2.5
            painter.drawRect(QRectF(spot.x() - edge, spot.y() - edge, 2 * edge, 2 * edge))
        pen = QPen(colour, 1.6)
        if drop.existing:
            pen.setStyle(Qt.PenStyle.DotLine)
        painter.setPen(pen)
        painter.setBrush(QColor(theme.paper) if drop.existing or drop.air else colour)
        size = 2 * radius - 2
        box = QRectF(spot.x() - size / 2, spot.y() - size / 2, size, size)
        if drop.air:
            painter.drawRect(box)
        else:
            painter.drawEllipse(box)
        painter.save()
        painter.setFont(self._lettering(radius))
        painter.setPen(colour if drop.existing or drop.air else QColor(theme.paper))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextDontClip, drop.style.tag)
        painter.restore()

    def _lettering(self, radius: float) -> QFont:
        font = QFont(self.font())
        font.setPixelSize(max(round(11 * radius / _RADIUS), 7))
        font.setBold(True)
        return font

    def _paint_verdict(
        self, painter: QPainter, theme: Theme, drop: str, inward: QPointF, room: float
    ) -> None:
        """The sign of a drop's verdict on the side away from the rail, its room too where it fits.

        Where not even the sign fits there, one that is not good stands in the drop's own ring in place of its number.
        """
        proof, spot, radius = self._proofs.get(drop), self._spots[drop], self._radii[drop]
        standing = standing_of(proof)
        sideways = inward.y() == 0
        font = self._lettering(_RADIUS)
        metrics = QFontMetricsF(font)
        text = standing.sign
        if proof is not None and sideways:
            longer = standing.sign + room_words(proof, figures_of(self._session.job)).replace("\u00a0", "")
            text = longer if metrics.horizontalAdvance(longer) <= room else text
        width = metrics.horizontalAdvance(text) + 2
        away = radius + _OFF + (width / 2 if sideways else 6)
        if room < (width - 2 if sideways else 12):
            if standing is Standing.GOOD:
                return
            painter.save()
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(QColor(theme.paper))
            painter.drawEllipse(spot, radius - 2, radius - 2)
            painter.setFont(self._lettering(radius))
            painter.setPen(QColor(theme.standing(standing)))
            inside = QRectF(spot.x() - radius, spot.y() - radius, 2 * radius, 2 * radius)
            painter.drawText(inside, Qt.AlignmentFlag.AlignCenter, standing.sign)
            painter.restore()
            return
        painter.save()
        painter.setFont(font)
        painter.setPen(QColor(theme.standing(standing)))
        centre = spot + inward * away
        box = QRectF(centre.x() - width / 2, centre.y() - 8, width, 16)
        # Lines run below the bays; on its own ground the sign stays readable.
        ground = QColor(theme.paper)
        ground.setAlphaF(0.85)
        painter.fillRect(box.adjusted(0, 1, 0, -1), ground)
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)
        painter.restore()

    # Choosing.

    def drop_at(self, at: QPointF) -> str | None:
        """The drop whose symbol is at a point of the widget."""
        near = [
            (math.hypot(spot.x() - at.x(), spot.y() - at.y()), drop) for drop, spot in self._spots.items()
        ]
        if not near:
            return None
        distance, drop = min(near)
        return drop if distance <= self._radii[drop] + 3 else None

    def _wash_at(self, at: QPointF) -> str:
        """The eyewash's name where a point is on its cross, else nothing."""
        if self._wash is None:
            return ""
        name, spot = self._wash
        return name if math.hypot(spot.x() - at.x(), spot.y() - at.y()) <= _RADIUS else ""

    @property
    def wash_box(self) -> QRectF | None:
        """Where the eyewash's name is drawn, None where it is not."""
        return self._wash_box

    def spot_of(self, drop: str) -> QPointF | None:
        """Where a drop's symbol is, None if it is not drawn."""
        return self._spots.get(drop)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """A click on a drop chooses it; with Ctrl it is added."""
        drop = self.drop_at(event.position())
        if drop is not None:
            self.drop_chosen.emit(drop, bool(event.modifiers() & Qt.KeyboardModifier.ControlModifier))
        super().mousePressEvent(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """A hand over what can be chosen."""
        over = self.drop_at(event.position()) is not None
        self.setCursor(Qt.CursorShape.PointingHandCursor if over else Qt.CursorShape.ArrowCursor)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Arrows go from drop to drop, Enter opens one, plus and minus zoom."""
        drops = [d.id for d in self._session.job.design.drops]
        step = {
            Qt.Key.Key_Right: 1,
            Qt.Key.Key_Down: 1,
            Qt.Key.Key_Left: -1,
            Qt.Key.Key_Up: -1,
        }.get(Qt.Key(event.key()))
        if step is not None and drops:
            at = (
                drops.index(self.chosen[-1])
                if self.chosen and self.chosen[-1] in drops
                else -min(step, 0) - 1
            )
            self.choose([drops[(at + step) % len(drops)]])
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.chosen:
            self.drop_chosen.emit(self.chosen[-1], False)
        elif event.key() in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self.set_zoom(self.zoom * 1.25)
        elif event.key() == Qt.Key.Key_Minus:
            self.set_zoom(self.zoom / 1.25)
        elif event.key() == Qt.Key.Key_0:
            self.set_zoom(1.0)
        else:
            super().keyPressEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Ctrl and the wheel zoom; the wheel alone scrolls."""
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.set_zoom(self.zoom * (1.15 if event.angleDelta().y() > 0 else 1 / 1.15))
            event.accept()
        else:
            event.ignore()

    def zoom_by(self, factor: float) -> None:
        """Show the plan larger or smaller by a factor."""
        self.set_zoom(self.zoom * factor)

    def set_zoom(self, zoom: float) -> None:
        """Show the plan this much larger than the room it has; 1 fits."""
        self.zoom = min(max(zoom, 1.0), 8.0)
        pane = self.parentWidget()
        room = pane.size() if pane is not None else self.size()
        self.setFixedSize(int(room.width() * self.zoom), int(room.height() * self.zoom))
        self.update()

    def event(self, event: QEvent) -> bool:
        """A drop under the pointer tells what it is."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            drop = self.drop_at(QPointF(event.pos()))
            words = tip(self._told(drop)) if drop else self._wash_at(QPointF(event.pos())) or self.toolTip()
            QToolTip.showText(event.globalPos(), markup_tip(words), self)
            return True
        return super().event(event)

    def _told(self, drop_id: str) -> str:
        design = self._session.job.design
        drop = next(d for d in design.drops if d.id == drop_id)
        told = Names(design).drop(drop_id) + (", stays" if drop.existing else "")
        known = self._session.known
        if known is not None and (stops := self.at_risk().get(drop_id)):
            say = sentences_of(known, self._session.whole)
            words = " ".join(e.installer(say) for e in entries_of(replace(f, option=BASE) for f in stops))
            told = f"{told}. {MARKS[Grade.NEVER]} {Grade.NEVER.label}: {words.removesuffix('.')}"
        if drop.service == AIR:
            return told
        if known is None:
            return f"{told}. {self._session.meanwhile}"
        proof = next((d for d in known.proof.drops if d.drop == drop_id), None)
        room = room_words(proof, figures_of(self._session.job)) if proof is not None else ""
        return f"{told}. {standing_of(proof).told}{f', room {room}' if room else ''}"


class _Scroll(QScrollArea):
    """Keeps the plan as large as the room there is, times the zoom."""

    def __init__(self, plan: PlanView, parent: QWidget) -> None:
        super().__init__(parent)
        self._plan = plan
        self.setWidget(plan)
        self.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Follow the room."""
        super().resizeEvent(event)
        self._plan.set_zoom(self._plan.zoom)


class PlanPane(QWidget):
    """The plan with its zoom buttons and the key to its marks."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.view = PlanView(session, self)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 6, 0, 0)
        column.setSpacing(6)
        column.addWidget(_Scroll(self.view, self), 1)
        row = QHBoxLayout()
        self.key = MarkupLabel(self)
        self.key.setWordWrap(True)
        self.key.setAccessibleName("Key to the floor plan")
        row.addWidget(self.key, 1)
        for text, name, factor in (
            ("−", "Zoom out", 0.8),
            ("Fit", "Fit the plan", 0.0),
            ("+", "Zoom in", 1.25),
        ):
            button = QToolButton(self)
            button.setText(text)
            button.setAccessibleName(name)
            button.setToolTip(tip(name))
            button.clicked.connect(
                lambda _=False, f=factor: self.view.set_zoom(self.view.zoom * f if f else 1.0)
            )
            row.addWidget(button, 0, Qt.AlignmentFlag.AlignTop)
        column.addLayout(row)

    def showEvent(self, event: QShowEvent) -> None:
        """What changed while it was out of view."""
        super().showEvent(event)
        self.refresh()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Where there is little room the plan has it; the key is then a tip."""
        super().resizeEvent(event)
        self.key.setVisible(event.size().height() >= _ROOM_FOR_KEY)

    def refresh(self) -> None:
        """Show what holds, if in view."""
        if not self.isVisible():
            return  # shown when it comes into view
        theme = current_theme()
        design = self._session.job.design
        styles, names = line_styles(design), service_names(design)
        parts = [
            f'<span style="color:{styles[p.id].on(theme.name)}">&#9679;</span>&nbsp;<b>{styles[p.id].tag}</b>&nbsp;'
            f"{in_markup(names[p.id]).replace(' ', '&nbsp;')},&nbsp;{styles[p.id].name}"
            for p in design.products
        ]
        if any(d.service == AIR for d in design.drops):
            parts.append(f"&#9633;&nbsp;<b>A</b>&nbsp;Compressed&nbsp;air,&nbsp;{AIR_COLOUR}")
        wash = wash_mark(self._session.job.site, design)
        if wash is not None:
            name = in_markup(wash.name).replace(" ", "&nbsp;")
            parts.append(f'<span style="color:{theme.good}"><b>+</b></span>&nbsp;{name}')
        if any(d.existing for d in design.drops):
            parts.append("dotted&nbsp;outline,&nbsp;thin&nbsp;line:&nbsp;stays")
        known = self._session.known
        proofs = {d.drop: d for d in known.proof.drops} if known is not None else {}
        there = {
            standing_of(proofs.get(d.id)) for d in design.drops if d.service != AIR and known is not None
        }
        parts += [
            f'<span style="color:{theme.standing(s)}"><b>{s.sign}</b>&nbsp;{s.words.replace(" ", "&nbsp;")}</span>'
            for s in Standing
            if s in there
        ]
        if self.view.at_risk():
            words = "in&nbsp;a&nbsp;square:&nbsp;never&nbsp;to&nbsp;go&nbsp;out&nbsp;as&nbsp;it&nbsp;is"
            parts.append(f'<span style="color:{theme.error}"><b>{MARKS[Grade.NEVER]}</b>&nbsp;{words}</span>')
        if there:
            parts.append("%:&nbsp;room&nbsp;to&nbsp;the&nbsp;nearest&nbsp;end,&nbsp;where&nbsp;it&nbsp;fits")
        self.key.setText(" &nbsp; ".join(parts))
        self.view.setToolTip(markup_tip("" if self.key.isVisible() else self.key.text()))
        self.view.refresh()
