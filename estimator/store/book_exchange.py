"""Price books out to a spreadsheet and in again, as CSV or XLSX, with a preview before anything changes.

A workbook is laid out like the CSV file: row 1 `currency` and its code, row 2 the names of the columns, then one part
a row; on the sheet “Prices”, or on the only sheet. Workbooks are untrusted: sizes are looked at before anything is
unpacked, nothing is calculated, and formulas, links to other workbooks and macros are told, never followed. A file
with one bad cell is not taken at all.
"""

from __future__ import annotations

import io
import re
import warnings
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum
from pathlib import Path
from typing import Any, Final, NoReturn

from estimator.model.finding import Finding, Severity
from estimator.model.pricebook import PriceBook, PriceEntry
from estimator.pricing.book_changes import EntryChange, entry_changes
from estimator.store.files import FileTrouble, read_whole, shown, write_whole
from estimator.store.pricebooks import (
    COLUMNS,
    PriceBookError,
    cell_text,
    load_price_book,
    price_book_from_rows,
    save_price_book,
)

__all__ = ["SHEET", "ImportMode", "ImportPreview", "export_book", "preview_import", "read_book"]

SHEET: Final = "Prices"
_MOST_BYTES: Final = 10_000_000
_MOST_UNPACKED: Final = 80_000_000
_MOST_RATIO: Final = 200
_MOST_MEMBERS: Final = 500
_MOST_SHEETS: Final = 20
_MOST_ROWS: Final = 20_000
_MOST_COLUMNS: Final = 60
_MOST_FINDINGS: Final = 50
_MEGABYTE: Final = 1_000_000
_CODE: Final = re.compile(r"_x([0-9A-Fa-f]{4})_")
"""How a workbook writes a character that XML has no place for (ISO/IEC 29500, ST_Xstring)."""
_NOT_XML: Final = re.compile(r"[\ufffe\uffff]|_(?=x[0-9A-Fa-f]{4}_)")
"""What must be written so: what XML does not hold, and a text that looks like such a code."""
_BROKEN: Final = (
    ArithmeticError,
    AttributeError,
    EOFError,
    LookupError,
    NotImplementedError,
    OSError,
    RuntimeError,
    SyntaxError,
    TypeError,
    ValueError,
    zipfile.BadZipFile,
    zlib.error,
)
"""What the library raises on workbooks that are none, or damaged ones, besides its own exception."""


class ImportMode(StrEnum):
    """What becomes of entries that the file does not hold."""

    MERGE = "merge"
    REPLACE = "replace"

    @property
    def label(self) -> str:
        """The words a person reads."""
        return {"merge": "Keep other entries", "replace": "Remove other entries"}[self.value]


@dataclass(frozen=True, slots=True)
class ImportPreview:
    """What an import would do; nothing is done yet.

    Attributes:
        name: of the file.
        mode: what becomes of other entries.
        book: the price book as it would be; taking it is the import.
        changes: entry by entry against the book as it is.
        same: how many entries of the file are in the book just so.
        warnings: what to look at, by row.
    """

    name: str
    mode: ImportMode
    book: PriceBook
    changes: tuple[EntryChange, ...]
    same: int
    warnings: tuple[Finding, ...]


def _refuse(rule: str, sentence: str, place: str = "file") -> NoReturn:
    raise PriceBookError((Finding(Severity.ERROR, place, rule, sentence),)) from None


def read_book(path: Path) -> PriceBook:
    """The price book of a CSV or XLSX file.

    Raises:
        PriceBookError: not readable, not a price book, or with a bad cell; the message names row and column.
    """
    kind = path.suffix.casefold()
    if kind == ".csv":
        return load_price_book(path)
    if kind == ".xlsx":
        return price_book_from_rows(_workbook_rows(path), shown(path.name))
    if kind in (".xlsm", ".xls", ".xlsb", ".ods"):
        _refuse("kind", f"“{shown(path.name)}”: save it as XLSX or CSV; files of kind {kind} are not read.")
    _refuse("kind", f"“{shown(path.name)}” is neither CSV nor XLSX.")


