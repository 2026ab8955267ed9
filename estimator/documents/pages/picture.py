"""The floor to scale with its key in text."""

from __future__ import annotations

from collections import Counter

from reportlab.platypus import Flowable

from estimator.documents.draw import LineSample, PictureOnPage
from estimator.documents.paper import Chapter
from estimator.documents.plan_picture import plan_picture
from estimator.documents.sheet import Heading, Sheet, fresh_page, headed, ruled_table
from estimator.documents.style import Texts
from estimator.model.design import AIR
from estimator.shown.lines import line_styles
from estimator.shown.scope import classes_text, dilution_text

__all__ = ["PICTURE"]


def _products(sheet: Sheet) -> list[Flowable]:
    """The products with their line styles: the key of the picture and the list of what is on tap."""
    study = sheet.study
    design = study.job.design
    styles = line_styles(design)
    drops = Counter(d.service for d in design.drops)
    lengths = {line.id: line.length_m for line in study.layout.lines}
    rows: list[list[Flowable | str]] = [
        [
            sheet.text("Line", Texts.HEAD),
            sheet.text("Service, colour of its tube", Texts.HEAD),
            sheet.text("Kind", Texts.HEAD),
            sheet.text("Dilution, water : concentrate", Texts.HEAD_NUMBER),
            sheet.text("Tube in all", Texts.HEAD_NUMBER),
            sheet.text("Drops", Texts.HEAD_NUMBER),
        ]
    ]
    services = [(p.id, classes_text(p), dilution_text(p.dilution, sheet.figures)) for p in design.products]
    if drops[AIR] or AIR in lengths:
        services.append((AIR, "", ""))
    for service, kind, dilution in services:
        length = sheet.figures.length(lengths[service], 1) if service in lengths else "no line"
        rows.append(
            [
                LineSample(styles[service]),
                sheet.text(f"{sheet.services[service]}, {styles[service].name}", Texts.CELL_STRONG),
                sheet.text(kind, Texts.CELL),
                sheet.text(dilution, Texts.NUMBER),
                sheet.text(length, Texts.NUMBER),
                sheet.text(str(drops[service]), Texts.NUMBER),
            ]
        )
    if not services:
        return []
    width = sheet.page.text_width
    widths = [58.0, 0.0, width * 0.28, 78.0, 56.0, 38.0]
    widths[1] = width - sum(widths)
    return [*headed(sheet, "Products and key", "products", 1), ruled_table(rows, widths)]


_CAPTION = (
    "A numbered disc in a bay is a service at that bay side: filled where it is new, open where it stays. The "
    "thick bar is what the drops hang on, the pale band the way that the tubes share. Lines that share a way are "
    "drawn side by side; the picture shows where they run, not their place in the bundle. Tube in all counts "
    "rises, falls and the allowance for bends and cuts; the air line feeds the foam guns too."
)


def _told(sheet: Sheet) -> str:
    """What the picture shows, for whoever cannot see it."""
    design, count = sheet.study.job.design, sheet.figures.count
    return (
        f"Floor plan to scale: {count(len(design.bays), 'bay')}, {count(len(design.drops), 'drop')}, the plant board "
        "and the lines between them. Products, lines and drops are told in the table after it; where each drop hangs, "
        "in the scope of the work."
    )


def _story(sheet: Sheet) -> list[Flowable]:
    study = sheet.study
    if not study.layout.stations:
        return _products(sheet)
    picture = plan_picture(
        study.job.site,
        study.job.design,
        study.layout,
        sheet.figures,
        sheet.page.text_width,
        sheet.page.text_height * 0.56,
    )
    return [
        fresh_page(sheet),
        Heading(sheet, "Floor plan", "picture"),
        PictureOnPage(picture, sheet.texts.locale, _told(sheet)),
        sheet.text(_CAPTION, Texts.SMALL),
        *_products(sheet),
    ]


PICTURE = Chapter("picture", "Floor plan", _story)
