"""The proof of the day: whether day tanks run dry, what is in them meanwhile, and how an empty board is filled.

Where no gun can empty a tank whatever else fills, that is certain and told as such. Otherwise days are thrown: the same
job has the same days, and so the same figures.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from threading import Lock
from typing import Final

from estimator.going import ALONE, Going
from estimator.hydraulics.alone import DryDays, dry_days_alone
from estimator.hydraulics.board import Filling, share_of_time
from estimator.hydraulics.day import TANKS_MAX, TankRun, simulate
from estimator.hydraulics.simultaneous import Guns
from estimator.hydraulics.sprays import SPRAY_RANGE_S, LineSprays, days_that_fit, thrown_draws
from estimator.hydraulics.tank import START_FRACTION, STOP_FRACTION, tank
from estimator.hydraulics.tank import TankLevels as DayTank
from estimator.model.design import Product
from estimator.model.finding import Amount, Fact, Finding, IdKind, Number, Phrase, Ref, Severity, facts
from estimator.model.site import Use
from estimator.reference.catalogue import Tank
from estimator.sizing import rules, told
from estimator.sizing.board_rates import rates_of
from estimator.sizing.day_case import DayCase
from estimator.sizing.filling_order import filling_order, order_finding
from estimator.sizing.line_proof import LineAnswer
from estimator.sizing.types import BoardProof, DayProof, PlantProof, SprayedMixture
from estimator.units import Dimension

__all__ = [
    "DAYS",
    "Days",
    "day_of",
    "dry_chance",
    "mean_draw",
    "prove_day",
    "sprays_of",
    "vessel_of",
]

DAYS: Final = 400
"""Days that are thrown: of a tank that is dry on none of them the 95 % interval ends under 1 %."""

_TANKS: Final = 12
_LEAST_DAYS: Final = 100
"""Of more tanks than that fewer days are thrown, but not fewer than these."""

SEED: Final = 1
"""Of the dice: always the same, so that a job has one answer and two designs compared see the same days."""

_MOST_SPRAYS: Final = 1500
"""Sprays of all lines in a day that are followed one by one; of more, several in a row are taken as one, which empties
a tank sooner and so is the safe side."""

_SOURCE: Final = "simulation of the day"


@dataclass(frozen=True, slots=True)
class Days:
    """What was seen: how many days, the dry ones of each tank, and of tanks that share their water all of each, and
    which sets filled together at some moment."""

    days: int
    dry: tuple[DryDays, ...]
    tanks: tuple[TankRun, ...]
    sets: tuple[Filling, ...]


def mean_draw(answer: LineAnswer) -> float:
    """Mean draw of a line in the busy hour [m3/s]."""
    chance = min(1.0, answer.line.use_probability)
    return chance * sum(drop.alone.flow_m3_s for drop in answer.drops)


def sprays_of(use: Use, answer: LineAnswer) -> LineSprays:
    """When the guns of a line are open: each vehicle in one go, at one gun.

    A gun is open its share of the busy hour, `p`, and once for each of its vehicles; so one spray lasts
    ``p × 3600 s × guns / vehicles an hour``. Flows are rounded to 0.06 mL/min, so that a change of nothing keeps its
    answer.
    """
    chance = answer.line.use_probability
    flows: dict[float, int] = {}
    for drop in answer.drops:
        flow = round(drop.alone.flow_m3_s, 9)
        flows[flow] = flows.get(flow, 0) + 1
    vehicles = use.vehicles_per_hour
    long = chance * 3600.0 * len(answer.drops) / vehicles if vehicles > 0.0 else 0.0
    least, most = SPRAY_RANGE_S
    # A spray of less than a second counts as one of a second, of as much less often; one of more than a day lasts it.
    return LineSprays(
        tuple(Guns(count, round(min(1.0, chance), 9), flow) for flow, count in flows.items()),
        round(min(max(long, least), most), 3),
    )


class _KeptDays:
    """The last days that were thrown, by the value of their case."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._known: OrderedDict[DayCase, Days] = OrderedDict()
        self._turn = Lock()

    def __call__(self, case: DayCase, going: Going) -> Days:
        with self._turn:
            known = self._known.get(case)
            if known is not None:
                self._known.move_to_end(case)
                return known
        thrown = _thrown(case, going)
        with self._turn:
            self._known[case] = thrown
            while len(self._known) > self._most:
                self._known.popitem(last=False)
        return thrown


