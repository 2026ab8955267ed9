"""Times the study of the largest job, from nothing and after edits, at a quarter, a half and the whole. Run by hand:

    python tests/benchmarks/largest_job.py [--rounds 5]

Processor time, the least of the rounds; each figure is also told as a multiple of that of half the size, which is 2
where growth is linear. Wished for a change of run height on the whole job: twelve frames, 200 ms. Searches for garbage
are as rare as the desk makes them once it is open (`--garbage` leaves them as Python has them: some 90 ms more).
"""

from __future__ import annotations

import argparse
import gc
import sys
import time
from decimal import Decimal
from itertools import pairwise
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from estimator.model.edit import with_value  # noqa: E402
from estimator.model.options import BASE  # noqa: E402
from estimator.store.pricebooks import shipped_price_book  # noqa: E402
from estimator.study import Pipeline  # noqa: E402
from tests.days import STUDIED  # noqa: E402
from tests.large_jobs import large_job  # noqa: E402

_GARBAGE = (5_000, 10, 10)
"""As `estimator/desk/app.py` has it; imported from there it would load Qt."""
SHARES = (0.25, 0.5, 1.0)
PRICED = "run height"
"""Of this edit the price alone is timed too, which the desk shows before the rest."""
Place = tuple[str | int, ...]


def edits(turn: int) -> dict[str, tuple[Place, Any]]:
    """Places and values; values never met before in a run, so that nothing is found ready."""
    return {
        "run height": (("site", "floor", "run_height"), f"{3.01 + turn / 100:.2f} m"),
        "a hose length": (("design", "drops", 1, "hose_length"), f"{6.01 + turn / 100:.2f} m"),
        "a dilution": (("design", "products", 1, "dilution"), 30.0 + turn),
        "labour rate": (("terms", "labour", "likely"), Decimal(55 + turn)),
    }


def measured(share: float, rounds: int) -> dict[str, float]:
    """Least processor milliseconds of each kind of study."""
    book, job = shipped_price_book(), large_job(share, options=False)
    pipeline = Pipeline()
    begun = time.process_time()
    pipeline.design(job, book, STUDIED)
    least = {"from nothing": 1000.0 * (time.process_time() - begun)}
    for turn in range(rounds):
        for name, (place, value) in edits(turn).items():
            edited = with_value(job, place, value)
            begun = time.process_time()
            pipeline.design(edited, book, STUDIED)
            least[name] = min(least.get(name, 1e12), 1000.0 * (time.process_time() - begun))
            pipeline.design(job, book, STUDIED)
        priced = f"{PRICED}, its price"
        edited = with_value(job, *edits(turn + rounds)[PRICED])
        begun = time.process_time()
        pipeline.price(edited, book, BASE)
        least[priced] = min(least.get(priced, 1e12), 1000.0 * (time.process_time() - begun))
        pipeline.design(job, book, STUDIED)
    return least


def main() -> None:
    """Print the table."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--rounds", type=int, default=5)
    options.add_argument("--garbage", action="store_true")
    asked = options.parse_args()
    rounds = asked.rounds
    measured(0.02, 1)  # loads what a first study loads
    if not asked.garbage:
        gc.freeze()
        gc.set_threshold(*_GARBAGE)
    found = [measured(share, rounds) for share in SHARES]
    print(f"{'ms, and times half the size':<28}" + "".join(f"{share:>18.0%}" for share in SHARES))
    for name in found[0]:
        row = [f"{found[0][name]:18.1f}"]
        row += [f"{now[name]:10.1f} x{now[name] / before[name]:<6.1f}" for before, now in pairwise(found)]
        print(f"{name:<28}" + "".join(row))


if __name__ == "__main__":
    main()
