"""How long the window makes an event wait while six offered options are worked out in view. Run by hand:

    QT_QPA_PLATFORM=offscreen python tests/benchmarks/options_live.py [--rounds 10] [--view options] [--page drops]

A timer asks to be called every 2 ms; an event that comes while the window is busy waits as long as the timer is late.
Each round edits the base design, so that every option is worked out anew. Compared are the window as it is, with the
options worked out beside it, and the same work done inside the window in one go. The edit itself is an event among the
others; it is told apart too. All views were in view before, as in a window that was worked with. Target: no event of
any kind over 50 ms. A machine that does other work too makes every wait longer, so the processor time of each event is
told beside it, and the share of the processor that was had.
"""

from __future__ import annotations

import argparse
import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
os.environ["BAYDROP_HOME"] = tempfile.mkdtemp()

from PySide6.QtCore import QEvent, QObject, Qt, QTimer  # noqa: E402
from PySide6.QtWidgets import QApplication  # noqa: E402

from estimator.acts.options import with_option  # noqa: E402
from estimator.desk.app import make_window, spare_searches  # noqa: E402
from estimator.desk.window import Window  # noqa: E402
from estimator.model.design import Design  # noqa: E402
from estimator.model.edit import with_value  # noqa: E402
from estimator.model.job import Job  # noqa: E402
from estimator.model.option_designs import option_ids  # noqa: E402
from estimator.store.jobs import load_job  # noqa: E402
from estimator.study import Pipeline  # noqa: E402

TICK_MS = 2
TARGET_MS = 50.0
OPTIONS = 6


VIEWS = ("plan", "takeoff", "buying", "proof", "risk", "options", "revisions")


class Measured(QApplication):
    """Tells the processor time that each event took in the window's thread.

    Attributes:
        own_ms: of each event while `measures`, with what it was.
    """

    def __init__(self) -> None:
        super().__init__([])
        self.measures = False
        self.own_ms: list[tuple[float, str]] = []
        self._inside = False

    def notify(self, receiver: QObject, event: QEvent) -> bool:
        """As the toolkit does it; an event that is sent while another is answered counts as part of that."""
        if self._inside or not self.measures:
            return super().notify(receiver, event)
        self._inside = True
        name = f"{event.type().name} of {type(receiver).__name__}"
        began = time.thread_time()
        try:
            return super().notify(receiver, event)
        finally:
            self.own_ms.append(((time.thread_time() - began) * 1000.0, name))
            self._inside = False


class Waits(QObject):
    """How late a timer is called."""

    def __init__(self) -> None:
        super().__init__()
        self.ms: list[float] = []
        self._last = 0.0
        self._timer = QTimer(self)
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._timer.setInterval(TICK_MS)
        self._timer.timeout.connect(self._tick)

    def _tick(self) -> None:
        now = time.perf_counter()
        self.ms.append(max((now - self._last) * 1000.0 - TICK_MS, 0.0))
        self._last = now

    def begin(self) -> None:
        """From now on."""
        self.ms, self._last = [], time.perf_counter()
        self._timer.start()

    def end(self) -> list[float]:
        """What was measured, the wait that is under way included."""
        self._tick()
        self._timer.stop()
        return self.ms


def job_with_options() -> Job:
    """The new-system example with six offered options, each another hose length."""
    job = load_job(ROOT / "resources" / "examples" / "gannet-quay.baydrop")
    for number in range(OPTIONS):
        design = with_value(job.design, ("drops", number, "hose_length"), f"{7 + number} m")
        assert isinstance(design, Design)
        job, option = with_option(job, f"Option {number + 1}", design)
        place = option_ids(job).index(option) - 1
        job = with_value(job, ("alternatives", place, "offered"), True)
    return job


def edited(job: Job, turn: int) -> Job:
    """Another busy hour: every line of every option is proved anew."""
    return with_value(job, ("site", "use", "vehicles_per_hour"), 1.51 + turn / 100)


