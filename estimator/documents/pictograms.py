"""The nine hazard pictograms of the GHS, drawn: a square set at a point, a red frame, a black symbol on white.

So 29 CFR 1910.1200, Appendix C, C.2.3 has them (from memory); the symbols follow those of UN GHS, annex 1, in plain
shapes of our own hand, so that they are known at the size of a label. What a pictogram means stands beside it in words.

A symbol is drawn on a field of 100 by 100 with y upwards; the frame runs between the middles of its sides. A stroke of
it is one line of words: `M`, `L`, `C` and `Z` as in a path of lines and Bézier curves, `O x y r` a disc,
`S w x y x y …` a line of a width with round ends; a leading `-` makes it white.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from reportlab.lib.colors import Color, black, white
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Paragraph

from estimator.documents.tags import TagKind, marked
from estimator.model.choices import Pictogram

__all__ = ["SYMBOLS", "HazardRow", "draw_pictogram"]

_RED: Final = Color(0.86, 0.05, 0.08)
_FRAME: Final = 6.0
"""How wide the frame is, of 100."""

_FLAME: Final = (
    "M 39 29 C 27 38 30 50 37 57 C 37 52 39 49 42 47 C 40 58 45 70 55 80 C 53 71 57 66 61 60 C 68 50 69 38 61 29 Z",
    "- M 46 29 C 41 36 44 43 49 49 C 50 45 51 44 53 41 C 54 44 54 45 54 47 C 60 40 58 33 54 29 Z",
)

SYMBOLS: Final[dict[Pictogram, tuple[str, ...]]] = {
    Pictogram.EXPLODING_BOMB: (
        "O 47 38 13",
        "- M 45 41 L 51 33 L 48 42 L 56 41 L 50 47 Z",
        "S 2.2 52 54 58 70",
        "S 2.2 59 49 76 58",
        "S 2.2 45 55 42 72",
        "S 2.2 36 50 24 58",
        "S 2.2 62 40 80 42",
        "S 2.2 60 31 72 25",
        "M 63 62 L 70 70 L 62 71 Z",
        "M 50 62 L 52 76 L 45 77 Z",
        "M 31 58 L 36 69 L 28 65 Z",
        "M 67 47 L 80 49 L 74 54 Z",
        "M 32 45 L 20 50 L 24 42 Z",
        "M 63 34 L 76 33 L 70 38 Z",
    ),
    Pictogram.FLAME: (*_FLAME, "S 4 35 24 65 24"),
    Pictogram.FLAME_OVER_CIRCLE: (
        "O 50 36 12.5",
        "- O 50 36 7.5",
        (
            "M 42 49 C 33 55 36 63 41 67 C 41 64 42 62 44 61 C 43 69 47 77 54 84 C 52 77 55 73 58 69 C 64 62 "
            "64 55 58 49 C 55 51 46 51 42 49 Z"
        ),
        "- M 48 50.4 C 45 55 47 59 50 62 C 50.5 60 51.5 59 52.5 57.5 C 56 54.5 55 52 53 50.4 Z",
        "S 3.4 37 20.5 63 20.5",
    ),
    Pictogram.GAS_CYLINDER: (
        (
            "M 20.5 45.5 C 22 40 26 37.5 31 39.5 L 64 53 C 68 55 70 57 72 60 L 77 62 L 75 67 L 70 65.2 C 66 67.5 "
            "62 67.5 58 66 L 24 52.5 C 20 50.5 19.6 48.5 20.5 45.5 Z"
        ),
    ),
    Pictogram.CORROSION: (
        # Two glasses that are poured out, their drops, a bar and a hand that are eaten away.
        "S 8 26 68 43 75",
        "- S 2.6 28 69 41 74.2",
        "S 8 52 68 69 75",
        "- S 2.6 54 69 67 74.2",
        "S 2.6 21 66 21 60",
        "O 21 54 2.4",
        "S 2.6 50 66 50 60",
        "O 50 53 2.4",
        "M 11 46 L 16 46 L 18 41 L 25 41 L 27 46 L 42 46 L 42 37 L 11 37 Z",
        "S 6 46 40 66 43",
        "S 5 50 35 68 38",
        "M 62 46 L 70 47 L 86 53 L 90 45 L 86 39 L 74 35.5 L 64 35.5 Z",
        "- M 46 46 L 48 39.5 L 53 40 L 55 46 Z",
    ),
    Pictogram.SKULL_AND_CROSSBONES: (
        "S 4.6 28 24.5 72 43",
        "S 4.6 28 43 72 24.5",
        *(f"O {x} {y} 3.1" for x, y in ((27, 26.5), (29.5, 22.5), (73, 41), (70.5, 45))),
        *(f"O {x} {y} 3.1" for x, y in ((27, 41), (29.5, 45), (73, 26.5), (70.5, 22.5))),
        "- O 50 49 14.5",
        "M 35 62 C 33 84 67 84 65 62 C 65 57 62 54 58 53 L 57 44 C 53 42 47 42 43 44 L 42 53 C 38 54 35 57 35 62 Z",
        "- O 43.5 62 4.6",
        "- O 56.5 62 4.6",
        "- M 50 57 L 47.6 52 L 52.4 52 Z",
        "- S 1 46.6 43 46.6 48",
        "- S 1 50 43 50 48",
        "- S 1 53.4 43 53.4 48",
    ),
    Pictogram.EXCLAMATION_MARK: (
        "M 50 81 C 43.5 81 41.5 76 42.3 70 L 46.2 43 C 46.7 40 53.3 40 53.8 43 L 57.7 70 C 58.5 76 56.5 81 50 81 Z",
        "O 50 29 5.8",
    ),
    Pictogram.HEALTH_HAZARD: (
        "O 50 75 8.2",
        (
            "M 46.6 70 L 46.6 63 C 44 59 38 58.5 33 56 C 29 54 28 50 28 45 L 30 31 L 35 31 "
            "L 36 26 L 64 26 L 65 31 L 70 31 L 72 45 C 72 50 71 54 67 56 C 62 58.5 56 59 53.4 63 L 53.4 70 Z"
        ),
        (
            "- M 50 60 L 52.4 48.6 L 62 55 L 55.4 45.4 L 67 43 L 55.4 40.6 L 62 31 L 52.4 37.4 L 50 26 L 47.6 37.4 "
            "L 38 31 L 44.6 40.6 L 33 43 L 44.6 45.4 L 38 55 L 47.6 48.6 Z"
        ),
    ),
    Pictogram.ENVIRONMENT: (
        # A bare tree, the ground, water and a fish on its back.
        "M 34 35 C 37 45 37 55 35 66 L 40 66 C 40 58 41 50 44 35 Z",
        "S 2.6 37 60 30 70 29 74",
        "S 2.6 38 62 43 73 42 80",
        "S 2.2 38 54 27 60 24 59",
        "S 2.2 39 56 49 65 54 66",
        "S 1.8 43 72 48 77",
        "S 1.8 32 67 25 68",
        "S 1.8 47 63 49 70",
        "S 3.4 18 35 52 35",
        "M 52 36.5 C 57 41 60 36 64 38 C 69 41 72 36 82 36.5 L 78 33.5 C 71 34 68 37.5 64 35 C 60 33 57 37 52 33.5 Z",
        "M 45 27 C 52 33.5 62 33 68 28 L 76 33 C 75 29 75 26 76 22 L 68 25.5 C 61 20.5 52 21 45 27 Z",
        "- O 51 27.6 1.5",
    ),
}


_SHRUNK: Final[dict[Pictogram, tuple[float, float, float]]] = {
    Pictogram.EXPLODING_BOMB: (0.84, 51.0, 49.0),
    Pictogram.FLAME: (0.9, 50.0, 51.5),
    Pictogram.FLAME_OVER_CIRCLE: (0.9, 50.0, 51.5),
    Pictogram.GAS_CYLINDER: (0.95, 48.5, 52.5),
    Pictogram.CORROSION: (0.76, 49.5, 49.5),
    Pictogram.SKULL_AND_CROSSBONES: (0.84, 50.0, 46.0),
    Pictogram.ENVIRONMENT: (0.76, 47.0, 44.0),
}
"""Symbols that are drawn smaller, so that they keep clear of the frame: by how much, and what of them comes to the
middle."""


def _stroke(canvas: Canvas, words: str) -> None:
    parts = words.split()
    colour = black
    if parts[0] == "-":
        colour, parts = white, parts[1:]
    if parts[0] == "O":
        canvas.setFillColor(colour)
        x, y, radius = map(float, parts[1:4])
        canvas.circle(x, y, radius, stroke=0, fill=1)
        return
    path = canvas.beginPath()
    if parts[0] == "S":
        width, *points = map(float, parts[1:])
        canvas.setStrokeColor(colour)
        canvas.setLineWidth(width)
        path.moveTo(*points[:2])
        for i in range(2, len(points), 2):
            path.lineTo(points[i], points[i + 1])
        canvas.drawPath(path, stroke=1, fill=0)
        return
    at = 0
    while at < len(parts):
        end = at + 1 + {"C": 6, "Z": 0}.get(parts[at], 2)
        points = [float(word) for word in parts[at + 1 : end]]
        match parts[at]:
            case "M":
                path.moveTo(*points)
            case "L":
                path.lineTo(*points)
            case "C":
                path.curveTo(*points)
            case _:
                path.close()
        at = end
    canvas.setFillColor(colour)
    canvas.drawPath(path, stroke=0, fill=1)


def draw_pictogram(canvas: Canvas, pictogram: Pictogram, x: float, y: float, across: float) -> None:
    """One pictogram.

    Args:
        canvas: to draw on.
        pictogram: which.
        x, y: left and bottom of the square field that it stands in, in points.
        across: how wide and high it is from point to point.
    """
    canvas.saveState()
    canvas.translate(x, y)
    canvas.scale(across / 100.0, across / 100.0)
    inset = _FRAME / 2 * 2**0.5
    frame = canvas.beginPath()
    frame.moveTo(50, inset)
    frame.lineTo(100 - inset, 50)
    frame.lineTo(50, 100 - inset)
    frame.lineTo(inset, 50)
    frame.close()
    canvas.setLineJoin(0)
    canvas.setLineWidth(_FRAME)
    canvas.setStrokeColor(_RED)
    canvas.setFillColor(white)
    canvas.drawPath(frame, stroke=1, fill=1)
    canvas.setLineCap(1)
    canvas.setLineJoin(1)
    size, middle_x, middle_y = _SHRUNK.get(pictogram, (1.0, 50.0, 50.0))
    canvas.translate(50, 50)
    canvas.scale(size, size)
    canvas.translate(-middle_x, -middle_y)
    for words in SYMBOLS[pictogram]:
        _stroke(canvas, words)
    canvas.restoreState()


class HazardRow(Flowable):
    """The pictograms of a label beside each other, in as many rows as they need, and the signal word beside them.

    Args:
        pictograms: at least one, with what each means in words.
        across: of each, in points.
        signal: the signal word; None where there is none.
    """

    _GAP: Final = 2.0
    _AIR: Final = 2.0

    def __init__(
        self, pictograms: Sequence[tuple[Pictogram, str]], across: float, signal: Paragraph | None
    ) -> None:
        super().__init__()
        self._pictograms, self._across, self._signal = tuple(pictograms), across, signal
        self._in_row, self._beside = 1, False

    def wrap(self, availWidth: float, availHeight: float) -> tuple[float, float]:
        """As wide as there is room, as high as its rows and the signal word need."""
        step = self._across + self._GAP
        self._in_row = max(1, min(len(self._pictograms), int((availWidth + self._GAP) // step)))
        rows = -(-len(self._pictograms) // self._in_row)
        self.width, self.height = availWidth, rows * step
        if self._signal is not None:
            # Beside the pictograms where it has a word's room there, else under them.
            beside = availWidth - self._in_row * step - 4.0
            self._beside = beside > self._signal.minWidth()
            _, high = self._signal.wrap(beside if self._beside else availWidth, availHeight)
            self.height = max(self.height, high) if self._beside else self.height + high
        self.height += 2 * self._AIR
        return self.width, self.height

    def draw(self) -> None:
        """Row by row from the top left, each a picture with its words."""
        step = self._across + self._GAP
        for i, (pictogram, words) in enumerate(self._pictograms):
            row, column = divmod(i, self._in_row)
            x, y = column * step, self.height - self._AIR - (row + 1) * step + self._GAP
            self.canv.saveState()
            self.canv.translate(x, y)
            with marked(self.canv, TagKind.FIGURE, None, f"Pictogram: {words}", (self._across, self._across)):
                draw_pictogram(self.canv, pictogram, 0, 0, self._across)
            self.canv.restoreState()
        if self._signal is not None:
            _, high = self._signal.wrap(self._signal.width, self.height)
            if self._beside:
                rows = -(-len(self._pictograms) // self._in_row)
                y = self.height - self._AIR - (rows * step + high) / 2
                self._signal.drawOn(self.canv, self._in_row * step + 4.0, y)
            else:
                self._signal.drawOn(self.canv, 0, self._AIR)
