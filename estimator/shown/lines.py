"""How the line of each service looks, on screen and on paper: one table for both.

A line is told by its number, its dash pattern and the name of its colour, never by the colour alone. Dash and hue go
with the colour of the tube, so they stay with a product that is moved. The hues are this program's own choice: each has
a contrast of at least 3 to 1 on the grounds it is drawn on (the figure of WCAG 2.1, 1.4.11, for graphics).
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Final

from estimator.model.choices import LineColour
from estimator.model.colours import AIR_COLOUR, line_colours
from estimator.model.design import AIR, Design

__all__ = ["HUES", "Hue", "LineStyle", "line_styles"]


@dataclass(frozen=True, slots=True)
class Hue:
    """One colour of tube as it is drawn.

    Attributes:
        light: #rrggbb on white and on the light theme. `dark`: on the dark one.
        dash: on, off, on … in points; empty for an unbroken line.
    """

    light: str
    dark: str
    dash: tuple[float, ...]


HUES: Final[dict[str, Hue]] = {
    LineColour.BLUE: Hue("#0b57c4", "#6fb1ff", ()),
    LineColour.ORANGE: Hue("#c25200", "#ffab57", (6, 2)),
    LineColour.GREEN: Hue("#1b7f2a", "#6fdc7a", (2, 1.5)),
    LineColour.VIOLET: Hue("#6a2fa8", "#b99cff", (8, 2, 1.5, 2)),
    LineColour.RED: Hue("#c8102e", "#ff7a80", (4, 1.2, 1, 1.2, 1, 1.2)),
    LineColour.TEAL: Hue("#00788a", "#4fd8e0", (10, 3)),
    LineColour.BROWN: Hue("#5f3a14", "#c8a47c", (1, 1.2)),
    LineColour.PINK: Hue("#d0308f", "#ff9ad9", (8, 1.5, 3, 1.5)),
    AIR_COLOUR: Hue("#50565c", "#c9d0d4", (0.6, 2.0)),
}
"""By the name of the colour."""


@dataclass(frozen=True, slots=True)
class LineStyle:
    """How the line of one service is drawn.

    Attributes:
        service: product id, or compressed air's.
        tag: its number among the products, "A" for air.
        name: of the colour.
        hue: of the colour, with its dash pattern.
        width: in points; lines that share a colour differ in it as far as that goes.
    """

    service: str
    tag: str
    name: str
    hue: Hue
    width: float

    @property
    def dash(self) -> tuple[float, ...]:
        """On, off, on … in points."""
        return self.hue.dash

    @property
    def rgb(self) -> tuple[float, float, float]:
        """On paper, each part from 0 to 1."""
        red, green, blue = bytes.fromhex(self.hue.light[1:])
        return red / 255, green / 255, blue / 255

    def on(self, theme: str) -> str:
        """#rrggbb on the theme of that name."""
        return self.hue.dark if theme == "dark" else self.hue.light


def line_styles(design: Design) -> dict[str, LineStyle]:
    """A style for each product in design order, and one for air."""
    styles: dict[str, LineStyle] = {}
    uses: Counter[str] = Counter()
    for number, (service, name) in enumerate(line_colours(design).items(), 1):
        air = service == AIR
        width = 1.4 if air else 0.9 + 0.35 * min(uses[name], 3)
        styles[service] = LineStyle(service, "A" if air else str(number), name, HUES[name], width)
        uses[name] += 1
    return styles
