"""New rows: what they begin with."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from estimator.acts.quick_build import QuickBuild, built
from estimator.acts.rows import added, shifted
from estimator.model.choices import Chemistry
from estimator.model.design import Bay, Design, Drop, LinePlan, PlantUnit, Product
from estimator.model.edit import EditError, with_value
from estimator.model.job import Job
from estimator.model.option_changes import changes_of
from estimator.model.options import Alternative
from estimator.model.sheet import SafetySheet
from estimator.reference.catalogue import catalogue
from estimator.reference.resolved import resolve
from estimator.safety.checks import safety_findings
from tests.layout.examples import gannet_quay

DROPS = ("design", "drops")


@pytest.fixture(scope="module")
def job() -> Job:
    return built(Job(), QuickBuild(bays=1, sides=1, products=2, drops_per_side=2))


def new_drop(job: Job) -> Drop:
    edit = added(job, DROPS, Drop, len(job.design.drops), "Drops")
    assert isinstance(edit.whole, Job)
    return edit.whole.design.drops[-1]


def test_a_new_drop_has_a_gun_that_fits_its_service(job: Job) -> None:
    """The last drop is one of compressed air: the new one hangs on air too, with an air gun and no nozzle."""
    guns = {g.key: g for g in catalogue().guns}
    drop = new_drop(job)
    assert drop.service == "air" and guns[drop.gun].for_air
    without_air = with_value(job, DROPS, job.design.drops[:-1])
    liquid = new_drop(without_air)
    assert liquid.service == "remover" and not guns[liquid.gun].for_air
    foam = new_drop(with_value(job, DROPS, job.design.drops[:1]))
    assert foam.service == "prewash" and guns[foam.gun].for_foam and foam.nozzle == job.design.drops[0].nozzle


def test_the_first_drop_of_a_job_without_products_is_one_of_air(job: Job) -> None:
    fields: dict[str, Any] = {**dict(job.design), "products": (), "drops": (), "plant": ()}
    drop = new_drop(with_value(job, ("design",), Design(**fields)))
    assert drop.service == "air" and drop.gun == "gun-air"


def test_rows_between_close_up_when_one_moves(job: Job) -> None:
    edit = shifted(job, DROPS, 0, 2, "Drops")
    assert [edit.goes_to(i) for i in range(3)] == [2, 0, 1]
    assert isinstance(edit.whole, Job)
    assert [edit.whole.design.drops.index(d) for d in job.design.drops] == [2, 0, 1]


def test_what_an_option_refuses_of_an_added_row_is_told_by_its_name() -> None:
    """“Options 1, Changes 1: …” was read: nobody counts options or knows their changes by number."""
    job = gannet_quay()
    bays = job.design.bays
    # The most bays that a design holds.
    more = (with_value(bays[-1], ("id",), f"more-{i}") for i in range(100 - len(bays)))
    wider = with_value(job.design, ("bays",), (*bays, *more))
    option = Alternative(id="wide", name="Every bay", changes=changes_of(job.design, wider))
    whole = with_value(job, ("alternatives",), (option,))
    with pytest.raises(EditError) as refused:
        added(whole, ("design", "bays"), Bay, 0, "Bays")
    sentences = [finding.message for finding in refused.value.findings]
    assert [s for s in sentences if not s.startswith("Option “Every bay” cannot follow: ")] == []


def test_a_row_that_the_base_itself_refuses_is_told_as_before() -> None:
    job = gannet_quay()
    option = Alternative(id="o", name="O", changes=())
    whole = with_value(job, ("alternatives",), (option,))
    with pytest.raises(EditError) as refused:
        added(whole, ("design", "bays"), Bay, 0, "Bays", {"id": job.design.bays[0].id})
    assert "Option" not in str(refused.value)


def test_a_new_row_of_a_product_has_parts_that_stand_it_and_tells_which() -> None:
    """Petroleum dissolves EPDM (firm, from memory): proportioner, and undiluted also pump, line and gun are others.

    Where nothing is known of the product yet the usual parts come, and the findings tell what to look at.
    """
    unknown = Product(id="tar", name="Tar remover")
    tar = unknown.model_copy(
        update={"sheet": SafetySheet(classes=(Chemistry.PETROLEUM_SOLVENT,)), "dilution": 0.0}
    )
    for product, usual in ((unknown, True), (tar, False)):
        job = Job(design=Design(products=(product,), bays=(Bay(id="bay-1"),)))
        names = {}
        for list_name, model in (("plant", PlantUnit), ("lines", LinePlan), ("drops", Drop)):
            edit = added(job, ("design", list_name), model, 0, list_name.capitalize())
            assert isinstance(edit.whole, Job)
            job, names[list_name] = edit.whole, edit.name
        unit, line, drop = job.design.plant[0], job.design.lines[0], job.design.drops[0]
        chosen = (unit.proportioner, unit.pump, line.tube, drop.gun)
        if usual:
            assert chosen == ("prop-standard", "pump-quarter", "tube-8", "gun-plastic")
            assert names == {"plant": "Plant: add", "lines": "Lines: add", "drops": "Drops: add"}
        else:
            assert chosen == ("prop-standard-fkm", "pump-quarter-ptfe", "tube-8-fkm", "gun-plastic-fkm")
            assert "add with Proportioner, standard flow, PVDF and FKM" in names["plant"]
            assert "FKM seal" in names["lines"] and "FKM seal" in names["drops"]
            known = resolve(job.design, catalogue())
            found = safety_findings(job.site, job.design, known, date(2026, 11, 25))
            assert not [f for f in found if f.rule == "part-material"]


def test_what_is_given_to_a_new_row_stays() -> None:
    tar = Product(id="tar", name="Tar remover", sheet=SafetySheet(classes=(Chemistry.PETROLEUM_SOLVENT,)))
    job = Job(design=Design(products=(tar,)))
    given = {"proportioner": "prop-high"}
    edit = added(job, ("design", "plant"), PlantUnit, 0, "Plant", given)
    assert isinstance(edit.whole, Job)
    assert edit.whole.design.plant[0].proportioner == "prop-high" and edit.name == "Plant: add"
