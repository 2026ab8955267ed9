"""Rows of revisions of format 1 have no key and are matched by what they said. Invented demo data."""

from __future__ import annotations

import pytest

from estimator.model.choices import Section
from estimator.model.design import Product
from estimator.model.issued import IssuedRow
from estimator.pricing.old_keys import issued_keys
from estimator.takeoff.types import RowFor, row_key

PRODUCTS = (
    Product(id="foam", name="Foam pre-wash"),
    Product(id="wax"),
    Product(id="two", name="Foam pre-wash"),
)


@pytest.mark.parametrize(
    ("section", "detail", "of"),
    [
        (Section.PLANT, "", RowFor()),
        (Section.LINES, "Foam pre-wash line", RowFor(service="foam")),
        (Section.LINES, "wax line", RowFor(service="wax")),
        (Section.LINES, "compressed air line", RowFor(service="air")),
        (Section.DROPS, "600 cm each", RowFor(length_mm=6000)),
        (Section.DROPS, "20 ft each", RowFor(length_mm=6096)),
        (Section.DROPS, "size 04", RowFor(nozzle_size="04")),
        (Section.DROPS, "size 02, 40 °", RowFor(nozzle_size="02", fan_angle_cdeg=4000)),
    ],
)
def test_words_of_then_give_the_key_of_today(section: Section, detail: str, of: RowFor) -> None:
    row = IssuedRow(code="P-1", section=section, detail=detail)
    assert issued_keys([row], PRODUCTS) == (row_key(section, "P-1", of),)


def test_words_that_cannot_be_read_stay_apart_and_a_key_is_taken_as_it_is() -> None:
    rows = [
        IssuedRow(code="P-1", section=Section.LINES, detail="gone line"),
        IssuedRow(code="P-1", section=Section.DROPS, detail="long each"),
        IssuedRow(code="P-1", section=Section.DROPS, detail="size 02, wide"),
        IssuedRow(code="P-1", section=Section.DROPS, detail="anything"),
        IssuedRow(code="P-1", section=Section.DROPS, detail="anything", key="kept"),
    ]
    keys = issued_keys(rows, PRODUCTS)
    assert len(set(keys)) == len(rows)
    assert keys[-1] == "kept"


def test_extras_are_counted_in_their_kind() -> None:
    rows = [IssuedRow(code=c, section=Section.EXTRAS) for c in ("FREIGHT-1", "TRAVEL-2", "FREIGHT-3")]
    assert issued_keys(rows, ()) == ("extras/FREIGHT-1", "extras/TRAVEL-1", "extras/FREIGHT-2")
