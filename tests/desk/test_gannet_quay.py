"""The whole first example job, built from blank by the form alone."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from estimator.model.job import Job
from estimator.store.jobs import load_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import study
from tests.cli.gannet_quay import FIRST, SECOND, revised
from tests.days import STUDIED
from tests.desk.hands import Hands
from tests.desk.test_options_view import ready_made
from tests.desk.test_revisions import OPTIONS_TAB, issue

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


def to_revision_b(desk: Hands, folder: Path) -> Path:
    """An option on the quote, issued twice with three changes between; the file that holds it."""
    window, session = desk.window, desk.window.session
    session.today = lambda: date.fromisoformat(FIRST)
    window.tabs.setCurrentIndex(OPTIONS_TAB)
    ready_made(desk, "One product less")
    desk.press(window.options.offered)
    window.since.option.setCurrentIndex(0)
    window.since.option.activated.emit(0)
    issue(desk, "First offer", folder / "a.pdf")
    desk.put(desk.editor("terms", "discount_percent"), "8")
    desk.put(desk.editor("customer", "contact"), "Front desk")
    drops = desk.rows("drops")
    drops.select([[d.id for d in desk.job.design.drops].index("3-l-glass")])
    desk.put(desk.editor_here("hose_length"), "7 m")
    session.today = lambda: date.fromisoformat(SECOND)
    issue(desk, "After the visit", folder / "b.pdf")
    assert window.files.save()
    assert session.path is not None
    return session.path


def test_gannet_quay_from_blank_reaches_the_same_study(desk: Hands, tmp_path: Path) -> None:
    """22 drops, 5 lines and air: the same layout, takeoff, price and findings as the shipped file.

    And from there to revision B: the same file, byte for byte, as the command line makes without a window.
    """
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
    assert desk.window.header.basis.text() == "From the likely cost"

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

    mine = to_revision_b(desk, tmp_path)
    (tmp_path / "cli").mkdir()
    assert mine.read_bytes() == revised(tmp_path / "cli").read_bytes()
    assert [r.letter for r in load_job(mine).issued] == ["A", "B"]
    for paper in ("a.pdf", "b.pdf"):
        assert (tmp_path / paper).read_bytes() == (tmp_path / "cli" / paper).read_bytes()


def test_harrow_mill_from_blank_reaches_the_same_study(desk: Hands) -> None:
    """The upgrade: what hangs there stays and costs nothing."""
    target = load_job(EXAMPLES / "harrow-mill.baydrop")
    build(desk, target)
    made, wanted = desk.window.session.study, study(target, shipped_price_book(), STUDIED)
    assert made.takeoff == wanted.takeoff
    assert made.price == wanted.price
    assert any(row.existing for row in made.takeoff)
