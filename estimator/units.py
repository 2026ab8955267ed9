"""Quantity text in and out: a number and its unit stay as they were typed, SI floats go inside.

The conversion factors belong to pint; this module owns which unit spellings a person may type for which
dimension, and never hands a person's text to an expression parser. Loading pint takes longer than a bare window
does, so the common factors stand here in a table that tests hold against pint, digit for digit; pint itself is loaded
when a unit outside the table is typed or shown.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Final

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from estimator.locales import decimal_mark, fixed_text, number_text

if TYPE_CHECKING:
    import pint

__all__ = [
    "Dimension",
    "Measure",
    "Quantity",
    "QuantityError",
    "UnitSystem",
    "as_typed",
    "as_written",
    "default_places",
    "display",
    "for_file",
    "parse",
    "preferred_unit",
    "to_unit",
    "told_beside",
    "units_of",
    "written_in",
]

MAX_TEXT: Final = 60


class UnitSystem(StrEnum):
    """The system a figure is shown in; it never changes what was typed."""

    METRIC = "metric"
    US = "us"


class Dimension(StrEnum):
    """What kind of quantity a field holds. The SI unit inside is named in `si_unit`."""

    LENGTH = "length"
    PRESSURE = "pressure"
    FLOW = "flow"
    FREE_AIR = "free air flow"
    VOLUME = "volume"
    TEMPERATURE = "temperature"
    TIME = "time"
    VISCOSITY = "dynamic viscosity"
    ANGLE = "angle"
    VELOCITY = "velocity"
    ROUGHNESS = "roughness"
    SMALL_LENGTH = "small length"

    @property
    def si_unit(self) -> str:
        """The unit of the float inside, in pint's spelling."""
        return _SI[self]


_SI: Final[dict[Dimension, str]] = {
    Dimension.LENGTH: "meter",
    Dimension.PRESSURE: "pascal",
    Dimension.FLOW: "meter**3/second",
    Dimension.FREE_AIR: "meter**3/second",
    Dimension.VOLUME: "meter**3",
    Dimension.TEMPERATURE: "kelvin",
    Dimension.TIME: "second",
    Dimension.VISCOSITY: "pascal*second",
    Dimension.ANGLE: "radian",
    Dimension.VELOCITY: "meter/second",
    Dimension.ROUGHNESS: "meter",
    Dimension.SMALL_LENGTH: "meter",
}

# Spelling a person may type -> pint's spelling. The first of each dimension is the metric one, and the
# one marked in _PREFERRED is what a figure is shown in.
_SPELLINGS: Final[dict[Dimension, dict[str, str]]] = {
    Dimension.LENGTH: {
        "m": "meter",
        "cm": "centimeter",
        "mm": "millimeter",
        "ft": "foot",
        "in": "inch",
        "yd": "yard",
    },
    Dimension.PRESSURE: {
        "bar": "bar",
        "kPa": "kilopascal",
        "MPa": "megapascal",
        "Pa": "pascal",
        "mbar": "millibar",
        "psi": "psi",
    },
    Dimension.FLOW: {
        "L/min": "liter/minute",
        "mL/min": "milliliter/minute",
        "L/h": "liter/hour",
        "L/s": "liter/second",
        "m3/h": "meter**3/hour",
        "gpm": "gallon/minute",
        "gal/min": "gallon/minute",
        "gph": "gallon/hour",
        "fl oz/min": "US_fluid_ounce/minute",
    },
    Dimension.FREE_AIR: {
        "L/min": "liter/minute",
        "L/s": "liter/second",
        "m3/min": "meter**3/minute",
        "m3/h": "meter**3/hour",
        "cfm": "foot**3/minute",
        "scfm": "foot**3/minute",
    },
    Dimension.VOLUME: {
        "L": "liter",
        "mL": "milliliter",
        "m3": "meter**3",
        "gal": "gallon",
        "qt": "quart",
        "fl oz": "US_fluid_ounce",
    },
    Dimension.TEMPERATURE: {"°C": "degC", "C": "degC", "°F": "degF", "F": "degF", "K": "kelvin"},
    Dimension.TIME: {"min": "minute", "s": "second", "h": "hour", "day": "day", "days": "day"},
    Dimension.VISCOSITY: {
        "mPa·s": "millipascal*second",
        "mPa.s": "millipascal*second",
        "cP": "centipoise",
        "Pa·s": "pascal*second",
    },
    Dimension.ANGLE: {"°": "degree", "deg": "degree", "rad": "radian"},
    Dimension.VELOCITY: {"m/s": "meter/second", "ft/s": "foot/second"},
    Dimension.ROUGHNESS: {"mm": "millimeter", "in": "inch"},
    Dimension.SMALL_LENGTH: {"mm": "millimeter", "cm": "centimeter", "in": "inch"},
}

