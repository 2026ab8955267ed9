"""Puts the marks of a picture on the page."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.lib.colors import Color, white
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from estimator.documents.faces import PLAIN, STRONG, fit, printed, width_pt
from estimator.documents.plan_picture import Disc, Lettering, Mark, Picture, Stroke
from estimator.documents.style import INK
from estimator.documents.tags import TagKind, marked
from estimator.shown.lines import LineStyle

__all__ = ["LineSample", "PictureOnPage", "TickBox", "disc_letters"]


def _text(canvas: Canvas, x: float, y: float, text: str, face: str, size: float) -> None:
    canvas.setFont(face, size)
    canvas.drawString(x, y, printed(text))


def _line(canvas: Canvas, line: Stroke) -> None:
    path = canvas.beginPath()
    path.moveTo(*line.points[0])
    for point in line.points[1:]:
        path.lineTo(*point)
    if line.closed:
        path.close()
    canvas.setLineWidth(line.width)
    canvas.setStrokeColor(Color(*line.colour))
    canvas.setDash(list(line.dash) or [])
    if line.fill is not None:
        canvas.setFillColor(Color(*line.fill))
    canvas.drawPath(path, stroke=1, fill=0 if line.fill is None else 1)
    canvas.setDash([])


def _label(canvas: Canvas, label: Lettering) -> None:
    face = STRONG if label.strong else PLAIN
    natural = width_pt(label.text, face, label.size)
    size = label.size
    if natural > label.room:
        size = min(size, max(label.least, size * label.room / natural))
    text = fit(label.text, face, size, label.room)
    if not text:
        return
    width = width_pt(text, face, size)
    shift = {"start": 0.0, "middle": -width / 2, "end": -width}[label.anchor]
    canvas.saveState()
    canvas.translate(*label.at)
    if label.upright:
        canvas.rotate(90)
    if label.halo:
        canvas.setFillColor(Color(0.965, 0.97, 0.975))
        canvas.rect(shift - 2, -size * 0.28, width + 4, size * 1.2, stroke=0, fill=1)
    canvas.setFillColor(Color(*label.colour))
    _text(canvas, shift, 0.0, text, face, size)
    canvas.restoreState()


def disc_letters(disc: Disc) -> float:
    """Points of the letters in a disc: as large as go into it, the discs of a plan have room for 6."""
    return disc.radius * {1: 1.5, 2: 1.47}.get(len(disc.text), 3.4 / max(1, len(disc.text)))


def _disc(canvas: Canvas, disc: Disc) -> None:
    colour = Color(*disc.colour)
    canvas.setLineWidth(1.0)
    canvas.setStrokeColor(colour)
    canvas.setFillColor(white if disc.open else colour)
    canvas.circle(*disc.at, disc.radius, stroke=1, fill=1)
    canvas.setFillColor(colour if disc.open else white)
    size = disc_letters(disc)
    x = disc.at[0] - width_pt(disc.text, STRONG, size) / 2
    _text(canvas, x, disc.at[1] - size * 0.34, disc.text, STRONG, size)


class PictureOnPage(Flowable):
    """A picture as part of the text."""

    def __init__(self, picture: Picture, alternative: str) -> None:
        super().__init__()
        self._alternative = alternative
        self._picture = picture
        self.width = picture.width
        self.height = picture.height

    def wrap(self, availWidth: float, availHeight: float) -> tuple[float, float]:
        """Its own size."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw the marks in order."""
        with marked(self.canv, TagKind.FIGURE, None, self._alternative, (self.width, self.height)):
            self._draw()

    def _draw(self) -> None:
        self.canv.saveState()
        self.canv.setLineJoin(1)
        if self._picture.cut:
            self.canv.saveState()
            path = self.canv.beginPath()
            path.rect(*self._picture.frame)
            self.canv.clipPath(path, stroke=0, fill=0)
            self._put(self._picture.cut)
            self.canv.restoreState()
        self._put(self._picture.marks)
        self.canv.restoreState()

    def _put(self, marks: Sequence[Mark]) -> None:
        for mark in marks:
            if isinstance(mark, Stroke):
                _line(self.canv, mark)
            elif isinstance(mark, Lettering):
                _label(self.canv, mark)
            else:
                _disc(self.canv, mark)


class LineSample(Flowable):
    """A short piece of a service's line with its disc, for the key."""

    def __init__(self, style: LineStyle, width: float = 46.0, *, open: bool = False) -> None:
        super().__init__()
        self._style = style
        self._open = open
        self.width = width
        self.height = 10.0

    def wrap(self, availWidth: float, availHeight: float) -> tuple[float, float]:
        """Its own size."""
        return self.width, self.height

    def draw(self) -> None:
        """A disc and a piece of line."""
        style = self._style
        told = f"Disc {style.tag} and its line"
        with marked(self.canv, TagKind.FIGURE, None, told, (self.width, self.height)):
            _line(
                self.canv, Stroke(((12.0, 5.0), (self.width, 5.0)), style.width * 1.2, style.rgb, style.dash)
            )
            radius = 4.1 if len(style.tag) < 3 else 5.0
            _disc(self.canv, Disc((5.0, 5.0), radius, style.tag, style.rgb, self._open))


class TickBox(Flowable):
    """An empty box for a tick by hand."""

    def __init__(self, size: float = 11.0) -> None:
        super().__init__()
        self.width = self.height = size

    def wrap(self, availWidth: float, availHeight: float) -> tuple[float, float]:
        """Its own size."""
        return self.width, self.height

    def draw(self) -> None:
        """A square with a thin edge."""
        with marked(self.canv, TagKind.FIGURE, None, "Box to tick", (self.width, self.height)):
            self._draw()

    def _draw(self) -> None:
        self.canv.saveState()
        self.canv.setLineWidth(0.9)
        self.canv.setStrokeColor(INK)
        self.canv.setFillColor(white)
        self.canv.rect(0, 0, self.width, self.height, stroke=1, fill=1)
        self.canv.restoreState()
