"""The scene at the customer's desk, through the window; and what a changed file looks like."""

from __future__ import annotations

import hashlib
from datetime import date
from pathlib import Path

import pytest

from estimator.model.issued import PROMISE, Issued, handed, kept_paper
from estimator.model.job import Job
from estimator.model.revisions import issue_findings
from estimator.model.seals import short
from estimator.money import money_text
from estimator.pricing.revise import changes_between
from estimator.shown.figures import figures_of
from estimator.store.jobs import load_job
from tests.desk.hands import Hands
from tests.desk.test_options_view import ready_made
from tests.documents.studies import pages_of

OPTIONS_TAB, REVISIONS_TAB = 5, 6


def issued_of(desk: Hands) -> tuple[Issued, ...]:
    """The revisions of the open job."""
    return desk.window.session.whole.issued


def issue(desk: Hands, reason: str, paper: Path) -> None:
    """Type the reason, press the button, wait for the paper."""
    window = desk.window
    window.tabs.setCurrentIndex(REVISIONS_TAB)
    view = window.revisions
    view.reason.setFocus()
    desk.type(view.reason, reason)
    desk.said.saves = paper
    desk.said.yes = True
    if window.session.path is None:
        # The revision is kept in the job's file before its paper leaves.
        desk.said.saves = paper.with_suffix(".baydrop")
        assert window.files.save()
        desk.said.saves = paper
    count = len(window.session.whole.issued)
    # Nothing is issued before what is offered is worked out.
    desk.bot.waitUntil(lambda: not window.session.studies.missing, timeout=60000)
    desk.press(view.issue)
    desk.bot.waitUntil(
        lambda: len(window.session.whole.issued) == count + 1 or bool(desk.said.told), timeout=60000
    )
    written(desk)
    assert not desk.said.told, desk.said.told


def written(desk: Hands) -> None:
    """Wait until nothing is written any more."""
    desk.bot.waitUntil(lambda: not desk.window.files.papers.is_busy, timeout=60000)


def test_the_scene(desk: Hands, tmp_path: Path) -> None:
    """Two options, three live changes, issue A, change, issue B, reopen: A is as it was, B lists four changes."""
    window, session = desk.window, desk.window.session
    session.today = lambda: date(2027, 3, 1)
    desk.named_job()
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
    assert handed(first).dated == date(2027, 3, 1)
    assert first.paper_fingerprint == hashlib.sha256((tmp_path / "a.pdf").read_bytes()).hexdigest()
    assert load_job(tmp_path / "a.baydrop").issued == (first,)
    assert session.history.undo_name == ""
    assert "nothing changed" in window.since.since.text()

    for page, path, text in (
        ("terms", ("discount_percent",), "8"),
        ("terms", ("contingency_percent",), "12"),
        ("customer", ("contact",), "Front desk"),
        ("quote", ("title",), "Second look"),
    ):
        desk.put(desk.editor(page, *path), text)
    difference = session.study.price.totals.total.likely - handed(first).total
    amount = money_text(difference, session.study.price.currency, desk.job.terms.locale)
    sign = "+" if difference > 0 else ""
    assert window.since.since.text() == f"Since revision A: {sign}{amount}, 4 changes"
    assert [line.cells[0] for line in window.revisions.moved.lines] != []
    session.today = lambda: date(2027, 3, 8)
    issue(desk, "After the visit", tmp_path / "b.pdf")

    desk.said.saves = tmp_path / "scene.baydrop"
    assert window.files.save_as()
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
    assert all(line.cells[4] == "✓ intact" for line in view.table.lines)
    assert [line.cells[7] for line in view.table.lines] == ["replaced", "stands"]
    short_form = short(first.fingerprint)
    assert view.table.lines[0].cells[5] == short_form
    assert all(short_form in page for page in pages_of((tmp_path / "a.pdf").read_bytes()))
    assert view.promise.text() == PROMISE
    view.which.setCurrentIndex(view.which.findData("1"))
    wanted = changes_between(*session.whole.issued).words
    assert len(wanted) == 4
    assert [line.cells[0] for line in view.moved.lines] == list(wanted)
    view.table.select("0")
    desk.said.saves = tmp_path / "again.pdf"
    desk.press(view.again)
    written(desk)
    assert (tmp_path / "again.pdf").read_bytes() == (tmp_path / "a.pdf").read_bytes()


def test_issuing_cannot_be_undone_but_withdrawn(desk: Hands, tmp_path: Path) -> None:
    """No reason, no file: nothing is issued. Undo stops at a revision, saved and unsaved; withdrawing keeps it."""
    window, session = desk.window, desk.window.session
    view = window.revisions
    desk.named_job()
    window.tabs.setCurrentIndex(REVISIONS_TAB)
    desk.press(view.issue)
    assert "Say why the revision is issued" in window.statusBar().currentMessage()
    desk.type(view.reason, "Try")
    desk.said.yes = True
    desk.press(view.issue)
    assert not issued_of(desk)
    view.reason.show_text("")
    issue(desk, "Offer", tmp_path / "a.pdf")
    made = session.whole
    undo = window.menus.actions["edit.undo"]
    assert not undo.isEnabled()
    assert undo.text() == "&Undo stops at: Issue revision A"
    assert (
        session.undo_stops
        == "Issue revision A: this cannot be undone, and neither can what was done before it."
    )
    session.undo()
    assert session.whole is made
    assert "cannot be undone" in window.statusBar().currentMessage()
    with pytest.raises(IndexError):
        session.go_to(0)

    desk.put(desk.editor("quote", "title"), "Another title")
    assert undo.isEnabled()
    session.undo()
    session.undo()
    assert session.whole == made
    assert "draft after revision A" in window.header.customer.text() or not session.job.quote.number

    window.tabs.setCurrentIndex(REVISIONS_TAB)
    desk.press(view.withdraw)
    assert "Say why the revision is withdrawn" in window.statusBar().currentMessage()
    desk.type(view.reason, "Wrong shop")
    desk.press(view.withdraw)
    (a,) = issued_of(desk)
    assert a.withdrawn is not None and a.withdrawn.reason == "Wrong shop"
    assert kept_paper(a) == (tmp_path / "a.pdf").read_bytes()
    assert not view.withdraw.isEnabled()
    day = figures_of(session.whole).day(session.today())
    assert view.table.lines[0].cells[7] == f"withdrawn {day}"
    assert window.since.since.text() == "All revisions are withdrawn"
    session.undo()
    assert issued_of(desk) == (a,)
    assert load_job(tmp_path / "a.baydrop").issued == (a,)
    assert view.issue.text() == "Issue revision B…"


