"""Quick build: ten inputs to a whole design that has nothing wrong with it."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from estimator.acts.quick_build import GunGrade, LiquidNozzle, QuickBuild, QuickBuildError, quick_design
from estimator.layout.plan import lay_out
from estimator.layout.stations import bay_rectangle
from estimator.model.choices import Wall
from estimator.model.design import AIR
from estimator.model.finding import Severity
from estimator.model.job import Job
from estimator.model.site import Site
from estimator.model.spec import fields_of
from estimator.reference.catalogue import catalogue


def _inputs(**values: object) -> QuickBuild:
    return QuickBuild.model_validate(values)


def test_at_most_ten_inputs_each_with_words_and_a_default() -> None:
    fields = fields_of(QuickBuild)
    assert len(fields) <= 10
    assert all(f.label and f.help for f in fields)
    QuickBuild()  # every input has a default


def test_places_of_bays_by_hand() -> None:
    """24 m less 3 bays of 5 m is 9 m, in four gaps of 2.25 m; 14 m less 12 m is 1 m at each end."""
    site, design = quick_design(_inputs(bays=3, floor_width="24 m", floor_depth="14 m"), Site())
    assert [(b.id, b.x.si, b.y.si, b.width.si, b.length.si) for b in design.bays] == [
        ("bay-1", 2.25, 1.0, 5.0, 12.0),
        ("bay-2", 9.5, 1.0, 5.0, 12.0),
        ("bay-3", 16.75, 1.0, 5.0, 12.0),
    ]
    assert (site.floor.width.text, site.floor.depth.text) == ("24 m", "14 m")
    assert (site.board.wall, site.board.along.si) == (Wall.WEST, 7.0)
    assert site.floor.run_height == Site().floor.run_height


def test_products_go_round_the_sides() -> None:
    _, design = quick_design(_inputs(bays=1, products=5, drops_per_side=3), Site())
    assert [d.id for d in design.drops] == [
        *("1-l-prewash", "1-l-remover", "1-l-degreaser", "1-l-air"),
        *("1-r-prewash", "1-r-glass", "1-r-sanitiser", "1-r-air"),
    ]
    assert [p.dilution for p in design.products] == [40.0, 8.0, 15.0, 6.0, 64.0]
    assert [u.product for u in design.plant] == ["prewash", "remover", "degreaser", "glass", "sanitiser"]


def test_foam_gun_only_with_air() -> None:
    _, with_air = quick_design(_inputs(gun=GunGrade.METAL, nozzle=LiquidNozzle.STREAM), Site())
    _, without = quick_design(_inputs(gun=GunGrade.METAL, air=False), Site())
    first = {d.service: d for d in with_air.drops}
    assert (first["prewash"].gun, first["prewash"].nozzle.value) == ("gun-foam", "foam-gun")
    assert (first["remover"].gun, first["remover"].nozzle.value) == ("gun-metal", "stream")
    assert first[AIR].gun == "gun-air"
    assert AIR not in {d.service for d in without.drops}
    assert {(d.gun, d.nozzle.value) for d in without.drops if d.service == "prewash"} == {
        ("gun-metal", "foaming-tip")
    }


@pytest.mark.parametrize(
    ("values", "field", "words"),
    [
        # By hand: n bays of 3 m and n + 1 gaps of 0.5 m: 5 need 18 m, 6 need 21.5 m.
        ({"bays": 6, "floor_width": "20 m"}, "bays", "at most 5 bays"),
        ({"bays": 6, "floor_width": "20 m"}, "bays", "at least 21.5 m"),
        ({"bays": 1, "floor_width": "3.9 m"}, "floor_width", "at least 4 m"),
        ({"floor_depth": "5 m"}, "floor_depth", "6 m or more"),
        ({"products": 2, "drops_per_side": 3}, "drops_per_side", "at most 2"),
    ],
)
def test_what_does_not_fit_names_the_field_and_what_would(
    values: dict[str, object], field: str, words: str
) -> None:
    with pytest.raises(QuickBuildError) as caught:
        quick_design(_inputs(**values), Site())
    (finding,) = caught.value.findings
    assert finding.place == f"quick_build.{field}"
    assert finding.severity is Severity.ERROR
    assert words in finding.message


@pytest.mark.parametrize("values", [{"bays": 0}, {"sides": 3}, {"products": 9}, {"floor_width": "20 psi"}])
def test_inputs_out_of_limits(values: dict[str, object]) -> None:
    with pytest.raises(ValidationError):
        _inputs(**values)


@settings(deadline=None, max_examples=80)
@given(
    bays=st.integers(1, 12),
    sides=st.integers(1, 2),
    products=st.integers(1, 8),
    drops=st.integers(1, 8),
    air=st.booleans(),
    width=st.integers(4, 60),
    depth=st.integers(6, 40),
    wall=st.sampled_from(Wall),
)
def test_what_fits_is_sound(
    bays: int, sides: int, products: int, drops: int, air: bool, width: int, depth: int, wall: Wall
) -> None:
    inputs = _inputs(
        bays=bays,
        sides=sides,
        products=products,
        drops_per_side=drops,
        air=air,
        floor_width=f"{width} m",
        floor_depth=f"{depth} m",
        board_wall=wall,
    )
    try:
        site, design = quick_design(inputs, Site())
    except QuickBuildError:
        # Refused only where 3 m bays with 0.5 m around them do not fit, or drops outnumber products.
        assert bays * 3.0 + (bays + 1) * 0.5 > width or drops > products
        return
    Job(site=site, design=design)
    assert len(design.drops) == bays * sides * (drops + air)
    for area in map(bay_rectangle, design.bays):
        assert area.east - area.west >= 3_000_000
        assert 0 < area.south < area.north < depth * 1_000_000
    _, findings = lay_out(site, design, catalogue())
    # A product that no side had room for is told; nothing else is wrong.
    assert {f.rule for f in findings} <= {"plant-unused"}
    if bays * sides * drops >= products:
        assert not findings
