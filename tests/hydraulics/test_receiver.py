"""Receiver, dryer, leaks and cycle of a compressor. Shop figures are invented demo data."""

from __future__ import annotations

import math

import pytest

from estimator.hydraulics.air import FreeAir, gun_air, header_drop, leak_from_pump_down, site_reference
from estimator.hydraulics.air_reference import ANR, PSI_PA, SCFM_68F
from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.receiver import (
    Compressor,
    burst_s,
    cycle,
    gun_on_header,
    leak_of,
    receiver_for,
    usable_air,
)

GALLON = 3.785411784e-3
FOOT3 = 0.3048**3
PA = 14.7 * PSI_PA
HERE = site_reference(1e5)


def _free(l_min: float) -> FreeAir:
    return FreeAir(l_min / 60000.0, HERE)


def test_receiver_as_the_department_of_energy_computes_it() -> None:
    # MEASUR's own test values (confirmed text): 100 cfm for half a minute, 110 to 100 psig, 14.7 psia: 549.78 gal.
    volume = receiver_for(100.0 * FOOT3 / 60.0, 30.0, 110.0 * PSI_PA, 100.0 * PSI_PA, PA)
    assert volume / GALLON == pytest.approx(549.78, rel=1e-4)
    assert volume / GALLON == pytest.approx(549.818, rel=1e-6)  # computed: 7.48052 gal to the cubic foot
    # 660 gal from 110 to 100 psi: 60.024 scf.
    assert usable_air(660.0 * GALLON, 110.0 * PSI_PA, 100.0 * PSI_PA, PA) / FOOT3 == pytest.approx(
        60.024, rel=1e-4
    )
    # One is the other turned round.
    assert usable_air(volume, 110.0 * PSI_PA, 100.0 * PSI_PA, PA) / FOOT3 == pytest.approx(50.0, rel=1e-12)


def test_leaks_typed_or_measured() -> None:
    # US Department of Energy, Sourcebook, leak section (from memory): 1.5 min on, 8.5 min off is 15 %.
    assert leak_of(None, 90.0, 510.0) == pytest.approx(0.15, rel=1e-12)
    assert leak_of(0.08) == 0.08 and leak_of(0.08, 90.0, 510.0) == pytest.approx(0.15)
    # Pump-down, same source: 80 gal, 100 to 50 psig in 10 min: 4.547 cfm.
    leak = leak_from_pump_down(80.0 * GALLON, 100.0 * PSI_PA, 50.0 * PSI_PA, 600.0, PA)
    assert leak * 60.0 / FOOT3 == pytest.approx(4.547, abs=1e-3)
    with pytest.raises(OutOfRange, match=r"unloaded_s.*both"):
        leak_of(0.1, loaded_s=90.0)
    with pytest.raises(OutOfRange, match=r"loaded_s.*both"):
        leak_of(0.1, unloaded_s=90.0)
    with pytest.raises(OutOfRange, match=r"leak.*times"):
        leak_of(None)


def test_a_test_with_every_tool_shut_shows_the_leak_that_was_put_in() -> None:
    # The cycle of an idle plant whose leaks are 15 % of its delivery loads for 15 % of the time.
    leaks = Compressor(_free(400.0), 6e5, 8e5, 0.5, leak=0.15)
    at = cycle(leaks, _free(0.0), 1e5)
    assert leak_of(None, at.loaded_s, at.unloaded_s) == pytest.approx(0.15, rel=1e-9)


def test_what_is_there_after_site_dryer_and_leaks() -> None:
    plate = FreeAir(0.010, ANR)
    whole = Compressor(plate, 6e5, 8e5)
    assert whole.available(100e3).flow_m3_s == pytest.approx(0.010, rel=1e-12)
    assert whole.available(65780.0).flow_m3_s == pytest.approx(
        0.006578, rel=1e-9
    )  # thin air, as the plate's volume
    dried = Compressor(plate, 6e5, 8e5, 0.2, 0.2e5, 0.15, 0.10)
    assert dried.available(100e3).flow_m3_s == pytest.approx(0.010 * 0.85 * 0.9, rel=1e-12)
    assert dried.proof_pa == pytest.approx(5.8e5)


