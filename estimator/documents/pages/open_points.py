"""What is still open, for the one who signs: what can hurt people on the cover, all of it above the signature.

A finding stands here in the customer's words, with who decides, and with who signed for it. What must never go out and
was not signed for stops the paper: a draft can be printed and says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from reportlab.platypus import Flowable

from estimator.documents.sheet import Elsewhere, Sheet, boxed, headed
from estimator.documents.style import Texts
from estimator.model.grades import Grade
from estimator.model.options import BASE
from estimator.model.signing import Signatures
from estimator.shown.entries import Entry, customer_entries
from estimator.shown.signed_words import signed_words
from estimator.study import Study

__all__ = ["above_signature", "of_option", "on_cover"]

_MOST_ON_COVER: Final = 6
_MOST_ABOVE: Final = 60


class _Points:
    """The open points of a sheet, in the order of findings.

    Args:
        sheet: what is printed.
    """

    def __init__(self, sheet: Sheet) -> None:
        self._sheet = sheet
        self._signatures = Signatures(sheet.study.job)
        wanted = (f for f in sheet.study.findings if f.grade is not Grade.KNOW)
        entries = customer_entries(wanted, self._signatures.of)
        # What somebody signed for is told after what still stops the paper.
        self.entries = tuple(sorted(entries, key=self._signed))
        self.dangers = tuple(e for e in self.entries if e.first.hurts)
        self.stops = tuple(e for e in self.dangers if self._signatures.blocks(e.first))

    def _signed(self, entry: Entry) -> bool:
        return entry.grade is not Grade.NEVER or self._signatures.of(entry.first) is not None

    def label(self, entry: Entry) -> str:
        """What kind of point it is, "" where nobody can be hurt."""
        if self._signatures.blocks(entry.first):
            return "Stop."
        return "Danger." if entry.first.hurts else ""

    def words(self, entry: Entry) -> str:
        """A point in the customer's words, with who decides and who signed for it."""
        sheet = self._sheet
        told = [entry.customer(sheet.say) or ""]
        if entry.first.defer_to:
            told.append(f"Decided by: {entry.first.defer_to}.")
        if (sign := self._signatures.of(entry.first)) is not None:
            told.append(signed_words(sign, sheet.figures))
        return " ".join(told)

    def stopped(self) -> str:
        """That the paper cannot be signed as it is, "" where it can."""
        if not self.stops:
            return ""
        return "This cannot be accepted as it is: what says “Stop” is settled first, or signed for by the company."


def _lines(sheet: Sheet, points: _Points, entries: Sequence[Entry]) -> list[Flowable]:
    lines: list[Flowable] = []
    for entry in entries:
        label, words = points.label(entry), points.words(entry)
        lines.append(sheet.texts.pair(label, words, Texts.CELL) if label else sheet.text(words, Texts.CELL))
    return lines


def on_cover(sheet: Sheet) -> list[Flowable]:
    """What can hurt people, boxed; nothing where nothing can."""
    points = _Points(sheet)
    if not points.dangers:
        return []
    head = points.stopped() or "Before you sign: what can hurt people and is still open."
    shown, more = points.dangers[:_MOST_ON_COVER], len(points.dangers) - _MOST_ON_COVER
    rows: list[Flowable] = [sheet.text(head, Texts.CELL_STRONG), *_lines(sheet, points, shown)]
    if more > 0:
        words = f"And {more} more: all of them stand above the signature"
        rows.append(Elsewhere(sheet, words, "open-points", Texts.CELL_STRONG))
    return [boxed(rows, sheet.page.text_width)]


def above_signature(sheet: Sheet) -> list[Flowable]:
    """All that was found and concerns the one who signs; nothing where all is well."""
    points = _Points(sheet)
    if not points.entries:
        return []
    story: list[Flowable] = headed(sheet, "To be settled", "open-points", 1)
    if stopped := points.stopped():
        story.append(sheet.text(stopped, Texts.CELL_STRONG))
    for entry in points.entries[:_MOST_ABOVE]:
        label, words = points.label(entry), points.words(entry)
        story.append(sheet.texts.pair(label, words, Texts.NOTE) if label else sheet.text(words, Texts.NOTE))
    if (more := len(points.entries) - _MOST_ABOVE) > 0:
        story.append(sheet.text(f"And {more} more, which the company lists on request.", Texts.CELL_STRONG))
    return story


def of_option(sheet: Sheet, study: Study) -> str:
    """That a design of the quote cannot be accepted as it is, "" where it can.

    Args:
        sheet: what is printed.
        study: of the base design or of an offered option.
    """
    signatures = Signatures(sheet.study.job)
    own = (
        replace(f, option=study.option) for f in study.findings if study.option != BASE or f.option == BASE
    )
    if not any(signatures.blocks(finding) for finding in own):
        return ""
    return "This option cannot be accepted as it is: see “To be settled”."
