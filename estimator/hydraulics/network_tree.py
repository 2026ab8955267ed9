"""Sweep solver for trees: many open-sets at once, cost following the open guns and not the tree.

Each edge of the packed forest has the loss ``L(Q)``: friction of its classes of tube, a linear and a
quadratic part (fittings, the nozzle in an outlet's edge, the pump in a source's). Newton's method
linearises it to ``S Q - c``, ``S = dL/dQ``, ``c = S Q_k - L(Q_k)``. Going up, everything below a junction
is ``Q = A H + B`` of the head H above it; going down, heads and flows follow. A head is taken from its
children, ``(Q - B)/A``: the source head less the losses would cancel. Full steps: losses rise with flow and
are all but convex.

Sources
-------
.. [1] Todini, E. and Pilati, S. (1988). A gradient algorithm for the analysis of pipe networks (the same
   linearisation, here eliminated along the tree).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, sqrt
from operator import le
from typing import Final

import numpy as np

from estimator.hydraulics.coil import coil_groups, curved
from estimator.hydraulics.friction import FloatArray, fast_group, fast_groups
from estimator.hydraulics.network_model import (
    IntArray,
    Joined,
    head_ends,
    pressure_scales,
    sum_by,
    tube_law,
)
from estimator.hydraulics.network_topology import Forest, Pattern

TOLERANCE: Final = 1.0e-9
"""Energy residual accepted, as a fraction of the line's pressure scale, -."""
ITERATIONS: Final = 100
_DAMP_FROM: Final = 60
_GUESS_FACTOR: Final = 0.030
_BLASIUS: Final = 0.3164
_UNEVEN: Final = 1.0e-13
_SMALL: Final = 64
"""Edges up to which a plain Python sweep beats arrays (measured)."""
_FEW: Final = 36
"""Segments up to which their losses one by one beat arrays (measured)."""


@dataclass(frozen=True, eq=False, slots=True)
class Sizes:
    """Sizes of all tree lines, summed along the forest.

    Tubes of a line with the same bore, roughness and coil form one class, a slot. ``sums`` (N, 2 slots +
    2): per number the tube length factor and tube count of each slot, then the linear and quadratic fitting
    parts, all from the source down. ``re_per_flow``, ``rough``, ``curvature`` (lines, slots).
    """

    slots: int
    sums: FloatArray
    re_per_flow: FloatArray
    rough: FloatArray
    curvature: FloatArray
    coiled: bool
    outlet_quadratic: FloatArray
    outlet_end: FloatArray
    source_head: FloatArray
    source_linear: FloatArray
    source_quadratic: FloatArray
    tolerance_pa: FloatArray


def sizes(lines: Joined, trees: Forest) -> Sizes:
    """Sum the sizes of tree lines along their forest."""
    law = tube_law(lines)
    keys = np.stack((lines.bore_m, lines.roughness_m, lines.coil_diameter_m), axis=1).tolist()
    bounds = lines.first_tube.tolist()
    slot = np.empty(len(keys), dtype=np.int64)
    # of each class of tube its line, its slot and its first tube
    class_line: list[int] = []
    class_slot: list[int] = []
    lead: list[int] = []
    for at in range(lines.lines):
        seen: dict[tuple[float, ...], int] = {}
        for t in range(bounds[at], bounds[at + 1]):
            key = tuple(keys[t])
            if key not in seen:
                class_line.append(at)
                class_slot.append(len(seen))
                lead.append(t)
                seen[key] = len(seen)
            slot[t] = seen[key]
    slots = max(class_slot, default=0) + 1
    shape = (lines.lines, slots)
    re_per_flow, rough, curvature = np.ones(shape), np.zeros(shape), np.zeros(shape)
    re_per_flow[class_line, class_slot] = law.re_per_flow[lead]
    rough[class_line, class_slot] = law.rough[lead]
    curvature[class_line, class_slot] = law.curvature[lead]
    sums = np.zeros((trees.parent.size, 2 * slots + 2))
    holds = (trees.tube >= 0).nonzero()[0]
    which = trees.tube[holds]
    slot_of = slot[which]
    sums[holds, slot_of] = law.per_group[which]
    sums[holds, slots + slot_of] = 1.0
    sums[holds, 2 * slots] = law.linear[which]
    sums[holds, 2 * slots + 1] = law.quadratic[which]
    jump = trees.parent.copy()
    for _ in range(trees.doublings):
        sums += sums[jump]
        jump = jump[jump]
    coefficient = lines.outlet_coefficient
    at_node = np.repeat(lines.first_node[:-1], np.diff(lines.first_outlet)) + lines.outlet_node
    return Sizes(
        slots=slots,
        sums=sums,
        re_per_flow=re_per_flow,
        rough=rough,
        curvature=curvature,
        coiled=bool(curvature.any()),
        outlet_quadratic=1.0 / (coefficient * coefficient),
        outlet_end=head_ends(lines)[at_node],
        source_head=lines.source_pressure_pa,
        source_linear=lines.source_linear_pa_s_m3,
        source_quadratic=lines.source_quadratic_pa_s2_m6,
        tolerance_pa=TOLERANCE * pressure_scales(lines),
    )


