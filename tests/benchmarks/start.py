"""Times the start of the desk to its first paint, against a bare PySide6 window. Run by hand:

    python tests/benchmarks/start.py [--rounds 10]

Each start is a process of its own, off-screen, from the call of the interpreter until the first paint has been done;
the two kinds take turns, so that a machine that is busy with other work slows both. Wall time and processor time are
both printed; on such a machine only the second says much. A third kind, the bare window with numpy, pydantic and babel
imported beside it, shows how much of the desk's start its packages take. The desk starts as a person starts it: a blank
job, a home folder with nothing in it, the whole window. Target: at most 6 times the bare window, 4 wished.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]

_BARE = """
from PySide6.QtCore import QTimer
from PySide6.QtGui import QPaintEvent
from PySide6.QtWidgets import QApplication, QWidget
class Bare(QWidget):
    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        QTimer.singleShot(0, app.quit)
app = QApplication([])
window = Bare()
window.show()
app.exec()
"""

# The window paints itself before its children in one pass; the timer fires when that pass is over.
_DESK = """
from PySide6.QtCore import QTimer
from PySide6.QtGui import QPaintEvent
from PySide6.QtWidgets import QApplication
from estimator.desk import app
class Timed(app.Window):
    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        QTimer.singleShot(0, QApplication.quit)
app.Window = Timed
app.main([])
"""

KINDS = {
    "bare window": _BARE,
    "bare window, numpy, pydantic, babel": f"import numpy, pydantic, babel\npydantic.BaseModel\n{_BARE}",
    "desk": _DESK,
}
WISHED, HIGHEST = 4.0, 6.0


def start(script: str, home: str) -> tuple[float, float]:
    """Wall and processor milliseconds from the call of the interpreter to the first paint.

    The process leaves as soon as it has painted, so that taking it down is no part of either.

    Raises:
        RuntimeError: it ended otherwise; the text is what it said.
    """
    leave = "\nimport os, sys; sys.stdout.flush(); os._exit(0)\n"
    variables = {
        **{name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"},
        "QT_QPA_PLATFORM": "offscreen",
        "HOME": home,
        "BAYDROP_HOME": home,
        "PYTHONPYCACHEPREFIX": str(Path(home, "bytecode")),  # as after a first start, and nothing left behind
    }
    before = os.times()
    began = time.perf_counter()
    told = subprocess.run(
        [sys.executable, "-c", script + leave], cwd=ROOT, env=variables, capture_output=True, check=False
    )
    wall = time.perf_counter() - began
    after = os.times()
    if told.returncode != 0:
        raise RuntimeError(told.stderr.decode())
    own = after.children_user + after.children_system - before.children_user - before.children_system
    return 1000.0 * wall, 1000.0 * own


def middle(figures: list[tuple[float, float]]) -> tuple[float, float]:
    """Medians of wall and processor time."""
    return statistics.median(f[0] for f in figures), statistics.median(f[1] for f in figures)


def main() -> None:
    """Print the table."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--rounds", type=int, default=10)
    rounds = options.parse_args().rounds
    taken: dict[str, list[tuple[float, float]]] = {name: [] for name in KINDS}
    with tempfile.TemporaryDirectory() as home:
        for turn in range(rounds + 1):
            for name, script in KINDS.items():
                figures = start(script, home)
                if turn > 0:  # the first fills the caches of bytecode and files
                    taken[name].append(figures)
    bare = middle(taken["bare window"])
    print(f"{'':<38}{'wall':>9}{'own':>9} ms {'times bare':>11}{'own':>7}   medians of {rounds}")
    for name, runs in taken.items():
        wall, own = middle(runs)
        print(f"{name:<38}{wall:9.0f}{own:9.0f}    {wall / bare[0]:11.2f}{own / bare[1]:7.2f}")
    # Rounds stand side by side: the ratio of a round is less moved by other work than that of two medians.
    pairs = zip(taken["desk"], taken["bare window"], strict=True)
    ratio = statistics.median(desk[0] / plain[0] for desk, plain in pairs)
    word = "wished" if ratio <= WISHED else "met" if ratio <= HIGHEST else "NOT met"
    print(
        f"desk against bare window, median of rounds: {ratio:.2f} (at most {HIGHEST:g}, {WISHED:g} wished): {word}"
    )


if __name__ == "__main__":
    main()
