"""Basis of design: what was surveyed, what runs together, and what then comes out of every nozzle."""

from __future__ import annotations

from collections.abc import Mapping

from reportlab.platypus import Flowable

from estimator.documents.paper import Chapter
from estimator.documents.sheet import Heading, Sheet, boxed, fresh_page, headed, ruled_table
from estimator.documents.style import Texts
from estimator.model.design import AIR
from estimator.shown.air_tables import air_table
from estimator.shown.air_words import free_air_at
from estimator.shown.basis_tables import drop_groups
from estimator.shown.mixtures import board_table
from estimator.shown.proof_tables import Table, assumed, line_table, plant_table, services, shared
from estimator.shown.survey_words import water_words
from estimator.sizing.types import End, Verdict
from estimator.units import Dimension

__all__ = ["BASIS"]

_LINES = {
    "line": 3.0,
    "guns": 1.1,
    "flow": 1.0,
    "capacity": 1.2,
    "pump_pressure": 1.0,
    "pump_air": 1.2,
    "verdict": 2.0,
}
_DROPS = {
    "service": 2.2,
    "drops": 0.7,
    "where": 2.6,
    "flow": 1.3,
    "pressure": 1.3,
    "window": 1.3,
    "verdict": 1.8,
}
_PLANT = {
    "product": 2.5,
    "wanted": 1.0,
    "dilution": 1.0,
    "draw": 1.1,
    "refill": 0.9,
    "tank": 0.8,
    "dry": 0.8,
    "verdict": 1.5,
}
_BOARD = {"product": 2.4, "wanted": 2.0, "alone": 1.3, "busy": 1.3, "first": 1.3, "verdict": 2.2}
"""Columns with their shares of the width."""


_AIR = {
    "place": 2.6,
    "service": 2.4,
    "outlet": 1.0,
    "gun": 1.0,
    "solution": 1.0,
    "ratio": 1.0,
    "foam": 1.2,
}
_MOST_AIR = 40
"""Air outlets on paper; of more those with the lowest pressure."""


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
                cell.words,
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
    air = site.air
    more = "" if air.cut_in is None else f", starting again at {figures.typed(air.cut_in)}"
    if air.supply_loss.si > 0.0:
        more += f", {figures.typed(air.supply_loss)} lost before the board"
    if air.receiver is not None:
        more += f", receiver {figures.typed(air.receiver)}" if air.receiver.si > 0.0 else ", no receiver"
    if air.dryer_purge > 0:
        more += f", {figures.percent(air.dryer_purge)} dryer purge"
    leaks = f"{figures.percent(air.leak_percent)} leaks"
    if air.leak_loaded is not None and air.leak_unloaded is not None:
        leaks = (
            f"leaks by a test with every tool shut ({figures.typed(air.leak_loaded)} loaded, "
            f"{figures.typed(air.leak_unloaded)} unloaded)"
        )
    told = (
        f"Water: {water_words(site.water, figures)}. Compressor: {figures.typed(air.free_air)} free air "
        f"({free_air_at(air.reference, figures)}), stopping at "
        f"{figures.typed(air.pressure)}{more}, {leaks}. Altitude {figures.typed(site.altitude)}. "
        f"Busy hour: {figures.number(use.vehicles_per_hour, 1)} vehicles; "
        f"{figures.number(use.hours_per_day, 1)} hours a day; "
        f"air guns {figures.typed(use.blow_off_per_vehicle)} a vehicle."
    )
    return [sheet.text(told, Texts.BODY)]


