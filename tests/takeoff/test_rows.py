"""Takeoffs of the two example jobs by hand count, and what must hold for every takeoff.

The example jobs are invented. The plans the counts are made from are described in
`tests/layout/test_plan.py`; nothing here was copied from what the program prints.
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from estimator.layout.plan import lay_out
from estimator.model.choices import HoseKind, Mount, SideName
from estimator.model.design import AIR, Design, LinePlan, MeasuredLength, SegmentTube
from estimator.model.finding import Finding
from estimator.model.job import Job
from estimator.model.site import Site
from estimator.reference.catalogue import Catalogue, catalogue
from estimator.takeoff.rows import take_off
from estimator.takeoff.types import Section, TakeoffRow
from estimator.takeoff.words import row_words
from estimator.units import Dimension, parse
from tests.layout.examples import bay, design, drop, gannet_quay, hall, harrow_mill

LEFT, RIGHT = SideName.LEFT, SideName.RIGHT
PLANT, LINES, DROPS, MOUNTING, SERVICE, _EXTRAS = Section


def _rows(
    site: Site, d: Design, parts: Catalogue | None = None
) -> tuple[tuple[TakeoffRow, ...], tuple[Finding, ...]]:
    known = parts or catalogue()
    return take_off(d, lay_out(site, d, known)[0], known)


def _job_rows(job: Job) -> dict[tuple[Section, str, str], TakeoffRow]:
    rows, findings = _rows(job.site, job.design)
    assert findings == ()
    words = row_words(job)
    table = {(r.section, r.code, words.detail(r)): r for r in rows}
    assert len(table) == len(rows)
    return table


def _counts(
    table: dict[tuple[Section, str, str], TakeoffRow],
) -> dict[tuple[Section, str, str], tuple[float, float]]:
    return {key: (row.quantity, row.existing) for key, row in table.items()}


@dataclass(frozen=True)
class _Hand:
    """A hand count: to buy, existing."""

    buy: float
    existing: float = 0.0


def _compare(job: Job, hand: dict[tuple[Section, str, str], _Hand]) -> None:
    counts = _counts(_job_rows(job))
    assert set(counts) == set(hand)
    for key, expected in hand.items():
        assert counts[key] == pytest.approx((expected.buy, expected.existing), abs=1e-9), key


def test_gannet_quay_by_hand() -> None:
    """Every row of the new system."""
    five = _Hand(5)  # one for each of five products
    hand = {
        (PLANT, "PRP-ST", ""): _Hand(3),
        (PLANT, "PRP-STF", ""): _Hand(2),  # remover, degreaser: no EPDM before the water
        (PLANT, "TNK-060", ""): _Hand(1),  # foam pre-wash
        (PLANT, "TNK-030", ""): _Hand(4),  # the other four
        (PLANT, "PMP-02", ""): five,
        (PLANT, "REG-00", ""): five,
        (PLANT, "FTV-00", ""): _Hand(3),
        (PLANT, "TIP-00", ""): _Hand(3),
        (PLANT, "SUC-00", ""): _Hand(3),
        (PLANT, "FTV-FK", ""): _Hand(2),
        (PLANT, "TIP-PV", ""): _Hand(2),
        (PLANT, "SUC-PV", ""): _Hand(2),
        (PLANT, "LBT-00", ""): five,
        (PLANT, "LVL-00", ""): five,  # a float valve in each day tank
        (PLANT, "BFP-AG", ""): _Hand(1),
        (PLANT, "BST-01", ""): _Hand(1),  # behind the break tank
        (PLANT, "MNW-00", ""): _Hand(1),
        (PLANT, "MNA-00", ""): _Hand(1),
        (PLANT, "APR-00", ""): _Hand(1),
        (PLANT, "CNT-00", ""): _Hand(1),
        (PLANT, "EYE-00", ""): _Hand(1),
        # Tube, 5 % allowance. 1.6 up to run height and 15 along to the station at x = 15, or 22 along to the
        # one at x = 22; at each end the way along the rail and 1.1 down. See test_plan.
        (LINES, "TUB-08", "Alkaline foam pre-wash line, blue"): _Hand(1.05 * 22.8),  # 16.6 + 4 x (0.45 + 1.1)
        (LINES, "TUB-08", "Insect and tar remover line, orange"): _Hand(
            1.05 * 21.6
        ),  # 16.6 + 4 x (0.15 + 1.1)
        (LINES, "TUB-08", "Citrus degreaser line, green"): _Hand(1.05 * 21.6),
        (LINES, "TUB-08", "Glass and mirror cleaner line, violet"): _Hand(
            1.05 * 26.4
        ),  # 23.6 + 2 x (0.3 + 1.1)
        (LINES, "TUB-08", "Interior sanitiser (quaternary) line, red"): _Hand(1.05 * 25.8),  # 23.6 + 2 x 1.1
        # 23.6 + 8 x (0.45 + 1.1) for 4 air drops and 4 foam guns + 2 x (0.3 + 1.1)
        (LINES, "TUB-12", "compressed air line, grey"): _Hand(1.05 * 38.8),
        # Tees: a line with n ends has n - 1. Liquids 3 + 3 + 3 + 1 + 1; air, of 12 mm, 10 ends: 9.
        (LINES, "FTT-08", ""): _Hand(11),
        (LINES, "FTT-12", ""): _Hand(9),
        # Elbows: one where each of 6 lines reaches run height; one where each end off the middle turns down
        # from the rail (pre-wash 4, remover 4, degreaser 4, glass 2, air 10) and one where the last station's
        # way leaves the corridor or, in the middle, turns down (1 a liquid line: 5; air: 1).
        (LINES, "FTE-08", ""): _Hand(5 + 4 + 4 + 4 + 2 + 5),
        (LINES, "FTE-12", ""): _Hand(1 + 10 + 1),
        # Shut-off valves: 6 line starts, 22 drops, 4 air inlets of foam guns; those of air in its wider tube.
        (LINES, "FTS-08", ""): _Hand(5 + 16),
        (LINES, "FTS-12", ""): _Hand(1 + 6 + 4),
        # Check valves: 5 liquid line starts, two inlets of 4 foam guns.
        (LINES, "FTC-08", ""): _Hand(5 + 4),
        (LINES, "FTC-12", ""): _Hand(4),
        # Drop connectors: 22 drops, 4 air inlets of foam guns.
        (LINES, "FTD-08", ""): _Hand(16),
        (LINES, "FTD-12", ""): _Hand(6 + 4),
        # Clips each metre begun, a segment at a time:
        #   pre-wash   4.6: 5, ends 1.55: 2 2 2, runs 5: 5, 2: 2, last 6.55: 7              = 25
        #   remover    4.6: 5, ends 1.25: 2 2 2, runs 5, 2, last 6.25: 7                    = 25
        #   degreaser  the same                                                             = 25
        #   glass      18.6: 19, end 1.4: 2, last 6.4: 7                                    = 28
        #   sanitiser  18.6: 19, end 1.1: 2, last 6.1: 7                                    = 28
        #   air        4.6: 5, 8 ends 1.55: 16, runs 5, 2, 5, 2, end 1.4: 2, last 6.4: 7    = 44
        (LINES, "CLP-00", ""): _Hand(25 + 25 + 25 + 28 + 28 + 44),
        # Tags, one a segment: 7 + 7 + 7 + 3 + 3; air 10 ends and 5 runs.
        (LINES, "LBL-00", ""): _Hand(42),
        # Hoses of 6 m: 22 drops and a second one at 4 foam guns.
        (DROPS, "HCO-06", "6\xa0m each"): _Hand(26 * 6.0),
        (DROPS, "GUN-FM", ""): _Hand(4),  # pre-wash
        (DROPS, "GUN-MT", ""): _Hand(8),  # remover 4, degreaser 4
        (DROPS, "GUN-PL", ""): _Hand(4),  # glass 2, sanitiser 2
        (DROPS, "GUN-AB", ""): _Hand(6),
        (DROPS, "NZG-00", "size 04"): _Hand(4),
        (DROPS, "NZF-00", "size 02, 40\xa0°"): _Hand(8),
        (DROPS, "NZF-00", "size 01, 65\xa0°"): _Hand(2),
        (DROPS, "NZF-00", "size 015, 65\xa0°"): _Hand(2),
        (DROPS, "LBD-00", ""): _Hand(22),
        # Strut: 2 rails of 2.4; four stations of 4 drops, two of 3, 0.3 a drop.
        (MOUNTING, "STR-00", ""): _Hand(2 * 2.4 + 4 * 1.2 + 2 * 0.9),
        (MOUNTING, "BRK-00", ""): _Hand(6),
        (SERVICE, "COM-LN", ""): _Hand(6),
        (SERVICE, "COM-DT", ""): _Hand(5),
    }
    _compare(gannet_quay(), hand)


def test_gannet_quay_pieces_and_objects() -> None:
    table = _job_rows(gannet_quay())
    glass = table[LINES, "TUB-08", "Glass and mirror cleaner line, violet"]
    # 1.6 + 17; 0.3 + 1.1; 5 + 0.3 + 1.1
    assert glass.pieces_m == pytest.approx((1.05 * 18.6, 1.05 * 1.4, 1.05 * 6.4))
    assert glass.objects == ("glass/3-l-glassx2", "glass/3-l-glassx1", "glass/3-r-glassx1")
    strut = table[MOUNTING, "STR-00", ""]
    assert strut.pieces_m == pytest.approx((2.4, 2.4, 1.2, 1.2, 1.2, 1.2, 0.9, 0.9))
    assert strut.objects == ("board", *(f"bay-{n}-{s}" for n in (1, 2, 3) for s in ("left", "right")))
    assert table[DROPS, "GUN-AB", ""].objects == tuple(f"{n}-{s}-air" for n in (1, 2, 3) for s in "lr")


def test_sections_stand_in_printing_order() -> None:
    job = gannet_quay()
    rows, _ = _rows(job.site, job.design)
    order = [list(Section).index(r.section) for r in rows]
    assert order == sorted(order)


def test_harrow_mill_by_hand() -> None:
    """Every row of the upgrade, counted in feet."""
    ft = 0.3048  # exact by definition, NIST SP 811
    plant = _Hand(1, 2)  # glass is new, shampoo and interior cleaner stay
    hand = {
        (PLANT, "PRP-ST", ""): plant,
        (PLANT, "TNK-030", ""): plant,
        (PLANT, "PMP-02", ""): plant,
        (PLANT, "REG-00", ""): plant,
        (PLANT, "FTV-00", ""): plant,
        (PLANT, "TIP-00", ""): plant,
        (PLANT, "SUC-00", ""): plant,
        (PLANT, "LBT-00", ""): plant,
        (PLANT, "LVL-00", ""): plant,
        (PLANT, "BFP-DV", ""): _Hand(0, 1),
        (PLANT, "MNW-00", ""): _Hand(0, 1),
        (PLANT, "MNA-00", ""): _Hand(0, 1),
        (PLANT, "APR-00", ""): _Hand(0, 1),
        # See test_plan: 51 ft stay in each old line; new 22, 20 and 75 ft.
        (LINES, "TUB-08", "Vehicle shampoo line, blue"): _Hand(1.05 * 22 * ft, 1.05 * 51 * ft),
        (LINES, "TUB-08", "Interior cleaner line, orange"): _Hand(1.05 * 20 * ft, 1.05 * 51 * ft),
        (LINES, "TUB-08", "Glass cleaner line, green"): _Hand(1.05 * 75 * ft),
        # Tees: three a line; today one in each old line, where it parts at (22, 17).
        (LINES, "FTT-08", ""): _Hand(2 + 2 + 3, 1 + 1),
        # Elbows that stay, in each old line: up at the board 1, far left station 2, near one 1 (its other
        # bend has become a tee). New: shampoo 1 + 2; interior, straight down: 0 + 1; glass 1, and at the
        # stations from west to east 2, 1, 1, 2.
        (LINES, "FTE-08", ""): _Hand(3 + 1 + 7, 4 + 4),
        (LINES, "FTS-08", ""): _Hand(1 + 8, 2 + 4),  # line starts and drops
        (LINES, "FTC-08", ""): _Hand(1, 2),  # line starts
        (LINES, "FTD-08", ""): _Hand(8, 4),  # drops
        # Clips each 3 ft begun.
        #   old line, what stays: 24: 8, 3: 1, 17.5: 6, 3: 1, 3.5: 2                        = 18
        #   shampoo, new: 4: 2, 18: 6                                                       = 8
        #   interior, new: 3: 1, 17: 6                                                      = 7
        #   glass: 24: 8, 3: 1, 18.5: 7, 4: 2, 3: 1, 4.5: 2, 18: 6                          = 27
        (LINES, "CLP-00", ""): _Hand(8 + 7 + 27, 18 + 18),
        (LINES, "LBL-00", ""): _Hand(2 + 2 + 7, 5 + 5),  # one a segment
        (DROPS, "HCO-06", "20\xa0ft each"): _Hand(8 * 20 * ft, 4 * 20 * ft),
        (DROPS, "GUN-PL", ""): _Hand(8, 4),
        (DROPS, "NZF-00", "size 03, 40\xa0°"): _Hand(2, 2),  # shampoo
        (DROPS, "NZF-00", "size 02, 40\xa0°"): _Hand(2, 2),  # interior
        (DROPS, "NZF-00", "size 01, 40\xa0°"): _Hand(4),  # glass
        (DROPS, "LBD-00", ""): _Hand(8, 4),
        # Strut: new right stations of 3 drops a foot apart; board 2 x 6 and left stations stay.
        (MOUNTING, "STR-00", ""): _Hand(2 * 3 * ft, (2 * 6 + 2 * 3) * ft),
        (MOUNTING, "BRK-00", ""): _Hand(2, 2),
        (SERVICE, "COM-LN", ""): _Hand(3),  # the two old lines are extended
        (SERVICE, "COM-DT", ""): _Hand(1, 2),
    }
    _compare(harrow_mill(), hand)


def test_all_existing_buys_nothing() -> None:
    job = gannet_quay()
    d = job.design
    bays = tuple(
        b.model_copy(
            update={
                side: getattr(b, side).model_copy(update={"mount_existing": True})
                for side in ("left", "right")
            }
        )
        for b in d.bays
    )
    standing = d.model_copy(
        update={
            "drops": tuple(x.model_copy(update={"existing": True}) for x in d.drops),
            "plant": tuple(x.model_copy(update={"existing": True}) for x in d.plant),
            "common": d.common.model_copy(update={"existing": True, "containment": False, "eyewash": False}),
            "bays": bays,
        }
    )
    new, _ = _rows(job.site, d)
    old, _ = _rows(job.site, standing)
    assert all(r.quantity == 0.0 and r.pieces_m == () for r in old)
    counted = {r.key: r.existing for r in old}
    for r in new:
        if r.code not in ("CNT-00", "EYE-00"):
            assert counted[r.key] == pytest.approx(r.quantity)


def test_pieces_add_up_and_rows_keep_their_objects() -> None:
    for job in (gannet_quay(), harrow_mill()):
        rows, _ = _rows(job.site, job.design)
        for r in rows:
            assert r.objects
            assert len(set(r.objects)) == len(r.objects)
            if r.code.startswith(("TUB", "STR", "HCO", "HST")):
                assert sum(r.pieces_m) == pytest.approx(r.quantity)
            else:
                assert r.pieces_m == ()


def test_straight_hose_gets_a_hook_and_panel_its_code() -> None:
    d = design((bay("b", 5.0, 6.0),), (drop("b", LEFT, "soap"), drop("b", RIGHT, "soap")), ("soap",))
    first, second = d.drops
    b = d.bays[0]
    d = d.model_copy(
        update={
            "drops": (first.model_copy(update={"hose": HoseKind.STRAIGHT}), second),
            "bays": (b.model_copy(update={"right": b.right.model_copy(update={"mount": Mount.PANEL})}),),
        }
    )
    rows, _ = _rows(hall(), d)
    by_code = {r.code: r for r in rows}
    assert by_code["HHK-00"].objects == ("b-l-soap",)
    assert (by_code["HST-06"].quantity, by_code["HCO-06"].quantity) == (6.0, 6.0)
    assert by_code["PNL-00"].objects == ("b-right",)
    assert by_code["BRK-00"].objects == ("b-left",)


def test_sizes_of_segments_decide_tube_and_fittings() -> None:
    d = design((bay("b", 5.0, 6.0),), (drop("b", LEFT, "soap"), drop("b", RIGHT, "soap")), ("soap",))
    plan = LinePlan(
        service="soap", tube="tube-10", segment_tubes=(SegmentTube(segment="b-l-soapx1", tube="tube-6"),)
    )
    rows, _ = _rows(hall(), d.model_copy(update={"lines": (plan,)}))
    by_code = {r.code: r.quantity for r in rows}
    # By hand: the left drop hangs in the middle of its rail, 0.9 straight down from the tee.
    assert by_code["TUB-06"] == pytest.approx(1.05 * 0.9)
    # 1.5 up, 5 along; 4 on to the right side, 0.9 down.
    assert by_code["TUB-10"] == pytest.approx(1.05 * (6.5 + 4.9))
    assert (by_code["FTD-06"], by_code["FTD-10"], by_code["FTT-10"]) == (1.0, 1.0, 1.0)
    assert "FTT-06" not in by_code


def test_measured_length_counts_for_tube_and_clips() -> None:
    d = design((bay("b", 5.0, 6.0),), (drop("b", LEFT, "soap"),), ("soap",))
    plan = LinePlan(
        service="soap",
        measured=(MeasuredLength(segment="b-l-soapx1", length=parse("9.2 m", Dimension.LENGTH)),),
    )
    plain = {r.code: r.quantity for r in _rows(hall(), d)[0]}
    typed = {r.code: r.quantity for r in _rows(hall(), d.model_copy(update={"lines": (plan,)}))[0]}
    # By hand: 1.5 + 5 + 0.9 = 7.4 m, 8 clips; measured 9.2 m, 10 clips.
    assert plain["TUB-08"] == pytest.approx(1.05 * 7.4)
    assert plain["CLP-00"] == 8.0
    assert (typed["TUB-08"], typed["CLP-00"]) == (9.2, 10.0)


def test_unknown_key_has_no_row() -> None:
    d = design((bay("b", 5.0, 6.0),), (drop("b", LEFT, "soap"), drop("b", RIGHT, "soap")), ("soap",))
    odd = d.drops[0].model_copy(update={"gun": "gun-gold"})
    rows, findings = _rows(hall(), d.model_copy(update={"drops": (odd, d.drops[1])}))
    assert findings == ()  # it is told where keys are looked up
    (guns,) = [r for r in rows if r.code.startswith("GUN")]
    assert guns.objects == ("b-r-soap",)


def test_missing_codes_are_told_once() -> None:
    parts = catalogue()
    tubes = tuple(
        t.model_copy(update={"fitting_codes": {k: v for k, v in t.fitting_codes.items() if k != "tee"}})
        for t in parts.tubes
    )
    codes = {k: v for k, v in parts.codes.items() if k != "clip"}
    poor = parts.model_copy(update={"tubes": tubes, "codes": codes})
    job = gannet_quay()
    rows, findings = _rows(job.site, job.design, poor)
    assert [(f.rule, f.place) for f in findings] == [
        ("no-code", "catalogue.tubes.tube-8.fitting_codes"),
        ("no-code", "catalogue.tubes.tube-12.fitting_codes"),
        ("no-code", "catalogue.codes.clip"),
    ]
    assert not {"FTT-08", "CLP-00"} & {r.code for r in rows}


def test_air_alone_needs_no_water_side() -> None:
    d = design((bay("b", 5.0, 6.0),), (drop("b", LEFT, AIR),), ())
    codes = {r.code for r in _rows(hall(), d)[0]}
    assert {"MNA-00", "APR-00"} <= codes
    assert not {"MNW-00", "BFP-AG", "CNT-00"} & codes


def test_a_blank_design_buys_nothing() -> None:
    rows, findings = _rows(hall(), Design())
    assert findings == ()
    assert rows == ()