_PREFERRED: Final[dict[UnitSystem, dict[Dimension, tuple[str, int]]]] = {
    UnitSystem.METRIC: {
        Dimension.LENGTH: ("m", 2),
        Dimension.PRESSURE: ("bar", 2),
        Dimension.FLOW: ("L/min", 2),
        Dimension.FREE_AIR: ("L/min", 0),
        Dimension.VOLUME: ("L", 1),
        Dimension.TEMPERATURE: ("°C", 1),
        Dimension.TIME: ("min", 1),
        Dimension.VISCOSITY: ("mPa·s", 2),
        Dimension.ANGLE: ("°", 0),
        Dimension.VELOCITY: ("m/s", 1),
        Dimension.ROUGHNESS: ("mm", 4),
        Dimension.SMALL_LENGTH: ("mm", 1),
    },
    UnitSystem.US: {
        Dimension.LENGTH: ("ft", 1),
        Dimension.PRESSURE: ("psi", 1),
        Dimension.FLOW: ("gpm", 3),
        Dimension.FREE_AIR: ("scfm", 1),
        Dimension.VOLUME: ("gal", 2),
        Dimension.TEMPERATURE: ("°F", 1),
        Dimension.TIME: ("min", 1),
        Dimension.VISCOSITY: ("cP", 2),
        Dimension.ANGLE: ("°", 0),
        Dimension.VELOCITY: ("ft/s", 1),
        Dimension.ROUGHNESS: ("in", 6),
        Dimension.SMALL_LENGTH: ("in", 3),
    },
}

_NUMBER: Final = r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d{1,3})?"
_QUANTITY: Final = re.compile(
    rf"\s*({_NUMBER})\s*([^\d\s+\-.,][^\d]*?\d?(?:/[a-z]+)?)?\s*", re.ASCII | re.DOTALL
)
_MARK: Final = re.compile(r"[.,](?=\d)|(?<=\d)[.,]", re.ASCII)
_TWO_READINGS: Final = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}")
_FEET_INCHES: Final = re.compile(
    rf"\s*(\d+)\s*(?:ft|')\s*({_NUMBER})\s*(?:in|\"|'')?\s*",
    re.ASCII,
)


