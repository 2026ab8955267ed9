"""Acts on options: an edit of the base reaches all, an option's own stays, what loses its hold goes and is told."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from random import Random

import pytest
from hypothesis import given

from estimator.acts.alternates import with_guns, with_mounts, without_product
from estimator.acts.options import (
    edited,
    kept_own,
    lost_changes,
    made_base,
    taken_from_base,
    with_design,
    with_edit,
    with_option,
    without_option,
)
from estimator.acts.quick_build import GunGrade
from estimator.acts.rows import renamed, without_rows
from estimator.model.choices import Mount
from estimator.model.design import Bay, Design, Drop, Product
from estimator.model.edit import EditError, inserted, removed, with_value
from estimator.model.job import Job
from estimator.model.option_designs import (
    OwnState,
    design_of,
    option_findings,
    option_ids,
    option_name,
    own_changes,
    worked_on,
)
from estimator.model.options import BASE
from estimator.store.jobs import load_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Pipeline
from tests.days import STUDIED
from tests.random_edits import edited_design
from tests.random_jobs import RANDOMS

EXAMPLES = Path(__file__).parents[2] / "resources" / "examples"
EXAMPLE = EXAMPLES / "gannet-quay.baydrop"
DESIGNS = tuple(load_job(path).design for path in sorted(EXAMPLES.glob("*.baydrop")))


@pytest.fixture(scope="module")
def job() -> Job:
    return load_job(EXAMPLE)


@pytest.fixture(scope="module")
def plastic(job: Job) -> Job:
    """With one option, option-1: its eight metal guns in plastic."""
    return with_option(job, "Plastic guns", with_guns(job.design, GunGrade.PLASTIC), offered=True)[0]


def number_of(design: Design, drop: str) -> int:
    return [d.id for d in design.drops].index(drop)


def gun(job: Job, option: str, drop: str) -> str:
    design = design_of(job, option)
    return design.drops[number_of(design, drop)].gun


def keys(job: Job, option: str = "option-1") -> list[str]:
    return [own.change.key for own in own_changes(job, option)]


def test_an_option_is_cheaper_by_what_its_remaining_drops_save(plastic: Job) -> None:
    """One drop leaves the base: it leaves the option too.

    Computed here from demo prices: a metal gun costs 21.00 more than a plastic one; the job's terms (margin 35 %,
    contingency 5 %, tax 8.25 %, each of the shipped file) make 21 / 0.65 × 1.05 × 1.0825 = 36.72 of it. Eight guns in
    two rows: 293.78. The drop that leaves has one of them: seven save 257.06. Two rows, contingency and tax are rounded
    by themselves, in both designs: four cents at most.
    While an option was a whole design, it kept the drop: 75.31 dearer than the base, and nobody was told.
    """
    pipeline, book = Pipeline(), shipped_price_book()

    def dearer(job: Job) -> Decimal:
        totals = [
            pipeline.design(worked_on(job, option), book, STUDIED).price.totals.total.likely
            for option in option_ids(job)
        ]
        return totals[1] - totals[0]

    saved = Decimal(21) / Decimal("0.65") * Decimal("1.05") * Decimal("1.0825")
    assert abs(dearer(plastic) + 8 * saved) <= Decimal("0.04")
    place = number_of(plastic.design, "1-l-remover")
    seen = without_rows(plastic, ("design", "drops"), [place])
    after = with_edit(plastic, BASE, seen)
    assert abs(dearer(after) + 7 * saved) <= Decimal("0.04")
    # Its own gun there went along, and is told.
    assert [(lost.option, lost.change.key) for lost in lost_changes(plastic, after)] == [
        ("option-1", "drops / 1-l-remover / gun")
    ]
    assert option_findings(after) == ()


def test_an_edit_of_the_base_reaches_every_option(plastic: Job) -> None:
    two, _ = with_option(plastic, "Panels", with_mounts(plastic.design, Mount.PANEL))
    after = edited(two, BASE, ("design", "drops", 0, "nozzle_size"), "06")
    assert [design_of(after, option).drops[0].nozzle_size for option in option_ids(after)] == ["06"] * 3
    assert lost_changes(two, after) == ()
    assert after.alternatives == two.alternatives


def test_an_edit_in_an_option_goes_to_all_or_stays_here(plastic: Job) -> None:
    """By default to all; with `only_here` in the option; what the option has of its own stays its own either way."""
    two, _ = with_option(plastic, "Panels", with_mounts(plastic.design, Mount.PANEL))
    place = ("design", "drops", number_of(two.design, "1-l-prewash"), "nozzle_size")
    everywhere = edited(two, "option-1", place, "06")
    assert {design_of(everywhere, o).drops[place[2]].nozzle_size for o in option_ids(two)} == {"06"}
    assert keys(everywhere) == keys(two)
    here = edited(two, "option-1", place, "06", only_here=True)
    assert [design_of(here, o).drops[place[2]].nozzle_size == "06" for o in option_ids(two)] == [
        False,
        True,
        False,
    ]
    assert set(keys(here)) - set(keys(two)) == {"drops / 1-l-prewash / nozzle_size"}
    own = ("design", "drops", number_of(two.design, "1-l-remover"), "gun")
    foam = edited(two, "option-1", own, "gun-foam")
    assert [gun(foam, o, "1-l-remover") for o in option_ids(two)] == ["gun-metal", "gun-foam", "gun-metal"]
    # Set to what the base has, it is no longer the option's own.
    again = edited(two, "option-1", own, "gun-metal")
    assert "drops / 1-l-remover / gun" not in keys(again)
    # What is not in a design is common to all.
    assert edited(two, "option-1", ("site", "floor", "width"), two.site.floor.width).site == two.site


def test_where_both_touch_the_same_the_option_keeps_its_own_and_says_so(plastic: Job) -> None:
    place = ("design", "drops", number_of(plastic.design, "1-l-remover"), "gun")
    after = edited(plastic, BASE, place, "gun-foam")
    assert gun(after, "option-1", "1-l-remover") == "gun-plastic"
    both = [own for own in own_changes(after, "option-1") if own.state is OwnState.BOTH]
    assert [(own.change.key, own.base) for own in both] == [("drops / 1-l-remover / gun", "gun-foam")]
    taken = taken_from_base(after, "option-1", both[0].change)
    assert gun(taken, "option-1", "1-l-remover") == "gun-foam"
    assert len(keys(taken)) == len(keys(after)) - 1
    kept = kept_own(after, "option-1", both[0].change)
    assert gun(kept, "option-1", "1-l-remover") == "gun-plastic"
    assert {own.state for own in own_changes(kept, "option-1")} == {OwnState.OWN}
    with pytest.raises(LookupError, match="does not change"):
        taken_from_base(taken, "option-1", both[0].change)
    # The base comes to the same; later it goes on, and the option's own is still its own.
    same = edited(plastic, BASE, place, "gun-plastic")
    assert OwnState.SAME in {own.state for own in own_changes(same, "option-1")}
    touched = edited(same, "option-1", ("design", "common", "containment"), value=False)
    assert gun(edited(touched, BASE, place, "gun-foam"), "option-1", "1-l-remover") == "gun-plastic"


def test_a_bay_or_product_that_leaves_the_base_takes_the_options_changes_along(job: Job) -> None:
    """A drop of the option's own, a gun and a mounting in the third bay, a setting for the second product."""
    design = with_mounts(with_guns(job.design, GunGrade.PLASTIC), Mount.PANEL)
    design = inserted(design, ("drops",), 0, Drop(id="more", bay="bay-3", service="remover"))
    job, option = with_option(job, "Other", design)
    bay = [b.id for b in job.design.bays].index("bay-3")
    after = with_edit(job, BASE, without_rows(job, ("design", "bays"), [bay]))
    assert {d.bay for d in design_of(after, option).drops} == {"bay-1", "bay-2"}
    gone = {lost.change.key for lost in lost_changes(job, after)}
    assert gone == {"bays / bay-3 / left / mount", "bays / bay-3 / right / mount", "drops / more"}
    product = [p.id for p in after.design.products].index("remover")
    less = with_edit(after, BASE, without_rows(after, ("design", "products"), [product]))
    assert {lost.change.key for lost in lost_changes(after, less)} == {
        f"drops / {d.id} / gun" for d in after.design.drops if d.service == "remover"
    }
    assert option_findings(less) == ()


