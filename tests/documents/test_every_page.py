"""Every page of every paper of jobs that are unlike each other: nothing over its neighbour or outside, no page that is
nearly empty, no heading alone, words in the order they are read, one bookmark a chapter."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from itertools import combinations, pairwise

import pytest

from estimator.documents.label_grid import label_grid
from estimator.documents.quote import LABEL_SHEETS, PAPERS, QuoteError
from estimator.documents.sheet import PageSize, page_of
from tests.documents.every_paper import JOBS, Box, Printed, headings, letters, lines, printed
from tests.documents.studies import pages_of, reader

NOTHING = {("empty", "safety"), ("empty", "labels")}
"""Papers that have nothing to say of a job."""
EVERY = [(job, paper.key) for job in JOBS for paper in PAPERS if (job, paper.key) not in NOTHING]


@pytest.fixture(scope="module", params=EVERY, ids=lambda pair: f"{pair[1]} of {pair[0]}")
def each(request: pytest.FixtureRequest) -> Printed:
    return printed(*request.param)


def _size(paper: Printed, page: int) -> PageSize:
    upright = page_of(paper.study.job.units)
    if paper.paper is LABEL_SHEETS:  # they have the page for themselves
        grid = label_grid(paper.study.job.presentation.labels, upright, paper.study.job.units)
        edges = ((upright.width - grid.wide) / 2, (upright.height - grid.high) / 2)
        return replace(upright, side=edges[0], top=edges[1], foot=edges[1])
    box = reader(paper.pdf).pages[page].mediabox
    return upright if float(box.width) < float(box.height) else upright.turned


def _body(paper: Printed, page: int) -> tuple[Box, ...]:
    """What stands between head and foot."""
    size = _size(paper, page)
    return tuple(
        b for b in letters(paper.pdf)[page] if b.bottom > size.foot - 8 and b.top < size.height - size.top + 8
    )


def _over(page: tuple[Box, ...]) -> list[tuple[str, str]]:
    """Letters that lie over each other by more than a third of the smaller one: kerning is far less."""
    cells: dict[tuple[int, int], list[Box]] = defaultdict(list)
    for box in page:
        for x in range(int(box.left // 12), int(box.right // 12) + 1):
            for y in range(int(box.bottom // 12), int(box.top // 12) + 1):
                cells[x, y].append(box)
    found: dict[tuple[int, int], tuple[str, str]] = {}
    for near in cells.values():
        for a, b in combinations(near, 2):
            wide = min(a.right, b.right) - max(a.left, b.left)
            high = min(a.top, b.top) - max(a.bottom, b.bottom)
            least = min((c.right - c.left) * (c.top - c.bottom) for c in (a, b))
            if wide > 0 and high > 0 and wide * high > least / 3:
                found[id(a), id(b)] = (a.text, b.text)
    return list(found.values())


def test_no_letter_lies_over_another_or_outside_the_margins(each: Printed) -> None:
    for number, page in enumerate(letters(each.pdf)):
        size = _size(each, number)
        assert _over(page) == [], number + 1
        for box in page:
            assert box.left > size.side - 2 and box.right < size.width - size.side + 2, (number + 1, box)
            assert box.bottom > 20 and box.top < size.height - 20, (number + 1, box)


def test_letters_that_lie_over_each_other_are_seen() -> None:
    a, b, c = (Box(0, "x", left, 10, left + 5, 17) for left in (10.0, 12.0, 15.0))
    assert len(_over((a, b))) == 1 and _over((a, c)) == []


def test_no_page_is_nearly_empty(each: Printed) -> None:
    """But the last one, and the one that is signed."""
    count = len(letters(each.pdf))
    texts = pages_of(each.pdf)
    for number in range(count - 1):
        size = _size(each, number)
        lowest = min(box.bottom for box in _body(each, number))
        filled = (size.height - size.top - lowest) / size.text_height
        assert filled > 1 / 3 or "Signature" in texts[number], (number + 1, filled)


def test_no_heading_stands_alone_at_the_foot_of_a_page(each: Printed) -> None:
    found = headings(each.pdf)
    for _, words, number, top in found:
        # Two lines of a heading are at most 36 points high; the next heading is no text of this one.
        below = [b for b in _body(each, number) if b.top < top - 20]
        others = [t for _, _, page, t in found if page == number and t < top]
        next_one = max(others, default=0.0)
        # A chapter may begin with the heading of its first part.
        assert below and (next_one < top - 40 or any(b.top < next_one - 20 for b in below)), (
            words,
            number + 1,
        )


def test_each_chapter_has_one_bookmark_and_the_language_is_told(each: Printed) -> None:
    chapters = [words for depth, words, *_ in headings(each.pdf) if depth == 0]
    assert len(chapters) == len(set(chapters))
    # "Changes since revision A" is the chapter of changes.
    titles = [c.title for c in each.paper.chapters]
    assert [t for t in titles if any(said.startswith(t) for said in chapters)] == [
        next(t for t in titles if said.startswith(t)) for said in chapters
    ]
    assert str(reader(each.pdf).root_object["/Lang"]) == "en"


def test_what_follows_stands_below_or_beside(each: Printed) -> None:
    """In the order that a program reads it: a line goes on to the right, else further down. The plan is a picture."""
    for number in range(len(letters(each.pdf))):
        drawn = False
        found = lines(_body(each, number))
        for i, (a, b) in enumerate(pairwise(found)):
            # The board's name is the first text in a plan, and may stand upright; the scale is its last.
            if "".join(box.text for box in found[i + 1 : i + 11]).startswith("Plantboard") or (
                a.text.startswith("Floorplan,sheet")
            ):
                drawn = True
            drawn = drawn and not b.text.startswith(("Anumbereddisc", "Thehallataglance"))
            if not drawn and not a.text.startswith("Scale"):
                assert b.bottom < a.top or b.left > a.right - 1, (number + 1, a.text, b.text)


def test_a_paper_without_anything_on_it_says_so() -> None:
    for pair in NOTHING:
        with pytest.raises(QuoteError, match="nothing to print"):
            printed(*pair)


def test_the_last_page_has_more_than_a_few_lines(each: Printed) -> None:
    """A quarter of the page; a paper of one page and a sheet of labels are as long as they are."""
    count = len(letters(each.pdf))
    if count == 1 or each.paper is LABEL_SHEETS:
        return
    size = _size(each, count - 1)
    lowest = min(box.bottom for box in _body(each, count - 1))
    assert (size.height - size.top - lowest) / size.text_height > 1 / 4, count
