"""Coils, strut and packs: what is bought covers what is needed, whole, at least cost."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from estimator.layout.plan import lay_out
from estimator.model.finding import Severity
from estimator.model.pricebook import PriceBook, PriceEntry
from estimator.reference.catalogue import catalogue
from estimator.reference.stock import (
    BarStock,
    CoilStock,
    LengthSize,
    PackSize,
    PackStock,
    StockBook,
    stock_book,
)
from estimator.takeoff.buying import AmountRange, BoughtRow, Pack, buy
from estimator.takeoff.coils import Length, plan_lengths
from estimator.takeoff.cutting import CuttingError
from estimator.takeoff.rows import take_off
from estimator.takeoff.types import RowFor, Section, TakeoffRow
from tests.layout.examples import gannet_quay, harrow_mill
from tests.reference.price_codes import price_codes

D = Decimal


def entry(code: str, low: str, likely: str, high: str, unit: str = "m") -> PriceEntry:
    return PriceEntry(code=code, description=code, unit=unit, low=D(low), likely=D(likely), high=D(high))


BOOK = PriceBook(
    entries=(
        entry("TUB-08", "0.80", "1.00", "1.40"),
        entry("STR-00", "5", "7", "9"),
        entry("CLP-00", "0.20", "0.40", "0.50", "each"),
    )
)
STOCK = StockBook(
    coils=(
        CoilStock(
            codes=("TUB-08",),
            sizes=(
                LengthSize(length_m=25, price_factor=D("1.15")),
                LengthSize(length_m=50, price_factor=D("1.05")),
                LengthSize(length_m=100),
            ),
        ),
    ),
    bars=(
        BarStock(
            codes=("STR-00",),
            kerf_mm=3,
            sizes=(LengthSize(length_m=3, price_factor=D("1.1")), LengthSize(length_m=6)),
        ),
    ),
    packs=(
        PackStock(codes=("CLP-00",), sizes=(PackSize(count=10, price_factor=D("1.2")), PackSize(count=50))),
    ),
)


def tube(line: str, *pieces: float) -> TakeoffRow:
    objects = tuple(f"{line}/{i}" for i in range(len(pieces)))
    return TakeoffRow("TUB-08", Section.LINES, math.fsum(pieces), 0.0, objects, pieces, RowFor(service=line))


def strut(*pieces: float) -> TakeoffRow:
    return TakeoffRow("STR-00", Section.MOUNTING, math.fsum(pieces), 0.0, ("board",), pieces)


def clips(number: float) -> TakeoffRow:
    return TakeoffRow("CLP-00", Section.LINES, number, 0.0, ("a/1",))


def only(row: TakeoffRow) -> BoughtRow:
    rows, findings = buy([row], STOCK, BOOK)
    assert findings == ()
    assert len(rows) == 1
    return rows[0]


def test_cheapest_coils_for_637_ft() -> None:
    """Coils of 100, 250, 500 ft at 38, 85, 150: 500 + 100 + 100 = 226 for 700 ft (computed over all sets)."""
    sizes = [Length(100, D(38)), Length(250, D(85)), Length(500, D(150))]
    plan = plan_lengths([100.0] * 6 + [37.0], sizes)
    assert plan.cost == 226
    assert plan.counts() == {500: 1, 100: 2}
    assert (plan.needed_m, plan.bought_m, plan.proved) == (637, 700, True)


def test_coils_by_hand() -> None:
    """42 m in 18 + 15 + 9: one coil of 50 at 52.50, not two of 25 at 57.50."""
    row = only(tube("wax", 18.0, 15.0, 9.0))
    assert row.packs == (Pack(50, 1),)
    assert (row.needed, row.bought, row.offcut) == (42, 50, 8)
    assert row.cost == AmountRange(D("42.00"), D("52.50"), D("73.50"))
    assert row.needed_cost == AmountRange(D("33.60"), D("42.00"), D("58.80"))
    assert row.extra == AmountRange(D("8.40"), D("10.50"), D("14.70"))
    assert list(row.cuts) == [(50.0, (18.0, 15.0, 9.0))]
    assert row.proved
    assert row.priced


def test_no_splice_needs_a_second_coil() -> None:
    """Three runs of 20 m are 60 m, and 75 m in coils of 25 would hold them; 50 + 25 does, 50 alone not."""
    row = only(tube("wax", 20.0, 20.0, 20.0))
    assert row.packs == (Pack(50, 1), Pack(25, 1))
    assert sorted(len(pieces) for _, pieces in row.cuts) == [1, 2]


def test_each_line_has_its_own_colour_unless_told_otherwise() -> None:
    rows = [tube("wax", 10.0), tube("foam", 12.0)]
    apart, _ = buy(rows, STOCK, BOOK)
    assert [(r.services, r.bought) for r in apart] == [(("wax",), 25), (("foam",), 25)]
    shared, _ = buy(rows, STOCK, BOOK, {"wax": "blue", "foam": "blue"})
    (row,) = shared
    assert (row.colour, row.services, row.needed, row.bought) == ("blue", ("wax", "foam"), 22, 25)


def test_run_longer_than_the_longest_coil_is_a_finding() -> None:
    rows, findings = buy([tube("wax", 12.0, 104.5)], STOCK, BOOK)
    assert [r.needed for r in rows] == [12]
    (finding,) = findings
    assert finding.severity is Severity.ERROR
    assert finding.place == "wax/1"
    assert finding.rule == "longer-than-stock"
    assert "104.5 m" in finding.message
    assert "100 m" in finding.message
    assert "not spliced" in finding.message
    alone, told = buy([tube("wax", 100.001)], STOCK, BOOK)
    assert alone == ()
    assert len(told) == 1
    assert buy([tube("wax", 100.0)], STOCK, BOOK)[1] == ()


def test_strut_with_kerf() -> None:
    """Two of 1.5 m do not come out of 3 m with a saw cut of 3 mm: 6 m at 42.00, not 2 x 3 m at 46.20."""
    assert only(strut(1.5, 1.5)).packs == (Pack(6, 1),)
    row = only(strut(1.498, 1.499))
    assert row.packs == (Pack(3, 1),)
    assert row.cost.likely == D("23.10")
    assert row.offcut == pytest.approx(0.003)


def test_packs() -> None:
    """61 clips: 50 + 2 x 10 at 20.00 + 2 x 4.80 = 29.60, not 2 x 50 at 40.00."""
    row = only(clips(61.0))
    assert row.packs == (Pack(50, 1), Pack(10, 2))
    assert (row.needed, row.bought, row.offcut) == (61, 70, 9)
    assert row.cost.likely == D("29.60")
    assert row.extra.likely == D("29.60") - D("24.40")
    # 41 clips: 5 x 4.80 = 24.00 is dearer than a pack of 50 at 20.00.
    assert only(clips(41.0)).packs == (Pack(50, 1),)
    many = only(clips(100_003.0))
    assert many.packs == (Pack(50, 2000), Pack(10, 1))


def test_what_exists_is_not_bought() -> None:
    assert buy([clips(0.0), strut()], STOCK, BOOK) == ((), ())


def test_a_code_without_a_price_is_bought_by_content() -> None:
    rows, _ = buy([tube("wax", 18.0, 9.0)], STOCK, PriceBook())
    assert rows[0].packs == (Pack(50, 1),)
    assert not rows[0].priced
    assert rows[0].cost == AmountRange(D(0), D(0), D(0))
    assert "no cost for TUB-08" in rows[0].note


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.floats(0.05, 100.0), max_size=15),
    st.lists(st.floats(0.05, 6.0), max_size=15),
    st.integers(0, 300),
)
def test_bought_covers_needed(runs: list[float], rails: list[float], number: int) -> None:
    rows, findings = buy([tube("wax", *runs), strut(*rails), clips(float(number))], STOCK, BOOK)
    assert findings == ()
    wanted = {"TUB-08": math.fsum(runs), "STR-00": math.fsum(rails), "CLP-00": float(number)}
    assert {row.code for row in rows} == {code for code, quantity in wanted.items() if quantity}
    for row in rows:
        assert row.needed == pytest.approx(wanted[row.code], abs=0.001 * 16)
        assert row.bought >= row.needed - 1e-9
        assert row.bought == pytest.approx(math.fsum(p.size * p.count for p in row.packs))
        assert row.extra.low >= 0
        assert row.extra.low + row.needed_cost.low == row.cost.low
        assert row.cost.low <= row.cost.likely <= row.cost.high
        for length, pieces in row.cuts:
            assert math.fsum(pieces) <= length + 1e-9


def test_the_example_jobs_can_be_bought() -> None:
    """Both invented jobs: everything stocked is covered, nothing is too long."""
    for job in (gannet_quay(), harrow_mill()):
        parts = catalogue()
        rows, _ = take_off(job.design, lay_out(job.site, job.design, parts)[0], parts)
        bought, findings = buy(rows, stock_book(), BOOK)
        assert findings == ()
        for code in {row.code for row in rows if row.pieces_m and stock_book().coils_of(row.code)}:
            needed = math.fsum(row.quantity for row in rows if row.code == code)
            mine = [row for row in bought if row.code == code]
            assert math.fsum(row.needed for row in mine) == pytest.approx(needed, abs=0.05)
            assert math.fsum(row.bought for row in mine) >= needed - 0.001


def test_shipped_stock_is_of_the_catalogue_and_says_it_is_invented() -> None:
    shipped = stock_book()
    codes = {c for s in (*shipped.coils, *shipped.bars) for c in s.codes} | {
        c for p in shipped.packs for c in p.codes
    }
    assert codes <= price_codes(catalogue())
    assert "invented" in shipped.note
    assert shipped.bars_of("STR-00") is not None
    assert shipped.coils_of("STR-00") is None
    assert shipped.packs_of("nothing") is None


def test_stock_that_cannot_be() -> None:
    with pytest.raises(ValidationError, match="A: stands twice"):
        StockBook(
            coils=(CoilStock(codes=("A",), sizes=(LengthSize(length_m=1),)),),
            packs=(PackStock(codes=("A",), sizes=(PackSize(count=1),)),),
        )
    with pytest.raises(ValidationError, match="length_m"):
        LengthSize(length_m=0)
    with pytest.raises(ValidationError, match="price_factor"):
        LengthSize(length_m=1, price_factor=D(-1))
    with pytest.raises(ValidationError, match="sizes"):
        CoilStock(codes=("A",), sizes=())


@pytest.mark.parametrize("piece", [0.0, -1.0, float("nan"), float("inf")])
def test_pieces_that_cannot_be(piece: float) -> None:
    with pytest.raises(CuttingError, match="a length must be a number above 0 m"):
        plan_lengths([piece], [Length(10, D(1))])


def test_sizes_that_cannot_be() -> None:
    with pytest.raises(CuttingError, match="there is none"):
        plan_lengths([1.0], [])
    with pytest.raises(CuttingError, match="both must be above 0"):
        plan_lengths([1.0], [Length(10, D(0))])


def test_a_piece_in_feet_that_fills_a_coil_in_feet_fits() -> None:
    """82 ft are 24.9936 m (0.3048 m a foot, exact): to the millimetre above it would not fit into a coil of itself."""
    foot = 0.3048
    sizes = [Length(82 * foot, D(30)), Length(164.21 * foot, D(55))]
    whole = plan_lengths([82 * foot], sizes)
    assert (whole.cost, whole.too_long, whole.complete) == (D(30), (), True)
    # Five of 16.4 ft fill it, and ten of 16.421 ft the longer one.
    assert plan_lengths([16.4 * foot] * 5, sizes).cost == D(30)
    assert plan_lengths([16.421 * foot] * 10, sizes).cost == D(55)
    assert plan_lengths([82.001 * foot], sizes).cost == D(55)
    # Sixteenths of an inch, 1.5875 mm each: two of 41 are 82.
    sixteenth = 0.0254 / 16
    pair = plan_lengths([41 * sixteenth] * 2, [Length(82 * sixteenth, D(1))])
    assert pair.counts() == {82 * sixteenth: 1}


def test_what_is_longer_by_a_hair_does_not_fit() -> None:
    plan = plan_lengths([25.000001], [Length(25.0, D(30))])
    assert [piece.index for piece in plan.too_long] == [0]
