"""Price books as CSV: one file for the program and any spreadsheet.

Row 1 holds `currency` and its code, row 2 the names of the columns, every further row one part. Written as
UTF-8 with a byte order mark (spreadsheets ask for it), commas, numbers with a point. Read with or without the mark,
with commas or semicolons, with a point or a comma before the decimals where only one reading is possible.
Texts are escaped as `cells` says.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from typing import Any, Final, NoReturn

from pydantic import ValidationError

from estimator.going import ALONE, Going
from estimator.model.finding import Finding, Severity
from estimator.model.pricebook import MOST_ENTRIES, PriceBook, PriceEntry, is_demo_source
from estimator.model.problems import problems_of
from estimator.money import CurrencyError, check_currency
from estimator.shipped import shipped
from estimator.store.cells import escaped, unescaped
from estimator.store.files import FileTrouble, exists, read_whole, shown, write_whole
from estimator.store.places import no_folder, user_folder

__all__ = [
    "COLUMNS",
    "MOST_BYTES",
    "MOST_ROWS",
    "PriceBookError",
    "cell_text",
    "load_price_book",
    "near_limits",
    "price_book_from_rows",
    "price_book_from_text",
    "price_book_text",
    "save_price_book",
    "shipped_price_book",
    "user_price_book",
    "user_price_book_path",
]

COLUMNS: Final = tuple(PriceEntry.model_fields)
"""Names of the columns in the order in which they are written."""

_LATER: Final = frozenset({"tax", "demo"})
"""Columns that books written before did not have; where one is absent its cells are empty, and only
entries that still have the demo book's own source are demo figures."""

_FILE_NAME: Final = "price-book.csv"
MOST_BYTES: Final = 5_000_000
"""Of a price book's file, when it is written and when it is read."""
_NEAR: Final = 0.8
_FEW: Final = 1_000
"""Entries of a book that cannot come near 5 MB: a row has at most some 3 KB of text."""
_MEGABYTE: Final = 1_000_000
_MOST_FINDINGS: Final = 50
_FIRST_PART_ROW: Final = 3
MOST_ROWS: Final = MOST_ENTRIES + _FIRST_PART_ROW - 1
"""Of a table that holds a price book: its parts, the currency and the names of the columns."""
_TOLD_EACH: Final = 200
_PLAIN: Final = re.compile(r"\d+(?:\.\d*)?|\.\d+", re.ASCII)
_COMMA: Final = re.compile(r"\d*,\d+", re.ASCII)
_POINT_OF_THOUSANDS: Final = re.compile(r"[1-9]\d{0,2}\.\d{3}")
_COMMA_OF_THOUSANDS: Final = re.compile(r"[1-9]\d{0,2},\d{3}")
_DAY: Final = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_NUMBERS: Final = ("low", "likely", "high", "labour_minutes")
_YES: Final = frozenset({"yes", "true", "1"})
_NO: Final = frozenset({"no", "false", "0"})


class PriceBookError(ValueError):
    """The file is no price book; nothing of it was taken.

    Attributes:
        findings: each problem with its place ("file", or "row 7, column likely") and a sentence.
    """

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        super().__init__(" ".join(f.message for f in findings))
        self.findings = findings


def _refuse(rule: str, sentence: str) -> NoReturn:
    raise PriceBookError((Finding(Severity.ERROR, "file", rule, sentence),)) from None


def load_price_book(path: Path, going: Going = ALONE) -> PriceBook:
    """Read a price book.

    Args:
        path: of the file.
        going: asked and told on the way.

    Raises:
        PriceBookError: not readable, not a price book, or with a bad cell; the message names row and column.
        Stopped: it is not wanted any more.
    """
    name = shown(path.name)
    try:
        content = read_whole(path, MOST_BYTES)
    except FileTrouble as trouble:
        _refuse("file", str(trouble))
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        _refuse("not-text", f"“{name}” is not UTF-8 text; save it from the spreadsheet as CSV in UTF-8.")
    return price_book_from_text(text, name, going)


