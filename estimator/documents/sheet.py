"""What every chapter of a paper is given, and what its pages are made of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any, Final, cast

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import CondPageBreak, Flowable, FrameBreak, KeepTogether, Paragraph, Table, TableStyle

from estimator.documents.enclosed import Enclosed
from estimator.documents.faces import printed, width_pt
from estimator.documents.numbered import NumberedCanvas
from estimator.documents.style import PALE, RULE, Prose, Texts, Words
from estimator.documents.tags import TaggedCanvas, TagKind, TagPart, marked
from estimator.shown.figures import Figures
from estimator.shown.findings import Sentences
from estimator.shown.papers import Mark
from estimator.study import Study
from estimator.units import UnitSystem

__all__ = [
    "Elsewhere",
    "Heading",
    "PageSize",
    "Sheet",
    "boxed",
    "fresh_page",
    "headed",
    "page_of",
    "ruled_table",
    "together",
]

_SIDE: Final = 51.0
_TOP: Final = 62.0
_FOOT: Final = 56.0
_OPEN: Final = 0.63
"""Share of a page that may stay open before a break: two thirds less the spaces before and after what stands there."""


@dataclass(frozen=True, slots=True)
class PageSize:
    """A size of page and its margins, in points."""

    name: str
    width: float
    height: float
    side: float = _SIDE
    top: float = _TOP
    foot: float = _FOOT

    @property
    def turned(self) -> PageSize:
        """The same on its side."""
        return replace(self, width=self.height, height=self.width)

    @property
    def text_width(self) -> float:
        """Width between the margins."""
        return self.width - 2 * self.side

    @property
    def text_height(self) -> float:
        """Height between the margins."""
        return self.height - self.top - self.foot


def page_of(system: UnitSystem) -> PageSize:
    """A4 for metric jobs (ISO 216), Letter for jobs in US units (8.5 x 11 in)."""
    return PageSize("Letter", *LETTER) if system is UnitSystem.US else PageSize("A4", *A4)


@dataclass(frozen=True, slots=True)
class Sheet:
    """The study with all that is needed to put it on paper.

    Attributes:
        study: what is quoted.
        on: day of printing, the date of a quote that has none of its own.
        dated: date of the quote.
        valid_until: last day it can be accepted.
        enclosed: options and changes that are printed with it.
        say: makes the sentences of findings and notes.
        page: that of the chapter.
        mark: whether it is a draft or an issued revision.
        noun: what the paper is called in its own reference.
        services: what each product, and compressed air, is called.
    """

    study: Study
    on: date
    dated: date
    valid_until: date
    page: PageSize
    figures: Figures
    texts: Texts
    enclosed: Enclosed
    say: Sentences
    mark: Mark
    noun: str = "Quote"
    services: Mapping[str, str] = field(default_factory=dict)

    @property
    def expired(self) -> bool:
        """Whether it can no longer be accepted on the day of printing."""
        return self.on > self.valid_until

    @property
    def reference(self) -> str:
        """Number and revision on one line."""
        number = self.study.job.quote.number.strip()
        quote = f"{self.noun} {number}" if number else self.noun
        name = f"{self.mark.name[0].lower()}{self.mark.name[1:]}"
        return f"{quote}, {name}" if self.mark.is_draft else f"{quote} {name}"

    def text(self, text: str, prose: Prose) -> Paragraph:
        """A paragraph of plain text."""
        return self.texts.paragraph(text, prose)


class Heading(Words):
    """A heading that is also an entry of the outline.

    Args:
        sheet: for its fonts.
        text: the heading.
        key: name of the place, unique in the document.
        level: depth in the outline, 0 the outermost.
        prose: how it looks; chapter or subheading by its level if left out.
    """

    def __init__(self, sheet: Sheet, text: str, key: str, level: int = 0, prose: Prose | None = None) -> None:
        chosen = prose or (Texts.SUBHEADING if level else Texts.HEADING)
        markup, fragments = sheet.texts.words(text, chosen)
        super().__init__(markup, chosen.style(), frags=fragments)
        self.kind = TagKind.SUBHEADING if level else TagKind.HEADING
        self._entry = (text, key, level)

    def draw(self) -> None:
        """Print it and note the place."""
        text, key, level = self._entry
        if not (isinstance(self.canv, TaggedCanvas) and self.canv.hushed):  # the head of a table goes on
            self.canv.bookmarkHorizontal(key, 0, self.height + 6)
            if isinstance(self.canv, NumberedCanvas):
                self.canv.note(key)
            self.canv.addOutlineEntry(text, key, level, closed=False)
        super().draw()


class Elsewhere(Flowable):
    """One line that ends with the page of a heading: "…, page 7."; without it where there is no such heading.

    Args:
        sheet: for its language.
        text: the line without its full stop.
        key: of the heading.
        prose: how it looks.
    """

    def __init__(self, sheet: Sheet, text: str, key: str, prose: Prose) -> None:
        super().__init__()
        self._sheet, self._text, self._key, self._prose = sheet, text, key, prose
        self.width, self.height = width_pt(text, prose.face, prose.size) + 60.0, prose.leading

    def wrap(self, availWidth: float, availHeight: float) -> tuple[float, float]:
        """One line."""
        return self.width, self.height

    def draw(self) -> None:
        """Keep the place: the page is known when all of them are drawn."""
        canvas = self.canv
        assert isinstance(canvas, NumberedCanvas), "papers are drawn on one"
        prose = self._prose

        def words(drawn: Canvas, pages: Mapping[str, int]) -> str:
            page = pages.get(self._key)
            line = drawn.beginText(0, self.height - prose.size)
            line.setFont(prose.face, prose.size)
            line.textOut(printed(f"{self._text}{'' if page is None else f', page {page}'}."))
            return str(line.getCode())

        with marked(canvas, TagKind.TEXT):
            canvas.saveState()
            canvas.setFillColor(prose.colour)
            canvas.keep_words(words)
            canvas.restoreState()


def headed(sheet: Sheet, text: str, key: str, level: int = 0, room: float = 84.0) -> list[Flowable]:
    """A heading that moves to the next page where fewer than `room` points are left for what follows."""
    return [CondPageBreak(room), Heading(sheet, text, key, level)]


def fresh_page(sheet: Sheet) -> Flowable:
    """The end of the page before a chapter, unless that page would be left with less than a third on it."""
    return CondPageBreak(sheet.page.text_height * _OPEN)


def page_of_its_own(sheet: Sheet) -> Flowable:
    """The end of the page before, if there is anything on it."""
    return CondPageBreak(sheet.page.text_height - 1)


class _Together(KeepTogether):
    """Flowables on one page, unless the page before would be left with less than a third on it for their sake.

    Args:
        flowables: in order.
        height: of a page's text.
    """

    def __init__(self, flowables: Sequence[Flowable], height: float) -> None:
        super().__init__(list(flowables))
        self._height, self._all = height, list(flowables)

    def split(self, availWidth: float, availHeight: float) -> list[Flowable]:
        """All of them, after the end of the page where that keeps them together."""
        if availHeight > self._height * _OPEN:
            return self._all
        pieces: list[Flowable] = super().split(availWidth, availHeight)
        return pieces


def together(sheet: Sheet, flowables: Sequence[Flowable]) -> Flowable:
    """Flowables that stay on one page where that leaves no page with less than a third on it."""
    return _Together(flowables, sheet.page.text_height)


class _Ruled(Table):
    """A table of which at most one piece stands on a page.

    The library may break a table for the sake of rows that stay together and then go on in the room that is left,
    with a second head on the same page; here what comes after a break starts on the next page.
    """

    heads = 0
    part: TagPart | None = None
    _again = False

    def event(self, event: str, *told: Any) -> None:
        """What the library tells while it draws: rows and cells become those of a table in the tree, a repeated head an
        artifact."""
        canvas = self.canv
        if not isinstance(canvas, TaggedCanvas):
            return
        match event:
            case "startTable":
                self._again = self.part is not None and self.part.element is not None
                canvas.open(TagKind.TABLE, self.part)
            case "startRow":
                if self._again and told[0] < self.heads:
                    canvas.hush(1)
                else:
                    canvas.open(TagKind.ROW)
            case "startCell" if not canvas.hushed:
                self._open_cell(canvas, *told[:3])
            case "endCell" if not canvas.hushed:
                canvas.close()
            case "endRow":
                if canvas.hushed:
                    canvas.hush(-1)
                else:
                    canvas.close()
            case "endTable":
                canvas.close()
            case _:
                pass

    def _open_cell(self, canvas: TaggedCanvas, row: int, column: int, value: Any) -> None:
        head = "Column" if row < self.heads else "Row" if not self.heads and not column else ""
        spans = getattr(self, "_spanRanges", None) or {}
        first, _, last, _ = spans.get((column, row)) or (column, row, column, row)
        said = (f"/Scope/{head}" if head else "") + (f"/ColSpan {last - first + 1}" if last > first else "")
        kind = TagKind.HEAD if head else TagKind.CELL
        cell = canvas.open(kind, attributes=f"/A<</O/Table{said}>>" if said else "")
        cell.plain = isinstance(value, Words) or (isinstance(value, list | tuple) and len(value) == 1)

    def split(self, availWidth: float, availHeight: float) -> list[Flowable]:
        """The piece that fits, the end of the page, and the rest."""
        pieces = list(super().split(availWidth, availHeight))
        if len(pieces) > 1:
            self.part = self.part or TagPart()
            for piece in pieces:
                if isinstance(piece, _Ruled):
                    piece.heads, piece.part = self.heads, self.part
        return [pieces[0], FrameBreak(), *pieces[1:]] if len(pieces) > 1 else pieces


def ruled_table(
    rows: Sequence[Sequence[Flowable | str | list[Flowable]]],
    widths: Sequence[float],
    extra: Sequence[tuple[Any, ...]] = (),
    *,
    heads: int = 1,
) -> Table:
    """A table with hairlines between rows; its heads are repeated on every page it runs over."""
    commands: list[tuple[Any, ...]] = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LINEBELOW", (0, 0), (-1, -1), 0.4, RULE),
        ("LEFTPADDING", (0, 0), (-1, -1), 4),
        ("RIGHTPADDING", (0, 0), (-1, -1), 4),
        ("TOPPADDING", (0, 0), (-1, -1), 3),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 3),
    ]
    if heads:
        commands += [
            ("BACKGROUND", (0, 0), (-1, heads - 1), PALE),
            ("VALIGN", (0, 0), (-1, heads - 1), "BOTTOM"),
        ]
        if len(rows) > heads:
            # The head never stands alone at the foot of a page.
            commands.append(("NOSPLIT", (0, 0), (-1, min(heads, len(rows) - 1))))
    table = _Ruled(
        [list(row) for row in rows],
        colWidths=list(widths),
        repeatRows=heads,
        style=TableStyle([*commands, *extra]),
        splitInRow=1,
        spaceBefore=2,
        spaceAfter=6,
        hAlign="LEFT",
        renderCB=cast("Any", _Ruled.event),
    )
    table.heads = heads
    return table


def boxed(flowables: Sequence[Flowable], width: float, *, whole: bool = False) -> Table:
    """Flowables in a frame, for what must not be missed; `whole`: a few lines, none of them parted by a page."""
    return Table(
        [[f] for f in flowables],
        colWidths=[width],
        style=TableStyle(
            [
                ("BOX", (0, 0), (-1, -1), 1.0, RULE),
                ("BACKGROUND", (0, 0), (-1, -1), PALE),
                ("LEFTPADDING", (0, 0), (-1, -1), 8),
                ("RIGHTPADDING", (0, 0), (-1, -1), 8),
                ("TOPPADDING", (0, 0), (-1, -1), 4),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 4),
            ]
        ),
        splitInRow=0 if whole else 1,
        spaceBefore=6,
        spaceAfter=6,
        hAlign="LEFT",
    )


def last_day(dated: date, validity_s: float) -> date:
    """The day a quote's validity ends.

    >>> last_day(date(2027, 3, 1), 30 * 86400.0)
    datetime.date(2027, 3, 31)

    Raises:
        OverflowError: the calendar ends before.
    """
    return dated + timedelta(days=int(validity_s // 86400))