def _state(sheet: Sheet) -> str:
    """Whether what comes out of the nozzles is right, for all of them."""
    proof, count = sheet.study.proof, sheet.figures.count
    wet = sum(d.service != AIR for d in sheet.study.job.design.drops)
    if not wet:
        return "This design has no drops for liquids."
    open_ = wet - len(proof.drops)
    if not proof.drops:
        return (
            "What comes out of the nozzles could not be proved; what is missing is told above the signature."
        )
    unfit = sum(1 for d in proof.drops if d.verdict is Verdict.UNFIT)
    if unfit:
        hang = "hangs" if unfit == 1 else "hang"
        return (
            f"{unfit} of {count(wet, 'liquid drop')} {hang} on a line with a part that does not stand its product; "
            "such a line must not be used, whatever its pressures are."
        )
    outside = sum(1 for d in proof.drops if not d.verdict.holds)
    state = (
        f"{outside} of {count(wet, 'liquid drop')} {'is' if outside == 1 else 'are'} outside "
        f"{'its' if outside == 1 else 'their'} nozzle's window."
        if outside
        else "Every liquid drop is inside its nozzle's window."
        if not open_
        else f"{len(proof.drops)} of {count(wet, 'liquid drop')} are inside their nozzle's window."
    )
    if open_:
        state += f" {count(open_, 'drop', start=True)} could not be proved."
    worst = min(proof.drops, key=lambda d: d.room)
    name, amount = sheet.say.names.drop(worst.drop), sheet.figures.amount
    pressure = amount(worst.nearest.nozzle_pressure_pa, Dimension.PRESSURE)
    case = "in the design case" if worst.nearest_end is End.LOW else "with no other gun open"
    low, high = (amount(end, Dimension.PRESSURE) for end in (worst.window_low_pa, worst.window_high_pa))
    return f"{state} Closest to an end: {name}, {pressure} {case}, window {low} to {high}."


def _story(sheet: Sheet) -> list[Flowable]:
    proof = sheet.study.proof
    if not sheet.study.job.design.drops:
        return []  # nothing was worked out
    story: list[Flowable] = [
        fresh_page(sheet),
        Heading(sheet, "Basis of design", "basis"),
        sheet.text(
            "An appendix for whoever wants to know why the system works; it asks nothing of the one who signs. "
            "Computed from the survey and the design of this quote. Equipment figures are generic demo data unless "
            "a maker's data was entered; what is built is confirmed at commissioning.",
            Texts.SMALL,
        ),
        *_survey(sheet),
        boxed([sheet.text(_state(sheet), Texts.CELL_STRONG)], sheet.page.text_width),
    ]
    if proof.lines:
        story += [
            *headed(sheet, "Lines in the design case", "basis-lines", 1),
            *_table(sheet, line_table(sheet.study), _LINES),
        ]
    if proof.drops:
        story += [
            *headed(sheet, "What comes out of each nozzle", "basis-drops", 1),
            *_table(sheet, drop_groups(sheet.study), _DROPS),
        ]
    if proof.plant:
        story += [
            *headed(sheet, "Plant", "basis-plant", 1),
            *_table(sheet, plant_table(sheet.study), _PLANT),
        ]
    if proof.board is not None:
        board = board_table(sheet.study)
        shares = {column.key: _BOARD[column.key] for column in board.columns}
        story += [
            *headed(sheet, "What each product comes out at", "basis-board", 1),
            *_table(sheet, board, shares),
        ]
    if proof.air is not None and proof.air.drops:
        air = air_table(sheet.study, _MOST_AIR)
        some = len(air.rows) < len(proof.air.drops)
        keys = ("place", "service", "outlet", "gun", *(("solution", "ratio", "foam") if proof.foam else ()))
        story += [
            *headed(sheet, "Compressed air at each gun", "basis-air", 1),
            sheet.text(
                "Just before the compressor starts, with the others at work blowing too"
                + (f"; the {_MOST_AIR} lowest of {len(proof.air.drops)}." if some else "."),
                Texts.SMALL,
            ),
            *_table(sheet, air, {key: _AIR[key] for key in keys}),
        ]
    story += [
        sheet.texts.paragraph(said.text, Texts.ITEM, "–")
        for said, proved in zip(services(sheet.study), (proof.air, proof.water), strict=True)
        if proved is not None
    ]
    story += [sheet.texts.paragraph(said.text, Texts.ITEM, "–") for said in shared(sheet.study)]
    if lines := assumed(sheet.study):
        story += headed(sheet, "Assumed", "basis-assumed", 1)
        story += (sheet.texts.paragraph(line, Texts.ITEM, "–") for line in lines)
    return story


BASIS = Chapter("basis", "Basis of design", _story)
