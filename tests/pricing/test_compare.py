"""Options side by side, row by row."""

from __future__ import annotations

from collections import Counter
from decimal import Decimal
from pathlib import Path

import pytest

from estimator.acts.alternates import with_guns, with_mounts, without_product
from estimator.acts.options import made_base, with_design, with_option, without_option
from estimator.acts.quick_build import GunGrade
from estimator.model.choices import Mount
from estimator.model.edit import EditError
from estimator.model.job import Job
from estimator.model.option_designs import design_of, option_ids, option_name, worked_on
from estimator.model.options import BASE
from estimator.pricing.compare import (
    ChangeKind,
    CompareError,
    Comparison,
    Line,
    Lines,
    compare,
    lines_of,
    option_figures,
)
from estimator.pricing.risk import RiskModel, items_of
from estimator.shown.changes import row_change_words
from estimator.shown.figures import Figures
from estimator.sizing.types import Verdict
from estimator.store.jobs import load_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Pipeline, Study
from estimator.takeoff.types import Section
from estimator.takeoff.words import row_words
from estimator.units import UnitSystem
from tests.days import STUDIED

D = Decimal
EXAMPLE = Path(__file__).parents[2] / "resources" / "examples" / "gannet-quay.baydrop"
PIPE = Pipeline()


@pytest.fixture(scope="module")
def job() -> Job:
    return load_job(EXAMPLE)


def studied(job: Job, option: str = BASE) -> Study:
    return PIPE.study(worked_on(job, option), shipped_price_book(), STUDIED)


def line(code: str, quantity: str, price: str, detail: str = "") -> Line:
    return Line(f"drops/{code}", Section.DROPS, code, detail, f"Part {code}", "each", D(quantity), D(price))


def test_rows_by_hand() -> None:
    """Out goes A (10), B goes from 2 to 3 (20 to 30), C comes (7), D stays: 10 dearer less 3, tax 1: 8."""
    before = Lines(
        "USD", (line("A", "1", "10"), line("B", "2", "20"), line("D", "1", "5")), (("Tax", D(4)),), D(39)
    )
    after = Lines(
        "USD", (line("D", "1", "5"), line("C", "1", "7"), line("B", "3", "30")), (("Tax", D(5)),), D(47)
    )
    made = compare(before, after)
    assert [(r.kind, r.code, r.difference) for r in made.rows] == [
        (ChangeKind.REMOVED, "A", D(-10)),
        (ChangeKind.CHANGED, "B", D(10)),
        (ChangeKind.ADDED, "C", D(7)),
    ]
    assert [(s.name, s.difference) for s in made.sums] == [("Tax", D(1))]
    assert made.difference == D(8) == sum(r.difference for r in made.rows) + 1
    assert [row_change_words(r, Figures("en_US", "USD", UnitSystem.METRIC)) for r in made.rows] == [
        "Part A: removed, 1 each.",
        "Part B: 2 each → 3 each.",
        "Part C: added, 1 each.",
    ]


def test_rows_that_cannot_be_matched_are_told() -> None:
    double = Lines("USD", (line("A", "1", "1"), line("A", "1", "1")), (), D(2))
    with pytest.raises(CompareError, match="stands twice"):
        compare(double, double)
    with pytest.raises(CompareError, match="not converted"):
        compare(Lines("USD", (), (), D(0)), Lines("EUR", (), (), D(0)))


def test_metal_guns_change_the_guns_and_nothing_else(job: Job) -> None:
    job, metal = with_option(job, "Metal guns", with_guns(job.design, GunGrade.METAL))
    base, other = studied(job).price, studied(job, metal).price
    words = row_words(job)
    made = compare(lines_of(base, words), lines_of(other, words))
    assert {(r.kind, r.code) for r in made.rows} == {
        (ChangeKind.REMOVED, "GUN-PL"),
        (ChangeKind.CHANGED, "GUN-MT"),
    }
    assert made.difference == other.totals.total.likely - base.totals.total.likely > 0
    back = compare(lines_of(other, words), lines_of(base, words))
    assert [r.difference for r in back.rows] == [-r.difference for r in made.rows]


def test_all_options_side_by_side_with_price_range_and_function(job: Job) -> None:
    job, _ = with_option(job, "Panels", with_mounts(job.design, Mount.PANEL))
    job, _ = with_option(job, "Without the sanitiser", without_product(job.design))
    table = []
    for option in option_ids(job):
        made = studied(job, option)
        odds = RiskModel(items_of(made.price, shipped_price_book().entries), "USD").result
        table.append(option_figures(option, option_name(job, option), made.price, made.proof, odds))
        verdicts = [d.verdict for d in made.proof.drops]
        assert table[-1].drops == len(verdicts)
        assert table[-1].inside == verdicts.count(Verdict.GOOD)
        assert len(table[-1].outside or ()) == len(verdicts) - verdicts.count(Verdict.GOOD)
    assert [t.name for t in table] == [option_name(job, BASE), "Panels", "Without the sanitiser"]
    base, with_panels, shorter = table
    # A bracket does what a panel does, for less.
    assert with_panels.total.likely > base.total.likely > shorter.total.likely
    assert with_panels.inside == base.inside
    # 16 liquid drops; the sanitiser has two of them.
    assert (base.drops, shorter.drops) == (16, 14)
    for t in table:
        assert t.p10 is not None and t.p50 is not None and t.p90 is not None and t.p10 < t.p50 < t.p90
    bare = option_figures(BASE, "Base", studied(job).price)
    assert (bare.p50, bare.drops, bare.inside, bare.outside) == (None, None, None, None)