@dataclass(eq=False, slots=True)
class Rows:
    """A packed pattern as plain lists, for sweeping it edge by edge.

    As in :class:`Packed`; ``parts`` (e,) are the segments of each edge as (Re per flow, loss per group,
    roughness, curvature), empty where arrays take the losses; ``start`` (e,) the flows to start from.
    """

    above: list[int]
    linear: list[float]
    quadratic: list[float]
    parts: list[list[tuple[float, float, float, float]]]
    end: list[float]
    head: list[float]
    tolerance: list[float]
    least: list[float]
    start: list[float]


@dataclass(eq=False, slots=True)
class Packed:
    """A pattern with its sizes: everything the iteration touches, flat. ``rows`` is made on first need."""

    pattern: Pattern
    seg_edge: IntArray
    seg_re: FloatArray
    seg_loss: FloatArray
    seg_rough: FloatArray
    coil_at: IntArray
    coil_curvature: FloatArray
    linear: FloatArray
    quadratic: FloatArray
    end: FloatArray
    head: FloatArray
    tolerance_pa: FloatArray
    least_steep: FloatArray
    rows: Rows | None = None


def fit(pattern: Pattern, trees: Forest, size: Sizes, outlet: IntArray) -> Packed:
    """Give a pattern its sizes. ``outlet`` (k,): joined outlet number of each open outlet, in pattern
    order."""
    lower, upper = size.sums[pattern.bottom], size.sums[pattern.top]
    span = lower - upper
    slots = size.slots
    edge, slot = (span[:, slots : 2 * slots] > 0.5).nonzero()
    line = trees.line[pattern.bottom]
    seg_line = line[edge]
    linear, quadratic = span[:, 2 * slots].copy(), span[:, 2 * slots + 1].copy()
    roots = pattern.steps[0][1]
    root_line = line[:roots]
    linear[:roots] = size.source_linear[root_line]
    quadratic[:roots] = size.source_quadratic[root_line]
    quadratic[pattern.junctions :] += size.outlet_quadratic[outlet]
    per_flow = size.re_per_flow[seg_line, slot]
    coil_at = np.empty(0, dtype=np.int64)
    coil_curvature = np.empty(0)
    if size.coiled:
        curved = size.curvature[seg_line, slot]
        coil_at = curved.nonzero()[0]
        coil_curvature = curved[coil_at]
    tolerance = size.tolerance_pa[line]
    return Packed(
        pattern=pattern,
        seg_edge=edge,
        seg_re=per_flow,
        seg_loss=span[edge, slot],
        seg_rough=size.rough[seg_line, slot],
        coil_at=coil_at,
        coil_curvature=coil_curvature,
        linear=linear,
        quadratic=quadratic,
        end=size.outlet_end[outlet],
        head=size.source_head[root_line],
        tolerance_pa=tolerance,
        # an outlet exactly at rest has no slope; this one is that of a drop far below tolerance
        least_steep=6.0 * np.sqrt(tolerance[pattern.junctions :] * size.outlet_quadratic[outlet]),
    )


@dataclass(frozen=True, eq=False, slots=True)
class Sweep:
    """What the iteration ends with: flow of every edge [m3/s], energy residual of every edge [Pa], whether
    it is within tolerance, and the iterations used."""

    flow: FloatArray
    residual: FloatArray
    converged: bool
    iterations: int


