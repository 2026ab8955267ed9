"""Scope in words: what is built, which products, what each bay side gets, what stays."""

from __future__ import annotations

from collections import Counter

from reportlab.platypus import Flowable

from estimator.documents.scope_words import (
    dilution_text,
    product_name,
    scope_sentences,
    side_groups,
    staying,
)
from estimator.documents.sheet import Chapter, Heading, Sheet, ruled_table
from estimator.documents.style import Texts
from estimator.model.design import AIR
from estimator.reference.catalogue import catalogue

__all__ = ["SCOPE"]


def _products(sheet: Sheet) -> list[Flowable]:
    design = sheet.study.job.design
    drops = Counter(d.service for d in design.drops)
    if not design.products and not drops[AIR]:
        return []
    rows: list[list[Flowable | str]] = [
        [
            sheet.text("No.", Texts.HEAD),
            sheet.text("Product", Texts.HEAD),
            sheet.text("Kind", Texts.HEAD),
            sheet.text("Dilution, water : concentrate", Texts.HEAD_NUMBER),
            sheet.text("Drops", Texts.HEAD_NUMBER),
        ]
    ]
    for i, product in enumerate(design.products):
        rows.append(
            [
                sheet.text(str(i + 1), Texts.CELL),
                sheet.text(product.name or product.id, Texts.CELL_STRONG),
                sheet.text(product.chemistry.label, Texts.CELL),
                sheet.text(dilution_text(product.dilution, sheet.figures), Texts.NUMBER),
                sheet.text(str(drops[product.id]), Texts.NUMBER),
            ]
        )
    if drops[AIR]:
        rows.append(
            [
                sheet.text("A", Texts.CELL),
                sheet.text(product_name(design, AIR), Texts.CELL_STRONG),
                "",
                "",
                sheet.text(str(drops[AIR]), Texts.NUMBER),
            ]
        )
    width = sheet.paper.text_width
    return [
        Heading(sheet, "Products on tap", "scope-products", 1),
        ruled_table(rows, [width * share for share in (0.07, 0.38, 0.27, 0.18, 0.10)]),
    ]


def _sides(sheet: Sheet) -> list[Flowable]:
    design = sheet.study.job.design
    groups = side_groups(sheet.study, catalogue(), sheet.figures)
    if not groups:
        return []
    story: list[Flowable] = [Heading(sheet, "What each bay side gets", "scope-sides", 1)]
    width = sheet.paper.text_width
    for group in groups:
        story.append(sheet.text("; ".join(group.sides), Texts.GROUP))
        rows: list[list[Flowable | str]] = [
            [
                sheet.text("Drops", Texts.HEAD_NUMBER),
                sheet.text("Service", Texts.HEAD),
                sheet.text("Hose", Texts.HEAD),
                sheet.text("Gun and nozzle", Texts.HEAD),
            ]
        ]
        for kind in group.kinds:
            name = product_name(design, kind.service)
            rows.append(
                [
                    sheet.text(str(kind.count), Texts.NUMBER),
                    sheet.text(f"{name} (stays)" if kind.existing else name, Texts.CELL),
                    sheet.text(kind.hose, Texts.CELL),
                    sheet.text(kind.outlet, Texts.CELL),
                ]
            )
        story.append(ruled_table(rows, [width * share for share in (0.09, 0.34, 0.17, 0.40)]))
    return story


def _story(sheet: Sheet) -> list[Flowable]:
    study = sheet.study
    story: list[Flowable] = [Heading(sheet, "Scope", "scope")]
    story += [sheet.text(sentence, Texts.BODY) for sentence in scope_sentences(study, sheet.figures)]
    if kept := staying(study, sheet.figures):
        story.append(Heading(sheet, "What stays", "scope-stays", 1))
        story.append(
            sheet.text("These hang there already, are part of the design and are not charged:", Texts.BODY)
        )
        story += [sheet.texts.paragraph(line, Texts.ITEM, "–") for line in kept]
    if notes := study.job.quote.notes.strip():
        story.append(Heading(sheet, "Notes", "scope-notes", 1))
        story += [sheet.text(line, Texts.BODY) for line in notes.splitlines() if line.strip()]
    return [*story, *_products(sheet), *_sides(sheet)]


SCOPE = Chapter("scope", "Scope", _story)
