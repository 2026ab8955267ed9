"""The proof as tables and sentences, in the units of the job; knows nothing of widgets."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from estimator.model.design import AIR, Design
from estimator.model.job import Job
from estimator.shown.standing import Standing, standing_of, standing_of_verdict
from estimator.sizing.types import AirProof, DropProof, LineProof, PlantProof, Proof, WaterProof
from estimator.units import Dimension, UnitSystem, display, preferred_unit, to_unit

__all__ = [
    "Cell",
    "Column",
    "Row",
    "Sentence",
    "Table",
    "drop_table",
    "line_table",
    "plant_table",
    "sentences",
    "summary",
]

_D = Dimension
NOT_KNOWN = "–"


@dataclass(frozen=True, slots=True)
class Column:
    """A column: heading (two lines), what it means, and whether figures stand in it."""

    heading: str
    meaning: str
    figures: bool = True


@dataclass(frozen=True, slots=True)
class Cell:
    """What a cell shows and what it is sorted by; a cell with a standing is coloured by it."""

    text: str
    order: float | str
    standing: Standing | None = None


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

    columns: tuple[Column, ...]
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Sentence:
    """A sentence with the place it leads to, "" for none, and how it stands where it is a verdict."""

    text: str
    place: str = ""
    standing: Standing | None = None


class _Figures:
    """Figures of a job as text without their unit, which stands in the heading."""

    def __init__(self, system: UnitSystem) -> None:
        self.system = system

    def unit(self, dimension: Dimension) -> str:
        return preferred_unit(dimension, self.system)

    def full(self, si: float, dimension: Dimension, digits: int | None = None) -> str:
        """With its unit."""
        return display(si, dimension, self.system, digits) if math.isfinite(si) else "not known"

    def cell(self, si: float, dimension: Dimension, digits: int | None = None) -> Cell:
        """Without its unit."""
        if not math.isfinite(si):
            return Cell(NOT_KNOWN, -math.inf)
        shown = display(si, dimension, self.system, digits)
        return Cell(shown.removesuffix(self.unit(dimension)).rstrip(), si)

    def speed_unit(self) -> str:
        return "m/s" if self.system is UnitSystem.METRIC else "ft/s"

    def speed(self, si: float) -> Cell:
        if not math.isfinite(si):
            return Cell(NOT_KNOWN, -math.inf)
        length = "m" if self.system is UnitSystem.METRIC else "ft"
        return Cell(f"{to_unit(si, _D.LENGTH, length):.2f}", si)


def _percent(share: float, digits: int = 0) -> Cell:
    if not math.isfinite(share):
        return Cell(NOT_KNOWN, -math.inf)
    return Cell(f"{100 * share:.{digits}f} %", share)


def _parts(ratio: float) -> Cell:
    if not math.isfinite(ratio) or ratio <= 0.0:
        return Cell(NOT_KNOWN, -math.inf)
    return Cell(f"{ratio:.{0 if ratio >= 10 else 1}f}:1", ratio)


class _Names:
    """What a person calls the objects of a design."""

    def __init__(self, design: Design) -> None:
        self.services = {p.id: p.name or p.id for p in design.products} | {AIR: "Compressed air"}
        bays = {b.id: b.name or b.id for b in design.bays}
        self.places = {d.id: f"{bays.get(d.bay, d.bay)}, {d.side.label.lower()}" for d in design.drops}

    def service(self, key: str) -> str:
        return self.services.get(key, key)

    def drop(self, key: str) -> str:
        return self.places.get(key, key)


def drop_table(job: Job, proof: Proof) -> Table:
    """Each liquid drop with its figures."""
    of, names = _Figures(job.units), _Names(job.design)
    flow, pressure, length = of.unit(_D.FLOW), of.unit(_D.PRESSURE), of.unit(_D.LENGTH)
    columns = (
        Column("Bay side\n", "Where the drop hangs.", figures=False),
        Column("Service\n", "The product.", figures=False),
        Column("Verdict\n", "How the pressure at the nozzle stands to its working window.", figures=False),
        Column(
            "Room\n",
            "How far the pressure is from the nearest end of its window: the greater of both over the lesser, less "
            "one; negative outside.",
        ),
        Column(f"Alone\n{flow}", "Flow with no other gun of the line open."),
        Column(f"Alone\n{pressure}", "Pressure at the nozzle with no other gun of the line open."),
        Column(f"Together\n{flow}", "Flow with the other guns open that hurt it most."),
        Column(f"Together\n{pressure}", "Pressure at the nozzle with the other guns open that hurt it most."),
        Column(f"Window\n{pressure}", "Working pressures of the nozzle."),
        Column(f"Wanted\n{flow}", "Flow that the person wants; a dash where none is stated."),
        Column(f"Spray width\n{length}", "Theoretical, at the typed distance; 0 without a fan or cone."),
        Column("Drop\n", "Its id.", figures=False),
    )
    position = {d.id: i for i, d in enumerate(job.design.drops)}
    rows = tuple(_drop_row(d, position[d.drop], of, names) for d in proof.drops if d.drop in position)
    return Table(columns, rows)


def _drop_row(drop: DropProof, position: int, of: _Figures, names: _Names) -> Row:
    standing = standing_of(drop)
    room = _percent(drop.room)
    window = (
        f"{of.cell(drop.window_low_pa, _D.PRESSURE).text}–{of.cell(drop.window_high_pa, _D.PRESSURE).text}"
    )
    wanted = (
        Cell(NOT_KNOWN, -math.inf)
        if drop.wanted_flow_m3_s is None
        else of.cell(drop.wanted_flow_m3_s, _D.FLOW)
    )
    cells = (
        Cell(names.drop(drop.drop), names.drop(drop.drop)),
        Cell(names.service(drop.line), names.service(drop.line)),
        Cell(standing.told, drop.room, standing),
        Cell(room.text, room.order, standing),
        of.cell(drop.alone.flow_m3_s, _D.FLOW),
        of.cell(drop.alone.nozzle_pressure_pa, _D.PRESSURE),
        of.cell(drop.together.flow_m3_s, _D.FLOW),
        of.cell(drop.together.nozzle_pressure_pa, _D.PRESSURE),
        Cell(window, drop.window_low_pa),
        wanted,
        of.cell(drop.spray_width_m, _D.LENGTH),
        Cell(drop.drop, position),
    )
    rivals = ", ".join(drop.rivals)
    told = (
        f"{standing.told}. {drop.drop}, {names.service(drop.line)}: "
        f"{of.full(drop.together.flow_m3_s, _D.FLOW)} at {of.full(drop.together.nozzle_pressure_pa, _D.PRESSURE)} "
        + (f"with {rivals} open too" if rivals else "with no other gun open")
        + f"; window {window} {of.unit(_D.PRESSURE)}, room {room.text}. "
        f"Spraying one vehicle takes {of.full(drop.spray_s_per_vehicle, _D.TIME)} at that flow."
    )
    return Row(drop.drop, f"design.drops.{position}.nozzle_size", cells, told, (drop.drop,))


def line_table(job: Job, proof: Proof) -> Table:
    """Each liquid line with its figures."""
    of, names = _Figures(job.units), _Names(job.design)
    flow, pressure, air = of.unit(_D.FLOW), of.unit(_D.PRESSURE), of.unit(_D.FREE_AIR)
    columns = (
        Column("Line\n", "The product.", figures=False),
        Column("Verdict\n", "That of the drop with the least room.", figures=False),
        Column("Worst drop\n", "The drop with the least room.", figures=False),
        Column("Guns\ntogether", "Guns of the design case, open at the same time."),
        Column(f"Flow\n{flow}", "Largest flow of the design cases."),
        Column(f"Pump gives\n{flow}", "Largest flow of the pump after its data."),
        Column(f"Pump\n{pressure}", "Pressure at the pump's outlet at that flow."),
        Column(f"Free air\n{air}", "Air of the pump at that flow, at local atmospheric pressure."),
        Column(f"Fastest\n{of.speed_unit()}", "Largest velocity in a segment, over all cases."),
        Column(f"Highest\n{pressure}", "Pressure where it comes nearest to the tube's rating."),
        Column(f"Rating\n{pressure}", "Rating of that tube at the liquid's temperature."),
        Column("Why that many guns\n", "Where the number of guns comes from.", figures=False),
    )
    return Table(columns, tuple(_line_row(line, job.design, proof, of, names) for line in proof.lines))


def _line_row(line: LineProof, design: Design, proof: Proof, of: _Figures, names: _Names) -> Row:
    drops = {d.drop: d for d in proof.drops if d.line == line.line}
    worst = drops.get(line.worst_drop)
    standing = standing_of(worst)
    room = worst.room if worst is not None else -math.inf
    fastest = max(line.segments, key=lambda s: s.velocity_m_s, default=None)
    tightest = min(line.segments, key=lambda s: s.rating_pa - s.pressure_pa, default=None)
    unknown = Cell(NOT_KNOWN, -math.inf)
    name = names.service(line.line)
    cells = (
        Cell(name, name),
        Cell(standing.told, room, standing),
        Cell(f"{line.worst_drop} ({_percent(room).text})", room),
        Cell(str(line.guns_open), line.guns_open),
        of.cell(line.flow_m3_s, _D.FLOW),
        of.cell(line.pump_capacity_m3_s, _D.FLOW),
        of.cell(line.pump_pressure_pa, _D.PRESSURE),
        of.cell(line.pump_air_m3_s, _D.FREE_AIR),
        of.speed(fastest.velocity_m_s) if fastest else unknown,
        of.cell(tightest.pressure_pa, _D.PRESSURE) if tightest else unknown,
        of.cell(tightest.rating_pa, _D.PRESSURE) if tightest else unknown,
        Cell(line.guns_basis, line.guns_basis),
    )
    told = f"{name}: {line.guns_open} guns together, {line.guns_basis}; "
    told += (
        f"the pump gives {of.full(line.flow_m3_s, _D.FLOW)} at {of.full(line.pump_pressure_pa, _D.PRESSURE)}."
    )
    if fastest and tightest:
        told += (
            f" Fastest in segment {fastest.segment} ({of.speed(fastest.velocity_m_s).text} {of.speed_unit()}); "
            f"nearest to its rating in {tightest.segment} "
            f"({of.full(tightest.pressure_pa, _D.PRESSURE)} of {of.full(tightest.rating_pa, _D.PRESSURE)})."
        )
    at = next((i for i, unit in enumerate(design.plant) if unit.product == line.line), None)
    place = line.line if at is None else f"design.plant.{at}.pump"
    return Row(line.line, place, cells, told, tuple(drops))


def plant_table(job: Job, proof: Proof, tanks: Mapping[str, str]) -> Table:
    """The plant of each product with its figures.

    Args:
        job: the job.
        proof: its proof.
        tanks: names of the tanks by key.
    """
    of, names = _Figures(job.units), _Names(job.design)
    flow, volume = of.unit(_D.FLOW), of.unit(_D.VOLUME)
    columns = (
        Column("Product\n", "The product.", figures=False),
        Column("Verdict\n", "Whether proportioner and tank keep up.", figures=False),
        Column("Tip\ndrill", "Number drill of the metering tip; 80 is the smallest.", figures=False),
        Column("Dilution\nwater", "Parts of water to one of concentrate at the survey's water pressure."),
        Column("Lean to rich\nwater", "Over the range of the water pressure."),
        Column(f"Busy hour\n{volume}", "Solution drawn in the busy hour."),
        Column(f"Refill\n{flow}", "Solution that the proportioner makes at the water pressure."),
        Column(f"Tank\n{volume}", "Working volume of the day tank."),
        Column("Runs dry\ndays", "Chance that the tank runs dry on one day."),
        Column("Smallest tank\n", "Smallest tank that runs dry on less than 1 % of days.", figures=False),
    )
    return Table(columns, tuple(_plant_row(p, job.design, tanks, of, names) for p in proof.plant))


def _plant_row(
    plant: PlantProof, design: Design, tanks: Mapping[str, str], of: _Figures, names: _Names
) -> Row:
    standing = standing_of_verdict(plant.verdict)
    stands = f"{standing.sign} {'keeps up' if plant.verdict.holds else standing.words}"
    product = next((p for p in design.products if p.id == plant.product), None)
    neat = product is not None and product.dilution == 0.0
    name = names.service(plant.product)
    tip = str(plant.tip_drill) if plant.tip_drill else "none needed" if neat else "none fits"
    lean, rich = _parts(plant.lean), _parts(plant.rich)
    dry = _percent(plant.dry_chance, 1)
    cells = (
        Cell(name, name),
        Cell(stands, standing.words, standing),
        Cell(tip, plant.tip_drill),
        Cell("undiluted", 0.0) if neat else _parts(plant.dilution),
        Cell(f"{lean.text} to {rich.text}", lean.order) if not neat else Cell(NOT_KNOWN, -math.inf),
        of.cell(plant.busy_hour_draw_m3, _D.VOLUME),
        of.cell(plant.refill_m3_s, _D.FLOW),
        of.cell(plant.tank_m3, _D.VOLUME),
        dry,
        Cell(tanks.get(plant.smallest_tank, plant.smallest_tank) or "none", plant.smallest_tank),
    )
    told = (
        f"{stands}. {name}: the busy hour draws {of.full(plant.busy_hour_draw_m3, _D.VOLUME)}, the "
        f"proportioner refills {of.full(plant.refill_m3_s, _D.FLOW)}; the tank of {of.full(plant.tank_m3, _D.VOLUME)} "
        f"runs dry on {dry.text} of days."
    )
    if not neat and plant.tip_drill:
        told += (
            f" Tip {plant.tip_drill}: {_parts(plant.dilution).text}, from {lean.text} (lean) to {rich.text} (rich) "
            "over the water pressure range; confirm by a test on site."
        )
    at = next((i for i, unit in enumerate(design.plant) if unit.product == plant.product), None)
    place = plant.product if at is None else f"design.plant.{at}.tip_drill"
    drops = tuple(d.id for d in design.drops if d.service == plant.product)
    return Row(plant.product, place, cells, told, drops)


def _air(air: AirProof, of: _Figures) -> Sentence:
    standing = standing_of_verdict(air.verdict)
    word = "enough" if air.verdict.holds else air.verdict.value
    text = (
        f"{standing.sign} Compressed air, {word}: 99 % of the busy hour needs no more than "
        f"{of.full(air.demand_m3_s, _D.FREE_AIR)}, leaks take {of.full(air.leak_m3_s, _D.FREE_AIR)}, the compressor "
        f"gives {of.full(air.supply_m3_s, _D.FREE_AIR)} of free air."
    )
    if air.worst_drop:
        text += f" Lowest at {air.worst_drop}: {of.full(air.worst_pressure_pa, _D.PRESSURE)}."
    return Sentence(text, "site.air.free_air", standing)


def _water(water: WaterProof, of: _Figures) -> Sentence:
    standing = standing_of_verdict(water.verdict)
    word = "enough" if water.verdict.holds else water.verdict.value
    text = (
        f"{standing.sign} Water, {word}: all proportioners refilling together take "
        f"{of.full(water.demand_m3_s, _D.FLOW)}, the tie-in gives {of.full(water.supply_m3_s, _D.FLOW)}."
    )
    if water.verdict.holds and water.demand_m3_s > water.supply_m3_s:
        text += " Together they refill more slowly; what the busy hour draws is still met."
    return Sentence(text, "site.water.flow", standing)


def sentences(job: Job, proof: Proof) -> tuple[Sentence, ...]:
    """Air, water, then what was assumed."""
    of = _Figures(job.units)
    said = [
        _air(proof.air, of) if proof.air else Sentence("? Compressed air: not proved.", "site.air.free_air"),
        _water(proof.water, of) if proof.water else Sentence("? Water: not proved.", "site.water.flow"),
    ]
    said += [Sentence(f"Assumed: {text}") for text in proof.assumptions]
    return tuple(said)


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
