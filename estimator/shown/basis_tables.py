"""The proof in a few columns for a reader who signs: equal rows as one, and a verdict beside every figure."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Final

from estimator.model.finding import some
from estimator.shown.names import quoted
from estimator.shown.proof_tables import Cell, Column, Row, Table, Told
from estimator.shown.standing import standing_of, standing_of_verdict
from estimator.sizing.types import DropProof, LineProof, PlantProof
from estimator.study import Study
from estimator.units import Dimension

__all__ = ["drop_groups", "line_verdicts", "plant_verdicts"]

_D: Final = Dimension
_MOST_PLACES: Final = 4


def _range(of: Told, values: Iterable[float], dimension: Dimension) -> Cell:
    """From the least to the most, one figure where they read alike."""
    ordered = sorted(values)
    low, high = of.cell(ordered[0], dimension), of.cell(ordered[-1], dimension)
    return low if low.text == high.text else Cell(f"{low.text}–{high.text}", low.order)


def drop_groups(study: Study) -> Table:
    """Drops of one product with the same window and the same verdict as one row, the worst first.

    The figures of a row reach from what the worst drop gives with the other guns open that hurt it most, to what the
    best one gives alone: every drop of the row stays between them.
    """
    of = Told(study)
    flow, pressure = of.unit(_D.FLOW), of.unit(_D.PRESSURE)
    columns = (
        Column("service", "Service", "The product.", figures=False),
        Column("drops", "Drops", "How many drops the row stands for."),
        Column("where", "Where", "Where they hang.", figures=False),
        Column("flow", f"Flow {flow}", "From the least with other guns open to the most alone."),
        Column(
            "pressure",
            f"Pressure {pressure}",
            "At the nozzle, from the least with other guns open to the most alone.",
        ),
        Column("window", f"Window {pressure}", "Working pressures of the nozzle."),
        Column("verdict", "Verdict", "How the pressure stands to the window.", figures=False),
    )
    groups: dict[tuple[object, ...], list[DropProof]] = {}
    for drop in study.proof.drops:
        key = (drop.line, drop.window_low_pa, drop.window_high_pa, drop.verdict)
        groups.setdefault(key, []).append(drop)
    ranked = sorted(groups.values(), key=lambda group: min(d.room for d in group))
    return Table(columns, tuple(_group(group, of) for group in ranked))


def _group(group: Sequence[DropProof], of: Told) -> Row:
    first, names = group[0], of.names
    standing = standing_of(first)
    ends = [of.cell(end, _D.PRESSURE).text for end in (first.window_low_pa, first.window_high_pa)]
    places = some(list(dict.fromkeys(names.place(d.drop) for d in group)), _MOST_PLACES)
    flows = [f for d in group for f in (d.together.flow_m3_s, d.alone.flow_m3_s)]
    pressures = [p for d in group for p in (d.together.nozzle_pressure_pa, d.alone.nozzle_pressure_pa)]
    service = names.line(first.line)
    cells = (
        Cell(service, service),
        Cell(str(len(group)), len(group)),
        Cell(places, places),
        _range(of, flows, _D.FLOW),
        _range(of, pressures, _D.PRESSURE),
        Cell("–".join(ends), first.window_low_pa),
        Cell(standing.words, min(d.room for d in group), standing),
    )
    told = f"{service}, {places}: {standing.words}."
    return Row(first.drop, "design.drops", cells, told, tuple(d.drop for d in group))


def line_verdicts(study: Study) -> Table:
    """Each liquid line: how many guns run together, what the pump then gives, and whether that is enough."""
    of = Told(study)
    flow, pressure, air = of.unit(_D.FLOW), of.unit(_D.PRESSURE), of.unit(_D.FREE_AIR)
    columns = (
        Column("line", "Line", "The product.", figures=False),
        Column("guns", "Guns together", "Guns that run at the same time in the busy hour."),
        Column("flow", f"Flow {flow}", "What they take together."),
        Column("pump", f"Pump gives {flow}", "The most that the pump gives."),
        Column("pressure", f"At {pressure}", "Pressure at the pump's outlet at that flow."),
        Column("air", f"Free air {air}", "Air that the pump takes then."),
        Column("verdict", "Verdict", "That of the drop of the line with the least room.", figures=False),
    )
    drops: dict[str, list[DropProof]] = {}
    for drop in study.proof.drops:
        drops.setdefault(drop.line, []).append(drop)
    return Table(columns, tuple(_line(line, drops.get(line.line, []), of) for line in study.proof.lines))


def _line(line: LineProof, drops: Sequence[DropProof], of: Told) -> Row:
    name = of.names.line(line.line)
    standing = standing_of(min(drops, key=lambda d: d.room, default=None))
    cells = (
        Cell(name, name),
        Cell(str(line.guns_open), line.guns_open),
        of.cell(line.flow_m3_s, _D.FLOW),
        of.cell(line.pump_capacity_m3_s, _D.FLOW),
        of.cell(line.pump_pressure_pa, _D.PRESSURE),
        of.cell(line.pump_air_m3_s, _D.FREE_AIR),
        Cell(standing.words, standing.words, standing),
    )
    return Row(line.line, line.line, cells, f"{name}: {standing.words}.", tuple(d.drop for d in drops))


def plant_verdicts(study: Study) -> Table:
    """The plant of each product: what comes out of the proportioner, and whether it keeps up."""
    of = Told(study)
    flow, volume = of.unit(_D.FLOW), of.unit(_D.VOLUME)
    columns = (
        Column("product", "Product", "The product.", figures=False),
        Column("wanted", "Wanted water", "Parts of water to one of concentrate that were asked for."),
        Column("given", "Comes out", "Parts of water to one of concentrate with the tip that is chosen."),
        Column("draw", f"Busy hour {volume}", "Solution drawn in the busy hour."),
        Column("refill", f"Refill {flow}", "What the proportioner makes."),
        Column("tank", f"Tank {volume}", "Working volume of the day tank."),
        Column("dry", "Runs dry", "Share of days on which the tank runs dry."),
        Column("verdict", "Verdict", "Whether proportioner and tank keep up.", figures=False),
    )
    return Table(columns, tuple(_plant(plant, study, of) for plant in study.proof.plant))


def _plant(plant: PlantProof, study: Study, of: Told) -> Row:
    product = next((p for p in study.job.design.products if p.id == plant.product), None)
    neat = product is None or product.dilution == 0.0
    name, standing = of.names.product(plant.product), standing_of_verdict(plant.verdict)
    words = "keeps up" if plant.verdict.holds else standing.words
    undiluted = Cell("undiluted", -math.inf)
    cells = (
        Cell(name, name),
        undiluted if neat or product is None else of.parts(product.dilution),
        undiluted if neat else of.parts(plant.dilution),
        of.cell(plant.busy_hour_draw_m3, _D.VOLUME),
        of.cell(plant.refill_m3_s, _D.FLOW),
        of.cell(plant.tank_m3, _D.VOLUME),
        of.percent(plant.dry_chance, 1),
        Cell(words, words, standing),
    )
    return Row(plant.product, plant.product, cells, f"{quoted(name)}: {words}.", ())
