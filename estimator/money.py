"""Money at the edge: Decimal amounts, ISO 4217 minor units, half-up rounding, locale-aware text."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache
from typing import Final

from babel.core import Locale
from babel.numbers import NumberPattern, list_currencies, parse_pattern

from estimator.locales import known_locale, without_direction

__all__ = [
    "CurrencyError",
    "check_currency",
    "minor_units",
    "money_text",
    "price_at_margin",
    "price_at_markup",
    "round_money",
    "total",
]

# ISO 4217 list one (active codes), written down from memory as of January 2026: the lev (BGN) gave way to the euro
# then, ANG to XCG and ZWL to ZWG before. Codes without a minor unit (metals, drawing rights, tests) are left out, as
# an amount in one could not be rounded.
_LIST_ONE: Final = (
    "AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BHD BIF BMD BND BOB BOV BRL BSD BTN BWP BYN BZD CAD CDF CHE "
    "CHF CHW CLF CLP CNY COP COU CRC CUP CVE CZK DJF DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GNF "
    "GTQ GYD HKD HNL HTG HUF IDR ILS INR IQD IRR ISK JMD JOD JPY KES KGS KHR KMF KPW KRW KWD KYD KZT LAK LBP LKR "
    "LRD LSL LYD MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MXV MYR MZN NAD NGN NIO NOK NPR NZD OMR PAB PEN "
    "PGK PHP PKR PLN PYG QAR RON RSD RUB RWF SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS "
    "TMT TND TOP TRY TTD TWD TZS UAH UGX USD USN UYI UYU UYW UZS VED VES VND VUV WST XAF XCD XCG XOF XPF YER ZAR "
    "ZMW ZWG"
)
_ACTIVE: Final = frozenset(_LIST_ONE.split())
# ISO 4217 list one, minor units other than two. Tables made for display round some currencies further
# (by custom, not by the standard), so the standard's own figures stand here.
_NO_MINOR: Final = (
    *("JPY", "KRW", "VND", "CLP", "ISK", "UGX", "XAF", "XOF", "XPF"),
    *("PYG", "RWF", "KMF", "DJF", "GNF", "VUV", "BIF", "UYI"),
)
_MINOR_UNITS: Final[dict[str, int]] = {
    **dict.fromkeys(_NO_MINOR, 0),
    **dict.fromkeys(["BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"], 3),
    **dict.fromkeys(["CLF", "UYW"], 4),
}


class CurrencyError(ValueError):
    """Not an active currency code of ISO 4217."""


def check_currency(code: str) -> str:
    """The code itself if it stands in ISO 4217's list of active codes and has amounts that can be rounded.

    Raises:
        CurrencyError: with what would be right.
    """
    if code not in _ACTIVE:
        if code in list_currencies():
            raise CurrencyError(
                f"“{code}” is no currency to quote in: it was withdrawn from ISO 4217, or is none of a country; write "
                "the code of a currency in use, such as USD or EUR."
            )
        raise CurrencyError(
            f"“{code[:12]}” is not an ISO 4217 currency code; write three letters, such as USD or EUR."
        )
    return code


def minor_units(currency: str) -> int:
    """Decimal places of a currency (ISO 4217).

    >>> minor_units("USD"), minor_units("JPY"), minor_units("KWD"), minor_units("HUF")
    (2, 0, 3, 2)
    """
    return _MINOR_UNITS.get(currency, 2)


def round_money(amount: Decimal, currency: str) -> Decimal:
    """Round half up (away from zero at the half) to the currency's minor unit.

    >>> round_money(Decimal("1234.565"), "USD")
    Decimal('1234.57')
    """
    return amount.quantize(Decimal(1).scaleb(-minor_units(currency)), rounding=ROUND_HALF_UP)


def total(amounts: Iterable[Decimal]) -> Decimal:
    """Exact sum."""
    return sum(amounts, Decimal(0))


def price_at_markup(cost: Decimal, percent: Decimal) -> Decimal:
    """Price = cost (1 + markup/100).

    >>> price_at_markup(Decimal(600), Decimal(40))
    Decimal('840.0')
    """
    return cost * (1 + percent / 100)


def price_at_margin(cost: Decimal, percent: Decimal) -> Decimal:
    """Price = cost / (1 - margin/100); the margin is a share of the price.

    Raises:
        ValueError: a margin of 100 % or more has no price.

    >>> round_money(price_at_margin(Decimal(600), Decimal(40)), "USD")
    Decimal('1000.00')
    """
    if percent >= 100:
        raise ValueError("a margin must be below 100 % of the price")
    return cost / (1 - percent / 100)


@lru_cache(maxsize=256)
def _pattern(locale: str, places: int) -> tuple[NumberPattern, Locale]:
    """Read once: a view writes hundreds of amounts alike, and reading takes longer than writing one."""
    decimals = "0" + ("." + "0" * places if places else "")
    of = Locale.parse(locale)
    # Where the sign of the currency stands is the locale's; how many decimals is the currency's.
    return parse_pattern(of.currency_formats["standard"].pattern.replace("0.00", decimals)), of


def money_text(amount: Decimal, currency: str, locale: str = "en_US", places: int | None = None) -> str:
    """Amount as a locale writes it, with the ISO 4217 number of decimals where no other is asked for.

    >>> money_text(Decimal("1234.5"), "USD"), money_text(Decimal("0.0335"), "USD", places=4)
    ('$1,234.50', '$0.0335')
    >>> money_text(Decimal("23940"), "EUR", "de_DE")
    '23.940,00\xa0€'
    """
    if places is None:
        rounded, places = round_money(amount, currency), minor_units(currency)
    else:
        rounded = amount.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
    return _written(rounded, places, currency, known_locale(locale))


@lru_cache(maxsize=8192)
def _written(rounded: Decimal, places: int, currency: str, locale: str) -> str:
    """Kept: each edit shows most amounts again."""
    pattern, of = _pattern(locale, places)
    return without_direction(str(pattern.apply(rounded, of, currency=currency, currency_digits=False)))
