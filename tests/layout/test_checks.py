"""Each finding of the layout: raised where it belongs, and not on a sound design."""

from __future__ import annotations

import pytest

from estimator.layout.plan import lay_out
from estimator.model.choices import HoseKind, NozzleType, SideName
from estimator.model.design import AIR, Design, LinePlan, PlantUnit, Product, SegmentTube
from estimator.model.finding import Finding, Severity
from estimator.model.site import AirSupply, Site
from estimator.reference.catalogue import catalogue
from estimator.reference.resolved import resolve
from tests.layout.examples import bay, design, drop, hall

LEFT, RIGHT = SideName.LEFT, SideName.RIGHT


def _sound() -> Design:
    return design(
        (bay("a", 3.0, 4.0), bay("b", 12.0, 4.0)),
        (drop("a", LEFT, "soap", foam=True), drop("a", LEFT, "wax"), drop("b", RIGHT, AIR)),
    )


def _changed(d: Design, path: str, **values: object) -> Design:
    """A copy with fields of one row of a list changed: path is "drops.0"."""
    name, row = path.split(".")
    rows = list(getattr(d, name))
    model = type(rows[int(row)])
    rows[int(row)] = model.model_validate({**dict(rows[int(row)]), **values})
    return d.model_copy(update={name: tuple(rows)})


def _site(group: str, **values: object) -> Site:
    part = getattr(hall(), group)
    return hall().model_copy(update={group: type(part).model_validate({**dict(part), **values})})


def _found(site: Site, d: Design) -> list[Finding]:
    return list(lay_out(site, d, catalogue())[1])


def test_a_sound_design_has_no_finding() -> None:
    assert _found(hall(), _sound()) == []


@pytest.mark.parametrize(
    ("site", "changed", "rule", "place", "severity", "words"),
    [
        (
            _site("floor", run_height="5 m"),
            _sound(),
            "run-above-ceiling",
            "site.floor.run_height",
            Severity.ERROR,
            "4 m",
        ),
        (
            _site("board", along="19.5 m"),
            _sound(),
            "board-off-wall",
            "site.board.along",
            Severity.ERROR,
            # By hand: 20 m wall, 2.4 m board: its middle between 1.2 and 18.8 m.
            "between 1.2 m and 18.8 m",
        ),
        (
            _site("board", outlet_height="4.5 m"),
            _sound(),
            "outlet-above-ceiling",
            "site.board.outlet_height",
            Severity.ERROR,
            "4 m",
        ),
        (
            hall(),
            _changed(_sound(), "bays.1", x="27 m"),
            "bay-off-floor",
            "design.bays.1.x",
            Severity.ERROR,
            # By hand: 27 + 4 = 31 on a floor of 30.
            "move it by 1 m",
        ),
        (
            hall(),
            _changed(_sound(), "bays.1", y="13 m"),
            "bay-off-floor",
            "design.bays.1.y",
            Severity.ERROR,
            "21 m",
        ),
        (
            hall(),
            _changed(_sound(), "bays.1", x="6.9 m"),
            "bays-overlap",
            "design.bays.1",
            Severity.WARNING,
            "“a”",
        ),
        (
            hall(),
            _changed(_sound(), "bays.0", left={"station": "8.5 m"}),
            "station-off-bay",
            "design.bays.0.left.station",
            Severity.ERROR,
            "8 m",
        ),
        (
            hall(),
            _changed(_sound(), "drops.1", end_height="3.5 m"),
            "drop-above-run",
            "design.drops.1.end_height",
            Severity.ERROR,
            "3 m",
        ),
        (
            hall(),
            _sound().model_copy(update={"plant": (PlantUnit(product="soap"),)}),
            "no-plant",
            "design.products.1",
            Severity.ERROR,
            "a-l-wax",
        ),
        (
            hall(),
            _sound().model_copy(update={"products": (*_sound().products, Product(id="spare"))}),
            "product-unused",
            "design.products.2",
            Severity.WARNING,
            "spare",
        ),
        (
            hall(),
            _sound().model_copy(update={"drops": (_sound().drops[0], _sound().drops[2])}),
            "plant-unused",
            "design.plant.1",
            Severity.WARNING,
            "wax",
        ),
        (
            hall(),
            _changed(_sound(), "drops.1", gun="gun-air"),
            "gun-not-for-liquid",
            "design.drops.1.gun",
            Severity.ERROR,
            "gun-plastic",
        ),
        (
            hall(),
            _changed(_sound(), "drops.2", gun="gun-metal"),
            "gun-not-for-air",
            "design.drops.2.gun",
            Severity.ERROR,
            "gun-air",
        ),
    ],
)
def test_finding(site: Site, changed: Design, rule: str, place: str, severity: Severity, words: str) -> None:
    found = [f for f in _found(site, changed) if f.rule == rule]
    assert [(f.place, f.severity) for f in found] == [(place, severity)]
    assert words in found[0].message