class QuantityError(ValueError):
    """The text is not a quantity of the wanted dimension; the message says what would be right.

    Args:
        sentence: what would be right; with holes where an example is told in the units of a job.
        told: what fills the holes, "example" among them; a sentence without is told literally.
    """

    def __init__(self, sentence: str, **told: str) -> None:
        super().__init__(sentence.format(**told) if told else sentence)
        self.sentence, self.told = sentence, told


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number with its unit, kept as typed.

    Attributes:
        text: what the person typed, trimmed ("25 ft").
        si: the same in the SI unit of its dimension (7.62).
        dimension: what it measures.
    """

    text: str
    si: float
    dimension: Dimension

    def __str__(self) -> str:
        return self.text


def _shown(text: str) -> str:
    # Half a character, as a file may hold it, can stand in no message.
    whole = text.encode("utf-8", "replace").decode()
    return whole if len(whole) <= MAX_TEXT else whole[: MAX_TEXT - 1] + "…"


# Scale and offset of the common units, by pint's spelling: si = scale * value + offset.
_COMMON: Final[dict[str, tuple[float, float]]] = {
    "meter": (1.0, 0.0),
    "centimeter": (0.01, 0.0),
    "millimeter": (0.001, 0.0),
    "foot": (0.3048, 0.0),
    "inch": (0.0254, 0.0),
    "bar": (100_000.0, 0.0),
    "kilopascal": (1000.0, 0.0),
    "pascal": (1.0, 0.0),
    "psi": (6894.757293168362, 0.0),
    "liter/minute": (1.6666666666666667e-05, 0.0),
    "milliliter/minute": (1.6666666666666667e-08, 0.0),
    "liter/second": (0.001, 0.0),
    "meter**3/hour": (0.0002777777777777778, 0.0),
    "gallon/minute": (6.30901964e-05, 0.0),
    "foot**3/minute": (0.0004719474432, 0.0),
    "liter": (0.001, 0.0),
    "milliliter": (1e-06, 0.0),
    "meter**3": (1.0, 0.0),
    "gallon": (0.003785411784, 0.0),
    "US_fluid_ounce": (2.95735295625e-05, 0.0),
    "degC": (1.0, 273.15),
    "degF": (0.5555555555555556, 255.37222222222223),
    "minute": (60.0, 0.0),
    "second": (1.0, 0.0),
    "hour": (3600.0, 0.0),
    "day": (86_400.0, 0.0),
    "millipascal*second": (0.001, 0.0),
    "centipoise": (0.001, 0.0),
    "degree": (0.017453292519943295, 0.0),
    "meter/second": (1.0, 0.0),
    "foot/second": (0.3048, 0.0),
}


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[Decimal]:
    """pint's own definitions; Decimal keeps the exact ones (1 ft = 0.3048 m) exact until the last step."""
    import pint

    return pint.UnitRegistry(non_int_type=Decimal)


@lru_cache(maxsize=256)
def _by_pint(unit: str, si_unit: str) -> tuple[float, float]:
    """Scale and offset so that si = scale * value + offset; offset only for °C and °F."""
    quantity = _registry().Quantity
    zero = Decimal(quantity(Decimal(0), unit).to(si_unit).magnitude)
    one = Decimal(quantity(Decimal(1), unit).to(si_unit).magnitude)
    return float(one - zero), float(zero)


def _factor(unit: str, si_unit: str) -> tuple[float, float]:
    return _COMMON.get(unit) or _by_pint(unit, si_unit)


def units_of(dimension: Dimension, system: UnitSystem | None = None) -> tuple[str, ...]:
    """Unit spellings a person may type for a dimension; of a system those that are at home in it.

    >>> units_of(Dimension.SMALL_LENGTH, UnitSystem.US), units_of(Dimension.TIME, UnitSystem.US)
    (('in',), ('min', 's', 'h', 'day', 'days'))
    """
    every = tuple(_SPELLINGS[dimension])
    if system is None or dimension in _EITHER:
        return every
    return tuple(unit for unit in every if (unit in _US_ONLY) is (system is UnitSystem.US))


def preferred_unit(dimension: Dimension, system: UnitSystem) -> str:
    """The unit a figure of this dimension is shown in."""
    return _PREFERRED[system][dimension][0]


def default_places(dimension: Dimension, system: UnitSystem) -> int:
    """Decimals that a figure of this dimension is shown with where nothing else is said."""
    return _PREFERRED[system][dimension][1]


