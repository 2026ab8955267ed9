"""Items by section with their prices, and the totals. Only what a customer pays stands here."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, Final

from reportlab.platypus import Flowable

from estimator.documents.choices import TO_BE_CONFIRMED
from estimator.documents.pages.cover import warnings
from estimator.documents.paper import Chapter
from estimator.documents.sheet import Heading, Sheet, headed, ruled_table, together
from estimator.documents.style import INK, PALE, Texts
from estimator.model.called import service_names
from estimator.model.choices import ContingencyBasis, PriceBasis
from estimator.model.presentation import TotalsBy
from estimator.pricing.presented import SHARED, folded, totals_of
from estimator.pricing.types import Price, PricedRow, SectionTotal
from estimator.takeoff.types import Section
from estimator.takeoff.words import row_words

__all__ = ["ITEMS"]

_SHARES: Final = (0.47, 0.10, 0.09, 0.16, 0.18)


def _shown(sheet: Sheet) -> Price:
    """The price as this quote shows it."""
    price = sheet.study.price
    return folded(price) if sheet.study.job.presentation.fold_allowance else price


def _described(sheet: Sheet, row: PricedRow) -> str:
    detail = row_words(sheet.study.job).detail(row.takeoff)
    return f"{row.description}: {detail}" if detail else row.description


def _columns(sheet: Sheet, *cells: Flowable | str) -> list[Flowable | str]:
    """Cells of a row without that of the unit price where none is shown."""
    return list(cells) if sheet.study.job.presentation.unit_prices else [*cells[:3], *cells[4:]]


def _widths(sheet: Sheet) -> list[float]:
    name, *others = _SHARES
    if not sheet.study.job.presentation.unit_prices:
        name, others = name + others[2], [*others[:2], others[3]]
    return [sheet.page.text_width * share for share in (name, *others)]


def _row(sheet: Sheet, row: PricedRow) -> list[Flowable | str]:
    quantity, unit = sheet.figures.quantity(row.takeoff.quantity, row.unit)
    return _columns(
        sheet,
        sheet.text(_described(sheet, row), Texts.CELL),
        sheet.text(quantity, Texts.NUMBER),
        sheet.text(unit, Texts.CELL),
        sheet.text(
            sheet.figures.unit_price(row.price.likely, row.takeoff.quantity, row.unit), Texts.NUMBER_QUIET
        )
        if row.known
        else "",
        sheet.text(sheet.figures.money(row.price.likely), Texts.NUMBER)
        if row.known
        else sheet.text(TO_BE_CONFIRMED, Texts.NUMBER_STRONG),
    )


def _section(sheet: Sheet, price: Price, total: SectionTotal) -> list[Flowable]:
    bought = [r for r in price.rows_of(total.section) if r.takeoff.quantity > 0]
    if not bought:
        return []
    rows: list[list[Flowable | str]] = [
        _columns(
            sheet,
            Heading(sheet, total.section.value, f"items-{total.section.name.lower()}", 1, Texts.HEAD),
            sheet.text("Quantity", Texts.HEAD_NUMBER),
            sheet.text("Unit", Texts.HEAD),
            sheet.text("Unit price", Texts.HEAD_NUMBER),
            sheet.text("Price", Texts.HEAD_NUMBER),
        )
    ]
    rows += [_row(sheet, row) for row in bought]
    if _is_taxed(sheet):
        taxed = sum((row.taxable_price.likely for row in bought), Decimal(0))
        quiet = sheet.text(sheet.figures.money(taxed), Texts.NUMBER_QUIET)
        rows.append(_columns(sheet, sheet.text("Taxable part of these", Texts.CELL_SMALL), "", "", "", quiet))
    # No subtotal, and no last row alone, at the head of a page.
    extra: list[tuple[Any, ...]] = []
    if sheet.study.job.presentation.totals_by is TotalsBy.SECTION:
        rows.append(
            _columns(
                sheet,
                sheet.text(f"{total.section.value}, subtotal", Texts.CELL_STRONG),
                "",
                "",
                "",
                sheet.text(sheet.figures.money(total.price.likely), Texts.NUMBER_STRONG),
            )
        )
        extra += [("LINEABOVE", (0, -1), (-1, -1), 0.8, INK), ("SPAN", (0, -1), (-2, -1))]
    extra.append(("NOSPLIT", (0, -min(3, len(rows) - 1)), (-1, -1)))
    return [ruled_table(rows, _widths(sheet), extra)]


def _by_group(sheet: Sheet, price: Price) -> list[Flowable]:
    """The sum of the items by bay side or by product; by section the subtotals tell it."""
    study, by = sheet.study, sheet.study.job.presentation.totals_by
    if by is TotalsBy.SECTION or not price.rows:
        return []
    sides = {s.id: sheet.say.names.station(s.bay, s.side.value) for s in study.layout.stations}
    names = sides if by is TotalsBy.SIDE else service_names(study.job.design)
    rows: list[list[Flowable | str]] = [
        [sheet.text(by.label, Texts.HEAD), sheet.text("Price", Texts.HEAD_NUMBER)]
    ]
    rows += [
        [
            sheet.text(
                "Shared by all" if total.key == SHARED else names.get(total.key, total.key), Texts.CELL
            ),
            sheet.text(sheet.figures.money(total.price), Texts.NUMBER),
        ]
        for total in totals_of(price, by, study.job.design, study.layout)
    ]
    rows.append(
        [
            sheet.text("All items", Texts.CELL_STRONG),
            sheet.text(sheet.figures.money(price.totals.rows.likely), Texts.NUMBER_STRONG),
        ]
    )
    width = sheet.page.text_width
    extra = [("LINEABOVE", (0, -1), (-1, -1), 0.8, INK)]
    return [
        *headed(sheet, f"Items by {by.label[0].lower()}{by.label[1:]}", "items-by", 1),
        ruled_table(rows, [width * 0.82, width * 0.18], extra),
    ]


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
                sheet.text(_described(sheet, row), Texts.CELL_SMALL),
                sheet.text(quantity, Texts.NUMBER_SMALL),
                sheet.text(unit, Texts.CELL_SMALL),
                sheet.text("stays", Texts.NUMBER_SMALL_QUIET),
            ]
        )
    tight = [("TOPPADDING", (0, 1), (-1, -1), 1.5), ("BOTTOMPADDING", (0, 1), (-1, -1), 1.5)]
    width = sheet.page.text_width
    return [
        *headed(sheet, "Existing parts that stay, not charged", "items-existing", 1),
        ruled_table(rows, [width * share for share in (0.60, 0.12, 0.12, 0.16)], tight),
    ]


def _allowance(sheet: Sheet, price: Price) -> list[tuple[str, str]]:
    """The contingency under a name that says what it is; there is none where nothing is added or it is in the rows."""
    terms, amount = sheet.study.job.terms, price.totals.contingency.likely
    if not amount and sheet.study.job.presentation.fold_allowance:
        return []
    name = "Allowance for the unforeseen"
    if terms.contingency_basis is ContingencyBasis.CONFIDENCE:
        words = f"{name} (to {sheet.figures.percent(terms.contingency_confidence)} confidence)"
    elif sheet.study.price.basis.kind is PriceBasis.TYPED:
        # The price was typed for rows and allowance together; the percent is that of neither.
        words = name
    else:
        words = f"{name} ({sheet.figures.percent(terms.contingency_percent)})"
    asked = terms.contingency_basis is ContingencyBasis.PERCENT and terms.contingency_percent
    return [(words, sheet.figures.money(amount))] if amount or asked else []


def _is_taxed(sheet: Sheet) -> bool:
    return any(line.percent for line in sheet.study.price.taxes)


def _taxable_row(sheet: Sheet, price: Price) -> list[tuple[str, str]]:
    """What the taxable amount is made of; its first part is the sum of the sections' taxable parts."""
    totals, figures = price.totals, sheet.figures
    if not _is_taxed(sheet):
        return []
    parts = [f"{figures.money(totals.taxed_rows.likely)} of the items"]
    if totals.taxed_contingency.likely:
        parts.append(f"{figures.money(totals.taxed_contingency.likely)} of the allowance")
    if totals.taxed_discount.likely:
        parts.append(f"less {figures.money(totals.taxed_discount.likely)} of the discount")
    return [(f"Taxable of it: {', '.join(parts)}", figures.money(totals.taxable.likely))]


