"""Lines side by side in one colour are told."""

from __future__ import annotations

from estimator.model.choices import LineColour, SideName
from estimator.model.design import Design
from estimator.model.finding import Severity
from estimator.safety.line_colours import line_colour_findings
from tests.layout.examples import bay, design, drop


def _coloured(*colours: LineColour) -> Design:
    names = tuple(f"p{i}" for i in range(len(colours)))
    made = design((bay("b", 5.0, 6.0),), tuple(drop("b", SideName.LEFT, n) for n in names), names)
    products = tuple(p.model_copy(update={"colour": c}) for p, c in zip(made.products, colours, strict=True))
    return made.model_copy(update={"products": products})


def test_neighbours_of_one_colour_are_a_note_at_the_second() -> None:
    blue, red = LineColour.BLUE, LineColour.RED
    assert line_colour_findings(_coloured(blue, red, blue)) == ()
    (finding,) = line_colour_findings(_coloured(red, blue, blue))
    assert (finding.severity, finding.place) == (Severity.NOTE, "design.products.2.colour")
    assert "“p1” and “p2” run side by side and both are blue" in finding.message


def test_a_product_without_a_drop_has_no_line_and_stands_between_none() -> None:
    blue, red = LineColour.BLUE, LineColour.RED
    made = _coloured(blue, red, blue)
    without = made.model_copy(update={"drops": tuple(d for d in made.drops if d.service != "p1")})
    assert len(line_colour_findings(without)) == 1
