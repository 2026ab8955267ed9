"""What moved between two jobs, in words."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from estimator.model.choices import ExtraKind, Mount, PriceRule
from estimator.model.design import Bay, Design, Product
from estimator.model.differences import differences
from estimator.model.edit import EditError, inserted, moved, removed, with_value
from estimator.model.issued import Issued
from estimator.model.job import Job, snapshot_of
from estimator.model.options import Alternative
from estimator.model.pricebook import PinnedPrices, PriceEntry
from estimator.model.terms import ExtraRow, SectionRule, TaxRate, Terms
from estimator.units import Dimension, parse

JOB = Job(
    design=Design(
        products=(Product(id="soap", name="Soap"), Product(id="wax", name="Wax")),
        bays=(Bay(id="b1"), Bay(id="b2")),
    )
)


def words(after: Job) -> list[str]:
    return [d.words for d in differences(JOB, after)]


def test_a_field_a_choice_a_quantity_and_a_group() -> None:
    after = with_value(JOB, ("customer", "name"), "Somebody")
    after = with_value(after, ("design", "bays", 1, "left", "mount"), Mount.PANEL)
    after = with_value(after, ("design", "bays", 0, "width"), parse("4 m", Dimension.LENGTH))
    after = with_value(after, ("terms", "rule_percent"), Decimal("40.0"))
    assert words(after) == [
        "Name: empty → Somebody.",
        "Bays 1, Bay width: 5 m → 4 m.",
        "Bays 2, Left side, Mounting: Bracket → Panel.",
        "Markup or margin: 35 % → 40 %.",
    ]


def test_rows_are_matched_by_id_and_a_new_order_is_told() -> None:
    after = removed(JOB, ("design", "products"), 0)
    assert words(after) == ["Products “Soap”: removed."]
    after = inserted(JOB, ("design", "products"), 0, Product(id="tar", name="Tar remover"))
    assert words(after) == ["Products “Tar remover”: added."]
    assert words(moved(JOB, ("design", "bays"), 0, 1)) == ["Bays, order: as it was → changed."]


def test_nothing_moved_and_places_left_out() -> None:
    assert words(JOB) == []
    after = with_value(JOB, ("quote", "first_letter"), "B")
    assert differences(JOB, after, skip=frozenset({"quote.first_letter"})) == ()
    held = Job(prices=PinnedPrices(taken=date(2026, 1, 1)))
    assert [d.words for d in differences(Job(), held)] == ["Prices used: added."]
    assert [d.words for d in differences(held, Job())] == ["Prices used: removed."]


def test_a_snapshot_is_the_job_without_its_revisions() -> None:
    issued = Job(issued=(Issued(letter="A", text="{}"),))
    frozen = snapshot_of(issued)
    assert "issued" not in type(frozen).model_fields
    assert all(getattr(frozen, name) == getattr(Job(), name) for name in type(frozen).model_fields)


def test_what_does_not_hold_together_is_told_by_its_field() -> None:
    with pytest.raises(EditError, match="kept for the base design"):
        with_value(JOB, ("alternatives",), (Alternative(id="base"),))
    with pytest.raises(EditError, match="stands twice in alternatives"):
        with_value(JOB, ("alternatives",), (Alternative(id="a"), Alternative(id="a")))
    with pytest.raises(EditError, match="stands twice in the tax rates"):
        with_value(JOB, ("terms", "more_taxes"), (TaxRate(id="a"), TaxRate(id="a")))
    broken = Design(bays=(Bay(id="b1"), Bay(id="b1")))
    with pytest.raises(EditError) as caught:
        with_value(JOB, ("design",), broken)
    assert caught.value.findings[0].place == "design.bays.0.id"
    with pytest.raises(ValueError, match="low ≤ likely ≤ high"):
        ExtraRow(kind=ExtraKind.FREIGHT, low=Decimal(2), likely=Decimal(1), high=Decimal(3))
    with pytest.raises(ValueError, match="below 100 %"):
        SectionRule(rule=PriceRule.MARGIN, percent=Decimal(100))
    entry = PriceEntry(code="AB", description="x")
    with pytest.raises(ValueError, match="stands twice"):
        PinnedPrices(entries=(entry, entry), taken=date(2026, 1, 1))
    with pytest.raises(ValueError, match="less than or equal to 99"):
        Terms(basis_confidence=Decimal(100))


def test_rows_are_told_by_name_or_position_and_never_by_id() -> None:
    """A change list said “Drops “1-l-prewash””, which is the installer's own shorthand."""
    extra = ExtraRow(kind=ExtraKind.TRAVEL, likely=Decimal(10), high=Decimal(10))
    before = with_value(JOB, ("terms", "extras"), (extra,))
    after = with_value(before, ("terms", "extras", 0, "high"), Decimal(20))
    assert [d.words for d in differences(before, after)] == [
        f"Freight, travel and fees “{ExtraKind.TRAVEL.label}”, High: 10 → 20."
    ]
    after = inserted(JOB, ("design", "bays"), 2, Bay(id="b3"))
    assert words(after) == ["Bays 3: added."]
