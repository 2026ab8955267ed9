"""The picture of the board says what the board's physics says, for any number of tanks that fill."""

from __future__ import annotations

import math

import pytest
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from estimator.model.edit import with_value
from estimator.reference.catalogue import catalogue
from estimator.shown.board_picture import BoardPicture, board_picture
from estimator.shown.standing import Standing
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Study, study
from tests.days import STUDIED
from tests.layout.examples import gannet_quay, harrow_mill, tern_bank

STATIC = ("site", "water", "static_pressure")
COMMON = ("design", "common")
STREET = (((*COMMON, "backflow"), "backflow-device"), ((*COMMON, "booster"), "no-booster"))
"""The example without its break tank: its board stands under the pressure of the street."""


def studied(*edits: tuple[tuple[str, ...], object]) -> Study:
    job = gannet_quay()
    for path, value in edits:
        job = with_value(job, path, value)
    return study(job, shipped_price_book(), STUDIED)


def plain(text: str) -> str:
    return text.replace("\u00a0", " ")


def picture(made: Study, many: int) -> BoardPicture:
    found = board_picture(made, many)
    assert found is not None
    return found


def test_at_rest_nothing_is_drawn_and_gauges_stand_at_static_pressure() -> None:
    found = picture(studied(*STREET), 0)
    first = found.gauges[0]
    assert (plain(first.rest), plain(first.now)) == ("4 bar", "4 bar")
    assert (found.flow, found.shared, found.heading) == ("", "", "Nothing fills")
    assert not any(t.fills or t.mixture or t.water or t.standing for t in found.tanks)
    assert all("It rests." in t.told for t in found.tanks)


@pytest.mark.parametrize("many", [1, 3, 5])
def test_pressure_and_flow_of_a_moment_against_scipy(many: int) -> None:
    # Computed with scipy's brentq: street in NFPA 291 form (second-hand) through 25 L/min at 3.5 bar, static 4 bar;
    # all five proportioners pass 11.6 L/min at 3 bar, behind a device (invented demo data).
    (device,) = (b for b in catalogue().backflow if b.key == "backflow-device")
    flows, losses = ([point[at] for point in device.loss_kpa] for at in (0, 1))
    loss = PchipInterpolator(flows, losses)

    def spare(q: float) -> float:
        street = 4e5 - 0.5e5 * math.pow(q / 25.0, 1 / 0.54)
        return street - 1000.0 * float(loss(q)) - 3e5 * (q / (11.6 * many)) ** 2

    flow = float(brentq(spare, 1e-9, 150.0, rtol=1e-14))
    pressure = 3e5 * (flow / (11.6 * many)) ** 2
    found = picture(studied(*STREET), many)
    assert plain(found.shared) == plain(found.gauges[-1].now) == f"{pressure / 1e5:.2f} bar"
    assert float(found.flow.removesuffix("L/min")) == pytest.approx(flow, abs=0.051)
    assert sum(t.fills for t in found.tanks) == found.many == many


def test_every_tank_that_fills_has_the_mixture_of_the_proof() -> None:
    made = studied()
    board = made.proof.board
    assert board is not None
    for tank, shared in zip(picture(made, 5).tanks, board.products, strict=True):
        assert shared.first.dilution is not None
        said = float(tank.mixture.removesuffix(":1"))
        assert said == pytest.approx(shared.first.dilution, abs=0.5 if said >= 20 else 0.05)
        assert tank.standing is Standing.GOOD and "inside its range" in tank.told


def test_more_tanks_leave_less_pressure() -> None:
    made = studied()
    left = [float(picture(made, many).shared.removesuffix("bar")) for many in range(1, 6)]
    assert left == sorted(left, reverse=True) and len(set(left)) == 5


def test_what_misses_its_range_is_told_by_sign_and_words() -> None:
    found = picture(studied(*STREET, (STATIC, "4.4 bar")), 5)
    missed = [t for t in found.tanks if t.standing is Standing.SHORT]
    assert missed and all("than its range" in t.verdict for t in missed)


def test_without_water_the_picture_has_reasons_and_no_figures() -> None:
    found = picture(studied(*STREET, (("site", "water", "flow"), "3 L/min")), 5)
    for tank in found.tanks:
        assert tank.standing is Standing.UNKNOWN and tank.mixture == "–"
        assert "known from" in tank.verdict and "nan" not in tank.told


def test_no_board_no_picture() -> None:
    assert board_picture(studied((("site", "water", "flow"), "0 L/min")), 1) is None


def test_a_number_beyond_the_tanks_is_all_of_them() -> None:
    made = studied()
    assert picture(made, 99) == picture(made, 5)
    assert picture(made, -1) == picture(made, 0)


def test_a_us_job_reads_psi_gpm_and_gallons() -> None:
    for job in (harrow_mill(), tern_bank()):
        found = picture(study(job, shipped_price_book(), STUDIED), 2)
        texts = (
            [plain(t.told) for t in found.tanks] + [found.flow, found.shared] + [g.now for g in found.gauges]
        )
        assert "gpm" in found.flow and "psi" in found.shared
        assert not any(unit in text for text in texts for unit in (" bar", "L/min", "kPa", " L,"))


def test_the_moment_that_is_usual_is_named() -> None:
    made = studied((("site", "use", "vehicles_per_hour"), 60.0))
    board = made.proof.board
    assert board is not None and 1 < board.at_once < 5
    assert "no more do" in picture(made, board.at_once).heading
    assert "first day" in picture(made, 5).heading
