"""The floor to scale with its key in text."""

from __future__ import annotations

from reportlab.platypus import Flowable, KeepTogether, PageBreak

from estimator.documents.draw import LineSample, PictureOnPage
from estimator.documents.plan_picture import plan_picture, service_styles
from estimator.documents.scope_words import dilution_text, product_name
from estimator.documents.sheet import Chapter, Heading, Sheet, ruled_table
from estimator.documents.style import Texts
from estimator.model.design import AIR

__all__ = ["PICTURE"]


def _key(sheet: Sheet) -> list[Flowable]:
    study = sheet.study
    design = study.job.design
    styles = service_styles(design)
    ratio = {p.id: dilution_text(p.dilution, sheet.figures) for p in design.products}
    rows: list[list[Flowable | str]] = [
        [
            sheet.text("Line", Texts.HEAD),
            sheet.text("Service", Texts.HEAD),
            sheet.text("Dilution", Texts.HEAD_NUMBER),
            sheet.text("Tube in all", Texts.HEAD_NUMBER),
            sheet.text("Bay sides", Texts.HEAD_NUMBER),
        ]
    ]
    drops = {d.id: d for d in design.drops}
    for line in study.layout.lines:
        stations = sum(1 for s in study.layout.stations if any(drops[d].service == line.id for d in s.drops))
        rows.append(
            [
                LineSample(styles[line.id]),
                sheet.text(product_name(design, line.id), Texts.CELL),
                sheet.text("" if line.id == AIR else ratio.get(line.id, ""), Texts.NUMBER),
                sheet.text(sheet.figures.length(line.length_m, 1), Texts.NUMBER),
                sheet.text(str(stations), Texts.NUMBER),
            ]
        )
    width = sheet.paper.text_width
    return [
        Heading(sheet, "Key", "picture-key", 1),
        ruled_table(rows, [62.0, width - 62.0 - 3 * 72.0, 72.0, 72.0, 72.0]),
        sheet.text(
            "A numbered disc at a bay side is a service there: filled where it is new, open where it stays. The "
            "thick bar is what the drops hang on. Lines that share a way are drawn side by side; the picture "
            "shows where they run, not their exact place on the rail. Tube in all holds rises, drops down to the "
            "bay sides, and allowance; the air line also feeds the foam guns.",
            Texts.SMALL,
        ),
    ]


def _story(sheet: Sheet) -> list[Flowable]:
    study = sheet.study
    if not study.layout.stations:
        return []
    picture = plan_picture(
        study.job.site,
        study.job.design,
        study.layout,
        sheet.figures,
        sheet.paper.text_width,
        sheet.paper.text_height * 0.62,
    )
    return [
        PageBreak(),
        KeepTogether(
            [
                Heading(sheet, "Floor plan", "picture"),
                PictureOnPage(picture, sheet.texts.locale),
            ]
        ),
        *_key(sheet),
    ]


PICTURE = Chapter("picture", "Floor plan", _story)
