"""The coupled board. Equipment figures are invented demo data; expected figures are computed here with scipy."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import fluids
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from estimator.hydraulics import board as bd
from estimator.hydraulics import losses
from estimator.hydraulics.curve import Points
from estimator.hydraulics.friction import FloatArray
from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.losses import (
    GENERIC_ASSEMBLY,
    GENERIC_BOOSTER,
    Check,
    HoseRun,
    LossCurve,
    ReducingValve,
    Rise,
)
from estimator.hydraulics.orifice import discharge_coefficient
from estimator.hydraulics.proportioner import ProportionerCurves, SuctionLine, VacuumCurve
from estimator.hydraulics.pump import barometric_pressure
from estimator.hydraulics.solution import Liquid
from estimator.hydraulics.supply import SupplyCurve
from estimator.hydraulics.water import vapour_pressure
from tests.hydraulics.by_hand import fitting_loss, orifice_flow, tube_loss

L_MIN = 1.0 / 60000.0
INCH = 0.0254
# Invented: a proportioner of 11.6 L/min at 3 bar.
VACUUM = VacuumCurve(
    ((100e3, 15e3), (150e3, 28e3), (200e3, 40e3), (300e3, 60e3), (400e3, 72e3), (600e3, 80e3)), demo=True
)
UNIT = ProportionerCurves(11.6 * L_MIN, 300e3, VACUUM)
LINE = SuctionLine(1.0, 2.0, 6.35e-3)
WATER = Liquid(999.10, 1.1376e-3, 1.0)
STREET = SupplyCurve(4e5, 25 * L_MIN, 3.5e5)
SANITISER = bd.Post(UNIT, LINE, Liquid(1.05 * 999.1, 5e-3, 1.05), 0.0320 * INCH)
PREWASH = bd.Post(UNIT, LINE, Liquid(1.12 * 999.1, 20e-3, 1.12), 0.0465 * INCH)
SOLVENT = bd.Post(UNIT, LINE, Liquid(0.90 * 999.1, 5e-3, 0.90), 0.0935 * INCH)
THREE = (SANITISER, PREWASH, SOLVENT)


def of(feed: bd.Feed, posts: tuple[bd.Post, ...] = THREE, metres: float = 0.0) -> bd.WaterBoard:
    return bd.WaterBoard(feed, posts, barometric_pressure(metres), vapour_pressure(288.15))


def only(board: bd.WaterBoard, group: bd.Filling) -> bd.Settled:
    (answer,) = bd.solve(board, [group])
    return answer


def inlet(board: bd.WaterBoard, group: bd.Filling) -> float:
    water = only(board, group).water
    assert water is not None
    return water.inlet_pa


def parts(board: bd.WaterBoard, group: bd.Filling, at: int = 0) -> float:
    diluted = only(board, group).fills[at].parts_water
    assert diluted is not None
    return diluted


def through(points: Points) -> PchipInterpolator:
    return PchipInterpolator([x for x, _ in points], [y for _, y in points])


def by_scipy(post: bd.Post, inlet_pa: float) -> float:
    """Parts of water by another way: fluids 1.3.1 for tube and friction, scipy 1.17 brentq on the drawn flow."""
    rho, mu = post.concentrate.density_kg_m3, post.concentrate.viscosity_pa_s
    vacuum = float(through(VACUUM.points)(inlet_pa))
    k1, k = post.line.two_k
    area = 0.25 * math.pi * post.line.bore_m**2

    def missing(q: float) -> float:
        speed = q / area
        reynolds = fluids.Reynolds(V=speed, D=post.line.bore_m, rho=rho, mu=mu)
        factor = fluids.friction_factor(Re=reynolds, eD=post.line.roughness_m / post.line.bore_m)
        lost = (factor * post.line.length_m / post.line.bore_m + k1 / reynolds + k) * 0.5 * rho * speed**2

        def too_little(tip_pa: float) -> float:
            ideal = math.sqrt(2.0 * tip_pa / rho)
            through = discharge_coefficient(rho * ideal * post.tip_m / mu, 4.0) * ideal
            return through * 0.25 * math.pi * post.tip_m**2 - q

        over_tip = brentq(too_little, 1e-6, 1e9, xtol=1e-9, rtol=1e-13)
        return vacuum - rho * 9.80665 * post.line.lift_m - lost - over_tip

    drawn = float(brentq(missing, 1e-12, 5 * L_MIN, xtol=1e-20, rtol=1e-13))
    return post.proportioner.water_flow_m3_s * math.sqrt(inlet_pa / 300e3) / drawn


def test_three_at_once_against_scipy() -> None:
    # Street alone, as a survey gives it: static 4 bar (assumed), 25 L/min at 3.5 bar.
    for group in ((0,), (0, 1), (0, 1, 2)):
        many = len(group)

        def missing(flow: float, many: int = many) -> float:
            street = 4e5 - 0.5e5 * math.pow(flow / (25 * L_MIN), 1 / 0.54)
            return street - 3e5 * (flow / (many * 11.6 * L_MIN)) ** 2

        flow = brentq(missing, 0.0, 1.0, xtol=1e-18, rtol=1e-14)
        answer = only(of(bd.Feed(STREET)), group)
        assert answer.water is not None
        assert answer.water.flow_m3_s == pytest.approx(flow, rel=1e-10)
        assert answer.water.inlet_pa == pytest.approx(3e5 * (flow / (many * 11.6 * L_MIN)) ** 2, rel=1e-10)
        for fill in answer.fills:
            assert fill.parts_water == pytest.approx(
                by_scipy(THREE[fill.post], answer.water.inlet_pa), rel=1e-3
            )


@pytest.mark.parametrize(
    ("l_min", "tip", "alone", "three"), [(13.0, 0.0320, 64.2, 104.2), (11.6, 0.0310, 61.3, 79.0)]
)
def test_a_tie_in_that_gives_no_more_makes_a_sanitiser_far_leaner(
    l_min: float, tip: float, alone: float, three: float
) -> None:
    # Three on 25 L/min and no more, 8.33 L/min each. Invented sanitiser of 10 mPa s, number drills 67 and 68.
    post = bd.Post(replace(UNIT, water_flow_m3_s=l_min * L_MIN), LINE, Liquid(999.1, 10e-3, 1.0), tip * INCH)
    shared = 3e5 * (25 / 3 / l_min) ** 2
    assert by_scipy(post, 350e3) == pytest.approx(alone, rel=1e-3)
    assert by_scipy(post, shared) == pytest.approx(three, rel=1e-3)
    # A supply that holds 3.5 bar up to 25 L/min and gives hardly more.
    steep = LossCurve(((0.0, 0.0), (24.999 * L_MIN, 0.0), (25.0 * L_MIN, 3.4e5)))
    board = of(bd.Feed(SupplyCurve(350.001e3, 25 * L_MIN, 350e3), (steep,)), (post,) * 3)
    assert inlet(board, (0, 1, 2)) == pytest.approx(shared, rel=1e-3)
    assert parts(board, (0,)) == pytest.approx(alone, rel=2e-3)
    assert parts(board, (0, 1, 2)) == pytest.approx(three, rel=3e-3)


feeds = st.builds(
    lambda static, share, flow, setting, fall, bore, length, rise, kv: bd.Feed(
        SupplyCurve(static, flow * L_MIN, share * static),
        (
            ReducingValve(setting, 3.0, fall / L_MIN),
            losses.GENERIC_ASSEMBLY,
            Check(kv, 2e3),
            HoseRun(length, bore, WATER, k1=1300.0, k=4.0),
            Rise(rise, 999.1),
        ),
    ),
    st.floats(2e5, 10e5),
    st.floats(0.0, 0.99),
    st.floats(1.0, 200.0),
    st.floats(1e5, 6e5),
    st.floats(0.0, 3e3),
    st.floats(0.006, 0.03),
    st.floats(0.0, 30.0),
    st.floats(-3.0, 5.0),
    st.floats(0.5, 10.0),
)
units = st.lists(
    st.tuples(st.floats(2.0, 40.0), st.floats(2e5, 4e5), st.floats(0.3e-3, 3e-3), st.floats(1e-3, 0.3)),
    min_size=1,
    max_size=5,
)


def posts_of(rows: list[tuple[float, float, float, float]]) -> tuple[bd.Post, ...]:
    return tuple(
        bd.Post(ProportionerCurves(q * L_MIN, p, VACUUM, 0.5), LINE, Liquid(1050.0, mu, 1.05), tip)
        for q, p, tip, mu in rows
    )


@given(feeds, units)
@settings(max_examples=500, deadline=None)
def test_mass_and_energy_balance(feed: bd.Feed, rows: list[tuple[float, float, float, float]]) -> None:
    # Continuity and energy, put together anew from the parts; relative residuals at most 1e-8.
    board = of(feed, posts_of(rows))
    for answer in bd.solve(board):
        if answer.water is None:
            assert answer.reason is not None
            continue
        water = answer.water
        each = [rows[at][0] * L_MIN * math.sqrt(water.inlet_pa / rows[at][1]) for at in answer.filling]
        assert abs(sum(each) - water.flow_m3_s) <= 1e-8 * water.flow_m3_s
        flow = np.array(water.flow_m3_s)
        assert isinstance(feed.source, SupplyCurve)
        pressure = feed.source.static_pa - (feed.source.static_pa - feed.source.test_pa) * (
            water.flow_m3_s / feed.source.test_flow_m3_s
        ) ** (1 / 0.54)
        for stage, told in zip(feed.stages, water.along_pa[1:], strict=True):
            pressure = float(stage.after(np.array(pressure), flow))
            assert told == pytest.approx(pressure, rel=1e-8, abs=1e-8 * feed.source.static_pa)
        assert abs(pressure - water.inlet_pa) <= 1e-8 * feed.source.static_pa
        assert [fill.water_m3_s for fill in answer.fills] == pytest.approx(each, rel=1e-12)


@given(feeds, units)
@settings(max_examples=500, deadline=None)
def test_the_suctions_of_random_boards_balance(
    feed: bd.Feed, rows: list[tuple[float, float, float, float]]
) -> None:
    """What each proportioner pulls is what lift, foot valve, tube and tip take at the concentrate that flows, to 1e-8.

    Vacuum by scipy's PchipInterpolator, falling with the concentrate drawn and never more than the air; losses from the
    formulas written out in the tests.
    """
    curve = PchipInterpolator([x for x, _ in VACUUM.points], [y for _, y in VACUUM.points])
    board = of(feed, posts_of(rows))
    k1, k = LINE.two_k
    for answer in bd.solve(board):
        for fill in answer.fills:
            drawn = fill.suction
            if drawn is None or answer.water is None or drawn.concentrate_m3_s <= 0.0:
                continue
            _, _, tip, mu = rows[fill.post]
            q = drawn.concentrate_m3_s
            pull = float(curve(answer.water.inlet_pa)) * (1.0 - q / fill.water_m3_s / 0.5)
            pull = min(pull, board.barometric_pa - board.vapour_pa)
            taken = 1050.0 * 9.80665 * 1.0 + fitting_loss(q, k1, k, 6.35e-3, 1050.0, mu)
            taken += tube_loss(q, 2.0, 6.35e-3, LINE.roughness_m, 1050.0, mu).loss_pa
            assert taken + drawn.tip_pa == pytest.approx(pull, rel=1e-8)
            assert q == pytest.approx(orifice_flow(tip, 4.0, drawn.tip_pa, 1050.0, mu).flow_m3_s, rel=1e-8)


@given(feeds, units)
@settings(max_examples=100, deadline=None)
def test_every_set_is_answered_with_figures_or_a_reason(
    feed: bd.Feed, rows: list[tuple[float, float, float, float]]
) -> None:
    answers = bd.solve(of(feed, posts_of(rows)))
    assert [a.filling for a in answers] == list(bd.every_set(len(rows)))
    for answer in answers:
        assert (answer.water is None) == (answer.reason is not None) == (not answer.fills)
        for fill in answer.fills:
            assert (fill.parts_water is None) == (fill.reason is not None)
            figures = [
                fill.water_m3_s,
                fill.parts_water or 0.0,
                fill.refill_m3_s or 0.0,
                fill.concentrate_m3_s or 0.0,
            ]
            assert all(math.isfinite(x) and x >= 0.0 for x in figures)
            if fill.parts_water is not None and fill.refill_m3_s is not None:
                assert fill.concentrate_m3_s is not None
                assert fill.parts_water * fill.concentrate_m3_s == pytest.approx(fill.water_m3_s, rel=1e-12)
                # No more concentrate than the ratio at which the vacuum is gone.
                assert fill.parts_water > 2.0


@given(feeds, units, st.floats(1.0, 1.5), st.floats(1.0, 2.0))
@settings(max_examples=100, deadline=None)
def test_more_supply_never_lowers_the_inlet(
    feed: bd.Feed, rows: list[tuple[float, float, float, float]], up: float, wider: float
) -> None:
    assert isinstance(feed.source, SupplyCurve)
    posts = posts_of(rows)
    more = (
        feed.source.at_static(up * feed.source.static_pa),
        replace(feed.source, test_flow_m3_s=wider * feed.source.test_flow_m3_s),
    )
    before = bd.solve(of(feed, posts))
    for source in more:
        for old, new in zip(before, bd.solve(of(replace(feed, source=source), posts)), strict=True):
            if old.water is not None and new.water is not None:
                assert new.water.inlet_pa >= old.water.inlet_pa * (1 - 1e-9) - 1e-6
                assert new.water.flow_m3_s >= old.water.flow_m3_s * (1 - 1e-9)
            elif old.water is not None:
                assert new.reason is not None and new.reason.trouble is bd.Trouble.FLOW_ABOVE


@given(feeds, units)
@settings(max_examples=100, deadline=None)
def test_more_tanks_filling_lower_the_inlet_and_raise_the_flow(
    feed: bd.Feed, rows: list[tuple[float, float, float, float]]
) -> None:
    answers = {a.filling: a for a in bd.solve(of(feed, posts_of(rows)))}
    for group, answer in answers.items():
        for extra in range(len(rows)):
            larger = answers[tuple(sorted({*group, extra}))]
            if extra in group or answer.water is None or larger.water is None:
                continue
            assert larger.water.inlet_pa <= answer.water.inlet_pa * (1 + 1e-9) + 1e-6
            assert larger.water.flow_m3_s >= answer.water.flow_m3_s * (1 - 1e-9)
            for fill in answer.fills:
                same = next(f for f in larger.fills if f.post == fill.post)
                assert same.water_m3_s <= fill.water_m3_s * (1 + 1e-9) + 1e-15


@given(
    st.floats(-1.0, 2.0),
    st.floats(0.0, 1.0),
    st.floats(0.4e-3, 2e-3),
    st.floats(1e-3, 0.1),
    st.floats(0.1, 2.0),
)
@settings(max_examples=100, deadline=None)
def test_more_lift_draws_less(lift: float, more: float, tip: float, mu: float, gone: float) -> None:
    def at(lift_m: float) -> bd.Settled:
        post = bd.Post(
            replace(UNIT, gone_at_ratio=gone),
            SuctionLine(lift_m, 2.0, 6.35e-3),
            Liquid(1050.0, mu, 1.05),
            tip,
        )
        return only(of(bd.Feed(STREET), (post, SANITISER)), (0, 1))

    low, high = at(lift), at(lift + more)
    assert low.water == high.water
    less, drawn = high.fills[0].concentrate_m3_s, low.fills[0].concentrate_m3_s
    assert less is not None and drawn is not None and less <= drawn * (1 + 1e-9)
    assert high.fills[1] == low.fills[1]


@given(st.floats(0.0, 5000.0), st.floats(0.0, 5000.0), st.floats(2e5, 6e5))
@settings(max_examples=100, deadline=None)
def test_more_altitude_never_makes_it_richer(here: float, there: float, static: float) -> None:
    low, high = sorted((here, there))
    feed = bd.Feed(SupplyCurve(static, 100 * L_MIN, 0.9 * static))
    below, above = only(of(feed, metres=low), (0, 1, 2)), only(of(feed, metres=high), (0, 1, 2))
    # Gauge pressures are against the air of the place: the water is the same.
    assert below.water == above.water
    for one, other in zip(below.fills, above.fills, strict=True):
        assert one.parts_water is not None and other.parts_water is not None
        assert other.parts_water >= one.parts_water * (1 - 1e-9)


def test_thin_air_makes_it_leaner_where_the_curve_asks_for_more_than_there_is() -> None:
    feed = bd.Feed(SupplyCurve(6e5, 100 * L_MIN, 5.9e5))
    sea, high = only(of(feed), (0,)), only(of(feed, metres=5000.0), (0,))
    limit = barometric_pressure(5000.0) - vapour_pressure(288.15)
    assert high.fills[0].suction is not None and sea.fills[0].suction is not None
    assert high.fills[0].suction.vacuum_pa == pytest.approx(limit, rel=1e-12)
    assert sea.fills[0].suction.vacuum_pa > 79e3
    assert (high.fills[0].parts_water or 0.0) > 1.2 * (sea.fills[0].parts_water or math.inf)


@given(st.floats(0.4e-3, 2e-3), st.floats(1.001, 2.0), st.floats(1e-3, 0.1), st.floats(0.1, 2.0))
@settings(max_examples=100, deadline=None)
def test_a_wider_tip_is_richer(tip: float, wider: float, mu: float, gone: float) -> None:
    post = bd.Post(replace(UNIT, gone_at_ratio=gone), LINE, Liquid(1050.0, mu, 1.05), tip)
    feed = bd.Feed(STREET)
    small, large = of(feed, (post, SANITISER)), of(feed, (replace(post, tip_m=wider * tip), SANITISER))
    assert inlet(small, (0, 1)) == inlet(large, (0, 1))
    assert parts(large, (0, 1)) < parts(small, (0, 1))
    assert parts(large, (0, 1), 1) == parts(small, (0, 1), 1)


@given(st.floats(1e5, 6e5), st.floats(1.0, 1.5), st.floats(0.006, 0.03), st.floats(1.0, 2.0))
@settings(max_examples=100, deadline=None)
def test_setting_and_bore_never_lower_the_inlet(setting: float, up: float, bore: float, wider: float) -> None:
    def at(setting_pa: float, bore_m: float) -> float:
        stages = (ReducingValve(setting_pa, 3.0), HoseRun(10.0, bore_m, WATER))
        return inlet(of(bd.Feed(SupplyCurve(6e5, 60 * L_MIN, 5e5), stages)), (0, 1, 2))

    base = at(setting, bore)
    assert at(up * setting, bore) >= base * (1 - 1e-9)
    assert at(setting, wider * bore) >= base * (1 - 1e-9)


def test_more_pressure_can_make_a_mixture_richer_and_leaner() -> None:
    # Counterexample to "more pressure is richer": the curve flattens. And to "more pressure is leaner".
    def at(bar: float) -> float:
        return parts(of(bd.Feed(SupplyCurve(1e5 * bar, 1000 * L_MIN, 0.999e5 * bar))), (0,))

    assert at(1.5) > at(2.5) < at(5.5)


def test_another_tank_can_make_a_mixture_richer() -> None:
    # Counterexample to "the more fill, the leaner": from a pressure where the curve is flat, the first step down helps.
    strong = of(bd.Feed(SupplyCurve(6e5, 40 * L_MIN, 5e5)))
    assert parts(strong, (0, 1)) < parts(strong, (0,))
    weak = of(bd.Feed(SupplyCurve(3e5, 25 * L_MIN, 2e5)))
    assert parts(weak, (0, 1)) > parts(weak, (0,))


def test_outside_the_vacuum_curve_is_told() -> None:
    weak = only(of(bd.Feed(SupplyCurve(2e5, 10 * L_MIN, 0.5e5))), (0, 1, 2))
    assert weak.water is not None and weak.water.inlet_pa < 100e3
    for fill in weak.fills:
        assert (fill.suction, fill.parts_water, fill.refill_m3_s) == (None, None, None)
        assert fill.water_m3_s > 0.0 and fill.reason is not None
        assert fill.reason == bd.Reason(bd.Trouble.VACUUM_UNKNOWN, weak.water.inlet_pa, 100e3, 600e3)
    strong = only(of(bd.Feed(SupplyCurve(7e5, 100 * L_MIN, 6.9e5))), (0,))
    assert strong.fills[0].reason is not None and strong.fills[0].reason.value > 600e3


def test_a_vacuum_that_does_not_lift_is_told() -> None:
    high = replace(SANITISER, line=SuctionLine(3.0, 4.0, 6.35e-3))
    answer = only(of(bd.Feed(SupplyCurve(1.5e5, 100 * L_MIN, 1.49e5)), (high,)), (0,))
    reason = answer.fills[0].reason
    assert reason is not None and reason.trouble is bd.Trouble.NO_LIFT and reason.value < reason.low
    assert (answer.fills[0].parts_water, answer.fills[0].concentrate_m3_s) == (None, 0.0)


def test_no_pressure_left_is_told() -> None:
    answer = only(of(bd.Feed(SupplyCurve(0.6e5, 25 * L_MIN, 0.3e5), (GENERIC_ASSEMBLY,))), (0,))
    assert answer.water is None and answer.reason is not None
    assert answer.reason.trouble is bd.Trouble.NO_PRESSURE
    assert answer.reason.value == pytest.approx(-10e3)


def test_beyond_a_loss_curve_is_told_with_its_part() -> None:
    short = LossCurve(((0.0, 5e4), (20 * L_MIN, 6e4)))
    late = LossCurve(((15 * L_MIN, 5e4), (60 * L_MIN, 9e4)))
    above = only(of(bd.Feed(STREET, (Rise(0.0, 999.1), short))), (0, 1, 2)).reason
    assert above == bd.Reason(bd.Trouble.FLOW_ABOVE, 20 * L_MIN, 0.0, 20 * L_MIN, 2)
    below = only(of(bd.Feed(STREET, (late,))), (0,)).reason
    assert below == bd.Reason(bd.Trouble.FLOW_BELOW, 15 * L_MIN, 15 * L_MIN, 60 * L_MIN, 1)
    assert only(of(bd.Feed(STREET, (late,))), (0, 1)).water is not None
    beyond = only(
        of(
            bd.Feed(GENERIC_BOOSTER),
            (replace(SANITISER, proportioner=ProportionerCurves(80 * L_MIN, 1e5, VACUUM)),),
        ),
        (0,),
    )
    assert beyond.reason is not None and beyond.reason.part == 0
    with pytest.raises(ValueError, match="no common flow"):
        bd.Feed(STREET, (short, LossCurve(((30 * L_MIN, 0.0), (60 * L_MIN, 1.0)))))


def test_booster_against_scipy() -> None:
    # Behind a break tank there is no pressure of the street: the pump's curve is all there is.
    rise = through(GENERIC_BOOSTER.points)
    flow = brentq(
        lambda q: float(rise(q)) - 3e5 * (q / (3 * 11.6 * L_MIN)) ** 2, 1e-9, 55 * L_MIN, rtol=1e-14
    )
    answer = only(of(bd.Feed(GENERIC_BOOSTER)), (0, 1, 2))
    assert answer.water is not None
    assert answer.water.flow_m3_s == pytest.approx(flow, rel=1e-9)


def test_open_end_of_a_break_tank() -> None:
    # The float valve's Kv after the street: scipy brentq.
    def missing(q: float) -> float:
        street = 0.5e5 * math.pow(q / (25 * L_MIN), 1 / 0.54)
        return 4e5 - street - 1e5 * (3600 * q / 2.0) ** 2

    flow = bd.open_flow(bd.Feed(STREET, (Check(2.0),)))
    assert flow == pytest.approx(brentq(missing, 0.0, 1.0, rtol=1e-14, xtol=1e-18), rel=1e-9)
    empty = bd.open_flow(bd.Feed(STREET, (Rise(50.0, 999.1),)))
    assert isinstance(empty, bd.Reason) and empty.trouble is bd.Trouble.NO_PRESSURE


def test_suction_in_the_feed_is_told() -> None:
    # The street ends in a cellar 8 m below the assembly, whose loss leaves less than the air's pressure.
    feed = bd.Feed(
        SupplyCurve(0.9e5, 50 * L_MIN, 0.5e5),
        (GENERIC_ASSEMBLY, HoseRun(3.0, 0.005, WATER), Rise(-8.0, 999.1)),
    )
    answer = only(of(feed), (0,))
    assert answer.water is not None
    assert answer.water.under_suction == (2,)
    plain = only(of(bd.Feed(STREET)), (0,)).water
    assert plain is not None and plain.under_suction == ()


@pytest.mark.parametrize("bad", [(), (1, 0), (0, 0), (-1,), (0, 3)])
def test_a_bad_set_is_named(bad: bd.Filling) -> None:
    with pytest.raises(ValueError, match="give positions of proportioners"):
        bd.solve(of(bd.Feed(STREET)), [bad])


def test_bad_boards() -> None:
    with pytest.raises(ValueError, match="at least one proportioner"):
        of(bd.Feed(STREET), ())
    with pytest.raises(OutOfRange, match="vapour_pa"):
        bd.WaterBoard(bd.Feed(STREET), THREE, 50e3, 60e3)
    with pytest.raises(OutOfRange, match="tip_m"):
        replace(SANITISER, tip_m=0.0)
    with pytest.raises(OutOfRange, match="posts"):
        bd.every_set(6)
    with pytest.raises(OutOfRange, match="barometric_pa"):
        bd.WaterBoard(bd.Feed(STREET), THREE, math.nan)


def test_sets_of_a_larger_board_are_named_by_the_caller() -> None:
    board = of(bd.Feed(SupplyCurve(5e5, 100 * L_MIN, 4e5)), THREE * 3)
    groups = [tuple(range(n)) for n in range(1, 10)]
    pressures = [a.water.inlet_pa for a in bd.solve(board, groups) if a.water is not None]
    assert len(pressures) == 9 and all(a > b for a, b in pairwise(pressures))
    with pytest.raises(OutOfRange, match="posts"):
        bd.solve(board)


def test_a_feed_without_a_limit_is_refused() -> None:
    class Endless:
        known = (0.0, math.inf)

        def pressure(self, flow_m3_s: FloatArray) -> FloatArray:
            return np.full_like(flow_m3_s, 1e5)

    with pytest.raises(ValueError, match="nothing in it limits"):
        bd.open_flow(bd.Feed(Endless()))


@pytest.mark.parametrize("flow", [1e-300, 1e-12, 1.0, 1e9])
def test_absurd_streets_have_figures_or_a_reason(flow: float) -> None:
    for answer in bd.solve(of(bd.Feed(SupplyCurve(4e5, flow, 3.5e5)))):
        assert answer.water is not None
        assert 0.0 <= answer.water.inlet_pa <= 4e5 * (1 + 1e-9)
        assert math.isfinite(answer.water.flow_m3_s)
