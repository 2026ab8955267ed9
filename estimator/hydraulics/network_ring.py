"""General solver for lines with loops: Newton on heads, many open-sets at once.

Each step is a linear network of conductances ``1/S``; it is solved by eliminating nodes one by one (star to
mesh), in an order fixed once for the layout, on arrays over the open-sets. Conductances only add and never
subtract, so a thousand-fold range of bores does no harm. Flows along a spanning tree then follow from
continuity, which holds to rounding at every step; the left-over tubes are the tightest.

Sources
-------
.. [1] Todini, E. and Pilati, S. (1988). A gradient algorithm for the analysis of pipe networks. In: Computer
   Applications in Water Supply, vol. 1, 1-20.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from estimator.hydraulics.coil import coil_groups
from estimator.hydraulics.friction import FloatArray, fast_groups
from estimator.hydraulics.network_model import (
    BoolArray,
    IntArray,
    Network,
    TubeLaw,
    head_ends,
    pressure_scale,
    tube_law,
)
from estimator.hydraulics.network_topology import Walk, walk

_PATIENCE: Final = 40


@dataclass(frozen=True, eq=False, slots=True)
class Elimination:
    """Order in which nodes leave. ``steps``: (node, neighbours, their slots, mesh as (i, j, slot))."""

    steps: tuple[tuple[int, tuple[int, ...], tuple[int, ...], tuple[tuple[int, int, int], ...]], ...]
    slot_of_tube: IntArray
    slots: int


def ring_walk(net: Network) -> Walk:
    """Walk a line with loops along its widest tubes."""
    return walk(net, (net.bore_m**5 / net.length_m).tolist())


def eliminate(net: Network, way: Walk) -> Elimination:
    """Least-neighbours-first order for the reached nodes, the source last."""
    slot: dict[tuple[int, int], int] = {}
    near: dict[int, set[int]] = {node: set() for node in way.order}
    slot_of_tube = np.full(net.tube_from.size, -1, dtype=np.int64)
    ends = zip(net.tube_from.tolist(), net.tube_to.tolist(), net.tube_closed.tolist(), strict=True)

    def slot_between(a: int, b: int) -> int:
        near[a].add(b)
        near[b].add(a)
        return slot.setdefault((min(a, b), max(a, b)), len(slot))

    for t, (a, b, shut) in enumerate(ends):
        if not shut and a in near:
            slot_of_tube[t] = slot_between(a, b)
    left = set(near) - {net.source_node}
    steps = []
    while left:
        node = min(left, key=lambda n: (len(near[n]), n))
        left.discard(node)
        others = tuple(sorted(near.pop(node)))
        for other in others:
            near[other].discard(node)
        slots = tuple(slot[(min(node, o), max(node, o))] for o in others)
        mesh = tuple(
            (i, j, slot_between(others[i], others[j]))
            for i in range(len(others))
            for j in range(i + 1, len(others))
        )
        steps.append((node, others, slots, mesh))
    return Elimination(tuple(steps), slot_of_tube, len(slot))


@dataclass(frozen=True, eq=False, slots=True)
class RingPlan:
    """A looped line ready to solve."""

    net: Network
    way: Walk
    elimination: Elimination


@dataclass(frozen=True, eq=False, slots=True)
class RingFlows:
    """``tube_flow`` (t, sets) [m3/s], ``outlet_flow`` (o, sets) [m3/s], ``head_pa`` (n, sets) pressure plus
    lift [Pa], ``residual_pa`` (sets,) worst energy residual, ``worst_node`` (sets,), ``converged`` (sets,),
    ``iterations``."""

    tube_flow: FloatArray
    outlet_flow: FloatArray
    head_pa: FloatArray
    residual_pa: FloatArray
    worst_node: IntArray
    converged: BoolArray
    iterations: int


def losses(law: TubeLaw, flow: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Signed loss [Pa] and slope [Pa s/m3] of every tube for flows (t, sets)."""
    size = np.abs(flow)
    re = size * law.re_per_flow[:, None]
    flat = re.ravel()
    rough = np.broadcast_to(law.rough[:, None], re.shape).ravel()
    group, slope = fast_groups(flat, rough)
    if law.curvature.any():
        curvature = np.broadcast_to(law.curvature[:, None], re.shape).ravel()
        at = curvature.nonzero()[0]
        group[at], slope[at] = coil_groups(flat[at], curvature[at], group[at], slope[at])
    linear, quad = law.linear[:, None], law.quadratic[:, None] * size
    per_group = law.per_group[:, None]
    loss = group.reshape(re.shape) * per_group + size * (linear + quad)
    steep = slope.reshape(re.shape) * (per_group * law.re_per_flow[:, None]) + linear + 2.0 * quad
    return np.copysign(loss, flow), steep


