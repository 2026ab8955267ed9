"""Times a live change of one row against drawing everything anew, in one process. Run by hand:

    python tests/benchmarks/risk_live.py [--rounds 60]

Ours: one row of a job of 120 rows changes, the new P10, P50 and P90 are read. Theirs: numpy draws the whole
matrix of 120 x 10,000 beta numbers, adds the rows and takes the same three percentiles. Every change is a new
one, so nothing can be remembered; changes that move the grid to another step are among them and shown as the
slowest. Both sides must agree within 5 % of the width (the plain draws are that noisy), or the program stops.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import time
from decimal import Decimal
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from estimator.pricing.risk import DRAWS, RiskItem, RiskModel  # noqa: E402

ROWS = 120
WANTED = 10.0


def job(groups: tuple[str, ...], seed: int) -> list[RiskItem]:
    """A made job."""
    dice = np.random.default_rng(seed)
    rows = []
    for i in range(ROWS):
        low, likely, high = (
            Decimal(str(round(float(x), 2)))
            for x in sorted(dice.uniform(10, 900) * dice.uniform(0.6, 2.0, 3))
        )
        rows.append(RiskItem(f"row {i}", low, likely, high, str(dice.choice(groups))))
    return rows


def redraw(items: list[RiskItem], dice: np.random.Generator) -> list[float]:
    """P10, P50 and P90 of independent rows from a whole new matrix."""
    low = np.array([float(i.low) for i in items])[:, None]
    width = np.array([float(i.high - i.low) for i in items])[:, None]
    t = np.array([float(i.likely - i.low) for i in items])[:, None] / width
    matrix = low + width * dice.beta(1.0 + 4.0 * t, 5.0 - 4.0 * t, size=(ROWS, DRAWS))
    found: list[float] = np.percentile(matrix.sum(axis=0), [10, 50, 90]).tolist()
    return found


def measure(name: str, groups: tuple[str, ...], rounds: int) -> bool:
    """One comparison; whether it is as fast as wanted."""
    items = job(groups, 11)
    dice = np.random.default_rng(5)
    model = RiskModel(items)
    model = model.changed(items[0])
    ours, theirs = [], []
    start = time.perf_counter()
    RiskModel(items)
    whole = time.perf_counter() - start
    for k in range(rounds):
        old = items[k % ROWS]
        factor = Decimal(str(round(float(dice.uniform(0.5, 2.0)), 4)))
        rise = Decimal(str(round(float(dice.uniform(0.0, 40.0)), 2)))
        new = RiskItem(old.key, old.low * factor, old.likely * factor, old.high * factor + rise, old.group)
        start = time.perf_counter()
        model = model.changed(new)
        shown = [float(model.result.p10), float(model.result.p50), float(model.result.p90)]
        ours.append(time.perf_counter() - start)
        items[k % ROWS] = new
        start = time.perf_counter()
        drawn = redraw(items, dice)
        theirs.append(time.perf_counter() - start)
        if groups == ("",) and max(abs(a - b) for a, b in zip(shown, drawn, strict=True)) > 0.05 * (
            shown[2] - shown[0]
        ):
            raise SystemExit(f"{name}: {shown} against {drawn}")
    ratio = statistics.median(theirs) / statistics.median(ours)
    print(
        f"{name}: redrawing {statistics.median(theirs) * 1e3:.1f} ms; one row changed "
        f"{statistics.median(ours) * 1e3:.2f} ms (slowest {max(ours) * 1e3:.2f} ms); whole model anew "
        f"{whole * 1e3:.1f} ms; {ratio:.0f} times faster (wanted {WANTED:g})"
    )
    return ratio >= WANTED


def main() -> None:
    """Both jobs; ends with an error if either is too slow."""
    parser = argparse.ArgumentParser(description="Live risk against redrawing")
    parser.add_argument("--rounds", type=int, default=60)
    rounds = parser.parse_args().rounds
    fast = [
        measure("120 independent rows", ("",), rounds),
        measure("120 rows, two groups", ("", "", "tube supplier", "crew"), rounds),
    ]
    if not all(fast):
        raise SystemExit("slower than wanted")


if __name__ == "__main__":
    main()