def test_a_burst_on_the_receiver_against_steps_in_time() -> None:
    # Brute force: mass in the receiver, a hundredth of a second at a time, from cut-in down to what still will do.
    compressor = Compressor(_free(400.0), 6.5e5, 8e5, 0.270, dryer_purge=0.1, leak=0.05)
    demand = _free(800.0)
    found = burst_s(compressor, demand, 5.5e5, 1e5)
    held, least, time = 0.270 * 7.5e5, 0.270 * 6.5e5, 0.0
    short = (800.0 - 400.0 * 0.9 * 0.95) / 60000.0 * 1e5
    while held > least:
        held -= short * 0.01
        time += 0.01
    assert found == pytest.approx(time, abs=0.011)
    assert burst_s(compressor, _free(300.0), 5.5e5, 1e5) == math.inf
    assert burst_s(compressor, demand, 6.5e5, 1e5) == 0.0
    assert burst_s(Compressor(_free(400.0), 6.5e5, 8e5), demand, 5.5e5, 1e5) == 0.0
    twice = Compressor(_free(400.0), 6.5e5, 8e5, 0.540, dryer_purge=0.1, leak=0.05)
    assert burst_s(twice, demand, 5.5e5, 1e5) == pytest.approx(2.0 * found, rel=1e-12)


def test_reference_conditions_do_not_change_a_burst() -> None:
    # The same air asked for, stated otherwise, lasts as long.
    one = Compressor(_free(400.0), 6.5e5, 8e5, 0.270)
    assert burst_s(one, _free(700.0).to(SCFM_68F), 5e5, 1e5) == pytest.approx(
        burst_s(one, _free(700.0), 5e5, 1e5)
    )


def test_cycles_balance() -> None:
    compressor = Compressor(_free(400.0), 6e5, 8e5, 0.5, dryer_purge=0.1, leak=0.05)
    for l_min in (1.0, 50.0, 150.0, 300.0):
        at = cycle(compressor, _free(l_min), 1e5)
        lost = 400.0 * (1.0 - 0.9 * 0.95)
        # What it gives while it runs is what goes out all the time.
        assert 400.0 * at.loaded_s == pytest.approx((l_min + lost) * (at.loaded_s + at.unloaded_s), rel=1e-12)
        assert at.starts_per_hour == pytest.approx(3600.0 / (at.loaded_s + at.unloaded_s))
    over = cycle(compressor, _free(500.0), 1e5)
    assert math.isinf(over.loaded_s) and over.starts_per_hour == 0.0
    tight = cycle(Compressor(_free(400.0), 6e5, 8e5, 0.5), _free(0.0), 1e5)
    assert math.isinf(tight.unloaded_s) and tight.starts_per_hour == 0.0
    assert cycle(Compressor(_free(400.0), 6e5, 8e5), _free(100.0), 1e5).starts_per_hour == math.inf


def test_a_gun_behind_a_header_uses_what_the_header_leaves_it() -> None:
    stated = FreeAir(200.0 / 60000.0, ANR)
    at = gun_on_header(stated, 6e5, 6e5, 30.0, 0.006)
    # Both sides agree: the air at its pressure, and the pressure after that air.
    drop = header_drop(at.air.mass_flow_kg_s, 6e5 + 101325.0, 293.15, 30.0, 0.006)
    assert drop.outlet_pa - 101325.0 == pytest.approx(at.gun_pa, rel=1e-7)
    assert gun_air(stated, 6e5, at.gun_pa, 101325.0).flow_m3_s == pytest.approx(at.air.flow_m3_s, rel=1e-12)
    wider = gun_on_header(stated, 6e5, 6e5, 30.0, 0.012)
    assert at.gun_pa < wider.gun_pa < 6e5
    # A tube so narrow that the stated air would choke in it still has an answer.
    narrow = gun_on_header(FreeAir(2000.0 / 60000.0, ANR), 6e5, 6e5, 30.0, 0.003)
    assert 0.0 < narrow.gun_pa < 0.5e5 and narrow.air.flow_m3_s < 0.1 * 2000.0 / 60000.0
    assert gun_on_header(stated, 6e5, 0.0, 30.0, 0.006).air.flow_m3_s == 0.0


def test_says_what_is_wrong() -> None:
    plate = FreeAir(0.01, ANR)
    for values, field in (
        ((0.0, 8e5), "cut_in_pa"),
        ((8e5, 8e5), "cut_out_pa"),
        ((6e5, math.nan), "cut_out_pa"),
        ((6e5, 8e5, -1.0), "receiver_m3"),
        ((6e5, 8e5, 0.1, 7e5), "dryer_loss_pa"),
        ((6e5, 8e5, 0.1, 0.0, 1.0), "dryer_purge"),
        ((6e5, 8e5, 0.1, 0.0, 0.0, 1.2), "leak"),
    ):
        with pytest.raises(OutOfRange, match=field):
            Compressor(plate, *values)
    with pytest.raises(OutOfRange, match="to_pa"):
        usable_air(0.3, 6e5, 7e5, 1e5)
    with pytest.raises(OutOfRange, match="to_pa"):
        receiver_for(0.01, 30.0, 6e5, 6e5, 1e5)
    with pytest.raises(OutOfRange, match="bore_m"):
        gun_on_header(plate, 6e5, 6e5, 30.0, 0.0)
