"""The cheapest sizes of a line that works: best-first search over boxes of sizes, verified by true solves.

A box is a set of pumps and a set of tubes for each segment. Its cheapest member costs no more than any other. Boxes are
taken in the order of that cost; the cheapest member is solved. If it works nothing is cheaper. If it does not, the box
is split, unless it can be shown that no member works:

- the bounds of `propose_bounds` leave no regulator setting; or
- a drop is too low even with the widest tubes on its own path and the narrowest beside it. A wider tube raises the
  pressure of the drops behind it and lowers all others (it draws more through the shared trunk), so this corner is the
  best any member can do for that drop; or
- the flows that must pass are too fast for a segment, or too much for the pump, at the least setting that works.

The regulator costs nothing: a member works if one of its settings does, and the lowest one is taken here (what is set
in the end stands in the middle, see `middle.py`). With a margin it has to work from there on over twice the margin: too
low is judged at the lowest setting, all else at the highest. Where a limit on the number of boxes is reached, the rest
is found by local improvement and said not to be proved.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import islice

import numpy as np

from estimator.hydraulics.friction import FloatArray
from estimator.proposal.bounds import SLACK_PA, Bounds, Box
from estimator.proposal.setting import Gauge
from estimator.proposal.trial import LineTrial, Outcome, Pick
from estimator.sizing import rules
from estimator.sizing.rules import Limit

__all__ = ["MOST_BOXES", "MOST_WORK", "Found", "Search", "Space", "cheapest"]

MOST_BOXES = 600
"""Boxes looked at before the search gives up the proof."""

MOST_WORK = 120_000
"""Open outlets of a line that are solved before the search gives up the proof: a line of many drops costs so much for
each box that its number alone would not end the search. Its improvement gets as much again."""

_TRIED_TOGETHER = 8
_TIE = 1e-9


@dataclass(frozen=True, slots=True)
class Space:
    """What may be chosen.

    Attributes:
        box: sizes.
        tube_cost: (segments, tubes) installed cost; infinite where it has no price.
        pump_cost: (pumps,).
        supply_pa: pressure of the compressor.
        gauge: what the regulator is set by.
        fixed_pa: the regulator setting where it is not free.
        margin: steps of the gauge that a free setting may be off either way.
    """

    box: Box
    tube_cost: FloatArray
    pump_cost: FloatArray
    supply_pa: float
    gauge: Gauge
    fixed_pa: float | None = None
    margin: int = 0

    @property
    def span_pa(self) -> float:
        """From the lowest setting that has to work to the highest [Pa]."""
        return 0.0 if self.fixed_pa is not None else 2 * self.margin * self.gauge.step_pa


@dataclass(frozen=True, slots=True)
class Found:
    """The answer of a search."""

    pick: Pick
    cost: float
    outcome: Outcome


@dataclass(frozen=True, slots=True)
class Search:
    """What a search came to.

    Attributes:
        found: the cheapest that works, None if nothing does (or none was found).
        proved: it is the cheapest; or, with nothing found, nothing works.
        boxes: looked at.
    """

    found: Found | None
    proved: bool
    boxes: int


class _Searcher:
    def __init__(self, trial: LineTrial, nozzles: tuple[int, ...], space: Space) -> None:
        self.trial, self.nozzles, self.space = trial, nozzles, space
        self.bounds = Bounds(trial, nozzles)
        self.tried: dict[tuple[int, tuple[int, ...]], tuple[float, Outcome]] = {}
        self.sure = True
        self.best: Found | None = None

    def cost(self, box: Box) -> float:
        """Cost of the cheapest member."""
        tubes = sum(float(self.space.tube_cost[s, options[0]]) for s, options in enumerate(box.tubes))
        return tubes + float(self.space.pump_cost[box.pumps[0]])

    def settings(self, box: Box) -> tuple[float, float] | None:
        """Lowest and highest regulator setting [Pa] that can be the lowest of those that a member has to work with."""
        low, high = self.bounds.needed(box), min(self.bounds.allowed(box), self.space.supply_pa)
        fixed = self.space.fixed_pa
        if fixed is not None:
            return (fixed, fixed) if low - SLACK_PA <= fixed <= high + SLACK_PA else None
        gauge = self.space.gauge
        bottom = gauge.lowest(low)
        top = (gauge.steps(gauge.highest(high)) - 2 * self.space.margin) * gauge.step_pa
        return (bottom, top) if bottom <= top else None

    def cheapest_of(self, box: Box) -> Box:
        return Box(box.pumps[:1], tuple(options[:1] for options in box.tubes))

    def pick(self, box: Box, pressure_pa: float) -> Pick:
        return Pick(box.pumps[0], tuple(o[0] for o in box.tubes), self.nozzles, pressure_pa)

    def corner(self, box: Box, drop: int, pressure_pa: float, *, best: bool) -> Pick:
        """The member that does most (or least) for a drop."""
        bore = self.trial.bore
        tubes = []
        for s, options in enumerate(box.tubes):
            wide = bool(self.trial.path[drop, s]) is best
            tubes.append((max if wide else min)(options, key=lambda k: float(bore[k])))
        curves = self.trial.curves
        pump = (min if best else max)(
            box.pumps, key=lambda k: (curves[k].linear_pa_s_m3, curves[k].quadratic_pa_s2_m6)
        )
        return Pick(pump, tuple(tubes), self.nozzles, pressure_pa)

    def widest(self, box: Box, pressure_pa: float) -> Pick:
        """The member with the widest tubes and, of a box that is `nested`, the pump that droops least."""
        bore = self.trial.bore
        tubes = tuple(max(options, key=lambda k: float(bore[k])) for options in box.tubes)
        return replace(self.corner(box, 0, pressure_pa, best=True), tubes=tubes)

    def nested(self, box: Box) -> bool:
        """Whether one pump of a box droops least at every flow, so that a corner is the best of all."""
        curves = [self.trial.curves[k] for k in box.pumps]
        linear = min(c.linear_pa_s_m3 for c in curves)
        quadratic = min(c.quadratic_pa_s2_m6 for c in curves)
        return any(c.linear_pa_s_m3 == linear and c.quadratic_pa_s2_m6 == quadratic for c in curves)

    def lowest(self, pick: Pick, low_pa: float, top: Outcome) -> tuple[Pick, Outcome]:
        """The lowest setting at which no drop is too low, up to that of the pick, whose outcome is given."""
        if self.space.fixed_pa is not None:
            return pick, top
        gauge = self.space.gauge
        low, high = gauge.steps(low_pa), gauge.steps(pick.pressure_pa)
        known = {high: top}
        while high > low:
            span = high - low
            stride = 1 if span <= 8 else span / 8.0
            steps = sorted({low + int(i * stride) for i in range(8)} - {high})[:8]
            if span <= 8:
                steps = list(range(low, high))
            answers = self.trial.run([replace(pick, pressure_pa=k * gauge.step_pa) for k in steps])
            known.update(zip(steps, answers, strict=True))
            works = [k for k in steps if known[k].limit is not Limit.LOW]
            fails = [k for k in steps if known[k].limit is Limit.LOW]
            high = min([high, *works])
            low = max([low, *(k + 1 for k in fails if k < high)])
            if high in steps and high == low:
                break
        outcome = known[high]
        if outcome.limit in (Limit.VELOCITY, Limit.CAPACITY) and outcome.guns > top.guns:
            # A higher setting shortens the spraying, so fewer guns may run together.
            above = range(high + 1, gauge.steps(pick.pressure_pa) + 1)
            picks = [replace(pick, pressure_pa=k * gauge.step_pa) for k in above]
            for higher, found in zip(picks, self.trial.run(picks), strict=True):
                if not found.broken:
                    return higher, found
        return replace(pick, pressure_pa=high * gauge.step_pa), outcome

    def settled(self, pick: Pick, low_pa: float, top: Outcome) -> tuple[Pick, Outcome]:
        """The lowest setting from which on the sizes work over the whole margin, up to that of the pick, whose outcome
        is given; where there is none, with what breaks them."""
        chosen, outcome = self.lowest(pick, low_pa, top)
        span = self.space.span_pa
        if outcome.broken or span == 0.0:
            return chosen, outcome
        ends = [replace(chosen, pressure_pa=at + span) for at in (chosen.pressure_pa, pick.pressure_pa)]
        upper, highest = self.trial.run(ends)
        if outcome.guns == highest.guns or (outcome.guns == upper.guns and not upper.broken):
            return chosen, upper if upper.broken else outcome
        # Fewer guns run together at a higher setting, so a limit that was passed may be kept again above.
        gauge, asked = self.space.gauge, 2 * self.space.margin + 1
        first, last = gauge.steps(chosen.pressure_pa), gauge.steps(ends[1].pressure_pa)
        picks = [replace(pick, pressure_pa=k * gauge.step_pa) for k in range(first, last + 1)]
        answers = self.trial.run(picks)
        row = 0
        for at, answer in enumerate(answers):
            row = 0 if answer.broken else row + 1
            if row == asked:
                return picks[at - asked + 1], answers[at - asked + 1]
        return chosen, next(answer for answer in answers if answer.broken)

    def better(self, pick: Pick, cost: float, outcome: Outcome) -> None:
        """Keep a working candidate if it is cheaper; at one cost if its setting is lower, then its room larger."""
        new = Found(pick, cost, outcome)
        old = self.best
        if old is not None:
            scale = _TIE * max(1.0, abs(old.cost))
            if cost > old.cost + scale:
                return
            if cost >= old.cost - scale and (pick.pressure_pa, -outcome.room) >= (
                old.pick.pressure_pa,
                -old.outcome.room,
            ):
                return
        self.best = new

    def split(self, box: Box, at: int) -> list[Box]:
        """A box without and with the cheapest size of a segment; -1 is the pump."""
        if at < 0:
            return [Box(box.pumps[:1], box.tubes), Box(box.pumps[1:], box.tubes)]
        options = box.tubes[at]
        before, after = box.tubes[:at], box.tubes[at + 1 :]
        return [Box(box.pumps, (*before, part, *after)) for part in (options[:1], options[1:])]

    def others(self, box: Box) -> list[Box]:
        """A box less its cheapest member."""
        found = []
        for at in range(-1, len(box.tubes)):
            options = box.pumps if at < 0 else box.tubes[at]
            if len(options) > 1:
                kept, rest = self.split(box, at)
                found.append(rest)
                box = kept
        return found

    def branch(self, box: Box, limit: Limit | None, at: int) -> list[Box]:
        """Split where it helps the limit that the cheapest member breaks."""
        open_ = [s for s, options in enumerate(box.tubes) if len(options) > 1]
        if limit is Limit.VELOCITY and at in open_:
            return self.split(box, at)
        if limit is Limit.CAPACITY and len(box.pumps) > 1:
            return self.split(box, -1)
        if limit is Limit.LOW:
            gain = self.bounds.gain(box, at)
            if open_ and gain.max() > 0.0:
                return self.split(box, int(gain.argmax()))
        if len(box.pumps) > 1:
            return self.split(box, -1)
        return self.split(box, open_[0]) if open_ else []

    def weakest(self, box: Box, low_pa: float) -> list[Pick]:
        """For each drop the member that does least for it; empty where no pump of the box is the worst throughout."""
        curves = [self.trial.curves[k] for k in box.pumps]
        worst = self.trial.curves[self.corner(box, 0, low_pa, best=False).pump]
        if any(
            c.linear_pa_s_m3 > worst.linear_pa_s_m3 or c.quadratic_pa_s2_m6 > worst.quadratic_pa_s2_m6
            for c in curves
        ):
            return []
        return [self.corner(box, i, low_pa, best=False) for i in range(self.trial.count)]

    def hopeless(self, box: Box, limit: Limit | None, answers: Sequence[Outcome]) -> bool:
        """Whether the flows that must pass at the lowest setting are too much for every size of a box.

        The answers are those of `weakest` at that setting and the margin above it.
        """
        if not answers:
            return False
        flows = np.array([a.together_m3_s[i] for i, a in enumerate(answers)])
        least = np.maximum(flows, self.bounds.least_m3_s)
        if limit is Limit.CAPACITY:
            most = max(self.trial.curves[k].max_flow_m3_s for k in box.pumps)
            return bool(rules.above(self.bounds.capacity_floor(least), most))
        floor = self.bounds.velocity_floor(least)
        return any(
            all(self.bounds.too_fast(k, float(floor[s])) for k in options)
            for s, options in enumerate(box.tubes)
        )


def _trimmed(search: _Searcher, box: Box) -> Box | None:
    """A box without sizes that are too small for the flows that must pass, whatever the rest."""
    floor, flow = search.bounds.velocity_floor(), search.bounds.capacity_floor()
    curves = search.trial.curves
    pumps = tuple(k for k in box.pumps if not rules.above(flow, curves[k].max_flow_m3_s))
    tubes = tuple(
        tuple(k for k in options if not search.bounds.too_fast(k, float(floor[s])))
        for s, options in enumerate(box.tubes)
    )
    return Box(pumps, tubes) if pumps and all(tubes) else None


def _sorted(space: Space) -> Box | None:
    pumps = sorted(
        (k for k in space.box.pumps if math.isfinite(space.pump_cost[k])),
        key=lambda k: float(space.pump_cost[k]),
    )
    tubes = tuple(
        tuple(
            sorted(
                (k for k in o if math.isfinite(space.tube_cost[s, k])),
                key=lambda k: float(space.tube_cost[s, k]),
            )
        )
        for s, o in enumerate(space.box.tubes)
    )
    return Box(tuple(pumps), tubes) if pumps and all(tubes) else None


def cheapest(trial: LineTrial, nozzles: Sequence[int], space: Space, most_boxes: int = MOST_BOXES) -> Search:
    """The cheapest sizes that hold every limit of the proof.

    Args:
        trial: the line.
        nozzles: one a drop, in the catalogue's nozzle sizes.
        space: what may be chosen.
        most_boxes: boxes to look at before falling back to local improvement.

    Raises:
        NetworkError: a candidate cannot be solved.
    """
    search = _Searcher(trial, tuple(nozzles), space)
    priced = _sorted(space)
    box = _trimmed(search, priced) if priced is not None else None
    if priced is None or box is None:
        return Search(None, True, 0)
    box_of_all = box
    heap: list[tuple[float, int, Box]] = [(search.cost(box), 0, box)]
    pushed = looked = 0
    batch = 1
    begun = trial.work
    until = begun + MOST_WORK
    while heap and looked < most_boxes and trial.work < until:
        taken: list[tuple[Box, tuple[float, float]]] = []
        while heap and len(taken) < batch:
            cost, _, box = heap[0]
            if search.best is not None and cost > search.best.cost + _TIE * max(1.0, search.best.cost):
                heap.clear()
                break
            heapq.heappop(heap)
            looked += 1
            span = search.settings(box)
            if span is not None:
                taken.append((box, span))
        for child in _look(search, taken):
            cost = search.cost(child)
            if search.best is None or cost <= search.best.cost + _TIE * max(1.0, search.best.cost):
                pushed += 1
                heapq.heappush(heap, (cost, pushed, child))
        # No more together than the work that is left is likely to be enough for.
        each = max(1, (trial.work - begun) // max(1, looked))
        batch = max(1, min(2 * batch, 16, (until - trial.work) // each))
    proved = search.sure and (
        not heap or (search.best is not None and heap[0][0] >= search.best.cost - _TIE * search.best.cost)
    )
    if not proved and heap:
        _improve(search, box_of_all)
    return Search(search.best, proved, looked)


def _look(search: _Searcher, boxes: Sequence[tuple[Box, tuple[float, float]]]) -> list[Box]:
    """Try the cheapest member of each box, given with its settings; the boxes that are left to look at."""
    trial = search.trial
    new: list[Pick] = []
    window: dict[tuple[int, tuple[int, ...]], tuple[float, float] | None] = {}
    for box, _ in boxes:
        member = search.cheapest_of(box)
        key = (member.pumps[0], tuple(o[0] for o in member.tubes))
        if key in search.tried or key in window:
            continue
        own = window[key] = search.settings(member)
        if own is not None:
            new.append(search.pick(member, own[1]))
    fresh = {(p.pump, p.tubes): (p, o) for p, o in zip(new, trial.run(new), strict=True)}
    for key, (pick, outcome) in fresh.items():
        if outcome.limit is not Limit.LOW:
            own = window[key]
            assert own is not None
            chosen, final = search.settled(pick, own[0], outcome)
            search.tried[key] = (chosen.pressure_pa, final)
            if not final.broken:
                cost = search.cost(Box((pick.pump,), tuple((k,) for k in pick.tubes)))
                search.better(chosen, cost, final)
        else:
            search.tried[key] = (pick.pressure_pa, outcome)
    left: list[Box] = []
    corners: list[tuple[Box, Outcome, Pick]] = []
    flowing: list[tuple[Box, Outcome, list[Pick]]] = []
    for box, span in boxes:
        key = (box.pumps[0], tuple(o[0] for o in box.tubes))
        known = search.tried.get(key)
        if known is None:
            # The bounds leave its cheapest member no setting; the whole box they do.
            left.extend(search.branch(box, Limit.LOW, search.bounds.binding(search.cheapest_of(box))))
        elif not known[1].broken:
            left.extend(search.others(box))
        elif known[1].limit is Limit.LOW and not search.nested(box):
            left.extend(search.split(box, -1))
        elif known[1].limit is Limit.LOW:
            corners.append((box, known[1], search.corner(box, known[1].at, span[1], best=True)))
        elif known[1].limit in (Limit.VELOCITY, Limit.CAPACITY):
            flowing.append(
                (
                    box,
                    known[1],
                    search.weakest(box, span[0] + search.space.span_pa) if search.bounds.exact else [],
                )
            )
        else:
            left.extend(search.branch(box, known[1].limit, known[1].at))
    # A corner's own flows say nothing of how many guns a member has open. No member gives more alone than the widest of
    # all at the highest setting, so none has fewer guns open together than that one.
    widest = trial.run([search.widest(box, pick.pressure_pa) for box, _, pick in corners])
    fewest = [max(search.bounds.fewest, w.guns) for w in widest]
    answers = _by_guns(trial, [pick for _, _, pick in corners], fewest)
    slow = trial.run([p for _, _, picks in flowing for p in picks], search.bounds.most)
    at = 0
    for box, outcome, picks in flowing:
        if not search.hopeless(box, outcome.limit, slow[at : at + len(picks)]):
            left.extend(search.branch(box, outcome.limit, outcome.at))
        at += len(picks)
    for (box, outcome, _), answer in zip(corners, answers, strict=True):
        low, _ = trial.window(search.nozzles)
        if rules.too_low(low[outcome.at], answer.together_pa[outcome.at]):
            if not search.bounds.exact:
                search.sure = False
            continue
        left.extend(search.branch(box, outcome.limit, outcome.at))
    return left


def _by_guns(trial: LineTrial, picks: Sequence[Pick], guns: Sequence[int]) -> list[Outcome]:
    """Try candidates, each with a number of guns of its own."""
    found: dict[int, Outcome] = {}
    for number in sorted(set(guns)):
        rows = [i for i, n in enumerate(guns) if n == number]
        found.update(zip(rows, trial.run([picks[i] for i in rows], number), strict=True))
    return [found[i] for i in range(len(picks))]


def _improve(search: _Searcher, box: Box) -> None:
    """From the best known, or the widest of all, take one step down at a time while it still works."""
    trial = search.trial
    if search.best is None:
        widest = Box(
            (search.corner(box, 0, 1e5, best=True).pump,),
            tuple((max(o, key=lambda k: float(trial.bore[k])),) for o in box.tubes),
        )
        if not _try(search, [widest]):
            return
    until = trial.work + MOST_WORK
    for _ in range(200):
        if trial.work >= until:
            return
        best = search.best
        assert best is not None
        now = Box((best.pick.pump,), tuple((k,) for k in best.pick.tubes))
        steps: list[Box] = []
        for at in range(-1, len(box.tubes)):
            options = box.pumps if at < 0 else box.tubes[at]
            held = now.pumps[0] if at < 0 else now.tubes[at][0]
            steps.extend(
                Box((k,), now.tubes)
                if at < 0
                else Box(now.pumps, (*now.tubes[:at], (k,), *now.tubes[at + 1 :]))
                for k in options[: options.index(held)]
            )
        steps.sort(key=search.cost)
        if not _try(search, steps):
            return


def _try(search: _Searcher, members: Sequence[Box]) -> bool:
    """Whether one of the members, taken in order, works; the first that does is kept."""
    ready = (
        (member, span, search.pick(member, span[1]))
        for member in members
        if (span := search.settings(member)) is not None
    )
    # A few at a time: mostly one of the first works, and the rest need not be solved.
    while some := list(islice(ready, _TRIED_TOGETHER)):
        for (member, span, pick), outcome in zip(some, search.trial.run([p for *_, p in some]), strict=True):
            if outcome.limit is Limit.LOW:
                continue
            chosen, final = search.settled(pick, span[0], outcome)
            if not final.broken:
                search.better(chosen, search.cost(member), final)
                return True
    return False
