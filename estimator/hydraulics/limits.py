"""Limits of what a formula or a field can take, and the one error that reports them.

Two ways of saying "outside":

* No answer has a meaning (water at 95 degC, a bore of 0): :class:`OutOfRange` is raised. It names the
  quantity, the value and the range. Nothing is moved to the nearest limit.
* The formula still gives a number but its source does not cover the case: the result carries ``outside``, a
  tuple of sentences; empty means valid.
"""

from __future__ import annotations

import math
from typing import Final

ROUNDING: Final = 1e-9
"""Share of a limit by which a value may pass it, for the rounding of unit conversion, -."""


class OutOfRange(ValueError):
    """A quantity outside the range in which an answer has a meaning.

    Attributes: ``quantity`` name of the field, ``value`` as given, ``low`` and ``high`` the range in ``unit``
    (infinite where there is no such limit), ``hint`` what would be right,
    ``open_low`` whether ``low`` itself is out too.
    """

    def __init__(
        self,
        quantity: str,
        value: float,
        low: float,
        high: float,
        unit: str,
        hint: str = "",
        open_low: bool = False,
    ) -> None:
        super().__init__(quantity, value, low, high, unit, hint, open_low)
        self.quantity = quantity
        self.value = value
        self.low = low
        self.high = high
        self.unit = unit
        self.hint = hint
        self.open_low = open_low

    def __str__(self) -> str:
        unit = f" {self.unit}" if self.unit and self.unit != "-" else ""
        if math.isinf(self.high) and math.isinf(self.low):
            wanted = "give a finite number"
        elif math.isinf(self.high):
            wanted = f"give {self.low:g}{unit} or more"
            if self.open_low:
                wanted = f"give more than {self.low:g}{unit}"
        else:
            wanted = f"give {self.low:g} to {self.high:g}{unit}"
        tail = f"; {self.hint}" if self.hint else ""
        return f"{self.quantity}: {self.value:g}{unit} is out of range, {wanted}{tail}"


def within(quantity: str, value: float, low: float, high: float, unit: str, hint: str = "") -> float:
    """The value itself if ``low <= value <= high`` (to a rounding of 1e-9 of the limit).

    Raises :class:`OutOfRange`, also for a value that is not a number.

    >>> within("temperature_k", 300.0, 273.15, 333.15, "K")
    300.0
    >>> within("temperature_k", 368.15, 273.15, 333.15, "K")
    Traceback (most recent call last):
    ...
    estimator.hydraulics.limits.OutOfRange: temperature_k: 368.15 K is out of range, give 273.15 to 333.15 K
    """
    slack_low = ROUNDING * abs(low) if math.isfinite(low) else 0.0
    slack_high = ROUNDING * abs(high) if math.isfinite(high) else 0.0
    if not (math.isfinite(value) and low - slack_low <= value <= high + slack_high):
        raise OutOfRange(quantity, value, low, high, unit, hint)
    return value


def above_zero(quantity: str, value: float, unit: str, hint: str = "") -> float:
    """The value itself if it is finite and above 0. Raises :class:`OutOfRange`.

    >>> above_zero("bore_m", 0.004, "m")
    0.004
    >>> above_zero("bore_m", 0.0, "m")
    Traceback (most recent call last):
    ...
    estimator.hydraulics.limits.OutOfRange: bore_m: 0 m is out of range, give more than 0 m
    """
    if not (math.isfinite(value) and value > 0.0):
        raise OutOfRange(quantity, value, 0.0, math.inf, unit, hint, open_low=True)
    return value


def finite(quantity: str, value: float, unit: str, hint: str = "") -> float:
    """The value itself if it is finite [its own unit: m, Pa, K]. Raises :class:`OutOfRange`; a check, no source.

    >>> finite("level_m", -0.5, "m")
    -0.5
    """
    if not math.isfinite(value):
        raise OutOfRange(quantity, value, -math.inf, math.inf, unit, hint)
    return value


def zero_or_more(quantity: str, value: float, unit: str, hint: str = "") -> float:
    """The value itself if it is finite and not negative. Raises :class:`OutOfRange`.

    >>> zero_or_more("flow_m3_s", -1.0, "m3/s")
    Traceback (most recent call last):
    ...
    estimator.hydraulics.limits.OutOfRange: flow_m3_s: -1 m3/s is out of range, give 0 m3/s or more
    """
    if not (math.isfinite(value) and value >= 0.0):
        raise OutOfRange(quantity, value, 0.0, math.inf, unit, hint)
    return value
