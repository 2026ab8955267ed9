"""The water that all proportioners share, from survey to finding. Equipment figures are invented demo data."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from estimator.documents.study_json import study_json
from estimator.model.choices import Chemistry
from estimator.model.design import Product
from estimator.model.finding import Finding, Severity
from estimator.model.sheet import SafetySheet
from estimator.reference.catalogue import catalogue
from estimator.shown.findings import sentences_of
from estimator.shown.proof_tables import sentences, shared
from estimator.sizing.rules import misses
from estimator.sizing.types import BoardProof, FeedPoint
from estimator.study import Study
from tests.sizing.conftest import rules

Studied = Callable[..., Study]
WATER = ("site", "water")
STATIC, FLOW = (*WATER, "static_pressure"), (*WATER, "flow")
COMMON = ("design", "common")
STREET = (((*COMMON, "backflow"), "backflow-device"), ((*COMMON, "booster"), "no-booster"))
"""The example without its break tank: its board stands under the pressure of the street."""
OWN = {"dilution-off", "dilution-busy", "dilution-first-fill"}


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


def device_loss(flow_l_min: float) -> float:
    """Of the shipped device [Pa]; its points are invented demo data, what lies between them is scipy's."""
    (part,) = (b for b in catalogue().backflow if b.key == "backflow-device")
    flows, losses = ([point[at] for point in part.loss_kpa] for at in (0, 1))
    return 1000.0 * float(PchipInterpolator(flows, losses)(flow_l_min))


@pytest.mark.parametrize(("static", "flow", "at"), [(4.4e5, 25.0, 3.5e5), (4.0e5, 60.0, 3.5e5)])
def test_shared_pressures_against_scipy(studied: Studied, static: float, flow: float, at: float) -> None:
    # Computed with scipy 1.17 brentq and PchipInterpolator: street in NFPA 291 form (second-hand), the loss of the
    # backflow device, five proportioners of 11.6 L/min at 3 bar.
    made = studied(*STREET, (STATIC, f"{static / 1e5} bar"), (FLOW, f"{flow} L/min"))

    def inlet(many: int) -> float:
        def spare(q: float) -> float:
            street = static - (static - at) * math.pow(q / flow, 1 / 0.54)
            return street - device_loss(q) - 3e5 * (q / (11.6 * many)) ** 2

        return 3e5 * (float(brentq(spare, 1e-9, 150.0, rtol=1e-14)) / (11.6 * many)) ** 2

    for product in board(made).products:
        assert product.alone.inlet_pa == pytest.approx(inlet(1), rel=1e-6)
        assert product.first.inlet_pa == pytest.approx(inlet(5), rel=1e-6)
        assert product.busy == product.alone
        first = product.first
        assert first.flow_m3_s is not None
        lost = device_loss(60000.0 * first.flow_m3_s)
        assert first.along_pa[0] - first.along_pa[1] == pytest.approx(lost, rel=1e-6)
    assert board(made).at_once == 1
    assert [part.name for part in board(made).points] == ["STREET", "BACKFLOW"]


def test_alone_on_the_board_is_the_proof_of_the_plant(studied: Studied) -> None:
    for made in (studied(), studied(*STREET), studied((("site", "altitude"), "2500 m"))):
        assert made.proof.plant
        for plant, product in zip(made.proof.plant, board(made).products, strict=True):
            assert product.alone.dilution == plant.dilution


def test_behind_a_break_tank_a_booster_gives_the_pressure(studied: Studied) -> None:
    made, other = studied(), studied((STATIC, "6 bar"), (FLOW, "80 L/min"))
    assert [part.name for part in board(made).points] == ["BREAK_TANK"]
    # Street and board do not meet: what the street does moves the tank, not the pressure.
    assert board(made).products == board(other).products
    none = studied(((*COMMON, "booster"), "no-booster"))
    lost = only(none, "break-tank-no-pressure")
    assert (lost.severity, lost.place) == (Severity.ERROR, "design.common.booster")
    assert none.proof.plant == () and none.proof.board is None


