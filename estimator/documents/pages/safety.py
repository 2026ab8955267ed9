"""Safety notes that follow from what is on the job."""

from __future__ import annotations

import re
from typing import Final

from reportlab.platypus import Flowable, KeepTogether, PageBreak

from estimator.documents.paper import Chapter
from estimator.documents.sheet import Heading, Sheet, boxed
from estimator.documents.style import Texts
from estimator.model.design import AIR
from estimator.safety.notes import SafetyNote, safety_notes
from estimator.shown.scope import product_name

__all__ = ["SAFETY", "printed_source"]

_UNCHECKED: Final = re.compile(r"\s*\((?:from memory|second-hand)[^)]*\)|,? from memory")
_FOOTNOTE: Final = "* Quoted without the text at hand: check the current edition before relying on it."


def printed_source(source: str) -> str:
    """A source for the customer: what was not read in the original carries a star.

    >>> printed_source("29 CFR 1910.22 (from memory)")
    '29 CFR 1910.22*'
    >>> printed_source("common practice, no source")
    'common practice'
    """
    return _UNCHECKED.sub("*", source).replace("common practice, no source", "common practice")


def _note(sheet: Sheet, note: SafetyNote) -> Flowable:
    design = sheet.study.job.design
    concerned = [product_name(design, c) for c in note.concerns]
    everything = {p.id for p in design.products} <= set(note.concerns)
    text = sheet.say.told(note.sentence, note.facts)
    told = f"{note.title} {text}"
    source = f"Source: {printed_source(note.source)}."
    if concerned and not everything and not all(name in told for name in concerned):
        source = f"Concerns: {', '.join(concerned)}. {source}"
    return KeepTogether(
        [sheet.texts.pair(f"{note.title}.", text, Texts.NOTE), sheet.text(source, Texts.SOURCE)]
    )


def _story(sheet: Sheet) -> list[Flowable]:
    job = sheet.study.job
    notes = safety_notes(job.site, job.design)
    names = [f"{i + 1} {product_name(job.design, p.id)}" for i, p in enumerate(job.design.products)]
    if any(d.service == AIR for d in job.design.drops):
        names.append("A Compressed air")
    story: list[Flowable] = [
        PageBreak(),
        Heading(sheet, "Safety notes", "safety"),
        boxed(
            [
                sheet.text(
                    "Chemicals and pressure can hurt people. These notes follow from what is on this job; they "
                    "take nothing away from the safety data sheets, the local codes and the licensed trades, "
                    "which decide.",
                    Texts.CELL_STRONG,
                )
            ],
            sheet.page.text_width,
        ),
        sheet.text("On this job: " + (", ".join(names) or "no product yet") + ".", Texts.NOTE),
    ]
    story += [_note(sheet, note) for note in notes]
    if any("*" in printed_source(note.source) for note in notes):
        story.append(sheet.text(_FOOTNOTE, Texts.SOURCE))
    return story


SAFETY = Chapter("safety", "Safety notes", _story)
