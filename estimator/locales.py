"""Numbers as a person of a locale writes them."""

from __future__ import annotations

from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache

from babel.core import Locale, UnknownLocaleError
from babel.numbers import format_decimal, get_decimal_symbol

__all__ = ["day_text", "decimal_mark", "fixed_text", "known_locale", "number_text"]


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
