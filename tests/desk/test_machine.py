"""Random edits, undo, redo, save and load against a plain list of jobs."""

from __future__ import annotations

from pathlib import Path

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule
from pytestqt.qtbot import QtBot

from estimator.desk.doing.files import Files
from estimator.desk.form.rows import RowsEditor
from estimator.desk.session import Session
from estimator.desk.window import Window
from estimator.model.job import Job
from estimator.store.jobs import load_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import study
from tests.days import STUDIED
from tests.desk.hands import Hands, Said

_TEXTS = st.sampled_from(
    [
        "7 m",
        "23 ft",
        "12 ft 6 in",
        "9",
        "-1 m",
        "",
        "nonsense",
        "40",
        "0.5",
        "<b>x</b>",
        "=1+1",
        "Ω é Ж",
        "3 psi",
    ]
)
_FIELDS = st.sampled_from(
    [
        ("site", ("floor", "width")),
        ("site", ("board", "along")),
        ("site", ("use", "guns_open")),
        ("customer", ("name",)),
        ("terms", ("rule_percent",)),
        ("terms", ("labour", "high")),
        ("design", ("clip_spacing",)),
    ]
)
_LISTS = st.sampled_from(["products", "bays", "drops", "plant", "lines"])
_BUTTONS = st.sampled_from(["add", "duplicate", "remove", "up", "down"])


class Desk(RuleBasedStateMachine):
    """One window for all runs, each of which begins with a blank job; `past` is what its history must be."""

    hands: Hands
    folder: Path

    @initialize()
    def begin(self) -> None:
        """A blank job."""
        self.window, self.said = self.hands.window, self.hands.said
        self.window.session.open(Job(), None)
        self.window.go_to_page("quick")
        self.past = [Job()]
        self.at = 0

    def _follow(self) -> None:
        """An act that changed something is one step; one that did not is none."""
        job = self.hands.job
        if job != self.past[self.at]:
            del self.past[self.at + 1 :]
            self.past.append(job)
            self.at += 1

    @rule(where=_FIELDS, text=_TEXTS)
    def type_text(self, where: tuple[str, tuple[str, ...]], text: str) -> None:
        """Into a field."""
        self.hands.put(self.hands.editor(where[0], *where[1]), text)
        self._follow()

    @rule()
    def quick_build(self) -> None:
        """A design."""
        self.hands.press_build()
        if self.window.session.history.position > self.at:
            # Building the same again is an act too.
            del self.past[self.at + 1 :]
            self.past.append(self.hands.job)
            self.at += 1

    @rule(name=_LISTS, button=_BUTTONS, row=st.integers(0, 30))
    def press(self, name: str, button: str, row: int) -> None:
        """A button of a list."""
        rows: RowsEditor = self.hands.rows(name)
        if rows.rows.rows:
            rows.select([row % len(rows.rows.rows)])
        if rows.buttons[button].isEnabled():
            rows.buttons[button].click()
        self._follow()

    @precondition(lambda self: self.at > 0)
    @rule()
    def undo(self) -> None:
        """One back."""
        self.window.session.undo()
        self.at -= 1

    @precondition(lambda self: self.at + 1 < len(self.past))
    @rule()
    def redo(self) -> None:
        """One forward."""
        self.window.session.redo()
        self.at += 1

    @rule()
    def save_and_load(self) -> None:
        """The file holds the job; what is read is the job; the history begins anew."""
        path = self.folder / "job.baydrop"
        self.said.saves = path
        # The file of an earlier run is gone over, which is asked; the job's own file needs no question.
        asked, own = len(self.said.asked), self.window.session.path == path
        self.said.yes = path.exists() and not own
        assert self.window.files.save_as()
        assert len(self.said.asked) - asked == int(self.said.yes)
        self.said.yes = False
        assert load_job(path) == self.hands.job
        assert self.window.files.open_path(path)
        self.past, self.at = [self.hands.job], 0

    @invariant()
    def the_job_is_the_one_of_the_list(self) -> None:
        """Undo is the list of earlier values."""
        if hasattr(self, "past"):
            session = self.window.session
            assert session.job == self.past[self.at]
            assert session.history.position == self.at
            assert bool(session.history.redo_name) == (self.at + 1 < len(self.past))

    @invariant()
    def the_study_is_that_of_the_job(self) -> None:
        """What is shown follows from the job, whatever was kept on the way."""
        if hasattr(self, "past"):
            session = self.window.session
            assert session.study.price == study(session.job, session.book, STUDIED).price
            assert self.window.header.firm.text()


def test_random_work_keeps_every_invariant(home: Path, tmp_path: Path, qtbot: QtBot) -> None:
    """A modest number of runs; more with the explore profile."""
    session, said = Session(Job(), shipped_price_book()), Said()
    window = Window(session, Files(session, said, keep_book=False), said)
    qtbot.addWidget(window)

    class Run(Desk):
        hands = Hands(window, said, qtbot)
        folder = tmp_path

    case = Run.TestCase
    case.settings = settings(max_examples=15, stateful_step_count=25, deadline=None)
    case("runTest").runTest()
    window.close()
