"""Where both sides sign."""

from __future__ import annotations

from reportlab.platypus import CondPageBreak, Flowable, Table, TableStyle

from estimator.documents.sheet import Chapter, Heading, Sheet
from estimator.documents.style import INK, Texts

__all__ = ["ACCEPTANCE"]

_LINES = ("Name", "Position", "Signature", "Date")


def _story(sheet: Sheet) -> list[Flowable]:
    job = sheet.study.job
    total = sheet.figures.money(sheet.study.price.totals.total.likely)
    sentence = (
        f"The customer orders the work of {sheet.reference[0].lower()}{sheet.reference[1:]}, dated "
        f"{sheet.figures.day(sheet.dated)}, for a total of {total}. This quote can be accepted until "
        f"{sheet.figures.day(sheet.valid_until)}."
    )
    width = sheet.paper.text_width
    gap, label = 24.0, 54.0
    line = (width - gap) / 2 - label
    heads: list[Flowable | str | list[Flowable]] = [
        [sheet.text("For the customer", Texts.LABEL), sheet.text(job.customer.name.strip() or "Customer", Texts.CELL_STRONG)],
        "",
        "",
        [sheet.text("For the company", Texts.LABEL), sheet.text(job.company.name.strip() or "Company", Texts.CELL_STRONG)],
        "",
    ]  # fmt: skip
    rows: list[list[Flowable | str | list[Flowable]]] = [heads]
    for name in _LINES:
        rows.append([sheet.text(name, Texts.LABEL), "", "", sheet.text(name, Texts.LABEL), ""])
    table = Table(
        rows,
        colWidths=[label, line, gap, label, line],
        rowHeights=[None, *[26.0 if name != "Signature" else 40.0 for name in _LINES]],
        style=TableStyle(
            [
                ("SPAN", (0, 0), (1, 0)),
                ("SPAN", (3, 0), (4, 0)),
                ("VALIGN", (0, 0), (-1, 0), "TOP"),
                ("VALIGN", (0, 1), (-1, -1), "BOTTOM"),
                ("LINEBELOW", (1, 1), (1, -1), 0.6, INK),
                ("LINEBELOW", (4, 1), (4, -1), 0.6, INK),
                ("LEFTPADDING", (0, 0), (-1, -1), 0),
                ("RIGHTPADDING", (0, 0), (-1, -1), 0),
                ("BOTTOMPADDING", (0, 1), (-1, -1), 2),
            ]
        ),
        spaceBefore=6,
    )
    return [
        CondPageBreak(260.0),
        Heading(sheet, "Acceptance", "acceptance"),
        sheet.text(sentence, Texts.BODY),
        table,
    ]


ACCEPTANCE = Chapter("acceptance", "Acceptance", _story)