_KEPT: Final = _KeptDays(32)


def day_of(case: DayCase, going: Going = ALONE) -> Days:
    """The days of a case; kept by value. About a twentieth of a second for the five tanks of a small shop.

    Raises:
        Stopped: they are not wanted any more.
    """
    return _KEPT(case, going)


def _thrown(case: DayCase, going: Going) -> Days:
    lines = _followed(case.lines, case.hours)
    days = days_that_fit(lines, case.hours, _days_of(len(lines)))
    if case.board is not None:
        draws = thrown_draws(lines, case.hours, days, SEED)
        run = simulate(case.tanks, rates_of(case.board), draws, check=going.check)
        dry = tuple(DryDays(tank.dry, tank.dry_low, tank.dry_high) for tank in run.tanks)
        return Days(days, dry, run.tanks, tuple(run.sets))
    dry = dry_days_alone(lines, case.tanks, case.least_m3_s, case.hours, days, SEED, going.check)
    return Days(days, dry, (), ())


def _days_of(tanks: int) -> int:
    """Days thrown of so many tanks: of a large board fewer, and the interval tells it."""
    return max(_LEAST_DAYS, min(DAYS, DAYS * _TANKS // max(tanks, 1)))


def dry_chance(case: DayCase, at: int, going: Going = ALONE) -> float:
    """Chance of a dry day of the tank in one place [-]; 0 where that is certain."""
    return 0.0 if case.certain(at) else day_of(case, going).dry[at].chance


def vessel_of(part: Tank) -> DayTank:
    """A tank of the catalogue with its levels."""
    return tank(1e-3 * part.volume_l)


def _crowding(lines: Sequence[LineSprays], hours: float) -> float:
    """Sprays that are taken as one, at least 1."""
    return max(1.0, sum(_sprays_a_day(line, hours) for line in lines) / _MOST_SPRAYS)


def _sprays_a_day(line: LineSprays, hours: float) -> float:
    """Sprays begun in a day; a gun that is open all the time begins none."""
    some = [g for g in line.guns if 0.0 < g.probability < 1.0]
    return sum(g.number * g.probability for g in some) * 3600.0 * hours / line.spray_s


def _followed(lines: tuple[LineSprays, ...], hours: float) -> tuple[LineSprays, ...]:
    """Lines with sprays taken together where there are more than can be followed."""
    many = _crowding(lines, hours)
    if many <= 1.0:
        return lines
    longest = min(SPRAY_RANGE_S[1], 3600.0 * hours)
    return tuple(
        replace(line, spray_s=max(line.spray_s, min(round(line.spray_s * many, 3), longest)))
        if _sprays_a_day(line, hours) > 0.0
        else line
        for line in lines
    )


def prove_day(
    use: Use,
    products: Sequence[Product],
    places: Mapping[str, int],
    answers: Sequence[LineAnswer],
    plant: Sequence[PlantProof],
    board: BoardProof | None,
    tanks: Mapping[str, Sequence[Tank]],
    going: Going = ALONE,
) -> tuple[tuple[PlantProof, ...], DayProof | None, tuple[Finding, ...]]:
    """The day of all tanks on the water that they share.

    Args:
        use: how the shop works.
        products: of the design.
        places: positions of the units in the design's list, by product.
        answers: proofs of the lines.
        plant: proofs of the units so far.
        board: the proof of their water; without one each is taken to refill alone.
        tanks: those that are offered in place of a product's own, by product.
        going: asked from event to event whether the days are still wanted.

    Returns:
        The units with what the day shows of them, the day itself (None without a unit), and what is to be said.
    """
    if not plant:
        return (), None, ()
    day = _Day(use, answers, plant, board, tanks, going)
    proved = tuple(day.unit(at, unit) for at, unit in enumerate(plant))
    named = {product.id: product for product in products}
    made = [named[unit.product] for unit in plant]
    mixtures = day.mixtures(made)
    many = _crowding(day.case.lines, day.case.hours) if day.days else 1.0
    order = (
        None
        if day.board is None or day.case.board is None
        else filling_order(made, day.board, day.case.tanks)
    )
    proof = DayProof(day.days, mixtures, many, order, day.case)
    return proved, proof, tuple(_findings(day, proved, proof, named, places))


class _Day:
    """The day of a board, thrown where it must be."""

    def __init__(
        self,
        use: Use,
        answers: Sequence[LineAnswer],
        plant: Sequence[PlantProof],
        board: BoardProof | None,
        tanks: Mapping[str, Sequence[Tank]],
        going: Going,
    ) -> None:
        by_line = {answer.line.line: answer for answer in answers}
        shares = board is not None and [p.product for p in board.products] == [u.product for u in plant]
        self.board = board if shares else None
        water = self.board.water if self.board is not None and len(plant) <= TANKS_MAX else None
        self.case = DayCase(
            tuple(sprays_of(use, by_line[unit.product]) for unit in plant),
            tuple(tank(unit.tank_m3) for unit in plant),
            water,
            _least(plant, self.board),
            use.hours_per_day if use.hours_per_day > 0.0 else 1.0,
        )
        self._sizes = [sorted(tanks.get(unit.product, ()), key=lambda t: t.volume_l) for unit in plant]
        self._going = going
        self._runs: dict[DayTank | None, Days] = {}

    @property
    def days(self) -> int:
        """Days thrown for what is told; 0 where all is certain."""
        return self._runs[None].days if None in self._runs else 0

    def _run(self, vessel: DayTank | None = None) -> Days:
        """The days with the tanks that are there, or with one size in all places; asked for once."""
        if vessel not in self._runs:
            case = self.case if vessel is None else self.case.with_all(vessel)
            self._runs[vessel] = day_of(case, self._going)
        return self._runs[vessel]

    def _holds(self, at: int, vessel: DayTank) -> bool:
        """Whether that size in all places has few dry days in one."""
        return self.case.certain(at, vessel) or not rules.runs_dry(self._run(vessel).dry[at].chance)

    def unit(self, at: int, unit: PlantProof) -> PlantProof:
        """The proof of a unit with its dry days and the smallest tank that has few."""
        dry, low, high = 0.0, 0.0, 0.0
        if not self.case.certain(at):
            seen = self._run().dry[at]
            dry, low, high = seen.chance, seen.low, seen.high
        return replace(
            unit,
            dry_chance=dry,
            dry_low=low,
            dry_high=high,
            spray_s=self.case.lines[at].spray_s,
            smallest_tank=self._smallest(at, dry),
            verdict=rules.plant_verdict(dry, keeps_up=unit.verdict.holds),
        )

    def _smallest(self, at: int, dry: float) -> str:
        """Key of the smallest tank that has few dry days in that place, "" where none has.

        Sizes are tried in all places at once; what the tank that is there does is known better.
        """
        here, too_small = self.case.tanks[at].volume_m3, rules.runs_dry(dry)
        for size in self._sizes[at]:
            vessel = vessel_of(size)
            if too_small and vessel.volume_m3 <= here:
                continue
            is_here = not too_small and vessel.volume_m3 >= here
            if is_here or self._holds(at, vessel):
                return size.key
        return ""

    def mixtures(self, products: Sequence[Product]) -> tuple[SprayedMixture, ...]:
        """What is sprayed over the day; none where no moment can miss what is asked for, or nothing is sprayed."""
        if self.board is None or self.case.board is None or not any(x.mean_m3_s for x in self.case.lines):
            return ()
        cases = [(shared.alone, shared.busy, shared.first) for shared in self.board.products]
        known = all(case.dilution is not None for some in cases for case in some)
        if known and not any(
            rules.misses(product, case.dilution or 0.0)
            for product, some in zip(products, cases, strict=True)
            for case in some
        ):
            return ()
        run = self._run()
        doubtful = rates_of(self.case.board).doubtful(run.sets)
        return tuple(
            SprayedMixture(
                product.id,
                of.mixture.parts_water[0],
                of.mixture.parts_water[-1],
                at not in doubtful,
            )
            for at, (product, of) in enumerate(zip(products, run.tanks, strict=True))
        )


def _least(plant: Sequence[PlantProof], board: BoardProof | None) -> tuple[float, ...]:
    """What each is refilled with while all fill [m3/s]: each more that fills takes pressure, so it is never less."""
    if board is None:
        return tuple(unit.refill_m3_s for unit in plant)
    least = []
    for shared, post in zip(board.products, board.water.posts, strict=True):
        inlet, dilution = shared.first.inlet_pa, shared.first.dilution
        water = 0.0 if inlet is None else post.proportioner.water_flow(inlet)
        least.append(water if dilution is None else water * (1.0 + 1.0 / dilution))
    drawn = board.products[0].first.flow_m3_s if board.products else None
    open_ = share_of_time(drawn or 0.0, board.water.most_m3_s)
    return tuple(open_ * each for each in least)


def _findings(
    day: _Day,
    plant: Sequence[PlantProof],
    proof: DayProof,
    products: Mapping[str, Product],
    places: Mapping[str, int],
) -> Iterator[Finding]:
    for unit in plant:
        if rules.runs_dry(unit.dry_chance):
            yield _runs_dry(day.days, unit, places[unit.product])
    board = day.board
    for at, mixture in enumerate(proof.mixtures):
        alone = board.products[at].alone.dilution if board is not None else None
        product = products[mixture.product]
        if alone is None or rules.misses(product, alone):
            continue  # no moment is right, and that is told already
        if rules.misses(product, mixture.rich) or rules.misses(product, mixture.lean):
            yield _mixture(product, mixture, places[mixture.product])
    if proof.order is not None:
        yield order_finding(proof.order, _SOURCE)


def _runs_dry(days: int, unit: PlantProof, place: int) -> Finding:
    limit = told.share(rules.DRY_LIMIT, 1)
    lifts = (
        Phrase("{tank} keeps it under {limit}", facts(tank=Ref(IdKind.TANK, unit.smallest_tank), limit=limit))
        if unit.smallest_tank
        else Phrase(
            "No tank of the catalogue keeps it under {limit}; a proportioner that refills faster may",
            facts(limit=limit),
        )
    )
    return Finding(
        Severity.ERROR,
        f"design.plant.{place}.tank",
        "tank-runs-dry",
        "{product}: with {spray} sprayed at a go, the day tank runs dry on about {chance} of days ({low} to {high} by "
        "{days} simulated days). {lifts}.",
        _SOURCE,
        facts=facts(
            product=told.product(unit.product),
            spray=Amount(unit.spray_s, Dimension.TIME, 0),
            chance=told.about(unit.dry_chance),
            low=told.about(unit.dry_low),
            high=told.about(unit.dry_high),
            days=Number(days, 0),
            lifts=lifts,
        ),
    )


def _mixture(product: Product, mixture: SprayedMixture, place: int) -> Finding:
    return Finding(
        Severity.WARNING,
        f"design.plant.{place}.proportioner",
        "dilution-day",
        "{product}: as tanks fill together in the day, what is sprayed runs from {rich} to {lean}{worst} instead of "
        "{wanted}. A larger supply or a proportioner of less flow lifts it.",
        _SOURCE,
        facts=facts(
            product=told.product(product.id),
            rich=_parts(mixture.rich),
            lean=_parts(mixture.lean),
            worst=Phrase("") if mixture.known else Phrase(" at worst"),
            wanted=Number(product.dilution, 2, ":1"),
        ),
    )


def _parts(dilution: float) -> Fact:
    if dilution >= 10_000.0:
        return Phrase("next to plain water")
    return Number(dilution, 0 if dilution >= 20.0 else 1, ":1")


def day_assumptions(day: DayProof | None) -> tuple[Phrase, ...]:
    """What the day of the tanks takes for granted; nothing without a tank."""
    if day is None:
        return ()
    said = [
        Phrase(
            "Day tanks: full in the morning, every hour is as busy as the busy hour, each vehicle is sprayed in one go "
            "at one gun; they fill from {start} up to {stop} of their volume (generic demo data).",
            facts(start=told.share(START_FRACTION), stop=told.share(STOP_FRACTION)),
        )
    ]
    if day.days:
        said.append(
            Phrase("Dry days were counted on {days} simulated days.", facts(days=Number(day.days, 0)))
        )
    if len(day.case.tanks) > TANKS_MAX:
        said.append(
            Phrase(
                "There are more than {most} day tanks: each is taken to fill as slowly as with all of them filling.",
                facts(most=Number(TANKS_MAX, 0)),
            )
        )
    if day.sprays_as_one > 1.0:
        said.append(
            Phrase(
                "There are so many sprays a day that about {many} in a row are taken as one, which empties a tank "
                "sooner.",
                facts(many=Number(day.sprays_as_one, 1)),
            )
        )
    return tuple(said)
