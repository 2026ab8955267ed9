"""What comes out of the board, told to whoever signs: the figures of the proof, and how they stand."""

from __future__ import annotations

import pytest

from estimator.documents.quote import write_quote
from estimator.model.edit import with_value
from estimator.model.job import Job
from estimator.shown.figures import figures_of
from estimator.shown.mixtures import board_table, mixture_lines, ratio, stands
from estimator.shown.standing import Standing
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Study, study
from tests.days import STUDIED
from tests.documents.studies import text_of
from tests.layout.examples import gannet_quay, harrow_mill

BUSY = ("site", "use", "vehicles_per_hour")
FLOW = ("site", "water", "flow")
STATIC = ("site", "water", "static_pressure")
COMMON = ("design", "common")
STREET = (((*COMMON, "backflow"), "backflow-device"), ((*COMMON, "booster"), "no-booster"))
"""The example without its break tank: its board stands under the pressure of the street."""


def made(*edits: tuple[tuple[str, ...], object], job: Job | None = None) -> Study:
    changed = gannet_quay() if job is None else job
    for path, value in edits:
        changed = with_value(changed, path, value)
    return study(changed, shipped_price_book(), STUDIED)


def test_each_product_has_a_row_with_the_figures_of_the_proof() -> None:
    of = made((BUSY, 60.0))
    board = of.proof.board
    assert board is not None and board.at_once > 1
    table, figures = board_table(of), figures_of(of.job)
    keys = [column.key for column in table.columns]
    assert keys == ["product", "wanted", "alone", "busy", "first", "verdict"]
    for row, shared in zip(table.rows, board.products, strict=True):
        for key, case in (("alone", shared.alone), ("busy", shared.busy), ("first", shared.first)):
            assert case.dilution is not None
            assert row.cells[keys.index(key)].text.startswith(f"{ratio(case.dilution, figures)}, ")


def test_the_busy_hour_has_no_column_where_one_tank_fills() -> None:
    assert "busy" not in [column.key for column in board_table(made()).columns]


def test_a_mixture_that_misses_is_told_with_the_moment_it_does() -> None:
    of = made(*STREET, (STATIC, "4.4 bar"))
    rows = {row.key: row.cells[-1] for row in board_table(of).rows}
    assert rows["sanitiser"].standing is Standing.SHORT
    assert rows["sanitiser"].words == "leaner than its range with all filling"
    (line,) = (text for text in mixture_lines(of) if "sanitiser" in text)
    assert line.endswith("leaner than its range.") and "with all filling about" in line
    assert "still inside" not in line


def test_what_is_not_known_has_no_figure() -> None:
    of = made(*STREET, (FLOW, "3 L/min"))
    for text in mixture_lines(of):
        assert (
            "with all filling what comes out is not known" in text and "nan" not in text and "inf" not in text
        )
    assert all(row.cells[-1].standing is Standing.UNKNOWN for row in board_table(of).rows)


def test_no_board_no_words() -> None:
    of = made((FLOW, "0 L/min"))
    assert mixture_lines(of) == () and board_table(of).rows == ()


@pytest.mark.parametrize(
    ("given", "standing"), [(49.0, Standing.SHORT), (50.0, Standing.GOOD), (71.0, Standing.SHORT)]
)
def test_the_label_decides(given: float, standing: Standing) -> None:
    (sanitiser,) = (p for p in gannet_quay().design.products if p.id == "sanitiser")
    assert (sanitiser.label_strongest, sanitiser.label_weakest) == (50.0, 70.0)
    assert stands(given, sanitiser)[0] is standing


@pytest.mark.parametrize("job", [gannet_quay(), harrow_mill()], ids=["metric", "us"])
def test_the_customer_and_the_appendix_read_it(job: Job) -> None:
    of = made(job=job)
    text = text_of(write_quote(of))
    assert "What comes out Parts of water to one of concentrate" in text
    for line in mixture_lines(of):
        assert line in text
    assert "What each product comes out at" in text
