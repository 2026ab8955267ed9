"""Money against ISO 4217 and worked figures."""

from __future__ import annotations

from decimal import Decimal

import pytest
from babel.numbers import list_currencies
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from estimator.model.terms import Terms
from estimator.money import (
    _ACTIVE,
    _MINOR_UNITS,
    CurrencyError,
    check_currency,
    minor_units,
    money_text,
    price_at_margin,
    price_at_markup,
    round_money,
    total,
)

D = Decimal

# ISO 4217 list one, minor units; as restated in a browser's generated table of February 2025 that names the standard
# (confirmed there). A display table would give HUF, IDR and others 0: custom, not the standard.
_ISO = {
    0: "JPY KRW VND CLP ISK UGX XAF XOF XPF PYG RWF KMF DJF GNF VUV BIF UYI",
    3: "BHD IQD JOD KWD LYD OMR TND",
    4: "CLF UYW",
    2: "USD EUR GBP CHF CAD AUD NZD SEK NOK DKK PLN CZK HUF RON BGN TRY MXN BRL ZAR INR IDR CNY HKD SGD TWD ILS",
}


@pytest.mark.parametrize(("places", "codes"), _ISO.items())
def test_minor_units(places: int, codes: str) -> None:
    assert {code: minor_units(code) for code in codes.split()} == dict.fromkeys(codes.split(), places)


@pytest.mark.parametrize(
    ("amount", "currency", "rounded"),
    [
        # Half up, by its definition; half even would give 1234.56 and 2 (computed with Python's decimal).
        ("1234.565", "USD", "1234.57"),
        ("2.5", "JPY", "3"),
        ("-2.5", "JPY", "-3"),
        ("0.0005", "KWD", "0.001"),
        ("0.00004", "CLF", "0.0000"),
        ("9.995", "EUR", "10.00"),
    ],
)
def test_rounding_half_up(amount: str, currency: str, rounded: str) -> None:
    result = round_money(D(amount), currency)
    assert result == D(rounded)
    assert result.as_tuple().exponent == -minor_units(currency)


def test_margin_and_markup_are_not_the_same() -> None:
    # By definition: 600 / (1 - 0.40) = 1000; 600 x 1.40 = 840.
    assert round_money(price_at_margin(D(600), D(40)), "USD") == D("1000.00")
    assert round_money(price_at_markup(D(600), D(40)), "USD") == D("840.00")


@pytest.mark.parametrize("percent", ["100", "100.01", "1000"])
def test_a_margin_of_all_the_price_has_no_price(percent: str) -> None:
    with pytest.raises(ValueError, match="below 100"):
        price_at_margin(D(1), D(percent))


_COSTS = st.decimals(min_value=0, max_value=10_000_000, places=2)
_MARGINS = st.decimals(min_value=0, max_value=99, places=2)


@given(_COSTS, _MARGINS)
def test_a_margin_and_its_markup_give_one_price(cost: Decimal, margin: Decimal) -> None:
    by_margin = price_at_margin(cost, margin)
    # The markup of a margin m is m / (1 - m), by hand.
    by_markup = price_at_markup(cost, margin / (1 - margin / 100))
    assert abs(by_margin - by_markup) <= D("1e-12") * (1 + by_margin)
    # The margin is that share of the price.
    assert abs((by_margin - cost) - by_margin * margin / 100) <= D("1e-12") * (1 + by_margin)


@given(st.lists(_COSTS, max_size=40))
def test_a_total_is_the_exact_sum(amounts: list[Decimal]) -> None:
    assert total(amounts) == D(sum(int(a * 100) for a in amounts)) / 100


def test_money_as_text() -> None:
    assert money_text(D("1234.5"), "USD") == "$1,234.50"
    assert money_text(D("1234.5"), "JPY") == "¥1,235"
    assert money_text(D("1234.5"), "KWD").endswith("1,234.500")
    assert money_text(D("1234.5"), "HUF", "en_US").endswith("1,234.50")
    assert money_text(D("1234.5"), "EUR", "de_DE").replace("\N{NO-BREAK SPACE}", " ").count("1.234,50") == 1


def test_an_unknown_locale_still_gives_the_figure() -> None:
    assert money_text(D("1234.5"), "USD", "xx_YY") == "$1,234.50"


@pytest.mark.parametrize("code", ["", "usd", "DOLLAR", "ZZZ", "<b>", "U" * 500])
def test_what_is_no_currency_is_told(code: str) -> None:
    with pytest.raises(CurrencyError, match="ISO 4217") as caught:
        check_currency(code)
    assert len(str(caught.value)) < 120
    assert check_currency("USD") == "USD"


@pytest.mark.parametrize("code", ["DEM", "FRF", "HRK", "BGN", "ZWL", "SLL", "XAU", "XDR", "XTS", "XXX"])
def test_currencies_that_nobody_pays_with_any_more_are_refused(code: str) -> None:
    """Withdrawn from ISO 4217's list one, or without a minor unit there (list one, from memory)."""
    with pytest.raises(CurrencyError, match="in use, such as USD or EUR") as caught:
        check_currency(code)
    assert code in str(caught.value)


def test_every_active_code_can_be_written() -> None:
    """Each is known to CLDR, which writes it."""
    known = list_currencies()
    assert len(_ACTIVE) == 164
    for code in sorted(_ACTIVE):
        assert check_currency(code) == code
        assert code in known
    assert set(_MINOR_UNITS) <= _ACTIVE


def test_a_file_in_a_withdrawn_currency_says_so() -> None:
    with pytest.raises(ValidationError, match="“HRK” is no currency to quote in"):
        Terms(currency="HRK")


@pytest.mark.parametrize(
    ("locale", "currency", "text"),
    [
        ("de_DE", "EUR", "23.940,00\xa0€"),
        ("en_US", "USD", "$23,940.00"),
        ("en_GB", "GBP", "£23,940.00"),
        ("fr_FR", "EUR", "23\u202f940,00\xa0€"),
        ("de_DE", "JPY", "23.940\xa0¥"),
        ("nb_NO", "KWD", "23\xa0940,000\xa0KWD"),
    ],
)
def test_the_currency_stands_where_the_locale_puts_it(locale: str, currency: str, text: str) -> None:
    """Patterns of CLDR (published) with the decimals of ISO 4217; in German the sign stood before the amount."""
    assert money_text(D("23940"), currency, locale) == text
