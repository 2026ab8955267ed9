"""Price books: exact round trip, spreadsheets' ways of writing, and a row and column for every bad cell."""

from __future__ import annotations

import csv
import io
from datetime import date
from decimal import Decimal
from importlib import resources
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.model.pricebook import PriceBook, PriceEntry
from estimator.reference.catalogue import catalogue
from estimator.store import pricebooks
from estimator.store.pricebooks import (
    COLUMNS,
    PriceBookError,
    load_price_book,
    near_limits,
    price_book_from_text,
    price_book_text,
    save_price_book,
    shipped_price_book,
    user_price_book,
    user_price_book_path,
)
from tests.random_jobs import printable_text
from tests.work import calls_of

HEAD = "currency,USD\n" + ",".join(COLUMNS) + "\n"
ROW = "GUN-PL,Spray gun,Drops,each,40,46,54,yes,5,quote,2026-11-01,supplier,,no\n"


def refused(text: str) -> PriceBookError:
    with pytest.raises(PriceBookError) as caught:
        price_book_from_text(text, "x.csv")
    assert all(f.message.endswith(".") and len(f.message) < 400 for f in caught.value.findings)
    return caught.value


def with_cells(**cells: str) -> str:
    """A price book of one row with some cells replaced."""
    row = dict(zip(COLUMNS, ROW.strip().split(","), strict=True)) | cells
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerow(row.values())
    return HEAD + out.getvalue()


def test_the_shipped_book_is_saved_byte_for_byte_as_it_is_shipped(tmp_path: Path) -> None:
    shipped = resources.files("resources").joinpath("price-book.csv").read_bytes()
    path = tmp_path / "book.csv"
    save_price_book(path, shipped_price_book())
    assert path.read_bytes() == shipped
    assert load_price_book(path) == shipped_price_book()


def test_every_shipped_figure_says_where_it_comes_from() -> None:
    book = shipped_price_book()
    assert book.currency == "USD"
    for entry in book.entries:
        assert entry.source == "invented demo figure, inside common practice"
        assert entry.dated == date(2026, 11, 1)
        assert entry.description
        assert entry.group
        # Work that is labour alone has no material cost; everything else has.
        assert entry.low > 0 or (entry.high == 0 and entry.labour_minutes > 0), entry.code


def test_plant_of_a_product_costs_what_common_practice_says() -> None:
    # Common practice, no source: proportioner, covered tank and pump with what belongs to them 500 to 1,000 USD
    # supply cost a product, five products 2,500 to 5,000. Any size of the usual make, cheapest and dearest; what stands
    # solvents costs more.
    parts, book = catalogue(), shipped_price_book()

    def cost(code: str) -> tuple[Decimal, Decimal]:
        entry = book.entry(code)
        assert entry is not None, code
        return entry.low, entry.high

    fixed = [cost(parts.codes[name]) for name in ("regulator", "foot_valve", "tip_set", "suction_tube")]
    chosen = [
        [cost(p.code) for p in table if p.made_like(table[0])]
        for table in (parts.proportioners, parts.tanks, parts.pumps)
    ]
    lowest = sum((low for low, _ in fixed), Decimal(0)) + sum(min(low for low, _ in t) for t in chosen)
    highest = sum((high for _, high in fixed), Decimal(0)) + sum(max(high for _, high in t) for t in chosen)
    assert 500 <= lowest < highest <= 1000
    assert 2500 <= 5 * lowest < 5 * highest <= 5000


ENTRIES = st.builds(
    lambda code, texts, costs, taxable, minutes, dated: PriceEntry(
        code=code,
        description=texts[0],
        group=texts[1],
        unit=texts[2],
        low=costs[0],
        likely=costs[1],
        high=costs[2],
        taxable=taxable,
        labour_minutes=minutes,
        source=texts[3],
        dated=dated,
        correlation=texts[4],
    ),
    st.from_regex(r"[A-Z][A-Z0-9-]{1,9}", fullmatch=True),
    st.lists(
        printable_text(120)
        | st.sampled_from(
            ["=1+1", "+1", "-1", "@x", "\tx", "'", "''=x", "'tis", ';,"', " a ", "a;=1", "a\n'=1", 'b;"=1']
        ),
        min_size=5,
        max_size=5,
    ),
    st.lists(st.decimals(0, 10_000_000, places=4), min_size=3, max_size=3).map(sorted),
    st.booleans(),
    st.decimals(0, 100_000, places=3),
    st.none() | st.dates(),
)
BOOKS = st.builds(
    lambda currency, entries: PriceBook(currency=currency, entries=tuple(entries)),
    st.sampled_from(["USD", "EUR", "JPY", "KWD"]),
    st.lists(ENTRIES, max_size=5, unique_by=lambda e: e.code),
)


