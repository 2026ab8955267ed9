"""What sizes can at best do, without solving the network: rigorous bounds from flows that must be there.

In a line that works each gun of an open-set gives at least the flow of the low end of its window. With those flows
the loss of each tube is a fixed number, so the pressure that a drop needs at the pump is a sum along its path:

    p >= p_gun(q_i) + rho g z_i + hose(q_i) + sum over the path of loss_s(tube, sum of q_j behind s) + droop(sum q_j)

for each open-set and each of its drops i: a lower bound on the regulator setting. Alone, a drop is at the high end of
its window at one flow; the same sum with that flow is the pressure that must not be passed, and is exact. Over a box
of sizes the least loss of each segment gives the bound (the step of a dynamic programme on the tree: segments enter
one by one, as their losses at fixed flows do not depend on each other).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from estimator.hydraulics.friction import FloatArray
from estimator.hydraulics.network_model import BoolArray, tube_law
from estimator.hydraulics.network_ring import losses
from estimator.hydraulics.pump import PumpCurve
from estimator.proposal.trial import LineTrial, Pick
from estimator.sizing import rules

__all__ = ["SLACK_PA", "Bounds", "Box", "Need"]

SLACK_PA = 5.0
"""A bound gives way by this: more than the rounding that the judge lets pass of any pressure here, so that no bound
rules out what the judge lets pass."""


@dataclass(frozen=True, slots=True)
class Need:
    """What the drop that asks for most asks for, in the best member of a box, at the low end of its window [Pa].

    Attributes:
        drop: its position.
        total_pa: regulator setting.
        gun_pa, lift_pa, hose_pa, droop_pa: nozzle and gun; elevation; hose; droop of the pump.
        tubes_pa: (segments,) loss of each segment.
    """

    drop: int
    total_pa: float
    gun_pa: float
    lift_pa: float
    hose_pa: float
    droop_pa: float
    tubes_pa: FloatArray


@dataclass(frozen=True, slots=True)
class Box:
    """Sets of sizes: pumps, and tubes of each segment; each set cheapest first."""

    pumps: tuple[int, ...]
    tubes: tuple[tuple[int, ...], ...]


class Bounds:
    """Bounds of a line with given nozzles.

    Args:
        trial: the line.
        nozzles: one a drop.
        slow: take the guns that run together when each gives no more than the low end of its window. No bound then,
            but what a line that is too weak has to carry.

    `fewest` and `most` are the guns that a working line can have open together; `exact` says that all sets of them
    are tried, so that every gun of a set is known to keep its window.
    """

    def __init__(self, trial: LineTrial, nozzles: Sequence[int], *, slow: bool = False) -> None:
        self._trial = trial
        every = np.arange(trial.count)
        low, _ = trial.window(nozzles)
        _, high = trial.windows(nozzles)
        c_nozzle, c_outlet = trial.nozzle[list(nozzles)], trial.outlet[every, list(nozzles)]
        least, most = c_nozzle * np.sqrt(low), c_nozzle * np.sqrt(high)
        self.least_m3_s = least
        # Fast guns spray shorter, so fewer run together: these are the ends of what a line that works can have.
        self.fewest, self.most = trial.guns(most), trial.guns(least)
        self.exact = all(trial.sets(n)[0] is not None for n in range(self.fewest, self.most + 1))
        together = self.most if slow else self.fewest
        if not self.exact:
            together = min(2, together)
        self.member: BoolArray = trial.sets(together)[1][trial.count :]
        size = len(trial.parts.tubes)
        rows = self.member * least
        at_low = self._losses(nozzles, rows, size)
        alone = np.diag(most)
        at_high = self._losses(nozzles, alone, size)
        s = trial.segments
        # Alone a gun gives no less than in its design case, so its surge is no less than with the least flow.
        stopped = (trial.path * least[:, None]).max(axis=0)
        surges = np.outer(stopped, trial.surge_factor) if trial.quiet else 0.0
        self._stands: FloatArray = trial.rating - surges
        # (sizes, segments, 1): what the spring of a check valve takes at any flow counts as the segment's own.
        spring = trial.spring.T[:, :, None]
        self.low_loss, self.high_loss = at_low[:, :s] + spring, at_high[:, :s] + spring
        # (drops, rows) and (drops,): what does not depend on the sizes of tubes and pump
        self._way = trial.path.astype(np.float64)
        # What the sizes of a segment come to, by segment and sizes.
        self._low_of: dict[tuple[int, tuple[int, ...]], FloatArray] = {}
        self._high_of: dict[tuple[int, tuple[int, ...]], tuple[FloatArray, float]] = {}
        self._gun, self._hose = (least / c_outlet) ** 2, at_low[0, s:]
        gun = self._gun + trial.lift
        self._low_base = np.where(self.member.T, gun[:, None] + at_low[0, s:], -np.inf)
        self._high_base = (most / c_outlet) ** 2 + trial.lift + at_high[0, s:].diagonal()
        total = rows.sum(axis=1)
        self._low_droop = np.array([_droop(c, total) for c in trial.curves])
        self._high_droop = np.array([_droop(c, most) for c in trial.curves])

    def _losses(self, nozzles: Sequence[int], flows: FloatArray, sizes: int) -> FloatArray:
        """Loss (sizes, segments + hoses, rows) of flows (rows, drops) with every segment in one size."""
        trial = self._trial
        through = np.concatenate((flows @ trial.path, flows), axis=1).T
        found = [
            losses(tube_law(trial.network(Pick(0, (k,) * trial.segments, tuple(nozzles), 1e5))), through)[0]
            for k in range(sizes)
        ]
        return np.array(found)

    def velocity_floor(self, least_m3_s: FloatArray | None = None) -> FloatArray:
        """Flow (segments,) that must pass each segment in some design case, with at least these gun flows."""
        trial = self._trial
        least = self.least_m3_s if least_m3_s is None else least_m3_s
        single: FloatArray = (trial.path * least[:, None]).max(axis=0)
        if not self.exact:
            return single
        flows = self.member @ (least[:, None] * trial.path)
        floor = single
        for i in range(trial.count):
            floor = np.maximum(floor, flows[self.member[:, i]].min(axis=0))
        return floor

    def capacity_floor(self, least_m3_s: FloatArray | None = None) -> float:
        """Flow that must pass the pump in some design case."""
        least = self.least_m3_s if least_m3_s is None else least_m3_s
        if not self.exact:
            return float(least.max())
        total = self.member @ least
        return float(max(total[self.member[:, i]].min() for i in range(self._trial.count)))

    def too_fast(self, tube: int, floor_m3_s: float) -> bool:
        """Whether a flow is over the velocity limit in a tube."""
        area = 0.25 * np.pi * float(self._trial.bore[tube]) ** 2
        return bool(rules.too_fast(floor_m3_s / area))

    def _least(self, box: Box) -> FloatArray:
        """Least loss (segments, rows) of each segment over the sizes of a box."""
        rows = []
        for s, options in enumerate(box.tubes):
            # A box differs from the one that it was split from in one segment.
            known = self._low_of.get((s, options))
            if known is None:
                known = self._low_of[s, options] = self.low_loss[list(options), s].min(axis=0)
            rows.append(known)
        return np.array(rows)

    def needs(self, box: Box) -> FloatArray:
        """Least regulator setting [Pa] that each drop (drops,) needs in the best member for it."""
        droop = self._low_droop[list(box.pumps)].min(axis=0)
        need: FloatArray = (self._low_base + self._way @ self._least(box) + droop).max(axis=1)
        return need

    def needed(self, box: Box) -> float:
        """Least regulator setting [Pa] that any member of a box can work with."""
        return float(self.needs(box).max())

    def binding(self, box: Box) -> int:
        """The drop that asks for most."""
        return int(self.needs(box).argmax())

    def need(self, box: Box) -> Need:
        """What makes up the least setting of a box."""
        least = self._least(box)
        droop = self._low_droop[list(box.pumps)].min(axis=0)
        table = self._low_base + self._way @ least + droop
        i, row = np.unravel_index(int(table.argmax()), table.shape)
        return Need(
            int(i),
            float(table[i, row]),
            float(self._gun[i]),
            float(self._trial.lift[i]),
            float(self._hose[i, row]),
            float(droop[row]),
            self._trial.path[i] * least[:, row],
        )

    def allowed(self, box: Box) -> float:
        """Largest regulator setting [Pa] that any member of a box may have."""
        trial = self._trial
        most, rating = [], []
        for s, options in enumerate(box.tubes):
            known = self._high_of.get((s, options))
            if known is None:
                sizes = list(options)
                known = self.high_loss[sizes, s].max(axis=0), float(self._stands[s, sizes].max())
                self._high_of[s, options] = known
            most.append(known[0])
            rating.append(known[1])
        droop = self._high_droop[list(box.pumps)].max(axis=0)
        window = self._high_base + (trial.path * np.array(most).T).sum(axis=1) + droop
        rated = float((np.array(rating) - trial.rest_extra).min())
        pump = float(trial.pump_limit[list(box.pumps)].max())
        return min(float(window.min()), rated, pump)

    def gain(self, box: Box, drop: int) -> FloatArray:
        """What the best size of each segment could add to a drop's pressure over the first size [Pa]."""
        rows = self.member[:, drop]
        found = np.zeros(self._trial.segments)
        for s, options in enumerate(box.tubes):
            if self._trial.path[drop, s] and len(options) > 1:
                loss = self.low_loss[list(options), s][:, rows].max(axis=1)
                found[s] = loss[0] - loss.min()
        return found


def _droop(curve: PumpCurve, flow: FloatArray) -> FloatArray:
    droop: FloatArray = flow * (curve.linear_pa_s_m3 + curve.quadratic_pa_s2_m6 * flow)
    return droop
