"""A job whose study takes long: the desk takes the edit at once and shows no figure that does not hold."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from threading import Event
from typing import Any

import pytest
from PySide6.QtWidgets import QApplication, QLabel, QWidget

from estimator.desk.tables import ReadTable
from estimator.desk.tables.lines import below
from estimator.going import Going
from estimator.model.edit import with_value
from estimator.model.finding import Severity
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook
from estimator.money import money_text
from estimator.pricing.types import Price
from estimator.sizing.proof import Prover
from estimator.store.jobs import load_job
from estimator.study import Pipeline, study
from tests.days import STUDIED
from tests.desk.hands import Hands, shown

EXAMPLE = Path(__file__).parents[2] / "resources" / "examples" / "gannet-quay.baydrop"
HOSE = ("design", "drops", 1, "hose_length")  # its length moves flow and price
VIEWS = ("plan", "takeoff", "buying", "proof", "risk", "options", "revisions")


class Gate:
    """Holds every price and proof until it is opened, as a large job does; what nobody wants any more ends."""

    def __init__(self, patch: pytest.MonkeyPatch) -> None:
        self.began, self._open, self._priced = Event(), Event(), Event()
        self.left = 0
        prove, price = Prover.__call__, Pipeline.price

        def proved(prover: Prover, *inputs: Any, going: Going, **more: Any) -> Any:
            self._wait(self._open, going)
            return prove(prover, *inputs, going=going, **more)

        def priced(pipeline: Pipeline, job: Job, book: PriceBook, option: str, going: Going) -> Price:
            self._wait(self._priced, going)
            return price(pipeline, job, book, option, going)

        patch.setattr(Prover, "__call__", proved)
        patch.setattr(Pipeline, "price", priced)

    def _wait(self, gate: Event, going: Going) -> None:
        self.began.set()
        while not gate.wait(0.001):
            if going.is_left:
                self.left += 1
            going.check()

    def let_price(self) -> None:
        """Prices are worked out; proofs still wait."""
        self._priced.set()

    def open(self) -> None:
        """Everything ends now."""
        self._priced.set()
        self._open.set()


@pytest.fixture
def gannet_quay(desk: Hands) -> Hands:
    """The example open, in a window that waits for nothing."""
    desk.window.session.today = lambda: STUDIED
    desk.window.session.open(load_job(EXAMPLE), None)
    desk.window.session.patience_s = 0.0
    return desk


@pytest.fixture
def gate(gannet_quay: Hands, monkeypatch: pytest.MonkeyPatch) -> Iterator[Gate]:
    """Every proof waits; opened again at the end, so that nothing hangs."""
    made = Gate(monkeypatch)
    yield made
    made.open()


def settled(desk: Hands) -> None:
    """Until the study is there, was told and is shown."""
    session = desk.window.session
    told: list[bool] = []
    session.worked_out.connect(lambda: told.append(True))
    desk.bot.waitUntil(
        lambda: session.known is not None and bool(told) and not session.turns.is_busy, timeout=60_000
    )


def words_of(widget: QWidget) -> list[str]:
    """What can be read in a widget now."""
    labels = [w.text() for w in widget.findChildren(QLabel) if w.isVisible()]
    cells = [
        cell
        for table in widget.findChildren(ReadTable)
        if table.isVisible()
        for line in below(table.lines)
        for cell in line.cells
    ]
    return [*labels, *cells]


def test_the_edit_is_taken_at_once_and_no_old_figure_stands(gannet_quay: Hands, gate: Gate) -> None:
    """The form shows it; header, list, plan, prices, proof and risk say that they are worked out, and then show it."""
    desk, window = gannet_quay, gannet_quay.window
    session = window.session
    before = money_text(session.study.price.totals.total.likely, "USD", "en_US")
    assert window.header.firm.text() == before
    for view in VIEWS:  # each has been in view, with the figures of before
        window.show_view(view)
        QApplication.processEvents()
    editor = desk.editor("site", "use", "vehicles_per_hour")
    desk.put(editor, "9")
    assert session.job.site.use.vehicles_per_hour == 9
    assert shown(editor) == "9"
    assert session.known is None
    assert window.header.firm.text() == "…"
    assert window.header.basis.text() == "Working out …"
    assert {b.accessibleName().split()[0] for b in window.header.counts.values()} == {"…"}
    assert not any(b.isEnabled() for b in window.header.counts.values())
    assert [line.cells[0] for line in window.findings.table.lines] == [
        "What is missing or wrong: working out …"
    ]
    assert "working out" in window.since.since.text()
    for view in ("takeoff", "buying", "proof", "risk"):
        window.show_view(view)
        QApplication.processEvents()
        assert [w for w in words_of(window.tabs.currentWidget()) if w] == ["Working out …"], view
    gate.open()
    settled(desk)
    wanted = study(session.whole, session.book, STUDIED)
    total = money_text(wanted.price.totals.total.likely, "USD", "en_US")
    assert window.header.firm.text() == total
    assert len(window.findings.table.lines) == len(wanted.findings)
    window.show_view("takeoff")
    window.takeoff.setCurrentIndex(0)
    assert total in words_of(window.prices)


def test_an_edit_waits_for_no_study(gannet_quay: Hands, gate: Gate) -> None:
    """However patient: the event of the edit ends before the study is there, and the picture stays for that moment.

    The desk stood still for up to the whole patience, 30 ms, and then had everything still to show in the same event.
    """
    desk, window = gannet_quay, gannet_quay.window
    session = window.session
    before = window.header.firm.text()
    session.patience_s = 60.0
    longer = with_value(session.job, HOSE, "12 m")
    session.act("A longer hose", job=longer)
    assert session.job == longer
    assert session.known is None
    assert not session.is_late
    assert window.header.firm.text() == before
    held = (window.header, window.since, window.findings, window.tabs)
    assert not any(widget.updatesEnabled() for widget in held)
    gate.open()
    settled(desk)
    wanted = study(session.whole, session.book, STUDIED).price.totals.total.likely
    assert window.header.firm.text() == money_text(wanted, "USD", "en_US") != before
    assert all(widget.updatesEnabled() for widget in held)


def test_a_study_that_is_late_is_told(gannet_quay: Hands, gate: Gate) -> None:
    """After the patience no figure of before stays, and edits in a row do not prolong it."""
    desk, window = gannet_quay, gannet_quay.window
    session = window.session
    session.patience_s = 0.005
    late: list[bool] = []
    session.late.connect(lambda: late.append(True))
    desk.put(desk.editor("site", "use", "vehicles_per_hour"), "9")
    desk.bot.waitUntil(lambda: bool(late), timeout=60_000)
    assert window.header.firm.text() == "…"
    assert window.right.updatesEnabled()
    session.patience_s = 60.0
    desk.put(desk.editor("site", "use", "vehicles_per_hour"), "2")
    assert window.header.firm.text() == "…"
    assert window.right.updatesEnabled()
    gate.open()
    settled(desk)
    assert window.header.firm.text() != "…"
    assert len(late) == 1


def test_the_price_is_there_before_the_proof(gannet_quay: Hands, gate: Gate) -> None:
    """What it costs hangs on no proof: it is shown while flow, findings and whether it works are still worked out.

    Of two edits in a row only the price of the last one comes.
    """
    desk, window = gannet_quay, gannet_quay.window
    session, firm = window.session, window.header.firm
    before, heard = firm.text(), list[Price | None]()
    session.priced.connect(lambda: heard.append(session.price))
    session.act("A longer hose", job=with_value(session.job, HOSE, "14 m"))
    session.act("Not so long", job=with_value(session.job, HOSE, "12 m"))
    assert firm.text() == "…" and not heard
    gate.let_price()
    desk.bot.waitUntil(lambda: bool(heard), timeout=60_000)
    assert session.known is None
    early = firm.text()
    assert early not in ("…", before)
    assert "proof working out" in window.header.state.text()
    assert {b.accessibleName().split()[0] for b in window.header.counts.values()} == {"…"}
    gate.open()
    settled(desk)
    wanted = study(session.whole, session.book, STUDIED).price
    assert heard == [wanted] and session.study.price == wanted
    assert early == firm.text() == money_text(wanted.totals.total.likely, "USD", "en_US")
    assert "lines" in window.header.state.text()


def test_an_edit_before_a_study_is_shown_leaves_it(gannet_quay: Hands) -> None:
    """A study that came is not shown any more when its job holds no more."""
    desk, window = gannet_quay, gannet_quay.window
    session = window.session
    session.patience_s = 60.0
    before = window.header.firm.text()
    seen: list[str] = []
    told: list[bool] = []

    def again() -> None:
        session.worked_out.disconnect(again)
        session.act("Two", job=with_value(session.job, HOSE, "13 m"))
        assert session.known is None
        seen.append(window.header.firm.text())
        session.worked_out.connect(lambda: told.append(True))

    session.worked_out.connect(again)
    session.act("One", job=with_value(session.job, HOSE, "12 m"))
    # The second study may be told in the same round of events as the first.
    desk.bot.waitUntil(
        lambda: session.known is not None and bool(told) and not session.turns.is_busy, timeout=60_000
    )
    assert seen == [before]
    wanted = study(session.whole, session.book, STUDIED).price.totals.total.likely
    assert window.header.firm.text() == money_text(wanted, "USD", "en_US") != before


def test_a_newer_edit_takes_the_place_of_the_one_worked_out(gannet_quay: Hands, gate: Gate) -> None:
    """The proof of the older edit is left in its middle; what comes is that of the newer."""
    desk, session = gannet_quay, gannet_quay.window.session
    desk.put(desk.editor("site", "use", "vehicles_per_hour"), "9")
    assert gate.began.wait(60)
    desk.put(desk.editor("site", "use", "vehicles_per_hour"), "2")
    desk.bot.waitUntil(lambda: gate.left == 1, timeout=60_000)
    told: list[object] = []
    session.worked_out.connect(lambda: told.append(session.known and session.known.job))
    gate.open()
    settled(desk)
    assert told == [session.job]
    assert session.study == study(session.whole, session.book, STUDIED)


def test_undo_takes_the_place_too(gannet_quay: Hands, gate: Gate) -> None:
    """Back to what was worked out before: that study holds again and the edit's never comes."""
    desk, session = gannet_quay, gannet_quay.window.session
    before = session.study
    desk.put(desk.editor("site", "use", "vehicles_per_hour"), "9")
    session.undo()
    gate.open()
    settled(desk)
    assert session.study == before


