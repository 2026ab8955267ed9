"""Times the network solver against EPANET on the same sweeps, in one process. Run by hand:

    python tests/benchmarks/network_sweep.py [--rounds 15] [--accuracy 1e-8]

EPANET is driven as fast as its toolkit allows: opened once, hydraulics opened once, only the emitters that
change are set, initH and runH, only open outlets read. "cold" is a batch never seen before (packing
included), "warm" the same open-sets again, "resized" the same open-sets after a change of every bore (sizes
summed anew). Both sides must agree within 2.5 % on every outlet and 0.5 % in total, or the program stops.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import epanet.toolkit as en
import numpy as np

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from estimator.hydraulics.network import LinesPlan, compile_lines, compile_network  # noqa: E402
from estimator.hydraulics.network_model import IntArray  # noqa: E402
from tests.hydraulics.network_files import FOLDER, CheckNetwork, from_inp  # noqa: E402

HEADER = "[TITLE]\n{title}\n\n[JUNCTIONS]\n{junctions}\n\n[RESERVOIRS]\nP {head}\n\n[PIPES]\n{pipes}\n\n"
TAIL = (
    "[EMITTERS]\n{emitters}\n\n[OPTIONS]\nUnits LPM\nHeadloss D-W\nViscosity {viscosity}\n"
    "Specific Gravity 1.0\n"
    "Emitter Exponent 0.5\nTrials 500\nAccuracy 1e-8\nUnbalanced Stop\n\n[TIMES]\nDuration 0\n\n"
    "[REPORT]\nStatus No\nSummary No\n\n[END]\n"
)


def comb(path: Path, bays: int, guns: int, trunk_mm: float, viscosity: float, head: float) -> Path:
    """Write a made tree: a trunk, a header at each bay, a drop at each gun."""
    junctions, pipes, emitters = [], [], []
    before = "P"
    for bay in range(1, bays + 1):
        junctions.append(f"T{bay} 3.0 0")
        pipes.append(f"t{bay} {before} T{bay} 4.5 {trunk_mm} 0.0015 0.5 Open")
        before, header = f"T{bay}", f"T{bay}"
        for gun in range(1, guns + 1):
            junctions += [f"M{bay}_{gun} 3.0 0", f"N{bay}_{gun} 1.0 0"]
            pipes.append(f"h{bay}_{gun} {header} M{bay}_{gun} 1.5 12.7 0.0015 0.3 Open")
            drop = 4.0 + 0.5 * (gun % 4)
            pipes.append(f"d{bay}_{gun} M{bay}_{gun} N{bay}_{gun} {drop} 6.35 0.0015 3.0 Open")
            emitters.append(f"N{bay}_{gun} {(0.25, 0.3, 0.4)[gun % 3]}")
            header = f"M{bay}_{gun}"
    text = (HEADER + TAIL).format(
        title=f"Made tree, {bays} bays of {guns}",
        junctions="\n".join(junctions),
        head=head,
        pipes="\n".join(pipes),
        emitters="\n".join(emitters),
        viscosity=viscosity,
    )
    path.write_text(text)
    return path


class Epanet:
    """One EPANET project, kept open."""

    def __init__(self, path: Path, check: CheckNetwork, accuracy: float) -> None:
        self.project = en.createproject()
        # with an empty name the report would go to the screen
        report = Path(tempfile.gettempdir()) / f"{path.stem}-benchmark.rpt"
        en.open(self.project, str(path), str(report), "")
        en.setoption(self.project, en.ACCURACY, accuracy)
        self.nodes = [en.getnodeindex(self.project, name) for name in check.outlets]
        self.coefficients = [en.getnodevalue(self.project, i, en.EMITTER) for i in self.nodes]
        en.openH(self.project)
        for node in self.nodes:
            en.setnodevalue(self.project, node, en.EMITTER, 0.0)

    def sweep(self, rows: list[list[int]]) -> list[list[float]]:
        """Flows [L/min] of the open outlets of each open-set."""
        project, nodes, coefficients = self.project, self.nodes, self.coefficients
        put, get, emitter, demand = en.setnodevalue, en.getnodevalue, en.EMITTER, en.DEMAND
        before: set[int] = set()
        found = []
        for row in rows:
            now = set(row)
            for o in before - now:
                put(project, nodes[o], emitter, 0.0)
            for o in now - before:
                put(project, nodes[o], emitter, coefficients[o])
            before = now
            en.initH(project, 0)
            en.runH(project)
            found.append([get(project, nodes[o], demand) for o in row])
        for o in before:
            put(project, nodes[o], emitter, 0.0)
        return found

    def bare(self, row: list[int], rounds: int) -> float:
        """Median seconds of initH and runH alone for one open-set."""
        for o in row:
            en.setnodevalue(self.project, self.nodes[o], en.EMITTER, self.coefficients[o])

        def once() -> None:
            en.initH(self.project, 0)
            en.runH(self.project)

        seconds = median(once, rounds * 10)
        for o in row:
            en.setnodevalue(self.project, self.nodes[o], en.EMITTER, 0.0)
        return seconds


def median(work: Callable[[], object], rounds: int) -> float:
    """Median seconds of several runs, after one that does not count."""
    work()
    taken = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def compare(
    name: str, paths: list[Path], sets: int, guns: int, want: float, rounds: int, accuracy: float
) -> None:
    """One sweep on both sides: same answers, then times."""
    checks = [from_inp(path) for path in paths]
    engines = [Epanet(path, check, accuracy) for path, check in zip(paths, checks, strict=True)]
    dice = np.random.default_rng(12)
    tables: list[IntArray] = []
    batches = [
        [
            np.array([np.sort(dice.choice(len(c.outlets), guns, replace=False)) for _ in range(sets)])
            for c in checks
        ]
        for _ in range(rounds + 2)
    ]
    tables = batches[0]
    rows = [table.tolist() for table in tables]
    plan = compile_lines([c.network for c in checks])
    answers = plan.solve(tables)
    for engine, row, answer in zip(engines, rows, answers, strict=True):
        theirs = np.array(engine.sweep(row))
        ours = answer.flow_m3_s.reshape(sets, guns) * 60000.0
        off = float(np.abs(ours / theirs - 1.0).max())
        total = abs(float(ours.sum() / theirs.sum()) - 1.0)
        if off > 0.025 or total > 0.005:
            raise SystemExit(f"{name}: answers differ, {off:.2%} at an outlet, {total:.2%} in total")
    fresh = iter(batches[1:])
    cold = median(lambda: plan.solve(next(fresh)), rounds)
    warm = median(lambda: plan.solve(tables), rounds)
    wider = [c.network.resized(bore_m=c.network.bore_m * 1.01) for c in checks]
    resized = median(lambda: plan.resized(wider).solve(tables), rounds)
    theirs_s = median(lambda: [e.sweep(r) for e, r in zip(engines, rows, strict=True)], max(5, rounds // 3))
    print(
        f"{name}: EPANET {theirs_s * 1e3:.2f} ms; cold {cold * 1e3:.2f} ms = {theirs_s / cold:.1f} x"
        f" (want {want:g}); warm {warm * 1e3:.2f} ms = {theirs_s / warm:.1f} x;"
        f" resized {resized * 1e3:.2f} ms"
    )


def single(name: str, path: Path, outlets: list[int], rounds: int, accuracy: float) -> None:
    """One open-set alone against EPANET's bare solve."""
    check = from_inp(path)
    engine = Epanet(path, check, accuracy)
    plan = compile_network(check.network)
    bare = engine.bare(outlets, rounds)
    row = [outlets]
    empty: LinesPlan = compile_lines([check.network])

    def cold() -> None:
        empty.forget()
        empty.solve([row])

    first = median(cold, rounds * 5)
    ours = median(lambda: plan.solve(row), rounds * 5)
    print(
        f"{name}: EPANET {bare * 1e6:.0f} us; cold {first * 1e6:.0f} us = {first / bare:.1f} times as long;"
        f" warm {ours * 1e6:.0f} us = {ours / bare:.1f} times (want at most 5)"
    )


