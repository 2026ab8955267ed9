"""Labels to stick on containers, day tanks and lines, one in each field of the sheet."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from reportlab.platypus import Flowable, Paragraph

from estimator.documents.label_grid import LabelGrid, label_grid, length_words
from estimator.documents.paper import Chapter, Layout
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
_SOURCE: Final = replace(Texts.CELL, size=8.0, leading=9.5)


def _texts(label: LabelText, reference: str) -> Iterator[tuple[str, Prose]]:
    yield label.name, _NAME
    yield label.place, _PLACE
    yield label.strength, _WORDS
    yield label.signal, _SIGNAL
    yield label.hazards, _WORDS
    yield " ".join(text for text in (label.data, reference) if text), _SOURCE


class _Label(Flowable):
    """The paragraphs of one label in a frame as large as it is."""

    def __init__(self, grid: LabelGrid, paragraphs: list[Paragraph], bookmark: str) -> None:
        super().__init__()
        self.width, self.height = grid.width, grid.height
        self._paragraphs, self._bookmark = paragraphs, bookmark

    def wrap(self, availWidth: float, availHeight: float) -> tuple[float, float]:
        """Its own size."""
        return self.width, self.height

    def draw(self) -> None:
        """A thin edge and the texts from the top."""
        self.canv.saveState()
        self.canv.setLineWidth(0.4)
        self.canv.setStrokeColor(INK)
        self.canv.rect(0, 0, self.width, self.height, stroke=1, fill=0)
        self.canv.restoreState()
        if self._bookmark:
            self.canv.bookmarkHorizontal("labels", 0, self.height)
            self.canv.addOutlineEntry(self._bookmark, "labels", 0, closed=False)
        y = self.height - _EDGE
        for paragraph in self._paragraphs:
            _, high = paragraph.wrapOn(self.canv, self.width - 2 * _EDGE, self.height)
            y -= high
            paragraph.drawOn(self.canv, _EDGE, y)


def _fitting(sheet: Sheet, grid: LabelGrid, label: LabelText) -> tuple[list[Paragraph], float]:
    """The texts as large as they fit, and how high they are: more than there is room for where none does."""
    room = grid.width - 2 * _EDGE
    paragraphs: list[Paragraph] = []
    high = 0.0
    for size in _SIZES:
        paragraphs = [
            sheet.text(text, replace(prose, size=prose.size * size, leading=prose.leading * size))
            for text, prose in _texts(label, replace(sheet, noun="Quote").reference)
            if text
        ]
        high = sum(paragraph.wrap(room, 1e6)[1] for paragraph in paragraphs)
        if high <= grid.height - 2 * _EDGE:
            break
    return paragraphs, high


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
    unknown = [i for i, product in enumerate(job.design.products) if without_hazards(product.sheet)]
    if unknown:
        raise QuoteError((_unknown(sheet, unknown),))
    grid = label_grid(job.presentation.labels, sheet.page, job.units)
    story: list[Flowable] = []
    too_high: list[tuple[float, LabelText]] = []
    for label in label_texts(sheet.study, sheet.say.names, dict(sheet.services), sheet.figures):
        paragraphs, high = _fitting(sheet, grid, label)
        if high > grid.height - 2 * _EDGE:
            too_high.append((high, label))
        story.append(_Label(grid, paragraphs, "" if story else "Labels"))
    if too_high:
        raise QuoteError((_refused(sheet, grid, max(too_high, key=lambda pair: pair[0])),))
    return story


LABELS = Chapter("labels", "Labels", _story, layout=lambda _: Layout.LABELS)
