"""A line's check valve by the flow coefficient and the cracking pressure of its catalogue entry.

Kv: IEC 60534-2-1 (from memory), flow of water in m3/h at 1 bar, 999.1 kg/m3; the step from Cv to K is that of the
library fluids 1.3.1 (computed). The catalogue's figures are invented demo data.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from fluids.fittings import Kv_to_K

from estimator.hydraulics.pump import barometric_pressure
from estimator.hydraulics.solution import liquid
from estimator.layout.types import FittingKind, LineLayout, PlacedFitting, Point, Segment
from estimator.model.design import Design, Drop, Product
from estimator.model.site import Use
from estimator.reference.catalogue import Catalogue, catalogue
from estimator.reference.resolved import resolve
from estimator.sizing.line_network import LineParts, cracking_pa, fitting_losses, line_parts
from estimator.sizing.line_proof import LineAnswer, prove_line
from estimator.sizing.types import Verdict

PARTS = catalogue()
WATER = liquid(288.15)


def _line(valves: int, tube: str = "tube-6") -> LineParts:
    start, end = Point(0.0, 0.0, 1.5), Point(9.0, 0.0, 2.0)
    fittings = [PlacedFitting(FittingKind.SHUT_OFF_VALVE, start, ("soap",))]
    fittings += [PlacedFitting(FittingKind.CHECK_VALVE, start, ("soap",))] * valves
    segment = Segment(
        id="way",
        line="soap",
        upstream="",
        points=(start, end),
        computed_m=12.0,
        length_m=12.0,
        measured=False,
        existing=False,
        drops=("d",),
        fittings=tuple(fittings),
        ends_at_drop="d",
    )
    drop = Drop.model_validate({"id": "d", "bay": "1", "service": "soap", "nozzle_size": "03"})
    made = line_parts(LineLayout("soap", (segment,)), resolve(Design(drops=(drop,)), PARTS))
    return replace(made, tubes=(next(t for t in PARTS.tubes if t.key == tube),))


def _proved(line: LineParts, pressure_pa: float) -> LineAnswer:
    product = Product.model_validate({"id": "soap", "name": "Soap", "use_per_vehicle": "2 L"})
    return prove_line(
        line, product, Use(), PARTS.pumps[0], pressure_pa, WATER, barometric_pressure(0.0), 15.0
    )


@pytest.mark.parametrize("tube", PARTS.tubes, ids=lambda t: t.key)
def test_the_valve_loses_what_its_coefficient_says(tube: object) -> None:
    found = next(t for t in PARTS.tubes if t is tube)
    bore = found.bore_mm / 1000.0
    with_valve, without = (
        fitting_losses(line.layout.segments[0], None, found) for line in (_line(1), _line(0))
    )
    assert with_valve[0] == without[0]
    expected = Kv_to_K(found.check_valve.kv, bore)
    # The library's Kv is rounded in the seventh figure and takes water of 999 kg/m3.
    assert with_valve[1] - without[1] == pytest.approx(expected, rel=5e-4)


@pytest.mark.parametrize("tube", ["tube-6", "tube-8"])
def test_the_line_loses_spring_and_flow_of_the_valve_and_no_more(tube: str) -> None:
    """The same line without a valve gives the same flow at a source pressure that is lower by the valve's loss."""
    chosen = next(t for t in PARTS.tubes if t.key == tube)
    found = _proved(_line(1, tube), 4e5)
    flow_m3_s = found.drops[0].alone.flow_m3_s
    kv_loss = 1e5 * (3600.0 * flow_m3_s / chosen.check_valve.kv) ** 2 * WATER.density_kg_m3 / 999.1
    lost = 1000.0 * chosen.check_valve.cracking_kpa + kv_loss
    again = _proved(_line(0, tube), 4e5 - lost)
    assert again.drops[0].alone.flow_m3_s == pytest.approx(flow_m3_s, rel=1e-7)
    assert lost > 1.1e4


def test_a_small_check_valve_no_longer_takes_a_third_of_the_pressure() -> None:
    """A lift check of large pipe, scaled to 4 mm (K1 2,000, Kinf 10 (1 + 25.4/4): Hooper 1981, second-hand), took 75
    of 211 kPa at 1.07 L/min: its figures hold from some 12 mm upwards."""
    flow_m3_s = 1.07e-3 / 60.0
    speed = flow_m3_s / (0.25 * math.pi * 0.004**2)
    dynamic = 0.5 * WATER.density_kg_m3 * speed**2
    reynolds = WATER.density_kg_m3 * speed * 0.004 / WATER.viscosity_pa_s
    scaled = (2000.0 / reynolds + 10.0 * (1.0 + 25.4 / 4.0)) * dynamic
    valve = PARTS.tubes[0].check_valve
    counted = 1000.0 * valve.cracking_kpa + 1e5 * (3600.0 * flow_m3_s / valve.kv) ** 2
    assert scaled == pytest.approx(75e3, rel=0.03)
    assert counted < 0.1 * 2.11e5
    # The program's own figure at that flow is the catalogue's.
    line = _line(1)
    k = (
        fitting_losses(line.layout.segments[0], None, line.tubes[0])[1]
        - fitting_losses(_line(0).layout.segments[0], None, line.tubes[0])[1]
    )
    spring = cracking_pa(line.layout.segments[0], line.tubes[0])
    assert k * dynamic + spring == pytest.approx(counted, rel=1e-3)


def test_a_pump_that_does_not_open_the_valve_gives_nothing() -> None:
    line = _line(1)
    lift = WATER.density_kg_m3 * 9.80665 * (1.2 - 1.5)  # the gun is below the pump's outlet
    opens = cracking_pa(line.layout.segments[0], line.tubes[0]) + lift
    assert opens > 0.0
    assert _proved(line, 0.99 * opens).drops[0].verdict is Verdict.NO_FLOW
    assert _proved(line, 1.05 * opens).drops[0].alone.flow_m3_s > 0.0


def test_at_rest_the_whole_pressure_stands_behind_the_valve() -> None:
    """A valve that closed late has let through all of it: what a tube must stand is not less for a spring."""
    rests = [_proved(_line(valves), 4e5).line.segments[0].pressure_pa for valves in (0, 1)]
    assert rests[0] == pytest.approx(4e5, abs=1.0)
    assert rests[1] == pytest.approx(rests[0], abs=1e-6)


def test_a_wider_tube_whose_valve_loses_more_is_refused() -> None:
    """What the search for the cheapest sizes counts on."""
    data = PARTS.model_dump()
    data["tubes"][1]["check_valve"]["cracking_kpa"] = 20.0
    with pytest.raises(ValueError, match=r"tube-8: its check_valve must not lose more"):
        Catalogue.model_validate(data)
