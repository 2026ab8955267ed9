"""Price books out to a spreadsheet and in again, as CSV or XLSX, with a preview before anything changes.

A workbook is laid out like the CSV file: row 1 `currency` and its code, row 2 the names of the columns, then one part
a row; on the sheet “Prices”, or on the only sheet. Workbooks are untrusted: sizes are looked at before anything is
unpacked and counted while it is, nothing is calculated, and formulas, links to other workbooks and macros are told,
never followed. A file with one bad cell is not taken at all.
"""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from pathlib import Path
from typing import Final, NoReturn

from estimator.going import ALONE, Going
from estimator.model.finding import Finding, Severity
from estimator.model.pricebook import MOST_ENTRIES, PriceBook, PriceEntry
from estimator.pricing.book_changes import EntryChange, entry_changes
from estimator.store.files import FileTrouble, read_whole, shown, write_whole
from estimator.store.pricebooks import (
    COLUMNS,
    PriceBookError,
    cell_text,
    load_price_book,
    near_limits,
    price_book_from_rows,
    save_price_book,
)
from estimator.store.workbook import CellKind, SheetCell, UnreadableWorkbook, column_letters, sheet_cells

__all__ = ["SHEET", "ImportMode", "ImportPreview", "export_book", "preview_import", "preview_of", "read_book"]

SHEET: Final = "Prices"
_MOST_BYTES: Final = 10_000_000
_MOST_UNPACKED: Final = 80_000_000
_MOST_RATIO: Final = 200
_MOST_MEMBERS: Final = 500
_MOST_FINDINGS: Final = 50
_MEGABYTE: Final = 1_000_000
_LONGEST: Final = 300
_NOT_XML: Final = re.compile(r"[\ufffe\uffff]|_(?=x[0-9A-Fa-f]{4}_)")
"""What must be written so: what XML does not hold, and a text that looks like such a code."""
_BROKEN: Final = (EOFError, LookupError, NotImplementedError, OSError, RuntimeError, ValueError, zlib.error)
"""What unpacking and parsing raise on archives that are damaged, besides their own exception."""


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
        same: how many entries of the file are the same in the book already.
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


def read_book(path: Path, going: Going = ALONE) -> PriceBook:
    """The price book of a CSV or XLSX file.

    Args:
        path: of the file.
        going: asked and told on the way.

    Raises:
        PriceBookError: not readable, not a price book, or with a bad cell; the message names row and column.
        Stopped: it is not wanted any more.
    """
    kind = path.suffix.casefold()
    if kind == ".csv":
        return load_price_book(path, going)
    if kind == ".xlsx":
        return price_book_from_rows(_workbook_rows(path, going), shown(path.name), going)
    if kind in (".xlsm", ".xls", ".xlsb", ".ods"):
        _refuse("kind", f"“{shown(path.name)}”: save it as XLSX or CSV; files of kind {kind} are not read.")
    _refuse("kind", f"“{shown(path.name)}” is neither CSV nor XLSX.")


def preview_import(path: Path, book: PriceBook, mode: ImportMode = ImportMode.MERGE) -> ImportPreview:
    """What importing a file into a price book would change, entry by entry.

    Raises:
        PriceBookError: see `read_book` and `preview_of`.
    """
    return preview_of(read_book(path), path.name, book, mode)


def preview_of(new: PriceBook, file: str, book: PriceBook, mode: ImportMode) -> ImportPreview:
    """What taking over a price book that was read would change in another, entry by entry.

    Args:
        new: what was read.
        file: name of its file.
        book: as it is.
        mode: what becomes of entries that the file does not hold.

    Raises:
        PriceBookError: it is in another currency and the other entries are kept, or there would be too many.
    """
    name = shown(file)
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
    if len(entries) > MOST_ENTRIES:
        _refuse(
            "too-many",
            f"The price book would hold {len(entries)} entries with those of “{name}”; it holds at most "
            f"{MOST_ENTRIES}: remove those that are not used, or replace the whole book.",
        )
    result = PriceBook(currency=new.currency, entries=entries)
    known = {entry.code: entry for entry in book.entries}
    return ImportPreview(
        name=name,
        mode=mode,
        book=result,
        changes=entry_changes(book.entries, result.entries),
        same=sum(known.get(entry.code) == entry for entry in new.entries),
        warnings=_warnings(new, book, result),
    )


def _warnings(new: PriceBook, book: PriceBook, result: PriceBook) -> tuple[Finding, ...]:
    found = []
    if new.currency != book.currency:
        words = f"row 1, column 2: the whole book changes from {book.currency} to {new.currency}."
        found.append(Finding(Severity.WARNING, "row 1, column 2", "currency", words))
    free = [e.code for e in new.entries if not e.high and not e.labour_minutes]
    if free:
        codes = ", ".join(free[:6]) + (", …" if len(free) > 6 else "")
        words = f"column likely: {len(free)} entries cost nothing, neither part nor labour: {codes}."
        found.append(Finding(Severity.WARNING, "column likely", "price-zero", words))
    if near := near_limits(result):
        found.append(Finding(Severity.WARNING, "file", "price-book-near-limit", near))
    return tuple(found)


