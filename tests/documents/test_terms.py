"""Totals of the quote under every way of pricing: read back from the paper, they add up."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from estimator.documents.quote import unprintable, write_quote
from tests.documents.studies import DAY, made, packed, raw, text_of


def _job(**terms: Any) -> dict[str, Any]:
    job = raw()
    job["terms"].update(terms)
    return job


TAXED = {
    "tax_name": "Sales tax",
    "tax_percent": "8.25",
    "more_taxes": [{"id": "service", "name": "Service tax", "percent": "5"}],
    "extras": [
        {
            "kind": "freight",
            "description": "Freight to site",
            "low": "150",
            "likely": "180",
            "high": "260",
            "taxable": True,
            "tax": "service",
        },
        {"kind": "permits", "low": "80", "likely": "90", "high": "140"},
        {"kind": "travel", "low": "60", "likely": "60", "high": "60"},
        {"kind": "disposal", "description": "Old hoses", "low": "20", "likely": "30", "high": "60"},
    ],
}


def _amount(text: str) -> Decimal:
    return Decimal(text.replace("$", "").replace(",", ""))


def _after(text: str, words: str) -> Decimal:
    found = re.search(re.escape(words) + r"[^$]*?([-+]?\$[\d,.]*\d)", text)
    assert found, words
    return _amount(found[1])


def _totals(text: str) -> str:
    return text[text.index("Sum of items") : text.index("For the customer")]


def test_freight_travel_permits_and_disposal_are_a_section() -> None:
    text = text_of(write_quote(replace(made(_job(**TAXED)), on=DAY)))
    part = text[text.index("Freight, travel and fees Quantity") :]
    for name in ("Freight to site 1 sum", "Permits 1 sum", "Travel 1 sum", "Old hoses 1 sum"):
        assert name in part
    rows = [_amount(m) for m in re.findall(r"1 sum \$[\d.,]+ (\$[\d.,]+\d)", part)]
    assert len(rows) == 4
    assert sum(rows) == _after(part, "Freight, travel and fees, subtotal")


def test_each_tax_rate_has_its_own_row_and_the_sums_are_right() -> None:
    """Tax = taxable x rate, to the cent, from the printed figures alone."""
    text = _totals(text_of(write_quote(replace(made(_job(**TAXED)), on=DAY))))
    rows = re.findall(r"(Sales|Service) tax \(([\d.]+) % on (\$[\d.,]+)\) (\$[\d.,]+\d)", text)
    assert [(name, percent) for name, percent, *_ in rows] == [("Sales", "8.25"), ("Service", "5")]
    for _, percent, taxable, tax in rows:
        assert abs(_amount(taxable) * Decimal(percent) / 100 - _amount(tax)) <= Decimal("0.005")
    assert _after(text, "Net amount") + sum(_amount(tax) for *_, tax in rows) == _after(text, "Total to pay")


def test_rounding_is_a_row_and_payments_add_up_to_the_total() -> None:
    stages = [
        {"name": "With the order", "percent": "33.3333"},
        {"name": "When the tubes hang", "percent": "33.3333"},
        {"name": "After commissioning"},
    ]
    text = _totals(text_of(write_quote(replace(made(_job(**TAXED, round_to="10", stages=stages)), on=DAY))))
    total = _after(text, "Total to pay")
    assert total % 10 == 0
    taxes = [_amount(t) for t in re.findall(r"tax \([\d.]+ % on \$[\d.,]+\) (\$[\d.,]+\d)", text)]
    rounding = _after(text, "Rounding to $10.00")
    assert rounding != 0
    assert _after(text, "Net amount") + sum(taxes) + rounding == total
    payments = text[text.index("Payments") :]
    paid = [_after(payments, stage["name"]) for stage in stages]
    assert sum(paid) == total == _after(payments, "All payments")
    assert "After commissioning the rest" in payments


@pytest.mark.parametrize(
    ("terms", "words"),
    [
        ({"contingency_percent": "5"}, "Allowance for the unforeseen (5 %)"),
        (
            {"contingency_basis": "confidence", "contingency_confidence": "90"},
            "Allowance for the unforeseen (to 90 % confidence)",
        ),
        ({"price_basis": "typed", "typed_price": "25000.00"}, "Allowance for the unforeseen "),
        ({"price_basis": "confidence", "basis_confidence": "80"}, "Allowance for the unforeseen (5 %)"),
    ],
    ids=["percent", "confidence", "typed", "both"],
)
def test_what_is_added_for_the_unforeseen_is_always_seen(terms: dict[str, Any], words: str) -> None:
    study = made(_job(contingency_percent=terms.pop("contingency_percent", "5"), **terms))
    assert study.price.totals.contingency.likely > 0
    text = _totals(text_of(write_quote(replace(study, on=DAY))))
    assert words in text
    assert text.count("Allowance for the unforeseen") == 1
    items, allowance = _after(text, "Sum of items"), _amount(f"{study.price.totals.contingency.likely}")
    assert items + allowance == _after(text, "Net amount")
    if terms.get("price_basis") == "typed":
        assert items + allowance == Decimal("25000.00") and "%" not in text[: text.index("Net amount")]


def test_no_allowance_no_row() -> None:
    text = text_of(write_quote(replace(made(_job(contingency_percent="0")), on=DAY)))
    assert "Allowance for the unforeseen" not in text and "Rounding to" not in text and "Payments" not in text


def test_names_in_the_terms_print_as_themselves_or_are_told() -> None:
    name = "<b>Ω & Жук</b>"
    job = _job(
        stages=[{"name": name}],
        more_taxes=[{"id": "x", "name": name, "percent": "5"}],
        extras=[{"kind": "other", "description": name, "low": "1", "likely": "1", "high": "1", "taxable": True,
                 "tax": "x"}],
    )  # fmt: skip
    study = made(job)
    assert unprintable(study) == ()
    text = packed(text_of(write_quote(replace(study, on=DAY))))
    assert text.count(packed("<b>Ω &")) >= 3
    for block, field in (("stages", "name"), ("more_taxes", "name"), ("extras", "description")):
        broken = _job(**{k: job["terms"][k] for k in ("stages", "more_taxes", "extras")})
        broken["terms"][block] = [{**broken["terms"][block][0], field: "x \U0001f697"}]
        assert [f.place for f in unprintable(made(broken))] == [f"terms.{block}.0.{field}"]
