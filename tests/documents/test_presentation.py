"""What of the price is shown: read back from the paper alone, it adds up in every way of showing it."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from estimator.acts.issue import issue
from estimator.acts.options import with_option
from estimator.cli import main
from estimator.documents.quote import write_quote, write_revision
from estimator.model.choices import HoseKind
from estimator.model.edit import with_value
from estimator.model.issued import kept_paper
from estimator.model.presentation import TotalsBy
from estimator.store.jobs import load_job, save_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import study
from tests.documents.studies import DAY, made, pages_of, raw, text_of

ALLOWANCE = "Allowance for the unforeseen"
OLD = Path(__file__).parents[1] / "store" / "format_2" / "gannet-quay.baydrop"


def _text(**presentation: Any) -> str:
    job = raw()
    job["presentation"] |= presentation
    return text_of(write_quote(replace(made(job), on=DAY)))


def _amounts(pattern: str, text: str) -> list[Decimal]:
    return [Decimal(m.replace(",", "")) for m in re.findall(pattern, text)]


def _items(text: str) -> str:
    return text[
        text.index("Items and prices", text.index("What each bay side gets")) : text.index("Sum of items")
    ]


def _priced(text: str) -> str:
    """All but the words on the allowance of the tubes, which is one of length."""
    assert "allowance for bends and cuts" in text
    return re.sub("allowance for bends and cuts|Tube allowance", "", text)


def _sum_of_items(text: str) -> Decimal:
    return _amounts(r"Sum of items \$([\d.,]+\d)", text)[0]


def test_without_unit_prices_there_is_no_column_of_them() -> None:
    text = _text(unit_prices=False)
    assert "Unit price" not in text and "unit price" not in text
    rows = _amounts(r"(?:each|m|set|sum) \$([\d.,]+\d)", _items(text))
    assert len(rows) > 20 and sum(rows) == _sum_of_items(text)
    assert "Quantity Unit Unit price Price" in _text()


@pytest.mark.parametrize("fold", [False, True])
@pytest.mark.parametrize("by", list(TotalsBy))
def test_rows_and_totals_come_to_the_same_sum(by: TotalsBy, fold: bool) -> None:
    text = _text(totals_by=by.value, fold_allowance=fold)
    part = _items(text)
    heads = part[: part.index("All amounts are in")]
    rows = _amounts(r"\$[\d.,]+ \$([\d.,]+\d)", heads)
    assert sum(rows) == _sum_of_items(text)
    if by is TotalsBy.SECTION:
        assert sum(_amounts(r"subtotal \$([\d.,]+\d)", part)) == _sum_of_items(text)
        assert "Shared by all" not in text
    else:
        table = part[part.index(f"Items by {by.label.lower()}") :]
        assert "subtotal" not in part and "Shared by all $" in table
        *groups, whole = _amounts(r"\$([\d.,]+\d)", table)
        assert sum(groups) == whole == _sum_of_items(text)
        assert len(groups) == 7


def test_a_folded_allowance_has_no_row_and_the_total_stays() -> None:
    plain, text = _text(), _text(fold_allowance=True)
    assert ALLOWANCE in plain
    assert "llowance" not in _priced(text)
    total = r"Total to pay \$([\d.,]+\d)"
    assert _amounts(total, text) == _amounts(total, plain)
    allowance = _amounts(rf"{ALLOWANCE} \(5 %\) \$([\d.,]+\d)", plain.replace("\xa0", " "))[0]
    assert _sum_of_items(text) == _sum_of_items(plain) + allowance
    taxed = sum(_amounts(r"Taxable part of these \$([\d.,]+\d)", text))
    assert [taxed] == _amounts(r"Taxable of it: \$([\d.,]+\d) of the items", text)


def test_options_and_changes_of_a_folded_quote_say_nothing_of_an_allowance() -> None:
    job = made(raw()).job
    book = shipped_price_book()
    first = study(job, book, DAY)
    job = issue(first, "First", partial(write_revision, first))
    job = with_value(job, ("presentation", "fold_allowance"), True)
    job = with_value(job, ("design", "drops", 0, "hose"), HoseKind.STRAIGHT)
    job, _ = with_option(
        job, "Fewer", with_value(job.design, ("drops",), job.design.drops[:-1]), offered=True
    )
    pdf = write_quote(study(job, book, DAY))
    assert "llowance" not in _priced(text_of(pdf))
    page = next(p for p in pages_of(pdf) if "What it does to the price" in p)
    # Like is held against like: but for the hose no row moved by more than the cent of a share.
    table = page[page.index("Item Quantity Before Now Change") :]
    changes = [
        Decimal(m.replace(",", "").replace("$", ""))
        for m in re.findall(r"\$[\d.,]+\d \$[\d.,]+\d ([-+]\$[\d.,]+\d)", table)
    ]
    *parts, whole = changes
    assert 2 <= len(parts) <= 6 and sum(parts) == whole
    assert "Unit prices" not in page and "Presentation" not in page


def test_how_it_looks_is_no_change_of_the_work_and_an_issued_paper_keeps_its_bytes() -> None:
    job = made(raw()).job
    book = shipped_price_book()
    whole = study(job, book, DAY)
    job = issue(whole, "First", partial(write_revision, whole))
    paper = kept_paper(job.issued[0])
    for path, value in (
        ("unit_prices", False),
        ("totals_by", TotalsBy.SIDE),
        ("fold_allowance", True),
    ):
        job = with_value(job, ("presentation", path), value)
    draft = study(job, book, date(2027, 3, 4))
    assert kept_paper(job.issued[0]) == paper
    assert "Items by bay side" in text_of(write_quote(draft)) and "Items by bay side" not in text_of(paper)
    assert "Nothing was changed." in text_of(write_quote(draft))


def test_the_command_line_prints_it_as_the_desk_does(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("BAYDROP_HOME", str(tmp_path / "home"))
    job = tmp_path / "job.baydrop"
    save_job(job, made(raw()).job)
    sets = ("unit_prices=no", "totals_by=Bay side", "fold_allowance=yes")
    edit = [part for text in sets for part in ("--set", f"presentation.{text}")]
    assert main(["edit", str(job), *edit, "--date", "2027-03-01"]) == 0
    pdf = tmp_path / "x-draft.pdf"
    assert main(["quote", str(job), "--pdf", str(pdf), "--date", "2027-03-01"]) == 0
    whole = load_job(job)
    assert pdf.read_bytes() == write_quote(
        study(with_value(whole, ("quote", "dated"), DAY), shipped_price_book(), DAY)
    )
    assert "Items by bay side" in text_of(pdf.read_bytes())
    assert main(["edit", str(job), "--set", "presentation.totals_by=week"]) == 2
    assert "they are section, side, product" in capsys.readouterr().err


def test_an_older_file_is_printed_as_it_was() -> None:
    shown = load_job(OLD).presentation
    assert (shown.unit_prices, shown.totals_by, shown.fold_allowance) == (True, TotalsBy.SECTION, False)
