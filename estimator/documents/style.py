"""Type and colour of the paper, and user text as paragraphs that no markup can reach."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final
from xml.sax.saxutils import escape

from reportlab.lib.colors import Color, HexColor
from reportlab.lib.enums import TA_LEFT, TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.platypus import Flowable, Paragraph
from reportlab.platypus.paragraph import cleanBlockQuotedText
from reportlab.platypus.paraparser import ParaFrag

from estimator.documents.faces import PLAIN, STRONG, printed, register
from estimator.documents.tags import TagKind, TagPart, marked
from estimator.going import ALONE, Going

__all__ = ["ACCENT", "INK", "PALE", "QUIET", "RULE", "Prose", "Texts", "Words"]

INK: Final[Color] = HexColor(0x20272F)
QUIET: Final[Color] = HexColor(0x5B6570)
RULE: Final[Color] = HexColor(0xC3CAD1)
PALE: Final[Color] = HexColor(0xEEF2F5)
ACCENT: Final[Color] = HexColor(0x14506B)


_LANGUAGE: Final = "en_GB"
_LEAST_PARTED: Final = 7
"""Letters that a word has at least which is parted between two lines."""
_NARROW: Final = 12.0
"""Sizes of the letters up to which a column is narrow."""


@dataclass(frozen=True, slots=True)
class Prose:
    """One way a paragraph looks: size and leading in points."""

    size: float
    leading: float
    face: str = PLAIN
    colour: Color = INK
    right: bool = False
    before: float = 0.0
    after: float = 0.0
    keep: bool = False
    indent: float = 0.0

    def style(self) -> ParagraphStyle:
        """The library's own style of it, one for all that look so."""
        return _style(self)

    def fragment(self, text: str) -> ParaFrag:
        """A text in its own face as the library's parser would hand it over; nothing in it is read as markup."""
        return _fragment(self).clone(text=cleanBlockQuotedText(text))


@lru_cache(maxsize=256)
def _style(prose: Prose, parted: bool = False) -> ParagraphStyle:
    return ParagraphStyle(
        "prose",
        fontName=prose.face,
        fontSize=prose.size,
        leading=prose.leading,
        textColor=prose.colour,
        alignment=TA_RIGHT if prose.right else TA_LEFT,
        spaceBefore=prose.before,
        spaceAfter=prose.after,
        keepWithNext=1 if prose.keep else 0,
        splitLongWords=1,
        leftIndent=prose.indent,
        bulletIndent=0,
        bulletFontName=PLAIN,
        bulletFontSize=prose.size,
        allowWidows=0,
        allowOrphans=0,
        # Words are the program's, in English; a name that does not fit is parted as English would part it.
        hyphenationLang=_LANGUAGE if parted else "",
        hyphenationMinWordLength=_LEAST_PARTED,
    )


@lru_cache(maxsize=256)
def _fragment(prose: Prose) -> ParaFrag:
    """What the library's parser makes of a letter, so that all it sets is set."""
    (fragment,) = Paragraph("x", _style(prose)).frags
    return fragment


class Words(Paragraph):
    """A paragraph that is broken into lines once for each width.

    A cell of a table is measured for the height of its row and again when it is drawn. It asks, when it is measured,
    whether the paper is still wanted: the largest table is measured as a whole, row by row, before any of its pages
    begins.
    """

    going: Going = ALONE
    kind = TagKind.TEXT
    part: TagPart | None = None
    prose: Prose | None = None
    _measured: tuple[float, float] | None = None
    """Width it was last broken for, and the height that came of it."""

    def wrap(self, availWidth: float, availHeight: float) -> tuple[float, float]:
        """Ask, then measure."""
        # The library throws the lines away where it has tried to part them between two pages.
        if self._measured is not None and self._measured[0] == availWidth and hasattr(self, "blPara"):
            return self._measured
        self.going.check()
        if self.prose is not None:
            self.style = _style(self.prose, self._is_parted(availWidth))
        size: tuple[float, float] = super().wrap(availWidth, availHeight)
        self._measured = (availWidth, size[1])
        return size

    def set_in(self, prose: Prose) -> None:
        """Set it in another way; it is measured anew."""
        self.prose, self._measured, self.style = prose, None, prose.style()

    def _is_parted(self, width: float) -> bool:
        """Whether a word is wider than a narrow column: only then is one parted, whole words read better."""
        prose = self.prose
        if prose is None or width >= _NARROW * prose.size:
            return False
        texts = [str(getattr(fragment, "text", "") or "") for fragment in self.frags]
        return any(stringWidth(word, prose.face, prose.size) > width for t in texts for word in t.split())

    def split(self, availWidth: float, availHeight: float) -> list[Flowable]:
        """Pieces of one paragraph: one element of the tree, and each asks too."""
        pieces: list[Flowable] = super().split(availWidth, availHeight)
        if len(pieces) > 1:
            self.part = self.part or TagPart()
            for piece in pieces:
                if isinstance(piece, Words):
                    piece.part, piece.going = self.part, self.going
                    piece.kind = self.kind
        return pieces

    def draw(self) -> None:
        """Draw it as what it is."""
        with marked(self.canv, self.kind, self.part):
            super().draw()


