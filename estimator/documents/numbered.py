"""Pages whose foot is written last, when it is known how many there are."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from reportlab.pdfgen.canvas import Canvas

from estimator.documents.tags import TaggedCanvas

__all__ = ["Foot", "NumberedCanvas"]

Foot = Callable[[Canvas, int, int], str]
"""Operators of the foot's text, of a canvas, a page's number and the number of pages."""

_HERE: Final = "% foot"
"""A comment on a line of its own; a line break within a text is written in another way, so none can pass for it."""


class NumberedCanvas(TaggedCanvas):
    """A canvas on which a page can keep a place for what is written when all pages are there."""

    def __init__(self, *arguments: Any, **named: Any) -> None:
        super().__init__(*arguments, **named)
        self._feet: dict[int, Foot] = {}

    def keep_foot(self, foot: Foot) -> None:
        """The foot of the page being drawn comes here."""
        self._feet[self.getPageNumber()] = foot
        self.addLiteral(_HERE)

    def save(self) -> None:
        """Write the feet, then the file."""
        if self._code:
            self.showPage()
        pages = self._doc.Pages.pages
        for number, foot in self._feet.items():
            page = pages[number - 1]
            before, _, after = page.stream.partition(f"\n{_HERE}\n")
            page.stream = f"{before}\n{foot(self, number, len(pages))}\n{after}"
        super().save()
