"""Proposing sizes at the desk: one act, taken or left, some kept. Gannet Quay is invented demo data."""

from __future__ import annotations

import threading
from decimal import Decimal
from importlib import resources
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QApplication

from estimator.acts.propose import offer
from estimator.desk.doing.propose_dialog import ProposeDialog
from estimator.desk.form.inputs import LineEdit
from estimator.desk.tables import TableLine
from estimator.going import Going, Stopped
from estimator.model.edit import with_value
from estimator.proposal.propose import propose as search
from estimator.proposal.types import Choice, Proposal
from estimator.reference.catalogue import catalogue
from estimator.shown.findings import sentences_of
from estimator.store.jobs import load_job
from estimator.study import study
from tests.days import STUDIED
from tests.desk.hands import Hands

PUMP = "plant.remover.pump"
TANK = "plant.prewash.tank"


@pytest.fixture
def quay(desk: Hands) -> Hands:
    """The example is open."""
    with resources.as_file(resources.files("resources") / "examples" / "gannet-quay.baydrop") as path:
        desk.window.session.open(load_job(path), path)
    return desk


def propose(hands: Hands) -> ProposeDialog:
    """Press the button and wait for the dialog."""
    window = hands.window
    window.show_view("proof")
    with hands.bot.waitSignal(window.proposer.shown, timeout=30_000):
        hands.press(window.proof.propose)
    dialog = window.proposer.dialog
    assert dialog is not None
    return dialog


def item(dialog: ProposeDialog, address: str) -> TableLine:
    found = dialog.table.line_of(address)
    assert found is not None, address
    return found


def tick(hands: Hands, dialog: ProposeDialog, address: str) -> None:
    """Space on a choice, and wait for the sizes to be worked out anew."""
    assert dialog.table.select(address)
    dialog.table.setFocus()
    hands.key(dialog.table, Qt.Key.Key_Space)
    assert not dialog.take.isEnabled()
    hands.bot.waitUntil(lambda: not hands.window.proposer.work.is_busy, timeout=30_000)


def pins(hands: Hands) -> tuple[str, ...]:
    return hands.job.design.pinned


def choice(dialog: ProposeDialog, address: str) -> Choice:
    return next(c for line in dialog.offer.proposal.lines for c in line.choices if c.place == address)


def test_what_is_proposed_is_told_by_names_and_never_by_ids(quay: Hands) -> None:
    dialog = propose(quay)
    lines = [line for top in dialog.table.lines for line in (top, *top.children)]
    assert len(lines) > 30
    texts = [text for line in lines for text in (*line.cells, line.told)]
    study = quay.window.session.study
    ids = [d.id for d in quay.job.design.drops]
    ids += [s.id for laid in study.layout.lines for s in laid.segments]
    assert [text for text in texts if any(key in text for key in ids)] == []
    whats = [line.cells[0] for line in lines]
    assert any("“Bay 1 left" in what and what.startswith("Tube from") for what in whats)
    assert any(what.startswith("Nozzle, Bay 1 left") for what in whats)


def test_taking_is_one_act_and_undo_brings_everything_back(quay: Hands) -> None:
    session = quay.window.session
    old, acts = session.job, session.history.position
    dialog = propose(quay)
    assert session.job is old
    changes, change = dialog.offer.changes, dialog.offer.price_change
    assert changes > 5
    before = session.study.price.totals.net.likely
    quay.press(dialog.take)
    assert session.history.position == acts + 1
    assert session.history.undo_name == f"Propose sizes: {changes} changed, 0 kept"
    assert session.study.price.totals.net.likely - before == change < 0
    assert all(d.verdict.holds for d in session.study.proof.drops)
    session.undo()
    assert session.job == old


def test_cancel_leaves_the_job(quay: Hands) -> None:
    session = quay.window.session
    old, acts = session.job, session.history.position
    dialog = propose(quay)
    quay.press(dialog.cancel)
    assert session.job is old
    assert session.history.position == acts
    assert quay.window.proposer.dialog is None
    # It can be asked again.
    quay.press(propose(quay).cancel)


def test_each_choice_tells_what_why_cost_and_neighbours(quay: Hands) -> None:
    dialog = propose(quay)
    said = sentences_of(dialog.offer.study)
    seen = 0
    for line in dialog.offer.proposal.lines:
        for one in line.choices:
            row = item(dialog, one.place)
            words = dialog.named(one)
            assert dialog.table.select(one.place)
            assert said.phrase(one.reason) in dialog.told.text()
            assert row.cells[7] == said.phrase(one.reason)
            if one.old != one.new:
                seen += 1
                assert row.cells[2] == f"→ {words.short.get(words.new, words.new)}"
                assert row.cells[1] == words.short.get(words.old, words.old) != row.cells[2]
                assert f"{words.old} → {words.new}" in dialog.told.text()
            for near, title in ((one.smaller, "Size down"), (one.larger, "Size up")):
                assert (title in dialog.told.text()) == (near is not None)
                if near is not None:
                    assert said.phrase(near.note) in dialog.told.text()
    assert seen == dialog.offer.changes
    quay.press(dialog.cancel)


