"""Ready-made alternates: each changes what it says and leaves alone what hangs there."""

from __future__ import annotations

from collections import Counter

import pytest

from estimator.acts.alternates import (
    AlternateError,
    alternates,
    with_guns,
    with_hoses,
    with_mounts,
    with_product,
    with_sides,
    without_product,
)
from estimator.acts.quick_build import GunGrade
from estimator.layout.plan import lay_out
from estimator.model.choices import HoseKind, Mount, SideName
from estimator.model.design import AIR, Design
from estimator.model.differences import differences
from estimator.model.edit import with_value
from estimator.model.job import Job
from estimator.reference.catalogue import catalogue
from tests.layout.examples import gannet_quay, harrow_mill


def new() -> Design:
    """A job with nothing standing: 16 liquid drops, two of them with foam guns or none, 6 air drops."""
    return gannet_quay().design


def test_metal_guns_replace_plain_ones_only() -> None:
    changed = {d.place.rsplit(".", 1)[1] for d in differences(new(), with_guns(new(), GunGrade.METAL))}
    assert changed == {"gun"}
    before, after = (
        Counter(d.gun for d in new().drops),
        Counter(d.gun for d in with_guns(new(), GunGrade.METAL).drops),
    )
    assert after["gun-metal"] == before["gun-plastic"] + before["gun-metal"] and after["gun-plastic"] == 0
    assert after["gun-air"] == before["gun-air"] == 6 and after["gun-foam"] == before["gun-foam"]


def test_hoses_and_mounts() -> None:
    straight = with_hoses(new(), HoseKind.STRAIGHT)
    assert {d.hose for d in straight.drops} == {HoseKind.STRAIGHT}
    panels = with_mounts(new(), Mount.PANEL)
    assert {s.mount for b in panels.bays for s in (b.left, b.right)} == {Mount.PANEL}
    assert with_mounts(panels, Mount.BRACKET) == with_mounts(new(), Mount.PANEL).model_copy(
        update={"bays": new().bays}
    )


def test_one_side_and_both_sides_of_each_bay() -> None:
    """22 drops on both sides of three bays; one side has half of them, and both sides of that 22 again."""
    one = with_sides(new(), 1)
    assert len(one.drops) == 11 and {d.side for d in one.drops} == {SideName.LEFT}
    both = with_sides(one, 2)
    assert len(both.drops) == 22
    assert Counter((d.bay, d.side, d.service) for d in both.drops) == Counter(
        (d.bay, d.side, d.service) for d in new().drops
    )


def test_one_product_more_and_less() -> None:
    more = with_product(new())
    added = more.products[-1]
    assert len(more.products) == 6 and added.id not in {p.id for p in new().products}
    # It goes where the last product has its drops: two of them.
    assert [(d.bay, d.side) for d in more.drops if d.service == added.id] == [
        (d.bay, d.side) for d in new().drops if d.service == "sanitiser"
    ]
    assert more.plant[-1].product == added.id
    assert without_product(more) == new()


def test_what_hangs_there_stays() -> None:
    design = harrow_mill().design
    for _, other in alternates(design):
        kept = {d.id: d for d in other.drops}
        for drop in design.drops:
            if drop.existing:
                assert kept[drop.id] == drop
        for old, bay in zip(design.bays, other.bays, strict=True):
            assert all(b == a for a, b in ((old.left, bay.left), (old.right, bay.right)) if a.mount_existing)
        standing = [u for u in design.plant if u.existing]
        assert [u for u in other.plant if u.existing] == standing


@pytest.mark.parametrize("job", [gannet_quay(), harrow_mill()], ids=["new", "upgrade"])
def test_every_alternate_is_another_whole_design_that_can_be_laid_out(job: Job) -> None:
    made = alternates(job.design)
    assert len(made) >= 5
    for alternate, design in made:
        assert design != job.design, alternate.key
        whole = with_value(job, ("design",), design)
        layout, _ = lay_out(whole.site, design, catalogue())
        assert set(layout.drop_points) == {d.id for d in design.drops}


def test_an_alternate_that_changes_nothing_is_not_offered() -> None:
    with pytest.raises(AlternateError, match="like that already"):
        with_mounts(with_mounts(new(), Mount.PANEL), Mount.PANEL)
    with pytest.raises(AlternateError, match="one side or two"):
        with_sides(new(), 3)
    with pytest.raises(AlternateError, match="no product"):
        without_product(Design())
    with pytest.raises(AlternateError, match="no product yet"):
        with_product(Design())
    assert alternates(Design()) == ()
    full = new()
    for _ in range(3):
        full = with_product(full)
    with pytest.raises(AlternateError, match="Every example product"):
        with_product(full)
    assert AIR not in {p.id for p in full.products}
