"""Tagged pages: what on a page is a heading, a paragraph, a list, a table or a picture, for those who hear a paper.

ISO 32000-1, 14.7 and 14.8. The PDF library writes none of it, so it is written here: whatever is drawn inside
`marked` belongs to an element of the structure tree, in the order in which it is drawn; all else (rules, grounds,
heads, feet, the word across a draft) is an artifact, which a reader passes over.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, Final

from reportlab.pdfbase.pdfdoc import PDFDictionary, PDFName, PDFObject, PDFString
from reportlab.pdfgen.canvas import Canvas

__all__ = ["TagKind", "TagPart", "TaggedCanvas", "marked", "within"]

_ARTIFACT: Final = "/Artifact BMC"
_END: Final = "EMC"
_VERSION: Final = (1, 7)


class TagKind(StrEnum):
    """Standard structure types (ISO 32000-1, 14.8.4)."""

    DOCUMENT = "Document"
    HEADING = "H1"
    SUBHEADING = "H2"
    TEXT = "P"
    LIST = "L"
    ITEM = "LI"
    BODY = "LBody"
    TABLE = "Table"
    ROW = "TR"
    HEAD = "TH"
    CELL = "TD"
    FIGURE = "Figure"


def _reference(of: PDFObject, document: Any) -> bytes:
    return bytes(document.Reference(of).format(document))


class _Element(PDFObject):
    """A node of the structure tree, or where its kids are marks, a leaf."""

    __RefOnly__ = 1

    def __init__(
        self, kind: TagKind, parent: _Element | _Tree, pages: list[PDFObject], attributes: str = ""
    ) -> None:
        self.kind = kind
        self.parent = parent
        self.pages = pages
        self.attributes = attributes
        self.alternative = ""
        self.plain = False
        self.kids: list[_Element | tuple[int, int]] = []
        self._reference = b""

    def reference(self, document: Any) -> bytes:
        """How others name it."""
        self._reference = self._reference or _reference(self, document)
        return self._reference

    def format(self, document: Any) -> bytes:
        """The dictionary, its page that of its first mark."""
        page = next((kid[0] for kid in self.kids if isinstance(kid, tuple)), None)
        kids = []
        for kid in self.kids:
            if isinstance(kid, _Element):
                kids.append(kid.reference(document))
            elif kid[0] == page:
                kids.append(b"%d" % kid[1])
            else:
                kids.append(
                    b"<</Type/MCR/Pg %s/MCID %d>>" % (_reference(self.pages[kid[0] - 1], document), kid[1])
                )
        here = b"" if page is None else b"/Pg %s" % _reference(self.pages[page - 1], document)
        said = b"/Alt %s" % PDFString(self.alternative).format(document) if self.alternative else b""
        return b"<</S/%s/P %s%s%s%s/K[%s]>>" % (
            self.kind.encode(),
            self.parent.reference(document),
            here,
            said,
            self.attributes.encode(),
            b" ".join(kids),
        )


class _Tree(PDFObject):
    """The root, and which element each mark of each page belongs to."""

    __RefOnly__ = 1

    def __init__(self) -> None:
        self.pages: list[PDFObject] = []
        self.document = _Element(TagKind.DOCUMENT, self, self.pages)
        self.marks: dict[int, list[_Element]] = {}

    def reference(self, document: Any) -> bytes:
        """How others name it."""
        return _reference(self, document)

    def format(self, document: Any) -> bytes:
        """The root with its parent tree."""
        numbers = b" ".join(
            b"%d[%s]" % (page - 1, b" ".join(mark.reference(document) for mark in marks))
            for page, marks in sorted(self.marks.items())
        )
        return b"<</Type/StructTreeRoot/K[%s]/ParentTree<</Nums[%s]>>/ParentTreeNextKey %d>>" % (
            self.document.reference(document),
            numbers,
            len(self.pages),
        )


@dataclass(slots=True)
class TagPart:
    """What the pieces of one flowable that is parted between pages have in common.

    Attributes:
        element: that of the first piece, None before it is drawn.
    """

    element: _Element | None = field(default=None, repr=False)


class TaggedCanvas(Canvas):
    """A canvas that knows where in the tree it draws."""

    _code: list[str]
    _doc: Any

    def __init__(self, *arguments: Any, **named: Any) -> None:
        super().__init__(*arguments, **{**named, "pdfVersion": _VERSION})
        self._tree = _Tree()
        self._within = [self._tree.document]
        self._quiet = 0

    def open(self, kind: TagKind, part: TagPart | None = None, attributes: str = "") -> _Element:
        """Go into a new element, or into that of an earlier piece of the same flowable."""
        known = part.element if part is not None else None
        if known is None:
            parent = self._within[-1]
            if kind is TagKind.ITEM:
                # Items one after the other are one list.
                last = parent.kids[-1] if parent.kids else None
                if not (isinstance(last, _Element) and last.kind is TagKind.LIST):
                    last = _Element(TagKind.LIST, parent, self._tree.pages)
                    parent.kids.append(last)
                parent = last
            known = _Element(kind, parent, self._tree.pages, attributes)
            parent.kids.append(known)
            if kind is TagKind.ITEM:
                body = _Element(TagKind.BODY, known, self._tree.pages)
                known.kids.append(body)
                known = body
            if part is not None:
                part.element = known
        self._within.append(known)
        return known

    def close(self) -> None:
        """Leave the element gone into last."""
        self._within.pop()

    def hush(self, more: int) -> None:
        """Count up or down: while it is above nothing, all that is drawn is an artifact."""
        self._quiet += more

    @property
    def hushed(self) -> bool:
        """Whether what is drawn now is an artifact anyhow."""
        return self._quiet > 0

    @property
    def place(self) -> _Element:
        """The element drawn in."""
        return self._within[-1]

    def begin_mark(self) -> None:
        """What is drawn from now on is content of the element."""
        page, element = self.getPageNumber(), self._within[-1]
        marks = self._tree.marks.setdefault(page, [])
        element.kids.append((page, len(marks)))
        self._code += [_END, f"/{element.kind} <</MCID {len(marks)}>> BDC"]
        marks.append(element)

    def end_mark(self) -> None:
        """What is drawn from now on is an artifact."""
        self._code += [_END, _ARTIFACT]

    def showPage(self) -> None:
        """End the page: its artifacts that hold nothing are left out."""
        whole: list[str] = []
        for piece in (_ARTIFACT, *self._code, _END):
            if piece == _END and whole and whole[-1] == _ARTIFACT:
                whole.pop()
            else:
                whole.append(piece)
        self._code[:] = whole
        super().showPage()

    def save(self) -> None:
        """Put the tree into the file."""
        if self._code:
            self.showPage()
        pages = self._doc.Pages.pages
        self._tree.pages[:] = pages
        for number, page in enumerate(pages):
            # The library writes only keys that it knows.
            page.__NoDefault__ = [*page.__NoDefault__, "StructParents", "Tabs"]
            page.StructParents, page.Tabs = number, PDFName("S")
        self.setCatalogEntry("StructTreeRoot", self._tree)
        self.setCatalogEntry("MarkInfo", PDFDictionary({"Marked": "true"}))
        self.setViewerPreference("DisplayDocTitle", "true")
        super().save()


@contextmanager
def within(
    canvas: Canvas, kind: TagKind, part: TagPart | None = None, attributes: str = ""
) -> Iterator[None]:
    """What is marked inside becomes a part of an element of that kind."""
    if not isinstance(canvas, TaggedCanvas) or canvas.hushed:
        yield
        return
    canvas.open(kind, part, attributes)
    yield
    canvas.close()


@contextmanager
def marked(
    canvas: Canvas,
    kind: TagKind,
    part: TagPart | None = None,
    alternative: str = "",
    size: tuple[float, float] | None = None,
) -> Iterator[None]:
    """What is drawn inside is an element of that kind; the only text of a cell is the cell itself.

    Args:
        canvas: where it is drawn; one that knows no tags draws as ever.
        kind: what it is.
        part: of a flowable that may be parted between pages.
        alternative: what a picture shows, in words.
        size: width and height of a picture from where the canvas stands.
    """
    if not isinstance(canvas, TaggedCanvas) or canvas.hushed:
        yield
        return
    itself = kind is TagKind.TEXT and canvas.place.plain
    if not itself:
        attributes = ""
        if size is not None:
            x, y = canvas.absolutePosition(0, 0)
            box = " ".join(f"{edge:.1f}" for edge in (x, y, x + size[0], y + size[1]))
            attributes = f"/A<</O/Layout/BBox[{box}]>>"
        canvas.open(kind, part, attributes).alternative = alternative
    canvas.begin_mark()
    yield
    canvas.end_mark()
    if not itself:
        canvas.close()
