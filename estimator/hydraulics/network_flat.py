"""Tree lines compiled together: open outlets in, flows out, all as flat arrays.

What :mod:`estimator.hydraulics.network` and the proof of many lines share: packing of open-sets, the sweeps, and the
shutting of outlets that would draw air in.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from estimator.hydraulics.friction import FloatArray
from estimator.hydraulics.network_errors import ConvergenceError
from estimator.hydraulics.network_model import IntArray, Joined, sum_by
from estimator.hydraulics.network_topology import Forest, Pattern, pack
from estimator.hydraulics.network_tree import Packed, Sweep, fit, sizes

FLOWING: Final = 0
NO_FLOW: Final = 1
ISOLATED: Final = 2
_KEPT_PATTERNS: Final = 32


@dataclass(frozen=True, eq=False, slots=True)
class Flat:
    """Answer of a batch. Of each open outlet (k,): ``flow_m3_s``, ``pressure_pa`` (of its law, so 0 without flow),
    ``status`` (:data:`FLOWING`, :data:`NO_FLOW` outlet above the available head, :data:`ISOLATED` behind a closed
    tube). Of each open-set (sets,): ``source_flow_m3_s``, ``energy_pa``, ``continuity_m3_s``. ``iterations`` is the
    most any set took."""

    flow_m3_s: FloatArray
    pressure_pa: FloatArray
    status: IntArray
    source_flow_m3_s: FloatArray
    energy_pa: FloatArray
    continuity_m3_s: FloatArray
    iterations: int


@dataclass(eq=False, slots=True)
class Patterns:
    """Packed shapes already made, shared by plans that differ only in sizes."""

    kept: OrderedDict[bytes, Pattern] = field(default_factory=OrderedDict)

    def get(self, trees: Forest, case: IntArray, number: IntArray, line: IntArray) -> tuple[bytes, Pattern]:
        """The pattern of a batch of open outlets, and what it is known by."""
        key = case.tobytes() + number.tobytes()
        found = self.kept.get(key)
        if found is None:
            found = pack(trees, case, number, line)
            self.kept[key] = found
            if len(self.kept) > _KEPT_PATTERNS:
                self.kept.popitem(last=False)
        else:
            self.kept.move_to_end(key)
        return key, found


class TreeLines:
    """Tree lines compiled together.

    Args:
        lines: their sizes.
        trees: their shapes.
        patterns: shared with plans of the same shapes.
    """

    def __init__(self, lines: Joined, trees: Forest, patterns: Patterns) -> None:
        self.lines, self.trees, self._patterns = lines, trees, patterns
        self._sizes = sizes(lines, trees)
        self._packed: OrderedDict[bytes, Packed] = OrderedDict()

    def forget(self) -> None:
        """Drop what was packed so far."""
        self._packed.clear()

    def solve(
        self,
        case: IntArray,
        outlet: IntArray,
        line: IntArray,
        sets: int,
        sweep: Callable[[Packed], Sweep],
    ) -> Flat:
        """Solve open-sets.

        Args:
            case, outlet, line: (k,) of each open outlet its open-set, its number among the outlets of all lines, its
                line. All sets of a line stand together.
            sets: how many open-sets.
            sweep: the solver.

        Raises:
            ConvergenceError: with the number of the open-set among all.
        """
        trees, size = self.trees, self._sizes
        flow, status = np.zeros(case.size), np.zeros(case.size, dtype=np.int64)
        energy, continuity = np.zeros(sets), np.zeros(sets)
        number = trees.outlet_number[outlet]
        status[number < 0] = ISOLATED
        iterations = 0
        open_ = (number >= 0).nonzero()[0]
        # forest numbers rise within a case, as packing wants them
        todo = open_[np.argsort(case[open_] * trees.parent.size + number[open_], kind="stable")]
        again = True
        while again and todo.size:
            packed = self._fit(case[todo], number[todo], line[todo], outlet[todo])
            found = sweep(packed)
            iterations = max(iterations, found.iterations)
            pattern = packed.pattern
            if not found.converged:
                self._fail(packed, found.residual)
            leaf = found.flow[pattern.junctions :]
            flow[todo] = leaf
            if sets == 1:
                energy[0] = found.residual.max()
            else:
                energy[pattern.case] = 0.0
                np.maximum.at(energy, pattern.case, found.residual)
            roots = pattern.steps[0][1]
            root_case = pattern.case[:roots]
            continuity[root_case] = found.flow[:roots] - sum_by(case[todo], leaf, sets)[root_case]
            drawing = leaf <= 0.0
            again = bool(drawing.any())
            if again:
                # an outlet above the head there would draw air in; it is shut and its set solved again
                shut = todo[drawing]
                flow[shut] = 0.0
                status[shut] = NO_FLOW
                hit = np.zeros(sets, dtype=np.bool_)
                hit[case[shut]] = True
                continuity[hit] = 0.0
                energy[hit] = 0.0
                todo = todo[~drawing & hit[case[todo]]]
        pressure = flow * flow * size.outlet_quadratic[outlet]
        return Flat(flow, pressure, status, sum_by(case, flow, sets), energy, continuity, iterations)

    def _fit(self, case: IntArray, number: IntArray, line: IntArray, outlet: IntArray) -> Packed:
        key, pattern = self._patterns.get(self.trees, case, number, line)
        packed = self._packed.get(key)
        if packed is None:
            packed = fit(pattern, self.trees, self._sizes, outlet)
            self._packed[key] = packed
            if len(self._packed) > _KEPT_PATTERNS:
                self._packed.popitem(last=False)
        return packed

    def _fail(self, packed: Packed, residual: FloatArray) -> None:
        over = np.where(np.isfinite(residual), residual / packed.tolerance_pa, np.inf)
        edge = int(np.argmax(over))
        number = int(packed.pattern.bottom[edge])
        nodes = self.trees.node_number
        below = (nodes == number).nonzero()[0]
        if below.size == 0:
            below = (nodes == int(self.trees.parent[number])).nonzero()[0]
        first_node = self.lines.first_node.tolist()
        at = bisect_right(first_node, int(below[0])) - 1
        raise ConvergenceError(
            at, int(packed.pattern.case[edge]), int(below[0]) - first_node[at], float(residual[edge])
        )
