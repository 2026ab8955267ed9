"""The cells of one sheet of a workbook, read in a stream and never more of it than a price book can be.

A workbook is a stranger's file. What is read of it, the list of sheets, styles, shared texts and one sheet, goes
through the parser piece by piece, and bytes, marks, names, depth, rows, columns and text are counted while it does:
what the archive says of its own sizes is not relied on. No part may declare a document type, so there are no entities.
"""

from __future__ import annotations

import posixpath
import re
import zipfile
from collections.abc import Iterator
from datetime import datetime
from decimal import Decimal
from enum import Enum
from functools import lru_cache
from typing import Final, NamedTuple, NoReturn
from xml.parsers import expat

from estimator.going import ALONE, Going
from estimator.model.pricebook import MOST_ENTRIES

__all__ = [
    "MOST_COLUMNS",
    "MOST_ROWS",
    "CellKind",
    "SheetCell",
    "UnreadableWorkbook",
    "column_letters",
    "sheet_cells",
]

MOST_ROWS: Final = MOST_ENTRIES + 2
"""A price book with its two rows of headings."""
MOST_COLUMNS: Final = 60
_MOST_BYTES: Final = 80_000_000
_MOST_MARKS: Final = 2_600_000
"""Twice the elements and once the attributes: a full price book has 2.1 million."""
_MOST_NAMES: Final = 20_000
_MOST_DEPTH: Final = 100
_MOST_SHEETS: Final = 20
_MOST_TEXT: Final = 5_000_000
"""Characters: as in a price book that is a CSV file."""
_MOST_ONE_MARK: Final = 1_000_000
_CHUNK: Final = 65_536
_CODE: Final = re.compile(r"_x([0-9A-Fa-f]{4})_")
"""How a workbook writes a character that XML has no place for (ISO/IEC 29500, ST_Xstring)."""
_DIGITS: Final = "0123456789"
_LETTERS: Final = re.compile("[A-Z]{1,3}")
_WHOLE: Final = re.compile(r"-?\d{1,40}", re.ASCII)
_NUMBER: Final = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,4})?", re.ASCII)

Stack = list[str]
Attributes = dict[str, str]


class UnreadableWorkbook(Exception):
    """Why a workbook is not read.

    Attributes:
        rule: short name.
        sentence: what follows the name of the file.
        place: row and column, or "file".
    """

    def __init__(self, rule: str, sentence: str, place: str = "file") -> None:
        super().__init__(sentence)
        self.rule, self.sentence, self.place = rule, sentence, place


class CellKind(Enum):
    """What stands in a cell."""

    VALUE = "value"
    FORMULA = "formula"
    ERROR = "error"


class SheetCell(NamedTuple):
    """A cell that holds something; row and column are counted from 1, `text` is its value as a person reads it."""

    row: int
    column: int
    kind: CellKind
    text: str


def column_letters(column: int) -> str:
    """A column's name.

    >>> column_letters(1), column_letters(27), column_letters(16384)
    ('A', 'AA', 'XFD')
    """
    letters = ""
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def sheet_cells(archive: zipfile.ZipFile, wanted: str, going: Going = ALONE) -> list[SheetCell]:
    """The cells that hold something, row by row: of the sheet of a name, or of the only one.

    Args:
        archive: the workbook.
        wanted: name of the sheet.
        going: asked on the way whether it is still wanted.

    Raises:
        Stopped: it is not.
        Unreadable: no workbook, no such sheet, or far more than a price book.
        OSError, ValueError, RuntimeError, EOFError, zipfile.BadZipFile, zlib.error: the archive is damaged.
    """
    parts = _Parts(archive, going)
    start = next((r.target for r in _relations(parts, "") if r.kind == "officeDocument"), "xl/workbook.xml")
    related = _relations(parts, start)
    if any(relation.kind == "externalLink" for relation in related):
        raise UnreadableWorkbook(
            "external-link",
            "is linked to another workbook; replace the links by their values and save it again.",
        )
    book = _Book()
    parts.parse(start, book)
    by_id = {r.name: r.target for r in related if r.kind == "worksheet"}
    sheets = [(title, by_id[name]) for title, name in book.sheets if name in by_id]
    part = _chosen(sheets, wanted)
    strings, styles = _Strings(), _Styles()
    for kind, handler in (("sharedStrings", strings), ("styles", styles)):
        target = next((r.target for r in related if r.kind == kind), None)
        if target is not None:
            parts.parse(target, handler)
    sheet = _Sheet(strings.texts, _Numbers(styles.dates(), book.from_1904))
    parts.parse(part, sheet)
    return sheet.cells