def _unit(dimension: Dimension, typed: str, whole: str) -> str:
    spellings = _SPELLINGS[dimension]
    if typed in spellings:
        return spellings[typed]
    cleaned = " ".join(typed.replace("³", "3").replace("^3", "3").split())
    if cleaned in spellings:
        return spellings[cleaned]
    loose = {name.casefold(): unit for name, unit in spellings.items()}
    folded = cleaned.casefold()
    # mPa and MPa differ only in case: a folded match would be a guess of a factor of 10^9.
    if folded in loose and folded not in {"mpa", "mpa·s", "mpa.s"}:
        return loose[folded]
    raise QuantityError(
        "“{text}” is no {measure}: the unit “{unit}” does not measure {measure} here; use one of {units}.",
        text=_shown(whole),
        unit=_shown(cleaned),
        measure=_measured(dimension),
        units=", ".join(spellings),
    )


def _one_reading(number: str, whole: str) -> None:
    """Refuse "1,500": thousands to one person, one and a half to another. "0,500" and "1,50" are clear."""
    if _TWO_READINGS.fullmatch(number):
        raise QuantityError(
            f"“{_shown(whole)}” can be read two ways: write the thousands without a comma or the decimals "
            "with a point."
        )


def _measured(dimension: Dimension) -> str:
    """What it measures, in a sentence."""
    return "length" if dimension is Dimension.SMALL_LENGTH else dimension.value


def _example(dimension: Dimension) -> str:
    usual = {
        Dimension.TEMPERATURE: "15 °C",
        Dimension.VISCOSITY: "1 mPa·s",
        Dimension.ANGLE: "25 °",
    }
    return usual.get(dimension, f"5 {units_of(dimension)[0]}")


@lru_cache(maxsize=4096)
def parse(text: str, dimension: Dimension) -> Quantity:
    """Read a typed quantity.

    Args:
        text: a number and a unit, "25 ft", "7,5 m", "12 ft 6 in", "-3 °C".
        dimension: what it must measure.

    Returns:
        The quantity with its text kept as typed (trimmed).

    Raises:
        QuantityError: no number, no unit, a unit of another dimension, or not finite.

    >>> parse("25 ft", Dimension.LENGTH).si
    7.62
    >>> parse("100 kPa", Dimension.PRESSURE).si
    100000.0
    >>> parse("12 ft 6 in", Dimension.LENGTH).si
    3.81
    """
    if len(text) > MAX_TEXT:
        raise QuantityError(
            f"“{_shown(text)}” is too long for a quantity ({len(text)} characters; {MAX_TEXT} at most)."
        )
    trimmed = text.strip()
    si_unit = dimension.si_unit
    if dimension is Dimension.LENGTH and (both := _FEET_INCHES.fullmatch(trimmed)):
        _one_reading(both[2], trimmed)
        inches = 12.0 * float(both[1]) + float(both[2].replace(",", "."))
        return Quantity(trimmed, inches * _factor("inch", si_unit)[0], dimension)
    found = _QUANTITY.fullmatch(trimmed)
    if found is None:
        raise QuantityError(
            "“{text}” is no {measure}: write one number and a unit, such as “{example}”.",
            text=_shown(trimmed),
            measure=_measured(dimension),
            example=_example(dimension),
        )
    _one_reading(found[1], trimmed)
    number = float(found[1].replace(",", "."))
    if found[2] is None:
        raise QuantityError(
            "“{text}” has no unit: write one of {units}, such as “{example}”.",
            text=_shown(trimmed),
            units=", ".join(units_of(dimension)),
            example=_example(dimension),
        )
    scale, offset = _factor(_unit(dimension, found[2], trimmed), si_unit)
    value = number * scale + offset
    if not math.isfinite(value):
        raise QuantityError(
            "“{text}” is too large for a {measure}; write one such as “{example}”.",
            text=_shown(trimmed),
            measure=_measured(dimension),
            example=_example(dimension),
        )
    return Quantity(trimmed, value, dimension)


_US_ONLY: Final = frozenset(
    {"ft", "in", "yd", "psi", "gpm", "gal/min", "gph", "fl oz/min", "cfm", "scfm", "gal", "qt", "fl oz"}
    | {"°F", "F", "ft/s"}
)
_EITHER: Final = frozenset({Dimension.TIME, Dimension.VISCOSITY, Dimension.ANGLE})


