"""A design's keys are looked up once: the parts, and each key that the catalogue does not have, told once."""

from __future__ import annotations

from datetime import date
from importlib import resources

from estimator.model.choices import NozzleType
from estimator.model.design import AIR, Design, LinePlan, SegmentTube
from estimator.model.edit import with_value
from estimator.model.job import Job
from estimator.reference.catalogue import catalogue
from estimator.reference.resolved import resolve
from estimator.store.jobs import load_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import study


def gannet_quay() -> Job:
    with resources.as_file(resources.files("resources") / "examples" / "gannet-quay.baydrop") as path:
        return load_job(path)


def test_each_key_finds_its_part() -> None:
    design = gannet_quay().design
    known = resolve(design, catalogue())
    assert known.findings == ()
    for one, drop in zip(known.drops, design.drops, strict=True):
        assert one.drop is drop
        assert one.gun is not None and one.gun.key == drop.gun
        assert one.hose is not None and one.hose.key == drop.hose_bore
        assert one.nozzle is not None and one.nozzle.key == drop.nozzle.value
        assert one.size is not None and one.size.key == drop.nozzle_size
    for unit, plant in zip(known.plant, design.plant, strict=True):
        assert unit.pump is not None and unit.pump.key == plant.pump
        assert unit.tank is not None and unit.tank.key == plant.tank
        assert unit.proportioner is not None and unit.proportioner.key == plant.proportioner
        assert known.unit(plant.product) is unit
    assert known.unit("nothing") is None
    assert known.backflow is not None and known.backflow.key == design.common.backflow


def test_a_segment_has_its_own_tube_else_that_of_its_line() -> None:
    plan = LinePlan(
        service="glass", tube="tube-10", segment_tubes=(SegmentTube(segment="far", tube="tube-6"),)
    )
    odd = LinePlan(service=AIR, tube="hosepipe")
    known = resolve(Design(lines=(plan, odd)), catalogue())
    tubes = [
        known.tube(*at) for at in (("glass", "near"), ("glass", "far"), ("prewash", "near"), (AIR, "near"))
    ]
    # 8 mm is the default of a line without a plan.
    assert [tube.key if tube else None for tube in tubes] == ["tube-10", "tube-6", "tube-8", None]


def test_an_unknown_key_is_told_once_and_no_stage_stumbles() -> None:
    job = gannet_quay()
    for path, value in (
        (("design", "drops", 0, "gun"), "gun-gold"),
        (("design", "drops", 1, "hose_bore"), "hose-gold"),
        (("design", "plant", 0, "pump"), "pump-gold"),
        (("design", "plant", 1, "tank"), "tank-gold"),
        (("design", "lines"), (LinePlan(service="glass", tube="tube-gold"),)),
    ):
        job = with_value(job, path, value)
    made = study(job, shipped_price_book(), date(2026, 3, 2))
    told = [f.place for f in made.findings if f.rule == "unknown-key"]
    assert sorted(told) == [
        "design.drops.0.gun",
        "design.drops.1.hose_bore",
        "design.lines.0.tube",
        "design.plant.0.pump",
        "design.plant.1.tank",
    ]
    assert {line.line for line in made.proof.lines} == {"degreaser", "sanitiser"}


def test_a_liquid_drop_without_nozzle_still_needs_its_size() -> None:
    """What comes out of it is worked out from the size; it was left unproved without a word."""
    job = gannet_quay()
    job = with_value(job, ("design", "drops", 1, "nozzle"), NozzleType.NONE)
    job = with_value(job, ("design", "drops", 1, "nozzle_size"), "")
    assert [f.place for f in resolve(job.design, catalogue()).findings] == ["design.drops.1.nozzle_size"]
