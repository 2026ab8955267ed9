"""Pages on which something is written last, when it is known how many there are and what stands on which."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from reportlab.pdfgen.canvas import Canvas

from estimator.documents.tags import TaggedCanvas

__all__ = ["Foot", "NumberedCanvas", "Words"]

Foot = Callable[[Canvas, int, int], str]
"""Operators of the foot's text, of a canvas, a page's number and the number of pages."""

Words = Callable[[Canvas, Mapping[str, int]], str]
"""Operators of a text that names pages, of a canvas and the page of each heading by its key."""

_THERE: Final = "% words"
_HERE: Final = "% foot"
"""A comment on a line of its own; a line break within a text is written in another way, so none can pass for it."""


class NumberedCanvas(TaggedCanvas):
    """A canvas on which a page can keep a place for what is written when all pages are there."""

    def __init__(self, *arguments: Any, **named: Any) -> None:
        super().__init__(*arguments, **named)
        self._feet: dict[int, Foot] = {}
        self._words: list[tuple[int, Words]] = []
        self._noted: dict[str, int] = {}

    def keep_foot(self, foot: Foot) -> None:
        """The foot of the page being drawn comes here."""
        self._feet[self.getPageNumber()] = foot
        self.addLiteral(_HERE)

    def note(self, key: str) -> None:
        """The heading of that key stands on the page being drawn; the first time counts."""
        self._noted.setdefault(key, self.getPageNumber())

    def keep_words(self, words: Words) -> None:
        """A text that names pages comes here."""
        self.addLiteral(f"{_THERE} {len(self._words)}")
        self._words.append((self.getPageNumber(), words))

    def save(self) -> None:
        """Write the feet, then the file."""
        if self._code:
            self.showPage()
        pages = self._doc.Pages.pages
        for number, foot in self._feet.items():
            page = pages[number - 1]
            before, _, after = page.stream.partition(f"\n{_HERE}\n")
            page.stream = f"{before}\n{foot(self, number, len(pages))}\n{after}"
        for place, (number, words) in enumerate(self._words):
            page = pages[number - 1]
            before, _, after = page.stream.partition(f"\n{_THERE} {place}\n")
            page.stream = f"{before}\n{words(self, self._noted)}\n{after}"
        super().save()
