"""The proof as tables and sentences, in the units of the job; knows nothing of widgets."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from estimator.model.design import AIR, Design
from estimator.model.finding import some
from estimator.model.job import Job
from estimator.shown.figures import Figures, figures_of
from estimator.shown.findings import Sentences
from estimator.shown.names import Names, quoted
from estimator.shown.standing import Standing, standing_of, standing_of_verdict
from estimator.sizing.types import (
    FEED_WORDS,
    AirProof,
    BoardProof,
    DropProof,
    FeedPoint,
    LineProof,
    PlantProof,
    Proof,
    WaterProof,
)
from estimator.study import Study
from estimator.units import Dimension, default_places, preferred_unit, to_unit

__all__ = [
    "Cell",
    "ProofColumn",
    "ProofWords",
    "Row",
    "Sentence",
    "Table",
    "assumed",
    "drop_table",
    "line_table",
    "plant_table",
    "room_words",
    "sentences",
    "services",
    "summary",
]

_D = Dimension
NOT_KNOWN = "–"
_MOST_RIVALS = 6


@dataclass(frozen=True, slots=True)
class ProofColumn:
    """A column: its key, heading (two lines), what it means, and whether figures stand in it."""

    key: str
    heading: str
    meaning: str
    figures: bool = True


@dataclass(frozen=True, slots=True)
class Cell:
    """What a cell shows and what it is sorted by; a cell with a standing is coloured by it."""

    text: str
    order: float | str
    standing: Standing | None = None

    @property
    def words(self) -> str:
        """The text without the sign of its standing.

        >>> Cell("✓ keeps up", 0.0, Standing.GOOD).words
        'keeps up'
        """
        return self.text.removeprefix(f"{self.standing.sign} ") if self.standing else self.text


@dataclass(frozen=True, slots=True)
class Row:
    """A row.

    Attributes:
        key: id of the drop, line or product.
        place: place in the job that it leads to.
        cells: one for each column.
        told: the whole row in a sentence.
        drops: ids of the drops it stands for.
    """

    key: str
    place: str
    cells: tuple[Cell, ...]
    told: str
    drops: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """Columns and rows."""

    columns: tuple[ProofColumn, ...]
    rows: tuple[Row, ...]

    def only(self, *keys: str) -> Table:
        """The table with these columns, in this order."""
        at = {column.key: i for i, column in enumerate(self.columns)}
        chosen = [at[key] for key in keys]
        return Table(
            tuple(self.columns[i] for i in chosen),
            tuple(replace(row, cells=tuple(row.cells[i] for i in chosen)) for row in self.rows),
        )


@dataclass(frozen=True, slots=True)
class Sentence:
    """A sentence with the place it leads to, "" for none, and how it stands where it is a verdict."""

    text: str
    place: str = ""
    standing: Standing | None = None

    @property
    def told(self) -> str:
        """With the sign of its standing."""
        return f"{self.standing.sign} {self.text}" if self.standing else self.text


class ProofWords:
    """Figures and names of a job; figures without their unit, which stands in the heading."""

    def __init__(self, study: Study) -> None:
        self.figures = figures_of(study.job)
        self.names = Names(study.job.design, study.layout)
        self.say = Sentences(self.figures, self.names)

    def unit(self, dimension: Dimension) -> str:
        """The unit of a heading."""
        return preferred_unit(dimension, self.figures.system)

    def full(self, si: float, dimension: Dimension, places: int | None = None) -> str:
        """With its unit; `places` as `Figures.amount` takes them."""
        return self.figures.amount(si, dimension, places)

    def cell(self, si: float, dimension: Dimension, places: int | None = None) -> Cell:
        """With all its decimals, so that a column lines up."""
        if not math.isfinite(si):
            return Cell(NOT_KNOWN, -math.inf)
        if places is None:
            places = default_places(dimension, self.figures.system)
        value = to_unit(si, dimension, self.unit(dimension))
        return Cell(self.figures.fixed(value, places), si)

    def percent(self, share: float, places: int = 0) -> Cell:
        """A share."""
        if not math.isfinite(share):
            return Cell(NOT_KNOWN, -math.inf)
        return Cell(f"{self.figures.fixed(100 * share, places)}\u00a0%", share)

    def parts(self, ratio: float) -> Cell:
        """Parts of water to one of concentrate."""
        if not math.isfinite(ratio) or ratio <= 0.0:
            return Cell(NOT_KNOWN, -math.inf)
        return Cell(f"{self.figures.fixed(ratio, 0 if ratio >= 10 else 1)}:1", ratio)


def room_words(drop: DropProof, figures: Figures) -> str:
    """How far a drop is from the nearest end of its window, "" where nothing comes out: there is no such share then."""
    if not math.isfinite(drop.room):
        return ""
    return f"{figures.fixed(100 * drop.room, 0)}\u00a0%"


def drop_table(study: Study) -> Table:
    """Each liquid drop with its figures."""
    of = ProofWords(study)
    flow, pressure, length = of.unit(_D.FLOW), of.unit(_D.PRESSURE), of.unit(_D.LENGTH)
    columns = (
        ProofColumn("place", "Bay side\n", "Where the drop hangs.", figures=False),
        ProofColumn("service", "Service\n", "The product.", figures=False),
        ProofColumn(
            "verdict",
            "Verdict\n",
            "How the pressure at the nozzle stands to its working window.",
            figures=False,
        ),
        ProofColumn(
            "room",
            "Room\n",
            "How far the pressure is from the nearest end of its window: the greater of both over the lesser, less "
            "one; negative outside.",
        ),
        ProofColumn("alone_flow", f"Alone\n{flow}", "Flow with no other gun of the line open."),
        ProofColumn(
            "alone_pressure",
            f"Alone\n{pressure}",
            "Pressure at the nozzle with no other gun of the line open.",
        ),
        ProofColumn("together_flow", f"Together\n{flow}", "Flow with the other guns open that hurt it most."),
        ProofColumn(
            "together_pressure",
            f"Together\n{pressure}",
            "Pressure at the nozzle with the other guns open that hurt it most.",
        ),
        ProofColumn("window", f"Window\n{pressure}", "Working pressures of the nozzle."),
        ProofColumn(
            "wanted_flow", f"Wanted\n{flow}", "Flow that the person wants; a dash where none is stated."
        ),
        ProofColumn(
            "spray_width",
            f"Spray width\n{length}",
            "Theoretical, at the typed distance; 0 without a fan or cone.",
        ),
    )
    position = {d.id: i for i, d in enumerate(study.job.design.drops)}
    rows = tuple(_drop_row(d, position[d.drop], of) for d in study.proof.drops if d.drop in position)
    return Table(columns, rows)


def _drop_row(drop: DropProof, position: int, of: ProofWords) -> Row:
    names = of.names
    place, service = names.place(drop.drop), names.line(drop.line)
    standing = standing_of(drop)
    room = room_words(drop, of.figures)
    window = (
        f"{of.cell(drop.window_low_pa, _D.PRESSURE).text}–{of.cell(drop.window_high_pa, _D.PRESSURE).text}"
    )
    wanted = (
        Cell(NOT_KNOWN, -math.inf)
        if drop.wanted_flow_m3_s is None
        else of.cell(drop.wanted_flow_m3_s, _D.FLOW)
    )
    cells = (
        Cell(place, position),
        Cell(service, service),
        Cell(standing.told, drop.room, standing),
        Cell(room or NOT_KNOWN, drop.room, standing),
        of.cell(drop.alone.flow_m3_s, _D.FLOW),
        of.cell(drop.alone.nozzle_pressure_pa, _D.PRESSURE),
        of.cell(drop.together.flow_m3_s, _D.FLOW),
        of.cell(drop.together.nozzle_pressure_pa, _D.PRESSURE),
        Cell(window, drop.window_low_pa),
        wanted,
        of.cell(drop.spray_width_m, _D.LENGTH),
    )
    rivals = some(map(quoted, map(names.place, drop.rivals)), _MOST_RIVALS)
    told = (
        f"{standing.told}. {names.drop(drop.drop)}: "
        f"{of.full(drop.together.flow_m3_s, _D.FLOW)} at {of.full(drop.together.nozzle_pressure_pa, _D.PRESSURE)} "
        + (f"with {rivals} open too" if rivals else "with no other gun open")
        + f"; window {window} {of.unit(_D.PRESSURE)}{f', room {room}' if room else ''}. "
        f"Spraying one vehicle takes {of.full(drop.spray_s_per_vehicle, _D.TIME)} at that flow."
    )
    return Row(drop.drop, f"design.drops.{position}.nozzle_size", cells, told, (drop.drop,))


def line_table(study: Study) -> Table:
    """Each liquid line with its figures."""
    of = ProofWords(study)
    flow, pressure, air = of.unit(_D.FLOW), of.unit(_D.PRESSURE), of.unit(_D.FREE_AIR)
    columns = (
        ProofColumn("line", "Line\n", "The product.", figures=False),
        ProofColumn("verdict", "Verdict\n", "That of the drop with the least room.", figures=False),
        ProofColumn("worst", "Worst drop\n", "The drop with the least room.", figures=False),
        ProofColumn("guns", "Guns\ntogether", "Guns of the design case, open at the same time."),
        ProofColumn("flow", f"Flow\n{flow}", "Largest flow of the design cases."),
        ProofColumn("capacity", f"Pump gives\n{flow}", "Largest flow of the pump after its data."),
        ProofColumn("pump_pressure", f"Pump\n{pressure}", "Pressure at the pump's outlet at that flow."),
        ProofColumn(
            "pump_air", f"Free air\n{air}", "Air of the pump at that flow, at local atmospheric pressure."
        ),
        ProofColumn(
            "fastest", f"Fastest\n{of.unit(_D.VELOCITY)}", "Largest velocity in a segment, over all cases."
        ),
        ProofColumn(
            "highest", f"Highest\n{pressure}", "Pressure where it comes nearest to the tube's rating."
        ),
        ProofColumn("rating", f"Rating\n{pressure}", "Rating of that tube at the liquid's temperature."),
        ProofColumn("why", "Why that many guns\n", "Where the number of guns comes from.", figures=False),
    )
    design, proof = study.job.design, study.proof
    return Table(columns, tuple(_line_row(line, design, proof, of) for line in proof.lines))


def _line_row(line: LineProof, design: Design, proof: Proof, of: ProofWords) -> Row:
    names = of.names
    drops = {d.drop: d for d in proof.drops if d.line == line.line}
    worst = drops.get(line.worst_drop)
    standing = standing_of(worst)
    room = worst.room if worst is not None else -math.inf
    fastest = max(line.segments, key=lambda s: s.velocity_m_s, default=None)
    tightest = min(line.segments, key=lambda s: s.rating_pa - s.pressure_pa, default=None)
    unknown = Cell(NOT_KNOWN, -math.inf)
    name, why = names.line(line.line), of.say.phrase(line.guns_basis)
    cells = (
        Cell(name, name),
        Cell(standing.told, room, standing),
        Cell(f"{names.place(line.worst_drop)} ({of.percent(room).text})", room),
        Cell(str(line.guns_open), line.guns_open),
        of.cell(line.flow_m3_s, _D.FLOW),
        of.cell(line.pump_capacity_m3_s, _D.FLOW),
        of.cell(line.pump_pressure_pa, _D.PRESSURE),
        of.cell(line.pump_air_m3_s, _D.FREE_AIR),
        of.cell(fastest.velocity_m_s, _D.VELOCITY, 2) if fastest else unknown,
        of.cell(tightest.pressure_pa, _D.PRESSURE) if tightest else unknown,
        of.cell(tightest.rating_pa, _D.PRESSURE) if tightest else unknown,
        Cell(why, why),
    )
    told = f"{name}: {line.guns_open} guns together, {why}; "
    told += (
        f"the pump gives {of.full(line.flow_m3_s, _D.FLOW)} at {of.full(line.pump_pressure_pa, _D.PRESSURE)}."
    )
    if fastest and tightest:
        told += (
            f" Fastest in {names.segment(line.line, fastest.segment)} "
            f"({of.full(fastest.velocity_m_s, _D.VELOCITY)}); "
            f"nearest to its rating in {names.segment(line.line, tightest.segment)} "
            f"({of.full(tightest.pressure_pa, _D.PRESSURE)} of {of.full(tightest.rating_pa, _D.PRESSURE)})."
        )
    at = next((i for i, unit in enumerate(design.plant) if unit.product == line.line), None)
    place = line.line if at is None else f"design.plant.{at}.pump"
    return Row(line.line, place, cells, told, tuple(drops))


def plant_table(study: Study) -> Table:
    """The plant of each product with its figures."""
    of = ProofWords(study)
    flow, volume = of.unit(_D.FLOW), of.unit(_D.VOLUME)
    columns = (
        ProofColumn("product", "Product\n", "The product.", figures=False),
        ProofColumn("verdict", "Verdict\n", "Whether proportioner and tank keep up.", figures=False),
        ProofColumn(
            "tip", "Tip\ndrill", "Number drill of the metering tip; 80 is the smallest.", figures=False
        ),
        ProofColumn("wanted", "Wanted\nwater", "Parts of water to one of concentrate that the person wants."),
        ProofColumn(
            "dilution",
            "Dilution\nwater",
            "Parts of water to one of concentrate at the survey's water pressure.",
        ),
        ProofColumn(
            "range", "Lean to rich\nwater", "Over the low and the high of the day, its tank filling alone."
        ),
        ProofColumn("draw", f"Busy hour\n{volume}", "Solution drawn in the busy hour."),
        ProofColumn(
            "refill", f"Refill\n{flow}", "Solution that the proportioner makes at the water pressure."
        ),
        ProofColumn("tank", f"Tank\n{volume}", "Working volume of the day tank."),
        ProofColumn("dry", "Runs dry\ndays", "Days on which the tank runs dry, about."),
        ProofColumn(
            "smallest",
            "Smallest tank\n",
            "Smallest tank that runs dry on less than 1 % of days.",
            figures=False,
        ),
    )
    return Table(columns, tuple(_plant_row(p, study.job.design, of) for p in study.proof.plant))


def _plant_row(plant: PlantProof, design: Design, of: ProofWords) -> Row:
    standing = standing_of_verdict(plant.verdict)
    stands = f"{standing.sign} {'keeps up' if plant.verdict.holds else standing.words}"
    product = next((p for p in design.products if p.id == plant.product), None)
    neat = product is not None and product.dilution == 0.0
    name = of.names.product(plant.product)
    tip = str(plant.tip_drill) if plant.tip_drill else "none needed" if neat else "none fits"
    known = plant.lean is not None and plant.rich is not None
    lean, rich = of.parts(plant.lean or 0.0), of.parts(plant.rich or 0.0)
    dry = of.percent(plant.dry_chance, 1)
    cells = (
        Cell(name, name),
        Cell(stands, standing.words, standing),
        Cell(tip, plant.tip_drill),
        Cell("undiluted", 0.0) if neat or product is None else of.parts(product.dilution),
        Cell("undiluted", 0.0) if neat else of.parts(plant.dilution),
        Cell(f"{lean.text} to {rich.text}", lean.order) if known and not neat else Cell(NOT_KNOWN, -math.inf),
        of.cell(plant.busy_hour_draw_m3, _D.VOLUME),
        of.cell(plant.refill_m3_s, _D.FLOW),
        of.cell(plant.tank_m3, _D.VOLUME),
        dry,
        Cell(of.names.part("tanks", plant.smallest_tank) or "none", plant.smallest_tank),
    )
    told = (
        f"{stands}. {name}: the busy hour draws {of.full(plant.busy_hour_draw_m3, _D.VOLUME)}, the "
        f"proportioner refills {of.full(plant.refill_m3_s, _D.FLOW)}; the tank of {of.full(plant.tank_m3, _D.VOLUME)} "
        f"{_dry_days(plant, of)}."
    )
    if not neat and plant.tip_drill:
        over = (
            f"from {lean.text} (lean) to {rich.text} (rich) over the day"
            if known
            else "not known over the whole day"
        )
        told += f" Tip {plant.tip_drill}: {of.parts(plant.dilution).text}, {over}"
        if plant.worn is not None:
            told += f"; with a tip worn 5 % wider {of.parts(plant.worn).text}"
        told += "; confirm by a test on site."
    at = next((i for i, unit in enumerate(design.plant) if unit.product == plant.product), None)
    place = plant.product if at is None else f"design.plant.{at}.tip_drill"
    drops = tuple(d.id for d in design.drops if d.service == plant.product)
    return Row(plant.product, place, cells, told, drops)


def _dry_days(plant: PlantProof, of: ProofWords) -> str:
    if plant.dry_high <= 0.0:
        return "cannot run dry, whatever the guns do"
    seen, low, high = (of.percent(x, 1).text for x in (plant.dry_chance, plant.dry_low, plant.dry_high))
    return f"runs dry on about {seen} of days ({low} to {high}, as simulated)"


def _air(air: AirProof, of: ProofWords) -> Sentence:
    standing = standing_of_verdict(air.verdict)
    word = "enough" if air.verdict.holds else air.verdict.value
    purge = f" the dryer {of.full(air.purge_m3_s, _D.FREE_AIR)}," if air.purge_m3_s > 0.0 else ""
    text = (
        f"Compressed air, {word}: whoever opens a gun and the others at work need no more than "
        f"{of.full(air.demand_m3_s, _D.FREE_AIR)} 99 times in 100, leaks take "
        f"{of.full(air.leak_m3_s, _D.FREE_AIR)},{purge} the compressor gives "
        f"{of.full(air.supply_m3_s, _D.FREE_AIR)} of free air."
    )
    if air.burst_s is not None:
        text += f" The receiver carries what is above that for {of.full(air.burst_s, _D.TIME, 0)}."
    assumed = " (assumed)" if air.cut_in_assumed else ""
    text += (
        f" Just before the compressor starts{assumed} the board has {of.full(air.board_pa, _D.PRESSURE)}; all "
        "is proved at that."
    )
    if air.worst_drop:
        text += f" Lowest at {quoted(of.names.drop(air.worst_drop))}: {of.full(air.worst_pressure_pa, _D.PRESSURE)}."
    return Sentence(text, "site.air.free_air", standing)


def _water(water: WaterProof, of: ProofWords) -> Sentence:
    standing = standing_of_verdict(water.verdict)
    word = "enough" if water.verdict.holds else water.verdict.value
    text = (
        f"Water, {word}: all proportioners refilling together take "
        f"{of.full(water.demand_m3_s, _D.FLOW, 0)}, the tie-in gives {of.full(water.supply_m3_s, _D.FLOW, 0)}."
    )
    if water.verdict.holds and water.demand_m3_s > water.supply_m3_s:
        text += " Together they refill more slowly; what the busy hour draws is still met."
    return Sentence(text, "site.water.flow", standing)


def shared(study: Study) -> tuple[Sentence, ...]:
    """What several tanks that fill at once leave each other; nothing where only one can."""
    board = study.proof.board
    if board is None or len(board.products) < 2:
        return ()
    of = ProofWords(study)
    first = board.products[0].first.inlet_pa
    text = (
        f"Shared water: {of.full(board.static_pa, _D.PRESSURE)} at the tie-in with nothing running"
        f"{', assumed' if board.static_assumed else ''}. In 99 % of the busy hour at most {board.at_once} of "
        f"{len(board.products)} tanks {'fills' if board.at_once == 1 else 'fill'} at once; with all of them filling "
        + ("no water reaches them" if first is None else f"they share {of.full(first, _D.PRESSURE)}")
        + f". {_way(board, height=study.job.site.water.rise is None)}"
    )
    return (Sentence(text, "site.water.static_pressure"),)


def _way(board: BoardProof, *, height: bool) -> str:
    """How the water comes to the board, and what of the way is not counted."""
    first, *passed = (FEED_WORDS[point] for point in board.points)
    words = f"It comes from the {first}" + (f" through the {_listed(passed)}" if passed else "")
    missing = ["height"] if height else []
    missing += [] if FeedPoint.TUBE in board.points else ["hose"]
    if not missing:
        return f"{words}."
    verb = "is" if len(missing) == 1 else "are"
    return f"{words}; the {' and the '.join(missing)} between tie-in and board {verb} not counted."


def _listed(words: Sequence[str]) -> str:
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1])))


def services(study: Study) -> tuple[Sentence, Sentence]:
    """What air and water say."""
    of, proof = ProofWords(study), study.proof
    return (
        _air(proof.air, of)
        if proof.air
        else Sentence("Compressed air: not proved.", "site.air.free_air", Standing.UNKNOWN),
        _water(proof.water, of)
        if proof.water
        else Sentence("Water: not proved.", "site.water.flow", Standing.UNKNOWN),
    )


def sentences(study: Study) -> tuple[Sentence, ...]:
    """Air, water, the water shared by several tanks, then what was assumed."""
    return (*services(study), *shared(study), *(Sentence(f"Assumed: {text}") for text in assumed(study)))


def assumed(study: Study) -> tuple[str, ...]:
    """What the proof assumes, a sentence each."""
    say = ProofWords(study).say
    return tuple(say.phrase(phrase) for phrase in study.proof.assumptions)


def summary(job: Job, proof: Proof) -> str:
    """One line on the whole: how many drops stand how."""
    wet = sum(d.service != AIR for d in job.design.drops)
    if not wet:
        return "Nothing to prove yet: there are no liquid drops."
    counts: dict[Standing, int] = {}
    for drop in proof.drops:
        counts[standing_of(drop)] = counts.get(standing_of(drop), 0) + 1
    if wet > len(proof.drops):
        counts[Standing.UNKNOWN] = wet - len(proof.drops)
    return "Drops: " + ";  ".join(
        f"{counts[s]} {s.sign} {s.words}" for s in reversed(Standing) if s in counts
    )
