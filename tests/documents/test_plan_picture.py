"""The floor picture: to scale, told apart without colour, inside its frame."""

from __future__ import annotations

from typing import Any

import pytest

from estimator.documents.plan_picture import Disc, Lettering, Picture, Stroke, plan_picture
from estimator.model.choices import LineColour, Wall
from estimator.model.colours import free_colour
from estimator.shown.figures import figures_of
from estimator.shown.lines import line_styles
from estimator.study import Study
from tests.documents.studies import made, raw

WIDTH, HEIGHT = 490.0, 400.0
MM = 72.0 / 25.4


def _picture(study: Study) -> Picture:
    job = study.job
    return plan_picture(job.site, job.design, study.layout, figures_of(job), WIDTH, HEIGHT)


def _box(line: Stroke) -> tuple[float, float]:
    xs, ys = [p[0] for p in line.points], [p[1] for p in line.points]
    return max(xs) - min(xs), max(ys) - min(ys)


def _scale_bar(picture: Picture) -> tuple[float, str]:
    """Length in points from the first to the last tick label of the bar, and the last label."""
    ticks = [m for m in picture.marks if isinstance(m, Lettering) and m.size == 7.0 and m.anchor == "middle"]
    ticks = [m for m in ticks if m.text[0].isdigit()]
    return ticks[-1].at[0] - ticks[0].at[0], ticks[-1].text


def test_hall_and_bays_are_to_scale() -> None:
    # The job: hall 24 m x 14 m, bays 5 m x 12 m.
    picture = _picture(made(raw()))
    closed = [m for m in picture.marks if isinstance(m, Stroke) and m.closed]
    hall, *bays = closed[:4]
    metre = 1000 * MM / picture.scale
    assert _box(hall) == pytest.approx((24 * metre, 14 * metre))
    for bay in bays:
        assert _box(bay) == pytest.approx((5 * metre, 12 * metre))


@pytest.mark.parametrize(("units", "unit_mm"), [("metric", 1000.0), ("us", 304.8)])
def test_scale_bar_is_as_long_as_it_says(units: str, unit_mm: float) -> None:
    job = raw()
    job["units"] = units
    picture = _picture(made(job))
    points, text = _scale_bar(picture)
    number, unit = text.split()
    assert unit == {"metric": "m", "us": "ft"}[units]
    assert points == pytest.approx(float(number) * unit_mm * MM / picture.scale)


def test_lines_are_told_apart_without_colour() -> None:
    job = raw()
    product = job["design"]["products"][0]
    products = job["design"]["products"]
    for i in range(35):
        colour = free_colour([LineColour(p["colour"]) for p in products], len(products))
        products.append({**product, "id": f"more-{i}", "colour": colour.value})
    styles = line_styles(made(job).job.design)
    assert len(styles) == 41
    assert len({s.tag for s in styles.values()}) == 41
    assert len({(s.dash, s.width) for s in list(styles.values())[:32]}) == 32


def test_every_line_and_every_drop_is_in_the_picture() -> None:
    study = made(raw())
    picture = _picture(study)
    styles = line_styles(study.job.design)
    drawn = {(m.dash, m.width) for m in picture.marks if isinstance(m, Stroke) and not m.closed}
    for line in study.layout.lines:
        assert (styles[line.id].dash, styles[line.id].width) in drawn
    # Every side has its services once: 4 + 4 + 4 + 4 + 3 + 3 = 22 discs, all new.
    discs = [m for m in picture.marks if isinstance(m, Disc)]
    assert len(discs) == 22 and not any(d.open for d in discs)
    names = {m.text for m in picture.marks if isinstance(m, Lettering)}
    assert {"Plant board", "N"} <= names
    assert {bay.name for bay in study.job.design.bays} <= names


def test_what_stays_is_open() -> None:
    discs = [m for m in _picture(made(raw("harrow-mill"))).marks if isinstance(m, Disc)]
    assert sum(d.open for d in discs) == 4
    assert len(discs) == 12


def _corners(mark: object) -> tuple[tuple[float, float], ...]:
    if isinstance(mark, Stroke):
        return mark.points
    assert isinstance(mark, Lettering | Disc)
    return (mark.at,)


@pytest.mark.parametrize("wall", list(Wall))
@pytest.mark.parametrize("direction", ["north-south", "east-west"])
def test_all_marks_lie_in_the_frame(wall: Wall, direction: str) -> None:
    job: dict[str, Any] = raw()
    job["site"]["board"]["wall"] = wall.value
    job["site"]["board"]["along"] = "6 m"
    if direction == "east-west":
        for i, bay in enumerate(job["design"]["bays"]):
            bay.update(direction=direction, x="4 m", y=f"{0.5 + 4.5 * i} m", width="4 m", length="12 m")
            for side in ("left", "right"):
                bay[side]["station"] = None
    picture = _picture(made(job))
    assert picture.width <= WIDTH and picture.height <= HEIGHT
    for mark in picture.marks:
        for x, y in _corners(mark):
            assert -0.01 <= x <= picture.width + 0.01
            assert -0.01 <= y <= picture.height + 0.01


def test_a_very_large_hall_gets_a_round_scale_of_its_own() -> None:
    job = raw()
    job["site"]["floor"].update(width="500 m", depth="500 m")
    picture = _picture(made(job))
    assert picture.scale in {4000, 5000}
    assert picture.height <= HEIGHT
