"""Price books out to spreadsheets and in again; hostile workbooks get a sentence and change nothing."""

from __future__ import annotations

import base64
import io
import os
import random
import re
import zipfile
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from openpyxl import Workbook

from estimator.going import Going, Stopped
from estimator.model.pricebook import MOST_ENTRIES, PriceBook, PriceEntry
from estimator.pricing.compare import ChangeKind
from estimator.store.book_exchange import (
    SHEET,
    ImportMode,
    export_book,
    preview_import,
    preview_of,
    read_book,
)
from estimator.store.pricebooks import COLUMNS, PriceBookError, shipped_price_book
from tests.store.test_pricebooks import BOOKS

GUN: dict[str, Any] = {
    "code": "GUN-PL",
    "description": "Spray gun",
    "group": "Drops",
    "unit": "each",
    "low": 40,
    "likely": 46.5,
    "high": 54,
    "taxable": "yes",
    "labour_minutes": 5,
    "source": "invented demo figure",
    "dated": date(2026, 11, 1),
    "correlation": "supplier",
    "tax": None,
    "demo": "yes",
}
BOOK = PriceBook(
    entries=(
        PriceEntry(
            code="GUN-PL", description="Spray gun", low=Decimal(40), likely=Decimal(44), high=Decimal(54)
        ),
        PriceEntry(code="TUB-8", description="Tube", low=Decimal(1), likely=Decimal(1), high=Decimal(2)),
    )
)


def workbook(path: Path, *rows: dict[str, Any], currency: object = "USD", title: str = SHEET) -> Path:
    """A workbook of some parts."""
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = title
    sheet.append(["currency", currency])
    sheet.append(list(COLUMNS))
    for row in rows:
        sheet.append([row[column] for column in COLUMNS])
    book.save(path)
    return path


def refused(path: Path) -> PriceBookError:
    with pytest.raises(PriceBookError) as caught:
        preview_import(path, BOOK)
    for finding in caught.value.findings:
        assert finding.message.endswith((".", "!", "?")) and len(finding.message) < 500
    return caught.value