def test_a_street_that_fills_the_break_tank_too_slowly_is_told(studied: Studied) -> None:
    made = studied((FLOW, "8 L/min"))
    short = only(made, "break-tank-short")
    assert (short.severity, short.place) == (Severity.WARNING, "site.water.flow")
    assert "break-tank-short" not in rules(studied())


@pytest.mark.parametrize("booster", ["booster-small", "booster-large"])
def test_a_booster_behind_a_device_lifts_the_street(studied: Studied, booster: str) -> None:
    plain = studied(*STREET, (STATIC, "2 bar"), ((*WATER, "pressure"), "1.5 bar"))
    made = studied(
        *STREET, (STATIC, "2 bar"), ((*WATER, "pressure"), "1.5 bar"), ((*COMMON, "booster"), booster)
    )
    assert [part.name for part in board(made).points] == ["STREET", "BACKFLOW", "BOOSTER"]
    for before, after in zip(board(plain).products, board(made).products, strict=True):
        assert (after.alone.inlet_pa or 0.0) > (before.alone.inlet_pa or 0.0) + 2e5


def test_a_reducing_valve_holds_its_setting_less_its_fall_off(studied: Studied) -> None:
    # By hand: 2.5 bar at no flow, 0.6 kPa less a L/min (invented demo figure).
    valve = ((*COMMON, "reducer"), "reducer-half"), ((*COMMON, "reducer_setting"), "2.5 bar")
    made = studied(*STREET, (STATIC, "9 bar"), *valve)
    assert made.proof.plant
    # It stands before the protection, whose loss comes off what it holds.
    (device,) = (b for b in catalogue().backflow if b.key == "backflow-device")
    loss = PchipInterpolator([q for q, _ in device.loss_kpa], [p for _, p in device.loss_kpa])
    assert board(made).points[1:] == (FeedPoint.REDUCER, FeedPoint.BACKFLOW)
    for product in board(made).products:
        assert product.alone.inlet_pa is not None and product.alone.flow_m3_s is not None
        l_min = 60000.0 * product.alone.flow_m3_s
        held = 2.5e5 - 0.6e3 * l_min - 1000.0 * float(loss(l_min))
        assert product.alone.inlet_pa == pytest.approx(held, rel=1e-6)
    pumped = studied(*STREET, *valve, ((*COMMON, "booster"), "booster-small"))
    assert board(pumped).points[1:] == (FeedPoint.BACKFLOW, FeedPoint.BOOSTER, FeedPoint.REDUCER)
    wrong = only(studied(*STREET, valve[0], ((*COMMON, "reducer_setting"), "7 bar")), "reducer-setting")
    assert (wrong.severity, wrong.place) == (Severity.ERROR, "design.common.reducer_setting")


def test_the_loss_of_a_hose_counts_when_bore_and_length_are_given(studied: Studied) -> None:
    bore, length = ((*COMMON, "feed_bore"), "8 mm"), ((*COMMON, "feed_length"), "20 m")
    plain, made = studied(*STREET), studied(*STREET, bore, length)
    for before, after in zip(board(plain).products, board(made).products, strict=True):
        assert (after.first.inlet_pa or 0.0) < (before.first.inlet_pa or 0.0) - 2e4
    half = studied(*STREET, bore)
    assert board(half).products == board(plain).products
    assert only(half, "feed-hose-half").place == "design.common.feed_length"


def test_more_lift_draws_less_and_too_much_of_it_nothing(studied: Studied) -> None:
    tips = tuple(
        (("design", "plant", at, "tip_drill"), p.tip_drill) for at, p in enumerate(studied().proof.plant)
    )
    last = 0.0
    for lift in ("-1 m", "0 m", "1 m", "2 m", "4 m"):
        made = studied(*tips, (("design", "plant", 0, "lift"), lift))
        assert made.proof.plant[0].dilution > last
        last = made.proof.plant[0].dilution
    none = only(studied(*tips, (("design", "plant", 0, "lift"), "8 m")), "no-concentrate")
    assert "lower lift" in sentences_of(studied()).installer(none)