def as_written(quantity: Quantity, system: UnitSystem) -> tuple[Decimal, str] | None:
    """Number and unit of a typed quantity where its unit is one of a system; None where it must be converted.

    Feet with inches are None too: they are two numbers.

    >>> as_written(parse("7,50 m", Dimension.LENGTH), UnitSystem.METRIC)
    (Decimal('7.50'), 'm')
    >>> as_written(parse("7,50 m", Dimension.LENGTH), UnitSystem.US) is None
    True
    """
    found = _QUANTITY.fullmatch(quantity.text.strip())
    if found is None or found[2] is None:
        return None
    spellings = _SPELLINGS[quantity.dimension]
    meant = _unit(quantity.dimension, found[2], quantity.text)
    unit = next(name for name, known in spellings.items() if known == meant)
    if quantity.dimension not in _EITHER and (unit in _US_ONLY) is not (system is UnitSystem.US):
        return None
    return Decimal(found[1].replace(",", ".")), unit


def written_in(quantity: Quantity, locale: str) -> str:
    """A typed quantity in its own unit, with the decimal mark of a locale.

    >>> written_in(parse("7,50 m", Dimension.LENGTH), "en_US"), written_in(parse("7.50 m", Dimension.LENGTH), "de_DE")
    ('7.50 m', '7,50 m')
    """
    mark = decimal_mark(locale)
    # One that no keyboard has could not be typed again.
    return _MARK.sub(mark, quantity.text) if mark in ".," else quantity.text


_IN_A_FILE: Final = re.compile(r"([1-9]\d{0,2})\.(\d{3}(?!\d))")
_TWO_IN_A_FILE: Final = re.compile(r"([1-9]\d{0,2}),(\d{3}(?!\d))")


def for_file(text: str, locale: str) -> str:
    """A quantity as it was typed, in the marks of the file: "1,500 m" has one reading where the comma is the decimal
    mark, and two in the file, which is read without a locale.

    >>> for_file("1,500 m", "de_DE"), for_file("1,500 m", "en_US")
    ('1.500 m', '1,500 m')
    """
    return _TWO_IN_A_FILE.sub(r"\1.\2", text) if decimal_mark(locale) == "," else text


def as_typed(text: str, locale: str) -> str:
    """What `for_file` was given: "1.500 m" is refused where the point may part thousands, so nobody typed it there.

    >>> as_typed("1.500 m", "de_DE"), as_typed("1.5 m", "de_DE")
    ('1,500 m', '1.5 m')
    """
    return _IN_A_FILE.sub(r"\1,\2", text) if decimal_mark(locale) == "," else text


def to_unit(si: float, dimension: Dimension, unit: str) -> float:
    """An SI value in one of the spellings of `units_of`.

    >>> round(to_unit(6894.757293168, Dimension.PRESSURE, "psi"), 9)
    1.0
    """
    scale, offset = _factor(_SPELLINGS[dimension][unit], dimension.si_unit)
    return (si - offset) / scale


def display(
    si: float, dimension: Dimension, system: UnitSystem, digits: int | None = None, locale: str = ""
) -> str:
    """An SI value as text in the unit that the system prefers; without a locale as a file holds it.

    >>> display(7.62, Dimension.LENGTH, UnitSystem.US)
    '25.0 ft'
    >>> display(250_000.0, Dimension.PRESSURE, UnitSystem.METRIC)
    '2.50 bar'
    >>> display(250_000.0, Dimension.PRESSURE, UnitSystem.METRIC, locale="de_DE")
    '2,50 bar'
    """
    unit, default_digits = _PREFERRED[system][dimension]
    places = default_digits if digits is None else digits
    value = to_unit(si, dimension, unit)
    shown = fixed_text(value, places, locale) if locale else f"{value:.{places}f}"
    if not locale and float(shown) == 0.0:
        shown = shown.lstrip("-")
    gap = "" if unit == "°" else " "
    return f"{shown}{gap}{unit}"


