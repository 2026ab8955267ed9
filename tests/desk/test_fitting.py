"""The list of findings offers parts that stand the product, with prices; taking one can be undone."""

from __future__ import annotations

from pathlib import Path

from estimator.model.edit import with_value
from estimator.store.jobs import load_job
from tests.desk.hands import Hands

EXAMPLE = Path(__file__).parents[2] / "resources" / "examples" / "gannet-quay.baydrop"


def test_a_part_is_offered_with_its_price_taken_and_undone(desk: Hands) -> None:
    window, session = desk.window, desk.window.session
    wrong = with_value(load_job(EXAMPLE), ("design", "plant", 1, "proportioner"), "prop-standard")
    session.open(wrong, None)
    table = window.findings.table
    assert table.select(table.lines[0].key) and "does not stand" in table.lines[0].cells[0]
    assert window.findings.fit.isVisible()
    desk.press(window.findings.fit)
    desk.bot.waitUntil(lambda: window.fitting.menu is not None)
    menu = window.fitting.menu
    assert menu is not None
    (action,) = menu.actions()
    assert action.text().startswith("Use Proportioner, standard flow, PVDF and FKM: +")
    action.trigger()
    menu.close()
    assert session.job.design.plant[1].proportioner == "prop-standard-fkm"
    assert not [f for f in session.findings if f.rule == "part-material"]
    assert not window.findings.fit.isVisible()
    desk.command("edit.undo")
    assert session.job.design.plant[1].proportioner == "prop-standard"


def test_what_is_looked_for_goes_with_the_job_that_it_was_asked_for(desk: Hands) -> None:
    """The search runs beside the window; a job that was changed meanwhile is not put back by what it finds."""
    window, session = desk.window, desk.window.session
    wrong = with_value(load_job(EXAMPLE), ("design", "plant", 1, "proportioner"), "prop-standard")
    session.open(wrong, None)
    table = window.findings.table
    assert table.select(table.lines[0].key)
    desk.press(window.findings.fit)
    session.act("Renamed", job=with_value(wrong, ("quote", "title"), "Another title"))
    desk.bot.waitUntil(lambda: not window.fitting.work.is_busy)
    assert window.fitting.menu is None
    assert session.job.quote.title == "Another title"