def preview_import(path: Path, book: PriceBook, mode: ImportMode = ImportMode.MERGE) -> ImportPreview:
    """What importing a file into a price book would change, entry by entry.

    Raises:
        PriceBookError: see `read_book`; or the file is in another currency and the other entries are kept.
    """
    name = shown(path.name)
    new = read_book(path)
    if new.currency != book.currency and mode is ImportMode.MERGE:
        _refuse(
            "currency",
            f"row 1, column 2: currency: “{name}” is in {new.currency} and the price book in {book.currency}; "
            "figures are not converted. Replace the whole book, or import a file in its currency.",
            "row 1, column 2",
        )
    entries = new.entries
    if mode is ImportMode.MERGE:
        by_code = {entry.code: entry for entry in new.entries}
        kept = tuple(by_code.pop(old.code, old) for old in book.entries)
        entries = (*kept, *by_code.values())
    result = PriceBook(currency=new.currency, entries=entries)
    known = {entry.code: entry for entry in book.entries}
    return ImportPreview(
        name=name,
        mode=mode,
        book=result,
        changes=entry_changes(book.entries, result.entries),
        same=sum(known.get(entry.code) == entry for entry in new.entries),
        warnings=_warnings(new, book),
    )


def _warnings(new: PriceBook, book: PriceBook) -> tuple[Finding, ...]:
    found = []
    if new.currency != book.currency:
        words = f"row 1, column 2: the whole book changes from {book.currency} to {new.currency}."
        found.append(Finding(Severity.WARNING, "row 1, column 2", "currency", words))
    free = [e.code for e in new.entries if not e.high and not e.labour_minutes]
    if free:
        codes = ", ".join(free[:6]) + (", …" if len(free) > 6 else "")
        words = f"column likely: {len(free)} entries cost nothing, neither part nor labour: {codes}."
        found.append(Finding(Severity.WARNING, "column likely", "price-zero", words))
    return tuple(found)


def export_book(path: Path, book: PriceBook) -> None:
    """Write a price book as CSV or XLSX, by the file's ending; `read_book` reads the same again.

    Raises:
        PriceBookError: another ending, or it cannot be written; what was there is unharmed.
    """
    kind = path.suffix.casefold()
    if kind == ".csv":
        save_price_book(path, book)
        return
    if kind != ".xlsx":
        _refuse("kind", f"“{shown(path.name)}”: give it the ending .csv or .xlsx.")
    # Loaded here only: the desk starts without it.
    from openpyxl import Workbook
    from openpyxl.cell import WriteOnlyCell

    out = io.BytesIO()
    workbook = Workbook(write_only=True)
    sheet = workbook.create_sheet(SHEET)
    sheet.append(["currency", book.currency])
    sheet.append(list(COLUMNS))
    for entry in book.entries:
        cells: list[object] = []
        for value in (_written(entry, column) for column in COLUMNS):
            if isinstance(value, str):
                cell = WriteOnlyCell(sheet, value)
                # Else the library takes “#N/A” for an error value.
                cell.data_type = "s"
                cells.append(cell)
            else:
                cells.append(value)
        sheet.append(cells)
    workbook.save(out)
    try:
        write_whole(path, out.getvalue())
    except FileTrouble as trouble:
        _refuse("file", str(trouble))


def _written(entry: PriceEntry, column: str) -> object:
    value = getattr(entry, column)
    # Numbers and dates stay what they are; text is escaped so that none of it is taken for a formula.
    return value if isinstance(value, Decimal | date) else _NOT_XML.sub(_as_code, cell_text(value))


def _as_code(match: re.Match[str]) -> str:
    return f"_x{ord(match[0][0]):04X}_{match[0][1:]}"


def _workbook_rows(path: Path) -> list[list[str]]:
    name = shown(path.name)
    try:
        content = read_whole(path, _MOST_BYTES)
    except FileTrouble as trouble:
        _refuse("file", str(trouble))
    _look_before_unpacking(content, name)
    from openpyxl import load_workbook
    from openpyxl.utils.exceptions import InvalidFileException

    try:
        with warnings.catch_warnings():
            # The library warns of parts that it leaves out; only cells are read here.
            warnings.simplefilter("ignore")
            workbook = load_workbook(
                io.BytesIO(content), read_only=True, data_only=False, keep_links=False, keep_vba=False
            )
            try:
                return _Cells(name).rows(_sheet(workbook, name))
            finally:
                workbook.close()
    except PriceBookError:
        raise
    except (*_BROKEN, InvalidFileException) as error:
        _refuse("not-xlsx", f"“{name}” cannot be read as XLSX: {shown(str(error) or type(error).__name__)}.")


