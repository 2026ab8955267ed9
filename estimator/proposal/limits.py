"""Why nothing works on a line: the limit that binds, in words, and what would lift it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from estimator.model.finding import Finding, Severity
from estimator.proposal.bounds import SLACK_PA, Bounds, Need
from estimator.proposal.line import best_case
from estimator.proposal.tree_search import STEP_PA, Space
from estimator.proposal.trial import LineTrial
from estimator.proposal.words import effect
from estimator.sizing import rules
from estimator.sizing.rules import Limit

__all__ = ["Places", "why_not"]

_BAR = 1e5
_L_MIN = 1e-3 / 60.0
_SOURCE = "hydraulic proof"


@dataclass(frozen=True, slots=True)
class Places:
    """Where a line's fields are: addresses of its product, plant unit, drops and segments' lengths."""

    name: str
    product: str
    unit: str
    drops: tuple[str, ...]
    lengths: tuple[str, ...]
    pinned: bool


def _error(place: str, rule: str, message: str) -> Finding:
    return Finding(Severity.ERROR, place, rule, message, _SOURCE)


def why_not(trial: LineTrial, nozzles: tuple[int, ...], space: Space, places: Places) -> Finding:
    """The limit that binds on a line for which no sizes work.

    Args:
        trial: the line.
        nozzles: its nozzle sizes.
        space: what could be chosen.
        places: where its fields are.
    """
    found = _why(trial, nozzles, space, places)
    if places.pinned:
        return Finding(
            found.severity,
            found.place,
            found.rule,
            f"{found.message} Some choices of this line are pinned or stand already; freeing them may lift it too.",
            found.source,
        )
    return found


def _why(trial: LineTrial, nozzles: tuple[int, ...], space: Space, places: Places) -> Finding:
    name = f"“{places.name}”"
    bounds = Bounds(trial, nozzles)
    need = bounds.need(space.box)
    supply = space.supply_pa
    pumps = [trial.parts.pumps[k] for k in space.box.pumps]
    pump_limit = 1000.0 * max(p.max_kpa for p in pumps)
    least = math.ceil((need.total_pa - SLACK_PA) / STEP_PA) * STEP_PA / _BAR
    if supply < STEP_PA:
        return _error(
            "site.air.pressure",
            "proposal-no-air",
            f"Compressor pressure: {supply / _BAR:.2f} bar drives no pump, so {name} gives nothing. It needs at least "
            f"{least:.1f} bar; a compressor that holds more lifts it.",
        )
    flow = bounds.capacity_floor()
    capacity = max(p.max_l_min for p in pumps)
    if flow > capacity * _L_MIN:
        return _error(
            f"{places.unit}.pump",
            "proposal-pump",
            f"{name}: its guns take at least {flow / _L_MIN:.1f} L/min together; the largest pump offered gives "
            f"{capacity:.1f} L/min. Smaller nozzles, fewer guns at once or a larger pump in the catalogue lifts it.",
        )
    floor = bounds.velocity_floor()
    for s, options in enumerate(space.box.tubes):
        if all(bounds.too_fast(k, float(floor[s])) for k in options):
            widest = trial.parts.tubes[max(options, key=lambda k: float(trial.bore[k]))]
            return _error(
                places.lengths[s],
                "proposal-velocity",
                f"{name}: segment {trial.line.layout.segments[s].id} must carry at least {floor[s] / _L_MIN:.1f} "
                f"L/min, over {rules.MAX_VELOCITY_M_S:.0f} m/s in {widest.name}, the widest offered. Smaller nozzles "
                "or a wider tube lifts it.",
            )
    allowed = bounds.allowed(space.box)
    if need.total_pa > min(supply, allowed) + SLACK_PA:
        return _too_much(trial, need, min(supply, allowed), supply, pump_limit, least, places)
    fixed = space.fixed_pa
    if fixed is not None and not need.total_pa - SLACK_PA <= fixed <= min(supply, allowed) + SLACK_PA:
        return _error(
            f"{places.unit}.regulator",
            "proposal-regulator",
            f"{name}: the regulator is held at {fixed / _BAR:.1f} bar; with any sizes the line works from about "
            f"{least:.1f} to {min(supply, allowed) / _BAR:.1f} bar. Free the setting or change it.",
        )
    case = best_case(trial, nozzles, space)
    if case is not None and case[1].broken:
        _, outcome = case
        if outcome.limit is Limit.LOW:
            # Weak guns spray longer, so more of them run together than the bound may take.
            need = Bounds(trial, nozzles, slow=True).need(space.box)
            if need.total_pa > min(supply, allowed) + SLACK_PA:
                least = math.ceil((need.total_pa - SLACK_PA) / STEP_PA) * STEP_PA / _BAR
                return _too_much(trial, need, min(supply, allowed), supply, pump_limit, least, places)
        place = (
            places.drops[outcome.at]
            if outcome.limit in (Limit.LOW, Limit.HIGH, Limit.MUCH)
            else places.product
        )
        tail = {
            Limit.LOW: "A smaller nozzle, a shorter run, a wider hose or more pressure lifts it.",
            Limit.HIGH: "A larger nozzle or a lower setting lifts it.",
            Limit.VELOCITY: "Smaller nozzles or a wider tube lifts it.",
            Limit.CAPACITY: "Smaller nozzles or fewer guns at once lifts it.",
        }.get(outcome.limit or Limit.PUMP, "Another nozzle or a lower setting lifts it.")
        return _error(
            place,
            "proposal-nothing-works",
            f"{name}: no sizes work. Even with the widest tubes: {effect(trial, outcome)}. {tail}",
        )
    return _error(
        places.product,
        "proposal-nothing-works",
        f"{name}: no combination of the sizes offered keeps every drop inside its window and the tube below "
        f"{rules.MAX_VELOCITY_M_S:.0f} m/s at one regulator setting. Nozzles nearer in size, a shorter run or "
        "fewer guns at once lifts it.",
    )


def _too_much(
    trial: LineTrial,
    need: Need,
    most: float,
    supply: float,
    pump_limit: float,
    least_bar: float,
    places: Places,
) -> Finding:
    name, drop = f"“{places.name}”", trial.line.drops[need.drop].drop.id
    tubes = float(need.tubes_pa.sum())
    asks = (
        f"{drop} needs at least {least_bar:.1f} bar at the pump even with the widest tubes: "
        f"{need.gun_pa / _BAR:.2f} bar at gun and nozzle, {need.lift_pa / _BAR:.2f} bar for the height, "
        f"{need.hose_pa / _BAR:.2f} bar in the hose, {tubes / _BAR:.2f} bar in the tubes, "
        f"{need.droop_pa / _BAR:.2f} bar in the pump"
    )
    if tubes > 0.5 * need.total_pa:
        s = int(need.tubes_pa.argmax())
        segment = trial.line.layout.segments[s]
        left = 1.0 - (need.total_pa - most) / float(need.tubes_pa[s])
        lifts = (
            f"At most about {left * segment.length_m:.0f} m of it would do; so would a smaller nozzle."
            if left > 0.0
            else "A wider tube in the catalogue, smaller nozzles or a board nearer to the bays lifts it."
        )
        return _error(
            places.lengths[s],
            "proposal-run-too-long",
            f"{name}: the run is too long. {asks}; no more than {most / _BAR:.1f} bar may be set. Segment {segment.id} "
            f"of {segment.length_m:.0f} m takes most of it. {lifts}",
        )
    if most < min(supply, pump_limit) - SLACK_PA:
        return _error(
            places.drops[need.drop],
            "proposal-window",
            f"{name}: {asks}; but above {most / _BAR:.1f} bar another drop passes the top of its window when it runs "
            "alone, or a tube its rating. A smaller nozzle at the far drops or a wider hose lifts it.",
        )
    if need.lift_pa > 0.5 * most:
        return _error(
            "site.board.outlet_height",
            "proposal-elevation",
            f"{name}: the gun is too high above the board's outlet. {asks}; no more than {most / _BAR:.1f} bar may be "
            f"set. A higher board outlet or a compressor pressure (now {supply / _BAR:.1f} bar) above {least_bar:.1f} "
            "bar lifts it.",
        )
    if supply <= pump_limit:
        return _error(
            "site.air.pressure",
            "proposal-air-pressure",
            f"Compressor pressure: {supply / _BAR:.2f} bar is too low for {name}. {asks}. A compressor that holds "
            "more, or a nozzle with a lower window, lifts it.",
        )
    return _error(
        f"{places.unit}.pump",
        "proposal-pump-pressure",
        f"{name}: {asks}; the pumps offered take {pump_limit / _BAR:.1f} bar at most. A smaller nozzle, a wider hose "
        "or another pump lifts it.",
    )
