"""The start: `python -m estimator.desk [JOB]`."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Sequence
from functools import partial
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from estimator.desk.app import main
from estimator.desk.doing.questions import Dialogs
from estimator.desk.views.board import BoardView
from estimator.desk.views.buying import BuyingView
from estimator.desk.views.options import OptionsView
from estimator.desk.views.plan import PlanPane
from estimator.desk.views.preview import PreviewPane
from estimator.desk.views.prices import PriceView
from estimator.desk.views.proof import ProofView
from estimator.desk.views.revisions import RevisionsView
from estimator.desk.views.risk import RiskView
from estimator.desk.window import Window
from tests.desk.hands import Hands

EXAMPLE = Path(__file__).parents[2] / "resources" / "examples" / "gannet-quay.baydrop"


@pytest.fixture
def told(home: Path, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> list[Sequence[str]]:
    """What the start tells; the event loop ends at once and the hook is put back."""
    sentences: list[Sequence[str]] = []
    monkeypatch.setattr(sys, "excepthook", sys.excepthook)
    monkeypatch.setattr(QApplication, "exec", lambda *_: 0)
    monkeypatch.setattr(Dialogs, "tell", lambda _self, _title, text: sentences.append(text))
    return sentences


def the_window() -> Window:
    """The one window, when what it was started with is open."""
    (window,) = [w for w in QApplication.topLevelWidgets() if isinstance(w, Window)]
    while window.files.opening.is_busy:
        QApplication.processEvents()
    return window


def close_window() -> Window:
    """The one window, closed."""
    window = the_window()
    window.close()
    window.deleteLater()
    return window


def test_a_job_named_at_the_start_is_open(told: list[Sequence[str]]) -> None:
    """The example with its 22 drops; nothing to tell."""
    assert main([str(EXAMPLE)]) == 0
    window = close_window()
    assert len(window.session.job.design.drops) == 22
    assert window.session.path == EXAMPLE
    assert told == []


def test_a_bad_job_tells_and_opens_blank(told: list[Sequence[str]], tmp_path: Path) -> None:
    """A cut-off file: sentences, and a blank window."""
    bad = tmp_path / "cut.baydrop"
    bad.write_text(EXAMPLE.read_text(encoding="utf-8")[:500], encoding="utf-8")
    assert main([str(bad)]) == 0
    window = close_window()
    assert window.session.path is None
    assert window.session.job.design.drops == ()
    assert "cut" in " ".join(told[0])


def test_a_blank_start_shows_the_quick_build(told: list[Sequence[str]]) -> None:
    """No file named."""
    assert main([]) == 0
    window = close_window()
    assert window.page.key == "quick"
    assert told == []


def test_a_blank_window_is_painted_before_any_library_of_later_acts_is_loaded(tmp_path: Path) -> None:
    """Solver, spreadsheets, PDF and the whole of pint come with the act that wants them, not with the start."""
    script = """
import os
import subprocess
import sys
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QWidget
from estimator.desk import app
class Painted(app.Window):
    def paintEvent(self, event):
        super().paintEvent(event)
        print(*sorted({name.split(".")[0] for name in sys.modules}))
        QTimer.singleShot(0, QApplication.quit)
app.Window = Painted
app.main([])
"""
    home = {"HOME": str(tmp_path), "BAYDROP_HOME": str(tmp_path), "QT_QPA_PLATFORM": "offscreen"}
    told = subprocess.run(
        [sys.executable, "-c", script], env={**os.environ, **home}, capture_output=True, text=True, check=True
    )
    loaded = set(told.stdout.split())
    assert "pydantic" in loaded
    assert loaded & {"numpy", "openpyxl", "pint", "PIL", "pypdfium2", "reportlab"} == set()


def _has(window: QWidget, kind: type[QWidget]) -> bool:
    return bool(window.findChildren(kind))


def test_a_view_is_built_when_it_is_first_seen(told: list[Sequence[str]], qtbot: QtBot) -> None:
    """Nothing behind the floor plan is built by the start; each view is there, filled, once chosen and worked out."""
    assert main([str(EXAMPLE)]) == 0
    window = the_window()
    views: tuple[type[QWidget], ...] = (
        PriceView,
        BuyingView,
        PreviewPane,
        ProofView,
        RiskView,
        OptionsView,
        RevisionsView,
        BoardView,
    )
    assert window.findChildren(PlanPane)
    assert not [view for view in views if window.findChildren(view)]
    qtbot.waitUntil(lambda: window.session.known is not None, timeout=60_000)
    for key, kind in zip(
        ("takeoff", "buying", "preview", "proof", "risk", "options", "revisions", "board"), views, strict=True
    ):
        window.show_view(key)
        # What follows from the job is shown in pieces, after it is there.
        qtbot.waitUntil(partial(_has, window, kind), timeout=60_000)
        (view,) = window.findChildren(kind)
        assert view.isVisible(), key
    drops = window.session.study.proof.drops
    assert window.proof.drops.model().rowCount() == len(drops)
    close_window()


def test_a_proof_built_late_has_the_drops_chosen_before(desk: Hands) -> None:
    """Chosen in the form while no proof was there; the command's key builds it."""
    desk.quick()
    desk.rows("drops").select([1, 2])
    assert not desk.window.findChildren(ProofView)
    desk.command("view.proof")
    assert set(desk.window.proof.drops.selected) == {d.id for d in desk.job.design.drops[1:3]}