@pytest.mark.parametrize("ending", [".csv", ".xlsx", ".XLSX"])
def test_the_shipped_book_goes_out_and_comes_back_the_same(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"book{ending}"
    export_book(path, shipped_price_book())
    assert read_book(path) == shipped_price_book()


@settings(deadline=None, max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(BOOKS)
def test_any_book_goes_through_a_workbook(tmp_path: Path, book: PriceBook) -> None:
    path = tmp_path / "book.xlsx"
    export_book(path, book)
    again = read_book(path)
    assert again.currency == book.currency
    assert [e.code for e in again.entries] == [e.code for e in book.entries]
    for new, old in zip(again.entries, book.entries, strict=True):
        assert (new.low, new.likely, new.high, new.labour_minutes, new.dated, new.taxable) == (
            old.low,
            old.likely,
            old.high,
            old.labour_minutes,
            old.dated,
            old.taxable,
        )
        assert new.description == old.description


def test_a_preview_tells_row_by_row_and_changes_nothing(tmp_path: Path) -> None:
    path = workbook(tmp_path / "new.xlsx", GUN, {**GUN, "code": "NEW-1", "description": "New part"})
    merged = preview_import(path, BOOK)
    assert [(c.kind, c.code) for c in merged.changes] == [
        (ChangeKind.CHANGED, "GUN-PL"),
        (ChangeKind.ADDED, "NEW-1"),
    ]
    assert "Likely 44 → 46.5" in merged.changes[0].words_in("en_US")
    assert [e.code for e in merged.book.entries] == ["GUN-PL", "TUB-8", "NEW-1"]
    replaced = preview_import(path, BOOK, ImportMode.REPLACE)
    assert (ChangeKind.REMOVED, "TUB-8") in [(c.kind, c.code) for c in replaced.changes]
    assert [e.code for e in replaced.book.entries] == ["GUN-PL", "NEW-1"]
    assert [e.likely for e in BOOK.entries] == [44, 1]
    assert preview_import(path, merged.book).changes == () and preview_import(path, merged.book).same == 2


@pytest.mark.parametrize(
    ("cells", "place", "told"),
    [
        ({"code": None}, "row 3, column code", "empty"),
        ({"code": "gun pl"}, "row 3, column code", "capital letters"),
        ({"likely": "about 46"}, "row 3, column likely", "not a number"),
        ({"likely": -1}, "row 3, column likely", "not a number from 0 up"),
        ({"likely": None}, "row 3, column likely", "a number is missing"),
        ({"likely": "1,234"}, "row 3, column likely", "read two ways"),
        ({"likely": 60}, "row 3, column low, likely, high", "low ≤ likely ≤ high"),
        ({"likely": "=SUM(A1:A9)"}, "row 3, column F", "a formula stands here"),
        ({"description": "=[other.xlsx]Sheet1!A1"}, "row 3, column B", "a formula stands here"),
        ({"likely": "#REF!"}, "row 3, column F", "error value"),
        ({"taxable": "perhaps"}, "row 3, column taxable", "neither yes nor no"),
        ({"dated": "1.11.2026"}, "row 3, column dated", "not a date"),
        ({"labour_minutes": 200_000}, "row 3, column labour_minutes", "at most 100000"),
    ],
)
def test_a_bad_cell_is_told_by_row_and_column(
    tmp_path: Path, cells: dict[str, Any], place: str, told: str
) -> None:
    path = workbook(tmp_path / "bad.xlsx", {**GUN, **cells}, {**GUN, "code": "GOOD-1"})
    (finding,) = refused(path).findings
    assert finding.place == place and told in finding.message


def test_comma_decimals_are_read_where_only_one_reading_is_possible(tmp_path: Path) -> None:
    path = workbook(tmp_path / "comma.xlsx", {**GUN, "likely": "46,5"})
    assert read_book(path).entries[0].likely == Decimal("46.5")


def test_a_doubled_code_is_told(tmp_path: Path) -> None:
    (finding,) = refused(workbook(tmp_path / "twice.xlsx", GUN, GUN)).findings
    assert finding.place == "row 4, column code" and "stands in row 3 too" in finding.message


def test_a_currency_that_does_not_match_is_told_and_never_converted(tmp_path: Path) -> None:
    path = workbook(tmp_path / "euro.xlsx", GUN, currency="EUR")
    assert refused(path).findings[0].place == "row 1, column 2"
    whole = preview_import(path, BOOK, ImportMode.REPLACE)
    assert whole.book.currency == "EUR" and [w.rule for w in whole.warnings] == ["currency"]
    assert "ISO 4217" in str(refused(workbook(tmp_path / "none.xlsx", GUN, currency="EURO")))


def test_a_part_that_costs_nothing_is_a_warning(tmp_path: Path) -> None:
    free = {**GUN, "low": 0, "likely": 0, "high": 0, "labour_minutes": 0}
    assert [w.rule for w in preview_import(workbook(tmp_path / "a.xlsx", free), BOOK).warnings] == [
        "price-zero"
    ]


def test_the_sheet_is_the_only_one_or_has_its_name(tmp_path: Path) -> None:
    assert read_book(workbook(tmp_path / "a.xlsx", GUN, title="Any")).entries
    book = Workbook()
    book.create_sheet("two")
    book.save(tmp_path / "two.xlsx")
    assert "none is named “Prices”" in str(refused(tmp_path / "two.xlsx"))


def _repacked(path: Path, change: Callable[[dict[str, bytes]], None]) -> Path:
    """The same archive with its parts changed."""
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    change(parts)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    path.write_bytes(out.getvalue())
    return path


def _far(parts: dict[str, bytes]) -> None:
    name = "xl/worksheets/sheet1.xml"
    parts[name] = parts[name].replace(
        b"</sheetData>", b'<row r="1000000"><c r="A1000000"><v>1</v></c></row></sheetData>'
    )


def _wide(parts: dict[str, bytes]) -> None:
    name = "xl/worksheets/sheet1.xml"
    parts[name] = parts[name].replace(
        b"</sheetData>", b'<row r="9"><c r="XFD9"><v>1</v></c></row></sheetData>'
    )


def _many(parts: dict[str, bytes]) -> None:
    name = "xl/worksheets/sheet1.xml"
    rows = b"".join(b'<row r="%d"><c r="A%d"><v>1</v></c></row>' % (i, i) for i in range(4, 30_000))
    parts[name] = parts[name].replace(b"</sheetData>", rows + b"</sheetData>")


def _bomb(parts: dict[str, bytes]) -> None:
    parts["xl/worksheets/sheet1.xml"] += b" " * 90_000_000


def _small_bomb(parts: dict[str, bytes]) -> None:
    parts["xl/media/image1.png"] = b"\0" * 20_000_000


def _with_shared_texts(parts: dict[str, bytes], content: bytes) -> None:
    name, kind = (
        "xl/_rels/workbook.xml.rels",
        b"http://schemas.openxmlformats.org/officeDocument/2006/relationships",
    )
    relation = b'<Relationship Id="texts" Type="%s/sharedStrings" Target="/xl/t.xml"/>' % kind
    parts[name] = re.sub(rb"<Relationship [^>]*sharedStrings[^>]*/>", b"", parts[name]).replace(
        b"</Relationships>", relation + b"</Relationships>"
    )
    parts["xl/t.xml"] = content


def _shared_texts(parts: dict[str, bytes]) -> None:
    """Half a megabyte of these took a minute."""
    _with_shared_texts(parts, b"<sst>" + b"<si><t/></si>" * 1_100_000 + random_bytes(200_000) + b"</sst>")


def _one_text_everywhere(parts: dict[str, bytes]) -> None:
    """A text of 32,767 characters in 10,000 cells."""
    _with_shared_texts(parts, b"<sst><si><t>" + b"x" * 32_767 + b"</t></si></sst>")
    cells = b"".join(b'<row r="%d"><c r="A%d" t="s"><v>0</v></c></row>' % (i, i) for i in range(4, 10_004))
    name = "xl/worksheets/sheet1.xml"
    parts[name] = parts[name].replace(b"</sheetData>", cells + b"</sheetData>")


def _many_names(parts: dict[str, bytes]) -> None:
    name = "xl/worksheets/sheet1.xml"
    parts[name] = parts[name].replace(
        b"</sheetData>", b"".join(b"<n%d/>" % i for i in range(50_000)) + b"</sheetData>"
    )


def _deep(parts: dict[str, bytes]) -> None:
    name = "xl/worksheets/sheet1.xml"
    parts[name] = parts[name].replace(b"</sheetData>", b"<a>" * 5_000 + b"</a>" * 5_000 + b"</sheetData>")


def _one_long_mark(parts: dict[str, bytes]) -> None:
    name = "xl/worksheets/sheet1.xml"
    parts[name] += b"<!-- " + random_bytes(3_000_000)


def _late_entities(parts: dict[str, bytes]) -> None:
    """Behind more than the first 64 KB, in a part whose ending says nothing."""
    head = b'<?xml version="1.0"?>' + b" " * 100_000 + b'<!DOCTYPE x [<!ENTITY a "aaaa">]>'
    parts["xl/styles.xml"] = head + parts["xl/styles.xml"].partition(b"?>")[2]


def random_bytes(number: int) -> bytes:
    """Letters that cannot be packed well, so that the share of packing tells nothing."""
    return base64.b64encode(random.Random(1).randbytes(number))


def _entities(parts: dict[str, bytes]) -> None:
    name = "xl/worksheets/sheet1.xml"
    head = b'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;&a;">]>'
    parts[name] = head + parts[name].partition(b"?>")[2]


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (_far, "more than 20002 rows"),
        (_wide, "row 9, column XFD"),
        (_many, "more than 20002 rows"),
        (_bomb, "it was not unpacked"),
        (_small_bomb, "it was not unpacked"),
        (_entities, "declares entities"),
        (_late_entities, "declares entities"),
        (_shared_texts, "far more marks"),
        (_one_text_everywhere, "more than 5000000 characters"),
        (_many_names, "too many names"),
        (_deep, "far more marks"),
        (_one_long_mark, "a mark longer than any"),
        (lambda parts: parts.update({"xl/vbaProject.bin": b"x"}), "holds a macro"),
        (
            lambda parts: parts.update({"xl/externalLinks/externalLink1.xml": b"<x/>"}),
            "linked to another workbook",
        ),
        (lambda parts: parts.update({f"x{i}": b"" for i in range(600)}), "holds 609 parts"),
        (lambda parts: parts.pop("xl/workbook.xml"), "cannot be read as XLSX"),
        (lambda parts: parts.update({"xl/worksheets/sheet1.xml": b"<worksheet"}), "cannot be read as XLSX"),
    ],
)
def test_a_hostile_workbook_gets_a_sentence(
    tmp_path: Path, change: Callable[[dict[str, bytes]], None], told: str
) -> None:
    path = _repacked(workbook(tmp_path / "hostile.xlsx", GUN), change)
    assert told in str(refused(path))


