"""Compressed air."""

from __future__ import annotations

import math

import fluids
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from estimator.hydraulics import air, air_reference
from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.pump import barometric_pressure

PSI = air_reference.PSI_PA
CFM = 0.3048**3 / 60.0
ATM_PSI = 14.696


def test_reference_conversions() -> None:
    # Computed, ideal dry gas.
    one = air.FreeAir(CFM, air_reference.SCFM_60F)
    assert one.to(air_reference.SCFM_68F).flow_m3_s / CFM == pytest.approx(1.029120, rel=1e-5)
    assert 3600 * one.to(air_reference.NORMAL).flow_m3_s == pytest.approx(1.60747, rel=1e-5)
    ten = air.FreeAir(10 * CFM, air_reference.SCFM_68F)
    assert air.line_flow(ten, 80 * PSI, ATM_PSI * PSI) / CFM == pytest.approx(1.53122, rel=1e-5)


@pytest.mark.parametrize("key", list(air_reference.REFERENCES))
def test_every_reference_comes_back(key: str) -> None:
    start = air.FreeAir(0.01, air_reference.REFERENCES[key])
    for other in air_reference.REFERENCES.values():
        there = start.to(other)
        assert there.mass_flow_kg_s == pytest.approx(start.mass_flow_kg_s, rel=1e-12)
        assert there.to(start.reference).flow_m3_s == pytest.approx(0.01, rel=1e-12)
        assert (start + there).flow_m3_s == pytest.approx(0.02, rel=1e-12)


def test_shop_line() -> None:
    # Computed: 100 psig, 20 degC, 9.525 mm, 30 m, 0.0015 mm, 10 scfm (68 degF, 14.696 psia), mu 1.82e-5, R
    # 287.05.
    reference = air_reference.FreeAirReference("test", ATM_PSI * PSI, 293.15, 0.0)
    mass = air.FreeAir(10 * CFM, reference).mass_flow_kg_s
    assert mass == pytest.approx(5.68283e-3, rel=1e-5)
    at = air.header_drop(mass, 114.696 * PSI, 293.15, 30.0, 9.525e-3, 1.5e-6, 0.0, 1.82e-5)
    assert at.reynolds == pytest.approx(41739, rel=1e-3)
    assert at.factor == pytest.approx(0.022263, rel=5e-3)
    assert at.outlet_pa / PSI - ATM_PSI == pytest.approx(96.502, rel=5e-3)
    assert at.drop_pa / PSI == pytest.approx(3.498, rel=5e-3)


def test_crane_7_16() -> None:
    # Crane TP-410 example 7.16 (confirmed as quoted in the fluids documentation): 2.61 psi, 3367 to 3484
    # ft/min; computed with an ideal gas: f 0.02384, 2.706 psi, 3399 to 3518 ft/min. 5 % and 1 %.
    kelvin = (115 + 459.67) / 1.8
    mass = air.FreeAir(100 * CFM, air_reference.SCFM_60F).mass_flow_kg_s
    at = air.header_drop(mass, (65 + ATM_PSI) * PSI, kelvin, 75 * 0.3048, 1.049 * 0.0254, 4.572e-5)
    foot_per_minute = 0.3048 / 60
    assert at.drop_pa / PSI == pytest.approx(2.61, rel=0.05)
    assert at.drop_pa / PSI == pytest.approx(2.706, rel=0.01)
    assert at.factor == pytest.approx(0.02384, rel=0.01)
    assert at.inlet_velocity_m_s / foot_per_minute == pytest.approx(3399, rel=0.01)
    assert at.outlet_velocity_m_s / foot_per_minute == pytest.approx(3518, rel=0.01)
    assert at.inlet_velocity_m_s / foot_per_minute == pytest.approx(3367, rel=0.05)
    assert at.outlet_velocity_m_s / foot_per_minute == pytest.approx(3484, rel=0.05)