def test_the_first_fill_of_an_empty_board_is_told(studied: Studied) -> None:
    made = studied(*STREET, (STATIC, "4.4 bar"))
    finding = only(made, "dilution-first-fill")
    assert (finding.severity, finding.place) == (Severity.WARNING, "site.water.flow")
    text = sentences_of(made).installer(finding)
    assert "Interior sanitiser" in text and "one after another" in text and "Pa" not in text
    assert "one after another" in (sentences_of(made).customer(finding) or "")
    assert not (OWN - {"dilution-first-fill"}) & rules(made)


def test_a_larger_supply_lifts_it(studied: Studied) -> None:
    assert not OWN & rules(studied(*STREET, (STATIC, "4.4 bar"), (FLOW, "60 L/min")))


def test_the_example_as_it_is_shipped_holds_in_all_three_cases(studied: Studied) -> None:
    assert not OWN & rules(studied())


@pytest.mark.parametrize("flow", ["3 L/min", "8 L/min"])
def test_a_small_supply_moves_the_answer(studied: Studied, flow: str) -> None:
    made = studied(*STREET, (FLOW, flow))
    assert OWN & rules(made)
    before, after = board(studied(*STREET)).products, board(made).products
    for old, new in zip(before, after, strict=True):
        assert (new.first.inlet_pa or 0.0) < (old.first.inlet_pa or 0.0)
        assert (new.alone.inlet_pa or 0.0) < (old.alone.inlet_pa or 0.0)


def test_with_hardly_any_water_nothing_is_known_and_no_figure_stands(studied: Studied) -> None:
    made = studied(*STREET, (FLOW, "3 L/min"))
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


@pytest.mark.parametrize(
    ("edits", "place", "word"),
    [
        (((STATIC, "9 bar"),), "design.common.reducer", "pressure-reducing valve"),
        (((FLOW, "1 L/min"),), "site.water.pressure", "booster pump"),
    ],
)
def test_outside_its_curve_a_proportioner_has_a_finding_and_no_figure(
    studied: Studied, edits: tuple[Any, ...], place: str, word: str
) -> None:
    made = studied(*STREET, *edits)
    found = [f for f in made.findings if f.rule == "plant-out-of-range"]
    assert [f.place for f in found] == [place] * 5
    assert all(word in sentences_of(made).installer(f) for f in found)
    assert made.proof.plant == () and made.proof.board is None


def test_in_a_very_busy_hour_several_fill_at_once(studied: Studied) -> None:
    made = studied(*STREET, (("site", "use", "vehicles_per_hour"), 60.0))
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
    product = Product(id="p", dilution=wanted, label_strongest=strong, label_weakest=weak)
    missed = misses(product, given_parts)
    if strong is not None and weak is not None and strong <= wanted <= weak:
        near = min(abs(given_parts / end - 1.0) for end in (strong, weak)) < 2e-6
        assert near or missed == (given_parts < strong or given_parts > weak)
    if strong is None and weak is None:
        assert (
            missed == (abs(given_parts / wanted - 1.0) > 0.25)
            or abs(abs(given_parts / wanted - 1.0) - 0.25) < 1e-5
        )


def test_a_sanitiser_is_held_tighter_and_a_typed_tolerance_wins() -> None:
    # 10 % for what disinfects: common practice, no source.
    plain = Product(id="p", dilution=60.0)
    tight = plain.model_copy(update={"sheet": SafetySheet(classes=(Chemistry.QUATERNARY,))})
    assert not misses(plain, 70.0) and misses(tight, 70.0)
    assert not misses(tight.model_copy(update={"tolerance": 20.0}), 70.0)
    assert misses(plain.model_copy(update={"tolerance": 2.0}), 62.0)
    assert not misses(tight.model_copy(update={"label_weakest": 75.0}), 74.0)


def told(made: Study) -> list[str]:
    """Each finding in words, in the order of the findings."""
    say = sentences_of(made)
    return [say.installer(finding) for finding in made.findings]