@settings(deadline=None)
@given(BOOKS)
def test_a_saved_book_is_the_same_book(book: PriceBook) -> None:
    text = price_book_text(book)
    assert price_book_from_text(text, "x") == book
    assert price_book_text(price_book_from_text(text, "x")) == text


@settings(deadline=None)
@given(BOOKS)
def test_no_cell_starts_like_a_formula(book: PriceBook) -> None:
    for row in csv.reader(io.StringIO(price_book_text(book), newline="")):
        assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r")) for cell in row)


def test_a_formula_is_text_there_and_back() -> None:
    book = price_book_from_text(with_cells(description="=1+1"), "x")
    assert book.entries[0].description == "=1+1"
    assert "'=1+1" in price_book_text(book)


@pytest.mark.parametrize(
    "text",
    [
        HEAD + ROW,
        (HEAD + ROW).replace("\n", "\r\n"),
        "currency,USD" + "," * 10 + "\n" + ",".join(COLUMNS) + "\n" + ROW + "," * 11 + "\n\n",
        (HEAD + ROW).replace(",", ";"),
        (HEAD + ROW).replace(",", ";").replace("40;46;54", "40,0;46,00;54"),
        HEAD + ROW.replace("40,46,54", '"40,00",46.0,054'),
        HEAD + ROW.replace("yes", "TRUE"),
        HEAD + ROW.replace("GUN-PL", " GUN-PL ").replace(",40,", ", 40 ,"),
        "\n".join(line + ",,," for line in (HEAD + ROW).splitlines()),
        '"currency","USD"\n' + (HEAD + ROW).partition("\n")[2],
        "Currency,USD\n" + ",".join(c.upper() for c in COLUMNS) + "\n" + ROW,
    ],
)
def test_ways_in_which_spreadsheets_write_the_same(text: str) -> None:
    assert price_book_from_text(text, "x") == price_book_from_text(HEAD + ROW, "x")


def test_columns_may_stand_in_any_order() -> None:
    order = (*COLUMNS[3:], *COLUMNS[:3])
    cells = ROW.strip().split(",")
    text = "currency,USD\n" + ",".join(order) + "\n" + ",".join([*cells[3:], *cells[:3]]) + "\n"
    assert price_book_from_text(text, "x") == price_book_from_text(HEAD + ROW, "x")


def test_a_column_that_older_books_lack_may_be_absent() -> None:
    text = (HEAD + ROW).replace(",tax,demo\n", "\n").replace("supplier,,no\n", "supplier\n")
    assert price_book_from_text(text, "x") == price_book_from_text(HEAD + ROW, "x")


@pytest.mark.parametrize(
    ("source", "demo"),
    [("invented demo figure, inside common practice", True), ("Demo Tools list", False), ("invented", False)],
)
def test_a_book_from_before_the_mark_tells_demo_data_by_the_demo_book_s_own_source(
    source: str, demo: bool
) -> None:
    cells = ROW.strip().removesuffix(",no").replace("quote", f'"{source}"')
    text = HEAD.replace(",demo\n", "\n") + cells + "\n"
    (entry,) = price_book_from_text(text, "x").entries
    assert entry.demo is demo
    (typed,) = price_book_from_text(HEAD + cells + ",\n", "x").entries
    assert typed.demo is False