def test_an_option_becomes_the_base_and_back(job: Job) -> None:
    job, panels = with_option(job, "Panels", with_mounts(job.design, Mount.PANEL), offered=True)
    swapped = made_base(job, panels)
    assert swapped.design.bays == design_of(job, panels).bays
    assert design_of(swapped, panels) == job.design
    assert option_name(swapped, BASE) == "Panels"
    back = made_base(swapped, panels)
    assert back.design == job.design and design_of(back, panels).bays == design_of(job, panels).bays
    assert without_option(job, panels).alternatives == ()
    changed = with_design(job, panels, with_guns(design_of(job, panels), GunGrade.METAL), only_here=True)
    assert changed.design == job.design and design_of(changed, panels) != design_of(job, panels)


def test_options_that_are_not_there_or_not_whole_are_told(job: Job) -> None:
    with pytest.raises(LookupError, match="the options are base"):
        design_of(job, "gone")
    with pytest.raises(LookupError):
        without_option(job, BASE)
    job, option = with_option(job, "Broken", job.design)
    with pytest.raises(EditError, match="There is no bay"):
        with_design(job, option, job.design.model_copy(update={"bays": ()}))


def check_folded(made: Comparison) -> None:
    """Every row is told once, and what is told adds up to the difference of the totals."""
    folded = made.repriced.rows if made.repriced else ()
    assert Counter(r.key for r in (*made.alone, *folded)) == Counter(r.key for r in made.rows)
    told = sum(r.difference for r in made.alone) + (made.repriced.difference if made.repriced else 0)
    assert told + sum(s.difference for s in made.sums) == made.difference


def test_rows_that_moved_with_the_terms_alone_are_one_line(job: Job) -> None:
    """Another markup moves the price of every row that has one and the quantity of none."""
    dearer = job.model_copy(update={"terms": job.terms.model_copy(update={"rule_percent": D(60)})})
    words = row_words(job)
    made = compare(lines_of(studied(job).price, words), lines_of(studied(dearer).price, words))
    assert made.alone == ()
    assert made.repriced is not None
    assert len(made.repriced.rows) == len(made.rows) > 30
    assert made.repriced.words == f"{len(made.rows)} items of the same quantity at another price"
    check_folded(made)
    job, panels = with_option(job, "Panels", with_mounts(job.design, Mount.PANEL))
    both = worked_on(job, panels).model_copy(update={"terms": dearer.terms})
    moved = PIPE.study(both, shipped_price_book(), STUDIED)
    made = compare(lines_of(studied(job).price, words), lines_of(moved.price, words))
    assert {r.kind for r in made.alone} >= {ChangeKind.ADDED, ChangeKind.REMOVED}
    check_folded(made)


def test_a_price_that_moved_by_itself_stands_by_itself() -> None:
    """A and B cost more by the terms, C by its own figure: 1 + 2 in one line, 3 alone."""
    before = Lines("USD", tuple(line(c, "1", "10") for c in "ABC"), (), D(30))
    after = Lines("USD", (line("A", "1", "11"), line("B", "1", "12"), line("C", "1", "13")), (), D(36))
    made = compare(before, after, own=["C"])
    assert [r.code for r in made.alone] == ["C"]
    assert made.repriced is not None
    assert (made.repriced.before, made.repriced.after, made.repriced.difference) == (D(20), D(23), D(3))
    check_folded(made)
    # One row alone is told by its name.
    single = compare(Lines("USD", before.rows[:1], (), D(10)), Lines("USD", after.rows[:1], (), D(11)))
    assert single.repriced is None and len(single.alone) == 1


def test_many_prices_that_moved_by_themselves_are_one_line_too() -> None:
    codes = [f"P-{i}" for i in range(9)]
    before = Lines("USD", tuple(line(c, "1", "10") for c in codes), (), D(90))
    after = Lines("USD", tuple(line(c, "1", "11") for c in codes), (), D(99))
    made = compare(before, after, own=codes)
    assert made.alone == () and made.repriced is not None and made.repriced.difference == D(9)
    fewer = compare(
        Lines("USD", before.rows[:8], (), D(80)), Lines("USD", after.rows[:8], (), D(88)), own=codes
    )
    assert len(fewer.alone) == 8 and fewer.repriced is None