def test_the_height_of_the_board_is_taken_off_the_street(on_the_street: Studied) -> None:
    """3 m up take 999.1 kg/m3 x 9.80665 m/s2 x 3 m = 29,393 Pa at rest; a cellar gives as much; unstated says so."""
    by_height = {
        rise: on_the_street((("site", "water", "rise"), rise)).proof.board
        for rise in (None, "0 m", "3 m", "-3 m")
    }
    inlets = {}
    for rise, board in by_height.items():
        assert board is not None
        inlet = board.products[0].alone.inlet_pa
        assert inlet is not None
        inlets[rise] = inlet
    assert inlets[None] == inlets["0 m"]
    # The water that is missing at the board flows more slowly, so part of the height comes back as less loss.
    assert 0.0 < inlets["0 m"] - inlets["3 m"] < 29_393.0
    assert 0.0 < inlets["-3 m"] - inlets["0 m"] < 29_393.0
    up = by_height["3 m"]
    assert up is not None
    street, board_height = up.products[0].alone.along_pa[:2]
    assert street - board_height == pytest.approx(29_393.0, rel=1e-4)
    told = {rise: told_of(on_the_street((("site", "water", "rise"), rise))) for rise in (None, "3 m")}
    assert "height and the hose between tie-in and board are not counted" in told[None]
    assert "the hose between tie-in and board is not counted" in told["3 m"]
    assert "height of the board" in told["3 m"]


def told_of(study: Study) -> str:
    (sentence,) = shared(study)
    return sentence.text


def test_a_break_tank_on_the_roof_fills_more_slowly(studied: Studied) -> None:
    """Behind it the height moves no mixture; what the street runs into it falls, to nothing where it does not reach."""
    low, high = (studied((("site", "water", "rise"), rise)) for rise in ("0 m", "30 m"))
    assert low.proof.board is not None and high.proof.board is not None
    assert low.proof.board.products[0].alone == high.proof.board.products[0].alone
    assert "break-tank-short" not in {f.rule for f in low.findings}
    assert "break-tank-short" in {f.rule for f in high.findings}


@pytest.mark.parametrize(
    ("rise", "place", "word"),
    [
        ("50 m", "site.water.rise", "height of the board"),
        ("2 m", "design.common.backflow", "backflow protection"),
    ],
)
def test_what_takes_the_whole_pressure_is_named_with_what_helps(
    on_the_street: Studied, rise: str, place: str, word: str
) -> None:
    """50 m of water are 490 kPa, more than the device's 30 and than any street here; 2 m are 20 kPa, less than it."""
    weak = ((("site", "water", "static_pressure"), "0.45 bar"), (("site", "water", "pressure"), "0.3 bar"))
    made = on_the_street((("site", "water", "rise"), rise), *(weak if rise == "2 m" else ()))
    found = [f for f in made.findings if f.rule == "plant-out-of-range"]
    assert [f.place for f in found] == [place] * 5
    say = sentences_of(made)
    for finding in found:
        sentence = say.installer(finding)
        assert f"the {word} alone" in sentence and "booster pump" in sentence


def test_a_street_slower_than_one_tank_keeps_every_tank_waiting(studied: Studied) -> None:
    """1 L/min instead of 25 at the tie-in worked before: no figure moved but the first fill of all tanks.

    By hand: 4 bar static, 1 L/min at 3.5 bar, so 1 x (4.0 / 0.5)**0.54 = 3.07 L/min run into the break tank.
    """
    full, slow = studied(), studied((FLOW, "1 L/min"))
    street = 1.0 * (4.0 / 0.5) ** 0.54
    finding = only(slow, "break-tank-dry")
    assert (finding.severity, finding.place) == (Severity.ERROR, "site.water.flow")
    assert "break-tank-short" not in {f.rule for f in slow.findings}
    for before, after in zip(full.proof.plant, slow.proof.plant, strict=True):
        water = 60_000.0 * after.refill_m3_s * after.dilution / (1.0 + after.dilution)
        assert water == pytest.approx(street, rel=1e-6)
        assert after.dilution == before.dilution
        assert after.refill_m3_s < 0.3 * before.refill_m3_s
    assert "break-tank-dry" not in {f.rule for f in full.findings}
    # Where a line draws more than that, its tank cannot keep up, and is told.
    busy = studied((FLOW, "1 L/min"), (("site", "use", "vehicles_per_hour"), 40.0))
    assert "refill-too-slow" in {f.rule for f in busy.findings}
    assert any(p.dry_chance > 0.0 for p in busy.proof.plant)
