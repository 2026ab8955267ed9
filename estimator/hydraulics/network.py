"""Networks of tubes: compile once, solve many sets of open outlets at once.

One interface for trees and for lines with loops::

    plan = compile_network(network)
    answer = plan.solve([[0], [0, 3], []])      # three open-sets
    answer.flow_table()                          # (3, outlets) m3/s

Several lines, each with its own liquid, go in one batch with :func:`compile_lines`. Trees are solved by
packed sweeps (:mod:`estimator.hydraulics.network_tree`), loops by :mod:`estimator.hydraulics.network_ring`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import accumulate

import numpy as np
from numpy.typing import ArrayLike

from estimator.hydraulics.coil import coil_outside
from estimator.hydraulics.friction import FloatArray, friction
from estimator.hydraulics.network_errors import ConvergenceError, NetworkInputError
from estimator.hydraulics.network_flat import FLOWING, ISOLATED, NO_FLOW, Patterns, TreeLines
from estimator.hydraulics.network_model import (
    IntArray,
    Network,
    head_ends,
    join,
    read_open_sets,
    tube_law,
)
from estimator.hydraulics.network_ring import RingPlan, eliminate, losses, ring_walk, solve_ring
from estimator.hydraulics.network_topology import Forest, Walk, forest, shape_of, walk
from estimator.hydraulics.network_tree import ITERATIONS, TOLERANCE, sweep

OpenSets = ArrayLike | Sequence[Sequence[int]]


@dataclass(frozen=True, eq=False, slots=True)
class Solution:
    """Answer of one line for all its open-sets.

    Flat arrays, one entry an open outlet, sorted by open-set (k,): ``case``, ``outlet``, ``flow_m3_s``,
    ``pressure_pa`` (gauge, at the outlet's node; for an outlet without flow the pressure that is there, 0 if
    isolated), ``status`` (:data:`FLOWING`, :data:`NO_FLOW` outlet above the available head, :data:`ISOLATED`
    behind a closed tube). Per open-set (sets,): ``source_flow_m3_s``, ``source_pressure_pa``,
    ``continuity_m3_s`` (source flow less the sum of its outlets) and ``energy_pa`` (worst energy residual).
    ``iterations`` is the most any set took.
    """

    network: Network
    sets: int
    case: IntArray
    outlet: IntArray
    flow_m3_s: FloatArray
    pressure_pa: FloatArray
    status: IntArray
    source_flow_m3_s: FloatArray
    source_pressure_pa: FloatArray
    continuity_m3_s: FloatArray
    energy_pa: FloatArray
    iterations: int
    _ring_tube_flow: FloatArray | None = field(default=None, repr=False)
    _walk: Walk | None = field(default=None, repr=False)

    def flow_table(self) -> FloatArray:
        """Flow of every outlet in every open-set (sets, outlets) [m3/s]; 0 where shut."""
        return self._table(self.flow_m3_s)

    def _table(self, values: FloatArray) -> FloatArray:
        table = np.zeros((self.sets, self.network.outlet_node.size))
        table[self.case, self.outlet] = values
        return table

    def tube_flow_m3_s(self) -> FloatArray:
        """Flow of every tube in every open-set (sets, tubes) [m3/s], positive as written."""
        if self._ring_tube_flow is not None:
            return self._ring_tube_flow.copy()
        net, way = self.network, self._way()
        need = np.zeros((net.elevation_m.size, self.sets))
        np.add.at(need, (net.outlet_node[self.outlet], self.case), self.flow_m3_s)
        flow = np.zeros((net.tube_from.size, self.sets))
        parent, tube = way.parent.tolist(), way.tube.tolist()
        end = net.tube_to.tolist()
        for node in reversed(way.order[1:]):
            need[parent[node]] += need[node]
            flow[tube[node]] = need[node] if end[tube[node]] == node else -need[node]
        return np.ascontiguousarray(flow.T)

    def node_pressure_pa(self) -> FloatArray:
        """Gauge pressure at every node in every open-set (sets, nodes) [Pa]; 0 at a node behind a closed
        tube."""
        net, way = self.network, self._way()
        flow = self.tube_flow_m3_s().T
        loss, _ = losses(tube_law(net), flow)
        heads = np.zeros((net.elevation_m.size, self.sets))
        heads[net.source_node] = self.source_pressure_pa
        parent, tube = way.parent.tolist(), way.tube.tolist()
        end = net.tube_to.tolist()
        for node in way.order[1:]:
            t = tube[node]
            drop = loss[t] if end[t] == node else -loss[t]
            heads[node] = heads[parent[node]] - drop
        pressure = heads - head_ends(net)[:, None]
        pressure[~way.reached] = 0.0
        return np.ascontiguousarray(pressure.T)

    def tube_reynolds(self) -> FloatArray:
        """Reynolds number in every tube in every open-set (sets, tubes) [-]. From 2300 to 4000 the flow is in
        transition and its friction uncertain; above 1e8 the friction law is out of its range."""
        number: FloatArray = np.abs(self.tube_flow_m3_s()) * tube_law(self.network).re_per_flow
        return number

    def outside(self, case: int) -> tuple[tuple[int, str], ...]:
        """The limits of validity an open-set does not keep: (tube, which limit); empty means all valid."""
        net = self.network
        found: list[tuple[int, str]] = []
        for tube, re in enumerate(self.tube_reynolds()[case].tolist()):
            rough = float(net.roughness_m[tube] / net.bore_m[tube])
            coil = float(net.coil_diameter_m[tube])
            limits = (
                coil_outside(re, rough, float(net.bore_m[tube]) / coil)
                if coil
                else friction(re, rough).outside
            )
            found.extend((tube, text) for text in limits)
        return tuple(found)

    def _way(self) -> Walk:
        assert self._walk is not None
        return self._walk


class LinesPlan:
    """Several lines compiled together; make it with :func:`compile_lines`."""

    def __init__(
        self,
        networks: Sequence[Network],
        walks: Sequence[Walk],
        trees: Forest | None,
        tree_lines: IntArray,
        rings: dict[int, RingPlan],
        patterns: Patterns,
    ) -> None:
        self.networks = tuple(networks)
        self._walks = tuple(walks)
        self._trees = trees
        self._tree_lines = tree_lines
        self._rings = rings
        self._patterns = patterns
        self._flat: TreeLines | None = None
        if trees is not None:
            joined = join([self.networks[i] for i in tree_lines.tolist()])
            self._flat = TreeLines(joined, trees, patterns)

    def resized(self, networks: Sequence[Network]) -> LinesPlan:
        """A plan for the same layouts with other sizes, keeping all that depends on layout alone.

        Each network must come from the one it replaces by :meth:`Network.resized`. Raises
        :class:`NetworkInputError` otherwise.
        """
        if len(networks) != len(self.networks):
            raise NetworkInputError("networks", f"give {len(self.networks)} lines")
        for at, (old, new) in enumerate(zip(self.networks, networks, strict=True)):
            same = (
                new.tube_from is old.tube_from
                and new.tube_to is old.tube_to
                and new.tube_closed is old.tube_closed
                and new.outlet_node is old.outlet_node
                and new.elevation_m.size == old.elevation_m.size
                and new.source_node == old.source_node
            )
            if not same:
                raise NetworkInputError("networks", "differs in layout; make it with resized()", at)
        rings = {at: RingPlan(networks[at], p.way, p.elimination) for at, p in self._rings.items()}
        return LinesPlan(networks, self._walks, self._trees, self._tree_lines, rings, self._patterns)

    def forget(self) -> None:
        """Drop the packed patterns kept so far (they are kept for up to 32 batches)."""
        self._patterns.kept.clear()
        if self._flat is not None:
            self._flat.forget()

    def solve(self, open_sets: Sequence[OpenSets]) -> list[Solution]:
        """Solve each line for its own open-sets; ``open_sets[i]`` belongs to line i.

        An open-set is a row of a bool array (sets, outlets), a row of outlet numbers, or a list of them.
        Raises :class:`NetworkInputError` or :class:`ConvergenceError`.
        """
        if len(open_sets) != len(self.networks):
            raise NetworkInputError("open_sets", f"give one entry for each of the {len(self.networks)} lines")
        answers: list[Solution | None] = [None] * len(self.networks)
        for at, plan in self._rings.items():
            answers[at] = self._solve_ring(at, plan, open_sets[at])
        if self._flat is not None:
            self._solve_trees(self._flat, open_sets, answers)
        return [a for a in answers if a is not None]

    def _solve_trees(
        self, flat: TreeLines, open_sets: Sequence[OpenSets], answers: list[Solution | None]
    ) -> None:
        lines = self._tree_lines.tolist()
        read = [read_open_sets(self.networks[i].outlet_node.size, open_sets[i]) for i in lines]
        first_set = [0, *accumulate(r[2] for r in read)]
        bounds = [0, *accumulate(r[0].size for r in read)]
        if len(lines) == 1:
            case, outlet, _ = read[0]
            line = np.zeros(case.size, dtype=np.int64)
        else:
            line = np.repeat(np.arange(len(lines)), [r[0].size for r in read])
            case = np.concatenate([r[0] + first_set[k] for k, r in enumerate(read)])
            outlet = np.concatenate([r[1] + flat.lines.first_outlet[k] for k, r in enumerate(read)])
        try:
            found = flat.solve(case, outlet, line, first_set[-1], sweep)
        except ConvergenceError as error:
            within = error.case - first_set[error.line]
            raise ConvergenceError(lines[error.line], within, error.node, error.residual_pa) from None
        for k, at in enumerate(lines):
            net = self.networks[at]
            part, rows = slice(bounds[k], bounds[k + 1]), slice(first_set[k], first_set[k + 1])
            total = found.source_flow_m3_s[rows]
            answer = Solution(
                network=net,
                sets=read[k][2],
                case=read[k][0],
                outlet=read[k][1],
                flow_m3_s=found.flow_m3_s[part],
                pressure_pa=found.pressure_pa[part],
                status=found.status[part],
                source_flow_m3_s=total,
                source_pressure_pa=_source_pressure(net, total),
                continuity_m3_s=found.continuity_m3_s[rows],
                energy_pa=found.energy_pa[rows],
                iterations=found.iterations,
                _walk=self._walks[at],
            )
            _pressures_without_flow(answer)
            answers[at] = answer

    def _solve_ring(self, at: int, plan: RingPlan, open_sets: OpenSets) -> Solution:
        net = plan.net
        case, outlet, sets = read_open_sets(net.outlet_node.size, open_sets)
        open_ = np.zeros((net.outlet_node.size, sets), dtype=np.bool_)
        open_[outlet, case] = True
        reached = plan.way.reached[net.outlet_node]
        status = np.where(reached[outlet], FLOWING, ISOLATED)
        open_ &= reached[:, None]
        flow = np.zeros(open_.shape)
        tubes = np.zeros((net.tube_from.size, sets))
        energy = np.zeros(sets)
        iterations = 0
        todo = np.flatnonzero(open_.any(axis=0))
        while todo.size:
            found = solve_ring(plan, open_[:, todo], TOLERANCE, ITERATIONS)
            iterations = max(iterations, found.iterations)
            if not found.converged.all():
                bad = int(np.argmin(found.converged))
                raise ConvergenceError(
                    at, int(todo[bad]), int(found.worst_node[bad]), float(found.residual_pa[bad])
                )
            flow[:, todo], tubes[:, todo] = found.outlet_flow, found.tube_flow
            energy[todo] = found.residual_pa
            drawing = open_ & (flow <= 0.0)
            hit = drawing.any(axis=0)
            open_ &= ~drawing
            flow[drawing] = 0.0
            dead = hit & ~open_.any(axis=0)
            tubes[:, dead] = 0.0
            energy[dead] = 0.0
            todo = np.flatnonzero(hit & ~dead)
        out = flow[outlet, case]
        status = np.where((status == FLOWING) & (out <= 0.0), NO_FLOW, status)
        into = np.zeros(sets)
        for t in range(net.tube_from.size):
            if net.tube_from[t] == net.source_node:
                into += tubes[t]
            elif net.tube_to[t] == net.source_node:
                into -= tubes[t]
        local = flow[net.outlet_node == net.source_node].sum(axis=0)
        total = into + local
        answer = Solution(
            network=net,
            sets=sets,
            case=case,
            outlet=outlet,
            flow_m3_s=out,
            pressure_pa=(out / net.outlet_coefficient[outlet]) ** 2,
            status=status,
            source_flow_m3_s=total,
            source_pressure_pa=_source_pressure(net, total),
            continuity_m3_s=total - flow.sum(axis=0),
            energy_pa=energy,
            iterations=iterations,
            _ring_tube_flow=np.ascontiguousarray(tubes.T),
            _walk=plan.way,
        )
        _pressures_without_flow(answer)
        return answer


def _source_pressure(net: Network, flow: FloatArray) -> FloatArray:
    pressure: FloatArray = net.source_pressure_pa - flow * (
        net.source_linear_pa_s_m3 + net.source_quadratic_pa_s2_m6 * flow
    )
    return pressure


def _pressures_without_flow(answer: Solution) -> None:
    still = (answer.status == NO_FLOW).nonzero()[0]
    if still.size:
        nodes = answer.network.outlet_node[answer.outlet[still]]
        answer.pressure_pa[still] = answer.node_pressure_pa()[answer.case[still], nodes]


def compile_lines(networks: Sequence[Network], *, general: bool = False) -> LinesPlan:
    """Compile several lines to be solved in one batch.

    With ``general`` trees too go through the solver for loops (slower; for comparison). Raises
    :class:`NetworkInputError` for a node no tube reaches.
    """
    if not networks:
        raise NetworkInputError("networks", "give at least one line")
    walks: list[Walk] = []
    rings: dict[int, RingPlan] = {}
    tree_lines: list[int] = []
    for at, net in enumerate(networks):
        way = walk(net)
        if way.chords or general:
            way = ring_walk(net)
            rings[at] = RingPlan(net, way, eliminate(net, way))
        else:
            tree_lines.append(at)
        walks.append(way)
    trees = None
    if tree_lines:
        shapes = [shape_of(networks[i], walks[i]) for i in tree_lines]
        trees = forest(shapes, np.array([networks[i].tube_from.size for i in tree_lines]))
    return LinesPlan(networks, walks, trees, np.array(tree_lines, dtype=np.int64), rings, Patterns())


class NetworkPlan:
    """One line compiled; make it with :func:`compile_network`."""

    def __init__(self, lines: LinesPlan) -> None:
        self._lines = lines

    @property
    def network(self) -> Network:
        """The network this plan solves."""
        return self._lines.networks[0]

    def resized(self, network: Network) -> NetworkPlan:
        """A plan for the same layout with other sizes; ``network`` from :meth:`Network.resized`."""
        return NetworkPlan(self._lines.resized([network]))

    def solve(self, open_sets: OpenSets) -> Solution:
        """Solve all open-sets: bool (sets, outlets), int (sets, k), or lists of outlet numbers.

        Raises :class:`NetworkInputError` or :class:`ConvergenceError`.
        """
        return self._lines.solve([open_sets])[0]


def compile_network(network: Network, *, general: bool = False) -> NetworkPlan:
    """Compile one line, tree or looped (see :func:`compile_lines`).

    Energy: ``p_a - p_b = rho g (z_b - z_a) + f (L/d) rho V**2/2 + (K1/Re + K) rho V**2/2`` along each tube,
    p gauge pressure [Pa], z elevation [m], rho density [kg/m3], f Darcy factor [-], L length [m], d bore
    [m], V velocity [m/s], K1 and K fitting coefficients [-]. Outlet: ``q = c sqrt(p)``, c [m3/(s Pa**0.5)].
    Valid where the friction law is, see :meth:`Solution.tube_reynolds`. Source: Todini and Pilati (1988),
    see :mod:`estimator.hydraulics.network_ring` [1].

    Worked example: a 10 m hose of 6.35 mm to a nozzle of 1.2 L/min at 300 kPa, source 400 kPa, no lift.
    With 1.358 L/min in the hose Re is 4520, f 0.0386 and the friction 15.5 kPa; the nozzle has the rest,
    384.5 kPa, and passes 1.2 sqrt(384.5/300) = 1.358 L/min.

    >>> net = Network.build(
    ...     elevation_m=[0.0, 0.0], tube_from=[0], tube_to=[1], length_m=[10.0], bore_m=[6.35e-3],
    ...     outlet_node=[1], outlet_coefficient=[1.2 / 60000.0 / 300e3**0.5],
    ...     source_pressure_pa=400e3, density_kg_m3=998.2, viscosity_pa_s=1.0016e-3)
    >>> answer = compile_network(net).solve([[0], []])
    >>> [round(60000.0 * float(q), 3) for q in answer.source_flow_m3_s]
    [1.358, 0.0]
    """
    return NetworkPlan(compile_lines([network], general=general))