def _losses(p: Packed, flow: FloatArray) -> tuple[FloatArray, FloatArray]:
    size = np.abs(flow)
    re = size[p.seg_edge]
    re *= p.seg_re
    group, slope = fast_groups(re, p.seg_rough)
    if p.coil_at.size:
        at = p.coil_at
        group[at], slope[at] = coil_groups(re[at], p.coil_curvature, group[at], slope[at])
    group *= p.seg_loss
    slope *= p.seg_loss
    slope *= p.seg_re
    edges = flow.size
    loss = sum_by(p.seg_edge, group, edges)
    steep = sum_by(p.seg_edge, slope, edges)
    quad = p.quadratic * size
    steep += p.linear
    steep += quad
    steep += quad
    quad += p.linear
    quad *= size
    loss += quad
    return np.copysign(loss, flow), steep


def _resist(p: Packed, factor: float | FloatArray) -> FloatArray:
    """``R`` of the first guess's ``R Q**2`` (e,) [Pa s2/m6] at a friction factor."""
    weight = p.seg_re * p.seg_re
    weight *= p.seg_loss
    weight *= factor
    resist = sum_by(p.seg_edge, weight, p.quadratic.size)
    resist += p.quadratic
    return resist


def _first_guess(p: Packed) -> FloatArray:
    """One pass with every loss taken as ``R Q**2`` at a middling friction factor."""
    pat = p.pattern
    j = pat.junctions
    resist = _resist(p, _GUESS_FACTOR)
    above_leaf = pat.above[j:]
    y_leaf = 1.0 / np.sqrt(resist[j:])
    y_sum = sum_by(above_leaf, y_leaf, j)
    h_sum = sum_by(above_leaf, y_leaf * p.end, j)
    y_edge = np.empty(j)
    above = pat.above
    steps = pat.steps
    for low, high, prev, up in reversed(steps):
        y = y_sum[low:high]
        e = h_sum[low:high]
        e /= y
        ye = y / np.sqrt(resist[low:high] * (y * y) + 1.0)
        y_edge[low:high] = ye
        if low:
            y_sum[prev:low] += sum_by(up, ye, low - prev)
            h_sum[prev:low] += sum_by(up, ye * e, low - prev)
    flow = np.empty(p.quadratic.size)
    heads = np.empty(j)
    for low, high, _, _ in steps:
        upper = p.head if low == 0 else heads[above[low:high]]
        drive = upper - h_sum[low:high]
        q = y_edge[low:high] * np.sqrt(np.abs(drive))
        flow[low:high] = q
        q = q / y_sum[low:high]
        q *= q
        q += h_sum[low:high]
        heads[low:high] = q
    flow[j:] = y_leaf * np.sqrt(np.abs(heads[above_leaf] - p.end))
    return flow


def sweep(p: Packed) -> Sweep:
    """Newton sweeps until energy balances within tolerance on every edge."""
    return sweep_small(p) if p.quadratic.size <= _SMALL else sweep_arrays(p)


def _balance(p: Packed, flow: FloatArray, a: FloatArray) -> None:
    """Make the flows of a converged sweep add up at every junction, in place.

    A head carries rounding; where a wide outlet follows a tight tube that little is a large flow. The gap
    goes to the edges below in proportion to their conductance ``a`` (e,), which moves no head by more than
    its rounding.
    """
    pat = p.pattern
    j, above = pat.junctions, pat.above
    roots = pat.steps[0][1]
    below = above[roots:]
    gap = flow[:j] - sum_by(below, flow[roots:], j)
    uneven = np.abs(gap) > _UNEVEN * np.abs(flow[:j])
    if not uneven.any():
        return
    # An open-set that adds up stays as it is, whatever is solved beside it.
    case = pat.case[:j]
    gap[~np.isin(case, case[uneven])] = 0.0
    a_sum = sum_by(below, a[roots:], j)
    share = a / a_sum[above]
    for low, high, prev, up in pat.steps[1:]:
        moved = share[low:high] * gap[prev:low][up]
        flow[low:high] += moved
        gap[low:high] += moved
    flow[j:] += share[j:] * gap[above[j:]]


