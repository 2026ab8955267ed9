"""Times the whole study after an edit, and a proposal for all lines, of the new-system example. Run by hand:

    python tests/benchmarks/study_frame.py [--rounds 30]

The edits are of several kinds: a nozzle size or a hose (one line proved anew), the busy hour (all lines), the floor
(layout and all lines), the water (all lines and plant) and a price term (nothing proved). Wall time and processor
time are both printed; on a machine that does other work too only the second says much. Targets: a study within one
frame at 60 Hz, a proposal within ten.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import time
from collections.abc import Callable
from decimal import Decimal
from functools import partial
from importlib import resources
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from estimator.layout.plan import lay_out  # noqa: E402
from estimator.model.edit import with_value  # noqa: E402
from estimator.proposal.propose import propose  # noqa: E402
from estimator.reference.catalogue import catalogue  # noqa: E402
from estimator.store.jobs import load_job  # noqa: E402
from estimator.store.pricebooks import shipped_price_book  # noqa: E402
from estimator.study import Pipeline  # noqa: E402
from tests.days import STUDIED  # noqa: E402

FRAME_MS = 1000.0 / 60.0

# A value never met before each time: nothing is found ready that an edit at the desk would have to work out. Only the
# nozzle sizes come round again, since a standard has few.
SIZES = ("015", "02", "025", "03", "04", "05", "06", "08")
EDITS: dict[str, tuple[tuple[str | int, ...], Callable[[int], Any]]] = {
    "a nozzle size": (("design", "drops", 1, "nozzle_size"), lambda turn: SIZES[turn % len(SIZES)]),
    "a hose length": (("design", "drops", 1, "hose_length"), lambda turn: f"{6.01 + turn / 100:.2f} m"),
    "vehicles in the busy hour": (("site", "use", "vehicles_per_hour"), lambda turn: 1.51 + turn / 100),
    "floor width": (("site", "floor", "width"), lambda turn: f"{24.01 + turn / 100:.2f} m"),
    "water temperature": (("site", "water", "temperature"), lambda turn: f"{15.1 + turn / 10:.1f} °C"),
    "water pressure": (("site", "water", "pressure"), lambda turn: f"{3.51 + turn / 100:.2f} bar"),
    "labour rate": (("terms", "labour", "likely"), lambda turn: Decimal(55) + Decimal(turn) / 100),
}


def timed(work: Callable[[], object]) -> tuple[float, float]:
    """Wall and processor milliseconds of one call."""
    wall, own = time.perf_counter(), time.process_time()
    work()
    return 1000.0 * (time.perf_counter() - wall), 1000.0 * (time.process_time() - own)


def show(name: str, figures: list[tuple[float, float]], frames: float) -> None:
    """One row: medians and the least, and whether they meet the target."""
    wall = statistics.median(f[0] for f in figures)
    own = statistics.median(f[1] for f in figures)
    least = min(f[0] for f in figures)
    target = frames * FRAME_MS
    word = "met" if own <= target else "NOT met"
    print(
        f"{name:<34}{wall:9.1f}{own:9.1f}{least:9.1f} ms   target {target:5.1f} ms by processor time: {word}"
    )


def main() -> None:
    """Print the table."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--rounds", type=int, default=30)
    rounds = options.parse_args().rounds
    with resources.as_file(resources.files("resources") / "examples" / "gannet-quay.baydrop") as path:
        job = load_job(path)
    book, parts = shipped_price_book(), catalogue()
    print(f"{'':<34}{'wall':>9}{'own':>9}{'least':>9}      medians of {rounds}")
    for name, (place, value_of) in EDITS.items():
        pipeline = Pipeline()
        pipeline.study(job, book, STUDIED)
        figures = []
        for turn in range(rounds):
            edited = with_value(job, place, value_of(turn))
            figures.append(timed(partial(pipeline.study, edited, book, STUDIED)))
        show(f"study after {name}", figures, 1.0)
    layout, _ = lay_out(job.site, job.design, parts)
    rate = job.terms.labour.likely
    turns = max(3, rounds // 3)
    figures = [timed(lambda: propose(job.site, job.design, layout, parts, book, rate)) for _ in range(turns)]
    show("proposal for all lines", figures, 10.0)


if __name__ == "__main__":
    main()
