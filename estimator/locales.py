"""Numbers as a person of a locale writes them."""

from __future__ import annotations

import re
from datetime import date, datetime
from decimal import ROUND_HALF_UP, Context, Decimal, localcontext
from functools import lru_cache

from babel.core import Locale, UnknownLocaleError
from babel.numbers import NumberPattern, get_decimal_symbol, get_infinity_symbol, parse_pattern

__all__ = [
    "day_read",
    "day_short",
    "day_text",
    "decimal_mark",
    "fixed_text",
    "known_locale",
    "moment_text",
    "number_text",
    "without_direction",
]

_DIRECTION = re.compile("[\u061c\u200e\u200f]")
_NO_NUMBER = "not known"
_WIDE = Context(prec=400)
"""Room for any float with its decimals: the usual 28 digits are too few for one of 1e300."""


@lru_cache(maxsize=64)
def known_locale(locale: str) -> str:
    """The locale itself, en_US in place of one that is not known.

    >>> known_locale("de_DE"), known_locale("xx_YY")
    ('de_DE', 'en_US')
    """
    try:
        Locale.parse(locale)
    except (UnknownLocaleError, ValueError):
        return "en_US"
    return locale


def without_direction(text: str) -> str:
    """A figure without the invisible marks of direction that some locales put into it; what shows a text would write
    them out.

    >>> without_direction("\u200e-5")
    '-5'
    """
    return _DIRECTION.sub("", text)


def decimal_mark(locale: str) -> str:
    """What parts the decimals.

    >>> decimal_mark("de_DE"), decimal_mark("en_US")
    (',', '.')
    """
    return str(get_decimal_symbol(known_locale(locale)))


def day_text(day: date, locale: str = "en_US") -> str:
    """A date in words and figures.

    >>> day_text(date(2027, 3, 31)), day_text(date(2027, 3, 31), "de_DE")
    ('March 31, 2027', '31. März 2027')
    """
    from babel.dates import format_date  # only what shows a date needs it

    return str(format_date(day, format="long", locale=known_locale(locale)))


def moment_text(moment: datetime, locale: str = "en_US") -> str:
    """A day and the time of day, in the zone of the moment.

    >>> moment_text(datetime(2027, 3, 31, 14, 5, 9), "de_DE")
    '31. März 2027, 14:05:09'
    """
    from babel.dates import format_time

    return f"{day_text(moment.date(), locale)}, {format_time(moment, format='HH:mm:ss', locale=known_locale(locale))}"


def _short_pattern(locale: str) -> str:
    from babel.dates import get_date_format

    pattern = without_direction(str(get_date_format("short", locale=known_locale(locale)).pattern))
    return re.sub("y+", "yyyy", re.sub("M+", "MM", re.sub("d+", "dd", pattern)))


def day_short(day: date, locale: str = "en_US") -> str:
    """A date in figures, the year in four.

    >>> day_short(date(2027, 3, 31)), day_short(date(2027, 3, 31), "de_DE")
    ('03/31/2027', '31.03.2027')
    """
    from babel.dates import format_date

    return str(format_date(day, format=_short_pattern(locale), locale=known_locale(locale)))


def day_read(text: str, locale: str = "en_US") -> date | None:
    """A typed date: as a file holds it, or in figures in the locale's order; None for anything else.

    A year of two figures is not guessed at.

    >>> day_read("2027-03-31", "de_DE"), day_read("31.3.2027", "de_DE")
    (datetime.date(2027, 3, 31), datetime.date(2027, 3, 31))
    >>> day_read("31.3.2027", "en_US") is None, day_read("31.3.27", "de_DE") is None
    (True, True)
    """
    try:
        return date.fromisoformat(text)
    except ValueError:
        pass
    figures = re.fullmatch(r"(\d{1,4})[./\- ]+(\d{1,2})[./\- ]+(\d{1,4})\.?", text.strip(), re.ASCII)
    order = list(dict.fromkeys(re.findall("[dMy]", _short_pattern(locale))))
    if figures is None or sorted(order) != ["M", "d", "y"]:
        return None
    part = dict(zip(order, figures.groups(), strict=True))
    if len(part["y"]) != 4 or max(len(part["M"]), len(part["d"])) > 2:
        return None
    try:
        return date(int(part["y"]), int(part["M"]), int(part["d"]))
    except ValueError:
        return None


@lru_cache(maxsize=256)
def _pattern(locale: str, decimals: str) -> tuple[NumberPattern, Locale]:
    """How a locale parts thousands: by three everywhere in "#,##0", by two above the first three in "#,##,##0".

    Read once: a view writes hundreds of numbers alike, and reading takes longer than writing one.
    """
    of = Locale.parse(locale)
    whole = str(of.decimal_formats[None].pattern).partition(";")[0].partition(".")[0]
    return parse_pattern(whole + ("." + decimals if decimals else "")), of


def _figure(value: Decimal | float, places: int, locale: str, decimal: str, rounding: str) -> str:
    known = known_locale(locale)
    exact = value if isinstance(value, Decimal) else Decimal(repr(float(value)))
    # What shows a figure that may have no end says so in words of its own; this is for where it does not.
    if exact.is_nan():
        return _NO_NUMBER
    if exact.is_infinite():
        return f"{'-' if exact < 0 else ''}{get_infinity_symbol(known)}"
    return _written(exact, places, known, decimal, rounding)


@lru_cache(maxsize=8192)
def _written(exact: Decimal, places: int, locale: str, decimal: str, rounding: str) -> str:
    """A number that has an end. Kept: each edit shows most figures again, and writing them takes longest."""
    pattern, of = _pattern(locale, decimal * places)
    with localcontext(_WIDE):
        # A nought added takes the sign off a negative nought.
        rounded = exact.quantize(Decimal(1).scaleb(-places), rounding=rounding) + 0
        return without_direction(str(pattern.apply(rounded, of)))


def number_text(
    value: Decimal | float, places: int, locale: str = "en_US", rounding: str = ROUND_HALF_UP
) -> str:
    """A number with at most so many decimals, its thousands parted as the locale parts them.

    Args:
        rounding: one of `decimal`'s ways; half up if left out.

    >>> number_text(Decimal("1234.50"), 1, "de_DE"), number_text(1234567, 0, "en_IN")
    ('1.234,5', '12,34,567')
    >>> number_text(float("inf"), 1), number_text(float("nan"), 1)
    ('∞', 'not known')
    """
    return _figure(value, places, locale, "#", rounding)


def fixed_text(value: Decimal | float, places: int, locale: str = "en_US") -> str:
    """A number with all of so many decimals, rounded half up.

    >>> fixed_text(2.0, 2, "de_DE"), fixed_text(-0.001, 2)
    ('2,00', '0.00')
    """
    return _figure(value, places, locale, "0", ROUND_HALF_UP)