def sweep_small(p: Packed) -> Sweep:
    """The same sweeps edge by edge: for few edges the calls cost more than the arithmetic."""
    rows = p.rows
    if rows is None:
        rows = p.rows = _rows(p)
    pat = p.pattern
    j, roots = pat.junctions, pat.steps[0][1]
    above, end, least, tolerance = rows.above, rows.end, rows.least, rows.tolerance
    edges = len(above)
    flow = rows.start.copy()
    many = not rows.parts
    heads, a_sum, b_sum = [0.0] * j, [0.0] * j, [0.0] * j
    a, b, upper = [0.0] * edges, [0.0] * edges, [0.0] * edges
    off = [inf] * edges
    used = 0
    while True:
        if many:
            losses, slopes = _losses(p, np.array(flow))
            loss, steep = losses.tolist(), slopes.tolist()
        else:
            loss, steep = _small_losses(rows, flow)
        if used:
            lower = heads + end
            off = [abs(u - v - lost) for u, v, lost in zip(upper, lower, loss, strict=True)]
            # a residual that is not a number is not within tolerance either
            converged = all(map(le, off, tolerance))
            if converged or used >= ITERATIONS:
                flows = np.array(flow)
                if converged:
                    _balance(p, flows, np.array(a))
                return Sweep(flows, np.array(off), converged, used)
        used += 1
        if used > _DAMP_FROM:
            damp = 1.0 + 0.5 * (used % 3)
            steep = [damp * s for s in steep]
        a_sum = [0.0] * j
        b_sum = [0.0] * j
        for e in range(j, edges):
            leaf = e - j
            s = steep[e]
            if s < least[leaf]:
                s = least[leaf]
            ae = 1.0 / s
            be = (s * flow[e] - loss[e] - end[leaf]) * ae
            a[e] = ae
            b[e] = be
            up = above[e]
            a_sum[up] += ae
            b_sum[up] += be
        for e in range(j - 1, -1, -1):
            s = steep[e]
            total = a_sum[e]
            t = 1.0 + s * total
            ae = total / t
            be = ((s * flow[e] - loss[e]) * total + b_sum[e]) / t
            a[e] = ae
            b[e] = be
            if e >= roots:
                up = above[e]
                a_sum[up] += ae
                b_sum[up] += be
        for e in range(j):
            h = rows.head[e] if e < roots else heads[above[e]]
            upper[e] = h
            q = a[e] * h + b[e]
            flow[e] = q
            heads[e] = (q - b_sum[e]) / a_sum[e]
        upper[j:] = [heads[up] for up in above[j:]]
        flow[j:] = [x * h + y for x, h, y in zip(a[j:], upper[j:], b[j:], strict=True)]


def _rows(p: Packed) -> Rows:
    above, end, head = p.pattern.above.tolist(), p.end.tolist(), p.head.tolist()
    start = _small_guess(above, _resist(p, _GUESS_FACTOR).tolist(), end, head)
    many = p.seg_edge.size > _FEW
    if many:
        # friction at about the right flows: a nearer start is cheaper here than one more iteration
        re = np.maximum(np.abs(np.array(start))[p.seg_edge] * p.seg_re, 1.0)
        factor = np.maximum(_BLASIUS / np.sqrt(np.sqrt(re)), 64.0 / re)
        start = _small_guess(above, _resist(p, factor).tolist(), end, head)
    return Rows(
        above=above,
        linear=p.linear.tolist(),
        quadratic=p.quadratic.tolist(),
        parts=[] if many else _parts(p),
        end=end,
        head=head,
        tolerance=p.tolerance_pa.tolist(),
        least=p.least_steep.tolist(),
        start=start,
    )


def _parts(p: Packed) -> list[list[tuple[float, float, float, float]]]:
    parts: list[list[tuple[float, float, float, float]]] = [[] for _ in range(p.quadratic.size)]
    curvature = [0.0] * p.seg_edge.size
    for at, c in zip(p.coil_at.tolist(), p.coil_curvature.tolist(), strict=True):
        curvature[at] = c
    segments = zip(
        p.seg_edge.tolist(),
        p.seg_re.tolist(),
        p.seg_loss.tolist(),
        p.seg_rough.tolist(),
        curvature,
        strict=True,
    )
    for at, re_per_flow, per_group, rough, c in segments:
        parts[at].append((re_per_flow, per_group, rough, c))
    return parts


def _small_losses(rows: Rows, flow: list[float]) -> tuple[list[float], list[float]]:
    loss: list[float] = []
    steep: list[float] = []
    for q, straight, k, parts in zip(flow, rows.linear, rows.quadratic, rows.parts, strict=True):
        size = abs(q)
        bent = k * size
        s = straight + 2.0 * bent
        lost = (straight + bent) * size
        for re_per_flow, per_group, rough, c in parts:
            re = re_per_flow * size
            group, slope = fast_group(re, rough)
            if c:
                group, slope = curved(re, c, (group, slope))
            lost += per_group * group
            s += per_group * re_per_flow * slope
        loss.append(lost if q >= 0.0 else -lost)
        steep.append(s)
    return loss, steep


