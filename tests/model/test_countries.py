"""Countries of ISO 3166-1."""

from __future__ import annotations

import pytest
from babel.core import Locale
from pydantic import ValidationError

from estimator.model.countries import Country
from estimator.model.site import Site


def test_each_has_a_name_and_none_is_left_out() -> None:
    """249 codes are officially assigned (ISO 3166-1, from memory); names by babel (Unicode CLDR)."""
    assert len(Country) == 249
    names = Locale.parse("en").territories
    assert all(country.label == names[country.value] != country.value for country in Country)
    # Every territory of a language that CLDR knows has its code here, but for Kosovo, which has none assigned.
    from babel.localedata import locale_identifiers

    spoken = {territory for name in locale_identifiers() if (territory := Locale.parse(name).territory)}
    assert {t for t in spoken if t.isalpha() and len(t) == 2} - {c.value for c in Country} <= {
        "XK",
        "IC",
        "EA",
        "DG",
    }


def test_another_code_is_refused() -> None:
    with pytest.raises(ValidationError):
        Site.model_validate_json('{"country": "XX"}')
