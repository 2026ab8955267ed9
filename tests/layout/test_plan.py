"""Layouts by hand count, and what must hold for every layout."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.layout.plan import lay_out
from estimator.layout.types import FittingKind, Layout, LineLayout, Point
from estimator.model.choices import BayDirection, SideName
from estimator.model.design import AIR, Bay, Design, Drop, LinePlan, MeasuredLength, SegmentTube
from estimator.reference.catalogue import catalogue
from estimator.units import Dimension, parse
from tests.layout.examples import bay, design, drop, gannet_quay, hall, harrow_mill
from tests.work import calls_of

LEFT, RIGHT = SideName.LEFT, SideName.RIGHT
K = FittingKind


def _lay(d: Design) -> Layout:
    return lay_out(hall(), d, catalogue())[0]


def _way(line: LineLayout, end: str) -> tuple[Point, ...]:
    """All corners from the board to an outlet, those in a straight line left out."""
    by_id = {s.id: s for s in line.segments}
    here = next(s for s in line.segments if s.ends_at_drop == end)
    chain = [here]
    while chain[-1].upstream:
        chain.append(by_id[chain[-1].upstream])
    points = [p for s in reversed(chain) for p in s.points]
    kept = [points[0]]
    for p in points[1:]:
        if p == kept[-1]:
            continue
        if len(kept) > 1:
            a, b = kept[-2], kept[-1]
            if sum((a.x == b.x == p.x, a.y == b.y == p.y, a.z == b.z == p.z)) == 2:
                kept.pop()
        kept.append(p)
    return tuple(kept)


def _plain_m(points: tuple[Point, ...]) -> float:
    return sum(abs(a.x - b.x) + abs(a.y - b.y) + abs(a.z - b.z) for a, b in pairwise(points))


def test_gannet_quay_lines_by_hand() -> None:
    """Invented demo job; every figure counted by hand from the plan.

    Board at (0, 7), outlet 1.6 m, run 3.2 m: 1.6 up. Bays from x = 3, 10, 17, 5 wide: stations at x = 3, 8,
    10, 15, 17, 22, all at y = 7, so the corridor is straight. Hoses leave at 2.1 m: 1.1 down. Spacing 0.3:
    four drops at -0.45 -0.15 0.15 0.45 from the middle, three at -0.3 0 0.3. Allowance 5 %.
    """
    job = gannet_quay()
    layout, findings = lay_out(job.site, job.design, catalogue())
    assert findings == ()
    lengths = {line.id: line.length_m for line in layout.lines}
    assert lengths == pytest.approx(
        {
            # 1.6 + 15 to the last station, four ends of 0.45 + 1.1
            "prewash": 1.05 * (16.6 + 4 * 1.55),
            # the same, four ends of 0.15 + 1.1
            "remover": 1.05 * (16.6 + 4 * 1.25),
            "degreaser": 1.05 * (16.6 + 4 * 1.25),
            # 1.6 + 22, two ends of 0.3 + 1.1
            "glass": 1.05 * (23.6 + 2 * 1.4),
            # 1.6 + 22, two ends straight down
            "sanitiser": 1.05 * (23.6 + 2 * 1.1),
            # 1.6 + 22, four air drops and four foam guns at 0.45 + 1.1, two air drops at 0.3 + 1.1
            "air": 1.05 * (23.6 + 8 * 1.55 + 2 * 1.4),
        },
        abs=1e-9,
    )
    assert [s.id for s in layout.stations] == [
        f"bay-{n}-{side}" for n in (1, 2, 3) for side in ("left", "right")
    ]
    # Hanging order: products as in the design, then air. Strut: a spacing a drop.
    assert layout.stations[0].drops == ("1-l-prewash", "1-l-remover", "1-l-degreaser", "1-l-air")
    assert [s.strut_m for s in layout.stations] == pytest.approx([1.2] * 4 + [0.9] * 2)
    assert layout.board == Point(0.0, 7.0, 1.6)
    assert layout.drop_points["1-l-prewash"] == Point(3.0, 6.55, 2.1)
    assert layout.drop_points["3-r-air"] == Point(22.0, 7.3, 2.1)
    assert layout.corridor[0] == (Point(0.0, 7.0, 3.2), Point(22.0, 7.0, 3.2))
    assert layout.board_strut_m == pytest.approx(4.8)  # 2 rails of 2.4


def test_gannet_quay_segments_of_one_line_by_hand() -> None:
    job = gannet_quay()
    layout, _ = lay_out(job.site, job.design, catalogue())
    line = layout.line("glass")
    assert line is not None
    assert [(s.id, s.upstream, s.drops, s.ends_at_drop) for s in line.segments] == [
        ("3-l-glassx2", "", ("3-l-glass", "3-r-glass"), ""),
        ("3-l-glassx1", "3-l-glassx2", ("3-l-glass",), "3-l-glass"),
        ("3-r-glassx1", "3-l-glassx2", ("3-r-glass",), "3-r-glass"),
    ]
    assert line.segments[0].points == (
        Point(0.0, 7.0, 1.6),
        Point(0.0, 7.0, 3.2),
        Point(17.0, 7.0, 3.2),
    )
    assert line.segments[2].points == (
        Point(17.0, 7.0, 3.2),
        Point(22.0, 7.0, 3.2),
        Point(22.0, 6.7, 3.2),
        Point(22.0, 6.7, 2.1),
    )
    assert [[f.kind for f in s.fittings] for s in line.segments] == [
        [K.SHUT_OFF_VALVE, K.CHECK_VALVE, K.ELBOW, K.TEE],
        [K.ELBOW, K.SHUT_OFF_VALVE, K.DROP_CONNECTOR],
        [K.ELBOW, K.ELBOW, K.SHUT_OFF_VALVE, K.DROP_CONNECTOR],
    ]


def test_foam_gun_takes_air_with_check_valves_on_both_inlets() -> None:
    d = design((bay("b", 5.0, 2.0),), (drop("b", LEFT, "soap", foam=True), drop("b", RIGHT, "wax")))
    layout = _lay(d)
    assert [line.id for line in layout.lines] == ["soap", "wax", AIR]
    for line_id, at_start in (("soap", 1), (AIR, 0)):
        line = layout.line(line_id)
        assert line is not None
        assert [s.ends_at_drop for s in line.segments] == ["b-l-soap"]
        kinds = Counter(f.kind for s in line.segments for f in s.fittings)
        assert kinds[K.CHECK_VALVE] == at_start + 1
        assert kinds[K.SHUT_OFF_VALVE] == 2
        assert kinds[K.DROP_CONNECTOR] == 1


def test_four_ways_are_two_tees() -> None:
    # Three drops of one line at a station in the corridor's way: on, both ways along the rail, and down.
    drops = (
        drop("b", LEFT, "soap"),
        drop("b", LEFT, "wax").model_copy(update={"service": "soap"}),
        drop("b", LEFT, "third").model_copy(update={"service": "soap"}),
    )
    layout = _lay(design((bay("b", 5.0, 6.0),), drops, ("soap",)))
    line = layout.line("soap")
    assert line is not None
    first = line.segments[0]
    assert [f.kind for f in first.fittings].count(K.TEE) == 2
    assert [s.upstream for s in line.segments] == ["", first.id, first.id, first.id]
    # By hand: 1.5 up + 5 along; 0.3 + 0.9, 0.9, 0.3 + 0.9.
    assert line.length_m == pytest.approx(1.05 * (6.5 + 1.2 + 0.9 + 1.2))


def test_east_west_bay() -> None:
    across = Bay.model_validate({**bay("b", 5.0, 2.0).model_dump(), "direction": BayDirection.EAST_WEST})
    layout = _lay(design((across,), (drop("b", LEFT, "soap"), drop("b", RIGHT, "soap"))))
    # By hand: 8 long from x = 5, so its middle is x = 9; left is north (y = 2 + 4), right is south (y = 2).
    assert layout.stations[0].at == Point(9.0, 6.0, 3.0)
    assert layout.stations[1].at == Point(9.0, 2.0, 3.0)


def test_typed_station_position_counts_from_the_south_end() -> None:
    moved = bay("b", 5.0, 2.0)
    moved = moved.model_copy(
        update={"left": moved.left.model_copy(update={"station": parse("1 m", Dimension.LENGTH)})}
    )
    assert _lay(design((moved,), (drop("b", LEFT, "soap"),))).stations[0].at == Point(5.0, 3.0, 3.0)


def test_measured_length_wins_and_takes_no_allowance() -> None:
    base = design((bay("b", 5.0, 6.0),), (drop("b", LEFT, "soap"),))
    plan = LinePlan(
        service="soap",
        measured=(MeasuredLength(segment="b-l-soapx1", length=parse("40 ft", Dimension.LENGTH)),),
    )
    layout, findings = lay_out(hall(), base.model_copy(update={"lines": (plan,)}), catalogue())
    line = layout.line("soap")
    assert line is not None
    segment = line.segments[0]
    assert segment.measured
    assert segment.length_m == pytest.approx(40 * 0.3048)  # ft: exact by definition, NIST SP 811
    # By hand: 1.5 up, 5 along, 0.9 down, 5 % more.
    assert segment.computed_m == pytest.approx(1.05 * 7.4)
    # Only the example's second product, which has plant and no drop.
    assert [f.rule for f in findings] == ["plant-unused"]


def test_length_and_size_of_a_segment_that_is_gone() -> None:
    base = design((bay("b", 5.0, 6.0),), (drop("b", LEFT, "soap"), drop("b", RIGHT, "soap")), ("soap",))
    five = parse("5 m", Dimension.LENGTH)
    plan = LinePlan(
        service="soap",
        measured=(
            MeasuredLength(segment="b-l-soapx7", length=five),
            MeasuredLength(segment="b-l-soapx2", length=five),
            MeasuredLength(segment="b-l-soapx2", length=parse("6 m", Dimension.LENGTH)),
        ),
        segment_tubes=(SegmentTube(segment="away", tube="tube-6"),),
    )
    layout, findings = lay_out(hall(), base.model_copy(update={"lines": (plan,)}), catalogue())
    assert [(f.rule, f.place) for f in findings] == [
        ("segment-gone", "design.lines.0.measured.0.segment"),
        ("segment-twice", "design.lines.0.measured.2.segment"),
        ("segment-gone", "design.lines.0.segment_tubes.0.segment"),
    ]
    assert "“b-l-soapx2”, “b-l-soapx1” and “b-r-soapx1”" in findings[0].message
    line = layout.line("soap")
    assert line is not None
    assert line.segments[0].length_m == 5.0


def test_harrow_mill_keeps_what_hangs_there() -> None:
    """Invented demo job, counted by hand in feet.

    Board at (22, 36), outlet 5, run 10, hoses leave at 7. Today: left stations (5, 17) and (25, 17), so down
    the hall at x = 22 to y = 17 and along y = 17 both ways. New: right stations (19, 17), on that way, and
    (39, 17), 14 further east.
    """
    job = harrow_mill()
    layout, findings = lay_out(job.site, job.design, catalogue())
    assert findings == ()
    ft = 0.3048
    shares = {
        line.id: (
            sum(s.length_m for s in line.segments if s.existing) / ft / 1.05,
            sum(s.length_m for s in line.segments if not s.existing) / ft / 1.05,
        )
        for line in layout.lines
    }
    # Existing shampoo: 5 + 19 to (22, 17); west 3 + 14, 0.5 along the rail, 3 down; east 3, 0.5, 3 down.
    # New shampoo: at (19, 17) 1 + 3; from (25, 17) 14 + 1 + 3. Interior likewise, its new drops in the
    # middle: 3 and 14 + 3. Glass, all new, third on the old rails (1.5 from the middle), 1 on the new ones.
    assert shares["shampoo"] == pytest.approx((24 + 20.5 + 6.5, 4 + 18))
    assert shares["interior"] == pytest.approx((51, 3 + 17))
    assert shares["glass"] == pytest.approx((0, 24 + (3 + 14 + 1.5 + 3) + 4 + (3 + 1.5 + 3) + 18))
    # The new tees in the old lines are bought, those of today are not.
    line = layout.line("shampoo")
    assert line is not None
    tees = [f for s in line.segments for f in s.fittings if f.kind is K.TEE]
    assert sorted(f.existing for f in tees) == [False, False, True]
    assert [s.strut_m for s in layout.stations] == pytest.approx([0.0, 3 * ft, 0.0, 3 * ft])
    assert layout.board_strut_m == 0.0
    assert layout.board_strut_existing_m == pytest.approx(12 * ft)


# What must hold for every layout.

_SERVICES = ("soap", "wax", AIR)


@st.composite
def _designs(draw: st.DrawFn) -> Design:
    count = draw(st.integers(1, 4))
    bays = tuple(
        bay(f"b{i}", 1.0 + 6.5 * i, draw(st.sampled_from([0.0, 0.5, 1.0, 4.0, 5.5, 7.25, 12.0])))
        for i in range(count)
    )
    drops: list[Drop] = []
    for i in range(count):
        for side in (LEFT, RIGHT):
            for service in draw(st.sets(st.sampled_from(_SERVICES))):
                existing = draw(st.booleans())
                drops.append(drop(f"b{i}", side, service, existing=existing, foam=draw(st.booleans())))
    return design(bays, tuple(sorted(drops, key=lambda d: d.id)))


@settings(deadline=None, max_examples=150)
@given(_designs())
def test_every_line_is_a_tree_that_reaches_its_drops(d: Design) -> None:
    layout = _lay(d)
    foam = {x.id for x in d.drops if x.gun == "gun-foam"}
    for service in _SERVICES:
        line = layout.line(service)
        wanted = {x.id for x in d.drops if x.service == service} | (foam if service == AIR else set())
        if line is None:
            assert not wanted
            continue
        segments = {s.id: s for s in line.segments}
        assert len(segments) == len(line.segments)
        ends = [s.ends_at_drop for s in line.segments if s.ends_at_drop]
        assert sorted(ends) == sorted(wanted)
        seen: set[str] = set()
        for s in line.segments:
            if s.upstream:
                assert s.upstream in seen
                assert segments[s.upstream].points[-1] == s.points[0]
            else:
                assert s is line.segments[0]
                assert s.points[0] == layout.board
            seen.add(s.id)
            onward = [o for o in line.segments if o.upstream == s.id]
            # A tee has three ways: one in, two on; each further way is a tee more.
            tees = sum(f.kind is K.TEE for f in s.fittings)
            assert tees == max(len(onward) - 1, 0)
            assert bool(onward) != bool(s.ends_at_drop)
            assert len(onward) != 1
            assert sorted(x for o in onward for x in o.drops) == (list(s.drops) if onward else [])
            elbows = sum(f.kind is K.ELBOW for f in s.fittings)
            assert elbows == len(s.points) - 2
            for a, b in pairwise(s.points):
                assert sum((a.x != b.x, a.y != b.y, a.z != b.z)) == 1
            assert s.computed_m == pytest.approx(1.05 * _plain_m(s.points))
            assert s.existing == any(x.existing for x in d.drops if x.id in s.drops)
            if s.ends_at_drop:
                assert s.points[-1] == layout.drop_points[s.ends_at_drop]
        assert line.length_m == pytest.approx(sum(s.length_m for s in line.segments))


@settings(deadline=None, max_examples=150)
@given(_designs())
def test_adding_drops_never_changes_what_exists(d: Design) -> None:
    standing = tuple(x for x in d.drops if x.existing)
    today = _lay(d.model_copy(update={"drops": standing}))
    later = _lay(d)
    for before in today.lines:
        after = later.line(before.id)
        assert after is not None
        for s in before.segments:
            if s.ends_at_drop:
                assert _way(after, s.ends_at_drop) == _way(before, s.ends_at_drop)
        kept = [s for s in after.segments if s.existing]
        assert sum(s.length_m for s in kept) == pytest.approx(before.length_m)
        old = Counter(f.kind for s in before.segments for f in s.fittings)
        now = Counter(f.kind for s in after.segments for f in s.fittings if f.existing)
        # An elbow may give way to a tee; everything else stays and nothing old appears.
        assert now[K.ELBOW] <= old[K.ELBOW]
        for kind in (K.TEE, K.CHECK_VALVE, K.SHUT_OFF_VALVE, K.DROP_CONNECTOR):
            assert now[kind] == old[kind]
    for place, at in today.drop_points.items():
        assert later.drop_points[place] == at


@settings(deadline=None, max_examples=40)
@given(_designs(), st.randoms(use_true_random=False))
def test_same_design_same_layout(d: Design, source: object) -> None:
    assert _lay(d) == _lay(d)
    # The order of drops in the list does not matter where each service hangs once at a side.
    assert _lay(d.model_copy(update={"drops": d.drops[::-1]})) == _lay(d)


def test_no_drops() -> None:
    layout = _lay(Design())
    assert (layout.lines, layout.stations, layout.corridor) == ((), (), ())


def _work_to_lay_out(stations: int) -> int:
    bays = tuple(bay(f"b{i}", 1.0 + 6.0 * i, 0.5 * (i * 37 % 7)) for i in range(stations // 2))
    sides = tuple(drop(b.id, side, service) for b in bays for side in (LEFT, RIGHT) for service in _SERVICES)
    return calls_of(lambda: lay_out(hall(), design(bays, sides), catalogue()))


def test_work_grows_with_the_stations_so_that_it_follows_a_drag() -> None:
    """4.7 times the calls for five times the stations today; `tests/benchmarks/stages.py` times them."""
    _work_to_lay_out(4)  # what is worked out once and kept
    assert _work_to_lay_out(30) < 6.0 * _work_to_lay_out(6)