@given(
    st.floats(1e-5, 5e-2),
    st.floats(2e5, 1.2e6),
    st.floats(250.0, 330.0),
    st.floats(0.1, 300.0),
    st.floats(0.004, 0.05),
)
def test_header_against_library(mass: float, inlet: float, kelvin: float, length: float, bore: float) -> None:
    # Computed with fluids 1.3.1 isothermal_gas, given our friction factor and outlet pressure: the same flow
    # back.
    try:
        at = air.header_drop(mass, inlet, kelvin, length, bore)
    except OutOfRange as error:
        assert error.quantity == "mass_flow_kg_s" and error.high < mass
        return
    assert 0.0 < at.outlet_pa < inlet
    assume(at.drop_pa > 1.0)
    density = inlet / (air.GAS_CONSTANT_J_KG_K * kelvin)
    try:
        back = fluids.compressible.isothermal_gas(
            rho=density, fd=at.factor, P1=inlet, P2=at.outlet_pa, L=length, D=bore
        )
    except Exception:
        # The library refuses close to choking; ours must then be close to it as well.
        sound = math.sqrt(air.GAS_CONSTANT_J_KG_K * kelvin)
        assert at.outlet_velocity_m_s > 0.9 * sound
        return
    assert back == pytest.approx(mass, rel=1e-6)


def test_library_docstring_value_is_the_same_equation() -> None:
    # fluids isothermal_gas docstring: 145.4847573 kg/s (confirmed). Our equation at that flow, friction and
    # outlet.
    rho, f, p1, p2, length, bore = 11.3, 0.00185, 1e6, 9e5, 1000.0, 0.5
    mass = fluids.compressible.isothermal_gas(rho=rho, fd=f, P1=p1, P2=p2, L=length, D=bore)
    assert mass == pytest.approx(145.4847572636031, rel=1e-9)
    # header_drop takes its own friction factor, so put the resistance into minor_k on a pipe of no length.
    kelvin = p1 / (rho * air.GAS_CONSTANT_J_KG_K)
    at = air.header_drop(mass, p1, kelvin, 0.0, bore, 0.0, f * length / bore)
    assert at.outlet_pa == pytest.approx(p2, rel=1e-9)


def test_choking_is_a_typed_error_with_the_largest_flow() -> None:
    with pytest.raises(OutOfRange, match="chokes") as caught:
        air.header_drop(0.05, 8e5, 293.15, 30.0, 0.006)
    at = air.header_drop(0.99 * caught.value.high, 8e5, 293.15, 30.0, 0.006)
    assert 0.0 < at.outlet_pa < 8e5 and math.isfinite(at.outlet_velocity_m_s)


def test_no_flow_no_drop() -> None:
    at = air.header_drop(0.0, 8e5, 293.15, 3000.0, 0.006)
    assert (at.drop_pa, at.inlet_velocity_m_s, at.outside) == (0.0, 0.0, ())


# Computed with Cd 1, 60 degF; beside it a general handbook table ("100 % coefficient", unattributed). 2 %.
@pytest.mark.parametrize(
    ("inch", "at_100", "table_100", "at_80", "table_80"),
    [
        (1 / 64, 0.403, 0.406, 0.333, 0.335),
        (1 / 32, 1.613, 1.62, 1.332, 1.34),
        (1 / 16, 6.452, 6.49, 5.327, 5.36),
        (1 / 8, 25.81, 26.0, 21.31, 21.4),
        (1 / 4, 103.2, 104.0, 85.2, 85.7),
    ],
)
def test_choked_orifice(inch: float, at_100: float, table_100: float, at_80: float, table_80: float) -> None:
    per_scfm = air.FreeAir(CFM, air_reference.SCFM_60F).mass_flow_kg_s
    for gauge, computed, table in ((100, at_100, table_100), (80, at_80, table_80)):
        mass = air.orifice_mass_flow(
            inch * 0.0254, (gauge + ATM_PSI) * PSI, ATM_PSI * PSI, air_reference.SCFM_60F.temperature_k
        )
        assert mass / per_scfm == pytest.approx(computed, rel=0.002)
        assert mass / per_scfm == pytest.approx(table, rel=0.02)


def test_sharp_hole_passes_less() -> None:
    # Computed: 0.61 times, 1/8 in at 100 psig 15.7 scfm. 2 %.
    mass = air.orifice_mass_flow(
        0.0254 / 8, 114.696 * PSI, ATM_PSI * PSI, air_reference.SCFM_60F.temperature_k, 0.61
    )
    assert mass / air.FreeAir(CFM, air_reference.SCFM_60F).mass_flow_kg_s == pytest.approx(15.7, rel=0.02)