def until(app: QApplication, ready: Callable[[], bool]) -> None:
    """Let the window live until something holds."""
    while not ready():
        app.processEvents()
        time.sleep(0.0005)  # as the event loop sleeps between two events


def beside(app: QApplication, window: Window, turn: int, waits: Waits) -> tuple[float, list[float], float]:
    """The edit, the waits of all events (the edit's own among them), and the time until all designs are there, ms."""
    job = edited(window.session.whole, turn)  # typed and checked before the act
    edit: list[float] = []

    def act() -> None:
        began = time.perf_counter()
        window.session.act_whole("Edit", job)
        edit.append((time.perf_counter() - began) * 1000.0)

    start = time.perf_counter()
    waits.begin()
    QTimer.singleShot(4, act)
    session = window.session
    until(
        app,
        lambda: (
            bool(edit)
            and session.known is not None
            and not session.studies.missing
            and not session.turns.is_busy
        ),
    )
    found = waits.end()
    return edit[0], found, (time.perf_counter() - start) * 1000.0


def inside(app: QApplication, pipeline: Pipeline, window: Window, turn: int, waits: Waits) -> list[float]:
    """The waits while the same options are worked out in the window's own thread in one go."""
    session = window.session
    job = edited(session.whole, turn)
    done: list[bool] = []

    def work() -> None:
        whole = pipeline.study(job, session.book, session.today())
        for study in (whole, *whole.options):
            assert study.risk.result is not None
        done.append(True)

    waits.begin()
    QTimer.singleShot(4, work)
    until(app, lambda: bool(done))
    return waits.end()


def main() -> None:
    """Print the figures of both."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=10)
    parser.add_argument("--view", choices=VIEWS, default="options")
    parser.add_argument("--page", default="drops")
    given = parser.parse_args()
    rounds = given.rounds
    app = Measured()
    sys.setswitchinterval(0.001)  # as the desk's start does
    window, _ = make_window()
    window.show_theme("light")
    window.resize(1366, 768)
    window.show()
    window.session.open(job_with_options(), None)
    for view in (*VIEWS, given.view):
        window.show_view(view)
        until(app, lambda: not window.session.studies.is_busy)
    window.go_to_page(given.page)
    spare_searches()
    waits, pipeline = Waits(), Pipeline(window.session.parts)
    until(app, lambda: not window.session.studies.is_busy)
    inside(app, pipeline, window, 999, waits)
    own, wall = time.process_time(), time.perf_counter()
    edits, wholes, ours, theirs = [], [], [], []
    for turn in range(rounds):
        app.measures = True
        edit, found, whole = beside(app, window, turn, waits)
        app.measures = False
        edits.append(edit)
        wholes.append(whole)
        ours += found
        theirs += inside(app, pipeline, window, 1000 + turn, waits)
    share = (time.process_time() - own) / (time.perf_counter() - wall)
    for name, values in (("beside the window", ours), ("inside the window", theirs)):
        late = sum(v > TARGET_MS for v in values)
        ordered = sorted(values)
        print(
            f"{name}: longest wait {ordered[-1]:.1f} ms, 99 of 100 under {ordered[int(len(values) * 0.99)]:.1f} ms, "
            f"{late} of {len(values)} events over {TARGET_MS:.0f} ms"
        )
    most = sorted(app.own_ms, reverse=True)
    print(
        f"processor time of an event beside: {', '.join(f'{ms:.1f} ms ({name})' for ms, name in most[:3])}; "
        f"{sum(ms > TARGET_MS for ms, _ in most)} of {len(most)} over {TARGET_MS:.0f} ms"
    )
    print(f"the edit itself: median {statistics.median(edits):.1f} ms, longest {max(edits):.1f} ms")
    print(f"until all {OPTIONS + 1} designs are there: median {statistics.median(wholes):.0f} ms")
    print(f"processor time over wall time: {share:.2f}")
    window.session.was_saved(Path("benchmark"))  # nothing to ask about at the end
    window.close()


if __name__ == "__main__":
    main()