def test_an_id_that_is_changed_is_followed_in_every_option(plastic: Job) -> None:
    """In the base or in an option: the option's own follows, and it is no removal and addition."""
    path = ("design", "products", 1, "id")
    old = plastic.design.products[1].id
    after = with_edit(plastic, BASE, renamed(plastic, path, old, "tar"))
    assert len(own_changes(after, "option-1")) == len(own_changes(plastic, "option-1"))
    assert lost_changes(plastic, after) == ()
    assert [p.id for p in design_of(after, "option-1").products] == [p.id for p in after.design.products]
    assert with_edit(after, BASE, renamed(after, path, "tar", old)) == plastic
    seen = worked_on(plastic, "option-1")
    inside = with_edit(plastic, "option-1", renamed(seen, path, old, "tar"), only_here=True)
    assert inside == after
    drop = ("design", "drops", number_of(plastic.design, "1-l-remover"), "id")
    moved = with_edit(plastic, BASE, renamed(plastic, drop, "1-l-remover", "first"))
    assert gun(moved, "option-1", "first") == "gun-plastic"


def test_a_row_of_the_base_and_one_of_an_option_under_one_id_stay_two() -> None:
    """The option's own drop takes another id; both hang in the option."""
    base = Design(
        products=(Product(id="soap"),),
        bays=(Bay(id="b1"),),
        drops=(Drop(id="drop-1", bay="b1", service="soap"),),
    )
    job, option = with_option(
        Job(design=base),
        "More",
        inserted(base, ("drops",), 1, Drop(id="drop-2", bay="b1", service="soap", gun="gun-metal")),
    )
    after = edited(job, BASE, ("design", "drops"), (*base.drops, Drop(id="drop-2", bay="b1", service="air")))
    assert [(d.id, d.service, d.gun) for d in design_of(after, option).drops] == [
        ("drop-1", "soap", "gun-plastic"),
        ("drop-3", "soap", "gun-metal"),
        ("drop-2", "air", "gun-plastic"),
    ]
    twice = renamed(job, ("design", "drops", 0, "id"), "drop-1", "drop-2")
    renamed_too = with_edit(job, BASE, twice)
    assert [d.id for d in design_of(renamed_too, option).drops] == ["drop-2", "drop-3"]


