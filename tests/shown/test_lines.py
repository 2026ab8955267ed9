"""Lines look alike on screen and paper, and keep their look when products are moved or inserted."""

from __future__ import annotations

import math
from itertools import combinations, pairwise

import pytest

from estimator.acts.quick_build import QuickBuild, quick_design
from estimator.acts.rows import duplicated, new_row
from estimator.model.choices import LineColour
from estimator.model.colours import AIR_COLOUR, free_colour
from estimator.model.design import AIR, Design, Product
from estimator.model.edit import inserted, moved
from estimator.model.job import Job
from estimator.model.site import Site
from estimator.shown.lines import HUES, line_styles

PRODUCTS = ("design", "products")


def _job(number: int) -> Job:
    job = Job()
    for i in range(number):
        job = inserted(job, PRODUCTS, i, new_row(job, PRODUCTS, Product))
    return job


def _hues(job: Job) -> dict[str, str]:
    return {service: style.name for service, style in line_styles(job.design).items()}


def test_a_product_inserted_first_recolours_no_other() -> None:
    """It recoloured four others when colours went by position."""
    job = _job(4)
    before = _hues(job)
    more = inserted(job, PRODUCTS, 0, new_row(job, PRODUCTS, Product))
    after = _hues(more)
    assert {service: after[service] for service in before} == before
    (new,) = after.keys() - before.keys()
    assert after[new] not in before.values()


def test_a_moved_product_keeps_its_colour_and_its_dashes() -> None:
    job = _job(5)
    before = {s: (style.name, style.dash) for s, style in line_styles(job.design).items()}
    after = line_styles(moved(job, PRODUCTS, 4, 0).design)
    assert {s: (style.name, style.dash) for s, style in after.items()} == before


def test_products_added_copied_and_built_differ_from_their_neighbours() -> None:
    job = _job(3 * len(LineColour))
    for _ in range(6):
        job = duplicated(job, PRODUCTS, 1)
    colours = [p.colour for p in job.design.products]
    assert all(a is not b for a, b in pairwise(colours))
    built = quick_design(QuickBuild(products=8), Site())[1]
    assert len({p.colour for p in built.products}) == 8


def test_the_first_eight_differ_and_the_least_used_comes_next() -> None:
    taken: list[LineColour] = []
    for _ in LineColour:
        taken.append(free_colour(taken, len(taken)))
    assert sorted(taken) == sorted(LineColour)
    assert free_colour([LineColour.BLUE, LineColour.GREEN, LineColour.BLUE], 1) not in (
        LineColour.BLUE,
        LineColour.GREEN,
    )


def test_air_has_a_colour_of_its_own_and_a_letter() -> None:
    styles = line_styles(Design(products=(Product(id="soap"),)))
    assert (styles[AIR].name, styles[AIR].tag) == (AIR_COLOUR, "A")
    assert AIR_COLOUR not in {colour.value for colour in LineColour}
    assert set(HUES) == {AIR_COLOUR, *(colour.value for colour in LineColour)}


def test_every_colour_has_dashes_of_its_own() -> None:
    assert len({hue.dash for hue in HUES.values()}) == len(HUES)


def _lab(colour: str) -> tuple[float, float, float]:
    """CIE 1976 L*a*b* of an sRGB colour, white point D65 (published: IEC 61966-2-1 and CIE 15)."""
    red, green, blue = (
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4
        for c in (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    )
    x = (0.4124 * red + 0.3576 * green + 0.1805 * blue) / 0.95047
    y = 0.2126 * red + 0.7152 * green + 0.0722 * blue
    z = (0.0193 * red + 0.1192 * green + 0.9505 * blue) / 1.08883

    def f(t: float) -> float:
        return t ** (1 / 3) if t > 216 / 24389 else (24389 / 27 * t + 16) / 116

    return 116 * f(y) - 16, 500 * (f(x) - f(y)), 200 * (f(y) - f(z))


@pytest.mark.parametrize("ground", ["light", "dark"])
def test_colours_can_be_told_apart(ground: str) -> None:
    """A distance of 2.3 can just be seen (Mahy et al. 1994, from memory); ten times that is asked for."""
    for (a, one), (b, two) in combinations(HUES.items(), 2):
        distance = math.dist(_lab(getattr(one, ground)), _lab(getattr(two, ground)))
        assert distance >= 23.0, (a, b, distance)
