"""Times single stages at the sizes that the tests count the work of. Run by hand:

    python tests/benchmarks/stages.py [--rounds 7]

Each stage is run several times; its best and its median wall time and its median processor time are printed beside a
yardstick, a fixed sum in pure Python timed in turn with them, so that figures of two machines, or of one machine on
two days, can be held against each other. Wished for an edit to feel instant (common practice, no source): pricing 200
rows 20 ms; laying out six stations 15 ms and thirty 150 ms; a tank's days 500 ms; cutting 60 pieces 50 ms; writing
and reading the largest job 2 s; refusing half a million keys 5 s.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from itertools import count
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from estimator.hydraulics import tank as tk  # noqa: E402
from estimator.hydraulics.simultaneous import Guns  # noqa: E402
from estimator.layout.plan import lay_out  # noqa: E402
from estimator.model.terms import LabourRate  # noqa: E402
from estimator.pricing.price import price_rows  # noqa: E402
from estimator.reference.catalogue import catalogue  # noqa: E402
from estimator.store.jobs import JobFileError, job_from_text, load_job, save_job  # noqa: E402
from estimator.takeoff.cutting import Stock, cut  # noqa: E402
from tests.hydraulics.test_tank import L_MIN, LITRE  # noqa: E402
from tests.layout.examples import bay, design, drop, hall  # noqa: E402
from tests.layout.test_plan import _SERVICES, LEFT, RIGHT  # noqa: E402
from tests.pricing.test_price import book, entry, row, terms  # noqa: E402
from tests.store.test_jobs import _large_job, _with_keys  # noqa: E402


def pricing() -> Callable[[], object]:
    """Two hundred rows."""
    entries = tuple(entry(f"P-{i}", "1.25", "1.75", "2.50", minutes="2.5") for i in range(200))
    takeoff = tuple(row(e.code, 3.7) for e in entries)
    return partial(price_rows, takeoff, terms(labour=LabourRate()), book(*entries))


def layout(stations: int) -> Callable[[], object]:
    """A hall of so many stations with all services at each."""
    bays = tuple(bay(f"b{i}", 1.0 + 6.0 * i, 0.5 * (i * 37 % 7)) for i in range(stations // 2))
    drops = tuple(drop(b.id, side, s) for b in bays for side in (LEFT, RIGHT) for s in _SERVICES)
    return partial(lay_out, hall(), design(bays, drops), catalogue())


def tank_days() -> Callable[[], object]:
    """A tank's days with three tanks; another seed each time, because the answer is kept."""
    seeds = count(100)

    def run() -> None:
        day = tk.ShopDay((Guns(6, 0.5, 1.2 * L_MIN),), 4.0 * L_MIN, seed=next(seeds))
        tk.simulate(day, [tk.tank(v * LITRE) for v in (30, 60, 120)])

    return run


def cutting() -> Callable[[], object]:
    """Sixty pieces with repeated lengths from two stock lengths."""
    pieces = [600 + 100 * (i * 7 % 19) for i in range(60)]
    return partial(cut, pieces, [Stock(3000, 110), Stock(6000, 200)], 3)


def largest_job(folder: str) -> Callable[[], object]:
    """Written and read."""
    job, path = _large_job(600), Path(folder, "large.baydrop")

    def run() -> None:
        save_job(path, job)
        load_job(path)

    return run


def keys() -> Callable[[], object]:
    """A file of half a million keys, refused."""
    text = _with_keys(500_000)

    def run() -> None:
        try:
            job_from_text(text, "keys.baydrop")
        except JobFileError:
            return
        raise AssertionError("half a million keys were taken")

    return run


def yardstick() -> None:
    """A fixed sum in pure Python."""
    total = 0
    for i in range(1_000_000):
        total += i & 7


def main() -> None:
    """Print the table."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--rounds", type=int, default=7)
    rounds = options.parse_args().rounds
    with tempfile.TemporaryDirectory() as folder:
        stages: dict[str, Callable[[], object]] = {
            "yardstick": yardstick,
            "pricing 200 rows": pricing(),
            "layout of 6 stations": layout(6),
            "layout of 30 stations": layout(30),
            "days of three tanks": tank_days(),
            "cutting 60 pieces": cutting(),
            "largest job, written and read": largest_job(folder),
            "half a million keys, refused": keys(),
        }
        taken: dict[str, list[tuple[float, float]]] = {name: [] for name in stages}
        for turn in range(rounds + 1):
            for name, stage in stages.items():
                wall, own = time.perf_counter(), time.process_time()
                stage()
                figures = 1000 * (time.perf_counter() - wall), 1000 * (time.process_time() - own)
                if turn > 0:  # the first fills what is kept
                    taken[name].append(figures)
    ruler = statistics.median(own for _, own in taken["yardstick"])
    print(f"{'':<32}{'best':>9}{'median':>9}{'own':>9} ms {'yardsticks':>11}   {rounds} rounds")
    for name, runs in taken.items():
        walls, owns = [w for w, _ in runs], [o for _, o in runs]
        own = statistics.median(owns)
        print(f"{name:<32}{min(walls):9.1f}{statistics.median(walls):9.1f}{own:9.1f}    {own / ruler:11.2f}")


if __name__ == "__main__":
    main()