def test_rows_made_in_an_option(plastic: Job) -> None:
    """A new drop goes to all; one that hangs on a bay of the option's own stays there; a removal goes to all."""
    design = design_of(plastic, "option-1")
    with_bay = with_design(
        plastic, "option-1", inserted(design, ("bays",), 0, Bay(id="wash")), only_here=True
    )
    design = design_of(with_bay, "option-1")
    drops = (
        Drop(id="a", bay="wash", service="remover"),
        Drop(id="b", bay="bay-1", service="remover"),
        *design.drops[1:],
    )
    after = with_design(with_bay, "option-1", design.model_copy(update={"drops": drops}))
    assert design_of(after, "option-1").drops == drops
    assert [d.id for d in after.design.drops] == ["b", *(d.id for d in plastic.design.drops[1:])]
    assert "drops / a" in keys(after)


def test_an_edit_that_an_option_cannot_take_is_refused_with_its_name(job: Job) -> None:
    """A 400th product in the base is the 401st of the option."""
    products = tuple(Product(id=f"p{i}") for i in range(399))
    full, option = with_option(
        Job(design=Design(products=products)),
        "One more",
        Design(products=(*products, Product(id="own"))),
    )
    with pytest.raises(EditError, match=r"Option “One more”.*400 at most"):
        edited(full, BASE, ("design", "products"), (*products, Product(id="last")))
    assert len(design_of(full, option).products) == 400


def test_designs_stay_when_an_option_is_made_the_base(plastic: Job) -> None:
    """What is called the base is another; no design, and so no price, moved."""
    two, panels = with_option(plastic, "Panels", with_mounts(plastic.design, Mount.PANEL))
    three, fewer = with_option(two, "Fewer", without_product(two.design))
    swapped = made_base(three, panels)
    assert option_name(swapped, BASE) == "Panels"
    assert option_name(swapped, panels) == option_name(three, BASE)
    assert design_of(swapped, panels) == three.design
    for option in ("option-1", fewer):
        assert design_of(swapped, option) == design_of(three, option).model_copy(
            update={"name": three.design.name}
        )
    assert made_base(three, BASE) is three
    assert without_option(three, panels).alternatives == (three.alternatives[0], three.alternatives[2])
    with pytest.raises(LookupError, match="no option “gone”"):
        edited(three, "gone", ("design", "name"), "x")


@given(RANDOMS)
def test_whatever_is_edited(rng: Random) -> None:
    """Random edits of the base and of options, one after the other.

    An option without changes of its own equals the base. What an option has of its own survives an edit of the base
    unless what it hangs on is gone, and that is told. What is typed while working on an option is what the option is.
    """
    made = Job(design=rng.choice(DESIGNS))
    made, plain = with_option(made, "plain", made.design)
    made, _ = with_option(made, "other", edited_design(rng, made.design, renaming=False))
    for _ in range(4):
        option, only_here = rng.choice(option_ids(made)), rng.random() < 0.5
        before = made
        design = edited_design(rng, design_of(made, option))
        renaming = {d.id for d in design.drops} - {d.id for d in design_of(made, option).drops}
        try:
            made = with_design(made, option, design, only_here=only_here)
        except EditError as error:
            # The one edit here that a job can refuse: an id is changed to one that is taken in another design.
            assert "stands 2 times" in str(error) or "twice" in str(error), str(error)
            continue
        assert design_of(made, option) == design
        assert option_findings(made) == ()
        if (
            only_here
            and option != BASE
            and design.products == design_of(before, option).products
            and not renaming
        ):
            same = [
                o for o in option_ids(made) if o != option and design.bays == design_of(before, option).bays
            ]
            assert all(design_of(made, o) == design_of(before, o) for o in same)
        if not own_changes(made, plain):
            assert design_of(made, plain) == made.design
        if option == BASE:
            lost = {(gone.option, gone.change.place) for gone in lost_changes(before, made)}
            for other in option_ids(made)[1:]:
                count = len(own_changes(made, other)) + len([1 for name, _ in lost if name == other])
                assert count == len(own_changes(before, other))


def test_removing_a_row_and_the_row_of_an_option() -> None:
    base = Design(bays=(Bay(id="b1"), Bay(id="b2")))
    job, option = with_option(Job(design=base), "Less", removed(base, ("bays",), 1))
    after = with_edit(job, BASE, with_value(job, ("design", "bays"), base.bays[:1]))
    assert own_changes(after, option) == ()
    assert [lost.change.key for lost in lost_changes(job, after)] == ["bays / b2"]
    back = taken_from_base(job, option, own_changes(job, option)[0].change)
    assert design_of(back, option) == base
