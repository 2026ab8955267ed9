"""Where a rule comes from, as it is told in the country of the job."""

from __future__ import annotations

import re
from typing import Final

from estimator.model.countries import Country

__all__ = ["country_line", "source_in"]

_UNITED_STATES: Final = re.compile(r"\b(?:CFR|OSHA|ANSI|ASSE|UPC|IPC|EPA-|ASME|Washington State|U\.S\.C\.)")


def source_in(source: str, country: Country | None) -> str:
    """A source; one of the United States says that it is a reference only where the job is in another country.

    >>> source_in("29 CFR 1910.151(c)", Country.DE)
    '29 CFR 1910.151(c) (United States, reference only)'
    >>> source_in("29 CFR 1910.151(c)", Country.US), source_in("common practice, no source", Country.DE)
    ('29 CFR 1910.151(c)', 'common practice, no source')
    """
    if country in (None, Country.US) or _UNITED_STATES.search(source) is None:
        return source
    return f"{source} (United States, reference only)"


def country_line(country: Country | None) -> str:
    """What a paper says once of the country and the rules that it names, "" where they are its own.

    >>> country_line(Country.US)
    ''
    """
    if country is None:
        return (
            "The country of the job is not stated. The rules named here are mostly those of the United States; "
            "elsewhere they are references only, and the law of the place decides."
        )
    if country is Country.US:
        return ""
    return (
        f"The job is in {country.label}. Rules of the United States that are named here are references only: the law "
        "of the place, the local authority and the licensed trades decide."
    )