def save_price_book(path: Path, book: PriceBook, going: Going = ALONE) -> None:
    """Write a price book as a whole.

    Raises:
        PriceBookError: it cannot be written, or not be read again; what was there is unharmed.
        Stopped: it is not wanted any more; nothing was written.
    """
    text, name = price_book_text(book, going), shown(path.name)
    content = text.encode("utf-8-sig")
    if len(content) > MOST_BYTES:
        _refuse(
            "too-large",
            f"“{name}” would be {len(content) / _MEGABYTE:.1f} MB; a price book has at most "
            f"{MOST_BYTES / _MEGABYTE:g} MB, so it could not be opened again. It was not written: remove entries that "
            "are not used, or shorten their texts.",
        )
    price_book_from_text(text, name, going)
    going.check()
    try:
        write_whole(path, content)
    except FileTrouble as trouble:
        _refuse("file", str(trouble))


def near_limits(book: PriceBook) -> str:
    """A warning where a price book comes near what its file may hold, beyond which it is not saved; else ""."""
    number = len(book.entries)
    size = len(price_book_text(book).encode("utf-8-sig")) if number > _FEW else 0
    told = [
        *([f"{number} of {MOST_ENTRIES} entries"] if number > _NEAR * MOST_ENTRIES else []),
        *([f"{size / _MEGABYTE:.1f} of {MOST_BYTES / _MEGABYTE:g} MB"] if size > _NEAR * MOST_BYTES else []),
    ]
    return (
        f"The price book takes {' and '.join(told)}; remove entries that are not used soon." if told else ""
    )


@lru_cache(maxsize=1)
def shipped_price_book() -> PriceBook:
    """The demo price book that comes with the program."""
    return price_book_from_text(_shipped_bytes().decode("utf-8-sig"), _FILE_NAME)


def user_price_book_path() -> Path:
    """Where the person's own price book is."""
    return user_folder() / _FILE_NAME


def user_price_book() -> PriceBook:
    """The person's own price book; on first use the shipped one is copied there.

    Raises:
        PriceBookError: it cannot be read or written, or is not valid.
    """
    if why := no_folder():
        _refuse("file", why)
    path = user_price_book_path()
    if not exists(path):
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            write_whole(path, _shipped_bytes())
        except FileTrouble as trouble:
            _refuse("file", str(trouble))
        except OSError as error:
            _refuse(
                "file",
                f"The folder “{shown(str(path.parent))}” cannot be made: {shown(error.strerror or '')}.",
            )
    return load_price_book(path)


def _shipped_bytes() -> bytes:
    return shipped(_FILE_NAME).read_bytes()


def _number_text(number: Decimal) -> str:
    return f"{abs(number):f}"


def cell_text(value: object) -> str:
    """A value as it is written into a cell: text that a spreadsheet would take for a formula is escaped."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Decimal):
        return _number_text(value)
    if isinstance(value, date):
        return value.isoformat()
    return escaped(str(value))


def price_book_text(book: PriceBook, going: Going = ALONE) -> str:
    """The text of a price book's file, without byte order mark."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["currency", book.currency])
    writer.writerow(COLUMNS)
    for entry in book.entries:
        going.check()
        writer.writerow([cell_text(getattr(entry, column)) for column in COLUMNS])
    return out.getvalue()


def price_book_from_text(text: str, name: str, going: Going = ALONE) -> PriceBook:
    """The price book that a file's text holds.

    Args:
        text: CSV.
        name: what the file is called in messages.
        going: asked and told on the way.

    Raises:
        PriceBookError, Stopped: see `load_price_book`.
    """
    return price_book_from_rows(_rows(text, name), name, going)


