"""Items by section with their prices, and the totals. Only what a customer pays stands here."""

from __future__ import annotations

from typing import Any

from reportlab.platypus import Flowable, KeepTogether

from estimator.documents.pages.cover import warnings
from estimator.documents.sheet import Chapter, Heading, Sheet, headed, ruled_table
from estimator.documents.style import INK, PALE, Texts
from estimator.pricing.types import PricedRow, SectionTotal
from estimator.takeoff.types import Section

__all__ = ["ITEMS"]

_SHARES = (0.47, 0.10, 0.09, 0.16, 0.18)
_OPEN = "to be confirmed"


def _described(row: PricedRow) -> str:
    detail = row.takeoff.detail.strip()
    return f"{row.description}: {detail}" if detail else row.description


def _row(sheet: Sheet, row: PricedRow) -> list[Flowable | str]:
    quantity, unit = sheet.figures.quantity(row.takeoff.quantity, row.unit)
    return [
        sheet.text(_described(row), Texts.CELL),
        sheet.text(quantity, Texts.NUMBER),
        sheet.text(unit, Texts.CELL),
        sheet.text(sheet.figures.unit_price(row.unit_price, row.unit), Texts.NUMBER_QUIET)
        if row.known
        else "",
        sheet.text(sheet.figures.money(row.price.likely), Texts.NUMBER)
        if row.known
        else sheet.text(_OPEN, Texts.NUMBER_STRONG),
    ]


def _section(sheet: Sheet, total: SectionTotal) -> list[Flowable]:
    bought = [r for r in sheet.study.price.rows_of(total.section) if r.takeoff.quantity > 0]
    if not bought:
        return []
    rows: list[list[Flowable | str]] = [
        [
            Heading(sheet, total.section.value, f"items-{total.section.name.lower()}", 1, Texts.HEAD),
            sheet.text("Quantity", Texts.HEAD_NUMBER),
            sheet.text("Unit", Texts.HEAD),
            sheet.text("Unit price", Texts.HEAD_NUMBER),
            sheet.text("Price", Texts.HEAD_NUMBER),
        ]
    ]
    rows += [_row(sheet, row) for row in bought]
    rows.append(
        [
            sheet.text(f"{total.section.value}, subtotal", Texts.CELL_STRONG),
            "",
            "",
            "",
            sheet.text(sheet.figures.money(total.price.likely), Texts.NUMBER_STRONG),
        ]
    )
    extra: list[tuple[Any, ...]] = [
        ("LINEABOVE", (0, -1), (-1, -1), 0.8, INK),
        ("SPAN", (0, -1), (-2, -1)),
        # No subtotal, and no last row alone, at the head of a page.
        ("NOSPLIT", (0, -min(3, len(rows) - 1)), (-1, -1)),
    ]
    return [ruled_table(rows, [sheet.paper.text_width * share for share in _SHARES], extra)]


def _staying(sheet: Sheet) -> list[Flowable]:
    # Work done once in the past is no part that hangs there.
    kept = [
        r
        for r in sheet.study.price.rows
        if r.takeoff.existing > 0 and r.takeoff.section is not Section.SERVICE
    ]
    if not kept:
        return []
    rows: list[list[Flowable | str]] = [
        [
            sheet.text("Part", Texts.HEAD),
            sheet.text("Quantity", Texts.HEAD_NUMBER),
            sheet.text("Unit", Texts.HEAD),
            sheet.text("Price", Texts.HEAD_NUMBER),
        ]
    ]
    for row in kept:
        quantity, unit = sheet.figures.quantity(row.takeoff.existing, row.unit)
        rows.append(
            [
                sheet.text(_described(row), Texts.CELL_SMALL),
                sheet.text(quantity, Texts.NUMBER_SMALL),
                sheet.text(unit, Texts.CELL_SMALL),
                sheet.text("stays", Texts.NUMBER_SMALL_QUIET),
            ]
        )
    tight = [("TOPPADDING", (0, 1), (-1, -1), 1.5), ("BOTTOMPADDING", (0, 1), (-1, -1), 1.5)]
    width = sheet.paper.text_width
    return [
        *headed(sheet, "Existing parts that stay, not charged", "items-existing", 1),
        ruled_table(rows, [width * share for share in (0.60, 0.12, 0.12, 0.16)], tight),
    ]


def _totals(sheet: Sheet) -> Flowable:
    terms, totals, figures = sheet.study.job.terms, sheet.study.price.totals, sheet.figures
    lines = [("Sum of items", figures.money(totals.rows.likely))]
    if terms.contingency_percent:
        lines.append(
            (
                f"Allowance for the unforeseen ({figures.percent(terms.contingency_percent)})",
                figures.money(totals.contingency.likely),
            )
        )
    if terms.discount_percent:
        lines.append(("Subtotal", figures.money(totals.subtotal.likely)))
        lines.append(
            (
                f"Discount ({figures.percent(terms.discount_percent)})",
                figures.money(-totals.discount.likely),
            )
        )
    lines.append(("Net amount", figures.money(totals.net.likely)))
    tax = terms.tax_name.strip() or "Tax"
    taxable = figures.money(totals.taxable.likely)
    lines.append(
        (
            f"{tax} ({figures.percent(terms.tax_percent)} on {taxable})",
            figures.money(totals.tax.likely),
        )
    )
    rows: list[list[Flowable | str]] = [
        [sheet.text(name, Texts.CELL), sheet.text(amount, Texts.NUMBER)] for name, amount in lines
    ]
    rows.append(
        [
            sheet.text("Total to pay", Texts.SUBTITLE),
            sheet.text(figures.money(totals.total.likely), Texts.BIG_NUMBER),
        ]
    )
    width = sheet.paper.text_width
    table = ruled_table(
        rows,
        [width * 0.42, width * 0.26],
        [
            ("BACKGROUND", (0, -1), (-1, -1), PALE),
            ("LINEABOVE", (0, -1), (-1, -1), 1.2, INK),
            ("VALIGN", (0, -1), (-1, -1), "MIDDLE"),
            ("BOTTOMPADDING", (0, -1), (-1, -1), 6),
        ],
        heads=0,
    )
    table.hAlign = "RIGHT"
    return table


def _story(sheet: Sheet) -> list[Flowable]:
    story: list[Flowable] = [*headed(sheet, "Items and prices", "items", room=260.0), *warnings(sheet)]
    by_section = {total.section: total for total in sheet.study.price.sections}
    for section in Section:
        if section in by_section:
            story += _section(sheet, by_section[section])
    story.append(
        sheet.text(
            f"All amounts are in {sheet.figures.currency}. Items are supplied and installed. Unit prices are "
            "rounded for reading; the price of the row counts.",
            Texts.SMALL,
        )
    )
    story.append(KeepTogether([Heading(sheet, "Totals", "items-totals", 1), _totals(sheet)]))
    return [*story, *_staying(sheet)]


ITEMS = Chapter("items", "Items and prices", _story)
