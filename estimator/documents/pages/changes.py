"""The letter that goes with a later revision: what changed since the one before and what it does to the price."""

from __future__ import annotations

from typing import Any, Final

from reportlab.platypus import Flowable, PageBreak

from estimator.documents.enclosed import Revised
from estimator.documents.paper import Chapter
from estimator.documents.sheet import Heading, Sheet, fresh_page, headed, ruled_table
from estimator.documents.style import INK, PALE, Texts
from estimator.pricing.compare import RowChange

__all__ = ["CHANGES"]

_SUMS: Final = {
    "Contingency": "Allowance for the unforeseen",
    "Rounding": "Rounding of the total",
}
_SHARES: Final = (0.40, 0.18, 0.14, 0.14, 0.14)


def _letter(sheet: Sheet, revised: Revised) -> list[Flowable]:
    job, figures, changes = sheet.study.job, sheet.figures, revised.changes
    price = changes.price
    greeted = job.customer.contact.strip() or job.customer.name.strip() or "customer"
    if price.difference > 0:
        moved = f"The total to pay rises by {figures.money(price.difference)}"
    elif price.difference < 0:
        moved = f"The total to pay falls by {figures.money(-price.difference)}"
    else:
        moved = ""
    sums = (
        f"{moved}, from {figures.money(price.before)} to {figures.money(price.after)}."
        if moved
        else f"The total to pay stays at {figures.money(price.after)}."
    )
    takes = "This draft would take" if sheet.mark.is_draft else f"{sheet.reference} takes"
    paragraphs = [
        f"Dear {greeted},",
        f"{takes} the place of revision {changes.letter} of {figures.day(revised.dated)}. {sums}",
    ]
    paragraphs += [
        f"Revision {letter} was withdrawn on {figures.day(day)}." for letter, day in revised.withdrawn
    ]
    if reason := revised.reason.strip():
        paragraphs.append(f"Reason: {reason}")
    until = (
        "It is not issued and cannot be accepted."
        if sheet.mark.is_draft
        else f"It can be accepted until {figures.day(sheet.valid_until)}."
    )
    paragraphs.append(
        f"{until} Below is everything that is not as it was in revision {changes.letter}; what is not listed has "
        "not changed."
    )
    paragraphs.append(job.company.contact.strip() or job.company.name.strip())
    return [sheet.text(text, Texts.BODY) for text in paragraphs if text]


def _quantities(sheet: Sheet, row: RowChange) -> str:
    old, unit = sheet.figures.quantity(float(row.quantity_before), row.unit)
    new, _ = sheet.figures.quantity(float(row.quantity_after), row.unit)
    return f"{new} {unit}" if old == new else f"{old} → {new} {unit}"


def _prices(sheet: Sheet, revised: Revised) -> list[Flowable]:
    price, figures = revised.changes.price, sheet.figures
    rows: list[list[Flowable | str]] = [
        [
            sheet.text("Item", Texts.HEAD),
            *(sheet.text(word, Texts.HEAD_NUMBER) for word in ("Quantity", "Before", "Now", "Change")),
        ]
    ]
    for row in price.alone:
        name = f"{row.description}: {row.detail}" if row.detail else row.description
        rows.append(
            [
                sheet.text(name, Texts.CELL_SMALL),
                sheet.text(_quantities(sheet, row), Texts.NUMBER_SMALL),
                sheet.text(figures.money(row.price_before), Texts.NUMBER_SMALL_QUIET),
                sheet.text(figures.money(row.price_after), Texts.NUMBER_SMALL),
                sheet.text(figures.change(row.difference), Texts.NUMBER_SMALL),
            ]
        )
    if (folded := price.repriced) is not None:
        rows.append(
            [
                sheet.text(folded.words, Texts.CELL_SMALL),
                "",
                sheet.text(figures.money(folded.before), Texts.NUMBER_SMALL_QUIET),
                sheet.text(figures.money(folded.after), Texts.NUMBER_SMALL),
                sheet.text(figures.change(folded.difference), Texts.NUMBER_SMALL),
            ]
        )
    rows += [
        [
            sheet.text(_SUMS.get(amount.name, amount.name), Texts.CELL_SMALL),
            "",
            sheet.text(figures.money(amount.before), Texts.NUMBER_SMALL_QUIET),
            sheet.text(figures.money(amount.after), Texts.NUMBER_SMALL),
            sheet.text(figures.change(amount.difference), Texts.NUMBER_SMALL),
        ]
        for amount in price.sums
    ]
    rows.append(
        [
            sheet.text("Total to pay", Texts.CELL_STRONG),
            "",
            sheet.text(figures.money(price.before), Texts.NUMBER_QUIET),
            sheet.text(figures.money(price.after), Texts.NUMBER_STRONG),
            sheet.text(figures.change(price.difference), Texts.NUMBER_STRONG),
        ]
    )
    extra: list[tuple[Any, ...]] = [
        ("LINEABOVE", (0, -1), (-1, -1), 1.0, INK),
        ("BACKGROUND", (0, -1), (-1, -1), PALE),
        ("NOSPLIT", (0, -min(3, len(rows) - 1)), (-1, -1)),
    ]
    return [
        *headed(sheet, "What it does to the price", "changes-price", 1),
        ruled_table(rows, [sheet.page.text_width * share for share in _SHARES], extra),
    ]


def _story(sheet: Sheet) -> list[Flowable]:
    revised = sheet.enclosed.revised
    if revised is None:
        return []
    story: list[Flowable] = [
        fresh_page(sheet),
        Heading(sheet, f"Changes since revision {revised.changes.letter}", "changes"),
        *_letter(sheet, revised),
        *headed(sheet, "What was changed", "changes-list", 1),
    ]
    words = revised.words or ("Nothing was changed.",)
    story += [sheet.texts.paragraph(line, Texts.ITEM, "–") for line in words]
    if revised.changes.price.rows or revised.changes.price.sums:
        story += _prices(sheet, revised)
    # The letter stands alone, so that it can be handed over by itself.
    return [*story, PageBreak()]


CHANGES = Chapter("changes", "Changes since revision", _story)
