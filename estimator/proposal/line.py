"""The proposal of one liquid line: nozzles for the wanted flows, then the cheapest tubes, pump and setting."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from estimator.model.finding import Phrase, facts
from estimator.proposal.bounds import Bounds
from estimator.proposal.middle import middled
from estimator.proposal.tree_search import Found, Search, Space, cheapest
from estimator.proposal.trial import LineTrial, Outcome, Pick
from estimator.proposal.types import Choice, Neighbour
from estimator.proposal.words import HELD, effect, why_setting, why_tube
from estimator.sizing import rules, told
from estimator.sizing.rules import Limit

__all__ = ["Freedom", "LineAct", "best_case", "line_choices", "size_line"]

_LEVELS = 8
_ROUNDS = 4


@dataclass(frozen=True, slots=True)
class Freedom:
    """What of a line is free.

    Attributes:
        nozzles: one a drop.
        tubes: one a segment.
        pump, regulator: of its plant.
    """

    nozzles: tuple[bool, ...]
    tubes: tuple[bool, ...]
    pump: bool
    regulator: bool


@dataclass(frozen=True, slots=True)
class LineAct:
    """What was found for a line.

    Attributes:
        search: the last search; its `found` is None where nothing works.
        wanted_met: every stated flow is met within the proof's tolerance.
        changed: drops whose nozzle had to leave the present size though no other flow was stated.
        kept: nothing offered works, what the line has now does.
        settings_pa: lowest and highest setting of the regulator that work with the sizes found, None where it is not
            free or nothing was found.
    """

    search: Search
    wanted_met: bool
    changed: tuple[int, ...]
    kept: bool = False
    settings_pa: tuple[float, float] | None = None

    def tight(self, space: Space) -> bool:
        """Whether a setting was found that leaves its gauge less than its margin."""
        if self.settings_pa is None:
            return False
        low, high = self.settings_pa
        return high - low < space.span_pa - 0.5 * space.gauge.step_pa


def _nozzle_plans(trial: LineTrial, present: tuple[int, ...], free: Sequence[bool]) -> list[tuple[int, ...]]:
    """Nozzle sizes to try: for some working pressures, the size of each drop nearest to the wanted flow at it."""
    stated = [i for i in range(trial.count) if free[i] and not np.isnan(trial.wish[i])]
    if not stated:
        return [present]
    sizes = range(len(trial.parts.nozzle_sizes))
    # (sizes, drops): each size with its own window.
    ends = [trial.windows((k,) * trial.count) for k in sizes]
    low, high = np.array([e[0] for e in ends]), np.array([e[1] for e in ends])
    plans: dict[tuple[int, ...], None] = {}
    for level in np.linspace(max(float(low[:, stated].min()), 1e4), float(high[:, stated].max()), _LEVELS):
        plan = list(present)
        for i in stated:
            at = np.clip(float(level), low[:, i], high[:, i])
            plan[i] = int(np.abs(trial.nozzle * np.sqrt(at) - trial.wish[i]).argmin())
        plans.setdefault(tuple(plan))
    return list(plans)


def _order(found: Found) -> tuple[float, float, float]:
    return (round(found.cost, 9), found.pick.pressure_pa, -found.outcome.room)


def _best(trial: LineTrial, plans: Sequence[tuple[int, ...]], space: Space, most_boxes: int) -> Search:
    """The best of some nozzle plans: with the margin of the setting, or without where none has it; of either first
    those whose surge no part is too weak for. The trial keeps to what was found for."""
    proved, search = True, Search(None, True, 0)
    for quiet in (True, False):
        trial.quiet = quiet
        for some in (space, replace(space, margin=0)) if space.span_pa > 0.0 else (space,):
            search = _best_of(trial, plans, some, most_boxes)
            proved = proved and search.proved
            if search.found is not None:
                return replace(search, proved=proved)
    return replace(search, proved=proved)


def _best_of(trial: LineTrial, plans: Sequence[tuple[int, ...]], space: Space, most_boxes: int) -> Search:
    best: Search | None = None
    proved = True
    for plan in plans:
        least, most = trial.window(plan)
        if (least > most).any():
            continue
        search = cheapest(trial, plan, space, most_boxes)
        proved = proved and search.proved
        if search.found is not None and (
            best is None or best.found is None or _order(search.found) < _order(best.found)
        ):
            best = search
    if best is None:
        return Search(None, proved, 0)
    return replace(best, proved=proved)


def size_line(trial: LineTrial, before: Pick, freedom: Freedom, space: Space, most_boxes: int) -> LineAct:
    """The cheapest sizes of a line.

    Stated flows come first: nozzle sizes that give them. Where none can, the window alone is kept and the miss is told
    by the proof. Where no step of the regulator keeps the window either, what the line has now stays if it works. Where
    it does not, the free nozzles of the drops that fail are changed by one size, which the proposal tells as a finding.
    A regulator that is free is set in the middle of what works with the sizes.

    Args:
        trial: the line.
        before: what it has.
        freedom: what is free.
        space: sizes and their cost.
        most_boxes: limit of each search.
    """
    act = _sized(trial, before, freedom, space, most_boxes)
    if act.kept or act.search.found is None or space.fixed_pa is not None:
        return act
    middle = middled(trial, act.search.found, space)
    search = replace(act.search, found=middle.found)
    return replace(act, search=search, settings_pa=(middle.low_pa, middle.high_pa))


def _sized(trial: LineTrial, before: Pick, freedom: Freedom, space: Space, most_boxes: int) -> LineAct:
    """The same with the lowest setting that works."""
    present = before.nozzles
    plans = _nozzle_plans(trial, present, freedom.nozzles)
    search = _best(trial, plans, space, most_boxes)
    if search.found is not None:
        return LineAct(search, True, ())
    stated = not bool(np.isnan(trial.wish).all())
    if stated:
        trial.wanted = False
        relaxed = _best(trial, list(dict.fromkeys((*plans, present))), space, most_boxes)
        if relaxed.found is not None:
            return LineAct(relaxed, False, ())
    for wanted in (True, False) if stated else (True,):
        trial.wanted = wanted
        as_it_is = trial.run([before])[0]
        if not as_it_is.broken:
            found = Found(before, _known_cost(space, before), as_it_is)
            return LineAct(Search(found, False, search.boxes), wanted, (), kept=True)
    plan = plans[0]
    for _ in range(_ROUNDS):
        moved = _moved(trial, plans[0], plan, freedom.nozzles, space)
        if moved == plan:
            break
        plan = moved
        tried = _best(trial, [plan], space, most_boxes)
        if tried.found is not None:
            changed = tuple(i for i in range(trial.count) if plan[i] != present[i])
            return LineAct(tried, not stated, changed)
    return LineAct(search, not stated, ())


def _known_cost(space: Space, pick: Pick) -> float:
    """Cost of a candidate as far as its sizes have a price."""
    costs = [float(space.tube_cost[s, k]) for s, k in enumerate(pick.tubes)]
    return sum(c for c in (*costs, float(space.pump_cost[pick.pump])) if np.isfinite(c))


def best_case(trial: LineTrial, nozzles: tuple[int, ...], space: Space) -> tuple[Pick, Outcome] | None:
    """The widest tubes and least drooping pump at the highest setting; None where the setting would be zero."""
    bounds = Bounds(trial, nozzles)
    tubes = tuple(max(o, key=lambda k: float(trial.bore[k])) for o in space.box.tubes)
    pump = min(space.box.pumps, key=lambda k: trial.curves[k].linear_pa_s_m3)
    top = min(space.supply_pa, bounds.allowed(space.box))
    setting = space.fixed_pa if space.fixed_pa is not None else space.gauge.highest(top)
    if setting <= 0.0:
        return None
    pick = Pick(pump, tubes, nozzles, float(setting))
    return pick, trial.run([pick])[0]


def _moved(
    trial: LineTrial, present: tuple[int, ...], plan: tuple[int, ...], free: Sequence[bool], space: Space
) -> tuple[int, ...]:
    """The plan with the free nozzles of the drops that fail one size smaller (too low) or larger (too high)."""
    case = best_case(trial, plan, space)
    if case is None:
        return plan
    _, outcome = case
    order = sorted(
        range(len(trial.parts.nozzle_sizes)), key=lambda k: trial.parts.nozzle_sizes[k].l_min_at_300_kpa
    )
    rank = {k: r for r, k in enumerate(order)}
    moved = list(plan)
    low, _ = trial.window(plan)
    _, high = trial.windows(plan)
    for i in range(trial.count):
        if not free[i]:
            continue
        low_here = rules.too_low(low[i], outcome.together_pa[i])
        step = -1 if low_here else 1 if rules.too_high(high[i], outcome.alone_pa[i]) else 0
        if outcome.limit in (Limit.CAPACITY, Limit.VELOCITY) and step == 0:
            step = -1
        at = rank[plan[i]] + step
        # One size at most: a person who wants much less flow than the present nozzle gives has to say so.
        if 0 <= at < len(order) and abs(at - rank[present[i]]) <= 1:
            moved[i] = order[at]
    return tuple(moved)


def _near(order: Sequence[int], at: int) -> Iterator[tuple[int, int]]:
    """(-1 or +1, neighbour) of a size in its order."""
    here = list(order).index(at)
    for step in (-1, 1):
        if 0 <= here + step < len(order):
            yield step, order[here + step]


def line_choices(
    trial: LineTrial,
    act: LineAct,
    found: Found,
    freedom: Freedom,
    space: Space,
    before: Pick,
    places: Sequence[str],
) -> tuple[Choice, ...]:
    """The choices of a line with their neighbours.

    Args:
        trial, act, found: the line and what was found.
        freedom, space: what was free.
        before: what it had.
        places: addresses of the nozzles, the tubes, the pump and the regulator, in this order.
    """
    parts, pick = trial.parts, found.pick
    by_bore = sorted(range(len(parts.tubes)), key=lambda k: parts.tubes[k].bore_mm)
    by_flow = sorted(range(len(parts.pumps)), key=lambda k: parts.pumps[k].max_l_min)
    by_size = sorted(range(len(parts.nozzle_sizes)), key=lambda k: parts.nozzle_sizes[k].l_min_at_300_kpa)
    # (choice, step, key, extra cost, candidate)
    asked: list[tuple[int, int, str, float, Pick]] = []
    count, segments = trial.count, trial.segments
    for i in range(count):
        if freedom.nozzles[i]:
            for step, k in _near(by_size, pick.nozzles[i]):
                nozzles = (*pick.nozzles[:i], k, *pick.nozzles[i + 1 :])
                asked.append((i, step, parts.nozzle_sizes[k].key, 0.0, replace(pick, nozzles=nozzles)))
    for s in range(segments):
        if freedom.tubes[s]:
            alike = [k for k in by_bore if parts.tubes[k].made_like(parts.tubes[pick.tubes[s]])]
            for step, k in _near(alike, pick.tubes[s]):
                tubes = (*pick.tubes[:s], k, *pick.tubes[s + 1 :])
                extra = float(space.tube_cost[s, k] - space.tube_cost[s, pick.tubes[s]])
                if np.isfinite(extra):
                    asked.append((count + s, step, parts.tubes[k].key, extra, replace(pick, tubes=tubes)))
    if freedom.pump:
        alike = [k for k in by_flow if parts.pumps[k].made_like(parts.pumps[pick.pump])]
        for step, k in _near(alike, pick.pump):
            extra = float(space.pump_cost[k] - space.pump_cost[pick.pump])
            if np.isfinite(extra):
                asked.append((count + segments, step, parts.pumps[k].key, extra, replace(pick, pump=k)))
    if freedom.regulator:
        for step in (-1, 1):
            pressure = round(pick.pressure_pa / space.gauge.step_pa + step) * space.gauge.step_pa
            if pressure > 0.0 and not rules.above(pressure, space.supply_pa):
                key = space.gauge.text(pressure)
                asked.append((count + segments + 1, step, key, 0.0, replace(pick, pressure_pa=pressure)))
    near: dict[tuple[int, int], Neighbour] = {}
    answers = trial.run([candidate for *_, candidate in asked])
    # What costs less must not work over the whole margin of the setting, or it had been found.
    off = 0.0 if act.tight(space) else 0.5 * space.span_pa
    less = [i for i, (*_, extra, _) in enumerate(asked) if extra < 0.0 and off and not answers[i].broken]
    for way in (-off, off):
        moved = [replace(asked[i][-1], pressure_pa=pick.pressure_pa + way) for i in less]
        for i, outcome in zip(less, trial.run(moved), strict=True):
            if outcome.broken and not answers[i].broken:
                answers[i] = replace(outcome, off_pa=way)
    for (choice, step, key, extra, _), outcome in zip(asked, answers, strict=True):
        near[choice, step] = Neighbour(key, extra, outcome.room, outcome.verdict, effect(trial, outcome))
    choices: list[Choice] = []
    free = (*freedom.nozzles, *freedom.tubes, freedom.pump, freedom.regulator)
    for c, place in enumerate(places):
        smaller, larger = near.get((c, -1)), near.get((c, 1))
        cost = 0.0
        if c < count:
            old, new = (parts.nozzle_sizes[p.nozzles[c]].key for p in (before, pick))
            reason = _why_nozzle(trial, act, found.outcome, c)
        elif c < count + segments:
            s = c - count
            old, new = (parts.tubes[p.tubes[s]].key for p in (before, pick))
            cost, reason = (
                float(space.tube_cost[s, pick.tubes[s]]),
                why_tube(smaller, act.search.proved),
            )
        elif c == count + segments:
            old, new = (parts.pumps[p.pump].key for p in (before, pick))
            cost, reason = float(space.pump_cost[pick.pump]), why_tube(smaller, act.search.proved)
        else:
            old, new = (space.gauge.text(p.pressure_pa) for p in (before, pick))
            reason = why_setting(act.settings_pa)
        if not free[c]:
            reason = HELD
        fixed_cost = cost if np.isfinite(cost) else 0.0
        choices.append(Choice(place, old, new, reason, fixed_cost, smaller, larger, not free[c]))
    return tuple(choices)


def _why_nozzle(trial: LineTrial, act: LineAct, outcome: Outcome, i: int) -> Phrase:
    given = told.flow(float(outcome.together_m3_s[i]))
    if i in act.changed:
        return Phrase(
            "The present size cannot be kept inside its window; this one gives {given}.", facts(given=given)
        )
    if np.isnan(trial.wish[i]):
        return Phrase("No other flow is wanted; it gives {given} in its design case.", facts(given=given))
    wanted = told.flow(float(trial.wish[i]))
    if act.wanted_met:
        sentence = "For the wanted {wanted} it gives {given} in its design case."
    else:
        sentence = (
            "For the wanted {wanted}, as near as the window lets it: it gives {given} in its design case."
        )
    return Phrase(sentence, facts(wanted=wanted, given=given))