@dataclass(frozen=True, eq=False, slots=True)
class _Span:
    """Edges whose flow follows from continuity: (node, node towards the ground, edge, +1 if it leaves
    node), leaves first; and the others. Edges are tubes, then outlets to the ground, then the source from
    the ground."""

    tree: tuple[tuple[int, int, int, float], ...]
    chords: tuple[tuple[int, int, int], ...]


def _span(edges: list[tuple[int, int, int]], weight: list[float], ground: int) -> _Span:
    """Heaviest spanning tree of the edges (from, to, number), hung from the ground."""
    root: dict[int, int] = {}

    def find(a: int) -> int:
        root.setdefault(a, a)
        while root[a] != a:
            root[a] = root[root[a]]
            a = root[a]
        return a

    near: dict[int, list[tuple[int, int, float]]] = {ground: []}
    chords = []
    for at in sorted(range(len(edges)), key=lambda i: -weight[i]):
        a, b, number = edges[at]
        ra, rb = find(a), find(b)
        if ra == rb:
            chords.append(edges[at])
            continue
        root[ra] = rb
        near.setdefault(a, []).append((b, number, -1.0))
        near.setdefault(b, []).append((a, number, 1.0))
    order = []
    seen = {ground}
    queue = [ground]
    for node in queue:
        for other, number, sign in near[node]:
            if other not in seen:
                seen.add(other)
                queue.append(other)
                order.append((other, node, number, sign))
    return _Span(tuple(reversed(order)), tuple(chords))


def solve_ring(plan: RingPlan, open_: BoolArray, tolerance: float, most: int) -> RingFlows:
    """Solve a looped line for open outlets (o, sets), all reached. Signed: an outlet may draw in.

    Sets that rounding keeps from balancing are solved again one by one, with the tubes whose flow follows
    from continuity chosen anew at each step.
    """
    found = _newton(plan, open_, tolerance, min(most, _PATIENCE), adaptive=False)
    for at in np.flatnonzero(~found.converged).tolist():
        alone = _newton(plan, open_[:, at : at + 1], tolerance, most, adaptive=True)
        found.tube_flow[:, at], found.outlet_flow[:, at] = alone.tube_flow[:, 0], alone.outlet_flow[:, 0]
        found.head_pa[:, at], found.residual_pa[at] = alone.head_pa[:, 0], alone.residual_pa[0]
        found.worst_node[at], found.converged[at] = alone.worst_node[0], alone.converged[0]
    return found