def price_book_from_rows(rows: list[list[str]], name: str, going: Going = ALONE) -> PriceBook:
    """The price book that the rows of a table hold, laid out like the file.

    Args:
        rows: texts of the cells.
        name: what the file is called in messages.
        going: asked at each row, told how far it is.

    Raises:
        PriceBookError, Stopped: see `load_price_book`.
    """
    if not rows or not _trimmed(rows[0]) or _trimmed(rows[0])[0].casefold() != "currency":
        _refuse(
            "not-a-price-book",
            f"“{name}” is not a price book: its first row must hold “currency” and a code such as USD.",
        )
    currency = _currency(rows)
    columns = _columns(rows)
    numbers = [i for i, column in enumerate(columns) if column in _NUMBERS]
    decimal_comma = any(_COMMA.fullmatch(row[i].strip()) for row in rows[2:] for i in numbers if i < len(row))
    cells = _Cells(columns, decimal_comma, len(rows[1]))
    entries: list[PriceEntry] = []
    first_row: dict[str, int] = {}
    for number, row in enumerate(rows[_FIRST_PART_ROW - 1 :], _FIRST_PART_ROW):
        going.check()
        if number % _TOLD_EACH == 0:
            going.tell(number, len(rows))
        if not any(cell.strip() for cell in row):
            continue
        entry = cells.entry(number, row)
        if entry is None:
            continue
        if entry.code in first_row:
            cells.wrong(
                number,
                "code",
                f"“{entry.code}” stands in row {first_row[entry.code]} too; codes must differ.",
            )
        first_row.setdefault(entry.code, number)
        entries.append(entry)
    if cells.findings:
        raise PriceBookError(cells.told())
    return PriceBook(currency=currency, entries=tuple(entries))


def _rows(text: str, name: str) -> list[list[str]]:
    if not text.strip():
        _refuse(
            "empty", f"“{name}” is empty; a price book has a row “currency”, a row of column names and parts."
        )
    start = re.match(r'\s*"?currency"?\s*([,;])', text, re.IGNORECASE)
    if start is None:
        _refuse(
            "not-a-price-book",
            f"“{name}” is not a price book: its first row must hold “currency” and a code such as USD, "
            "separated by a comma or a semicolon.",
        )
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=start[1], strict=True)
    rows: list[list[str]] = []
    try:
        for row in reader:
            rows.append(row)
            if len(rows) > MOST_ROWS:
                _refuse("too-many", f"“{name}” has more than {MOST_ROWS} rows; a price book has fewer.")
    except csv.Error as error:
        _refuse(
            "not-csv",
            f"“{name}”: row {len(rows) + 1} (line {reader.line_num}) is not readable as CSV: {shown(str(error))}.",
        )
    return rows


def _trimmed(row: list[str]) -> list[str]:
    cells = [cell.strip() for cell in row]
    while cells and not cells[-1]:
        cells.pop()
    return cells


def _currency(rows: list[list[str]]) -> str:
    first = _trimmed(rows[0])
    try:
        if len(first) != 2:
            raise CurrencyError("write the code of one currency, such as USD, in the second cell.")
        return check_currency(first[1])
    except CurrencyError as error:
        message = f"row 1, column 2: currency: {error}"
        raise PriceBookError((Finding(Severity.ERROR, "row 1, column 2", "currency", message),)) from None


def _columns(rows: list[list[str]]) -> list[str]:
    found = [cell.casefold() for cell in _trimmed(rows[1])] if len(rows) > 1 else []
    absent = ", ".join(f"“{c}”" for c in COLUMNS if c not in found and c not in _LATER)
    problems = [
        *([f"there is no column {absent}"] if absent else []),
        *(f"the column “{shown(c, 30)}” is not known" for c in dict.fromkeys(found) if c not in COLUMNS),
        *(f"the column “{c}” stands twice" for c in COLUMNS if found.count(c) > 1),
    ]
    if problems:
        message = f"row 2: {'; '.join(problems[:3])}. The columns are {', '.join(COLUMNS)}."
        raise PriceBookError((Finding(Severity.ERROR, "row 2", "columns", message),))
    return found


