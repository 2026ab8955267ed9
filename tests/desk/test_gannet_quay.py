"""The whole first example job, built from blank by the form alone."""

from __future__ import annotations

from pathlib import Path

from estimator.model.job import Job
from estimator.store.jobs import load_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import study
from tests.days import STUDIED
from tests.desk.hands import Hands

EXAMPLES = Path(__file__).parents[2] / "resources" / "examples"


def build(desk: Hands, target: Job) -> None:
    """Quick build first, then whatever differs, page by page."""
    quick = desk.form("quick")
    design = target.design
    for name, text in (
        ("bays", str(len(design.bays))),
        ("products", str(min(len(design.products), 8))),
        ("drops_per_side", "2"),
        ("floor_width", target.site.floor.width.text),
        ("floor_depth", target.site.floor.depth.text),
    ):
        desk.put(quick.editors[name], text)
    desk.press_build()
    desk.fill(desk.form("site"), target.site)
    for name in ("customer", "company", "quote", "terms"):
        desk.fill(desk.form(name), getattr(target, name))
    for name in ("products", "bays", "drops", "plant", "lines"):
        desk.fill_rows(desk.rows(name), getattr(design, name))
    desk.fill(desk.form("design"), design)


def test_gannet_quay_from_blank_reaches_the_same_study(desk: Hands) -> None:
    """22 drops, 5 lines and air: the same layout, takeoff, price and findings as the shipped file."""
    target = load_job(EXAMPLES / "gannet-quay.baydrop")
    build(desk, target)
    session = desk.window.session
    assert not session.job_holder.pending
    made, wanted = session.study, study(target, shipped_price_book(), STUDIED)
    assert desk.job.model_dump() == target.model_dump()
    assert len(desk.job.design.drops) == 22
    assert [line.id for line in made.layout.lines] == [
        "prewash",
        "remover",
        "degreaser",
        "glass",
        "sanitiser",
        "air",
    ]
    assert made.layout == wanted.layout
    assert made.takeoff == wanted.takeoff
    assert made.price == wanted.price
    assert made.findings == wanted.findings
    assert made.price.totals.total.likely > 0
    assert desk.window.header.firm.text() in desk.window.header.range.text()

    acts = session.history.position
    assert acts > 50
    for _ in range(acts):
        session.undo()
    assert session.job == Job()
    assert session.history.undo_name == ""
    for _ in range(acts):
        session.redo()
    assert session.job.model_dump() == target.model_dump()
    assert session.study.price == wanted.price


def test_harrow_mill_from_blank_reaches_the_same_study(desk: Hands) -> None:
    """The upgrade: what hangs there stays and costs nothing."""
    target = load_job(EXAMPLES / "harrow-mill.baydrop")
    build(desk, target)
    made, wanted = desk.window.session.study, study(target, shipped_price_book(), STUDIED)
    assert made.takeoff == wanted.takeoff
    assert made.price == wanted.price
    assert any(row.existing for row in made.takeoff)
