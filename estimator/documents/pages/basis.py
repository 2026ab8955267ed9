"""Basis of design: what was surveyed, what runs together, and what then comes out of every nozzle."""

from __future__ import annotations

from collections.abc import Mapping

from reportlab.platypus import Flowable, PageBreak

from estimator.documents.paper import Chapter
from estimator.documents.sheet import Heading, Sheet, boxed, headed, ruled_table
from estimator.documents.style import Texts
from estimator.shown.air_words import free_air_at
from estimator.shown.proof_tables import Table, assumed, drop_table, line_table, plant_table, services
from estimator.sizing.types import End
from estimator.units import Dimension

__all__ = ["BASIS"]

_LINES = {"line": 3.2, "guns": 1.3, "flow": 1.2, "pump_pressure": 1.4, "pump_air": 1.5, "fastest": 1.2}
_DROPS = {
    "place": 1.2,
    "service": 2.3,
    "alone_flow": 0.95,
    "alone_pressure": 0.95,
    "together_flow": 1.1,
    "together_pressure": 1.1,
    "window": 1.2,
    "verdict": 1.95,
}
_PLANT = {
    "product": 2.5,
    "wanted": 0.9,
    "tip": 0.8,
    "dilution": 1.0,
    "range": 1.3,
    "refill": 1.0,
    "draw": 1.1,
    "tank": 0.8,
    "dry": 1.0,
}
"""Columns that are printed, with their shares of the width."""


def _table(sheet: Sheet, whole: Table, shares: Mapping[str, float]) -> list[Flowable]:
    """A table of the proof with the columns that the paper has room for."""
    table = whole.only(*shares)
    heads: list[Flowable] = [
        sheet.text(" ".join(column.heading.split()), Texts.HEAD_NUMBER if column.figures else Texts.HEAD)
        for column in table.columns
    ]
    rows = [heads]
    rows += [
        [
            sheet.text(
                cell.standing.words if cell.standing else cell.text,
                Texts.NUMBER_SMALL if column.figures else Texts.CELL_SMALL,
            )
            for cell, column in zip(row.cells, table.columns, strict=True)
        ]
        for row in table.rows
    ]
    width, whole_share = sheet.page.text_width, sum(shares.values())
    return [ruled_table(rows, [width * share / whole_share for share in shares.values()])]


def _survey(sheet: Sheet) -> list[Flowable]:
    site, figures = sheet.study.job.site, sheet.figures
    use = site.use
    told = (
        f"Water: {figures.typed(site.water.pressure)} while {figures.typed(site.water.flow)} flows, "
        f"{figures.typed(site.water.temperature)}. Compressor: {figures.typed(site.air.free_air)} free air "
        f"({free_air_at(site.air.reference, figures)}) at {figures.typed(site.air.pressure)}, "
        f"{figures.percent(site.air.leak_percent)} leaks. Altitude {figures.typed(site.altitude)}. "
        f"Busy hour: {figures.number(use.vehicles_per_hour, 1)} vehicles; "
        f"{figures.number(use.hours_per_day, 1)} hours a day; "
        f"air guns {figures.typed(use.blow_off_per_vehicle)} a vehicle."
    )
    return [sheet.text(told, Texts.BODY)]


def _worst(sheet: Sheet) -> list[Flowable]:
    proof = sheet.study.proof
    if not proof.drops:
        return [
            boxed(
                [sheet.text("This design could not be proved; see the findings.", Texts.CELL_STRONG)],
                sheet.page.text_width,
            )
        ]
    worst = min(proof.drops, key=lambda d: d.room)
    outside = sum(1 for d in proof.drops if not d.verdict.holds)
    name, amount = sheet.say.names.drop(worst.drop), sheet.figures.amount
    pressure = amount(worst.nearest.nozzle_pressure_pa, Dimension.PRESSURE)
    case = "in the design case" if worst.nearest_end is End.LOW else "with no other gun open"
    low, high = (amount(end, Dimension.PRESSURE) for end in (worst.window_low_pa, worst.window_high_pa))
    window = f"{low} to {high}"
    state = (
        "Every liquid drop is inside its nozzle's window."
        if not outside
        else f"{outside} of {sheet.figures.count(len(proof.drops), 'liquid drop')} "
        f"{'is' if outside == 1 else 'are'} outside {'its' if outside == 1 else 'their'} nozzle's window."
    )
    return [
        boxed(
            [
                sheet.text(
                    f"{state} Closest to an end: {name}, {pressure} {case}, window {window}.",
                    Texts.CELL_STRONG,
                )
            ],
            sheet.page.text_width,
        )
    ]


def _story(sheet: Sheet) -> list[Flowable]:
    proof = sheet.study.proof
    story: list[Flowable] = [
        PageBreak(),
        Heading(sheet, "Basis of design", "basis"),
        sheet.text(
            "Computed from the survey and the design of this quote. Equipment figures are generic demo data unless "
            "a maker's data was entered; what is built is confirmed at commissioning.",
            Texts.SMALL,
        ),
        *_survey(sheet),
        *_worst(sheet),
    ]
    if proof.lines:
        story += [
            *headed(sheet, "Lines in the design case", "basis-lines", 1),
            *_table(sheet, line_table(sheet.study), _LINES),
        ]
    if proof.drops:
        story += [
            *headed(sheet, "What comes out of each nozzle", "basis-drops", 1),
            *_table(sheet, drop_table(sheet.study), _DROPS),
        ]
    if proof.plant:
        story += [*headed(sheet, "Plant", "basis-plant", 1), *_table(sheet, plant_table(sheet.study), _PLANT)]
    story += [
        sheet.texts.paragraph(said.text, Texts.ITEM, "–")
        for said, proved in zip(services(sheet.study), (proof.air, proof.water), strict=True)
        if proved is not None
    ]
    story += [
        *headed(sheet, "Assumed", "basis-assumed", 1),
        *(sheet.texts.paragraph(line, Texts.ITEM, "–") for line in assumed(sheet.study)),
    ]
    return story


BASIS = Chapter("basis", "Basis of design", _story)
