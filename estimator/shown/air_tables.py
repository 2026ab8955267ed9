"""Compressed air as a table: what reaches each air gun and foam gun just before the compressor starts."""

from __future__ import annotations

import math

from estimator.shown.proof_tables import NOT_KNOWN, Cell, ProofColumn, ProofWords, Row, Table
from estimator.shown.standing import Standing
from estimator.sizing import rules
from estimator.sizing.types import AirDrop, FoamProof
from estimator.study import Study
from estimator.units import Dimension

__all__ = ["air_table"]

_D = Dimension


def air_table(study: Study, most: int | None = None) -> Table:
    """Each air outlet in design order.

    Args:
        study: with a proof.
        most: rows; of more outlets those with the lowest pressure.
    """
    of = ProofWords(study)
    pressure, flow = of.unit(_D.PRESSURE), of.unit(_D.FLOW)
    columns = (
        ProofColumn("place", "Bay side\n", "Where it hangs.", figures=False),
        ProofColumn("service", "Service\n", "Compressed air, or the product of a foam gun.", figures=False),
        ProofColumn(
            "outlet", f"Tube end\n{pressure}", "At the end of the tube with the others at work blowing too."
        ),
        ProofColumn("gun", f"At the gun\n{pressure}", "Air behind the hose while the gun is open."),
        ProofColumn("chamber", f"Meet at\n{pressure}", "Where air and solution meet in a foam gun."),
        ProofColumn("solution", f"Solution\n{flow}", "What comes of the solution with the air on."),
        ProofColumn("ratio", "Air to\nsolution", "Parts of free air to one of solution."),
        ProofColumn("range", "Gun makes\nfoam of", "The parts of air that the gun makes foam of."),
        ProofColumn("foam", "Foam\n", "How that stands to what the gun makes foam of.", figures=False),
    )
    air = study.proof.air
    drops = air.drops if air is not None else ()
    if most is not None and len(drops) > most:
        drops = tuple(sorted(drops, key=lambda drop: drop.outlet_pa)[:most])
    foam = {one.drop: one for one in study.proof.foam}
    at = {drop.id: i for i, drop in enumerate(study.job.design.drops)}
    services = {drop.id: drop.service for drop in study.job.design.drops}
    return Table(
        columns,
        tuple(_row(d, foam.get(d.drop), services[d.drop], at[d.drop], of) for d in drops if d.drop in at),
    )


def _row(drop: AirDrop, foam: FoamProof | None, service: str, position: int, of: ProofWords) -> Row:
    names = of.names
    unknown = Cell(NOT_KNOWN, -math.inf)
    place, line = names.place(drop.drop), names.line(service)
    gun = unknown if drop.gun_pa is None else of.cell(drop.gun_pa, _D.PRESSURE)
    told = f"{names.drop(drop.drop)}: {of.full(drop.outlet_pa, _D.PRESSURE)} at the end of the tube"
    if drop.gun_pa is not None:
        told += f", {of.full(drop.gun_pa, _D.PRESSURE)} at the gun while it is open"
    cells = [Cell(place, position), Cell(line, line), of.cell(drop.outlet_pa, _D.PRESSURE), gun]
    if foam is None:
        cells += [unknown] * 5
    else:
        standing, words = _stands(foam)
        ratio = math.inf if foam.ratio is None else foam.ratio
        parts = NOT_KNOWN if foam.ratio is None else f"{of.figures.fixed(foam.ratio, 0)}:1"
        limits = f"{of.figures.fixed(foam.low, 0)}–{of.figures.fixed(foam.high, 0)}"
        cells += [
            of.cell(foam.chamber_pa, _D.PRESSURE),
            of.cell(foam.solution_m3_s, _D.FLOW),
            Cell(parts, ratio),
            Cell(limits, foam.low),
            Cell(f"{standing.sign} {words}", ratio, standing),
        ]
        told += (
            f"; air to solution {parts} with the {of.full(foam.solution_m3_s, _D.FLOW)} of solution that then come: "
            f"{words} (its gun makes foam of {limits} to one)"
        )
    return Row(drop.drop, f"design.drops.{position}.gun", tuple(cells), f"{told}.", (drop.drop,))


def _stands(foam: FoamProof) -> tuple[Standing, str]:
    if rules.foams(foam.ratio, foam.low, foam.high):
        return Standing.GOOD, "foams"
    if foam.ratio is None:
        return Standing.NO_FLOW, "no solution"
    if foam.ratio <= 0.0:
        return Standing.NO_FLOW, "no air"
    return (Standing.LOW, "too wet") if foam.ratio < foam.low else (Standing.HIGH, "too dry")
