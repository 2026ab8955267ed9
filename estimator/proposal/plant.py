"""The proposal of what hangs on the lines: tubes of compressed air, metering tips and day tanks."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from estimator.going import ALONE, Going
from estimator.hydraulics.limits import OutOfRange
from estimator.layout.tubes import line_plan, segment_tubes
from estimator.layout.types import Layout, LineLayout
from estimator.model.design import AIR, Design, PlantUnit, SegmentTube
from estimator.model.finding import Number, Phrase, facts
from estimator.model.site import Site
from estimator.proposal.air import AirSizes, size_air_line, square_losses
from estimator.proposal.cost import SizeCosts
from estimator.proposal.types import Choice, LineProposal, Neighbour
from estimator.proposal.words import HELD
from estimator.reference.catalogue import Catalogue, Tube
from estimator.reference.resolved import resolve
from estimator.sizing import rules, told
from estimator.sizing.air_line import AirLine
from estimator.sizing.air_proof import gun_demands
from estimator.sizing.air_supply import supply_of
from estimator.sizing.day_proof import dry_chance, vessel_of
from estimator.sizing.line_proof import LineAnswer
from estimator.sizing.types import Proof

__all__ = ["propose_air", "propose_plant", "with_tubes"]

_TIGHTER = 0.97
_TRIES = 12


def with_tubes(design: Design, line: LineLayout, tubes: dict[str, str]) -> Design:
    """A design with these tubes (segment id -> key) written into a line's plan; other segments' sizes stay."""
    old = line_plan(design, line.id)
    kept = tuple(s for s in old.segment_tubes if s.segment not in tubes)
    new = tuple(SegmentTube(segment=s.id, tube=tubes[s.id]) for s in line.segments if s.id in tubes)
    plan = old.model_copy(update={"segment_tubes": (*kept, *new)})
    if any(p.service == line.id for p in design.lines):
        lines = tuple(plan if p.service == line.id else p for p in design.lines)
    else:
        lines = (*design.lines, plan)
    return design.model_copy(update={"lines": lines})


def _answers(proof: Proof) -> list[LineAnswer]:
    return [LineAnswer(line, tuple(d for d in proof.drops if d.line == line.line)) for line in proof.lines]


def propose_air(
    site: Site,
    design: Design,
    layout: Layout,
    proof: Proof,
    parts: Catalogue,
    costs: SizeCosts,
    pinned: frozenset[str],
    going: Going = ALONE,
) -> tuple[Design, LineProposal | None]:
    """Tubes of the air line: the cheapest that lose no more than the share of the supply that the proof allows.

    Where none does the design stays as it is, and the proof's finding says so. `going` is asked from try to try.
    """
    line = layout.line(AIR)
    if line is None or not line.segments or supply_of(site).board_pa <= 0.0:
        return design, None
    held = segment_tubes(design, line)
    keys = [t.key for t in parts.tubes]
    if any(key not in keys for key in held.values()):
        return design, None  # the layout names the unknown tube
    known = resolve(design, parts)
    by_drop, crew = gun_demands(site, design, _answers(proof), known)
    air = AirLine(site, line, by_drop, crew, known.lines.get(AIR))
    if air.supply_pa <= 0.0:
        return design, None
    free = [not s.existing and f"lines.{AIR}.{s.id}.tube" not in pinned for s in line.segments]
    options = [
        tuple(k for k, tube in enumerate(parts.tubes) if tube.made_like(parts.tubes[keys.index(held[s.id])]))
        if f
        else (keys.index(held[s.id]),)
        for s, f in zip(line.segments, free, strict=True)
    ]
    share, supply = rules.HEADER_DROP_SHARE, air.supply_pa
    square = square_losses(air, options, parts.tubes, going)
    for _ in range(_TRIES):
        going.check()
        sizes = size_air_line(air, square, options, parts.tubes, costs, share, going)
        if not sizes.tubes:
            return design, None
        tubes = [parts.tubes[k] for k in sizes.tubes]
        worst, lost = _air_loss(air, tubes)
        if rules.header_verdict(lost, supply).holds:
            break
        share *= _TIGHTER
    else:
        return design, None
    proved = sizes.exact and share == rules.HEADER_DROP_SHARE

    def tried(at: int, tube: Tube) -> float | None:
        going.check()
        return _air_loss(air, [*tubes[:at], tube, *tubes[at + 1 :]])[1]

    choices = _air_choices(line, held, free, sizes, parts, costs, tried, supply)
    note = (
        Phrase(
            "The air line loses {share} of the supply at {drop}.",
            facts(share=told.share(lost / supply, 1), drop=told.drop(worst)),
        )
        if worst and lost is not None
        else Phrase("")
    )
    made = with_tubes(design, line, {s.id: tube.key for s, tube in zip(line.segments, tubes, strict=True)})
    return made, LineProposal(AIR, choices, sizes.cost, proved, note)


def _air_loss(air: AirLine, tubes: Sequence[Tube]) -> tuple[str, float | None]:
    """The worst air outlet and what is lost on the way to it [Pa]; None where the air chokes."""
    try:
        drop, left = air.worst(tubes)
    except OutOfRange:
        return "", None
    return drop, air.supply_pa - left


def _air_choices(
    line: LineLayout,
    held: dict[str, str],
    free: Sequence[bool],
    sizes: AirSizes,
    parts: Catalogue,
    costs: SizeCosts,
    tried: Callable[[int, Tube], float | None],
    supply_pa: float,
) -> tuple[Choice, ...]:
    found = []
    for at, segment in enumerate(line.segments):
        chosen = parts.tubes[sizes.tubes[at]]
        key = chosen.key
        by_bore = [k for k, tube in enumerate(parts.tubes) if tube.made_like(chosen)]
        by_bore.sort(key=lambda k: parts.tubes[k].bore_mm)
        cost = costs.segment(segment, key) or 0.0
        near: dict[int, Neighbour | None] = {-1: None, 1: None}
        here = by_bore.index(sizes.tubes[at])
        for step in (-1, 1):
            if not free[at] or not 0 <= here + step < len(by_bore):
                continue
            k = by_bore[here + step]
            other = costs.segment(segment, parts.tubes[k].key)
            if other is None:
                continue
            lost = tried(at, parts.tubes[k])
            verdict = rules.header_verdict(lost, supply_pa)
            if lost is None:
                note = Phrase("the air would choke in it")
            else:
                share = told.share(lost / supply_pa, 1)
                note = Phrase("the air line would lose {share} of the supply", facts(share=share))
            near[step] = Neighbour(parts.tubes[k].key, other - cost, None, verdict, note)
        reason = (
            Phrase(
                "The cheapest with which the whole air line loses no more than {share} of the supply.",
                facts(share=told.share(rules.HEADER_DROP_SHARE)),
            )
            if free[at]
            else HELD
        )
        place = f"lines.{AIR}.{segment.id}.tube"
        found.append(Choice(place, held[segment.id], key, reason, cost, near[-1], near[1], not free[at]))
    return tuple(found)


def propose_plant(
    before: Design,
    design: Design,
    proof: Proof,
    parts: Catalogue,
    costs: SizeCosts,
    pinned: frozenset[str],
    going: Going = ALONE,
) -> tuple[Design, dict[str, tuple[Choice, ...]]]:
    """Day tank and metering tip of each product whose plant can be proved.

    Args:
        before: the design as it was, for what each choice had.
        design: the design with its lines sized and free tips left out.
        proof: its proof.
        parts, costs, pinned: sizes, their cost, and what stays.
        going: asked from product to product.

    Returns:
        The design, and choices by product. A tank whose chance of running dry no size keeps low enough stays as it
        is; the proof's finding says so.
    """
    answers = {a.line.line: a for a in _answers(proof)}
    plants = {p.product: p for p in proof.plant}
    old = {u.product: u for u in before.plant}
    tanks = {t.key: t for t in parts.tanks}
    units: list[PlantUnit] = []
    choices: dict[str, tuple[Choice, ...]] = {}
    for unit in design.plant:
        going.check()
        plant, answer = plants.get(unit.product), answers.get(unit.product)
        if plant is None or answer is None:
            units.append(old[unit.product] if unit.tip_drill is None else unit)
            if units[-1] is not unit:
                units[-1] = unit.model_copy(update={"tip_drill": old[unit.product].tip_drill})
            continue
        tank_free = not unit.existing and f"plant.{unit.product}.tank" not in pinned
        tip_free = not unit.existing and f"plant.{unit.product}.tip_drill" not in pinned
        update: dict[str, object] = {}
        if tank_free and plant.smallest_tank and plant.smallest_tank in costs.tanks:
            update["tank"] = plant.smallest_tank
        if tip_free and plant.tip_drill:
            update["tip_drill"] = plant.tip_drill
        new = unit.model_copy(update=update) if update else unit
        units.append(new)
        made = tanks.get(new.tank)
        by_size = sorted((t for t in parts.tanks if made and t.made_like(made)), key=lambda t: t.volume_l)
        here = next((i for i, t in enumerate(by_size) if t.key == new.tank), None)
        near: dict[int, Neighbour | None] = {-1: None, 1: None}
        cost = costs.tanks.get(new.tank, 0.0)
        for step in (-1, 1):
            if here is None or proof.day is None or not tank_free or not 0 <= here + step < len(by_size):
                continue
            other = by_size[here + step]
            if other.key not in costs.tanks:
                continue
            position = [p.product for p in proof.plant].index(unit.product)
            dry = dry_chance(proof.day.case.with_all(vessel_of(other)), position, going)
            keeps_up = rules.enough(plant.busy_hour_draw_m3, 3600.0 * plant.refill_m3_s).holds
            note = Phrase("runs dry on about {chance} of days", facts(chance=told.about(dry)))
            verdict = rules.plant_verdict(dry, keeps_up=keeps_up)
            near[step] = Neighbour(other.key, costs.tanks[other.key] - cost, None, verdict, note)
        limit = told.share(rules.DRY_LIMIT, 1)
        if not tank_free:
            why = HELD
        elif plant.smallest_tank:
            why = Phrase("The smallest that runs dry on less than {limit} of days.", facts(limit=limit))
        else:
            why = Phrase(
                "No tank offered keeps the chance of running dry under {limit}; left as it was.",
                facts(limit=limit),
            )
        was = old[unit.product]
        tip = "" if new.tip_drill is None else str(new.tip_drill)
        was_tip = "" if was.tip_drill is None else str(was.tip_drill)
        tip_why = (
            Phrase(
                "Nearest to the wanted dilution: about {given}.", facts(given=Number(plant.dilution, 0, ":1"))
            )
            if tip_free and tip
            else HELD
        )
        choices[unit.product] = (
            Choice(
                f"plant.{unit.product}.tank", was.tank, new.tank, why, cost, near[-1], near[1], not tank_free
            ),
            Choice(f"plant.{unit.product}.tip_drill", was_tip, tip, tip_why, 0.0, fixed=not tip_free),
        )
    return design.model_copy(update={"plant": tuple(units)}), choices