def test_orifice_is_continuous_at_choking() -> None:
    ratio = air.critical_ratio()
    assert ratio == pytest.approx(0.528282, rel=1e-6)  # computed, k 1.4
    below = air.orifice_mass_flow(1e-3, 5e5, 5e5 * ratio * 0.999999)
    above = air.orifice_mass_flow(1e-3, 5e5, 5e5 * ratio * 1.000001)
    assert above == pytest.approx(below, rel=1e-9)
    assert air.orifice_mass_flow(1e-3, 5e5, 5e5) == 0.0
    with pytest.raises(OutOfRange, match="outlet_pa"):
        air.orifice_mass_flow(1e-3, 1e5, 2e5)


def test_power_and_leaks() -> None:
    # Computed: 0.17926 hp/scfm to 100 psig.
    power = air.isentropic_power(air.FreeAir(CFM, air_reference.SCFM_60F), 100 * PSI)
    assert power / 745.6998716 == pytest.approx(0.17926, rel=1e-4)
    # DOE Sourcebook, leak section, from memory.
    assert air.leak_share(90.0, 510.0) == pytest.approx(0.15, rel=1e-12)
    leak = air.leak_from_pump_down(80 * 3.785411784e-3, 100 * PSI, 50 * PSI, 600.0, 14.7 * PSI)
    assert leak / CFM == pytest.approx(4.547, rel=1e-3)


def test_thin_air_at_3500_m_costs_a_third() -> None:
    plate = air.FreeAir(0.01, air_reference.ANR)
    high = air.site_delivery(plate, barometric_pressure(3500.0))
    assert high.flow_m3_s == pytest.approx(0.01 * 0.6578, rel=1e-3)  # computed, 65.78/100
    none = air.site_delivery(air.FreeAir(0.0, air_reference.ANR), 1e5)
    assert none.flow_m3_s == 0.0


def test_gun_air_follows_its_own_pressure_choked_or_not() -> None:
    stated = air.FreeAir(0.003, air_reference.ANR)
    # Choked at both, k 1.4: absolute pressures (gas dynamics texts).
    high = air.gun_air(stated, 6e5, 2e5, 101325.0).flow_m3_s
    assert high == pytest.approx(0.003 * 301325.0 / 701325.0, rel=1e-9)
    # 0.5 bar does not choke: isentropic flow below choking (any gas dynamics text), written out here.
    r = 101325.0 / 151325.0
    subsonic = 151325.0 * math.sqrt(2.0 / 0.4 * (r ** (2.0 / 1.4) - r ** (2.4 / 1.4)))
    choked = 701325.0 * (2.0 / 2.4) ** (2.4 / 0.8)
    low = air.gun_air(stated, 6e5, 0.5e5, 101325.0).flow_m3_s
    assert low == pytest.approx(0.003 * subsonic / choked, rel=1e-9)
    assert air.gun_air(stated, 6e5, 0.0, 101325.0).flow_m3_s == 0.0
    flows = [air.gun_air(stated, 6e5, 1e3 * kpa, 101325.0).flow_m3_s for kpa in range(0, 900, 10)]
    assert flows == sorted(flows) and len(set(flows)) == len(flows)
    assert air.gun_air(stated, 6e5, 6e5, 101325.0).flow_m3_s == pytest.approx(0.003, rel=1e-12)
    with pytest.raises(OutOfRange, match="stated_pa"):
        air.gun_air(stated, 0.0, 6e5, 101325.0)


@pytest.mark.parametrize("bad", [-1.0, math.nan, math.inf])
def test_bad_numbers_are_named(bad: float) -> None:
    with pytest.raises(OutOfRange, match="free air"):
        air.FreeAir(bad, air_reference.ANR)
    with pytest.raises(OutOfRange, match="barometric_pa"):
        air.site_delivery(air.FreeAir(0.01, air_reference.ANR), bad)
    with pytest.raises(OutOfRange, match="bore_m"):
        air.header_drop(0.001, 8e5, 293.15, 10.0, bad)
    with pytest.raises(OutOfRange, match="temperature_k"):
        air.header_drop(0.001, 8e5, bad, 10.0, 0.01)
