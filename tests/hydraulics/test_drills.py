"""Number drills."""

from __future__ import annotations

from itertools import pairwise

import pytest

from estimator.hydraulics import drills
from estimator.hydraulics.orifice import thin_orifice_flow


def test_diameters_strictly_increase_as_the_number_falls() -> None:
    numbers = list(drills.NUMBER_DRILLS)
    assert numbers == list(range(80, 29, -1))
    sizes = list(drills.NUMBER_DRILLS.values())
    assert all(a < b for a, b in pairwise(sizes))


# ASME B94.11M in inches: second-hand (public tables) but #30, from memory. Flow L/min of water at 40 psi with
# Cd 0.62 and 998.2 kg/m3: computed.
@pytest.mark.parametrize(
    ("number", "inch", "l_min"),
    [
        (80, 0.0135, 0.0808),
        (70, 0.0280, 0.3474),
        (60, 0.0400, 0.7090),
        (50, 0.0700, 2.1712),
        (40, 0.0980, 4.2555),
        (30, 0.1285, 7.3165),
    ],
)
def test_size_and_water_flow(number: int, inch: float, l_min: float) -> None:
    bore = drills.drill_diameter(number)
    assert bore == pytest.approx(inch * 0.0254, rel=1e-12)
    flow = thin_orifice_flow(bore, 40 * 6894.757293168, 998.2)
    assert 60000 * flow == pytest.approx(l_min, rel=1e-3)


# ASME B94.11M, inches, second-hand.
@pytest.mark.parametrize(
    ("number", "inch"),
    [(79, 0.0145), (75, 0.021), (69, 0.0292), (56, 0.0465), (52, 0.0635), (47, 0.0785), (39, 0.0995)],
)
def test_more_sizes(number: int, inch: float) -> None:
    assert drills.drill_diameter(number) == pytest.approx(inch * 0.0254, rel=1e-12)
    assert drills.status(number) == "second-hand"


@pytest.mark.parametrize("number", [29, 81, 0, -1])
def test_no_such_drill(number: int) -> None:
    with pytest.raises(LookupError, match=str(number)):
        drills.drill_diameter(number)
