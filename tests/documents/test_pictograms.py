"""The hazard pictograms of the labels: a red frame set at a point, a black symbol inside of it, known by words too.

29 CFR 1910.1200, Appendix C, C.2.3: a square set at a point, a black hazard symbol on white, a red frame (from memory).
The symbols themselves are our own hand after UN GHS, annex 1; whether one is recognised no test can tell.
"""

from __future__ import annotations

from io import BytesIO

import pypdfium2
import pytest
from reportlab.pdfgen.canvas import Canvas

from estimator.documents.pictograms import HazardRow, draw_pictogram
from estimator.documents.quote import write_labels
from estimator.model.choices import Pictogram
from tests.documents.studies import made, pages_of, raw

ACROSS = 200


def _pixels(pictogram: Pictogram) -> list[list[tuple[int, int, int]]]:
    file = BytesIO()
    canvas = Canvas(file, pagesize=(ACROSS, ACROSS))
    draw_pictogram(canvas, pictogram, 0, 0, ACROSS)
    canvas.showPage()
    canvas.save()
    page = pypdfium2.PdfDocument(file.getvalue())[0]
    image = page.render(scale=1).to_pil().convert("RGB")
    data = image.tobytes()
    every = [(data[i], data[i + 1], data[i + 2]) for i in range(0, len(data), 3)]
    return [every[row * ACROSS : (row + 1) * ACROSS] for row in range(ACROSS)]


def _shape(pictogram: Pictogram) -> frozenset[tuple[int, int]]:
    """Where it is black."""
    return frozenset(
        (x, y) for y, row in enumerate(_pixels(pictogram)) for x, colour in enumerate(row) if max(colour) < 90
    )


@pytest.mark.parametrize("pictogram", Pictogram)
def test_a_red_frame_on_its_point_with_a_black_symbol_clear_of_it(pictogram: Pictogram) -> None:
    middle = ACROSS / 2
    red = [
        (x, y)
        for y, row in enumerate(_pixels(pictogram))
        for x, (r, g, b) in enumerate(row)
        if r > 180 and g < 90 and b < 90
    ]
    # Its four points lie at the middles of the sides, and nowhere is it nearer than the frame's width to the middle.
    assert min(x for x, _ in red) <= 3 and max(x for x, _ in red) >= ACROSS - 4
    assert min(y for _, y in red) <= 3 and max(y for _, y in red) >= ACROSS - 4
    inner = min(abs(x + 0.5 - middle) + abs(y + 0.5 - middle) for x, y in red)
    black = _shape(pictogram)
    assert 0.05 < len(black) / (ACROSS * ACROSS / 2) < 0.4
    assert max(abs(x + 0.5 - middle) + abs(y + 0.5 - middle) for x, y in black) < inner


def test_no_two_look_alike() -> None:
    shapes = {p: _shape(p) for p in Pictogram}
    for one in Pictogram:
        for other in Pictogram:
            if one.value < other.value:
                common = len(shapes[one] & shapes[other]) / len(shapes[one] | shapes[other])
                assert common < 0.6, (one, other)


def test_nine_of_them_take_the_rows_they_need_and_the_signal_word_its_place() -> None:
    every = [(p, p.value) for p in Pictogram]
    row = HazardRow(every, 40.0, None)
    # 42 points each with its gap: five go into 210 points.
    assert row.wrap(210.0, 1e6) == (210.0, 2 * 42.0 + 4.0)
    assert row.wrap(41.0, 1e6)[1] == 9 * 42.0 + 4.0


def test_a_label_has_the_pictograms_of_its_sheet_and_says_them_to_those_who_hear_it() -> None:
    """Gannet Quay's insect remover: flame, exclamation mark, health hazard; its interior products have fewer."""
    study = made(raw())
    design = study.job.design
    drawn = write_labels(study)
    count = 0
    for product in design.products:
        sides = {(d.bay, d.side) for d in design.drops if d.service == product.id}
        tanks = sum(unit.product == product.id for unit in design.plant)
        labels = product.containers + tanks + (len(sides) + 1 if sides else 0)
        count += labels * len(product.sheet.pictograms)
    assert count > 20
    assert drawn.count(b"/S/Figure") == drawn.count(b"Pictogram:") == count


def test_without_pictograms_the_label_is_words() -> None:
    job = raw()
    for product in job["design"]["products"]:
        product["sheet"]["pictograms"] = []
    assert b"Pictogram" not in write_labels(made(job))


def test_a_label_too_small_for_them_keeps_its_words() -> None:
    """64 mm by 33.8 mm, 24 on a page: the hazards stand there in words."""
    job = raw("tern-bank")
    job["presentation"]["labels"] |= {"columns": 3, "rows": 8, "width": "64 mm", "height": "33.8 mm"}
    job["presentation"]["labels"] |= {"gap_across": "2 mm", "gap_down": "0 mm"}
    small = write_labels(made(job))
    text = " ".join(pages_of(small))
    assert "corrosive" in text and "Danger" in text
    assert small.count(b"Pictogram:") < write_labels(made(raw("tern-bank"))).count(b"Pictogram:")
