"""Figures as a person reads them on the paper: money and dates by the locale, lengths in the job's units."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal

from estimator.locales import day_text, fixed_text, known_locale, number_text
from estimator.model.job import Job
from estimator.money import minor_units, money_text
from estimator.units import (
    Dimension,
    Quantity,
    UnitSystem,
    as_written,
    default_places,
    preferred_unit,
    to_unit,
)

__all__ = ["Figures", "figures_of"]

_METRES_A_FOOT = Decimal("0.3048")  # exact, by definition (international foot, 1959)
_WORDS = (
    "no",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)


_MORE_DIGITS = 8
"""Digits after the smallest coin that a unit price may need: enough for ten million pieces."""


_SURE_DIGITS = 6


def _rounded(value: Decimal, places: int) -> Decimal:
    return value.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)


@dataclass(frozen=True, slots=True)
class Figures:
    """How figures are written.

    Attributes:
        locale: one that is known; en_US stands in for one that is not.
        currency: ISO 4217 code.
        system: units that lengths are shown in.
    """

    locale: str
    currency: str
    system: UnitSystem

    def money(self, amount: Decimal) -> str:
        """An amount with its currency."""
        return money_text(amount, self.currency, self.locale)

    def change(self, amount: Decimal) -> str:
        """A difference with its sign; the sign of a fall is the locale's own.

        >>> Figures("en_US", "USD", UnitSystem.US).change(Decimal("12.50"))
        '+$12.50'
        >>> Figures("en_US", "USD", UnitSystem.US).change(Decimal("0.00"))
        'no change'
        """
        if not amount:
            return "no change"
        return f"+{self.money(amount)}" if amount > 0 else self.money(amount)

    def day(self, day: date) -> str:
        """A date in words and figures."""
        return day_text(day, self.locale)

    def number(self, value: Decimal | float, places: int) -> str:
        """A number with at most so many decimals, rounded half up.

        >>> Figures("de_DE", "EUR", UnitSystem.METRIC).number(Decimal("1234.50"), 1)
        '1.234,5'
        """
        return number_text(value, places, self.locale)

    def fixed(self, value: Decimal | float, places: int) -> str:
        """A number with all its decimals, so that a column lines up.

        >>> Figures("de_DE", "EUR", UnitSystem.METRIC).fixed(1234.5, 2)
        '1.234,50'
        """
        return fixed_text(value, places, self.locale)

    def percent(self, value: Decimal) -> str:
        """A percentage, up to four decimals where there are any."""
        return f"{self.number(value, 4)}\u00a0%"

    def amount(self, si: float, dimension: Dimension, places: int | None = None) -> str:
        """A quantity with its unit, in the job's units.

        Args:
            si: in the SI unit of its dimension.
            dimension: what it measures.
            places: most decimals in the metric unit, the dimension's own if left out; another unit takes as many
                more or fewer than its own.

        >>> metric, us = (Figures("en_US", "USD", system) for system in UnitSystem)
        >>> metric.amount(250_000.0, Dimension.PRESSURE), us.amount(250_000.0, Dimension.PRESSURE)
        ('2.5\xa0bar', '36.3\xa0psi')
        """
        if not math.isfinite(si):
            return "not known"
        unit, own = preferred_unit(dimension, self.system), default_places(dimension, self.system)
        if places is not None:
            own = max(0, own + places - default_places(dimension, UnitSystem.METRIC))
        return self.with_unit(to_unit(si, dimension, unit), unit, own)

    def with_unit(self, value: float | Decimal, unit: str, places: int) -> str:
        """A number with its unit, which no line break parts.

        >>> Figures("en_US", "USD", UnitSystem.METRIC).with_unit(365, "day", 0)
        '365\xa0days'
        """
        gap = "" if unit == "°" else "\u00a0"
        word = "days" if unit == "day" and value != 1 else unit
        return f"{self.number(value, places)}{gap}{word}"

    def typed(self, quantity: Quantity) -> str:
        """A typed quantity: as it was typed where its unit is one of the job's, converted where it is not.

        >>> from estimator.units import parse
        >>> figures = Figures("de_DE", "EUR", UnitSystem.METRIC)
        >>> figures.typed(parse("600 mm", Dimension.LENGTH)), figures.typed(parse("1 ft", Dimension.LENGTH))
        ('600\xa0mm', '0,3\xa0m')
        """
        written = as_written(quantity, self.system)
        if written is None:
            return self.amount(quantity.si, quantity.dimension)
        number, unit = written
        exponent = number.as_tuple().exponent
        return self.with_unit(number, unit, max(0, -exponent) if isinstance(exponent, int) else 0)

    def limit(self, quantity: Quantity, *, lowest: bool) -> str:
        """An end of what is allowed, as it was declared or converted; rounded to the inside, so that it is allowed as
        it is read.

        >>> from estimator.units import parse
        >>> figures = Figures("en_US", "USD", UnitSystem.US)
        >>> figures.limit(parse("0.5 m", Dimension.LENGTH), lowest=True)  # 1.6404 ft
        '1.7\xa0ft'
        """
        if as_written(quantity, self.system) is not None:
            return self.typed(quantity)
        unit, places = (
            preferred_unit(quantity.dimension, self.system),
            default_places(quantity.dimension, self.system),
        )
        # The last digits of a conversion are no reason to leave the limit.
        value = round(to_unit(quantity.si, quantity.dimension, unit), places + _SURE_DIGITS)
        rounding = ROUND_CEILING if lowest else ROUND_FLOOR
        gap = "" if unit == "°" else "\u00a0"
        return f"{number_text(value, places, self.locale, rounding)}{gap}{unit}"

    def length(self, metres: float, places: int = 1) -> str:
        """A length with its unit, in the job's units."""
        unit = preferred_unit(Dimension.LENGTH, self.system)
        return f"{self.number(to_unit(metres, Dimension.LENGTH, unit), places)}\u00a0{unit}"

    def quantity(self, value: float, unit: str) -> tuple[str, str]:
        """Quantity and unit of sale as printed; metres become feet on a paper in US units.

        >>> Figures("en_US", "USD", UnitSystem.US).quantity(30.48, "m")
        ('100', 'ft')
        """
        exact = Decimal(repr(value))
        if unit == "m" and self.system is UnitSystem.US:
            return self.number(exact / _METRES_A_FOOT, 1), "ft"
        return self.number(exact, 3), unit

    def unit_price(self, price: Decimal, value: float, unit: str) -> str:
        """Price of one unit as printed in `quantity`, with as many digits as make the price of the row.

        Args:
            price: of the row.
            value, unit: its quantity, above 0.

        >>> Figures("en_US", "USD", UnitSystem.METRIC).unit_price(Decimal("10.00"), 3.0, "each")
        '$3.333'
        >>> Figures("en_US", "USD", UnitSystem.METRIC).unit_price(Decimal("10.00"), 4.0, "each")
        '$2.50'
        """
        exact = Decimal(repr(value))
        feet = unit == "m" and self.system is UnitSystem.US
        printed = _rounded(exact / _METRES_A_FOOT, 1) if feet else _rounded(exact, 3)
        places = minor_units(self.currency)
        one = price / (printed or exact)
        digits = next(
            (
                digits
                for digits in range(places, places + _MORE_DIGITS)
                if _rounded(_rounded(one, digits) * printed, places) == price
            ),
            places + _MORE_DIGITS,
        )
        return money_text(_rounded(one, digits), self.currency, self.locale, digits)

    @staticmethod
    def count(number: int, one: str, many: str = "", *, start: bool = False) -> str:
        """A count with its noun, in words up to twelve.

        >>> Figures.count(3, "bay"), Figures.count(1, "bay", start=True), Figures.count(22, "hose drop")
        ('three bays', 'One bay', '22 hose drops')
        """
        word = _WORDS[number] if 0 <= number < len(_WORDS) else str(number)
        text = f"{word} {one if number == 1 else many or one + 's'}"
        return text[0].upper() + text[1:] if start else text


def figures_of(job: Job) -> Figures:
    """How this job's figures are written."""
    return Figures(known_locale(job.terms.locale), job.terms.currency, job.units)
