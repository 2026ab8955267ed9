"""What stands on the labels of containers, day tanks and lines: name, where it goes, strength and hazards in words.

29 CFR 1910.1200(f)(6)(ii): a workplace container has the product's identity and words, pictures or symbols that give at
least general information on its hazards (from memory). ASME A13.1: a line is labelled with what it carries
(second-hand).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from estimator.model.choices import Pictogram, SignalWord
from estimator.model.design import AIR, Product
from estimator.model.sheet import SafetySheet
from estimator.safety.hazards import Known, hazards_of
from estimator.shown.figures import Figures
from estimator.shown.lines import LineStyle, line_styles
from estimator.shown.names import Names
from estimator.shown.scope import classes_text, dilution_text
from estimator.study import Study

__all__ = ["LabelText", "hazard_words", "label_texts", "without_hazards"]

_MEANING: Final[dict[Pictogram, str]] = {
    Pictogram.EXPLODING_BOMB: "may explode",
    Pictogram.FLAME: "flammable",
    Pictogram.FLAME_OVER_CIRCLE: "makes fire fiercer (oxidiser)",
    Pictogram.GAS_CYLINDER: "gas under pressure",
    Pictogram.CORROSION: "corrosive",
    Pictogram.SKULL_AND_CROSSBONES: "toxic",
    Pictogram.EXCLAMATION_MARK: "irritates or harms",
    Pictogram.HEALTH_HAZARD: "lasting harm to health",
    Pictogram.ENVIRONMENT: "harms life in water",
}
"""What each pictogram of the GHS stands for, in words of our own (UN GHS, annex 1; from memory)."""


@dataclass(frozen=True, slots=True)
class LabelText:
    """One label.

    Attributes:
        name: of the product, or compressed air.
        place: what it is stuck on, with number and colour of the line.
        strength: how strong what is in there is; "" for air.
        signal: the signal word; "" where there is none.
        pictograms: of the concentrate, each with what it means in words.
        hazards: in words.
        data: which safety data sheet it goes by; "" where that has no date.
    """

    name: str
    place: str
    strength: str
    signal: str
    hazards: str
    data: str
    pictograms: tuple[tuple[Pictogram, str], ...] = ()


def without_hazards(sheet: SafetySheet) -> bool:
    """Whether nothing is known of what a product can do, so that no label can say it."""
    return not (sheet.is_read or sheet.pictograms or sheet.classes)


def hazard_words(product: Product) -> str:
    """The hazards of a concentrate, from its safety data sheet, else from its classes."""
    sheet, hazards = product.sheet, hazards_of(product.sheet)
    told = []
    if sheet.pictograms:
        told.append(", ".join(_MEANING[p] for p in sheet.pictograms))
    if hazards.corrosive in (Known.YES, Known.LIKELY):
        told.append("burns skin and eyes" if hazards.skin else "burns eyes, may burn skin")
    elif hazards.corrosive is Known.MAYBE:
        told.append("may burn eyes and skin")
    if hazards.fluoride:
        told.append("holds a fluoride, which burns deep")
    if hazards.flammable:
        told.append("keep from flames and sparks")
    if hazards.sharp:
        told.append("do not breathe mist or vapour")
    none = "none stated on its safety data sheet" if sheet.is_read else "read its safety data sheet"
    text = "; ".join(told) or none
    statements = f" ({', '.join(sheet.statements)})" if sheet.statements else ""
    return f"{text}{statements}."


def _signal(sheet: SafetySheet) -> str:
    return "" if sheet.signal_word in (None, SignalWord.NONE) else str(sheet.signal_word.label)


def _of_product(
    study: Study, product: Product, name: str, style: LineStyle, places: list[str], figures: Figures
) -> Iterator[LabelText]:
    sheet = product.sheet
    line = f"line {style.tag}, {style.name}"
    data = f"Safety data sheet of {figures.day(sheet.dated)}." if sheet.dated is not None else ""
    words = hazard_words(product)
    pictograms = tuple((p, _MEANING[p]) for p in sheet.pictograms)
    kind = f"; {classes_text(product)[0].lower()}{classes_text(product)[1:]}" if sheet.classes else ""
    mixed = (
        f"Diluted {dilution_text(product.dilution, figures)}, water : concentrate{kind}"
        if product.dilution > 0
        else f"Undiluted{kind}"
    )

    def label(place: str, strength: str, of: str = "Hazards of the concentrate: ") -> LabelText:
        return LabelText(name, place, strength, _signal(sheet), f"{of}{words}", data, pictograms)

    for _ in range(product.containers):
        yield label(f"Container, for {line}", f"Concentrate, full strength{kind}", "Hazards: ")
    if any(unit.product == product.id for unit in study.job.design.plant):
        yield label(f"Day tank, {line}", mixed)
    if places:
        for place in ("at the board", *places):
            yield label(f"{line[0].upper()}{line[1:]}, {place}", mixed)


def label_texts(
    study: Study, names: Names, called: dict[str, str], figures: Figures
) -> tuple[LabelText, ...]:
    """All labels of the base design: for each product its containers, its day tank, its line at the board and at each
    bay side; then the air line.

    Args:
        study: of the job.
        names: of bay sides.
        called: what each product, and compressed air, is called.
        figures: how figures are written.
    """
    design = study.job.design
    styles = line_styles(design)
    drops = {drop.id: drop.service for drop in design.drops}
    places: defaultdict[str, list[str]] = defaultdict(list)
    for station in study.layout.stations:
        for service in dict.fromkeys(drops[drop] for drop in station.drops):
            places[service].append(names.station(station.bay, station.side.value))
    found: list[LabelText] = []
    for product in design.products:
        style = styles[product.id]
        found += _of_product(study, product, called[product.id], style, places[product.id], figures)
    if places[AIR]:
        line = f"Line {styles[AIR].tag}, {styles[AIR].name}"
        hazards = (
            "Hazards: gas under pressure; never point it at people; let it off before the line is opened."
        )
        found += (
            LabelText(called[AIR], f"{line}, {place}", "", "", hazards, "")
            for place in ("at the board", *places[AIR])
        )
    return tuple(found)
