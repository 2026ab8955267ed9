"""A maker's curve of one point is none: it is refused with a sentence that names the part and what would be right."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from estimator.model.makers import OwnProportioner, OwnPump, PumpPoint, VacuumPoint
from estimator.units import Dimension, parse

BAR = parse("3 bar", Dimension.PRESSURE)


def test_a_vacuum_curve_of_one_point() -> None:
    one = VacuumPoint(inlet=BAR, vacuum=parse("60 kPa", Dimension.PRESSURE))
    for points in ((), (one,)):
        with pytest.raises(ValidationError, match=r"“Wide one”: give two or more points of the vacuum curve"):
            OwnProportioner(key="own-1", name="Wide one", vacuum=points)
    with pytest.raises(ValidationError, match=r"“Wide one”: “Water pressure” must rise from point to point"):
        OwnProportioner(key="own-1", name="Wide one", vacuum=(one, one))


def test_a_pump_curve_of_one_flow() -> None:
    one = PumpPoint(
        air=BAR, flow=parse("4 L/min", Dimension.FLOW), discharge=parse("2.8 bar", Dimension.PRESSURE)
    )
    for points in ((), (one,), (one, one)):
        with pytest.raises(ValidationError, match=r"“own-2”: give points at two or more flows above 0"):
            OwnPump(key="own-2", points=points)