@pytest.mark.parametrize(
    ("name", "content", "told"),
    [
        ("a.xlsx", b"", "is not an XLSX file"),
        ("a.xlsx", b"PK\x03\x04 cut off", "is not an XLSX file"),
        ("a.xlsm", b"", "save it as XLSX or CSV"),
        ("a.xls", b"", "save it as XLSX or CSV"),
        ("a.txt", b"", "neither CSV nor XLSX"),
        ("a.csv", b"", "is empty"),
    ],
)
def test_what_is_no_table_is_told(tmp_path: Path, name: str, content: bytes, told: str) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    assert told in str(refused(path))


def test_a_file_too_large_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "large.xlsx"
    path.write_bytes(b"PK" + b"\0" * 10_000_001)
    assert "larger than 10 MB" in str(refused(path))


def test_only_known_endings_are_written(tmp_path: Path) -> None:
    with pytest.raises(PriceBookError, match=r"\.csv or \.xlsx"):
        export_book(tmp_path / "a.ods", BOOK)
    with pytest.raises(PriceBookError, match="cannot be written"):
        export_book(tmp_path / "no folder" / "a.xlsx", BOOK)


@pytest.mark.parametrize("ending", ["csv", "xlsx"])
@pytest.mark.parametrize(
    "text",
    [
        "bay\uffff", "\ufffe", "#N/A", "#REF!", "_xFFFF_", "_x000D_", "_x005F_x0041_", "__x0041_", "=1+1", "'=1",
        "TRUE", "12", "1e5", "2027-03-01", "two\nlines", "\ttab", "\x85\x9b", "\u202eover", " room ",
    ],
)  # fmt: skip
def test_every_text_comes_back_as_it_went(tmp_path: Path, ending: str, text: str) -> None:
    """U+FFFF made a workbook that nothing opens, #N/A one that was refused."""
    entry = PriceEntry(code="GUN-1", description=text, group=text, source=text)
    path = tmp_path / f"book.{ending}"
    export_book(path, PriceBook(entries=(entry,)))
    assert read_book(path).entries == (entry,)