def test_a_file_with_a_revision_this_window_does_not_know_is_not_written_over(
    desk: Hands, tmp_path: Path
) -> None:
    """Issued from a second program meanwhile: neither a save nor a second revision A goes over it."""
    window, session = desk.window, desk.window.session
    desk.named_job()
    path = tmp_path / "job.baydrop"
    desk.said.saves = path
    assert window.files.save()
    before = session.whole
    issue(desk, "Offer", tmp_path / "a.pdf")
    held = path.read_bytes()
    session.open(before, path)
    assert not window.files.save()
    assert desk.said.told[-1][0] == "The job was not saved"
    assert "revision A that was issued from another window" in desk.said.told[-1][1][0]
    desk.said.told.clear()
    window.tabs.setCurrentIndex(REVISIONS_TAB)
    desk.type(window.revisions.reason, "Once more")
    desk.said.saves = tmp_path / "second.pdf"
    desk.press(window.revisions.issue)
    desk.bot.waitUntil(lambda: bool(desk.said.told), timeout=60000)
    assert session.whole.issued == ()
    assert path.read_bytes() == held
    assert not (tmp_path / "second.pdf").exists()


def test_a_draft_is_suggested_under_a_name_that_says_so(desk: Hands, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[str] = []

    def ask(title: str, kinds: str, suggestion: Path) -> None:
        asked.append(suggestion.name)

    monkeypatch.setattr(desk.said, "save_file", ask)
    desk.quick()
    desk.put(desk.editor("quote", "number"), "Q-7")
    desk.said.yes = True
    desk.window.files.papers.write_draft()
    assert asked == ["q-7-draft.pdf"]


@pytest.mark.parametrize("late", [False, True])
def test_a_changed_file_and_an_expired_quote_are_told(desk: Hands, tmp_path: Path, late: bool) -> None:
    """A total edited outside is an error in view at all times; a past date is a warning that says expired."""
    window, session = desk.window, desk.window.session
    session.today = lambda: date(2027, 3, 1)
    desk.named_job()
    desk.said.saves = tmp_path / "job.baydrop"
    assert window.files.save()
    issue(desk, "Offer", tmp_path / "a.pdf")
    if late:
        session.today = lambda: date(2028, 3, 1)
        session.changed.emit()
        assert any(f.rule == "quote-expired" for f in session.findings)
        assert window.since.since.text().startswith("▲")
        assert "expired" in window.revisions.warning.text()
        return
    text = (tmp_path / "job.baydrop").read_text(encoding="utf-8")
    assert r"\"Offer\"" in text
    (tmp_path / "job.baydrop").write_text(text.replace(r"\"Offer\"", r"\"Other\""), encoding="utf-8")
    assert handed(load_job(tmp_path / "job.baydrop").issued[0]).reason == "Other"
    assert window.files.open_path(tmp_path / "job.baydrop")
    assert any(f.rule == "revision-changed" for f in session.findings)
    assert window.since.since.text().startswith("✕")
    window.tabs.setCurrentIndex(REVISIONS_TAB)
    assert window.revisions.table.lines[0].cells[4] == "✕ changed"
    window.tabs.setCurrentIndex(0)
    assert window.go_to("issued.0")
    assert window.revisions.isVisible()


def test_a_revision_dated_ahead_stops_no_later_one(desk: Hands, tmp_path: Path) -> None:
    """A clock was ahead once: whoever issues or withdraws next is asked, and need not wait for that day."""
    desk.named_job()
    desk.said.saves = tmp_path / "quay.baydrop"
    assert desk.window.files.save()
    session, view = desk.window.session, desk.window.revisions
    desk.window.show_view("revisions")
    papers = desk.window.files.papers

    def issued(day: date, *, yes: bool) -> list[str]:
        session.today = lambda: day
        desk.said.yes, desk.said.saves = yes, tmp_path / f"{day}.pdf"
        view.reason.setText("Offer")
        view.start()
        desk.bot.waitUntil(lambda: not (papers.is_issuing or papers.is_busy), timeout=60_000)
        return [r.letter for r in session.whole.issued]

    assert issued(date(2099, 3, 1), yes=True) == ["A"]
    desk.said.asked.clear()
    assert issued(date(2027, 3, 1), yes=False) == ["A"]
    assert "clock was ahead then" in desk.said.asked[-1]
    assert issued(date(2027, 3, 1), yes=True) == ["A", "B"]
    assert handed(session.whole.issued[-1]).dated == date(2027, 3, 1)
    assert not desk.said.told
    view.table.select("1")
    view.reason.setText("Wrong hoses")
    view.take_back()
    assert session.whole.issued[1].withdrawn is not None
    assert load_job(tmp_path / "quay.baydrop").issued == session.whole.issued