_MOST_MORE_PLACES: Final = 5


def told_beside(quantity: Quantity, other: Quantity | None, system: UnitSystem, locale: str) -> str:
    """A typed quantity that is compared with another one: as both were typed where their units are of the system, else
    converted, with the decimals that tell one from the other.

    >>> a, b = parse("6 m", Dimension.LENGTH), parse("6.01 m", Dimension.LENGTH)
    >>> [told_beside(q, p, UnitSystem.US, "de_DE") for q, p in ((a, b), (b, a))]
    ['19,69 ft', '19,72 ft']
    >>> told_beside(a, parse("600 cm", Dimension.LENGTH), UnitSystem.US, "en_US")
    '6 m'
    """
    both = (quantity,) if other is None else (quantity, other)
    written = as_written(quantity, system)
    if written is not None and all(as_written(q, system) is not None for q in both):
        number, own = written
        exponent = number.as_tuple().exponent
        return f"{fixed_text(number, max(0, -exponent) if isinstance(exponent, int) else 0, locale)} {own}"
    unit, places = _PREFERRED[system][quantity.dimension]
    for more in range(_MOST_MORE_PLACES):
        told = [number_text(to_unit(q.si, q.dimension, unit), places + more, locale) for q in both]
        if len(set(told)) == len(both):
            return f"{told[0]} {unit}"
    return written_in(quantity, locale)


@dataclass(frozen=True, slots=True)
class Measure:
    """Declares a quantity field: its dimension and the limits that make sense, both ends allowed.

    Used as `Annotated[Quantity, Measure(Dimension.LENGTH, "0.5 m", "500 m")]`; validation, form, file
    schema and documentation read this one place.
    """

    dimension: Dimension
    low: str
    high: str

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Text in, `Quantity` inside, text out."""
        low, high = parse(self.low, self.dimension), parse(self.high, self.dimension)

        def check(value: object) -> Quantity:
            if isinstance(value, Quantity):
                if value.dimension is not self.dimension:
                    raise PydanticCustomError(
                        "quantity",
                        "“{text}” is not a {dimension}.",
                        {"text": value.text, "dimension": self.dimension.value},
                    )
                quantity = value
            elif isinstance(value, str):
                try:
                    quantity = parse(value, self.dimension)
                except QuantityError as error:
                    told = {"sentence": error.sentence, **error.told} if error.told else {}
                    raise PydanticCustomError(
                        "quantity",
                        "{reason}",
                        {"reason": str(error), "dimension": self.dimension.value, **told},
                    ) from None
            else:
                raise PydanticCustomError(
                    "quantity",
                    "This must be text with a number and a unit ({units}).",
                    {"units": ", ".join(units_of(self.dimension))},
                )
            # A limit typed in another unit may come out a last digit beyond: 203 °F is 95 °C.
            if not low.si <= quantity.si <= high.si and not any(
                math.isclose(quantity.si, end.si, rel_tol=1e-12) for end in (low, high)
            ):
                raise PydanticCustomError(
                    "quantity_range",
                    "“{text}” is outside {low} to {high}.",
                    {
                        "text": quantity.text,
                        "low": low.text,
                        "high": high.text,
                        "dimension": self.dimension.value,
                    },
                )
            return quantity

        return core_schema.no_info_plain_validator_function(
            check, serialization=core_schema.plain_serializer_function_ser_schema(str)
        )

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        """The file schema: text, with what it measures, its units and its limits."""
        return {
            "type": "string",
            "maxLength": MAX_TEXT,
            "x-measures": self.dimension.value,
            "x-units": list(units_of(self.dimension)),
            "x-lowest": self.low,
            "x-highest": self.high,
            "examples": [self.low, self.high],
        }
