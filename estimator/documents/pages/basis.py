"""Basis of design: what was surveyed, what runs together, and what then comes out of every nozzle."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from babel.numbers import format_decimal
from reportlab.platypus import Flowable, PageBreak

from estimator.documents.scope_words import product_name
from estimator.documents.sheet import Chapter, Heading, Sheet, boxed, headed, ruled_table
from estimator.documents.style import Texts
from estimator.model.design import Drop
from estimator.sizing.types import DropProof, DropState, End, PlantProof, Verdict
from estimator.units import Dimension, UnitSystem, preferred_unit, to_unit

__all__ = ["BASIS"]

_SIGNS = {
    Verdict.GOOD: "inside",
    Verdict.CLOSE: "close",
    Verdict.LOW: "too low",
    Verdict.HIGH: "too high",
    Verdict.NO_FLOW: "no flow",
    Verdict.SHORT: "too small",
    Verdict.UNKNOWN: "not proved",
}


def _si(sheet: Sheet, value: float, dimension: Dimension, places: int) -> str:
    """An SI figure in the paper's units, without the unit."""
    unit = preferred_unit(dimension, sheet.figures.system)
    return _fixed(sheet, to_unit(value, dimension, unit), places)


def _fixed(sheet: Sheet, value: float, places: int) -> str:
    """A number with all its decimals, so that a column lines up."""
    pattern = "#,##0" + ("." + "0" * places if places else "")
    return str(format_decimal(Decimal(repr(value)), format=pattern, locale=sheet.figures.locale))


def _air_places(sheet: Sheet) -> int:
    return 1 if sheet.figures.system is UnitSystem.US else 0


def _length_unit(sheet: Sheet) -> str:
    return preferred_unit(Dimension.LENGTH, sheet.figures.system)


def _with_unit(sheet: Sheet, value: float, dimension: Dimension, places: int) -> str:
    return f"{_si(sheet, value, dimension, places)}\u00a0{preferred_unit(dimension, sheet.figures.system)}"


def _head(sheet: Sheet, words: Sequence[str], numbers_from: int = 1) -> list[Flowable]:
    return [
        sheet.text(word, Texts.HEAD if i < numbers_from else Texts.HEAD_NUMBER)
        for i, word in enumerate(words)
    ]


def _row(sheet: Sheet, words: Sequence[str], numbers_from: int = 1) -> list[Flowable]:
    return [
        sheet.text(word, Texts.CELL_SMALL if i < numbers_from else Texts.NUMBER_SMALL)
        for i, word in enumerate(words)
    ]


def _widths(sheet: Sheet, shares: Sequence[float]) -> list[float]:
    return [sheet.paper.text_width * share / sum(shares) for share in shares]


def _survey(sheet: Sheet) -> list[Flowable]:
    site, figures = sheet.study.job.site, sheet.figures
    use = site.use
    told = (
        f"Water: {figures.measure(site.water.pressure)} while {figures.measure(site.water.flow)} flows, "
        f"{figures.measure(site.water.temperature)}. Compressor: {figures.measure(site.air.free_air)} free air "
        f"({site.air.reference.label}) at {figures.measure(site.air.pressure)}, "
        f"{figures.percent(site.air.leak_percent)} leaks. Altitude {figures.measure(site.altitude)}. "
        f"Busy hour: {figures.number(use.vehicles_per_hour, 1)} vehicles; "
        f"{figures.number(use.hours_per_day, 1)} hours a day; "
        f"air guns {figures.measure(use.blow_off_per_vehicle)} a vehicle."
    )
    return [sheet.text(told, Texts.BODY)]


def _worst(sheet: Sheet) -> list[Flowable]:
    proof = sheet.study.proof
    if not proof.drops:
        return [
            boxed(
                [sheet.text("This design could not be proved; see the findings.", Texts.CELL_STRONG)],
                sheet.paper.text_width,
            )
        ]
    worst = min(proof.drops, key=lambda d: d.room)
    outside = sum(1 for d in proof.drops if not d.verdict.holds)
    name = _drop_name(sheet, worst.drop)
    pressure = _with_unit(sheet, worst.nearest.nozzle_pressure_pa, Dimension.PRESSURE, 2)
    case = "in the design case" if worst.nearest_end is End.LOW else "with no other gun open"
    window = (
        f"{_si(sheet, worst.window_low_pa, Dimension.PRESSURE, 1)} to "
        f"{_with_unit(sheet, worst.window_high_pa, Dimension.PRESSURE, 1)}"
    )
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
            sheet.paper.text_width,
        )
    ]


def _drop_name(sheet: Sheet, drop_id: str) -> str:
    design = sheet.study.job.design
    drop = next(d for d in design.drops if d.id == drop_id)
    return f"{_place(sheet, drop)}, {product_name(design, drop.service)}"


def _place(sheet: Sheet, drop: Drop) -> str:
    bay = next(b for b in sheet.study.job.design.bays if b.id == drop.bay)
    return f"{bay.name or bay.id} {drop.side.value}"


def _lines(sheet: Sheet) -> list[Flowable]:
    design, lines = sheet.study.job.design, sheet.study.proof.lines
    flow = preferred_unit(Dimension.FLOW, sheet.figures.system)
    pressure = preferred_unit(Dimension.PRESSURE, sheet.figures.system)
    air = preferred_unit(Dimension.FREE_AIR, sheet.figures.system)
    rows = [
        _head(
            sheet,
            [
                "Line",
                "Guns together",
                f"Flow {flow}",
                f"Pump gives {pressure}",
                f"Pump's free air {air}",
                f"Fastest {_length_unit(sheet)}/s",
            ],
        )
    ]
    rows += [
        _row(
            sheet,
            [
                product_name(design, line.line),
                str(line.guns_open),
                _si(sheet, line.flow_m3_s, Dimension.FLOW, 2),
                _si(sheet, line.pump_pressure_pa, Dimension.PRESSURE, 2),
                _si(sheet, line.pump_air_m3_s, Dimension.FREE_AIR, _air_places(sheet)),
                _si(sheet, max(s.velocity_m_s for s in line.segments), Dimension.LENGTH, 2),
            ],
        )
        for line in lines
    ]
    return [ruled_table(rows, _widths(sheet, [3.2, 1.3, 1.2, 1.4, 1.5, 1.2]))]


