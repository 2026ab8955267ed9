"""The last pages: closer lines save one of a few lines, else more is put on it; nothing is lost or told twice."""

from __future__ import annotations

import pytest

from estimator.documents.quote import write_notes, write_quote
from tests.documents.studies import made, pages_of, raw, text_of


def _with_lines(count: int) -> list[str]:
    """Pages of a quote whose scope pushes all that follows down by that many lines."""
    job = raw()
    job["quote"]["notes"] = "\n".join(f"Line {i} of the notes." for i in range(count))
    return pages_of(write_quote(made(job)))


@pytest.mark.parametrize("count", range(1, 60, 5))
def test_wherever_the_notes_begin_the_last_page_is_worth_its_paper(count: int) -> None:
    """All of the notes stand there once, whatever the lines before them are."""
    pages = _with_lines(count)
    assert len(pages[-1]) > 600, (count, pages[-1])
    whole = " ".join(pages)
    for words in ("Freezing. Drain lines", "What can kill", "To be known too", "* Quoted without"):
        assert whole.count(words) == 1, words


def test_what_is_saved_is_the_same_text() -> None:
    """The notes alone, and as the end of a quote."""
    study = made(raw())
    alone, quoted = text_of(write_notes(study)), text_of(write_quote(study))
    for words in ("Solution that stands.", "Backflow protection.", "Wet floors.", "Freezing."):
        assert alone.count(words) == quoted.count(words) == 1
