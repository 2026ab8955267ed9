"""Surveys at and beyond the edge: each a finding that names the field; never NaN or infinity."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from typing import Any

import pytest

from estimator.documents.study_json import study_json
from estimator.model.design import LinePlan, MeasuredLength
from estimator.model.edit import EditError, with_value
from estimator.model.job import Job
from estimator.model.makers import MakerData, OwnNozzle
from estimator.shown.proof_tables import assumed
from estimator.sizing.types import Verdict
from estimator.study import Study
from estimator.units import Dimension, Quantity, parse
from tests.sizing.conftest import rules

Studied = Callable[..., Study]


def bar(text: str) -> Quantity:
    return parse(text, Dimension.PRESSURE)


def all_numbers_finite(made: Study) -> bool:
    def walk(value: Any) -> bool:
        if isinstance(value, dict):
            return all(walk(v) for v in value.values())
        if isinstance(value, list):
            return all(walk(v) for v in value)
        return not isinstance(value, float) or math.isfinite(value)

    return walk(json.loads(study_json(made)))


def places(made: Study, rule: str) -> set[str]:
    return {f.place for f in made.findings if f.rule == rule}


def test_no_compressor(studied: Studied) -> None:
    made = studied((("site", "air", "free_air"), "0 L/min"), (("site", "air", "pressure"), "0 bar"))
    assert places(made, "air-nothing-left") == {"site.air.pressure"}
    assert "drop-no-flow" in rules(made) or "drop-pressure-low" in rules(made)
    assert all_numbers_finite(made)


def test_zero_water_pressure(studied: Studied) -> None:
    made = studied((("site", "water", "pressure"), "0 bar"), (("site", "water", "static_pressure"), None))
    found = [f for f in made.findings if f.place == "site.water.pressure" and f.severity == "error"]
    assert [f.rule for f in found] == ["water-none"]  # told once, not for each product
    assert made.proof.plant == ()
    assert all_numbers_finite(made)


def test_water_at_freezing_is_proved(studied: Studied) -> None:
    made = studied((("site", "water", "temperature"), "0 °C"))
    assert len(made.proof.drops) == 16
    assert all_numbers_finite(made)


def test_water_at_95_degrees_is_a_finding_and_no_figure(studied: Studied) -> None:
    made = studied((("site", "water", "temperature"), "95 °C"))
    assert made.proof.drops == ()
    assert places(made, "proof-out-of-range") == {"site.water.temperature"}
    assert all_numbers_finite(made)


def test_three_kilometre_run_starves_the_drop(studied: Studied) -> None:
    plan = LinePlan(
        service="glass",
        measured=(MeasuredLength(segment="3-l-glassx2", length=parse("3000 m", Dimension.LENGTH)),),
    )
    made = studied((("design", "lines"), (plan,)))
    far = [d for d in made.proof.drops if d.line == "glass"]
    near = [d for d in studied().proof.drops if d.line == "glass"]
    assert all(a.together.flow_m3_s < b.together.flow_m3_s for a, b in zip(far, near, strict=True))
    assert {d.verdict for d in far} == {Verdict.LOW}
    assert all_numbers_finite(made)


def test_regulator_below_the_lift_gives_no_flow(studied: Studied) -> None:
    made = studied(
        (("site", "board", "outlet_height"), "0.2 m"),
        (("design", "plant", 3, "regulator"), "0.05 bar"),
    )
    # 1.0 m of water is 9.8 kPa, above the 5 kPa of the regulator: hydrostatics.
    glass = [d for d in made.proof.drops if d.line == "glass"]
    assert {d.verdict for d in glass} == {Verdict.NO_FLOW}
    assert len(places(made, "drop-no-flow")) == 2
    assert all_numbers_finite(made)


def test_honey(studied: Studied) -> None:
    made = studied((("design", "products", 3, "viscosity"), "10000 mPa·s"))
    glass = [d for d in made.proof.drops if d.line == "glass"]
    assert {d.verdict for d in glass} == {Verdict.LOW}
    assert all_numbers_finite(made)


def test_thin_air_costs_compressor_capacity(studied: Studied) -> None:
    low, high = studied(), studied((("site", "altitude"), "3500 m"))
    assert low.proof.air is not None
    assert high.proof.air is not None
    # ISA: 65.76 kPa at 3,500 m against 101.325 kPa (computed from the ISA formula).
    assert high.proof.air.supply_m3_s / low.proof.air.supply_m3_s == pytest.approx(65.76 / 101.325, rel=2e-3)
    assert all_numbers_finite(high)


def test_nozzle_window_upside_down_is_refused(gannet: Job) -> None:
    with pytest.raises(ValueError, match=r"Window from.*must be below"):
        OwnNozzle(key="own", window_low=bar("5 bar"), window_high=bar("2 bar"))


def test_a_hose_of_three_kilometres_is_refused_with_what_would_be_right(gannet: Job) -> None:
    with pytest.raises(EditError, match=r"Hose length.*outside 0.5 m to 60 m"):
        with_value(gannet, ("design", "drops", 0, "hose_length"), "3000 m")


def test_own_nozzle_takes_the_place_of_demo_data(gannet: Job, studied: Studied) -> None:
    own = OwnNozzle(
        key="own-12",
        flow=parse("1.2 L/min", Dimension.FLOW),
        at=bar("3 bar"),
        window_low=bar("3.5 bar"),
        window_high=bar("6 bar"),
    )
    made = studied(
        (("design", "makers"), MakerData(nozzles=(own,))),
        (("design", "drops", 1, "nozzle_size"), "own-12"),
    )
    drop = next(d for d in made.proof.drops if d.drop == gannet.design.drops[1].id)
    assert (drop.window_low_pa, drop.window_high_pa) == (350_000.0, 600_000.0)
    # Square-root law with density correction: 1.2 L/min of water at 300 kPa.
    gravity = gannet.design.products[1].specific_gravity
    expected = 1.2e-3 / 60.0 * math.sqrt(drop.alone.nozzle_pressure_pa / 300_000.0 / gravity)
    assert drop.alone.flow_m3_s == pytest.approx(expected, rel=1e-9)


def test_opening_the_rivals_lowers_every_pressure(studied: Studied) -> None:
    for drop in studied().proof.drops:
        assert drop.together.nozzle_pressure_pa <= drop.alone.nozzle_pressure_pa * (1.0 + 1e-9)


def test_stated_guns_override_the_computed_number(studied: Studied) -> None:
    made = studied((("site", "use", "guns_open"), 3))
    assert {line.line: line.guns_open for line in made.proof.lines} == {
        "prewash": 3,
        "remover": 3,
        "degreaser": 3,
        "glass": 2,  # the line has two guns
        "sanitiser": 2,
    }


def test_assumptions_name_products_as_they_are_printed(studied: Studied) -> None:
    """A line whose guns cannot keep up was told by its id; a product without a name by nothing."""
    made = studied(
        (("site", "use", "vehicles_per_hour"), 60.0),
        (("design", "products", 3, "viscosity"), "5 mPa·s"),
        (("design", "products", 3, "name"), ""),
    )
    told = " ".join(assumed(made))
    assert "Stated viscosity of the solution: “product 4”." in told  # without a name it is told by its place
    assert "All guns are taken as open on: “Alkaline foam pre-wash" in told
    assert "prewash" not in told