def _chosen(sheets: list[tuple[str, str]], wanted: str) -> str:
    if len(sheets) > _MOST_SHEETS:
        raise UnreadableWorkbook(
            "too-many", f"has {len(sheets)} sheets; at most {_MOST_SHEETS} are looked at."
        )
    named = next((part for title, part in sheets if title == wanted), None)
    if named is not None:
        return named
    if len(sheets) == 1:
        return sheets[0][1]
    raise UnreadableWorkbook(
        "sheet", f"has {len(sheets)} sheets and none is named “{wanted}”; name the one with the prices so."
    )


def _broken(why: str) -> NoReturn:
    raise UnreadableWorkbook("not-xlsx", f"cannot be read as XLSX: {why}.")


class _Handler:
    """What is taken from a part; the last of the stack is the mark that begins, ends or holds the text.

    Attributes:
        used: what was read so far: 2 for an element, 1 for an attribute, by what they take to read.
        stack: names of the marks that are open, without what stands before a colon.
    """

    def __init__(self) -> None:
        self.used = 0
        self.stack: Stack = []
        self._names: dict[str, str] = {}

    def begin(self, tag: str, attributes: Attributes) -> None:
        """The parser is at the beginning of a mark."""
        self.used += 2 + len(attributes)
        name = self._names.get(tag)
        if name is None:
            name = self._names[tag] = tag.rpartition(":")[2]
        self.stack.append(name)
        if len(self.stack) > _MOST_DEPTH:
            _too_many_marks()
        self.start(self.stack, attributes)

    def finish(self, tag: str) -> None:
        """The parser is at the end of a mark."""
        self.end(self.stack)
        self.stack.pop()

    def words(self, text: str) -> None:
        """The parser has read some text."""
        self.text(self.stack, text)

    def start(self, stack: Stack, attributes: Attributes) -> None:
        """A mark begins."""

    def end(self, stack: Stack) -> None:
        """A mark ends."""

    def text(self, stack: Stack, text: str) -> None:
        """Some of the text of a mark."""


class _Parts:
    """Parts of the archive, with what all of them together may hold."""

    def __init__(self, archive: zipfile.ZipFile, going: Going) -> None:
        self._archive, self._going = archive, going
        self._bytes, self._marks = _MOST_BYTES, _MOST_MARKS

    def has(self, name: str) -> bool:
        """Whether there is such a part."""
        return name in self._archive.NameToInfo

    def _chunks(self, name: str) -> Iterator[bytes]:
        if not self.has(name):
            _broken("a part of it is missing")
        info = self._archive.getinfo(name)
        if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            _broken("it is packed in a way that no workbook is")
        with self._archive.open(info) as part:
            while chunk := part.read(_CHUNK):
                self._going.check()
                self._bytes -= len(chunk)
                if self._bytes < 0:
                    raise UnreadableWorkbook(
                        "too-large",
                        f"unpacks to more than {_MOST_BYTES // 1_000_000} MB; it was not read further.",
                    )
                yield chunk

    def parse(self, name: str, handler: _Handler) -> None:
        """Hand what a part holds to a handler.

        Raises:
            Unreadable: not readable as XML, a document type, more than any price book holds.
        """
        parser = expat.ParserCreate()
        parser.buffer_text = True

        def document_type(*_of: object) -> None:
            raise UnreadableWorkbook(
                "not-xlsx", "is not an ordinary XLSX file: a part of it declares entities."
            )

        parser.StartElementHandler, parser.EndElementHandler = handler.begin, handler.finish
        parser.CharacterDataHandler = handler.words
        parser.StartDoctypeDeclHandler = document_type
        fed = 0
        try:
            for chunk in self._chunks(name):
                parser.Parse(chunk, False)
                fed += len(chunk)
                # A chunk holds few enough marks to count them after it.
                if handler.used > self._marks:
                    _too_many_marks()
                # The parser begins a mark anew with each chunk that does not end it, and keeps every name for good.
                if fed - max(parser.CurrentByteIndex, 0) > _MOST_ONE_MARK or len(parser.intern) > _MOST_NAMES:
                    raise UnreadableWorkbook(
                        "too-large", "holds a mark longer than any in a price book, or too many names."
                    )
            parser.Parse(b"", True)
        except expat.ExpatError as error:
            _broken(f"{expat.ErrorString(error.code)} in line {error.lineno} of a part")
        self._marks -= handler.used


class _Relation(NamedTuple):
    name: str
    kind: str
    target: str


class _Relations(_Handler):
    def __init__(self, folder: str) -> None:
        super().__init__()
        self._folder = folder
        self.found: list[_Relation] = []

    def start(self, stack: Stack, attributes: Attributes) -> None:
        if stack == ["Relationships", "Relationship"]:
            target = attributes.get("Target", "")
            path = target[1:] if target.startswith("/") else posixpath.join(self._folder, target)
            kind = attributes.get("Type", "").rpartition("/")[2]
            self.found.append(_Relation(attributes.get("Id", ""), kind, posixpath.normpath(path)))


