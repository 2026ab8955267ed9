"""Files of older formats: kept samples open, and what they say is what they said."""

from __future__ import annotations

import json
from copy import deepcopy
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from estimator.model.issued import PaperError, handed, kept_paper
from estimator.model.job import FORMAT
from estimator.model.option_designs import worked_on
from estimator.model.revisions import issue_findings, next_letter
from estimator.model.seals import fingerprint
from estimator.model.upgrades import _line_colours, upgraded
from estimator.pricing.revise import changes_between
from estimator.store.jobs import JobFileError, job_from_text, job_text, load_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import study

SAMPLES = sorted((Path(__file__).parent / "format_1").glob("*.baydrop"))
OF_FORMAT_2 = sorted((Path(__file__).parent / "format_2").glob("*.baydrop"))
OF_FORMAT_3 = sorted((Path(__file__).parent / "format_3").glob("*.baydrop"))
OF_FORMAT_4 = sorted((Path(__file__).parent / "format_4").glob("*.baydrop"))
OF_FORMAT_5 = sorted((Path(__file__).parent / "format_5").glob("*.baydrop"))
OLD = [*SAMPLES, *OF_FORMAT_2, *OF_FORMAT_3, *OF_FORMAT_4, *OF_FORMAT_5]


@pytest.mark.parametrize("path", OLD, ids=lambda p: f"{p.parent.name}-{p.stem}")
def test_a_file_of_an_older_format_opens(path: Path) -> None:
    job = load_job(path)
    assert job.format == FORMAT
    old = json.loads(path.read_text(encoding="utf-8"))
    assert [d.id for d in job.design.drops] == [d["id"] for d in old["design"]["drops"]]
    assert str(job.design.drops[0].hose_length) == old["design"]["drops"][0]["hose_length"]


@pytest.mark.parametrize("path", OLD, ids=lambda p: f"{p.parent.name}-{p.stem}")
def test_what_was_read_is_left_as_it_was(path: Path) -> None:
    data = json.loads(path.read_text(encoding="utf-8"))
    before = deepcopy(data)
    assert upgraded(data)["format"] == FORMAT
    assert data == before


def _coloured(products: list[str], option: list[str]) -> tuple[dict[str, str], dict[str, str]]:
    """Colours by product in the base design and in one option, both of format 1."""
    data = json.loads(SAMPLES[0].read_text(encoding="utf-8"))
    product = {k: v for k, v in data["design"]["products"][0].items() if k != "colour"}
    data["design"] = {"products": [{**product, "id": p} for p in products]}
    data["alternatives"] = [{"design": {"products": [{**product, "id": p} for p in option]}}]
    _line_colours(data)
    designs = (data["design"], data["alternatives"][0]["design"])
    base, other = ({p["id"]: p["colour"] for p in d["products"]} for d in designs)
    return base, other


def test_products_of_format_1_get_colours_that_differ_and_options_agree() -> None:
    base, option = _coloured(["foam", "wax", "glass"], ["new", "foam", "glass"])
    assert list(base.values()) == ["blue", "orange", "green"]
    assert {p: option[p] for p in ("foam", "glass")} == {p: base[p] for p in ("foam", "glass")}
    assert option["new"] not in ("blue", "green")


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_the_samples_have_no_two_lines_of_one_colour(path: Path) -> None:
    colours = [p.colour for p in load_job(path).design.products]
    assert len(set(colours)) == len(colours)


def test_what_is_no_product_is_left_as_it_is() -> None:
    data: dict[str, Any] = {
        "design": {"products": [3, {"id": ["a"]}, {"name": "x"}]},
        "alternatives": {"a": 1},
    }
    before = deepcopy(data)
    _line_colours(data)
    assert data == before


REVISED = Path(__file__).parent / "format_1" / "gannet-quay-revised.baydrop"


def test_revisions_of_format_1_keep_their_fingerprints_and_say_that_their_paper_is_not_in_the_file() -> None:
    """Issued by the program as it was: figures, hashes and reasons are those it wrote."""
    old = json.loads(REVISED.read_text(encoding="utf-8"))["issued"]
    job = load_job(REVISED)
    assert issue_findings(job) == ()
    assert (job.ledger.last, next_letter(job)) == ("B", "C")
    for was, issued in zip(old, job.issued, strict=True):
        assert issued.fingerprint == was["fingerprint"] == fingerprint(issued.text)
        assert issued.paper_fingerprint == was["pdf_fingerprint"]
        assert json.loads(issued.text) == {
            k: v for k, v in was.items() if k not in ("fingerprint", "pdf_fingerprint")
        }
        figures = handed(issued)
        assert (str(figures.total), figures.reason) == (was["total_likely"], was["reason"])
        with pytest.raises(
            PaperError, match="its paper is not in the file, because it was issued by an earlier"
        ):
            kept_paper(issued)
    # 1 and 9 March with 30 days (counted by hand).
    assert [handed(r).valid_until for r in job.issued] == [date(2027, 3, 31), date(2027, 4, 8)]
    assert [a.name for a in job.alternatives] == ["Metal guns", "Panels"]
    changes = changes_between(*job.issued)
    assert list(changes.words) == [
        "Drops “Bay 1 left, Alkaline foam pre-wash”, Hose: Coil → Straight.",
        "Discount: 0 % → 5 %.",
    ]
    # An option was a whole design and kept the coil hose: nothing moved in it, and it has the hose as its own now.
    for option in job.alternatives:
        assert ("drops", "1-l-prewash", "hose") in [change.place for change in option.changes]
    # 20,919.51 and 19,741.77, as the file holds them.
    assert changes.difference == Decimal("-1177.74")
    assert job_from_text(job_text(job), "x") == job


