"""The water that all proportioners share, from survey to finding. Equipment figures are invented demo data."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from estimator.documents.study_json import study_json
from estimator.model.finding import Finding, Severity
from estimator.shown.findings import sentences_of
from estimator.shown.proof_tables import sentences, shared
from estimator.sizing.rules import misses_range
from estimator.sizing.types import BoardProof
from estimator.study import Study
from tests.sizing.conftest import rules

Studied = Callable[..., Study]
WATER = ("site", "water")
STATIC, FLOW = (*WATER, "static_pressure"), (*WATER, "flow")
OWN = {"dilution-alone", "dilution-busy", "dilution-first-fill"}


def board(made: Study) -> BoardProof:
    assert made.proof.board is not None
    return made.proof.board


def only(made: Study, rule: str) -> Finding:
    (finding,) = (f for f in made.findings if f.rule == rule)
    return finding


def numbers(value: Any) -> list[float]:
    if isinstance(value, dict):
        return [n for v in value.values() for n in numbers(v)]
    if isinstance(value, list):
        return [n for v in value for n in numbers(v)]
    return [value] if isinstance(value, float) else []


@pytest.mark.parametrize(("static", "flow", "at"), [(4.4e5, 25.0, 3.5e5), (4.0e5, 60.0, 3.5e5)])
def test_shared_pressures_against_scipy(studied: Studied, static: float, flow: float, at: float) -> None:
    # Computed with scipy 1.17 brentq: street in NFPA 291 form (second-hand), five of 11.6 L/min at 3 bar.
    made = studied((STATIC, f"{static / 1e5} bar"), (FLOW, f"{flow} L/min"))

    def inlet(many: int) -> float:
        def spare(q: float) -> float:
            return static - (static - at) * math.pow(q / flow, 1 / 0.54) - 3e5 * (q / (11.6 * many)) ** 2

        return 3e5 * (float(brentq(spare, 1e-9, 1000.0, rtol=1e-14)) / (11.6 * many)) ** 2

    for product in board(made).products:
        assert product.alone.inlet_pa == pytest.approx(inlet(1), rel=1e-6)
        assert product.first.inlet_pa == pytest.approx(inlet(5), rel=1e-6)
        assert product.busy == product.alone
    assert board(made).at_once == 1


def test_the_first_fill_of_an_empty_board_is_told(studied: Studied) -> None:
    made = studied((STATIC, "4.4 bar"))
    finding = only(made, "dilution-first-fill")
    assert (finding.severity, finding.place) == (Severity.WARNING, "site.water.flow")
    text = sentences_of(made).installer(finding)
    assert "Interior sanitiser" in text and "one after another" in text and "Pa" not in text
    assert "one after another" in (sentences_of(made).customer(finding) or "")
    assert not (OWN - {"dilution-first-fill"}) & rules(made)


def test_a_larger_supply_lifts_it(studied: Studied) -> None:
    assert not OWN & rules(studied((STATIC, "4.4 bar"), (FLOW, "60 L/min")))


def test_the_example_as_it_is_shipped_holds_in_all_three_cases(studied: Studied) -> None:
    assert not OWN & rules(studied())


@pytest.mark.parametrize("flow", ["1 L/min", "3 L/min", "8 L/min"])
def test_a_small_supply_moves_the_answer(studied: Studied, flow: str) -> None:
    made = studied((FLOW, flow))
    assert OWN & rules(made)
    before, after = board(studied()).products, board(made).products
    for old, new in zip(before, after, strict=True):
        assert (new.first.inlet_pa or 0.0) < (old.first.inlet_pa or 0.0)
        assert (new.alone.inlet_pa or 0.0) < (old.alone.inlet_pa or 0.0)


def test_with_hardly_any_water_nothing_is_known_and_no_figure_stands(studied: Studied) -> None:
    made = studied((FLOW, "1 L/min"))
    for product in board(made).products:
        assert product.first.dilution is None and product.first.inlet_pa is not None
    text = " ".join(told(made))
    assert "is not known" in text and "inlet_pa" not in text
    assert all(math.isfinite(n) for n in numbers(json.loads(study_json(made))))


def test_static_that_was_not_read_is_assumed_and_asked_for(studied: Studied) -> None:
    made = studied((STATIC, None))
    assert board(made).static_assumed
    assert board(made).static_pa == pytest.approx(3.5e5 / 0.75)
    asked = only(made, "water-static-missing")
    assert (asked.severity, asked.place) == (Severity.NOTE, "site.water.static_pressure")
    assert ", assumed" in shared(made)[0].text
    read = studied()
    assert "water-static-missing" not in rules(read) and not board(read).static_assumed
    assert shared(read)[0] in sentences(read) and "assumed" not in shared(read)[0].text


@pytest.mark.parametrize("static", ["3.5 bar", "2 bar", "0 bar"])
def test_static_under_the_flowing_pressure_is_refused_by_its_field(studied: Studied, static: str) -> None:
    made = studied((STATIC, static))
    wrong = only(made, "water-static-low")
    assert (wrong.severity, wrong.place) == (Severity.ERROR, "site.water.static_pressure")
    assert made.proof.board is None and shared(made) == ()


def test_a_test_that_hardly_drops_the_pressure_is_called_weak(studied: Studied) -> None:
    # Second-hand: a drop under 10 % of static tells too little. 3.5 of 3.85 bar is 9.1 %, of 3.9 bar 10.3 %.
    assert only(studied((STATIC, "3.85 bar")), "water-test-weak").severity == Severity.NOTE
    assert "water-test-weak" not in rules(studied((STATIC, "3.9 bar")))


def test_more_pressure_than_the_proportioner_is_known_for_is_told(studied: Studied) -> None:
    made = studied((STATIC, "9 bar"))
    alone = [f for f in made.findings if f.rule == "dilution-alone"]
    assert [f.place for f in alone] == [f"design.plant.{at}.tip_drill" for at in range(5)]
    assert all(product.alone.dilution is None for product in board(made).products)


def test_in_a_very_busy_hour_several_fill_at_once(studied: Studied) -> None:
    made = studied((("site", "use", "vehicles_per_hour"), 60.0))
    assert 1 < board(made).at_once <= 5
    for product in board(made).products:
        assert product.alone.inlet_pa is not None and product.busy.inlet_pa is not None
        assert product.first.inlet_pa is not None
        assert product.first.inlet_pa <= product.busy.inlet_pa < product.alone.inlet_pa


@pytest.mark.parametrize(
    "edits",
    [
        ((FLOW, "0 L/min"),),
        (((*WATER, "pressure"), "0 bar"),),
        (((*WATER, "temperature"), "70 °C"),),
        ((("site", "altitude"), "5000 m"),),
        ((("site", "use", "vehicles_per_hour"), 200.0),),
        ((FLOW, "5.894e-244 L/s"),),
        (((*WATER, "pressure"), "1e-300 bar"),),
        ((FLOW, "1000 L/min"), (STATIC, "20 bar")),
    ],
)
def test_absurd_surveys_have_no_figure_that_is_none(studied: Studied, edits: tuple[Any, ...]) -> None:
    made = studied(*edits)
    assert all(math.isfinite(n) for n in numbers(json.loads(study_json(made))))
    assert made.findings


@given(
    st.floats(1.0, 300.0),
    st.floats(1.0, 300.0),
    st.floats(1.0, 300.0) | st.none(),
    st.floats(1.0, 300.0) | st.none(),
)
def test_range_of_the_label(
    given_parts: float, wanted: float, strong: float | None, weak: float | None
) -> None:
    # 25 % where the label says nothing: common practice, no source.
    missed = misses_range(given_parts, wanted, strong, weak)
    if strong is not None and weak is not None and strong <= weak:
        assert missed == (given_parts < strong or given_parts > weak)
    if strong is None and weak is None:
        assert (
            missed == (abs(given_parts / wanted - 1.0) > 0.25)
            or abs(abs(given_parts / wanted - 1.0) - 0.25) < 1e-9
        )


def told(made: Study) -> list[str]:
    """Each finding in words, in the order of the findings."""
    say = sentences_of(made)
    return [say.installer(finding) for finding in made.findings]
