"""Number drills."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from estimator.hydraulics import drills


def test_diameters_strictly_increase_as_the_number_falls() -> None:
    numbers = list(drills.NUMBER_DRILLS)
    assert numbers == list(range(80, 29, -1))
    sizes = list(drills.NUMBER_DRILLS.values())
    assert all(a < b for a, b in pairwise(sizes))


# ASME B94.11M in inches: second-hand (public tables) but #30, from memory.
@pytest.mark.parametrize(
    ("number", "inch"), [(80, 0.0135), (70, 0.0280), (60, 0.0400), (50, 0.0700), (40, 0.0980), (30, 0.1285)]
)
def test_size(number: int, inch: float) -> None:
    bore = drills.drill_diameter(number)
    assert bore == pytest.approx(inch * 0.0254, rel=1e-12)


# ASME B94.11M, inches, from number 80 down. To 39 second-hand (public tables agree); 38 to 30 from memory.
SECOND_HAND = """
.0135 .0145 .0160 .0180 .0200 .0210 .0225 .0240 .0250 .0260 .0280 .0292 .0310 .0320 .0330 .0350 .0360 .0370
.0380 .0390 .0400 .0410 .0420 .0430 .0465 .0520 .0550 .0595 .0635 .0670 .0700 .0730 .0760 .0785 .0810 .0820
.0860 .0890 .0935 .0960 .0980 .0995
"""
FROM_MEMORY = ".1015 .1040 .1065 .1100 .1110 .1130 .1160 .1200 .1285"


def test_whole_table() -> None:
    second_hand, from_memory = SECOND_HAND.split(), FROM_MEMORY.split()
    for number, inch in zip(range(80, 29, -1), second_hand + from_memory, strict=True):
        assert drills.drill_diameter(number) == pytest.approx(float(inch) * 0.0254, rel=1e-12)
        assert drills.status(number) == ("second-hand" if number >= 39 else "from memory")


@pytest.mark.parametrize("number", [29, 81, 0, -1])
def test_no_such_drill(number: int) -> None:
    with pytest.raises(LookupError, match=str(number)):
        drills.drill_diameter(number)


# Water through a sharp hole of that bore, Cd 0.62, 40 psi, 998.2 kg/m3: computed from the formula.
@pytest.mark.parametrize(
    ("number", "l_min"), [(80, 0.0808), (70, 0.3474), (60, 0.7090), (50, 2.1712), (40, 4.2555), (30, 7.3165)]
)
def test_water_through_a_drill(number: int, l_min: float) -> None:
    area = 0.25 * math.pi * drills.drill_diameter(number) ** 2
    flow = 0.62 * area * math.sqrt(2.0 * 40.0 * 6894.757293168 / 998.2)
    assert 60_000.0 * flow == pytest.approx(l_min, rel=1e-3)