def test_neither_foam_nor_air_without_compressed_air() -> None:
    site = hall().model_copy(update={"air": AirSupply.model_validate({"free_air": "0 L/min"})})
    assert [(f.rule, f.place) for f in _found(site, _sound())] == [
        ("foam-without-air", "design.drops.0.gun"),
        ("air-drop-without-air", "design.drops.2.service"),
    ]


def test_coils_too_close_and_straight_hoses_not() -> None:
    # 150 mm between coil hoses: common practice, no source.
    close = Design.model_validate({**dict(_sound()), "drop_spacing": "140 mm"})
    assert [(f.rule, f.place) for f in _found(hall(), close)] == [("coils-too-close", "design.drop_spacing")]
    rows = tuple(x.model_copy(update={"hose": HoseKind.STRAIGHT}) for x in close.drops)
    assert _found(hall(), close.model_copy(update={"drops": rows})) == []
    enough = Design.model_validate({**dict(_sound()), "drop_spacing": "150 mm"})
    assert _found(hall(), enough) == []


def test_drops_past_the_bay_and_in_one_place() -> None:
    wide = Design.model_validate({**dict(_sound()), "drop_spacing": "2 m"})
    wide = _changed(wide, "bays.0", left={"station": "0.5 m"})
    assert [f.rule for f in _found(hall(), wide)] == ["drops-past-bay"]
    # Back to back: the right side of the first bay is the left side of the second.
    back = design(
        (bay("a", 3.0, 4.0), bay("b", 7.0, 4.0)), (drop("a", RIGHT, "soap"), drop("b", LEFT, "wax"))
    )
    assert [f.rule for f in _found(hall(), back)] == ["drops-in-one-place"]


@pytest.mark.parametrize(
    ("changed", "place", "allowed"),
    [
        (_changed(_sound(), "drops.1", gun="gun-gold"), "design.drops.1.gun", "gun-plastic"),
        (_changed(_sound(), "drops.1", hose_bore="hose-9"), "design.drops.1.hose_bore", "hose-6"),
        (_changed(_sound(), "drops.1", nozzle_size="99"), "design.drops.1.nozzle_size", "03"),
        (_changed(_sound(), "plant.0", tank="vat"), "design.plant.0.tank", "tank-60"),
        (_changed(_sound(), "plant.0", pump="p"), "design.plant.0.pump", "pump-half"),
        (_changed(_sound(), "plant.0", proportioner="p"), "design.plant.0.proportioner", "prop-high"),
        (
            _sound().model_copy(update={"common": _sound().common.model_copy(update={"backflow": "hope"})}),
            "design.common.backflow",
            "backflow-air-gap",
        ),
        (
            _sound().model_copy(update={"lines": (LinePlan(service="soap", tube="hosepipe"),)}),
            "design.lines.0.tube",
            "tube-8",
        ),
        (
            _sound().model_copy(
                update={
                    "lines": (
                        LinePlan(
                            service="soap",
                            segment_tubes=(SegmentTube(segment="a-l-soapx1", tube="hosepipe"),),
                        ),
                    )
                }
            ),
            "design.lines.0.segment_tubes.0.tube",
            "tube-12",
        ),
    ],
)
def test_unknown_key_names_the_allowed_ones(changed: Design, place: str, allowed: str) -> None:
    found = resolve(changed, catalogue()).findings
    assert [(f.rule, f.place, f.severity) for f in found] == [("unknown-key", place, Severity.ERROR)]
    assert _found(hall(), changed) == []
    assert allowed in found[0].message


def test_an_air_drop_needs_no_nozzle_size() -> None:
    blank = _changed(_sound(), "drops.2", nozzle_size="", nozzle=NozzleType.NONE)
    assert _found(hall(), blank) == []


def test_a_blank_design_says_what_is_missing() -> None:
    found = _found(hall(), Design())
    assert [(f.place, f.severity) for f in found] == [
        ("design.products", Severity.WARNING),
        ("design.bays", Severity.WARNING),
        ("design.drops", Severity.WARNING),
    ]
    assert all("none yet" in f.message for f in found)
