"""The drops of the proof for a reader who signs: equal ones as one row, with the verdict beside the figures."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from estimator.model.finding import some
from estimator.shown.proof_tables import Cell, ProofColumn, ProofWords, Row, Table
from estimator.shown.standing import standing_of
from estimator.sizing.types import DropProof
from estimator.study import Study
from estimator.units import Dimension

__all__ = ["drop_groups"]

_D: Final = Dimension
_MOST_PLACES: Final = 4


def _range(of: ProofWords, values: Iterable[float], dimension: Dimension) -> Cell:
    """From the least to the most, one figure where they read alike."""
    ordered = sorted(values)
    low, high = of.cell(ordered[0], dimension), of.cell(ordered[-1], dimension)
    return low if low.text == high.text else Cell(f"{low.text}–{high.text}", low.order)


def drop_groups(study: Study) -> Table:
    """Drops of one product with the same window and the same verdict as one row, the worst first.

    The figures of a row reach from what the worst drop gives with the other guns open that hurt it most, to what the
    best one gives alone: every drop of the row stays between them.
    """
    of = ProofWords(study)
    flow, pressure = of.unit(_D.FLOW), of.unit(_D.PRESSURE)
    columns = (
        ProofColumn("service", "Service", "The product.", figures=False),
        ProofColumn("drops", "Drops", "How many drops the row stands for."),
        ProofColumn("where", "Where", "Where they hang.", figures=False),
        ProofColumn("flow", f"Flow {flow}", "From the least with other guns open to the most alone."),
        ProofColumn(
            "pressure",
            f"Pressure {pressure}",
            "At the nozzle, from the least with other guns open to the most alone.",
        ),
        ProofColumn("window", f"Window {pressure}", "Working pressures of the nozzle."),
        ProofColumn("verdict", "Verdict", "How the pressure stands to the window.", figures=False),
    )
    groups: dict[tuple[object, ...], list[DropProof]] = {}
    for drop in study.proof.drops:
        key = (drop.line, drop.window_low_pa, drop.window_high_pa, drop.verdict)
        groups.setdefault(key, []).append(drop)
    ranked = sorted(groups.values(), key=lambda group: min(d.room for d in group))
    return Table(columns, tuple(_group(group, of) for group in ranked))


def _group(group: Sequence[DropProof], of: ProofWords) -> Row:
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