def test_with_and_without_byte_order_mark(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_bytes((HEAD + ROW).encode("utf-8-sig"))
    (tmp_path / "b.csv").write_bytes((HEAD + ROW).encode("utf-8"))
    assert load_price_book(tmp_path / "a.csv") == load_price_book(tmp_path / "b.csv")


@pytest.mark.parametrize(
    ("column", "cell", "told"),
    [
        ("likely", "1,234", "can be read two ways"),
        ("likely", "1.234,50", "is not a number"),
        ("likely", "1 234", "is not a number"),
        ("likely", "abc", "is not a number"),
        ("likely", "", "a number is missing"),
        ("likely", "-46", "is not a number from 0 up"),
        ("likely", "nan", "is not a number"),
        ("likely", "Infinity", "is not a number"),
        ("likely", "1e3", "is not a number"),
        ("likely", "=40+6", "is not a number"),
        ("likely", "$46", "is not a number"),
        ("likely", "46.12345", "too many decimals"),
        ("high", "9" * 12, "too large"),
        ("high", "10000001", "at most"),
        ("labour_minutes", "100001", "at most 100000"),
        ("taxable", "maybe", "neither yes nor no"),
        ("taxable", "", "neither yes nor no"),
        ("dated", "01.11.2026", "is not a date"),
        ("dated", "2026-02-30", "is not a date"),
        ("code", "gun pl", "Only capital letters"),
        ("code", "", "must not be empty"),
        ("description", "x" * 300, "120 characters at most"),
        ("source", "a\x07", "control character"),
    ],
)
def test_a_bad_cell_is_told_by_row_and_column(column: str, cell: str, told: str) -> None:
    (finding,) = refused(with_cells(**{column: cell})).findings
    assert finding.place == f"row 3, column {column}"
    assert finding.message.startswith(f"row 3, column {column}: ")
    assert told in finding.message


def test_low_above_high_is_told() -> None:
    (finding,) = refused(with_cells(low="60")).findings
    assert finding.message.startswith("row 3, column low, likely, high: ")
    assert "low ≤ likely ≤ high" in finding.message


def test_a_point_is_in_doubt_where_the_file_writes_commas() -> None:
    head = HEAD.replace(",", ";")
    rows = "GUN-PL;a;b;each;1.000;1,5;2000;yes;5;q;;\n"
    assert "can be read two ways" in str(refused(head + rows))
    assert price_book_from_text(head + rows.replace("1,5", "1.5"), "x").entries[0].low == Decimal("1.000")


def test_a_comma_in_a_description_puts_no_number_in_doubt() -> None:
    text = with_cells(description="1,5", low="1.234")
    assert price_book_from_text(text, "x").entries[0].low == Decimal("1.234")


def test_every_bad_cell_is_told_and_nothing_is_half_loaded() -> None:
    text = (
        HEAD
        + ROW
        + ROW.replace("46", "x").replace("yes", "y")
        + ROW.replace("GUN-PL", "GUN-MT").replace("40", "")
    )
    places = [f.place for f in refused(text).findings]
    assert places == ["row 4, column likely", "row 4, column taxable", "row 5, column low"]


def test_a_doubled_code_is_told_with_both_rows() -> None:
    (finding,) = refused(HEAD + ROW + ROW).findings
    assert finding.message == "row 4, column code: “GUN-PL” stands in row 3 too; codes must differ."


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "is empty"),
        ("\n\n", "is empty"),
        ('{"format": 1}', "is not a price book"),
        ("currency\tUSD\n", "is not a price book"),
        ("code,description\n", "is not a price book"),
        ("currency,usd\n" + HEAD.partition("\n")[2], "row 1, column 2"),
        ("currency,\n" + HEAD.partition("\n")[2], "row 1, column 2"),
        ("currency,USD,EUR\n" + HEAD.partition("\n")[2], "row 1, column 2"),
        ("currency,USD\n", "there is no column “code”"),
        (HEAD.replace("likely", "probable") + ROW, "the column “probable” is not known"),
        (HEAD.replace("likely", "low") + ROW, "the column “low” stands twice"),
        (HEAD + ROW.replace("Spray gun", "Spray, gun"), "the row has 15 cells, the names in row 2 are 14"),
        (HEAD + '"GUN', "row 3 (line 3) is not readable as CSV"),
        (HEAD + '"a"b,\n', "is not readable as CSV"),
        (HEAD + "x" * 200_000, "is not readable as CSV"),
        (HEAD + "\n" * 20_001, "more than 20002 rows"),
        (HEAD + "a\n" * 5_000, "more problems"),
    ],
)
def test_what_is_no_price_book_is_told(text: str, told: str) -> None:
    assert told in str(refused(text))


