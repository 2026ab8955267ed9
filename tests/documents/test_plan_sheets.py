"""A floor plan that is too small to read turns or is cut: no letter below 6 points, nothing lost between the sheets."""

from __future__ import annotations

import importlib
from collections import Counter
from typing import Any

import pypdfium2
import pytest

from estimator.documents.draw import disc_letters
from estimator.documents.pages.picture import KEY, PICTURE
from estimator.documents.paper import Audience, Paper
from estimator.documents.plan_picture import LEAST_TEXT, Disc, Lettering, drawing
from estimator.documents.plan_sheets import MOST_SHEETS, Lie, Rooms, lie_of, plan_pictures
from estimator.documents.write import write_paper
from estimator.shown.figures import figures_of
from estimator.shown.plan_marks import plan_marks
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Study, study
from tests.days import STUDIED
from tests.documents.every_paper import letters, printed
from tests.documents.studies import made, pages_of, raw, reader
from tests.large_jobs import large_job

PLAN = Paper("plan", "Plan", Audience.CREW, (KEY, PICTURE))
ROOMS = Rooms((493.0, 405.0), (493.0, 645.0), (739.0, 399.0))


@pytest.fixture(scope="module")
def largest() -> Study:
    """100 bays, 400 products, 1,600 drops."""
    return study(large_job(options=False), shipped_price_book(), STUDIED)


def _lie(of: Study) -> Lie:
    design = of.job.design
    return lie_of(design, plan_marks(of.job.site, design, of.layout), ROOMS)


def _least_letters(pdf: bytes, words: str) -> float:
    """Points of the smallest letters on the pages with such words."""
    document, sizes = pypdfium2.PdfDocument(pdf), []
    raw_size = importlib.import_module("pypdfium2.raw").FPDFText_GetFontSize
    for number, text in enumerate(pages_of(pdf)):
        if words in text:
            page = document[number].get_textpage()
            letters_there = enumerate(page.get_text_range())
            sizes += [float(raw_size(page, i)) for i, letter in letters_there if letter.strip()]
    return min(sizes)


def test_twelve_bays_on_letter_lie_on_their_side() -> None:
    for paper in ("quote", "safety"):
        pdf = printed("twelve bays on Letter", paper).pdf
        sizes = {
            (float(page.mediabox.width), float(page.mediabox.height))
            for page, text in zip(reader(pdf).pages, pages_of(pdf), strict=True)
            if "Floor plan" in text
        }
        assert sizes == {(792.0, 612.0)}
        assert _least_letters(pdf, "Floor plan") >= LEAST_TEXT
    for name in ("gannet-quay", "harrow-mill", "tern-bank"):
        pdf = printed(name, "quote").pdf
        assert {float(page.mediabox.width) < float(page.mediabox.height) for page in reader(pdf).pages} == {
            True
        }
        assert _least_letters(pdf, "Floor plan") >= LEAST_TEXT


def test_a_hundred_bays_are_cut_into_sheets_that_can_be_read(largest: Study) -> None:
    pdf = write_paper(PLAN, largest)
    texts = [text for text in pages_of(pdf) if "Floor plan, sheet" in text]
    assert 1 < len(texts) <= MOST_SHEETS
    for number, text in enumerate(texts, 1):
        assert f"Floor plan, sheet {number} of {len(texts)}" in text and "Each sheet overlaps" in text
    assert _least_letters(pdf, "Floor plan, sheet") >= LEAST_TEXT
    for page in letters(pdf):
        assert all(box.left > 20 and box.right < 822 for box in page)


def test_every_service_and_name_is_whole_on_one_of_the_sheets(largest: Study) -> None:
    job, lie = largest.job, _lie(largest)
    whole = drawing(job.site, job.design, plan_marks(job.site, job.design, largest.layout), lie.scale)
    pictures = plan_pictures(job.site, job.design, largest.layout, figures_of(job), lie)
    assert lie.sheets > 4 and not whole.crowded
    wanted = Counter(m.text for m in whole.marks if isinstance(m, Disc | Lettering))
    shown = Counter(m.text for p in pictures for m in p.cut if isinstance(m, Disc | Lettering))
    assert sum(wanted.values()) > 1600 and not wanted - shown
    for picture in pictures:
        left, bottom, width, height = picture.frame
        for mark in picture.cut:
            if isinstance(mark, Disc):
                assert disc_letters(mark) >= LEAST_TEXT
                assert left <= mark.at[0] - mark.radius and mark.at[0] + mark.radius <= left + width
                assert bottom <= mark.at[1] - mark.radius and mark.at[1] + mark.radius <= bottom + height


def test_a_plan_that_needs_no_more_stays_above_its_key() -> None:
    lie = _lie(made(raw()))
    assert (lie.sheets, lie.turned, lie.own_pages) == (1, False, False)


@pytest.mark.parametrize(
    ("width", "depth"), [("500 m", "500 m"), ("500 m", "12 m"), ("12 m", "500 m")], ids=str
)
def test_more_than_any_sheet_has_room_for_is_counted(width: str, depth: str) -> None:
    """40 services at one side of a small bay in a very large hall."""
    job: dict[str, Any] = raw()
    job["site"]["floor"].update(width=width, depth=depth)
    design = job["design"]
    product, drop = design["products"][0], design["drops"][0]
    design["products"] = [{**product, "id": f"p{i}", "name": f"Product {i}"} for i in range(40)]
    design["plant"], design["lines"] = [], []
    design["bays"] = [
        {**design["bays"][0], "id": "b0", "width": "1 m", "length": "2 m", "x": "3 m", "y": "3 m"}
    ]
    design["drops"] = [
        {**drop, "id": f"d{i}", "bay": "b0", "side": "left", "service": f"p{i}"} for i in range(40)
    ]
    whole = made(job)
    lie = _lie(whole)
    assert 1 <= lie.sheets <= MOST_SHEETS
    pictures = plan_pictures(whole.job.site, whole.job.design, whole.layout, figures_of(whole.job), lie)
    discs = {m.text for p in pictures for m in (*p.marks, *p.cut) if isinstance(m, Disc)}
    more = {
        m.text for p in pictures for m in (*p.marks, *p.cut) if isinstance(m, Lettering) and m.text[0] == "+"
    }
    assert len(discs) + sum(int(text[1:]) for text in more) == 40
    assert pictures[0].crowded is bool(more)
    pdf = write_paper(PLAN, whole)
    assert ("A plus with a number" in " ".join(pages_of(pdf))) is bool(more)
    assert _least_letters(pdf, "Floor plan") >= LEAST_TEXT
