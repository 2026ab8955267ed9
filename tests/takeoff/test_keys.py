"""A row is known by what it is for, never by its words. Jobs and prices are the invented examples."""

from __future__ import annotations

from typing import Any

from estimator.layout.plan import lay_out
from estimator.model.choices import Section
from estimator.model.job import Job
from estimator.pricing.compare import compare, lines_of
from estimator.reference.catalogue import catalogue
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Pipeline, Study
from estimator.takeoff.rows import take_off
from estimator.takeoff.types import RowFor, TakeoffRow, row_key
from estimator.takeoff.words import row_words
from estimator.units import Dimension, UnitSystem, parse
from tests.days import STUDIED
from tests.layout.examples import gannet_quay


def _rows(job: Job) -> tuple[TakeoffRow, ...]:
    parts = catalogue()
    return take_off(job.design, lay_out(job.site, job.design, parts)[0], parts)[0]


def _studied(job: Job) -> Study:
    return Pipeline().study(job, shipped_price_book(), STUDIED)


def _with(job: Job, table: str, place: int, **changed: Any) -> Job:
    rows = list(getattr(job.design, table))
    rows[place] = rows[place].model_copy(update=changed)
    design = job.design.model_copy(update={table: tuple(rows)})
    return job.model_copy(update={"design": design})


def test_600_cm_beside_6_m_is_one_row() -> None:
    """22 drops of 6 m, a second hose at 4 foam guns: 156 m, as in the hand count of the example."""
    job = _with(gannet_quay(), "drops", 0, hose_length=parse("600 cm", Dimension.LENGTH))
    hoses = [row for row in _rows(job) if row.code == "HCO-06"]
    assert [(round(row.quantity, 9), row.of) for row in hoses] == [(156.0, RowFor(length_mm=6000))]
    assert row_words(job).detail(hoses[0]) == "6\xa0m each"


def test_an_angle_typed_in_radians_is_the_same_nozzle() -> None:
    job = gannet_quay()
    first = next(
        i for i, d in enumerate(job.design.drops) if str(d.fan_angle) == "40 °" and d.nozzle == "fan"
    )
    # 40 degrees are 0.698132 rad (computed by hand: 40 pi / 180).
    turned = _with(job, "drops", first, fan_angle=parse("0.698132 rad", Dimension.ANGLE))
    assert [row.key for row in _rows(turned)] == [row.key for row in _rows(job)]


def test_a_renamed_product_changes_no_row() -> None:
    job = gannet_quay()
    renamed = _with(job, "products", 0, name="Snow wash")
    before, after = _studied(job), _studied(renamed)
    assert [row.key for row in before.takeoff] == [row.key for row in after.takeoff]
    made = compare(lines_of(before.price, row_words(job)), lines_of(after.price, row_words(renamed)))
    assert not made.rows and not made.sums and not made.difference
    names = {row_words(renamed).detail(row) for row in after.takeoff}
    assert any(name.startswith("Snow wash line") for name in names)


def test_words_follow_the_units_and_the_language_of_the_job() -> None:
    """6 m are 19.685 ft; 6.25 m are written with a comma in German (CLDR)."""
    job = _with(gannet_quay(), "drops", 0, hose_length=parse("6.25 m", Dimension.LENGTH))
    rows = [row for row in _rows(job) if row.code == "HCO-06"]
    german = job.model_copy(update={"terms": job.terms.model_copy(update={"locale": "de_DE"})})
    assert {row_words(german).detail(row) for row in rows} == {"6\xa0m each", "6,25\xa0m each"}
    american = job.model_copy(update={"units": UnitSystem.US})
    assert {row_words(american).detail(row) for row in rows} == {"19.69\xa0ft each", "20.51\xa0ft each"}


def test_keys_differ_where_rows_differ_and_do_not_run_into_each_other() -> None:
    for odd in ("03/fan_angle_cdeg=4000", "03 ", "%", "03"):
        other = RowFor(nozzle_size="03", fan_angle_cdeg=4000)
        assert row_key(Section.DROPS, "N", RowFor(nozzle_size=odd)) != row_key(Section.DROPS, "N", other)
    rows = _rows(gannet_quay())
    assert len({row.key for row in rows}) == len(rows)


def test_an_extra_keeps_its_row_when_one_of_another_kind_comes_before_it() -> None:
    from estimator.model.choices import ExtraKind
    from estimator.model.terms import ExtraRow, Terms
    from estimator.pricing.extras import extra_rows

    travel = ExtraRow(kind=ExtraKind.TRAVEL)
    alone = extra_rows(Terms(extras=(travel,)))
    second = extra_rows(Terms(extras=(ExtraRow(kind=ExtraKind.FREIGHT), travel, travel)))
    assert [row.key for row, _ in second][1] == alone[0][0].key
    assert len({row.key for row, _ in second}) == 3


def test_lines_of_one_colour_share_a_coil_and_a_new_colour_is_no_other_row() -> None:
    """Glass and sanitiser, 27.72 and 27.09 m by hand count: a coil of 50 m each apart; 50 + 25 m hold both (demo)."""
    job = gannet_quay()
    apart = _studied(job)
    red = _with(job, "products", 3, colour=job.design.products[4].colour)
    shared = _studied(red)
    assert [row.key for row in shared.takeoff] == [row.key for row in apart.takeoff]
    (bought,) = [row for row in shared.bought if row.services == ("glass", "sanitiser")]
    assert (bought.colour, round(bought.needed, 2)) == ("red", 54.81)
    alone = [row for row in apart.bought if row.services in (("glass",), ("sanitiser",))]
    assert len(alone) == 2
    assert [pack.size for row in alone for pack in row.packs] == [50.0, 50.0]
    assert [(pack.size, pack.count) for pack in bought.packs] == [(50.0, 1), (25.0, 1)]
    assert bought.cost.likely < sum(row.cost.likely for row in alone)
    assert row_words(red).bought(bought.services, bought.colour).endswith(" line, red")
    assert [f.rule for f in shared.findings if f.rule == "line-colours-alike"] == ["line-colours-alike"]
    assert "line-colours-alike" not in {f.rule for f in apart.findings}
