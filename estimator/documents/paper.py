"""What a paper is: a title, whom it is for, and chapters on pages of a layout. `write` prints any of them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum, StrEnum

from reportlab.platypus import Flowable

from estimator.documents.sheet import Sheet

__all__ = ["Audience", "Chapter", "Paper", "SheetLayout", "upright"]


class Audience(StrEnum):
    """Whom a paper is for, which decides what may stand on it.

    `customer`: what is paid, never what it costs the company. `crew`: no prices at all. `office`: everything.
    """

    CUSTOMER = "customer"
    CREW = "crew"
    OFFICE = "office"


class SheetLayout(Enum):
    """How the pages of a chapter lie; the value is the name of the page template.

    A label sheet is upright, with a frame for each label of the job's grid and nothing beside them.
    """

    PORTRAIT = "portrait"
    LANDSCAPE = "landscape"
    LABELS = "label sheet"


def upright(_: Sheet) -> SheetLayout:
    """The layout of a chapter of text."""
    return SheetLayout.PORTRAIT


@dataclass(frozen=True, slots=True)
class Chapter:
    """One part of a paper.

    Attributes:
        key: unique in the paper.
        title: of its heading.
        story: its flowables in order, each made new for every printing; the page of the sheet is that of the layout.
        with_next: kept on one page with the chapter after it where both fit on one.
        layout: how its pages lie. A chapter of another layout than the one before begins a page.
    """

    key: str
    title: str
    story: Callable[[Sheet], list[Flowable]]
    with_next: bool = False
    layout: Callable[[Sheet], SheetLayout] = upright


@dataclass(frozen=True, slots=True)
class Paper:
    """A paper that can be written of a study.

    Attributes:
        key: by which it is asked for.
        title: what it is called, in its head, its properties and its reference.
        audience: whom it is for.
        chapters: in order; one without flowables is left out.
        covered: its first page has a block of its own that says whose it is, and so needs no head.
    """

    key: str
    title: str
    audience: Audience
    chapters: tuple[Chapter, ...]
    covered: bool = False