def _tax_rows(sheet: Sheet) -> list[tuple[str, str]]:
    figures = sheet.figures
    # A rate of nothing on nothing is not worth a row, unless it is the only one.
    taxes = [line for line in sheet.study.price.taxes if line.taxable.likely or line.tax.likely]
    return [
        (
            f"{line.name} ({figures.percent(line.percent)} on {figures.money(line.taxable.likely)})",
            figures.money(line.tax.likely),
        )
        for line in taxes or sheet.study.price.taxes[:1]
    ]


def _totals(sheet: Sheet, price: Price) -> Flowable:
    terms, totals, figures = sheet.study.job.terms, price.totals, sheet.figures
    lines = [("Sum of items", figures.money(totals.rows.likely)), *_allowance(sheet, price)]
    if terms.discount_percent:
        lines.append(("Subtotal", figures.money(totals.subtotal.likely)))
        lines.append(
            (
                f"Discount ({figures.percent(terms.discount_percent)})",
                figures.money(-totals.discount.likely),
            )
        )
    lines += [
        ("Net amount", figures.money(totals.net.likely)),
        *_taxable_row(sheet, price),
        *_tax_rows(sheet),
    ]
    if totals.rounding.likely:
        lines.append(
            (f"Rounding to {figures.money(terms.round_to)}", figures.change(totals.rounding.likely)),
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
    width = sheet.page.text_width
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
    price = _shown(sheet)
    by_section = {total.section: total for total in price.sections}
    for section in Section:
        if section in by_section:
            story += _section(sheet, price, by_section[section])
    note = f"All amounts are in {sheet.figures.currency}. Items are supplied and installed."
    if sheet.study.job.presentation.unit_prices:
        note += " A unit price has the digits that make the price of its row."
    story.append(sheet.text(note, Texts.SMALL))
    story += _by_group(sheet, price)
    story.append(together(sheet, [Heading(sheet, "Totals", "items-totals", 1), _totals(sheet, price)]))
    return [*story, *_staying(sheet)]


ITEMS = Chapter("items", "Items and prices", _story)