def _relations(parts: _Parts, of: str) -> list[_Relation]:
    folder, base = posixpath.split(of)
    handler, name = _Relations(folder), posixpath.join(folder, "_rels", f"{base}.rels")
    if parts.has(name):
        parts.parse(name, handler)
    return handler.found


class _Book(_Handler):
    def __init__(self) -> None:
        super().__init__()
        self.sheets: list[tuple[str, str]] = []
        self.from_1904 = False

    def start(self, stack: Stack, attributes: Attributes) -> None:
        if stack == ["workbook", "sheets", "sheet"]:
            name = next((value for key, value in attributes.items() if key.endswith(":id")), "")
            self.sheets.append((attributes.get("name", ""), name))
        elif stack == ["workbook", "workbookPr"]:
            self.from_1904 = attributes.get("date1904", "") in ("1", "true")


class _Styles(_Handler):
    """Which styles of cells show a date."""

    def __init__(self) -> None:
        super().__init__()
        self._formats: dict[int, str] = {}
        self._used: list[int] = []

    def start(self, stack: Stack, attributes: Attributes) -> None:
        if stack == ["styleSheet", "numFmts", "numFmt"]:
            # A format is at most 255 characters; no longer one is looked at.
            self._formats[_whole(attributes.get("numFmtId", ""))] = attributes.get("formatCode", "")[:255]
        elif stack == ["styleSheet", "cellXfs", "xf"]:
            self._used.append(_whole(attributes.get("numFmtId", "0")))

    def dates(self) -> frozenset[int]:
        """Positions of the styles that show a date."""
        from openpyxl.styles.numbers import BUILTIN_FORMATS, is_date_format

        known = {**BUILTIN_FORMATS, **self._formats}
        shows = {number for number in set(self._used) if is_date_format(known.get(number, "General"))}
        return frozenset(i for i, number in enumerate(self._used) if number in shows)


class _Strings(_Handler):
    """Texts that cells refer to by their position."""

    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []
        self._pieces: list[str] = []
        self._length = 0

    def text(self, stack: Stack, text: str) -> None:
        # Not the reading aids (rPh) that stand beside a text.
        if stack[-1] == "t" and stack[1:2] == ["si"] and "rPh" not in stack:
            self._length += len(text)
            if self._length > _MOST_TEXT:
                _too_much_text()
            self._pieces.append(text)

    def end(self, stack: Stack) -> None:
        if len(stack) == 2 and stack[1] == "si":
            self.texts.append(_plain("".join(self._pieces)))
            self._pieces.clear()


class _Numbers:
    """Numbers as texts; those of cells that show a date as dates."""

    def __init__(self, dates: frozenset[int], from_1904: bool) -> None:
        self._dates, self._from_1904 = dates, from_1904

    def text(self, written: str, style: str) -> str | None:
        """The text of a number; None where the date does not exist."""
        if not _NUMBER.fullmatch(written) or len(written) > 400:
            _broken("a cell holds a number that is none")
        if _whole(style) in self._dates:
            return self._date(float(written))
        if _WHOLE.fullmatch(written):
            return str(int(written))
        # Spreadsheets hold fifteen digits; what is beyond comes from the binary number.
        return f"{Decimal(f'{float(written):.15g}'):f}"

    def _date(self, number: float) -> str | None:
        from openpyxl.utils.datetime import MAC_EPOCH, WINDOWS_EPOCH, from_excel

        try:
            value = from_excel(number, MAC_EPOCH if self._from_1904 else WINDOWS_EPOCH)
        except (OverflowError, ValueError):
            return None
        if isinstance(value, datetime) and (value.hour, value.minute, value.second) == (0, 0, 0):
            return value.date().isoformat()
        return str(value)


