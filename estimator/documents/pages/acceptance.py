"""The one place where the customer chooses, sees the total and the payments that follow, and signs."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Final

from reportlab.platypus import CondPageBreak, Flowable, Table, TableStyle

from estimator.acts.signable import not_signable
from estimator.documents.choices import TO_BE_CONFIRMED, OrderChoice, choices_of
from estimator.documents.draw import TickBox
from estimator.documents.pages.open_points import above_signature
from estimator.documents.paper import Chapter
from estimator.documents.sheet import Heading, Sheet, ruled_table, together
from estimator.documents.style import INK, Texts

__all__ = ["ACCEPTANCE"]

_Cell = Flowable | str | list[Flowable]
_LINES: Final = ("Name", "Position", "Signature", "Date")
_COLUMNS: Final = 4
"""Options whose payments stand side by side in one table."""


def _until(sheet: Sheet) -> str:
    last = sheet.figures.day(sheet.valid_until)
    if sheet.expired:
        return f"This quote expired on {last}; it can be accepted again once a new revision is issued."
    return f"This quote can be accepted until {last}."


def _sentence(sheet: Sheet, choices: Sequence[OrderChoice]) -> str:
    total = sheet.figures.money(choices[0].total)
    what = (
        f"for the total of the option ticked here; without a tick, for the base option at {total}"
        if len(choices) > 1
        else f"for a total of {total}"
    )
    draft = (
        "This is a draft: it can be accepted once it is issued as a revision. " if sheet.mark.is_draft else ""
    )
    return (
        f"{draft}The customer orders the work of {sheet.reference[0].lower()}{sheet.reference[1:]}, dated "
        f"{sheet.figures.day(sheet.dated)}, {what}. {_until(sheet)}"
    )


def _ticks(sheet: Sheet, choices: Sequence[OrderChoice]) -> list[Flowable]:
    if len(choices) < 2:
        return []
    rows: list[list[_Cell]] = [
        [
            sheet.text("Tick one", Texts.HEAD),
            sheet.text("Option", Texts.HEAD),
            sheet.text("Total to pay", Texts.HEAD_NUMBER),
        ]
    ]
    rows += [
        [
            TickBox(),
            sheet.text(choice.name, Texts.CELL_STRONG),
            sheet.text(
                sheet.figures.money(choice.total) if choice.complete else TO_BE_CONFIRMED, Texts.NUMBER_STRONG
            ),
        ]
        for choice in choices
    ]
    widths = [sheet.page.text_width * share for share in (0.12, 0.62, 0.26)]
    return [ruled_table(rows, widths, [("VALIGN", (0, 1), (-1, -1), "MIDDLE")])]


def _payments(sheet: Sheet, choices: Sequence[OrderChoice]) -> list[Flowable]:
    """When what is paid: a column for each total, so many in one table as there is room for."""
    story: list[Flowable] = []
    for first in range(0, len(choices), _COLUMNS):
        some = choices[first : first + _COLUMNS]
        if any(choice.stages for choice in some):
            story.append(_payment_table(sheet, some))
    return [Heading(sheet, "Payments", "acceptance-payments", 1), *story] if story else []


def _payment_table(sheet: Sheet, choices: Sequence[OrderChoice]) -> Table:
    figures = sheet.figures
    stages = next(choice.stages for choice in choices if choice.stages)

    def amount(choice: OrderChoice, number: int | None) -> str:
        if not choice.complete or not choice.stages:
            return TO_BE_CONFIRMED
        if number is None:
            return figures.money(sum((stage.amount for stage in choice.stages), Decimal(0)))
        return figures.money(choice.stages[number].amount)

    rows: list[list[_Cell]] = [
        [
            sheet.text("Payment", Texts.HEAD),
            sheet.text("Share", Texts.HEAD_NUMBER),
            *(sheet.text(choice.name, Texts.HEAD_NUMBER) for choice in choices),
        ]
    ]
    for number, stage in enumerate(stages):
        share = "the rest" if stage.percent is None else figures.percent(stage.percent)
        rows.append(
            [
                sheet.text(stage.name, Texts.CELL),
                sheet.text(share, Texts.NUMBER),
                *(sheet.text(amount(choice, number), Texts.NUMBER) for choice in choices),
            ]
        )
    rows.append(
        [
            sheet.text("All payments", Texts.CELL_STRONG),
            "",
            *(sheet.text(amount(choice, None), Texts.NUMBER_STRONG) for choice in choices),
        ]
    )
    width = sheet.page.text_width
    columns = [width * 0.17] * len(choices)
    name = min(width * 0.36, width * 0.88 - sum(columns))
    return ruled_table(rows, [name, width * 0.12, *columns], [("LINEABOVE", (0, -1), (-1, -1), 0.8, INK)])


def _party(sheet: Sheet, role: str, name: str) -> list[Flowable]:
    return [sheet.text(role, Texts.LABEL), sheet.text(name, Texts.CELL_STRONG)]


def _signatures(sheet: Sheet) -> Table:
    job = sheet.study.job
    width = sheet.page.text_width
    gap, tag = 24.0, 54.0
    line = (width - gap) / 2 - tag
    heads: list[_Cell] = [
        _party(sheet, "For the customer", job.customer.name.strip()),
        "",
        "",
        _party(sheet, "For the company", job.company.name.strip()),
        "",
    ]
    labels = [sheet.text(name, Texts.LABEL) for name in _LINES]
    rows: list[list[_Cell]] = [heads]
    rows.extend([label, "", "", label, ""] for label in labels)
    return Table(
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


def _story(sheet: Sheet) -> list[Flowable]:
    heading = Heading(sheet, "Acceptance", "acceptance")
    choices = choices_of(sheet)
    block = [*_ticks(sheet, choices), *_payments(sheet, choices)]
    if lacking := not_signable(sheet.study):
        return [
            *above_signature(sheet),
            CondPageBreak(120.0),
            heading,
            sheet.text("This draft cannot be signed as it is:", Texts.BODY),
            *(sheet.texts.paragraph(sentence, Texts.ITEM, "–") for sentence in lacking),
            *block,
        ]
    # What is chosen, what follows from it and the names below it stand on one page where one holds them.
    return [
        *above_signature(sheet),
        CondPageBreak(260.0),
        together(
            sheet, [heading, sheet.text(_sentence(sheet, choices), Texts.BODY), *block, _signatures(sheet)]
        ),
    ]


ACCEPTANCE = Chapter("acceptance", "Acceptance", _story)
