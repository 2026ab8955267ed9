"""Where both sides sign, below what is still open."""

from __future__ import annotations

from reportlab.platypus import CondPageBreak, Flowable, Table, TableStyle

from estimator.documents.pages.open_points import above_signature
from estimator.documents.paper import Chapter
from estimator.documents.sheet import Heading, Sheet
from estimator.documents.style import INK, Texts

__all__ = ["ACCEPTANCE"]

_Cell = Flowable | str | list[Flowable]
_LINES = ("Name", "Position", "Signature", "Date")


def _party(sheet: Sheet, role: str, name: str) -> list[Flowable]:
    return [sheet.text(role, Texts.LABEL), sheet.text(name, Texts.CELL_STRONG)]


def _story(sheet: Sheet) -> list[Flowable]:
    job = sheet.study.job
    total = sheet.figures.money(sheet.study.price.totals.total.likely)
    what = (
        f"for the total of the option ticked under “Options”; without a tick, for the base option at {total}"
        if sheet.enclosed.offers
        else f"for a total of {total}"
    )
    last = sheet.figures.day(sheet.valid_until)
    until = (
        f"This quote expired on {last}; it can be accepted again once a new revision is issued."
        if sheet.expired
        else f"This quote can be accepted until {last}."
    )
    draft = (
        "This is a draft: it can be accepted once it is issued as a revision. " if sheet.mark.is_draft else ""
    )
    sentence = (
        f"{draft}"
        f"The customer orders the work of {sheet.reference[0].lower()}{sheet.reference[1:]}, dated "
        f"{sheet.figures.day(sheet.dated)}, {what}. {until}"
    )
    width = sheet.page.text_width
    gap, tag = 24.0, 54.0
    line = (width - gap) / 2 - tag
    heads: list[_Cell] = [
        _party(sheet, "For the customer", job.customer.name.strip() or "Customer"),
        "",
        "",
        _party(sheet, "For the company", job.company.name.strip() or "Company"),
        "",
    ]
    labels = [sheet.text(name, Texts.LABEL) for name in _LINES]
    rows: list[list[_Cell]] = [heads]
    rows.extend([label, "", "", label, ""] for label in labels)
    table = Table(
        rows,
        colWidths=[tag, line, gap, tag, line],
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
        *above_signature(sheet),
        CondPageBreak(260.0),
        Heading(sheet, "Acceptance", "acceptance"),
        sheet.text(sentence, Texts.BODY),
        table,
    ]


ACCEPTANCE = Chapter("acceptance", "Acceptance", _story)
