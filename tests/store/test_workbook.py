"""Cells of a sheet, read in a stream; what a cell is, from ISO/IEC 29500-1 (from memory), values invented."""

from __future__ import annotations

import io
import zipfile
from datetime import date, datetime

import pytest
from openpyxl import Workbook

from estimator.store.workbook import CellKind, UnreadableWorkbook, column_letters, sheet_cells
from tests.work import calls_of

_REL = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_BOOK = '<workbook xmlns:r="r"><workbookPr/><sheets><sheet name="Prices" r:id="a"/></sheets></workbook>'


def archive_of(parts: dict[str, str], kind: int = zipfile.ZIP_DEFLATED) -> zipfile.ZipFile:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", kind) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return zipfile.ZipFile(out)


def one_sheet(rows: str, **more: str) -> zipfile.ZipFile:
    related = f'<Relationship Id="a" Type="{_REL}/worksheet" Target="s.xml"/>' + "".join(
        f'<Relationship Id="{kind}" Type="{_REL}/{kind}" Target="/xl/{kind}"/>' for kind in more
    )
    return archive_of(
        {
            "xl/workbook.xml": _BOOK,
            "xl/_rels/workbook.xml.rels": f"<Relationships>{related}</Relationships>",
            "xl/s.xml": f'<x:worksheet xmlns:x="m"><x:sheetData>{rows}</x:sheetData></x:worksheet>',
            **{f"xl/{kind}": content for kind, content in more.items()},
        }
    )


@pytest.mark.parametrize(
    ("cell", "kind", "text"),
    [
        ("<c><v>12</v></c>", CellKind.VALUE, "12"),
        ("<c><v>12.5</v></c>", CellKind.VALUE, "12.5"),
        ("<c><v>0.1000000000000000055</v></c>", CellKind.VALUE, "0.1"),
        ("<c><v>1E-3</v></c>", CellKind.VALUE, "0.001"),
        ("<c><v>-3</v></c>", CellKind.VALUE, "-3"),
        ('<c t="b"><v>1</v></c>', CellKind.VALUE, "yes"),
        ('<c t="b"><v>0</v></c>', CellKind.VALUE, "no"),
        ('<c t="s"><v>1</v></c>', CellKind.VALUE, "two parts"),
        (
            '<c t="inlineStr"><is><r><t>a</t></r><r><t>b</t></r><rPh><t>c</t></rPh></is></c>',
            CellKind.VALUE,
            "ab",
        ),
        ('<c t="str"><v>_x0041_</v></c>', CellKind.VALUE, "A"),
        ('<c t="e"><v>#REF!</v></c>', CellKind.ERROR, "#REF!"),
        ("<c><f>1+1</f><v>2</v></c>", CellKind.FORMULA, "2"),
        ('<c t="d"><v>2027-03-01</v></c>', CellKind.VALUE, "2027-03-01"),
        ('<c s="1"><v>46447</v></c>', CellKind.VALUE, "2027-03-01"),
        ('<c s="1"><v>99999999999</v></c>', CellKind.ERROR, "#VALUE!"),
    ],
)
def test_a_cell_is_what_it_says(cell: str, kind: CellKind, text: str) -> None:
    strings = (
        "<sst><si><t>one</t></si><si><r><t>two </t></r><r><t>parts</t></r><rPh><t>no</t></rPh></si></sst>"
    )
    styles = '<styleSheet><cellXfs><xf numFmtId="0"/><xf numFmtId="14"/></cellXfs></styleSheet>'
    rows = f'<row r="3"><c r="B3"/>{cell}</row>'
    (found,) = sheet_cells(one_sheet(rows, sharedStrings=strings, styles=styles), "Prices")
    assert found == (3, 3, kind, text)


def test_cells_of_a_library_s_workbook() -> None:
    book, out = Workbook(), io.BytesIO()
    sheet = book.active
    assert sheet is not None
    sheet.append(["a", 1, 2.5, True, None, date(2027, 3, 1), datetime(2027, 3, 1, 12, 30), "=1"])
    book.save(out)
    cells = sheet_cells(zipfile.ZipFile(out), "Prices")
    assert [c.text for c in cells[:-1]] == ["a", "1", "2.5", "yes", "2027-03-01", "2027-03-01 12:30:00"]
    assert [c.column for c in cells] == [1, 2, 3, 4, 6, 7, 8] and cells[-1].kind is CellKind.FORMULA


def test_rows_that_hold_nothing_do_not_count() -> None:
    """Spreadsheets keep the look of rows that were never filled."""
    rows = '<row r="1"><c r="A1"><v>1</v></c></row><row r="1048576"><c r="A1048576" s="1"/></row>'
    assert [c.row for c in sheet_cells(one_sheet(rows), "Prices")] == [1]


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        ('<row r="2"/><row r="2"/>', "rows are out of order"),
        ('<row r="2"><c r="B2"/><c r="A2"/></row>', "cells of row 2 are out of order"),
        ('<row><c t="s"><v>9</v></c></row>', "a text that is not there"),
        ("<row><c><v>nan</v></c></row>", "a number that is none"),
        ("<row><c>", "mismatched tag"),
    ],
)
def test_what_does_not_hold_together_is_told(rows: str, told: str) -> None:
    with pytest.raises(UnreadableWorkbook, match=told):
        sheet_cells(one_sheet(rows), "Prices")


def test_other_ways_of_packing_are_no_workbook() -> None:
    """Of these, a piece of 4 KB can unpack to any size at once."""
    with pytest.raises(UnreadableWorkbook, match="packed in a way"):
        sheet_cells(archive_of({"xl/workbook.xml": _BOOK}, zipfile.ZIP_BZIP2), "Prices")


def test_an_external_link_is_told_by_its_kind_whatever_it_is_called() -> None:
    with pytest.raises(UnreadableWorkbook, match="linked to another workbook"):
        sheet_cells(one_sheet("", externalLink="<x/>"), "Prices")


def test_bytes_are_counted_while_they_are_read(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("estimator.store.workbook._MOST_BYTES", 300)
    with pytest.raises(UnreadableWorkbook, match="unpacks to more than"):
        sheet_cells(one_sheet("<row/>" * 100), "Prices")


def test_a_mark_of_a_sheet_takes_few_calls() -> None:
    """1.6 million marks of nothing took 2.0 to 2.9 s: 10 calls for each, and 7 now (counted); so many are refused."""

    def calls(number: int) -> int:
        archive = one_sheet("<a/>" * number)
        return calls_of(lambda: sheet_cells(archive, "Prices"))

    assert calls(4_000) - calls(2_000) < 8 * 2_000
    with pytest.raises(UnreadableWorkbook, match="far more marks"):
        sheet_cells(one_sheet("<a/>" * 1_310_000), "Prices")


def test_a_full_price_book_has_not_too_many_marks() -> None:
    """As a spreadsheet saves it: fourteen cells a row, each with its place, style and kind (from memory)."""
    cells = "".join(f'<c r="{column_letters(i)}9" s="1" t="str"><v>x</v></c>' for i in range(1, 15))
    row = f'<row spans="1:14" x="1" ht="12.5" customHeight="1">{cells}</row>'
    assert len(sheet_cells(one_sheet(row * 20_000), "Prices")) == 14 * 20_000