def _state(sheet: Sheet, state: DropState) -> list[str]:
    return [
        _si(sheet, state.flow_m3_s, Dimension.FLOW, 2),
        _si(sheet, state.nozzle_pressure_pa, Dimension.PRESSURE, 2),
    ]


def _drops(sheet: Sheet) -> list[Flowable]:
    design = sheet.study.job.design
    flow = preferred_unit(Dimension.FLOW, sheet.figures.system)
    pressure = preferred_unit(Dimension.PRESSURE, sheet.figures.system)
    by_id = {d.id: d for d in design.drops}
    rows = [
        _head(
            sheet,
            [
                "Drop",
                "Product",
                f"Alone {flow}",
                f"Alone {pressure}",
                f"Together {flow}",
                f"Together {pressure}",
                f"Window {pressure}",
                "Nozzle",
            ],
            2,
        )
    ]

    def row(proof: DropProof) -> list[Flowable]:
        ends = (proof.window_low_pa, proof.window_high_pa)
        window = "–".join(_si(sheet, end, Dimension.PRESSURE, 1) for end in ends)
        return _row(
            sheet,
            [
                _place(sheet, by_id[proof.drop]),
                product_name(design, proof.line),
                *_state(sheet, proof.alone),
                *_state(sheet, proof.together),
                window,
                _SIGNS[proof.verdict],
            ],
            2,
        )

    rows += [row(proof) for proof in sheet.study.proof.drops]
    return [ruled_table(rows, _widths(sheet, [1.4, 2.6, 1.0, 1.0, 1.2, 1.2, 1.1, 1.1]))]


def _lean_to_rich(sheet: Sheet, plant: PlantProof) -> str:
    if not (plant.lean and plant.rich):
        return "not known"
    return f"{sheet.figures.number(plant.lean, 0)}–{sheet.figures.number(plant.rich, 0)}:1"


def _plant(sheet: Sheet) -> list[Flowable]:
    design = sheet.study.job.design
    volume = preferred_unit(Dimension.VOLUME, sheet.figures.system)
    flow = preferred_unit(Dimension.FLOW, sheet.figures.system)
    wanted = {p.id: p.dilution for p in design.products}
    rows = [
        _head(
            sheet,
            [
                "Plant",
                "Wanted",
                "Tip drill",
                "Gives about",
                "Lean to rich",
                f"Refill {flow}",
                f"Busy hour {volume}",
                f"Tank {volume}",
                "Runs dry",
            ],
        )
    ]
    rows += [
        _row(
            sheet,
            [
                product_name(design, p.product),
                f"{sheet.figures.number(wanted[p.product], 1)}:1",
                str(p.tip_drill),
                f"{sheet.figures.number(p.dilution, 0)}:1",
                _lean_to_rich(sheet, p),
                _si(sheet, p.refill_m3_s, Dimension.FLOW, 1),
                _si(sheet, p.busy_hour_draw_m3, Dimension.VOLUME, 1),
                _si(sheet, p.tank_m3, Dimension.VOLUME, 0),
                f"{sheet.figures.number(100.0 * p.dry_chance, 1)}\u00a0% of days",
            ],
        )
        for p in sheet.study.proof.plant
    ]
    return [ruled_table(rows, _widths(sheet, [2.5, 0.9, 0.8, 1.0, 1.2, 1.0, 1.1, 0.8, 1.2]))]


def _services(sheet: Sheet) -> list[Flowable]:
    proof, site = sheet.study.proof, sheet.study.job.site
    said = []
    if proof.air is not None:
        free = proof.air.supply_m3_s - proof.air.leak_m3_s
        said.append(
            f"Compressed air ({site.air.reference.label}): "
            f"{_with_unit(sheet, proof.air.demand_m3_s, Dimension.FREE_AIR, _air_places(sheet))} "
            "are asked for in 99 % of the busy hour; "
            f"{_with_unit(sheet, free, Dimension.FREE_AIR, _air_places(sheet))} are there after leaks and altitude."
        )
    if proof.water is not None:
        said.append(
            "Water: all proportioners filling together take "
            f"{_with_unit(sheet, proof.water.demand_m3_s, Dimension.FLOW, 1)}; "
            f"the tie-in gives {_with_unit(sheet, proof.water.supply_m3_s, Dimension.FLOW, 1)}."
        )
    return [sheet.texts.paragraph(line, Texts.ITEM, "–") for line in said]


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
        story += [*headed(sheet, "Lines in the design case", "basis-lines", 1), *_lines(sheet)]
    if proof.drops:
        story += [*headed(sheet, "What comes out of each nozzle", "basis-drops", 1), *_drops(sheet)]
    if proof.plant:
        story += [*headed(sheet, "Plant", "basis-plant", 1), *_plant(sheet)]
    story += _services(sheet)
    story += [
        *headed(sheet, "Assumed", "basis-assumed", 1),
        *(sheet.texts.paragraph(line, Texts.ITEM, "–") for line in proof.assumptions),
    ]
    return story


BASIS = Chapter("basis", "Basis of design", _story)