def _look_before_unpacking(content: bytes, name: str) -> None:
    """Sizes as the archive states them; no more than these is ever unpacked."""
    try:
        archive = zipfile.ZipFile(io.BytesIO(content))
    except _BROKEN:
        _refuse("not-xlsx", f"“{name}” is not an XLSX file.")
    with archive:
        members = archive.infolist()
        unpacked = sum(member.file_size for member in members)
        if len(members) > _MOST_MEMBERS:
            _refuse("too-large", f"“{name}” holds {len(members)} parts; a price book has far fewer.")
        if unpacked > _MOST_UNPACKED or unpacked > _MOST_RATIO * max(len(content), 1):
            _refuse(
                "too-large",
                f"“{name}” would unpack to {unpacked / _MEGABYTE:.0f} MB from {len(content) / _MEGABYTE:.2g} MB, far "
                "more than a price book needs; it was not unpacked.",
            )
        names = [member.filename.casefold() for member in members]
        if any("vbaproject" in part for part in names):
            _refuse("macro", f"“{name}” holds a macro; save it as XLSX without macros.")
        if any("externallink" in part for part in names):
            _refuse(
                "external-link",
                f"“{name}” is linked to another workbook; replace the links by their values and save it again.",
            )
        for member in members:
            if member.filename.casefold().endswith((".xml", ".rels")):
                _no_entities(archive, member, name)


def _no_entities(archive: zipfile.ZipFile, member: zipfile.ZipInfo, name: str) -> None:
    try:
        with archive.open(member) as part:
            head = part.read(65_536)
    except _BROKEN as error:
        _refuse("not-xlsx", f"“{name}” is damaged: {shown(str(error) or type(error).__name__)}.")
    if b"<!DOCTYPE" in head or b"<!ENTITY" in head:
        _refuse("not-xlsx", f"“{name}” is not an ordinary XLSX file: a part of it declares entities.")


def _sheet(workbook: Any, name: str) -> Any:
    sheets = workbook.worksheets
    if len(sheets) > _MOST_SHEETS:
        _refuse("too-many", f"“{name}” has {len(sheets)} sheets; at most {_MOST_SHEETS} are looked at.")
    for sheet in sheets:
        if sheet.title == SHEET:
            return sheet
    if len(sheets) == 1:
        return sheets[0]
    _refuse(
        "sheet",
        f"“{name}” has {len(sheets)} sheets and none is named “{SHEET}”; name the one with the prices so.",
    )


def _letter(column: int) -> str:
    from openpyxl.utils import get_column_letter

    return get_column_letter(column)


class _Cells:
    """Turns the cells of a sheet into texts and gathers what is no plain value."""

    def __init__(self, name: str) -> None:
        self._name = name
        self._findings: list[Finding] = []

    def rows(self, sheet: Any) -> list[list[str]]:
        """Texts of all cells.

        Raises:
            PriceBookError: too many rows or columns, a formula, an error value.
        """
        rows: list[list[str]] = []
        # The size that the sheet states of itself can be anything.
        sheet.reset_dimensions()
        for number, cells in enumerate(self._within(sheet), 1):
            rows.append([self._text(cell, number, i) for i, cell in enumerate(cells, 1)])
        if self._findings:
            more = len(self._findings) - _MOST_FINDINGS
            told = self._findings[:_MOST_FINDINGS]
            if more > 0:
                told.append(
                    Finding(Severity.ERROR, "file", "more", f"There are {more} more problems in the file.")
                )
            raise PriceBookError(tuple(told))
        while rows and not any(rows[-1]):
            rows.pop()
        return rows

    def _within(self, sheet: Any) -> Iterator[tuple[Any, ...]]:
        for number, cells in enumerate(sheet.iter_rows(), 1):
            if number > _MOST_ROWS:
                _refuse(
                    "too-many", f"“{self._name}” has more than {_MOST_ROWS} rows; a price book has fewer."
                )
            if len(cells) > _MOST_COLUMNS:
                _refuse(
                    "too-many",
                    f"row {number}, column {_letter(len(cells))}: “{self._name}” has more than "
                    f"{_MOST_COLUMNS} columns; a price book has {len(COLUMNS)}.",
                    f"row {number}",
                )
            yield cells

    def _text(self, cell: Any, row: int, column: int) -> str:
        value = cell.value
        if value is None:
            return ""
        kind = getattr(cell, "data_type", "")
        if kind == "f":
            self._wrong(row, column, "formula", "a formula stands here; replace it by its value.")
            return ""
        if kind == "e":
            self._wrong(row, column, "error-value", f"the error value {shown(str(value), 20)} stands here.")
            return ""
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, float):
            # Spreadsheets hold fifteen digits; what is beyond comes from the binary number.
            return f"{Decimal(f'{value:.15g}'):f}"
        if isinstance(value, datetime) and (value.hour, value.minute, value.second) == (0, 0, 0):
            return value.date().isoformat()
        return _CODE.sub(lambda match: chr(int(match[1], 16)), str(value))

    def _wrong(self, row: int, column: int, rule: str, sentence: str) -> None:
        place = f"row {row}, column {_letter(column)}"
        self._findings.append(Finding(Severity.ERROR, place, rule, f"{place}: {sentence}"))
