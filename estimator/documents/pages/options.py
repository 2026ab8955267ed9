"""Priced options: the base design and what can be had in its place. They are ticked where they are signed."""

from __future__ import annotations

from typing import Any

from reportlab.platypus import Flowable, KeepTogether

from estimator.documents.choices import TO_BE_CONFIRMED
from estimator.documents.enclosed import OfferedOption
from estimator.documents.pages.open_points import of_option
from estimator.documents.paper import Chapter
from estimator.documents.sheet import Heading, Sheet, fresh_page, headed, ruled_table
from estimator.documents.style import Texts
from estimator.model.called import bay_names, service_names
from estimator.pricing.compare import ChangeKind, RowChange
from estimator.shown.functional import functional_words
from estimator.sizing.types import Verdict

__all__ = ["OPTIONS"]

_NAMED_AT_MOST = 4


def function_words(offer: OfferedOption) -> str:
    """What comes out of the nozzles of an option, in words."""
    figures, design = offer.figures, offer.study.job.design
    if figures.drops is None or figures.inside is None or figures.outside is None:
        return "What comes out of its nozzles was not proved."
    if not figures.drops:
        liquid = any(d.service in {p.id for p in design.products} for d in design.drops)
        return "What comes out of its nozzles was not proved." if liquid else "It has no drops for liquids."
    if figures.inside == figures.drops:
        return (
            "Its one liquid drop is inside its nozzle's window."
            if figures.drops == 1
            else f"All {figures.drops} liquid drops are inside their nozzle's window."
        )
    by_id, bays = {d.id: d for d in design.drops}, bay_names(design)
    services = service_names(design)
    named = [
        f"{bays[by_id[d].bay]} {by_id[d].side.value}, {services[by_id[d].service]}" for d in figures.outside
    ]
    more = f"; and {len(named) - _NAMED_AT_MOST} more" if len(named) > _NAMED_AT_MOST else ""
    which = f"{'; '.join(named[:_NAMED_AT_MOST])}{more}."
    if any(drop.verdict is Verdict.UNFIT for drop in offer.study.proof.drops):
        return (
            f"{figures.inside} of {figures.drops} liquid drops work. The others hang on a line with a part that does "
            f"not stand its product, or are outside their nozzle's window: {which}"
        )
    return (
        f"{figures.inside} of {figures.drops} liquid drops are inside their nozzle's window. Outside: {which}"
    )


def _row_words(sheet: Sheet, row: RowChange) -> str:
    name = f"{row.description}, {row.detail}" if row.detail else row.description
    old, unit = sheet.figures.quantity(float(row.quantity_before), row.unit)
    new, _ = sheet.figures.quantity(float(row.quantity_after), row.unit)
    unit = "" if unit == "each" else f"\u00a0{unit}"
    if row.kind is ChangeKind.ADDED:
        return f"{name}: {new}{unit}, of which the base option has none."
    if row.kind is ChangeKind.REMOVED:
        return f"{name}: left out ({old}{unit} in the base option)."
    return f"{name}: {new}{unit} instead of {old}." if old != new else f"{name}: at another price."


def _table(sheet: Sheet) -> Flowable:
    figures = sheet.figures
    rows: list[list[Flowable | str | list[Flowable]]] = [
        [
            sheet.text("Option", Texts.HEAD),
            sheet.text("Total to pay", Texts.HEAD_NUMBER),
            sheet.text("Against the base", Texts.HEAD_NUMBER),
        ]
    ]
    for i, offer in enumerate(sheet.enclosed.offers):
        total = figures.money(offer.figures.total.likely) if offer.figures.complete else TO_BE_CONFIRMED
        if i == 0:
            change = "–"
        elif offer.against_base is None:
            change = TO_BE_CONFIRMED
        else:
            change = figures.change(offer.against_base.difference)
        name = f"{offer.figures.name} (base option)" if i == 0 else offer.figures.name
        rows.append(
            [
                [
                    sheet.text(name, Texts.CELL_STRONG),
                    sheet.text(function_words(offer), Texts.CELL_QUIET),
                    *(
                        [sheet.text(stops, Texts.CELL_STRONG)]
                        if (stops := of_option(sheet, offer.study))
                        else []
                    ),
                ],
                sheet.text(total, Texts.NUMBER_STRONG),
                sheet.text(change, Texts.NUMBER),
            ]
        )
    extra: list[tuple[Any, ...]] = [("VALIGN", (0, 1), (-1, -1), "MIDDLE")]
    return ruled_table(rows, [sheet.page.text_width * share for share in (0.60, 0.20, 0.20)], extra)


def _difference(sheet: Sheet, offer: OfferedOption) -> list[Flowable]:
    """What works otherwise first, then the items that differ, so that the total can be followed."""
    base = sheet.enclosed.offers[0].study.job.design
    works = functional_words(base, offer.study.job.design, sheet.figures)
    head = sheet.text(f"{offer.figures.name} against the base option", Texts.GROUP)
    first = [sheet.texts.paragraph(text, Texts.ITEM, "–") for text in works]
    # Where none of what is told there is otherwise, nothing is claimed: the items say what is.
    story: list[Flowable] = [KeepTogether([head, *first[:3]]), *first[3:]]
    change = offer.against_base
    if change is None:
        return story if works else []
    words = [_row_words(sheet, row) for row in change.alone]
    if (folded := change.repriced) is not None:
        words.append(f"{folded.words}: {sheet.figures.change(folded.difference)}.")
    words = words or ["The same items."]
    lines = [sheet.texts.paragraph(text, Texts.TIGHT_ITEM, "–") for text in words]
    return [*story, KeepTogether([sheet.text("In the items:", Texts.SMALL), *lines[:3]]), *lines[3:]]


def _story(sheet: Sheet) -> list[Flowable]:
    offers = sheet.enclosed.offers
    if not offers:
        return []
    story: list[Flowable] = [
        fresh_page(sheet),
        Heading(sheet, "Options", "options"),
        sheet.text(
            "Each option is a whole system in place of the base option, priced with the same terms. All totals include "
            "tax. The one that is wanted is ticked under “Acceptance”, where it is signed.",
            Texts.BODY,
        ),
        _table(sheet),
        *headed(sheet, "What is different", "options-different", 1),
    ]
    for offer in offers[1:]:
        story += _difference(sheet, offer)
    return story


OPTIONS = Chapter("options", "Options", _story)