class Texts:
    """Makes paragraphs of plain text.

    Args:
        going: asked at every paragraph whether the paper is still wanted.
    """

    TITLE: Final = Prose(25, 29, STRONG, ACCENT)
    SUBTITLE: Final = Prose(13, 17, STRONG)
    HEADING: Final = Prose(14.5, 18, STRONG, ACCENT, before=14, after=5)
    SUBHEADING: Final = Prose(10.5, 14, STRONG, before=8, after=2)
    BODY: Final = Prose(9.5, 13, after=4)
    ITEM: Final = Prose(9.5, 13, after=2.5, indent=11)
    TIGHT_ITEM: Final = Prose(8.5, 10.5, after=1, indent=11)
    SMALL: Final = Prose(8, 10.5, colour=QUIET, after=2)
    LABEL: Final = Prose(8, 11.5, colour=QUIET)
    CELL: Final = Prose(9, 11.5)
    CELL_STRONG: Final = Prose(9, 11.5, STRONG)
    CELL_QUIET: Final = Prose(8, 10, colour=QUIET)
    CELL_SMALL: Final = Prose(8.5, 10.5)
    NUMBER_SMALL: Final = Prose(8.5, 10.5, right=True)
    NUMBER: Final = Prose(9, 11.5, right=True)
    NUMBER_STRONG: Final = Prose(9, 11.5, STRONG, right=True)
    NUMBER_QUIET: Final = Prose(9, 11.5, colour=QUIET, right=True)
    NUMBER_SMALL_QUIET: Final = Prose(8.5, 10.5, colour=QUIET, right=True)
    HEAD: Final = Prose(8.5, 11, STRONG, ACCENT)
    HEAD_NUMBER: Final = Prose(8.5, 11, STRONG, ACCENT, right=True)
    GROUP: Final = Prose(9, 12, STRONG, before=4, after=1, keep=True)
    NOTE: Final = Prose(9, 11.6, before=4)
    SOURCE: Final = Prose(7.5, 9.5, colour=QUIET, after=1)
    BIG: Final = Prose(16, 20, STRONG, ACCENT)
    BIG_NUMBER: Final = Prose(13, 16, STRONG, ACCENT, right=True)

    def __init__(self, going: Going = ALONE) -> None:
        register()
        self._going = going

    def markup(self, text: str) -> str:
        """Plain text as the library's markup: everything escaped."""
        return "<br/>".join(escape(printed(line)) for line in text.splitlines() or [""])

    def words(self, text: str, prose: Prose) -> tuple[str, list[ParaFrag] | None]:
        """Markup of a plain text, or where it is of one line, its fragments: that is not worth the parser."""
        if len(text.splitlines()) <= 1 and (line := printed(text)):
            return "", [prose.fragment(line)]
        return self.markup(text), None

    def paragraph(self, text: str, prose: Prose, bullet: str = "") -> Paragraph:
        """A paragraph of plain text; line breaks stay."""
        return self._made(*self.words(text, prose), prose, bullet)

    def pair(self, label: str, text: str, prose: Prose) -> Paragraph:
        """A strong label and plain text after it in one paragraph."""
        return self._made(
            f'<font name="{STRONG}">{self.markup(label)}</font> {self.markup(text)}', None, prose
        )

    def _made(
        self, markup: str, fragments: list[ParaFrag] | None, prose: Prose, bullet: str = ""
    ) -> Paragraph:
        self._going.check()
        made = Words(markup, prose.style(), bulletText=bullet or None, frags=fragments)
        made.going, made.prose = self._going, prose
        if bullet:
            made.kind = TagKind.ITEM
        return made