def test_who_relies_on_the_study_waits_for_it(gannet_quay: Hands, gate: Gate) -> None:
    """Asked for while it is worked out: the answer is of the job that holds, never of the one before."""
    desk, session = gannet_quay, gannet_quay.window.session
    pressure = with_value(session.job, ("design", "drops", 0, "nozzle_size"), "15")
    session.act("Large nozzle", job=pressure)
    assert session.known is None
    gate.open()
    wanted = study(pressure, session.book, STUDIED)
    # No event of the window runs in between.
    assert session.study == wanted
    assert session.base_study == wanted
    assert session.findings == wanted.findings
    assert any(f.severity is Severity.ERROR for f in session.findings)
    settled_once: list[bool] = []
    session.worked_out.connect(lambda: settled_once.append(True))
    desk.bot.waitUntil(lambda: bool(settled_once) and not session.turns.is_busy, timeout=60_000)
    assert gannet_quay.window.header.firm.text() != "…"


def test_a_study_that_fails_says_so_and_no_old_figure_stands(
    gannet_quay: Hands, gate: Gate, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The fault is told like any other that nothing caught; the next edit is worked out again."""
    desk, window = gannet_quay, gannet_quay.window
    session = window.session

    def broken(*_: Any) -> None:
        raise ZeroDivisionError("no study today")

    with monkeypatch.context() as patch:
        patch.setattr(Pipeline, "alone", broken)
        gate.let_price()
        with desk.bot.captureExceptions() as caught:
            desk.put(desk.editor("site", "use", "vehicles_per_hour"), "9")
            desk.bot.waitUntil(lambda: bool(caught), timeout=60_000)
        assert [type(e[1]) for e in caught] == [ZeroDivisionError]
        assert session.known is None
        assert window.header.basis.text() == "Could not be worked out"
    gate.open()
    desk.put(desk.editor("site", "use", "vehicles_per_hour"), "2")
    settled(desk)
    assert session.study == study(session.whole, session.book, STUDIED)


def test_closing_leaves_what_is_worked_out(gannet_quay: Hands, gate: Gate) -> None:
    """The window does not wait for a study that nobody will see."""
    desk = gannet_quay
    desk.put(desk.editor("site", "use", "vehicles_per_hour"), "9")
    assert gate.began.wait(60)
    desk.window.close()
    assert gate.left == 1
