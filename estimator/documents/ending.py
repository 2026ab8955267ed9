"""The last pages of a paper: a last page of a few lines is saved by closer lines, else more is put on it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from reportlab.platypus import CondPageBreak, Flowable, FrameBreak, KeepTogether, Spacer

from estimator.documents.sheet import Heading, Sheet
from estimator.documents.style import Prose, Words

__all__ = ["Kept", "Remainder"]

_LEAST: Final = 1 / 3
"""Of a page: what the last one has on it, and what is left on the one before for its sake."""
_CLOSER: Final = 0.955
_CLOSER_GAPS: Final = 0.6
_ALL: Final = 1e6


class Kept(KeepTogether):
    """Flowables that stay on one page, and are known to who lays them out beforehand."""

    def __init__(self, parts: Sequence[Flowable]) -> None:
        super().__init__(list(parts))
        self.parts = tuple(parts)


def _parts(flowable: Flowable) -> tuple[Flowable, ...]:
    return flowable.parts if isinstance(flowable, Kept) else (flowable,)


@dataclass(slots=True)
class _Place:
    """Where the next flowable goes, reckoned as a frame of the library does.

    Attributes:
        room: points that are left on the page.
        page: its number from 0.
        top: whether nothing stands on it.
        gap: space after what stands last.
    """

    room: float
    page: int = 0
    top: bool = True
    gap: float = 0.0

    def turned(self, height: float) -> None:
        """On to the next page."""
        self.room, self.page, self.top, self.gap = height, self.page + 1, True, 0.0


def _places(story: Sequence[Flowable], width: float, room: float, height: float) -> Iterator[_Place]:
    """The place before each flowable, and the one after the last."""
    at = _Place(room, top=room > height - 1.0)
    for flowable in story:
        if isinstance(flowable, CondPageBreak):
            if at.room < flowable.height and not at.top:
                at.turned(height)
            yield replace(at)
            continue
        parts = _parts(flowable)
        if len(parts) > 1 and not at.top and _height(parts, width, at) > at.room:
            at.turned(height)
        yield replace(at)
        for part in parts:
            needed = _height((part,), width, at)
            while needed > at.room + 1e-6:  # what does not fit goes on over the page
                needed -= at.room
                at.turned(height)
            at.room -= needed + part.getSpaceAfter()
            at.top, at.gap = False, part.getSpaceAfter()
    yield at


def _height(parts: Sequence[Flowable], width: float, at: _Place) -> float:
    """Of parts below each other with the gaps between them and before the first."""
    total, top, gap = 0.0, at.top, at.gap
    for part in parts:
        before = 0.0 if top else max(part.getSpaceBefore() - gap, 0.0)
        total += before + part.wrap(width, _ALL)[1]
        top, gap = False, part.getSpaceAfter()
        if part is not parts[-1]:
            total += gap
    return total


def _closer(prose: Prose) -> Prose:
    """The same with closer lines and smaller gaps."""
    return replace(
        prose,
        leading=prose.leading * _CLOSER,
        before=prose.before * _CLOSER_GAPS,
        after=prose.after * _CLOSER_GAPS,
    )


class Remainder(Flowable):
    """All that is left of a paper.

    Args:
        sheet: for the height of its pages.
        story: in order; what stays together as `Kept`.
    """

    def __init__(self, sheet: Sheet, story: Sequence[Flowable]) -> None:
        super().__init__()
        self._height, self._story = sheet.page.text_height, list(story)

    def wrap(self, availWidth: float, availHeight: float) -> tuple[float, float]:
        """More than any page has: it is always taken apart."""
        return availWidth, _ALL

    def split(self, availWidth: float, availHeight: float) -> list[Flowable]:
        """Its flowables, with a break before the last of them where the last page would be nearly empty."""
        return [Spacer(0, 0), *self._laid(availWidth, availHeight)]

    def _laid(self, width: float, room: float) -> list[Flowable]:
        story, least = self._story, self._height * _LEAST
        places = list(_places(story, width, room, self._height))
        last = places[-1]
        if last.page == 0 or self._height - last.room >= least:
            return story
        if self._in_fewer_pages(width, room, last.page):
            return story
        for k in range(len(story) - 1, 0, -1):
            if places[k].page != last.page - 1:
                continue
            begun = isinstance(story[k], CondPageBreak) or (
                isinstance(story[k], Kept) and not isinstance(story[k - 1], Heading)
            )
            left = list(_places(story[k:], width, self._height, self._height))[-1]
            if begun and left.page == 0 and self._height - left.room >= least:
                if self._height - places[k].room < least:
                    break
                return [*story[:k], FrameBreak(), *story[k:]]
        return story

    def _in_fewer_pages(self, width: float, room: float, pages: int) -> bool:
        """Whether closer lines save the last page; they are left closer then."""
        set_as = [
            (part, part.prose)
            for flowable in self._story
            for part in _parts(flowable)
            if isinstance(part, Words) and part.prose is not None
        ]
        for words, prose in set_as:
            words.set_in(_closer(prose))
        if list(_places(self._story, width, room, self._height))[-1].page < pages:
            return True
        for words, prose in set_as:
            words.set_in(prose)
        return False