def _small_guess(above: list[int], resist: list[float], end: list[float], head: list[float]) -> list[float]:
    roots = len(head)
    j = len(above) - len(end)
    leaf_above = above[j:]
    y_leaf = [1.0 / sqrt(r) for r in resist[j:]]
    y_sum, h_sum = [0.0] * j, [0.0] * j
    for up, ye, meet in zip(leaf_above, y_leaf, end, strict=True):
        y_sum[up] += ye
        h_sum[up] += ye * meet
    y = [0.0] * j
    for e in range(j - 1, -1, -1):
        below = y_sum[e]
        h_sum[e] = meet = h_sum[e] / below
        y[e] = ye = below / sqrt(1.0 + resist[e] * below * below)
        if e >= roots:
            up = above[e]
            y_sum[up] += ye
            h_sum[up] += ye * meet
    flow: list[float] = []
    heads: list[float] = []
    for e in range(j):
        h = heads[above[e]] if e >= roots else head[e]
        q = y[e] * sqrt(abs(h - h_sum[e]))
        flow.append(q)
        q /= y_sum[e]
        heads.append(h_sum[e] + q * q)
    flow += [ye * sqrt(abs(heads[up] - v)) for ye, up, v in zip(y_leaf, leaf_above, end, strict=True)]
    return flow


def sweep_arrays(p: Packed) -> Sweep:
    """The sweeps level by level on arrays.

    Each open-set keeps the flows with which it first balanced, so its answer is the same, bit for bit, whatever is
    solved beside it.
    """
    pat = p.pattern
    j = pat.junctions
    above = pat.above
    leaf_above = above[j:]
    steps = pat.steps
    least = p.least_steep
    flow = _first_guess(p)
    heads = np.empty(j)
    upper = np.empty(flow.size)
    lower = np.empty(flow.size)
    lower[j:] = p.end
    a = np.empty(j)
    b = np.empty(j)
    loss, steep = _losses(p, flow)
    residual = np.full(flow.size, np.inf)
    a_leaf = np.empty(0)
    open_ = np.bincount(pat.case) > 0
    settled_flow, settled_off, settled_a = np.empty(flow.size), np.empty(flow.size), np.empty(flow.size)
    converged, used = False, 0
    while open_.any() and used < ITERATIONS:
        used += 1
        if used > _DAMP_FROM:
            # a slope too steep shortens the step and keeps the answer: for the rare pattern that circles
            steep *= 1.0 + 0.5 * (used % 3)
        np.maximum(steep[j:], least, out=steep[j:])
        const = steep * flow
        const -= loss
        a_leaf = 1.0 / steep[j:]
        b_leaf = const[j:] - p.end
        b_leaf *= a_leaf
        a_sum = sum_by(leaf_above, a_leaf, j)
        b_sum = sum_by(leaf_above, b_leaf, j)
        for low, high, prev, up in reversed(steps):
            sa = a_sum[low:high]
            t = steep[low:high] * sa
            t += 1.0
            al = sa / t
            a[low:high] = al
            bl = const[low:high] * sa
            bl += b_sum[low:high]
            bl /= t
            b[low:high] = bl
            if low:
                a_sum[prev:low] += sum_by(up, al, low - prev)
                b_sum[prev:low] += sum_by(up, bl, low - prev)
        for low, high, prev, up in steps:
            above_head = heads[prev:low][up] if low else p.head
            upper[low:high] = above_head
            q = a[low:high] * above_head
            q += b[low:high]
            flow[low:high] = q
            q = q - b_sum[low:high]
            q /= a_sum[low:high]
            heads[low:high] = q
        upper[j:] = heads[leaf_above]
        lower[:j] = heads
        q = upper[j:] * a_leaf
        q += b_leaf
        flow[j:] = q
        loss, steep = _losses(p, flow)
        residual = upper - lower
        residual -= loss
        np.abs(residual, out=residual)
        # a residual that is not a number is not within tolerance either
        off = np.bincount(pat.case[~(residual <= p.tolerance_pa)], minlength=open_.size) > 0
        done = open_ if used == ITERATIONS else open_ & ~off
        if done.any():
            rows = done[pat.case]
            settled_flow[rows], settled_off[rows] = flow[rows], residual[rows]
            settled_a[rows] = np.concatenate((a, a_leaf))[rows]
            converged = not (done & off).any()
            open_ = open_ & ~done
    if converged:
        _balance(p, settled_flow, settled_a)
    return Sweep(settled_flow, settled_off, converged, used)