class _Cells:
    """Turns rows into entries and gathers what is wrong with their cells."""

    def __init__(self, columns: list[str], decimal_comma: bool, width: int) -> None:
        self.findings: list[Finding] = []
        self._width = width
        self._decimal_comma = decimal_comma
        readers: dict[str, Callable[[str], object]] = {
            "code": str.strip,
            **dict.fromkeys(_NUMBERS, self._number),
            "taxable": _flag,
            "demo": lambda cell: bool(cell.strip()) and _flag(cell),
            "dated": _date,
        }
        self._readers = [(column, readers.get(column, unescaped)) for column in columns]

    def wrong(self, row: int, column: str, sentence: str) -> None:
        place = f"row {row}, column {column}"
        self.findings.append(Finding(Severity.ERROR, place, "price-book-cell", f"{place}: {sentence}"))

    def told(self) -> tuple[Finding, ...]:
        """The first problems, and how many there are besides."""
        more = len(self.findings) - _MOST_FINDINGS
        if more <= 0:
            return tuple(self.findings)
        last = Finding(Severity.ERROR, "file", "more", f"There are {more} more problems in the file.")
        return (*self.findings[:_MOST_FINDINGS], last)

    def entry(self, number: int, row: list[str]) -> PriceEntry | None:
        """The entry of a row, None where a cell is wrong."""
        before = len(self.findings)
        # A spreadsheet may pad every row alike; one longer than row 2 has a text in two cells.
        if len(row) > self._width or any(cell.strip() for cell in row[len(self._readers) :]):
            self.wrong(
                number,
                str(len(self._readers) + 1),
                f"the row has {len(row)} cells, the names in row 2 are {len(self._readers)}; "
                "a text with a separator in it must stand in quotation marks.",
            )
            return None
        padded = [*row, *[""] * (len(self._readers) - len(row))]
        values: dict[str, Any] = {}
        for (column, read), cell in zip(self._readers, padded, strict=False):
            try:
                values[column] = read(cell)
            except _BadCell as bad:
                self.wrong(number, column, str(bad))
        if len(self.findings) > before:
            return None
        values.setdefault("demo", is_demo_source(values.get("source")))
        try:
            return PriceEntry(**values)
        except ValidationError as error:
            for problem in problems_of(error, PriceEntry):
                sentence = problem.message.partition(": ")[2]
                column = problem.place or "low, likely, high"
                self.wrong(number, column, sentence)
            return None

    def _number(self, cell: str) -> Decimal:
        text = cell.strip()
        if not text:
            raise _BadCell("a number is missing; write 0 where it is nothing.")
        if _PLAIN.fullmatch(text):
            if self._decimal_comma and _POINT_OF_THOUSANDS.fullmatch(text):
                raise _BadCell(
                    f"“{shown(text, 30)}” can be read two ways, as this file writes decimals with a comma; "
                    "write thousands without a point."
                )
            return Decimal(text)
        if _COMMA.fullmatch(text):
            if _COMMA_OF_THOUSANDS.fullmatch(text):
                raise _BadCell(
                    f"“{shown(text, 30)}” can be read two ways; write thousands without a comma, "
                    "or decimals with a point."
                )
            return Decimal(text.replace(",", "."))
        raise _BadCell(f"“{shown(text, 30)}” is not a number from 0 up, such as 12.50.")


class _BadCell(ValueError):
    """What is wrong with one cell."""


def _flag(cell: str) -> bool:
    word = cell.strip().casefold()
    if word in _YES:
        return True
    if word in _NO:
        return False
    raise _BadCell(f"“{shown(cell.strip(), 30)}” is neither yes nor no.")


def _date(cell: str) -> date | None:
    text = cell.strip()
    if not text:
        return None
    try:
        if not _DAY.fullmatch(text):
            raise ValueError
        return date.fromisoformat(text)
    except ValueError:
        raise _BadCell(f"“{shown(text, 30)}” is not a date; write it as 2027-03-31.") from None
