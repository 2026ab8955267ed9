"""Times single stages at the sizes that the tests count the work of. Run by hand:

    python tests/benchmarks/stages.py [--rounds 7]

Each stage is run several times; its best and its median wall time and its median processor time are printed beside a
yardstick, a fixed sum in pure Python timed in turn with them, so that figures of two machines, or of one machine on
two days, can be held against each other. Wished for an edit to feel instant (common practice, no source): pricing 200
rows 20 ms; laying out six stations 15 ms and thirty 150 ms; the days of the tanks ten frames, 167 ms; cutting 60 pieces
50 ms; writing and reading the largest job 2 s; refusing half a million keys 5 s.
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

from estimator.hydraulics.day import ByCount, simulate  # noqa: E402
from estimator.hydraulics.simultaneous import Guns  # noqa: E402
from estimator.hydraulics.sprays import LineSprays, thrown_draws  # noqa: E402
from estimator.hydraulics.tank import tank  # noqa: E402
from estimator.layout.plan import lay_out  # noqa: E402
from estimator.model.terms import LabourRate  # noqa: E402
from estimator.pricing.price import price_rows  # noqa: E402
from estimator.reference.catalogue import catalogue  # noqa: E402
from estimator.store.jobs import JobFileError, job_from_text, load_job, save_job  # noqa: E402
from estimator.takeoff.cutting import Stock, cut  # noqa: E402
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


def tank_days(number: int, sprays_an_hour: float) -> Callable[[], object]:
    """As many days as the proof throws, of so many tanks that share their water; other dice each time."""
    seeds = count(100)
    share = sprays_an_hour * 300.0 / 3600.0 / 4
    lines = (LineSprays((Guns(4, share, 1.2 / 60000.0),), 300.0),) * number
    fill = ByCount(
        tuple(0.002 / 60 / (2 + k) for k in range(number)), tuple(64.0 + 9 * k for k in range(number))
    )

    def run() -> None:
        simulate([tank(0.030)] * number, fill, thrown_draws(lines, 9.0, 400, next(seeds)))

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
            "400 days of 5 tanks, 1.5 sprays/h": tank_days(5, 1.5),
            "400 days of 5 tanks, 5 sprays/h": tank_days(5, 5.0),
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
    print(f"{'':<36}{'best':>9}{'median':>9}{'own':>9} ms {'yardsticks':>11}   {rounds} rounds")
    for name, runs in taken.items():
        walls, owns = [w for w, _ in runs], [o for _, o in runs]
        own = statistics.median(owns)
        print(f"{name:<36}{min(walls):9.1f}{statistics.median(walls):9.1f}{own:9.1f}    {own / ruler:11.2f}")


if __name__ == "__main__":
    main()