def test_the_difference_of_a_tank_is_that_of_the_price_book(quay: Hands) -> None:
    dialog = propose(quay)
    one = choice(dialog, TANK)
    assert one.old != one.new
    entries = {e.code: e for e in quay.window.session.book.entries}
    codes = {t.key: t.code for t in catalogue().tanks}
    rate = quay.job.terms.labour.likely

    def installed(key: str) -> Decimal:
        entry = entries[codes[key]]
        return entry.likely + entry.labour_minutes * rate / 60

    difference = dialog.named(one).difference
    assert difference == pytest.approx(float(installed(one.new) - installed(one.old)))
    assert difference != 0
    quay.press(dialog.cancel)


def test_a_ticked_choice_is_kept_and_remembered(quay: Hands) -> None:
    session = quay.window.session
    old = quay.job.design.plant[0]
    assert old.product == "prewash"
    dialog = propose(quay)
    assert choice(dialog, TANK).new != old.tank
    tick(quay, dialog, TANK)
    assert dialog.take.isEnabled()
    kept = choice(dialog, TANK)
    assert kept.fixed
    assert kept.new == old.tank
    assert item(dialog, TANK).tick is True
    assert item(dialog, TANK).cells[2] == "kept"
    assert pins(quay) == ()
    quay.press(dialog.take)
    assert pins(quay) == (TANK,)
    assert session.job.design.plant[0].tank == old.tank
    assert session.history.undo_name.endswith("1 kept")
    # The next proposal shows it as kept, and takes it off the list as part of its act.
    dialog = propose(quay)
    assert item(dialog, TANK).tick is True
    tick(quay, dialog, TANK)
    quay.press(dialog.take)
    assert pins(quay) == ()
    assert session.job.design.plant[0].tank != old.tank
    session.undo()
    assert pins(quay) == (TANK,)


def test_two_quick_ticks_both_count(quay: Hands) -> None:
    dialog = propose(quay)
    for address in (TANK, PUMP):
        dialog.table.tick(address, True)
    quay.bot.waitUntil(dialog.take.isEnabled, timeout=30_000)
    assert set(dialog.offer.proposal.design.pinned) == {TANK, PUMP}
    assert choice(dialog, PUMP).fixed
    quay.press(dialog.cancel)
    assert pins(quay) == ()


def test_a_kept_choice_that_is_gone_can_be_forgotten(quay: Hands) -> None:
    session = quay.window.session
    session.act("pin", job=with_value(session.job, ("design", "pinned"), ("drops.gone.nozzle_size",)))
    dialog = propose(quay)
    tick(quay, dialog, "drops.gone.nozzle_size")
    assert dialog.table.line_of("drops.gone.nozzle_size") is None
    quay.press(dialog.take)
    assert pins(quay) == ()


def test_what_cannot_work_is_told_with_what_would_lift_it(quay: Hands) -> None:
    quay.put(quay.editor("site", "air", "pressure"), "1 bar")
    dialog = propose(quay)
    assert dialog.problems.isVisible()
    said = [line.cells[0] for line in dialog.problems.lines]
    assert said
    assert len(said) == len(dialog.offer.proposal.infeasible)
    assert all(s.split(":")[0][2:] in ("Mend", "Look at") for s in said)
    quay.press(dialog.cancel)
    quay.window.session.undo()
    dialog = propose(quay)
    assert not dialog.problems.isVisible()
    quay.press(dialog.cancel)


def test_only_what_changes(quay: Hands) -> None:
    dialog = propose(quay)

    def choices() -> list[TableLine]:
        return [line for top in dialog.table.lines for line in top.children]

    whole = choices()
    dialog.only_changed.click()
    assert len(choices()) == dialog.offer.changes < len(whole)
    assert all(line.cells[2].startswith("→") for line in choices())
    assert all(top.children for top in dialog.table.lines)
    dialog.only_changed.click()
    assert choices() == whole
    quay.press(dialog.cancel)


def test_a_proposal_of_the_proposal_has_nothing_to_take(quay: Hands) -> None:
    quay.press(propose(quay).take)
    dialog = propose(quay)
    assert dialog.offer.changes == 0
    assert not dialog.take.isEnabled()
    assert dialog.head.text().startswith("Nothing changes")
    quay.press(dialog.cancel)


def test_an_edit_while_it_is_worked_out_is_not_lost(quay: Hands) -> None:
    window = quay.window
    with quay.bot.waitSignal(window.proposer.shown, timeout=30_000):
        window.proposer.start()
        quay.put(quay.editor("site", "use", "vehicles_per_hour"), "1.7")
    dialog = window.proposer.dialog
    assert dialog is not None
    quay.press(dialog.take)
    assert quay.job.site.use.vehicles_per_hour == 1.7
    assert window.session.history.undo_name.startswith("Propose sizes")


