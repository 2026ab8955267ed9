"""The quote as it will be printed, page by page: the very PDF, drawn."""

from __future__ import annotations

from contextlib import closing
from dataclasses import dataclass
from threading import Lock
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QHideEvent, QImage, QKeyEvent, QPixmap, QShowEvent
from PySide6.QtWidgets import (
    QComboBox,
    QPushButton,
    QScrollArea,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from estimator.desk.doing.papers import Draft, Papers
from estimator.desk.flow import Flow
from estimator.desk.form.inputs import ComboBox
from estimator.desk.plain import Label, tip
from estimator.desk.session import Session
from estimator.desk.work import Work
from estimator.going import ALONE, Going
from estimator.shown.commands import ACTS
from estimator.shown.figures import figures_of

if TYPE_CHECKING:
    from pypdfium2 import PdfDocument

__all__ = ["PreviewPane", "page_image"]

_ZOOMS = (
    ("Whole page", 0.0),
    ("Page width", -1.0),
    ("75 %", 0.75),
    ("100 %", 1.0),
    ("150 %", 1.5),
    ("200 %", 2.0),
)


def _opened(pdf: bytes) -> PdfDocument:
    """A document of the library that draws it, which is loaded when the first page is drawn."""
    from pypdfium2 import PdfDocument

    return PdfDocument(pdf)


_DRAWING: Final = Lock()
"""The library that draws must not be in two threads at once."""


def page_image(pdf: bytes, page: int, scale: float) -> QImage:
    """A page as a picture.

    Args:
        pdf: the document.
        page: from 0.
        scale: pixels for each point (1/72 in).
    """
    with _DRAWING, closing(_opened(pdf)) as document:
        bitmap = document[page].render(scale=scale, rev_byteorder=True)
        data = bitmap.to_numpy()
        form = QImage.Format.Format_RGBA8888 if data.shape[2] == 4 else QImage.Format.Format_RGB888
        # A copy, because the picture must outlive the library's own buffer.
        return QImage(data.tobytes(), bitmap.width, bitmap.height, data.shape[1] * data.shape[2], form).copy()


def _page_sizes(pdf: bytes) -> list[tuple[float, float]]:
    with _DRAWING, closing(_opened(pdf)) as document:
        return [document.get_page_size(i) for i in range(len(document))]


@dataclass(frozen=True, slots=True)
class _Drawn:
    """A page as a picture, of which quote, from 0, and of how many."""

    of: Draft
    page: int
    pages: int
    image: QImage


def _scale(page: tuple[float, float], room: QSize, zoom: float) -> float:
    """Pixels for each point: of a page (points) in a room (pixels), for one of the sizes that can be chosen."""
    width, height = page
    if zoom == 0.0:
        zoom = min((room.width() - 16) / width, (room.height() - 16) / height)
    elif zoom < 0.0:
        zoom = (room.width() - 24) / width
    return max(zoom, 0.1)


class _Sheet(QScrollArea):
    """The page; Page up and Page down turn when there is nothing left to scroll."""

    turned = Signal(int)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Turn or scroll."""
        bar = self.verticalScrollBar()
        if event.key() == Qt.Key.Key_PageDown and bar.value() == bar.maximum():
            self.turned.emit(1)
        elif event.key() == Qt.Key.Key_PageUp and bar.value() == bar.minimum():
            self.turned.emit(-1)
        else:
            super().keyPressEvent(event)


class PreviewPane(QWidget):
    """The quote inside the program.

    Args:
        session: the open job.
        papers: make the quote; what is in view is what they write.

    Signals:
        write_wanted: the person wants the file.
        failed: the quote could not be made.
    """

    write_wanted = Signal()
    failed = Signal(object)

    def __init__(self, session: Session, papers: Papers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session, self._papers = session, papers
        self.work = Work(self)
        self.drawing = Work(self)
        self.work.left.connect(self._left)
        self.shown: Draft | None = None
        self._asked: object = None
        self.page = 0
        self._drawn: _Drawn | None = None
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 6, 0, 0)
        column.setSpacing(6)
        row = Flow()
        self.back = self._turn_button("◂", "Previous page", -1)
        self.forward = self._turn_button("▸", "Next page", 1)
        self.place = Label("Page – of –", self)
        self.place.setAccessibleName("Page")
        self.zoom: QComboBox = ComboBox(self)
        self.zoom.setAccessibleName("Size of the page")
        self.zoom.setAccessibleDescription("How large the page is shown.")
        for name, value in _ZOOMS:
            self.zoom.addItem(name, value)
        self.zoom.setCurrentIndex(1)
        self.zoom.currentIndexChanged.connect(lambda _: self._draw())
        self.write = QPushButton("Write PDF…", self)
        self.write.setAutoDefault(False)
        self.write.setAccessibleDescription(ACTS["file.quote"].told)
        self.write.clicked.connect(self.write_wanted)
        for widget in (self.back, self.place, self.forward, self.zoom, self.write):
            row.add(widget)
        self.sheet = _Sheet(self)
        self.sheet.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.sheet.setAccessibleName("Quote page")
        self.sheet.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.sheet.turned.connect(self.turn)
        self.picture = Label("", self)
        self.picture.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.sheet.setWidget(self.picture)
        self.sheet.setWidgetResizable(True)
        column.addLayout(row)
        column.addWidget(self.sheet, 1)

    def _turn_button(self, text: str, name: str, by: int) -> QToolButton:
        button = QToolButton(self)
        button.setText(text)
        button.setAccessibleName(name)
        button.setToolTip(tip(name))
        button.clicked.connect(lambda: self.turn(by))
        return button

    def refresh(self) -> None:
        """Make the quote anew if it is in view and something changed."""
        if not self.isVisible():
            return
        session = self._session
        now = session.whole, session.book, session.today()
        if now == self._asked:
            return
        self._asked = now
        if self.shown is None:
            self.picture.setText("Making the quote …")
        self.work.start(self._papers.draft(), self._show, self._fail)

    def end(self) -> None:
        """Leave what is under way and wait for its end."""
        self.drawing.stop()
        self.work.wait()
        self.drawing.wait()

    def showEvent(self, event: QShowEvent) -> None:
        """The quote in view is the one that is written."""
        super().showEvent(event)
        self._papers.in_view = self._drawn.of if self._drawn is not None else None

    def hideEvent(self, event: QHideEvent) -> None:
        """Out of view nothing is promised any more."""
        super().hideEvent(event)
        self._papers.in_view = None

    def _show(self, made: object) -> None:
        assert isinstance(made, Draft)
        before, self.shown = self.shown, made
        if before is not None and before.on != made.on:
            day = figures_of(made.whole).day(made.on)
            self._session.said.emit(f"The quote in view was made anew: it is of {day} now.")
        self._draw()

    def _left(self) -> None:
        self._asked = None
        if self.shown is None:
            self.picture.setText("The quote was not made; show this view again to make it.")

    def _fail(self, error: BaseException) -> None:
        self.picture.setText("The quote could not be made.")
        self.failed.emit(error)

    def turn(self, by: int) -> None:
        """Some pages on, or back; stays at the ends."""
        if self._drawn is None:
            return
        to = min(max(self.page + by, 0), self._drawn.pages - 1)
        if to != self.page:
            self.page = to
            self._draw()
            self.sheet.verticalScrollBar().setValue(0)

    def _draw(self) -> None:
        """Draw the page beside the window; what is in view stays until it is there."""
        made, wanted = self.shown, self.page
        if made is None:
            return
        room, zoom, ratio = (
            self.sheet.viewport().size(),
            float(self.zoom.currentData()),
            self.devicePixelRatioF(),
        )

        def draw(_: Going) -> _Drawn:
            sizes = _page_sizes(made.pdf)
            page = min(wanted, len(sizes) - 1)
            image = page_image(made.pdf, page, _scale(sizes[page], room, zoom) * ratio)
            image.setDevicePixelRatio(ratio)
            return _Drawn(made, page, len(sizes), image)

        if self._session.patience_s is None:
            self._show_page(draw(ALONE))
        else:
            self.drawing.start(draw, self._show_page, self._fail)

    def _show_page(self, drawn: object) -> None:
        assert isinstance(drawn, _Drawn)
        self._drawn, self.page = drawn, drawn.page
        if self.isVisible():
            self._papers.in_view = drawn.of
        self.picture.setPixmap(QPixmap.fromImage(drawn.image))
        self.place.setText(f"Page {drawn.page + 1} of {drawn.pages}")
        self.picture.setAccessibleName(f"Picture of page {drawn.page + 1}")
        self.back.setEnabled(drawn.page > 0)
        self.forward.setEnabled(drawn.page + 1 < drawn.pages)
