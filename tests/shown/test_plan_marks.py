"""The plan that screen and paper draw: what stands where in metres, with names, numbers and colours."""

from __future__ import annotations

import pytest

from estimator.layout.plan import lay_out
from estimator.model.choices import SideName
from estimator.model.design import AIR, Design
from estimator.reference.catalogue import catalogue
from estimator.shown.plan_marks import PlanMarks, in_lane, plan_marks
from tests.layout.examples import bay, design, drop, hall

LEFT, RIGHT = SideName.LEFT, SideName.RIGHT


def _design() -> Design:
    return design(
        (bay("a", 3.0, 4.0), bay("b", 12.0, 4.0)),
        (drop("a", LEFT, "soap"), drop("a", LEFT, "wax"), drop("b", RIGHT, "soap"), drop("b", RIGHT, AIR)),
    )


def _marks(made: Design) -> PlanMarks:
    return plan_marks(hall(), made, lay_out(hall(), made, catalogue())[0])


def test_bays_board_and_stations_stand_where_the_design_has_them() -> None:
    made = _design()
    plan = _marks(made)
    assert plan.hall == (hall().floor.width.si, hall().floor.depth.si)
    # The example's bays are 4 m x 8 m; neither has a name.
    assert [(b.name, b.x, b.y, b.width, b.depth) for b in plan.bays] == [
        ("bay 1", 3.0, 4.0, 4.0, 8.0),
        ("bay 2", 12.0, 4.0, 4.0, 8.0),
    ]
    left, right = plan.stations
    # The left side, seen from the south, is the west edge; its drops hang into the bay, so to the east.
    assert (left.rail.x, left.inward) == (3.0, (1.0, 0.0))
    assert (right.rail.x, right.inward) == (16.0, (-1.0, 0.0))
    assert [d.style.tag for d in left.drops] == ["1", "2"] and [d.air for d in right.drops].count(True) == 1
    # Drop spacing 0.3 m by default: two drops hang on 0.6 m of rail.
    assert left.rail.half == pytest.approx(0.3)


def test_a_way_starts_at_the_board_and_leaves_out_what_runs_along_a_rail() -> None:
    plan = _marks(_design())
    board = plan.board.at
    assert board in {w.way[0] for w in plan.ways}
    rails = [s.rail for s in plan.stations]
    for piece in plan.ways:
        assert len(piece.way) > 1
        ends = (piece.way[:2], piece.way[-2:])
        assert not any(rail.holds(a) and rail.holds(b) for rail in rails for a, b in ends)
    assert {w.lane for w in plan.ways} == {-1.0, 0.0, 1.0}


def test_lanes_lie_side_by_side_and_ends_stay_on_what_they_hang_on() -> None:
    # By hand: a run east from a west wall, then north; its start keeps x, so it moves only along the wall.
    way = [(0.0, 0.0), (10.0, 0.0), (10.0, 5.0)]
    assert in_lane(way, ("x", ""), 2.0) == ((0.0, 2.0), (12.0, 2.0), (12.0, 7.0))
    assert in_lane(way, ("x", ""), -2.0) == ((0.0, -2.0), (8.0, -2.0), (8.0, 3.0))
