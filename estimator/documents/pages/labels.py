"""Labels to stick on containers, day tanks and lines, one in each field of the sheet."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import product
from typing import Final

from reportlab.platypus import Flowable, Paragraph

from estimator.documents.label_grid import LabelGrid, label_grid, length_words
from estimator.documents.paper import Chapter, SheetLayout
from estimator.documents.pictograms import HazardRow
from estimator.documents.refused import QuoteError
from estimator.documents.sheet import Sheet
from estimator.documents.style import INK, Prose, Texts
from estimator.model.finding import Finding, Severity
from estimator.model.job import Job
from estimator.model.problems import label_of
from estimator.shown.label_words import LabelText, label_texts, without_hazards

__all__ = ["LABELS"]

_EDGE: Final = 7.0
"""Points between the edge of a label and its text: sheets are fed a little askew."""
_SIZES: Final = (1.8, 1.5, 1.25, 1.0, 0.86, 0.75)
"""Tried in turn; the last makes letters of 6 points."""
_NAME: Final = replace(Texts.CELL_STRONG, size=12.0, leading=14.0)
_PLACE: Final = replace(Texts.CELL_STRONG, size=8.5, leading=10.5)
_WORDS: Final = replace(Texts.CELL, size=8.5, leading=10.5)
_SIGNAL: Final = replace(Texts.CELL_STRONG, size=10.0, leading=12.0)
_PICTOGRAM: Final = 44.0
_LEAST_PICTOGRAM: Final = 36.0
"""Points from point to point of a pictogram: a symbol is known from an arm's length. Our own sizes; 29 CFR 1910.1200
states none (from memory)."""
_SOURCE: Final = replace(Texts.CELL, size=8.0, leading=9.5)


def _pieces(sheet: Sheet, label: LabelText, reference: str, size: float) -> Iterator[Flowable]:
    """What stands on a label from its top down, in letters and pictograms of a size."""

    def text(words: str, prose: Prose) -> Paragraph:
        return sheet.text(words, replace(prose, size=prose.size * size, leading=prose.leading * size))

    yield text(label.name, _NAME)
    yield text(label.place, _PLACE)
    if label.strength:
        yield text(label.strength, _WORDS)
    signal = text(label.signal, _SIGNAL) if label.signal else None
    if label.pictograms:
        yield HazardRow(label.pictograms, max(_LEAST_PICTOGRAM, _PICTOGRAM * size), signal)
    elif signal is not None:
        yield signal
    yield text(label.hazards, _WORDS)
    yield text(" ".join(words for words in (label.data, reference) if words), _SOURCE)


class _Label(Flowable):
    """The pieces of one label in a frame as large as it is."""

    def __init__(self, grid: LabelGrid, pieces: list[Flowable], bookmark: str) -> None:
        super().__init__()
        self.width, self.height = grid.width, grid.height
        self._pieces, self._bookmark = pieces, bookmark

    def wrap(self, availWidth: float, availHeight: float) -> tuple[float, float]:
        """Its own size."""
        return self.width, self.height

    def draw(self) -> None:
        """A thin edge and the pieces from the top."""
        self.canv.saveState()
        self.canv.setLineWidth(0.4)
        self.canv.setStrokeColor(INK)
        self.canv.rect(0, 0, self.width, self.height, stroke=1, fill=0)
        self.canv.restoreState()
        if self._bookmark:
            self.canv.bookmarkHorizontal("labels", 0, self.height)
            self.canv.addOutlineEntry(self._bookmark, "labels", 0, closed=False)
        y = self.height - _EDGE
        for piece in self._pieces:
            _, high = piece.wrapOn(self.canv, self.width - 2 * _EDGE, self.height)
            y -= high
            piece.drawOn(self.canv, _EDGE, y)


def _fitting(sheet: Sheet, grid: LabelGrid, label: LabelText) -> tuple[list[Flowable], float]:
    """The pieces as large as they fit, and how high they are: more than there is room for where none does.

    A label too small for its pictograms has the words alone: either will do (29 CFR 1910.1200(f)(6)(ii), from memory).
    """
    room = grid.width - 2 * _EDGE
    reference = replace(sheet, noun="Quote").reference
    pieces: list[Flowable] = []
    high = 0.0
    in_words = replace(label, pictograms=())
    for told, size in product((label, in_words) if label.pictograms else (in_words,), _SIZES):
        pieces = list(_pieces(sheet, told, reference, size))
        high = sum(piece.wrap(room, 1e6)[1] for piece in pieces)
        if high <= grid.height - 2 * _EDGE:
            break
    return pieces, high


def _refused(sheet: Sheet, grid: LabelGrid, most: tuple[float, LabelText]) -> Finding:
    system = sheet.study.job.units
    needed = length_words(most[0] + 2 * _EDGE + 0.5, system)
    return Finding(
        Severity.ERROR,
        "presentation.labels.height",
        "paper-labels",
        f"{label_of(Job, ('presentation', 'labels', 'height'))}: the label “{most[1].name}” ({most[1].place}) needs "
        f"{needed} in letters of 6 points, and has {length_words(grid.height, system)}. Take a larger label.",
    )


def _unknown(sheet: Sheet, unknown: list[int]) -> Finding:
    """Of all such products one sentence: 400 of them would bury it."""
    first = sheet.study.job.design.products[unknown[0]]
    more = f" The same holds for {len(unknown) - 1} more." if len(unknown) > 1 else ""
    label = label_of(Job, ("design", "products", unknown[0], "sheet", "classes"))
    return Finding(
        Severity.ERROR,
        f"design.products.{unknown[0]}.sheet.classes",
        "paper-labels",
        f"{label}: nothing is stated of what “{sheet.services[first.id]}” can do, so no label can say it; take it over "
        f"from its safety data sheet.{more}",
    )


def _story(sheet: Sheet) -> list[Flowable]:
    job = sheet.study.job
    unknown = [i for i, one in enumerate(job.design.products) if without_hazards(one.sheet)]
    if unknown:
        raise QuoteError((_unknown(sheet, unknown),))
    grid = label_grid(job.presentation.labels, sheet.page, job.units)
    story: list[Flowable] = []
    too_high: list[tuple[float, LabelText]] = []
    for label in label_texts(sheet.study, sheet.say.names, dict(sheet.services), sheet.figures):
        pieces, high = _fitting(sheet, grid, label)
        if high > grid.height - 2 * _EDGE:
            too_high.append((high, label))
        story.append(_Label(grid, pieces, "" if story else "Labels"))
    if too_high:
        raise QuoteError((_refused(sheet, grid, max(too_high, key=lambda pair: pair[0])),))
    return story


LABELS = Chapter("labels", "Labels", _story, layout=lambda _: SheetLayout.LABELS)
