"""The street's curve. Sources: NFPA 291 form, second-hand; the figures are computed from it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.supply import SupplyCurve, day

PSI = 6894.757293168
GPM = 3.785411784e-3 / 60.0
L_MIN = 1.0 / 60000.0

streets = st.builds(
    lambda static, share, flow: SupplyCurve(static, flow * L_MIN, share * static),
    st.floats(0.5e5, 15e5),
    st.floats(0.0, 0.99),
    st.floats(0.1, 500.0),
)


# Computed: 20 gpm (40/15)**0.54 and 25 L/min (2.05/0.5)**0.54.
@pytest.mark.parametrize(
    ("street", "at_pa", "unit", "flow"),
    [
        (SupplyCurve(60 * PSI, 20 * GPM, 45 * PSI), 20 * PSI, GPM, 33.9667),
        (SupplyCurve(4e5, 25 * L_MIN, 3.5e5), 1.95e5, L_MIN, 53.5603),
    ],
)
def test_figures(street: SupplyCurve, at_pa: float, unit: float, flow: float) -> None:
    assert street.flow(at_pa) / unit == pytest.approx(flow, rel=1e-5)


@given(streets, st.floats(0.0, 1.0))
def test_there_and_back(street: SupplyCurve, share: float) -> None:
    assert street.flow(street.test_pa) == pytest.approx(street.test_flow_m3_s, rel=1e-12)
    assert street.flow(street.static_pa) == 0.0
    assert float(street.pressure(np.array(0.0))) == street.static_pa
    pressure = share * street.static_pa
    back = float(street.pressure(np.array(street.flow(pressure))))
    assert back == pytest.approx(pressure, rel=1e-9, abs=1e-9 * street.static_pa)
    assert street.flow(pressure) <= street.largest_m3_s


@given(streets, st.floats(0.05, 3.0), st.floats(0.0, 0.9))
def test_another_hour_of_the_same_street(street: SupplyCurve, ratio: float, share: float) -> None:
    # What the pipes lose at one flow does not depend on the hour.
    other = street.at_static(ratio * street.static_pa)
    assert other.static_pa == ratio * street.static_pa
    flow = np.array(share * min(street.largest_m3_s, other.largest_m3_s))
    lost = street.static_pa - street.pressure(flow)
    assert other.static_pa - other.pressure(flow) == pytest.approx(
        lost, rel=1e-7, abs=1e-7 * street.static_pa
    )


def test_a_small_drop_is_unreliable() -> None:
    # Second-hand: a drop under 10 % of static tells too little.
    assert not SupplyCurve(4e5, 25 * L_MIN, 3.61e5).reliable
    assert SupplyCurve(4e5, 25 * L_MIN, 3.5e5).reliable
    street = SupplyCurve(4e5, 25 * L_MIN, 3.5e5)
    assert street.extrapolated(26 * L_MIN) and not street.extrapolated(25 * L_MIN)


@pytest.mark.parametrize(
    ("static", "flow", "residual", "field"),
    [
        (0.0, 1e-4, 0.0, "static_pa"),
        (-1e5, 1e-4, 0.0, "static_pa"),
        (math.nan, 1e-4, 0.0, "static_pa"),
        (3e5, 0.0, 1e5, "test_flow_m3_s"),
        (3e5, 1e-4, -1.0, "test_pa"),
        (3e5, 1e-4, 3e5, "test_pa"),
        (3e5, 1e-4, 4e5, "test_pa"),
        (3e5, 1e-4, math.inf, "test_pa"),
    ],
)
def test_a_bad_test_names_its_field(static: float, flow: float, residual: float, field: str) -> None:
    with pytest.raises(OutOfRange, match=field):
        SupplyCurve(static, flow, residual)


def test_nothing_flows_out_above_static() -> None:
    street = SupplyCurve(4e5, 25 * L_MIN, 3.5e5)
    for pressure in (4.01e5, math.nan, math.inf):
        with pytest.raises(OutOfRange, match="pressure_pa"):
            street.flow(pressure)
    with pytest.raises(OutOfRange, match="static_pa"):
        street.at_static(0.0)


def test_the_day_has_two_ends() -> None:
    ends = day(SupplyCurve(4e5, 25 * L_MIN, 3.5e5), 3e5, 4.5e5)
    assert ends.low.test_pa == pytest.approx(2.5e5)
    assert ends.high.test_pa == pytest.approx(4e5)
    assert ends.low.flow(2e5) < ends.high.flow(2e5)
    with pytest.raises(OutOfRange, match="low static_pa"):
        day(SupplyCurve(4e5, 25 * L_MIN, 3.5e5), 4.5e5, 3e5)