def main() -> None:
    """All sweeps."""
    parser = argparse.ArgumentParser(description="Network solver against EPANET")
    parser.add_argument("--rounds", type=int, default=15)
    parser.add_argument("--accuracy", type=float, default=1e-8)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        there = Path(folder)
        big = comb(there / "tree1600.inp", 80, 20, 50.0, 1.0, 60.0)
        shop = [
            comb(there / f"shop{i}.inp", 6, 4, 15.875, (1.0, 1.0, 1.5, 2.0, 1.0, 4.0, 1.0, 8.0)[i], 42.0)
            for i in range(8)
        ]
        tree = FOLDER / "tree200.inp"
        compare("tree of 200, 200 sets of 12", [tree], 200, 12, 10.0, given.rounds, given.accuracy)
        compare("tree of 1600, 200 sets of 12", [big], 200, 12, 60.0, given.rounds, given.accuracy)
        compare("8 lines of 24, 24 sets of 6", shop, 24, 6, 3.0, given.rounds, given.accuracy)
        single(
            "one set of 12 on the tree of 200", tree, list(range(5, 200, 17)), given.rounds, given.accuracy
        )
        single("all open on the tree of 200", tree, list(range(200)), given.rounds, given.accuracy)
        single("one set of 6 on a line of 24", shop[0], [1, 5, 9, 14, 18, 23], given.rounds, given.accuracy)
        single("all open on a line of 24", shop[0], list(range(24)), given.rounds, given.accuracy)


if __name__ == "__main__":
    main()
