"""How long the window's events take while parts that stand a product are looked for in the largest job. Run by hand:

    QT_QPA_PLATFORM=offscreen python tests/benchmarks/fitting_live.py [--rounds 3]

The processor time of each event in the window's thread, from the press to the menu; the target is 50 ms. What a machine
that does other work adds is not in it; the longest wait between two turns of the window is told beside it.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from estimator.acts.fitting import place_of_fit  # noqa: E402
from estimator.desk.app import make_window, spare_searches  # noqa: E402
from estimator.model.choices import Chemistry  # noqa: E402
from estimator.model.edit import with_value  # noqa: E402
from estimator.shown.entries import Entry  # noqa: E402
from tests.benchmarks.options_live import Measured, until  # noqa: E402  (sets the home folder)
from tests.large_jobs import large_job  # noqa: E402


def main() -> None:
    """Print the longest events of each round."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--rounds", type=int, default=3)
    asked = options.parse_args()
    app = Measured()
    spare_searches()
    window, _ = make_window()
    job = large_job(options=False)
    job = with_value(job, ("design", "products", 0, "sheet", "classes"), (Chemistry.PETROLEUM_SOLVENT,))
    window.session.open(with_value(job, ("design", "products", 0, "dilution"), 0.0), None)
    window.show()
    until(app, lambda: window.session.known is not None and not window.busy.isVisible())
    for _ in range(100):
        app.processEvents()
        time.sleep(0.005)
    wrong = [f for f in window.session.findings if place_of_fit(f)]
    print(f"{len(job.design.drops)} drops, {len(job.design.products)} products, {len(wrong)} wrong parts")
    for finding in wrong[: asked.rounds]:
        app.own_ms, app.measures = [], True
        before = window.fitting.menu
        began = time.thread_time()
        window.fitting.start(Entry((finding,)))
        started = (time.thread_time() - began) * 1000.0
        clock, longest = time.perf_counter(), 0.0
        while window.fitting.menu is before:
            turn = time.perf_counter()
            app.processEvents()
            longest = max(longest, (time.perf_counter() - turn) * 1000.0)
            time.sleep(0.0005)
        took = (time.perf_counter() - clock) * 1000.0
        app.measures = False
        if window.fitting.menu is not None:
            window.fitting.menu.close()
        most = sorted(app.own_ms, reverse=True)[:3]
        told = ", ".join(f"{ms:.1f} ms {name}" for ms, name in most)
        print(f"{finding.place}: menu after {took:.0f} ms; start {started:.1f} ms")
        print(f"    longest events: {told}; longest turn {longest:.1f} ms")
    window.close()


if __name__ == "__main__":
    main()
