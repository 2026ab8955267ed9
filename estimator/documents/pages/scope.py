"""Scope in words: what is built and what stays."""

from __future__ import annotations

from reportlab.platypus import Flowable

from estimator.documents.paper import Chapter
from estimator.documents.sheet import Sheet, headed
from estimator.documents.style import Texts
from estimator.shown.mixtures import mixture_lines
from estimator.shown.scope import scope_sentences, staying

__all__ = ["SCOPE"]


def _story(sheet: Sheet) -> list[Flowable]:
    study = sheet.study
    story: list[Flowable] = headed(sheet, "Scope", "scope")
    story += [sheet.text(sentence, Texts.BODY) for sentence in scope_sentences(study, sheet.figures)]
    if mixtures := mixture_lines(study):
        story += headed(sheet, "What comes out", "scope-mixtures", 1)
        story.append(
            sheet.text(
                "Parts of water to one of concentrate, computed; each is set and tested at commissioning:",
                Texts.BODY,
            )
        )
        story += [sheet.texts.paragraph(line, Texts.ITEM, "–") for line in mixtures]
    if kept := staying(study, sheet.figures):
        story += headed(sheet, "What stays", "scope-stays", 1)
        story.append(
            sheet.text("These hang there already, are part of the design and are not charged:", Texts.BODY)
        )
        story += [sheet.texts.paragraph(line, Texts.ITEM, "–") for line in kept]
    if notes := study.job.quote.notes.strip():
        story += headed(sheet, "Notes", "scope-notes", 1, room=48.0)
        story += [sheet.text(line, Texts.BODY) for line in notes.splitlines() if line.strip()]
    return story


SCOPE = Chapter("scope", "Scope", _story)
