"""The scene at the customer's desk, through the window; and what a changed file looks like."""

from __future__ import annotations

import hashlib
from datetime import date
from pathlib import Path

import pytest

from estimator.model.job import Job
from estimator.money import money_text
from estimator.pricing.revise import changes_between, issue_findings
from estimator.store.jobs import load_job
from tests.desk.hands import Hands
from tests.desk.test_options_view import ready_made

OPTIONS_TAB, REVISIONS_TAB = 5, 6


def issue(desk: Hands, reason: str, paper: Path) -> None:
    """Type the reason, press the button, wait for the paper."""
    window = desk.window
    window.tabs.setCurrentIndex(REVISIONS_TAB)
    view = window.revisions
    view.reason.setFocus()
    desk.type(view.reason, reason)
    desk.said.saves = paper
    desk.said.yes = True
    count = len(window.session.whole.issued)
    desk.press(view.issue)
    desk.bot.waitUntil(
        lambda: len(window.session.whole.issued) == count + 1 or bool(desk.said.told), timeout=60000
    )
    assert not desk.said.told, desk.said.told


def test_the_scene(desk: Hands, tmp_path: Path) -> None:
    """Two options, three live changes, issue A, change, issue B, reopen: A is as it was, B lists four changes."""
    window, session = desk.window, desk.window.session
    session.today = lambda: date(2027, 3, 1)
    desk.quick()
    window.tabs.setCurrentIndex(OPTIONS_TAB)
    ready_made(desk, "One product less")
    desk.press(window.options.offered)
    window.since.option.setCurrentIndex(0)
    window.since.option.activated.emit(0)
    firm = window.header.firm.text()
    for page, path, text in (
        ("customer", ("name",), "Demo customer (invented)"),
        ("terms", ("discount_percent",), "5"),
        ("terms", ("tax_percent",), "7"),
    ):
        desk.put(desk.editor(page, *path), text)
    assert window.header.firm.text() != firm
    assert window.since.since.text() == "Not issued yet"

    issue(desk, "First offer", tmp_path / "a.pdf")
    first = session.whole.issued[0]
    assert first.letter == "A"
    assert first.dated == date(2027, 3, 1)
    assert first.pdf_fingerprint == hashlib.sha256((tmp_path / "a.pdf").read_bytes()).hexdigest()
    assert session.history.undo_name == "Issue revision A"
    assert "nothing changed" in window.since.since.text()

    for page, path, text in (
        ("terms", ("discount_percent",), "8"),
        ("terms", ("contingency_percent",), "12"),
        ("customer", ("contact",), "Front desk"),
        ("quote", ("title",), "Second look"),
    ):
        desk.put(desk.editor(page, *path), text)
    difference = session.study.price.totals.total.likely - first.total_likely
    amount = money_text(difference, session.study.price.currency, desk.job.terms.locale)
    sign = "+" if difference > 0 else ""
    assert window.since.since.text() == f"Since revision A: {sign}{amount}, 4 changes"
    assert [line.cells[0] for line in window.revisions.moved.lines] != []
    session.today = lambda: date(2027, 3, 8)
    issue(desk, "After the visit", tmp_path / "b.pdf")

    desk.said.saves = tmp_path / "scene.baydrop"
    assert window.files.save()
    window.files.new()
    assert session.whole == Job(units=session.whole.units)
    assert window.files.open_path(tmp_path / "scene.baydrop")
    assert session.whole.issued[0] == first
    assert [r.letter for r in session.whole.issued] == ["A", "B"]
    assert not issue_findings(session.whole)
    window.tabs.setCurrentIndex(REVISIONS_TAB)
    view = window.revisions
    assert [line.cells[1] for line in view.table.lines] == ["A", "B"]
    assert [line.cells[0] for line in view.table.lines] == ["First offer", "After the visit"]
    assert all(line.cells[6] == "✓ intact" for line in view.table.lines)
    view.which.setCurrentIndex(view.which.findData("B"))
    wanted = changes_between(*session.whole.issued).words
    assert len(wanted) == 4
    assert [line.cells[0] for line in view.moved.lines] == list(wanted)
    view.table.select("A")
    desk.said.saves = tmp_path / "again.pdf"
    desk.press(view.again)
    desk.bot.waitUntil((tmp_path / "again.pdf").exists, timeout=60000)
    assert (tmp_path / "again.pdf").read_bytes() == (tmp_path / "a.pdf").read_bytes()


def test_issuing_can_be_undone_and_refused(desk: Hands, tmp_path: Path) -> None:
    """No reason, no file: nothing is issued. Undo takes a revision back, redo brings the same one."""
    window, session = desk.window, desk.window.session
    desk.quick()
    window.tabs.setCurrentIndex(REVISIONS_TAB)
    desk.press(window.revisions.issue)
    assert "Say why" in window.statusBar().currentMessage()
    desk.type(window.revisions.reason, "Try")
    desk.said.yes = True
    desk.press(window.revisions.issue)
    assert session.whole.issued == ()
    window.revisions.reason.show_text("")
    issue(desk, "Offer", tmp_path / "a.pdf")
    made = session.whole
    session.undo()
    assert session.whole.issued == ()
    assert window.since.since.text() == "Not issued yet"
    session.redo()
    assert session.whole == made


@pytest.mark.parametrize("late", [False, True])
def test_a_changed_file_and_an_expired_quote_are_told(desk: Hands, tmp_path: Path, late: bool) -> None:
    """A total edited outside is an error in view at all times; a past date is a warning that says expired."""
    window, session = desk.window, desk.window.session
    session.today = lambda: date(2027, 3, 1)
    desk.quick()
    issue(desk, "Offer", tmp_path / "a.pdf")
    desk.said.saves = tmp_path / "job.baydrop"
    assert window.files.save()
    if late:
        session.today = lambda: date(2028, 3, 1)
        session.changed.emit()
        assert any(f.rule == "quote-expired" for f in session.findings)
        assert window.since.since.text().startswith("▲")
        assert "expired" in window.revisions.warning.text()
        return
    text = (tmp_path / "job.baydrop").read_text(encoding="utf-8")
    assert '"Offer"' in text
    (tmp_path / "job.baydrop").write_text(text.replace('"Offer"', '"Other"'), encoding="utf-8")
    assert load_job(tmp_path / "job.baydrop").issued[0].reason == "Other"
    assert window.files.open_path(tmp_path / "job.baydrop")
    assert any(f.rule == "revision-changed" for f in session.findings)
    assert window.since.since.text().startswith("✕")
    window.tabs.setCurrentIndex(REVISIONS_TAB)
    assert window.revisions.table.lines[0].cells[6] == "✕ changed"
    window.tabs.setCurrentIndex(0)
    assert window.go_to("issued.0")
    assert window.tabs.currentWidget() is window.revisions