class _Sheet(_Handler):
    """The cells of a sheet. Of a full price book it sees nearly a million marks, so it asks of each as little as it
    can: how deep it stands, and whether that is inside a row, a cell or a value."""

    def __init__(self, strings: list[str], numbers: _Numbers) -> None:
        super().__init__()
        self.cells: list[SheetCell] = []
        self._strings, self._numbers = strings, numbers
        self._row = self._column = self._length = 0
        self._type = self._style = ""
        self._formula = False
        self._pieces: list[str] = []
        self._in_rows = self._in_cell = self._in_value = False

    def begin(self, tag: str, attributes: Attributes) -> None:
        """The parser is at the beginning of a mark."""
        self.used += 2 + len(attributes)
        stack = self.stack
        stack.append(tag)
        depth = len(stack)
        if depth > 4:
            if depth > _MOST_DEPTH:
                _too_many_marks()
            if self._in_cell:
                self._begin_in_cell(depth, tag.rpartition(":")[2], stack)
        elif depth == 4:
            if self._in_rows and tag.rpartition(":")[2] == "c":
                self._begin_cell(attributes)
        elif depth == 3:
            if self._in_rows and tag.rpartition(":")[2] == "row":
                row = _whole(attributes["r"]) if "r" in attributes else self._row + 1
                if row <= self._row:
                    _broken(f"its rows are out of order after row {self._row}")
                self._row, self._column = row, 0
        elif depth == 2:
            self._in_rows = tag.rpartition(":")[2] == "sheetData"

    def _begin_cell(self, attributes: Attributes) -> None:
        place = attributes.get("r", "")
        letters = place.rstrip(_DIGITS)
        column = _column(letters) if 0 < len(place) - len(letters) < 8 else 0
        column = column or self._column + 1
        if column <= self._column:
            _broken(f"the cells of row {self._row} are out of order")
        self._column = column
        self._type, self._style = attributes.get("t", "n"), attributes.get("s", "")
        self._formula, self._in_cell = False, True
        self._pieces.clear()

    def _begin_in_cell(self, depth: int, name: str, stack: Stack) -> None:
        if depth == 5:
            self._in_value = name == "v"
            self._formula = self._formula or name == "f"
        elif name == "t":
            inside = [above.rpartition(":")[2] for above in stack[4:]]
            self._in_value = inside[0] == "is" and "rPh" not in inside
        else:
            self._in_value = False

    def words(self, text: str) -> None:
        """The parser has read some text."""
        if self._in_value:
            self._length += len(text)
            if self._length > _MOST_TEXT:
                _too_much_text()
            self._pieces.append(text)

    def finish(self, tag: str) -> None:
        """The parser is at the end of a mark."""
        self._in_value = False
        self.stack.pop()
        if self._in_cell and len(self.stack) == 3:
            self._in_cell = False
            kind, text = self._read("".join(self._pieces))
            if text or kind is not CellKind.VALUE:
                self._add(kind, text)

    def _add(self, kind: CellKind, text: str) -> None:
        if self._row > MOST_ROWS:
            raise UnreadableWorkbook("too-many", f"has more than {MOST_ROWS} rows; a price book has fewer.")
        if self._column > MOST_COLUMNS:
            raise UnreadableWorkbook(
                "too-many",
                f"holds something in row {self._row}, column {column_letters(self._column)}, and so more than "
                f"{MOST_COLUMNS} columns; a price book has far fewer.",
                f"row {self._row}",
            )
        if self._type == "s":
            # The same shared text can stand in every cell.
            self._length += len(text)
            if self._length > _MOST_TEXT:
                _too_much_text()
        self.cells.append(SheetCell(self._row, self._column, kind, text))

    def _read(self, written: str) -> tuple[CellKind, str]:
        if self._formula:
            return CellKind.FORMULA, written
        match self._type:
            case "e":
                return CellKind.ERROR, written
            case "s" if written:
                at = _whole(written)
                if at >= len(self._strings):
                    _broken("a cell refers to a text that is not there")
                return CellKind.VALUE, self._strings[at]
            case "b" if written:
                return CellKind.VALUE, "no" if written.strip() == "0" else "yes"
            case "d":
                return CellKind.VALUE, written.removesuffix("T00:00:00")
            case "n" if written.strip():
                number = self._numbers.text(written.strip(), self._style)
                return (CellKind.ERROR, "#VALUE!") if number is None else (CellKind.VALUE, number)
            case "str" | "inlineStr":
                return CellKind.VALUE, _plain(written)
        return CellKind.VALUE, ""


def _too_many_marks() -> NoReturn:
    raise UnreadableWorkbook(
        "too-large", "holds far more marks than a price book needs; it was not read further."
    )


def _too_much_text() -> NoReturn:
    raise UnreadableWorkbook(
        "too-large", f"holds more than {_MOST_TEXT} characters of text; a price book has far fewer."
    )


def _plain(text: str) -> str:
    return _CODE.sub(lambda match: chr(int(match[1], 16)), text) if "_x" in text else text


def _whole(text: str) -> int:
    return int(text) if text.isdecimal() and len(text) < 9 else 0


@lru_cache(maxsize=1024)
def _column(letters: str) -> int:
    """Number of a column, 0 where the letters name none."""
    if not _LETTERS.fullmatch(letters):
        return 0
    number = 0
    for letter in letters:
        number = 26 * number + ord(letter) - ord("A") + 1
    return number
