"""What the quote rests on and what it leaves out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from reportlab.platypus import Flowable

from estimator.documents.paper import Chapter
from estimator.documents.sheet import Sheet, headed
from estimator.documents.style import Texts
from estimator.model.left_out import LeftOut
from estimator.shown.air_words import free_air_at
from estimator.shown.survey_words import water_words

__all__ = ["CONDITIONS", "ORDER_TEXTS"]

ORDER_TEXTS: Final = (
    ("payment_terms", "Payment"),
    ("change_orders", "Changes after the order"),
    ("warranty", "Warranty"),
    ("insurance", "Insurance"),
)
"""Texts of the terms that are printed where they are given: field and heading."""


def _surveyed(sheet: Sheet) -> list[str]:
    site, figures = sheet.study.job.site, sheet.figures
    lines = [
        f"Water at the tie-in as surveyed: {water_words(site.water, figures)}.",
        (
            f"Run height {figures.typed(site.floor.run_height)} under a ceiling of "
            f"{figures.typed(site.floor.ceiling_height)}, with a clear way for the tubes as drawn."
        ),
    ]
    if site.air.free_air.si > 0:
        lines.insert(
            1,
            f"Compressor as surveyed: {figures.typed(site.air.free_air)} free air "
            f"({free_air_at(site.air.reference, figures)}), stopping at {figures.typed(site.air.pressure)}"
            + (
                "."
                if site.air.cut_in is None
                else f" and starting again at {figures.typed(site.air.cut_in)}."
            ),
        )
    return lines


def _listed(sheet: Sheet, lines: Sequence[str]) -> list[Flowable]:
    return [sheet.texts.paragraph(line.strip(), Texts.ITEM, "–") for line in lines if line.strip()]


def _order(sheet: Sheet) -> list[Flowable]:
    """What the order rests on besides; nothing of what is not given."""
    terms = sheet.study.job.terms
    pairs = [(label, text) for name, label in ORDER_TEXTS if (text := str(getattr(terms, name)).strip())]
    if terms.lead_time is not None:
        time = sheet.figures.typed(terms.lead_time)
        pairs.insert(0, ("Lead time", f"Work on site begins within {time} of the order."))
    if not pairs:
        return []
    return [
        *headed(sheet, "Terms of the order", "conditions-order", 1),
        *(sheet.texts.pair(f"{label}:", text, Texts.BODY) for label, text in pairs),
    ]


def _story(sheet: Sheet) -> list[Flowable]:
    terms = sheet.study.job.terms
    exclusions = _listed(
        sheet, [*(one.sentence for one in LeftOut if one in terms.left_out), *terms.exclusions]
    ) or [sheet.text("None stated.", Texts.BODY)]
    return [
        *headed(sheet, "Assumptions and exclusions", "conditions"),
        *headed(sheet, "Assumptions", "conditions-assumptions", 1),
        *_listed(sheet, [*terms.assumptions, *_surveyed(sheet)]),
        *headed(sheet, "Exclusions", "conditions-exclusions", 1),
        *exclusions,
        *_order(sheet),
    ]


CONDITIONS = Chapter("conditions", "Assumptions and exclusions", _story, with_next=True)