def test_a_changed_revision_of_format_1_is_found_after_the_upgrade() -> None:
    data = json.loads(REVISED.read_text(encoding="utf-8"))
    data["issued"][0]["total_likely"] = "1.00"
    found = issue_findings(job_from_text(json.dumps(data), "x"))
    assert [(f.place, f.rule) for f in found] == [("issued.0", "revision-changed")]
    data = json.loads(REVISED.read_text(encoding="utf-8"))
    del data["issued"][0]
    found = issue_findings(job_from_text(json.dumps(data), "x"))
    assert [(f.place, f.rule) for f in found] == [("issued.0", "revision-order")]


@pytest.mark.parametrize(
    ("typed", "first", "number"),
    [("A", "A", "Q-7"), ("C", "C", "Q-7"), ("", "A", "Q-7"), ("2", "A", "Q-7 revision 2")],
)
def test_a_letter_that_was_typed_is_kept(typed: str, first: str, number: str) -> None:
    """Nothing was issued: the letter typed is the first; what is no letter stays with the number."""
    data = json.loads(SAMPLES[-1].read_text(encoding="utf-8"))
    data["quote"] |= {"revision": typed, "number": "Q-7"}
    quote = job_from_text(json.dumps(data), "x").quote
    assert (quote.first_letter, quote.number) == (first, number)


@pytest.mark.parametrize("issued", [3, {"a": 1}, [3], [{"letter": "A"}]])
def test_revisions_of_format_1_that_are_none_are_told_by_their_place(issued: object) -> None:
    data = json.loads(REVISED.read_text(encoding="utf-8"))
    data["issued"] = issued
    with pytest.raises(JobFileError) as caught:
        job_from_text(json.dumps(data), "x")
    assert any(f.place.startswith("issued") for f in caught.value.findings)


def test_a_half_upgraded_file_is_told_by_place() -> None:
    """Format 2 by its number, a revision of format 1 inside."""
    old = json.loads(REVISED.read_text(encoding="utf-8"))
    data = json.loads(job_text(load_job(REVISED)))
    data["issued"][0] = old["issued"][0]
    data["quote"]["revision"] = "C"
    del data["ledger"]
    with pytest.raises(JobFileError) as caught:
        job_from_text(json.dumps(data), "x")
    told = {f.place for f in caught.value.findings}
    assert {"issued.0.text", "issued.0.snapshot", "ledger", "quote.revision"} <= told


def test_prices_held_in_a_file_of_format_1_keep_the_mark_of_the_demo_book() -> None:
    """A supplier whose name says demo is none; the demo book's own source is the only sign there was."""
    entry = shipped_price_book().entries[0].model_dump(mode="json")
    del entry["demo"]
    data = json.loads(SAMPLES[0].read_text(encoding="utf-8"))
    other = {**entry, "code": "OWN-1", "source": "Demo Tools, invented by nobody"}
    data["prices"] = {"currency": "USD", "taken": "2026-11-01", "entries": [entry, other]}
    job = job_from_text(json.dumps(data), "x")
    assert job.prices is not None
    assert [e.demo for e in job.prices.entries] == [True, False]


def test_the_one_class_of_format_2_is_kept_in_base_and_options_and_the_old_default_is_asked_for() -> None:
    """Issued by the program as it was, with an option of an acid beside a fluoride acid that nobody was told of."""
    path = OF_FORMAT_2[0].with_name("gannet-quay-revised.baydrop")
    job = load_job(path)
    assert [c.value for c in job.design.products[1].sheet.classes] == ["petroleum-solvent"]
    option = worked_on(job, "option-1").design
    assert [[c.value for c in p.sheet.classes] for p in option.products if p.id in ("remover", "wheel")] == [
        ["mineral-acid"],
        ["fluoride-acid"],
    ]
    assert issue_findings(job) == () and kept_paper(job.issued[0]).startswith(b"%PDF-")
    assert job_from_text(job_text(job), "x") == job
    mill = load_job(path.with_name("harrow-mill.baydrop"))
    assert mill.design.products[0].sheet.classes == ()
    first, *_ = study(mill, shipped_price_book(), date(2026, 11, 25)).findings
    assert (first.rule, first.place) == ("class-missing", "design.products.0.sheet.classes")


def test_a_damaged_product_of_format_2_is_left_for_validation() -> None:
    data = json.loads(OF_FORMAT_2[0].read_text(encoding="utf-8"))
    data["design"]["products"] = [3, {"chemistry": ["x"]}]
    data["alternatives"] = [
        3,
        {"changes": [{"place": 7}, {"place": ["products"]}, {"place": ["products", "a"]}]},
    ]
    before = deepcopy(data)
    made = upgraded(data)
    assert data == before and made["design"]["products"][1]["sheet"]["classes"] == [["x"]]
