"""Why nothing works on a line: the limit that binds, and what would lift it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from estimator.model.finding import Amount, Fact, Finding, IdKind, Phrase, Ref, Severity, facts
from estimator.proposal.bounds import SLACK_PA, Bounds, Need
from estimator.proposal.line import best_case
from estimator.proposal.tree_search import Space
from estimator.proposal.trial import LineTrial
from estimator.proposal.words import effect
from estimator.sizing import rules, told
from estimator.sizing.rules import Limit

__all__ = ["Places", "why_not"]

_SOURCE = "hydraulic proof"
_TAILS = {
    Limit.LOW: "A smaller nozzle, a shorter run, a wider hose or more pressure lifts it.",
    Limit.HIGH: "A larger nozzle or a lower setting lifts it.",
    Limit.VELOCITY: "Smaller nozzles or a wider tube lifts it.",
    Limit.CAPACITY: "Smaller nozzles or fewer guns at once lifts it.",
}


@dataclass(frozen=True, slots=True)
class Places:
    """A line's product, and addresses of the fields of the product, plant unit, drops and segments' lengths."""

    line: str
    product: str
    unit: str
    drops: tuple[str, ...]
    lengths: tuple[str, ...]
    pinned: bool


def _error(place: str, rule: str, sentence: str, **named: Fact) -> Finding:
    return Finding(Severity.ERROR, place, rule, sentence, _SOURCE, facts=facts(**named))


def _setting(si: float) -> Amount:
    return told.pressure(si, 1)


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
        held = " Some choices of this line are pinned or stand already; freeing them may lift it too."
        return replace(found, sentence=found.sentence + held)
    return found


def _why(trial: LineTrial, nozzles: tuple[int, ...], space: Space, places: Places) -> Finding:
    product = told.product(places.line)
    bounds = Bounds(trial, nozzles)
    need = bounds.need(space.box)
    supply = space.supply_pa
    pumps = [trial.parts.pumps[k] for k in space.box.pumps]
    pump_limit = 1000.0 * max(p.max_kpa for p in pumps)
    least = space.gauge.lowest(need.total_pa)
    if supply < space.gauge.step_pa:
        return _error(
            "site.air.pressure",
            "proposal-no-air",
            "Compressor pressure: {supply} at the board just before it starts drives no pump, so {product} gives "
            "nothing. It needs at least {least} there; a higher cut-in pressure or a smaller loss before the board "
            "lifts it.",
            supply=told.pressure(supply),
            product=product,
            least=_setting(least),
        )
    flow = bounds.capacity_floor()
    capacity = max(trial.curves[k].max_flow_m3_s for k in space.box.pumps)
    if rules.above(flow, capacity):
        return _error(
            f"{places.unit}.pump",
            "proposal-pump",
            "{product}: its guns take at least {flow} together; the largest pump offered gives {capacity}. Smaller "
            "nozzles, fewer guns at once or a larger pump in the catalogue lifts it.",
            product=product,
            flow=told.flow(flow, 1),
            capacity=told.flow(capacity, 1),
        )
    floor = bounds.velocity_floor()
    for s, options in enumerate(space.box.tubes):
        if all(bounds.too_fast(k, float(floor[s])) for k in options):
            widest = trial.parts.tubes[max(options, key=lambda k: float(trial.bore[k]))]
            return _error(
                places.lengths[s],
                "proposal-velocity",
                "{product}: {segment} must carry at least {flow}, over {most} in {tube}, the widest offered. Smaller "
                "nozzles or a wider tube lifts it.",
                product=product,
                segment=told.segment(trial.line.layout.segments[s].id, places.line),
                flow=told.flow(float(floor[s]), 1),
                most=told.speed(rules.MAX_VELOCITY_M_S),
                tube=Ref(IdKind.TUBE, widest.key),
            )
    allowed = bounds.allowed(space.box)
    most = min(supply, allowed)
    if need.total_pa > most + SLACK_PA:
        return _too_much(trial, need, most, supply, pump_limit, least, places)
    fixed = space.fixed_pa
    if fixed is not None and not need.total_pa - SLACK_PA <= fixed <= most + SLACK_PA:
        return _error(
            f"{places.unit}.regulator",
            "proposal-regulator",
            "{product}: the regulator is held at {fixed}; with any sizes the line works from about {least} to {most}. "
            "Free the setting or change it.",
            product=product,
            fixed=_setting(fixed),
            least=_setting(least),
            most=_setting(most),
        )
    case = best_case(trial, nozzles, space)
    if case is not None and case[1].broken:
        _, outcome = case
        if outcome.limit is Limit.LOW:
            # Weak guns spray longer, so more of them run together than the bound may take.
            need = Bounds(trial, nozzles, slow=True).need(space.box)
            if need.total_pa > most + SLACK_PA:
                return _too_much(
                    trial, need, most, supply, pump_limit, space.gauge.lowest(need.total_pa), places
                )
        at_drop = outcome.limit in (Limit.LOW, Limit.HIGH, Limit.MUCH)
        return _error(
            places.drops[outcome.at] if at_drop else places.product,
            "proposal-nothing-works",
            "{product}: no sizes work. Even with the widest tubes: {effect}. {lifts}",
            product=product,
            effect=effect(trial, outcome),
            lifts=_TAILS.get(outcome.limit or Limit.PUMP, "Another nozzle or a lower setting lifts it."),
        )
    return _error(
        places.product,
        "proposal-nothing-works",
        "{product}: no combination of the sizes offered keeps every drop inside its window and the tube below {most} "
        "at one regulator setting. Nozzles nearer in size, a shorter run or fewer guns at once lifts it.",
        product=product,
        most=told.speed(rules.MAX_VELOCITY_M_S),
    )


def _too_much(
    trial: LineTrial,
    need: Need,
    most: float,
    supply: float,
    pump_limit: float,
    least: float,
    places: Places,
) -> Finding:
    product = told.product(places.line)
    tubes = float(need.tubes_pa.sum())
    asks = Phrase(
        "{drop} needs at least {least} at the pump even with the widest tubes: {gun} at gun and nozzle, {lift} for the "
        "height, {hose} in the hose, {tubes} in the tubes, {droop} in the pump",
        facts(
            drop=told.drop(trial.line.drops[need.drop].drop.id),
            least=_setting(least),
            gun=told.pressure(need.gun_pa),
            lift=told.pressure(need.lift_pa),
            hose=told.pressure(need.hose_pa),
            tubes=told.pressure(tubes),
            droop=told.pressure(need.droop_pa),
        ),
    )
    if tubes > 0.5 * need.total_pa:
        s = int(need.tubes_pa.argmax())
        segment = trial.line.layout.segments[s]
        left = 1.0 - (need.total_pa - most) / float(need.tubes_pa[s])
        lifts = (
            Phrase(
                "At most about {length} of it would do; so would a smaller nozzle.",
                facts(length=told.length(left * segment.length_m)),
            )
            if left > 0.0
            else Phrase(
                "A wider tube in the catalogue, smaller nozzles or a board nearer to the bays lifts it."
            )
        )
        return _error(
            places.lengths[s],
            "proposal-run-too-long",
            "{product}: the run is too long. {asks}; no more than {most} may be set. Of it {length}, {segment}, takes "
            "most. {lifts}",
            product=product,
            asks=asks,
            most=_setting(most),
            segment=told.segment(segment.id, places.line),
            length=told.length(segment.length_m),
            lifts=lifts,
        )
    if most < min(supply, pump_limit) - SLACK_PA:
        return _error(
            places.drops[need.drop],
            "proposal-window",
            "{product}: {asks}; but above {most} another drop passes the top of its window when it runs alone, or a "
            "tube its rating. A smaller nozzle at the far drops or a wider hose lifts it.",
            product=product,
            asks=asks,
            most=_setting(most),
        )
    if need.lift_pa > 0.5 * most:
        return _error(
            "site.board.outlet_height",
            "proposal-elevation",
            "{product}: the gun is too high above the board's outlet. {asks}; no more than {most} may be set. A higher "
            "board outlet or an air pressure at the board above {least} (now {supply} just before the compressor "
            "starts) lifts it.",
            product=product,
            asks=asks,
            most=_setting(most),
            supply=_setting(supply),
            least=_setting(least),
        )
    if supply <= pump_limit:
        return _error(
            "site.air.pressure",
            "proposal-air-pressure",
            "Compressor pressure: {supply} at the board just before it starts is too low for {product}. {asks}. A "
            "higher cut-in pressure, a smaller loss before the board or a nozzle with a lower window lifts it.",
            supply=told.pressure(supply),
            product=product,
            asks=asks,
        )
    return _error(
        f"{places.unit}.pump",
        "proposal-pump-pressure",
        "{product}: {asks}; the pumps offered take {limit} at most. A smaller nozzle, a wider hose or another pump "
        "lifts it.",
        product=product,
        asks=asks,
        limit=_setting(pump_limit),
    )