def test_files_that_are_none(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes("currency,USD\nprix élevé".encode("cp1252"))
    with pytest.raises(PriceBookError, match="not UTF-8 text"):
        load_price_book(path)
    with path.open("wb") as file:
        file.truncate(5_000_001)
    with pytest.raises(PriceBookError, match="larger than 5 MB"):
        load_price_book(path)
    with pytest.raises(PriceBookError, match="There is no file"):
        load_price_book(tmp_path / "none.csv")


@settings(deadline=None, max_examples=200)
@given(
    st.text(max_size=200)
    | st.text(max_size=60).map(lambda t: HEAD + t)
    | st.text(max_size=9).map(lambda t: HEAD + ROW.replace("46", t))
)
def test_any_text_is_a_price_book_or_a_message(text: str) -> None:
    try:
        book = price_book_from_text(text, "x")
    except PriceBookError as error:
        assert str(error)
    else:
        assert price_book_from_text(price_book_text(book), "x") == book


def test_a_failed_save_leaves_the_file(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    save_price_book(path, shipped_price_book())
    before = path.read_bytes()
    wrong = shipped_price_book().entries[0].model_copy(update={"low": Decimal(10**6)})
    with pytest.raises(PriceBookError, match="low ≤ likely ≤ high"):
        save_price_book(path, PriceBook.model_construct(currency="USD", entries=(wrong,)))
    assert path.read_bytes() == before
    with pytest.raises(PriceBookError, match="cannot be written"):
        save_price_book(tmp_path / "no folder" / "a.csv", shipped_price_book())


def test_the_shipped_book_is_copied_once_to_the_user_s_folder(home: Path) -> None:
    assert not home.exists()
    assert user_price_book() == shipped_price_book()
    assert user_price_book_path().parent == home
    own = PriceBook(currency="EUR", entries=shipped_price_book().entries[:2])
    save_price_book(user_price_book_path(), own)
    assert user_price_book() == own


def test_a_broken_book_of_the_user_s_is_told_and_left_alone(home: Path) -> None:
    user_price_book()
    user_price_book_path().write_text("broken", encoding="utf-8")
    with pytest.raises(PriceBookError, match="is not a price book"):
        user_price_book()
    assert user_price_book_path().read_text(encoding="utf-8") == "broken"


def test_a_folder_that_cannot_be_made_is_told(home: Path) -> None:
    home.parent.mkdir(parents=True)
    home.write_text("a file stands here", encoding="utf-8")
    with pytest.raises(PriceBookError, match="cannot be made"):
        user_price_book()


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize(
    "text",
    [
        "=1+1",
        "bay;=1+1",
        'bay;"=1+1"',
        "bay\n@SUM(A1)",
        "bay; +1",
        "bay\t-1",
        "a;'=1",
        "\uff1d1+1",
        "a;\uff1d1",
    ],
)
def test_no_separator_makes_a_formula_of_a_text(text: str, delimiter: str) -> None:
    """A spreadsheet set to another separator cuts a text in two; the second half was a formula."""
    entry = PriceEntry(code="GUN-1", description=text, source=text)
    written = price_book_text(PriceBook(entries=(entry,)))
    # As a spreadsheet reads it: lenient with quotation marks.
    rows = list(csv.reader(io.StringIO(written, newline=""), delimiter=delimiter, strict=False))
    begins = [cell.strip()[:1] for row in rows for cell in row]
    assert not set(begins) & set("=+-@\uff1d"), rows
    assert price_book_from_text(written, "x").entries == (entry,)


def test_a_row_takes_few_calls_to_read() -> None:
    """A book of 19,990 rows took 2.6 s: 159 calls a row, and 94 now (counted); what reads a column was chosen anew for
    each cell."""

    def calls(number: int) -> int:
        entries = tuple(PriceEntry(code=f"A-{i}", description="x") for i in range(number))
        text = price_book_text(PriceBook(currency="USD", entries=entries))
        return calls_of(lambda: price_book_from_text(text, "x"))

    assert calls(400) - calls(200) < 105 * 200


def _book_of(number: int) -> PriceBook:
    """Texts of 120 letters of two bytes each in three columns: 0.8 KB a row."""
    words = "\u00e4" * 120
    entries = tuple(
        PriceEntry(code=f"A-{i}", description=words, group=words, source=words) for i in range(number)
    )
    return PriceBook(currency="USD", entries=entries)


def test_the_limit_of_saving_is_that_of_reading(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A book of more than 5 MB was saved and could never be opened again."""
    path = tmp_path / "book.csv"
    book = _book_of(3)
    size = len(price_book_text(book).encode("utf-8-sig"))
    monkeypatch.setattr(pricebooks, "MOST_BYTES", size)
    save_price_book(path, book)
    assert load_price_book(path) == book
    before = path.read_bytes()
    monkeypatch.setattr(pricebooks, "MOST_BYTES", size - 1)
    with pytest.raises(PriceBookError, match="could not be opened again"):
        save_price_book(path, book)
    assert path.read_bytes() == before


def test_a_book_near_its_limits_is_warned_of() -> None:
    assert near_limits(_book_of(10)) == ""
    assert "of 5 MB" in near_limits(_book_of(6_000))
    few = tuple(PriceEntry(code=f"A-{i}", description="x") for i in range(17_000))
    assert "17000 of 20000 entries" in near_limits(PriceBook(currency="USD", entries=few))
