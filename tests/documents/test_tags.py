"""The structure tree of a paper (ISO 32000-1, 14.7 and 14.8; the standard from memory), read by another library.

What PDF/UA-1 (ISO 14289-1, from memory) asks of a file and a program can see: everything is content of an element or an
artifact, pictures have words, rows of a table are equally wide, headings skip no level, the title is shown.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from itertools import pairwise
from typing import Any

import pypdf
import pytest
from pypdf.generic import ContentStream

from estimator.documents.quote import write_notes, write_quote
from tests.documents.studies import made, quoted, raw, reader, text_of
from tests.documents.test_large import _large

Node = Any
_SHOWS = (b"Tj", b"TJ", b"'", b'"')


@lru_cache(maxsize=8)
def _paper(name: str) -> bytes:
    if name == "large":
        return write_quote(made(_large()))
    return quoted(raw(name))


def _catalog(pdf: pypdf.PdfReader) -> Node:
    return pdf.trailer["/Root"]


def _root(pdf: pypdf.PdfReader) -> Node:
    return _catalog(pdf)["/StructTreeRoot"]


def _kids(node: Node) -> list[Node]:
    return [kid.get_object() for kid in node.get("/K", [])]


def _nodes(node: Node) -> Iterator[Node]:
    yield node
    for kid in _kids(node):
        if isinstance(kid, dict) and "/S" in kid:
            yield from _nodes(kid)


def _elements(pdf: pypdf.PdfReader, kind: str) -> list[Node]:
    return [node for node in _nodes(_root(pdf)["/K"][0].get_object()) if node["/S"] == kind]


def _marks(pdf: pypdf.PdfReader) -> Iterator[tuple[int, int, Node]]:
    """Page, number and element of every mark that the tree tells, in the order of the tree."""
    pages: list[Node] = list(pdf.pages)
    numbers = {page.indirect_reference.idnum: i for i, page in enumerate(pages)}

    def under(node: Node) -> Iterator[tuple[int, int, Node]]:
        for kid in node.get("/K", []):
            found = kid.get_object()
            if isinstance(found, int):
                yield numbers[node.raw_get("/Pg").idnum], int(found), node
            elif "/MCID" in found:
                yield numbers[found.raw_get("/Pg").idnum], int(found["/MCID"]), node
            else:
                yield from under(found)

    yield from under(_root(pdf)["/K"][0].get_object())


def _drawn(pdf: pypdf.PdfReader, page: int) -> tuple[list[int], int, int]:
    """Numbers of the marks on a page in order, texts shown outside any mark, and depth left over at its end."""
    open_: list[int | None] = []
    found, outside = [], 0
    for operands, operator in ContentStream(pdf.pages[page].get_contents(), pdf).operations:
        if operator == b"BDC":
            assert not open_
            open_.append(int(operands[1]["/MCID"]))
            found.append(int(operands[1]["/MCID"]))
        elif operator == b"BMC":
            assert operands[0] == "/Artifact" and not open_
            open_.append(None)
        elif operator == b"EMC":
            open_.pop()
        elif operator in _SHOWS and not open_:
            outside += 1
    return found, outside, len(open_)


@pytest.mark.parametrize("name", ["gannet-quay", "harrow-mill", "tern-bank", "large"])
def test_everything_drawn_is_told_once_in_the_order_of_the_pages(name: str) -> None:
    pdf = reader(_paper(name))
    told = list(_marks(pdf))
    drawn = []
    for page in range(len(pdf.pages)):
        marks, outside, left = _drawn(pdf, page)
        assert outside == 0 and left == 0
        assert marks == list(range(len(marks))) and marks
        drawn += [(page, mark) for mark in marks]
    assert sorted(drawn) == sorted((page, mark) for page, mark, _ in told)
    # Marks of a cell that runs over to the next page are told with their cell; all else goes with the pages.
    pages = [page for page, _, _ in told]
    assert sum(a > b for a, b in pairwise(pages)) <= 2


@pytest.mark.parametrize("name", ["gannet-quay", "harrow-mill", "tern-bank", "large"])
def test_each_page_knows_the_elements_of_its_marks(name: str) -> None:
    pdf = reader(_paper(name))
    numbers = _root(pdf)["/ParentTree"]["/Nums"]
    assert list(numbers[::2]) == list(range(len(pdf.pages)))
    for page, mark, node in _marks(pdf):
        here: Node = pdf.pages[page]
        assert here["/StructParents"] == page and here["/Tabs"] == "/S"
        assert numbers[2 * page + 1].get_object()[mark].get_object() is node


def test_the_file_says_that_it_is_tagged_and_shows_its_title() -> None:
    root = _catalog(reader(_paper("gannet-quay")))
    assert root["/MarkInfo"]["/Marked"] and root["/Lang"] == "en"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]


@pytest.mark.parametrize("name", ["gannet-quay", "harrow-mill", "tern-bank", "large"])
def test_kinds_are_those_of_the_standard_in_their_places(name: str) -> None:
    pdf = reader(_paper(name))
    inside = {
        "/Document": {"/H1", "/H2", "/P", "/L", "/Table", "/Figure"},
        "/L": {"/LI"},
        "/LI": {"/LBody"},
        "/LBody": set(),
        "/Table": {"/TR"},
        "/TR": {"/TH", "/TD"},
        "/TH": {"/P", "/H2"},
        "/TD": {"/P", "/L", "/Figure"},
    }
    for node in _nodes(_root(pdf)["/K"][0].get_object()):
        for kid in _kids(node):
            if isinstance(kid, dict) and "/S" in kid:
                assert kid["/S"] in inside[node["/S"]], (node["/S"], kid["/S"])
                assert kid["/P"] is node
    headings = [n["/S"] for n in _nodes(_root(pdf)["/K"][0].get_object()) if n["/S"] in {"/H1", "/H2"}]
    assert headings[0] == "/H1"
    assert len(headings) == len(_outline(pdf.outline))


def _outline(entries: list[Any]) -> list[Any]:
    return [e for entry in entries for e in (_outline(entry) if isinstance(entry, list) else [entry])]


@pytest.mark.parametrize("name", ["gannet-quay", "harrow-mill", "tern-bank", "large"])
def test_rows_of_a_table_are_equally_wide_and_have_heads(name: str) -> None:
    tables = _elements(reader(_paper(name)), "/Table")
    assert len(tables) > 5
    for table in tables:
        wide = {sum(int(c.get("/A", {}).get("/ColSpan", 1)) for c in _kids(row)) for row in _kids(table)}
        assert len(wide) == 1
        heads = [c["/A"]["/Scope"] for row in _kids(table) for c in _kids(row) if c["/S"] == "/TH"]
        assert heads


def test_a_table_over_pages_is_one_table_with_one_head() -> None:
    pdf = reader(_paper("large"))
    printed = text_of(_paper("large")).count("Lines Quantity Unit Unit price Price")
    longest = max(_elements(pdf, "/Table"), key=lambda table: len(_kids(table)))
    assert printed > 1 and len(_kids(longest)) > 80
    heads = [row for row in _kids(longest) if any(cell["/S"] == "/TH" for cell in _kids(row))]
    assert heads == _kids(longest)[:1]


def test_pictures_have_words_and_a_place() -> None:
    figures = _elements(reader(_paper("gannet-quay")), "/Figure")
    told = [str(figure["/Alt"]) for figure in figures]
    assert any(text.startswith("Floor plan to scale: three bays, 22 drops") for text in told)
    assert "Disc 1 and its line" in told
    for figure in figures:
        left, low, right, high = map(float, figure["/A"]["/BBox"])
        assert 0 < left < right < 595 and 0 < low < high < 842


def test_points_one_after_the_other_are_one_list() -> None:
    pdf = reader(write_notes(made(raw("tern-bank"))))
    lists = _elements(reader(_paper("gannet-quay")), "/L") + _elements(pdf, "/L")
    assert max(len(_kids(found)) for found in lists) > 2


def test_the_same_bytes_twice() -> None:
    assert _paper("gannet-quay") == quoted(raw("gannet-quay"))