def export_book(path: Path, book: PriceBook, going: Going = ALONE) -> None:
    """Write a price book as CSV or XLSX, by the file's ending; `read_book` reads the same again.

    Args:
        path: of the file.
        book: what is written.
        going: asked on the way whether it is still wanted.

    Raises:
        PriceBookError: another ending, or it cannot be written; what was there is unharmed.
        Stopped: it is not wanted any more; nothing was written.
    """
    kind = path.suffix.casefold()
    if kind == ".csv":
        save_price_book(path, book, going)
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
    try:
        for entry in book.entries:
            going.check()
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
    finally:
        # When it is left too: the library writes the rows to a file of its own first, and takes that away now.
        workbook.save(out)
    going.check()
    content = out.getvalue()
    # What is written can be read again for sure: as large as a workbook may be, and the same book.
    if len(content) > _MOST_BYTES:
        _refuse(
            "too-large",
            f"“{shown(path.name)}” would be {len(content) / _MEGABYTE:.1f} MB; a workbook with prices has at most "
            f"{_MOST_BYTES / _MEGABYTE:g} MB, so it could not be read again. It was not written.",
        )
    price_book_from_rows(_rows_in(content, shown(path.name), going), shown(path.name), going)
    going.check()
    try:
        write_whole(path, content)
    except FileTrouble as trouble:
        _refuse("file", str(trouble))


def _written(entry: PriceEntry, column: str) -> object:
    value = getattr(entry, column)
    # Numbers and dates stay what they are; text is escaped so that none of it is taken for a formula.
    return value if isinstance(value, Decimal | date) else _NOT_XML.sub(_as_code, cell_text(value))


def _as_code(match: re.Match[str]) -> str:
    return f"_x{ord(match[0][0]):04X}_{match[0][1:]}"


def _workbook_rows(path: Path, going: Going) -> list[list[str]]:
    name = shown(path.name)
    try:
        content = read_whole(path, _MOST_BYTES)
    except FileTrouble as trouble:
        _refuse("file", str(trouble))
    return _rows_in(content, name, going)


def _rows_in(content: bytes, name: str, going: Going) -> list[list[str]]:
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            _look_before_unpacking(archive, len(content), name)
            return _rows(sheet_cells(archive, SHEET, going))
    except PriceBookError:
        raise
    except UnreadableWorkbook as why:
        # A name of any length in it would make the sentence as long.
        _refuse(why.rule, f"“{name}” {shown(why.sentence, _LONGEST)}", why.place)
    except zipfile.BadZipFile as error:
        if content.startswith(b"PK") and zipfile.is_zipfile(io.BytesIO(content)):
            _refuse("not-xlsx", f"“{name}” cannot be read as XLSX: {shown(str(error))}.")
        _refuse("not-xlsx", f"“{name}” is not an XLSX file.")
    except _BROKEN as error:
        _refuse("not-xlsx", f"“{name}” cannot be read as XLSX: {shown(str(error) or type(error).__name__)}.")


def _look_before_unpacking(archive: zipfile.ZipFile, size: int, name: str) -> None:
    """Sizes as the archive states them; no more than these is ever unpacked."""
    members = archive.infolist()
    unpacked = sum(member.file_size for member in members)
    if len(members) > _MOST_MEMBERS:
        _refuse("too-large", f"“{name}” holds {len(members)} parts; a price book has far fewer.")
    if unpacked > _MOST_UNPACKED or unpacked > _MOST_RATIO * max(size, 1):
        _refuse(
            "too-large",
            f"“{name}” would unpack to {unpacked / _MEGABYTE:.0f} MB from {size / _MEGABYTE:.2g} MB, far "
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


def _rows(cells: list[SheetCell]) -> list[list[str]]:
    """Texts of all cells, up to the last row that holds something.

    Raises:
        PriceBookError: a formula, an error value.
    """
    wrong = [cell for cell in cells if cell.kind is not CellKind.VALUE]
    if wrong:
        told = [_wrong(cell) for cell in wrong[:_MOST_FINDINGS]]
        more = len(wrong) - len(told)
        if more:
            told.append(
                Finding(Severity.ERROR, "file", "more", f"There are {more} more problems in the file.")
            )
        raise PriceBookError(tuple(told))
    rows: list[list[str]] = [[] for _ in range(cells[-1].row)] if cells else []
    for cell in cells:
        row = rows[cell.row - 1]
        row += [""] * (cell.column - 1 - len(row))
        row.append(cell.text)
    return rows


def _wrong(cell: SheetCell) -> Finding:
    place = f"row {cell.row}, column {column_letters(cell.column)}"
    if cell.kind is CellKind.FORMULA:
        return Finding(
            Severity.ERROR, place, "formula", f"{place}: a formula stands here; replace it by its value."
        )
    sentence = f"{place}: the error value {shown(cell.text, 20)} stands here."
    return Finding(Severity.ERROR, place, "error-value", sentence)