def test_menu_and_key(quay: Hands) -> None:
    actions = [a for a in quay.window.findChildren(QAction) if a.shortcut().toString()]
    keys = [a.shortcut().toString() for a in actions]
    assert len(keys) == len(set(keys))
    act = next(a for a in actions if a.shortcut().toString() == "Ctrl+R")
    with quay.bot.waitSignal(quay.window.proposer.shown, timeout=30_000):
        act.trigger()
    dialog = quay.window.proposer.dialog
    assert dialog is not None
    assert dialog.table.accessibleName()
    quay.key(dialog, Qt.Key.Key_Escape)
    assert quay.window.proposer.dialog is None


def test_a_failure_is_told_and_the_job_stays(quay: Hands, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("no sizes today")

    monkeypatch.setattr("estimator.acts.propose.propose", broken)
    old = quay.job
    window = quay.window
    with quay.bot.waitSignal(window.proposer.failed, timeout=30_000):
        window.proposer.start()
    assert quay.said.told[-1] == ("No sizes could be proposed", ("no sizes today", "The job is as it was."))
    assert quay.job is old
    assert QApplication.overrideCursor() is None


def test_closing_the_window_while_it_is_worked_out(quay: Hands) -> None:
    window = quay.window
    window.proposer.start()
    assert QApplication.overrideCursor() is not None
    window.close()
    quay.bot.wait(50)
    assert window.proposer.dialog is None
    assert QApplication.overrideCursor() is None


def test_a_blank_job_says_so(desk: Hands) -> None:
    desk.window.proposer.start()
    assert desk.window.proposer.dialog is None
    assert "no drops" in desk.window.statusBar().currentMessage()


def test_an_offer_tells_the_price_of_the_job_it_makes(quay: Hands) -> None:
    book, parts = quay.window.session.book, catalogue()
    found = offer(quay.job, book, parts, (PUMP,), STUDIED)
    assert found.job.design.pinned == (PUMP,)
    after = study(found.job, book, STUDIED).price.totals.net.likely
    assert found.price_change == after - study(quay.job, book, STUDIED).price.totals.net.likely


class Search:
    """The search for sizes, counted, and held up while its gate is closed."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.gate, self.started, self.count = threading.Event(), threading.Event(), 0
        self._search = search
        monkeypatch.setattr("estimator.acts.propose.propose", self)

    def __call__(self, *inputs: Any, **more: Any) -> Proposal:
        self.count += 1
        self.started.set()
        assert self.gate.wait(30)
        return self._search(*inputs, **more)


@pytest.mark.parametrize(
    ("path", "text", "searches"),
    [(("customer", "name"), "Another Quay", 1), (("site", "use", "vehicles_per_hour"), "1.7", 2)],
)
def test_only_an_act_that_concerns_it_begins_a_proposal_anew(
    quay: Hands, monkeypatch: pytest.MonkeyPatch, path: tuple[str, ...], text: str, searches: int
) -> None:
    """The customer's name moves no size; taking the offer keeps the name."""
    window, held = quay.window, Search(monkeypatch)
    window.proposer.start()
    quay.bot.waitUntil(held.started.is_set, timeout=30_000)
    quay.put(quay.editor(path[0], *path[1:]), text)
    with quay.bot.waitSignal(window.proposer.shown, timeout=60_000):
        held.gate.set()
    assert held.count == searches
    dialog = window.proposer.dialog
    assert dialog is not None
    quay.press(dialog.take)
    editor = quay.editor(path[0], *path[1:])
    assert isinstance(editor.input, LineEdit)
    assert editor.input.text() == text
    assert window.session.history.undo_name.startswith("Propose sizes")


def test_cancel_leaves_the_search(quay: Hands, monkeypatch: pytest.MonkeyPatch) -> None:
    """It ends at its next question; no dialog comes, the cursor is as before, and it can be asked again."""
    window, held = quay.window, Search(monkeypatch)
    old = quay.job
    window.proposer.start()
    quay.bot.waitUntil(held.started.is_set, timeout=30_000)
    assert window.busy.what.text() == "Looking for sizes"
    quay.press(window.busy.cancel)
    assert QApplication.overrideCursor() is None
    held.gate.set()
    quay.bot.waitUntil(lambda: not window.proposer.work.is_busy, timeout=30_000)
    assert window.proposer.dialog is None
    assert quay.job is old
    assert not window.busy.isVisible()
    quay.press(propose(quay).cancel)


def test_a_search_that_nobody_wants_ends_at_its_next_question(quay: Hands) -> None:
    """Left after its first line is told: it goes no further."""
    told: list[tuple[int, int]] = []

    def hear(done: int, of: int) -> None:
        told.append((done, of))
        going.leave()

    going = Going(hear)
    with pytest.raises(Stopped):
        offer(quay.job, quay.window.session.book, catalogue(), (), STUDIED, going=going)
    assert told == [(0, len(quay.window.session.study.layout.lines))]
