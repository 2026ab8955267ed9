"""Proportioner suction and metering tip. Equipment figures are invented demo data."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from estimator.hydraulics import proportioner as pr
from estimator.hydraulics.drills import NUMBER_DRILLS
from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.solution import Liquid
from tests.hydraulics.by_hand import fitting_loss, orifice_flow, tube_loss

L_MIN = 1.0 / 60000.0
UNIT = pr.ProportionerCurves(10.0 * L_MIN, 300e3, pr.GENERIC_VACUUM)
LINE = pr.SuctionLine(1.0, 2.0, 6.35e-3)
THIN = Liquid(1000.0, 1e-3, 1.0)


@given(
    st.lists(
        st.tuples(st.integers(1, 50), st.integers(0, 99_000)),
        min_size=3,
        max_size=8,
        unique_by=lambda row: row[0],
    ),
    st.floats(0.0, 1.0),
)
def test_curve_against_scipy(rows: list[tuple[int, int]], share: float) -> None:
    # Computed with scipy 1.17 PchipInterpolator.
    rows.sort()
    points = tuple((1e4 * x, float(y)) for x, y in rows)
    inlet = points[0][0] + share * (points[-1][0] - points[0][0])
    theirs = float(PchipInterpolator([x for x, _ in points], [y for _, y in points])(inlet))
    ours = pr.VacuumCurve(points).at(inlet)
    assert ours == pytest.approx(theirs, rel=1e-9, abs=1e-6)
    assert min(y for _, y in points) - 1e-6 <= ours <= max(y for _, y in points) + 1e-6


def test_curve_of_two_points_is_a_line_and_every_point_is_met() -> None:
    assert pr.VacuumCurve(((1e5, 2e4), (3e5, 6e4))).at(2e5) == pytest.approx(4e4, rel=1e-12)
    for inlet, vacuum in pr.GENERIC_VACUUM.points:
        assert pr.GENERIC_VACUUM.at(inlet) == pytest.approx(vacuum, rel=1e-12)
    assert pr.GENERIC_VACUUM.demo


def test_curve_ends_where_it_ends() -> None:
    for inlet in (99e3, 601e3, math.nan):
        with pytest.raises(OutOfRange, match="inlet_pa"):
            pr.GENERIC_VACUUM.at(inlet)


@pytest.mark.parametrize(
    ("points", "message"),
    [
        (((1e5, 2e4),), "two or more"),
        (((2e5, 2e4), (1e5, 3e4)), "point 2"),
        (((1e5, 2e4), (2e5, 2e5)), "point 2 vacuum"),
        (((1e5, math.nan), (2e5, 3e4)), "point 1 vacuum"),
    ],
)
def test_bad_curve(points: tuple[tuple[float, float], ...], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        pr.VacuumCurve(points)


def test_by_hand() -> None:
    # Computed by hand: 62 kPa less 1 m of water is 52 193 Pa. At 0.388 L/min the tube has V 0.2042 m/s, Re
    # 1297: foot valve (2000/1297 + 50) x 20.9 Pa = 1075 Pa, tube 64/1297 x 2/0.00635 x 20.9 Pa = 324 Pa; the
    # tip keeps 50 795 Pa.
    s = pr.draw(UNIT, 300e3, LINE, THIN, 1.016e-3)
    assert s.lift_pa == pytest.approx(9806.65, rel=1e-9)
    assert s.foot_pa == pytest.approx(1075, rel=5e-3)
    assert s.tube_pa == pytest.approx(324, rel=5e-3)
    assert s.tip_pa == pytest.approx(50_795, rel=1e-3)
    assert s.parts_water == pytest.approx(10.0 / 0.388, rel=2e-3)


@pytest.mark.parametrize("mu", [1e-3, 5e-3, 50e-3, 0.2, 10.0])
def test_losses_are_those_of_the_parts(mu: float) -> None:
    # The parts have their own tests against published values.
    liquid = Liquid(1050.0, mu, 1.05)
    s = pr.draw(UNIT, 300e3, LINE, liquid, 1.5e-3)
    q = s.concentrate_m3_s
    k1, k = LINE.two_k
    assert s.foot_pa == pytest.approx(fitting_loss(q, k1, k, 6.35e-3, 1050.0, mu), rel=1e-9)
    assert s.tube_pa == pytest.approx(tube_loss(q, 2.0, 6.35e-3, 1.5e-6, 1050.0, mu).loss_pa, rel=1e-9)
    assert q == pytest.approx(orifice_flow(1.5e-3, 4.0, s.tip_pa, 1050.0, mu).flow_m3_s, rel=1e-9)
    assert s.lift_pa + s.foot_pa + s.tube_pa + s.tip_pa == pytest.approx(s.vacuum_pa, rel=1e-9)
    # Honey flows below the Reynolds numbers of the orifice formula, and the result says so.
    assert any("outside 10 to 20000" in note for note in s.outside) == (mu == 10.0)


# Hagen-Poiseuille, computed: 6.35 mm, 3 m, 20 kPa; (mPa s, L/min, Re). The tip is bored so wide that it
# hardly counts.
@pytest.mark.parametrize(("mu", "l_min", "re"), [(50.0, 0.319246, 21.3), (200.0, 0.0798114, 1.33)])
def test_tube_alone_is_poiseuille(mu: float, l_min: float, re: float) -> None:
    curve = pr.VacuumCurve(((100e3, 20e3), (400e3, 20e3)))
    line = pr.SuctionLine(0.0, 3.0, 6.35e-3, foot_k1=0.0, foot_k=0.0)
    s = pr.draw(
        pr.ProportionerCurves(10 * L_MIN, 3e5, curve), 3e5, line, Liquid(1000.0, 1e-3 * mu, 1.0), 0.05
    )
    assert 60000 * s.concentrate_m3_s == pytest.approx(l_min, rel=1e-3)
    assert s.tube_reynolds == pytest.approx(re, rel=5e-3)


def test_turbulent_tube_is_not_poiseuille() -> None:
    # Computed: with 1 mPa s Poiseuille would give 15.96 L/min at Re 53 343, which is not valid.
    curve = pr.VacuumCurve(((100e3, 20e3), (400e3, 20e3)))
    line = pr.SuctionLine(0.0, 3.0, 6.35e-3, foot_k1=0.0, foot_k=0.0)
    s = pr.draw(pr.ProportionerCurves(10 * L_MIN, 3e5, curve), 3e5, line, THIN, 0.05)
    assert 60000 * s.concentrate_m3_s < 0.25 * 15.96
    assert tube_loss(s.concentrate_m3_s, 3.0, 6.35e-3, 1.5e-6, 1000.0, 1e-3).loss_pa == pytest.approx(
        20e3, rel=1e-3
    )


def test_thick_concentrate_leans_the_mix() -> None:
    parts = [
        pr.draw(UNIT, 300e3, LINE, Liquid(1000.0, mu, 1.0), 1e-3).parts_water
        for mu in (1e-3, 5e-3, 20e-3, 0.1)
    ]
    assert None not in parts
    assert all(a is not None and b is not None and a < b for a, b in pairwise(parts))


def test_no_lift_is_said() -> None:
    s = pr.draw(UNIT, 100e3, pr.SuctionLine(3.0, 4.0, 6.35e-3), THIN, 1e-3)
    assert (s.concentrate_m3_s, s.parts_water) == (0.0, None)
    assert "does not lift" in s.outside[0]
    choice = pr.choose_tip(UNIT, 100e3, pr.SuctionLine(3.0, 4.0, 6.35e-3), THIN, 20.0)
    assert choice.drill is None and "does not lift" in choice.note
    spread = pr.dilution_range(UNIT, 100e3, 400e3, pr.SuctionLine(3.0, 4.0, 6.35e-3), THIN, 1e-3)
    assert (
        spread.lean is None and spread.rich is not None and any("does not lift" in x for x in spread.outside)
    )


def test_vacuum_beyond_thin_air_is_said() -> None:
    s = pr.draw(UNIT, 600e3, LINE, THIN, 1e-3, barometric_pa=65780.0)  # 3500 m, US Standard Atmosphere 1976
    assert "more than the 66 kPa of air" in s.outside[0]


@pytest.mark.parametrize("wanted", [4.0, 10.0, 20.0, 64.0, 128.0, 256.0])
@pytest.mark.parametrize("mu", [1e-3, 20e-3, 0.2])
def test_choice_is_the_nearest_of_all_drills(wanted: float, mu: float) -> None:
    liquid = Liquid(1050.0, mu, 1.05)
    choice = pr.choose_tip(UNIT, 300e3, LINE, liquid, wanted)
    every = {n: pr.draw(UNIT, 300e3, LINE, liquid, d).parts_water for n, d in NUMBER_DRILLS.items()}
    distance = {n: abs(math.log(p / wanted)) for n, p in every.items() if p is not None}
    assert choice.drill == min(distance, key=distance.__getitem__)
    assert choice.given.parts_water == every[choice.drill]
    if choice.smaller is not None:
        assert (
            choice.smaller[0] == choice.drill + 1 and choice.smaller[1].parts_water == every[choice.drill + 1]
        )
    if choice.larger is not None:
        assert (
            choice.larger[0] == choice.drill - 1 and choice.larger[1].parts_water == every[choice.drill - 1]
        )


def test_choice_out_of_reach_is_said() -> None:
    lean = pr.choose_tip(UNIT, 300e3, LINE, Liquid(1300.0, 10.0, 1.3), 4.0)
    assert lean.drill == 30 and "leaner" in lean.note and lean.larger is None
    rich = pr.choose_tip(UNIT, 300e3, LINE, THIN, 2000.0)
    assert rich.drill == 80 and "richer" in rich.note and rich.smaller is None


def test_lean_and_rich_hold_everything_between() -> None:
    spread = pr.dilution_range(UNIT, 150e3, 500e3, LINE, THIN, 1e-3)
    assert spread.lean is not None and spread.rich is not None
    lean, rich = spread.lean.parts_water, spread.rich.parts_water
    assert lean is not None and rich is not None and rich < lean
    for inlet in np.linspace(150e3, 500e3, 301):
        parts = pr.draw(UNIT, float(inlet), LINE, THIN, 1e-3).parts_water
        assert parts is not None and rich * 0.999 <= parts <= lean * 1.001
    with pytest.raises(OutOfRange, match="high_pa"):
        pr.dilution_range(UNIT, 5e5, 2e5, LINE, THIN, 1e-3)


def test_site_test() -> None:
    assert pr.parts_from_test(1e-3, 21e-3) == pytest.approx(20.0)  # definition of 1:N
    with pytest.raises(OutOfRange, match="made_m3"):
        pr.parts_from_test(1e-3, 0.5e-3)


@pytest.mark.parametrize("wanted", [0.0, -1.0, math.nan])
def test_bad_wish(wanted: float) -> None:
    with pytest.raises(OutOfRange, match="wanted_parts"):
        pr.choose_tip(UNIT, 300e3, LINE, THIN, wanted)


def test_bad_line_names_the_field() -> None:
    with pytest.raises(OutOfRange, match="lift_m"):
        pr.SuctionLine(20.0, 1.0, 0.006)
    with pytest.raises(OutOfRange, match="bore_m"):
        pr.SuctionLine(1.0, 1.0, 0.0)


@given(
    st.floats(1e5, 6e5),
    st.floats(-1.0, 4.0),
    st.floats(0.0, 3000.0),
    st.floats(1e-3, 0.02),
    st.floats(1e-4, 100.0),
    st.floats(2e-4, 4e-3),
)
@settings(max_examples=300, deadline=None)
def test_never_anything_but_finite(
    inlet: float, lift: float, length: float, bore: float, mu: float, tip: float
) -> None:
    s = pr.draw(UNIT, inlet, pr.SuctionLine(lift, length, bore), Liquid(1000.0, mu, 1.0), tip)
    numbers = (
        s.water_m3_s,
        s.concentrate_m3_s,
        s.foot_pa,
        s.tube_pa,
        s.tip_pa,
        s.tip_reynolds,
        s.tube_reynolds,
    )
    assert all(math.isfinite(x) and x >= 0.0 for x in numbers)
    assert (s.parts_water is None) == (s.concentrate_m3_s == 0.0)
    if s.parts_water is not None:
        assert math.isfinite(s.parts_water)
        assert s.lift_pa + s.foot_pa + s.tube_pa + s.tip_pa == pytest.approx(s.vacuum_pa, rel=1e-6, abs=1e-3)


@pytest.mark.parametrize("tip", [0.4e-3, 1e-3, 2e-3, 4e-3])
@pytest.mark.parametrize("gone_at", [0.05, 0.3, 1.0])
def test_drawn_flow_takes_vacuum(tip: float, gone_at: float) -> None:
    # Computed with scipy 1.17 brentq from the parts, which have tests of their own: vacuum 62 kPa (1 - M/M0).
    unit = pr.ProportionerCurves(10.0 * L_MIN, 300e3, pr.GENERIC_VACUUM, gone_at)
    s = pr.draw(unit, 300e3, LINE, THIN, tip)
    k1, k = LINE.two_k

    def missing(q: float) -> float:
        over_tip = brentq(
            lambda dp: orifice_flow(tip, 4.0, dp, 1000.0, 1e-3).flow_m3_s - q, 0.0, 1e9, rtol=1e-13
        )
        vacuum = 62e3 * (1.0 - q / (gone_at * 10.0 * L_MIN))
        lost = (
            fitting_loss(q, k1, k, 6.35e-3, 1000.0, 1e-3)
            + tube_loss(q, 2.0, 6.35e-3, 1.5e-6, 1000.0, 1e-3).loss_pa
        )
        return vacuum - 9806.65 - lost - over_tip

    alone = pr.draw(UNIT, 300e3, LINE, THIN, tip)
    theirs = brentq(missing, 1e-12, alone.concentrate_m3_s * 1.001, rtol=1e-13)
    assert s.concentrate_m3_s == pytest.approx(theirs, rel=1e-8)
    assert s.concentrate_m3_s < alone.concentrate_m3_s
    assert s.concentrate_m3_s < gone_at * s.water_m3_s
    assert s.lift_pa + s.foot_pa + s.tube_pa + s.tip_pa == pytest.approx(s.vacuum_pa, rel=1e-9)


def test_vacuum_is_never_more_than_the_air_less_its_vapour() -> None:
    # 3500 m, US Standard Atmosphere 1976; vapour pressure of water of 40 degC, 7.385 kPa, IAPWS.
    s = pr.draw(UNIT, 600e3, LINE, THIN, 1e-3, barometric_pa=65780.0, vapour_pa=7385.0)
    assert s.vacuum_pa == pytest.approx(58395.0, rel=1e-12)
    sea = pr.draw(UNIT, 600e3, LINE, THIN, 1e-3, vapour_pa=7385.0)
    assert sea.vacuum_pa == pytest.approx(80e3, rel=1e-12)
    assert s.parts_water is not None and sea.parts_water is not None and s.parts_water > sea.parts_water
    with pytest.raises(OutOfRange, match="vapour_pa"):
        pr.draw(UNIT, 300e3, LINE, THIN, 1e-3, barometric_pa=65780.0, vapour_pa=70e3)
    with pytest.raises(OutOfRange, match="gone_at_ratio"):
        pr.ProportionerCurves(10.0 * L_MIN, 300e3, pr.GENERIC_VACUUM, 0.0)