def _newton(plan: RingPlan, open_: BoolArray, tolerance: float, most: int, *, adaptive: bool) -> RingFlows:
    net = plan.net
    law = tube_law(net)
    sets = open_.shape[1]
    lift = head_ends(net)
    scale = pressure_scale(net)
    accepted = tolerance * scale
    live = (plan.elimination.slot_of_tube >= 0).nonzero()[0]
    start, end = net.tube_from[live], net.tube_to[live]
    law = TubeLaw(
        law.re_per_flow[live],
        law.per_group[live],
        law.rough[live],
        law.curvature[live],
        law.linear[live],
        law.quadratic[live],
    )
    slot = plan.elimination.slot_of_tube[live]
    at_node, source = net.outlet_node, net.source_node
    inverse = 1.0 / net.outlet_coefficient**2
    outlet_lift = lift[at_node][:, None]
    least = (6.0 * np.sqrt(accepted * inverse))[:, None]
    ground = net.elevation_m.size
    tubes, outlets = live.size, at_node.size
    usable = np.flatnonzero(open_.any(axis=1)).tolist()
    edges = [(a, b, i) for i, (a, b) in enumerate(zip(start.tolist(), end.tolist(), strict=True))]
    edges += [(int(at_node[o]), ground, tubes + o) for o in usable]
    edges.append((ground, source, tubes + outlets))
    # the source carries whatever the outlets take; tubes by width; outlets by their own law
    wide = (net.bore_m[live] ** 5 / net.length_m[live]).tolist()
    span = _span(edges, [*wide, *([0.0] * len(usable)), np.inf], ground)
    # start from a brisk, equal speed; only the ratio loss/flow is taken from it
    flow = np.zeros((tubes + outlets + 1, sets))
    flow[:tubes] = (0.25 * np.pi * net.bore_m[live] ** 2)[:, None]
    loss, steep = losses(law, flow[:tubes])
    steep = loss / flow[:tubes]
    const = np.zeros_like(steep)
    outlet_steep = np.broadcast_to(np.sqrt(scale * inverse)[:, None], (outlets, sets)).copy()
    outlet_const = np.zeros_like(outlet_steep)
    pump_steep = np.full(sets, net.source_linear_pa_s_m3)
    pump_const = np.zeros(sets)
    heads = np.zeros((ground, sets))
    residual = np.zeros(sets)
    worst = np.full(sets, source)
    converged = np.zeros(sets, dtype=np.bool_)
    used = 0
    while used < most and not converged.all():
        used += 1
        conductance = 1.0 / steep
        outlet_conductance = np.where(open_, 1.0 / outlet_steep, 0.0)
        _heads(
            plan, heads, slot, start, end, conductance, const,
            outlet_conductance, outlet_const - outlet_lift, pump_steep, pump_const,
        )  # fmt: skip
        flow[:tubes] = (heads[start] - heads[end] + const) * conductance
        flow[tubes : tubes + outlets] = (heads[at_node] - outlet_lift + outlet_const) * outlet_conductance
        if adaptive:
            pump = 1.0 / float(pump_steep[0]) if pump_steep[0] > 0.0 else np.inf
            weight = [*conductance[:, 0].tolist(), *outlet_conductance[usable, 0].tolist(), pump]
            span = _span(edges, weight, ground)
            if pump < np.inf:
                flow[-1] = (net.source_pressure_pa - heads[source] + pump_const) * pump
        need = np.zeros((ground + 1, sets))
        for a, b, number in span.chords:
            need[a] += flow[number]
            need[b] -= flow[number]
        for node, towards, number, leaves in span.tree:
            q = need[node]
            need[towards] += q
            flow[number] = -leaves * q
        tube_flow, outlet_flow, source_flow = flow[:tubes], flow[tubes : tubes + outlets], flow[-1]
        loss, steep = losses(law, tube_flow)
        outlet_size = np.abs(outlet_flow)
        outlet_loss = inverse[:, None] * outlet_size * outlet_flow
        outlet_steep = np.maximum(2.0 * inverse[:, None] * outlet_size, least)
        pump_size = np.abs(source_flow)
        pump_loss = (net.source_linear_pa_s_m3 + net.source_quadratic_pa_s2_m6 * pump_size) * source_flow
        pump_steep = net.source_linear_pa_s_m3 + 2.0 * net.source_quadratic_pa_s2_m6 * pump_size
        off_tube = np.abs(heads[start] - heads[end] - loss)
        off_outlet = np.where(open_, np.abs(heads[at_node] - outlet_lift - outlet_loss), 0.0)
        off_pump = np.abs(net.source_pressure_pa - pump_loss - heads[source])
        everything = np.concatenate((off_tube, off_outlet, off_pump[None, :]))
        ends = np.concatenate((end, at_node, [source]))
        row = np.argmax(everything, axis=0)
        residual = everything[row, np.arange(sets)]
        worst = ends[row]
        converged = residual <= accepted
        const = steep * tube_flow - loss
        outlet_const = outlet_steep * outlet_flow - outlet_loss
        pump_const = pump_steep * source_flow - pump_loss
    full = np.zeros((net.tube_from.size, sets))
    full[live] = flow[:tubes]
    shut = np.where(open_, flow[tubes : tubes + outlets], 0.0)
    return RingFlows(full, shut, heads, residual, worst, converged, used)


def _heads(
    plan: RingPlan,
    heads: FloatArray,
    slot: IntArray,
    start: IntArray,
    end: IntArray,
    conductance: FloatArray,
    const: FloatArray,
    outlet_conductance: FloatArray,
    outlet_const: FloatArray,
    pump_steep: FloatArray,
    pump_const: FloatArray,
) -> None:
    net = plan.net
    sets = conductance.shape[1]
    mesh = np.zeros((plan.elimination.slots, sets))
    np.add.at(mesh, slot, conductance)
    supply = np.zeros_like(heads)
    push = conductance * const
    np.add.at(supply, end, push)
    np.subtract.at(supply, start, push)
    ground = np.zeros_like(heads)
    np.add.at(ground, net.outlet_node, outlet_conductance)
    np.subtract.at(supply, net.outlet_node, outlet_conductance * outlet_const)
    kept = []
    for node, others, slots, fills in plan.elimination.steps:
        own = [mesh[s] for s in slots]
        total = ground[node].copy()
        for g in own:
            total += g
        share = [g / total for g in own]
        for i, j, s in fills:
            mesh[s] += share[i] * own[j]
        for other, part in zip(others, share, strict=True):
            ground[other] += part * ground[node]
            supply[other] += part * supply[node]
        kept.append((node, others, share, total))
    source = net.source_node
    # source: head = p0 + pump_const - pump_steep * flow, and flow = ground * head - supply
    heads[source] = (net.source_pressure_pa + pump_const + pump_steep * supply[source]) / (
        1.0 + pump_steep * ground[source]
    )
    for node, others, share, total in reversed(kept):
        value = supply[node] / total
        for other, part in zip(others, share, strict=True):
            value += part * heads[other]
        heads[node] = value
