"""Safety notes that follow from what is on the job, with a card for an emergency."""

from __future__ import annotations

import re
from typing import Any, Final

from reportlab.platypus import Flowable

from estimator.documents.ending import Kept, Remainder
from estimator.documents.paper import Chapter
from estimator.documents.sheet import Heading, Sheet, boxed, fresh_page, headed, ruled_table
from estimator.documents.style import INK, Texts
from estimator.model.grades import Danger
from estimator.safety.emergency import SOURCE
from estimator.shown.cautions import Caution, cautions, emergency_lines, on_this_job
from estimator.shown.sources import country_line, source_in

__all__ = ["SAFETY", "printed_source"]

_UNCHECKED: Final = re.compile(r"\s*\((?:from memory|second-hand)[^)]*\)|,? from memory")
_TO_FILL_IN: Final = ("Emergency number", "Poison centre", "First aider", "Water and local authority")
_FOOTNOTE: Final = "* Quoted without the text at hand: check the current edition before relying on it."


def printed_source(source: str) -> str:
    """A source for the customer: what was not read in the original carries a star.

    >>> printed_source("29 CFR 1910.22 (from memory)")
    '29 CFR 1910.22*'
    >>> printed_source("common practice, no source")
    'common practice'
    """
    return _UNCHECKED.sub("*", source).replace("common practice, no source", "common practice")


def _note(sheet: Sheet, caution: Caution) -> Flowable:
    source = f"Source: {printed_source(caution.source)}."
    if caution.about:
        source = f"Concerns: {', '.join(caution.about)}. {source}"
    text = (
        sheet.texts.pair(f"{caution.title}.", caution.text, Texts.NOTE)
        if caution.title
        else sheet.text(caution.text, Texts.NOTE)
    )
    state = [sheet.texts.paragraph(said, Texts.TIGHT_ITEM, "–") for said in caution.state]
    return Kept([text, *state, sheet.text(source, Texts.SOURCE)])


def _emergency(sheet: Sheet) -> list[Flowable]:
    """What to do, and room for what only the shop knows."""
    lines = emergency_lines(sheet.study, sheet.say)
    if not lines:
        return []
    width = sheet.page.text_width
    rows = [
        [sheet.text(title, Texts.CELL_STRONG), sheet.text(sentence, Texts.CELL)] for title, sentence in lines
    ]
    first = len(rows)
    rows += [[sheet.text(name, Texts.CELL_STRONG), sheet.text("", Texts.CELL)] for name in _TO_FILL_IN]
    extra: list[tuple[Any, ...]] = [
        ("BOX", (0, 0), (-1, -1), 1.2, INK),
        ("TOPPADDING", (0, first), (-1, -1), 7),
        ("LINEBELOW", (0, first), (-1, -1), 0.6, INK),
    ]
    return [
        *headed(sheet, "In an emergency", "safety-emergency", 1),
        ruled_table(rows, [width * 0.26, width * 0.74], extra, heads=0),
        sheet.text(
            f"Source: {printed_source(source_in(SOURCE, sheet.study.job.site.country))}. "
            "The last lines are filled in by the shop.",
            Texts.SOURCE,
        ),
    ]


def _country(sheet: Sheet) -> list[Flowable]:
    """What the rules named here are worth in the country of the job."""
    line = country_line(sheet.study.job.site.country)
    return [sheet.text(line, Texts.NOTE)] if line else []


def _story(sheet: Sheet) -> list[Flowable]:
    found = cautions(sheet.study, sheet.say)
    if not found:
        return []
    on_job = ", ".join(on_this_job(sheet.study, sheet.say)) or "no product yet"
    story: list[Flowable] = [
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
        sheet.text(f"On this job: {on_job}.", Texts.NOTE),
        *_country(sheet),
        *_emergency(sheet),
    ]
    for danger in Danger:
        notes = [_note(sheet, caution) for caution in found if caution.danger is danger]
        if notes:
            words = danger.words
            title = f"What {words}" if words else "To be known too"
            story += headed(sheet, title, f"safety-{danger.name.lower()}", 1)
            story += notes
    if "*" in printed_source(SOURCE) or any("*" in printed_source(c.source) for c in found):
        story.append(sheet.text(_FOOTNOTE, Texts.SOURCE))
    # Nothing but a plan comes after them.
    return [fresh_page(sheet), Remainder(sheet, story)]


SAFETY = Chapter("safety", "Safety notes", _story)
