"""Numbers as a person of a locale writes them."""

from __future__ import annotations

import re
from datetime import date, datetime
from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache

from babel.core import Locale, UnknownLocaleError
from babel.numbers import format_decimal, get_decimal_symbol

__all__ = [
    "day_read",
    "day_short",
    "day_text",
    "decimal_mark",
    "fixed_text",
    "known_locale",
    "moment_text",
    "number_text",
]


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

    pattern = str(get_date_format("short", locale=known_locale(locale)).pattern)
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


def number_text(value: Decimal | float, places: int, locale: str = "en_US") -> str:
    """A number with at most so many decimals, rounded half up.

    >>> number_text(Decimal("1234.50"), 1, "de_DE")
    '1.234,5'
    """
    exact = value if isinstance(value, Decimal) else Decimal(repr(float(value)))
    # A nought added takes the sign off a negative nought.
    rounded = exact.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP) + 0
    pattern = "#,##0" + ("." + "#" * places if places else "")
    return str(format_decimal(rounded, format=pattern, locale=known_locale(locale)))


def fixed_text(value: Decimal | float, places: int, locale: str = "en_US") -> str:
    """A number with all of so many decimals, rounded half up.

    >>> fixed_text(2.0, 2, "de_DE"), fixed_text(-0.001, 2)
    ('2,00', '0.00')
    """
    exact = value if isinstance(value, Decimal) else Decimal(repr(float(value)))
    rounded = exact.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP) + 0
    pattern = "#,##0" + ("." + "0" * places if places else "")
    return str(format_decimal(rounded, format=pattern, locale=known_locale(locale)))