def test_a_code_of_a_spreadsheet_is_its_character(tmp_path: Path) -> None:
    """Spreadsheet programs write a tab or a carriage return in a cell so (ISO/IEC 29500, ST_Xstring)."""
    path = workbook(tmp_path / "book.xlsx", GUN | {"description": "Spray_x0009_gun _x005F_x0041_"})
    assert read_book(path).entries[0].description == "Spray\tgun _x0041_"


def test_more_entries_than_a_book_holds_are_refused_with_a_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Together with those that are kept they passed the limit: a traceback once. The other mode goes on."""
    monkeypatch.setattr("estimator.store.book_exchange.MOST_ENTRIES", 2)
    new = PriceBook(entries=(BOOK.entries[0].model_copy(update={"code": "NEW-1"}),))
    with pytest.raises(
        PriceBookError, match=r"would hold 3 entries with those of “new\.csv”; it holds at most 2"
    ):
        preview_of(new, "new.csv", BOOK, ImportMode.MERGE)
    assert preview_of(new, "new.csv", BOOK, ImportMode.REPLACE).book == new


class _Leaving(Going):
    """Counts the questions, and is left at one of them."""

    def __init__(self, at: int) -> None:
        super().__init__()
        self.asked, self._at = 0, at

    def check(self) -> None:
        self.asked += 1
        if self.asked == self._at:
            self.leave()
        super().check()


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_reading_and_writing_end_where_nobody_waits_any_more(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kind: str
) -> None:
    """Asked at every row at least; what was left wrote no file, nor left what the library wrote on its way."""
    aside = tmp_path / "aside"
    aside.mkdir()
    monkeypatch.setattr("tempfile.tempdir", str(aside))
    book, path = shipped_price_book(), tmp_path / f"book.{kind}"
    writing, reading = _Leaving(0), _Leaving(0)
    export_book(path, book, writing)
    assert read_book(path, reading) == book
    assert min(writing.asked, reading.asked) >= len(book.entries)
    path.unlink()
    for at in (1, writing.asked // 2, writing.asked):
        with pytest.raises(Stopped):
            export_book(path, book, _Leaving(at))
        assert (list(tmp_path.iterdir()), list(aside.iterdir())) == ([aside], [])
    export_book(path, book)
    for at in (1, reading.asked // 2, reading.asked):
        with pytest.raises(Stopped):
            read_book(path, _Leaving(at))


@pytest.mark.parametrize("ending", ["csv", "xlsx"])
def test_a_book_that_is_written_can_be_read(tmp_path: Path, ending: str) -> None:
    """The most entries that a book has, and two rows of headings: a workbook of them could not be read again."""
    one = PriceEntry(code="A-0", description="Part")
    entries = tuple(one.model_copy(update={"code": f"A-{i}"}) for i in range(MOST_ENTRIES))
    path = tmp_path / f"most.{ending}"
    export_book(path, PriceBook(currency="USD", entries=entries))
    assert len(read_book(path).entries) == MOST_ENTRIES


def test_a_workbook_that_could_not_be_read_is_not_written(tmp_path: Path) -> None:
    """All texts as long as they may be: more than is read of a workbook."""
    words = "x" * 120
    one = PriceEntry(
        code="A-0", description=words, group=words, unit=words, source=words, correlation=words, tax=words
    )
    entries = tuple(one.model_copy(update={"code": f"A-{i}"}) for i in range(8_000))
    path = tmp_path / "large.xlsx"
    with pytest.raises(PriceBookError):
        export_book(path, PriceBook(currency="USD", entries=entries))
    assert not path.exists()


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="named pipes")
@pytest.mark.parametrize("ending", ["csv", "xlsx"])
def test_what_is_no_ordinary_file_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, ending: str
) -> None:
    """A pipe is not waited for, a loop of links not followed, a name too long and a file that grows are told."""
    pipe, folder, loop, device = (
        tmp_path / f"{name}.{ending}" for name in ("pipe", "folder", "loop", "device")
    )
    os.mkfifo(pipe)
    folder.mkdir()
    loop.symlink_to(loop)
    device.symlink_to("/dev/zero")
    for odd in (pipe, folder, device):
        assert "is not a file" in str(refused(odd))
    assert "cannot be read" in str(refused(loop))
    assert "too long" in str(refused(tmp_path / f"{'q' * 255}.{ending}"))
    assert "There is no file" in str(refused(tmp_path / "gone" / f"a.{ending}"))
    path = tmp_path / f"book.{ending}"
    export_book(path, BOOK)
    look, looks = os.fstat, [0]

    def grown(handle: int) -> os.stat_result:
        looks[0] += 1
        if looks[0] == 2:
            with path.open("ab") as file:
                file.write(b"y")
        return look(handle)

    with monkeypatch.context() as patch:
        patch.setattr(os, "fstat", grown)
        assert "being written by another program" in str(refused(path))
