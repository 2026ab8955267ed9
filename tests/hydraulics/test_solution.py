"""Solutions and concentrates."""

from __future__ import annotations

import math

import pytest

from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.solution import liquid


def test_water_unless_told_otherwise() -> None:
    plain = liquid(293.15)
    assert plain.density_kg_m3 == pytest.approx(998.207, rel=5e-4)  # computed with iapws, IAPWS95
    assert plain.viscosity_pa_s == pytest.approx(1.0016e-3, rel=5e-3)  # computed with iapws, IAPWS95
    assert plain.viscosity_pa_s / plain.density_kg_m3 == pytest.approx(
        1.00340e-6, rel=5e-3
    )  # computed with iapws


def test_overrides_win() -> None:
    thick = liquid(293.15, 1.28, 10.0)  # viscosity of honey is taken, invented demo data
    assert thick.viscosity_pa_s == 10.0
    assert thick.density_kg_m3 == pytest.approx(1.28 * liquid(293.15).density_kg_m3, rel=1e-15)


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        ((368.15, 1.0, None), "temperature_k"),
        ((293.15, 0.0, None), "specific_gravity"),
        ((293.15, 1.0, 0.0), "viscosity_pa_s"),
        ((293.15, 1.0, math.nan), "viscosity_pa_s"),
        ((293.15, math.inf, None), "specific_gravity"),
    ],
)
def test_bad_input_names_the_field(arguments: tuple[float, float, float | None], field: str) -> None:
    with pytest.raises(OutOfRange, match=field):
        liquid(*arguments)
