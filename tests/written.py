"""How numbers, days and units are written: what of a text is not as the settings of its job say.

Names that parts are sold by and a person's own words stand as they are, so a reader takes them out first.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import cache
from hashlib import sha256
from typing import Any, Final, TypeVar

from babel.core import Locale
from babel.dates import get_date_format, get_month_names
from babel.numbers import get_decimal_symbol, get_group_symbol
from pydantic import BaseModel

from estimator.acts.issue import issue
from estimator.acts.options import with_option
from estimator.locales import known_locale
from estimator.model.choices import AirReference
from estimator.model.edit import with_value
from estimator.model.issued import Issued, TextError, handed, job_then
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook
from estimator.model.signing import blocking
from estimator.model.spec import FieldKind, fields_of
from estimator.reference.catalogue import TABLES, catalogue
from estimator.shown.proposed import short_name
from estimator.store.pricebooks import shipped_price_book
from estimator.study import study
from estimator.units import UnitSystem
from tests.days import STUDIED

__all__ = ["Written", "lived_with", "names_in", "printable", "set_to", "wrong_in"]

M = TypeVar("M", bound=BaseModel)

_METRIC: Final = r"m|cm|mm|bar|mbar|kPa|MPa|Pa|L|mL|m3|L/min|mL/min|L/h|L/s|m3/h|m3/min|°C|m/s"
_US: Final = r"ft|in|yd|psi|gpm|gph|gal|qt|cfm|scfm|°F|ft/s|fl oz"
_UNITS: Final = frozenset(f"{_METRIC}|{_US}".split("|"))
_PLAIN_METRIC: Final = r"L/min|kPa|MPa|mbar|m/s|°C"
_PLAIN_US: Final = r"psi|gpm|gph|scfm|cfm|ft/s|°F"
"""Units that are no words of the language, so that they are told without a figure before them."""

_GAPS: Final = "\u00a0\u202f"
_MARKS: Final = ".,'\u2019\u066b\u066c" + _GAPS
_NUMBER: Final = re.compile(rf"(?<![\w.])\d+(?:[{_MARKS}]\d+)*", re.ASCII)
_ISO: Final = re.compile(r"(?<!\d)\d{4}-\d\d-\d\d(?!\d)")
_FIGURES: Final = re.compile(r"(?<![\w./-])\d{1,4}([./-])\d{1,2}\1\d{1,4}\.?(?!\d)")
_KEPT: Final = re.compile(
    r"\bCFR \d+\.\d+(?: and \d+\.\d+)?|\bUPC \d+ [\d.]+"  # numbers of rules
    r"|\bWith a unit: [^.]*\.|(?<=such as )2027-03-31|(?<= or )2027-03-31"  # what may be typed
    r"|\bless than 30 psi"  # words of a rule, beside the limit in the units of the job
    r"|\bWCAG [\d.]+|\bISO \d+(?:-\d+)?|\bversion \d+(?:\.\d+)+|\bBaydrop \d+(?:\.\d+)+"
    r"|&?Metric \(m, bar, L/min\)|&?US \(ft, psi, gpm\)"
)


@cache
def _well_written(locale: str) -> re.Pattern[str]:
    """What a number of a locale looks like: thousands parted as its own pattern does, or not at all."""
    mark, gap = (re.escape(s(locale)) for s in (get_decimal_symbol, get_group_symbol))
    first, *more = Locale.parse(locale).decimal_formats[None].grouping
    higher = more[0] if more else first
    grouped = rf"\d{{1,{higher}}}(?:{gap}\d{{{higher}}})*{gap}\d{{{first}}}"
    return re.compile(rf"(?:{grouped}|\d{{1,3}})(?:{mark}\d+)?|\d+")


@cache
def _months(language: str) -> frozenset[str]:
    return frozenset(
        name for width in ("wide", "abbreviated") for name in get_month_names(width, locale=language).values()
    )


@cache
def _strange_months(locale: str) -> re.Pattern[str]:
    """English months that the locale's language does not write so."""
    strange = _months("en") - _months(locale) - {"May", "March", "Mar", "Sept"}
    return re.compile(rf"\b(?:{'|'.join(sorted(strange, key=len, reverse=True))})\b" if strange else "(?!)")


@cache
def _strange_units(system: UnitSystem) -> re.Pattern[str]:
    """Units of the other system behind a figure, and those that are no words wherever they stand."""
    counted, plain = (_METRIC, _PLAIN_METRIC) if system is UnitSystem.US else (_US, _PLAIN_US)
    # "8 in the base option" speaks of a place, not of inches.
    return re.compile(rf"\d[\s{_GAPS}]?(?:{counted})(?![\w/])(?!\s+the\b)|(?<![\w/])(?:{plain})(?![\w/])")


@cache
def _short_day(locale: str) -> re.Pattern[str]:
    # Marks of direction, which are not seen, are left out of what is shown.
    pattern = re.sub("[\u061c\u200e\u200f]", "", str(get_date_format("short", locale=locale).pattern))
    order = re.sub(
        r"[dM]+|y+", lambda m: r"\d{4}" if m[0][0] == "y" else r"\d\d", pattern.replace(".", r"\.")
    )
    return re.compile(order)


_ISLAND = "Jan Mayen"
"""Of the list of countries; it is no month."""


class Written:
    """How a job's texts must be written.

    Args:
        locale: its number format.
        system: its units.
        names: texts that stand as they are.
    """

    def __init__(self, locale: str, system: UnitSystem, names: Iterable[str] = ()) -> None:
        self.locale = known_locale(locale)
        self.system = system
        self._plain = re.compile(rf"\d+{re.escape(get_decimal_symbol(self.locale))}\d+")
        told = {" ".join(name.split()) for name in names}
        worth = sorted(
            (n for n in told if re.search(r"[^\W\d]", n) and re.search(r"\d|[./]", n)), key=len, reverse=True
        )
        self._names = re.compile("|".join(rf"(?<!\w){re.escape(n)}(?!\w)" for n in worth) or "(?!)")

    def wrong(self, text: str, *, typed: bool = False) -> Iterator[str]:
        """What is not as it must be, with a reason each.

        Args:
            text: as it is read.
            typed: it is what a person typed: in a unit of its own, thousands not parted.
        """
        text = re.sub(r"[ \n\t]+", " ", text)
        text = self._names.sub("…", text)
        text = text.replace(_ISLAND, "…")
        text = _KEPT.sub("…", text)
        for found in _ISO.finditer(text):
            yield f"day of a file: {found[0]}"
        text = _ISO.sub("…", text)
        for found in _FIGURES.finditer(text):
            if not _short_day(self.locale).fullmatch(found[0]):
                yield f"day of another format: {found[0]}"
        text = _FIGURES.sub("…", text)
        if not self.locale.startswith("en"):
            for month in sorted({found[0] for found in _strange_months(self.locale).finditer(text)}):
                yield f"month of another language: {month}"
        for found in _NUMBER.finditer(text):
            if not (
                _well_written(self.locale).fullmatch(found[0]) or (typed and self._plain.fullmatch(found[0]))
            ):
                yield f"number of another format: {found[0]!r}"
        if not typed:
            yield from self._units(text)

    def _units(self, text: str) -> Iterator[str]:
        for found in _strange_units(self.system).finditer(text):
            yield f"unit of the other system: {found[0]!r}"


def wrong_in(texts: Iterable[tuple[str, str]], written: Written) -> list[str]:
    """What is wrong in texts, each with whose it is."""
    return [f"{whose}: {wrong} in {text!r}" for whose, text in texts for wrong in written.wrong(text)]


def set_to(job: Job, locale: str, units: UnitSystem) -> Job:
    """The job in a number format and a system of units."""
    return with_value(with_value(job, ("units",), units), ("terms", "locale"), locale)


_TOLD_APART: Final = frozenset({"code", "id", "key", "segment"})
"""What tells rows of a list apart."""
_WORDS: Final = (FieldKind.TEXT, FieldKind.LONG_TEXT)
"""What a person wrote; an id that points at another row stays as that row has it."""


def printable(part: M) -> M:
    """A part of a job in which texts that no paper can print are others, and nothing was issued."""
    changes: dict[str, Any] = {}
    for field in fields_of(type(part)):
        value = getattr(part, field.name)
        if field.name == "issued":
            changes[field.name] = ()
        elif isinstance(value, BaseModel):
            changes[field.name] = printable(value)
        elif isinstance(value, tuple):
            changes[field.name] = tuple(
                printable(row) if isinstance(row, BaseModel) else _plain(row) if type(row) is str else row
                for row in value
            )
        elif type(value) is str and field.name not in _TOLD_APART and field.kind in _WORDS:
            changes[field.name] = _plain(value)
    return part.model_copy(update=changes)


def _plain(text: str) -> str:
    """As it is where a paper can print it and it reads as no unit; else words that are alike only for texts that are
    alike: a bay called "m" stands beside its number on a plan."""
    if text.isascii() and (not text or text.isprintable()) and text.strip() not in _UNITS:
        return text
    letters = "".join(
        chr(ord("a") + byte % 26) for byte in sha256(text.encode("utf-8", "surrogatepass")).digest()
    )
    return f"Plain {letters[:8]}"


def lived_with(job: Job) -> Job:
    """The job with a revision that was issued where it may be, edits since, and an option; lengths are typed in both
    systems."""
    of = study(job, shipped_price_book(), STUDIED)
    made = job if blocking(job, of.findings) else issue(of, "First.", lambda _: b"%PDF")
    made = with_value(made, ("terms", "rule_percent"), made.terms.rule_percent + 1)
    made = with_value(made, ("site", "use", "vehicles_per_hour"), 7.5)
    made = with_value(made, ("design", "drops", 0, "hose_length"), "7.25 m")
    other = with_value(made.design, ("drops", 1, "hose_length"), "23.5 ft")
    return with_option(made, "Longer hose", other, offered=True)[0]


def names_in(*parts: BaseModel | PriceBook) -> set[str]:
    """A person's own words in a job and its price book, and the names that parts are sold by."""
    found = {name for table in TABLES for _, name in catalogue().choices(table)}
    found |= {key for table in TABLES for key, _ in catalogue().choices(table)}
    found |= {
        short_name(kind, name)
        for kind in ("tube", "pump", "tank")
        for _, name in catalogue().choices(f"{kind}s")
    }
    found |= {reference.label for reference in AirReference}
    for part in parts:
        found |= set(_texts(part))
    return found


def _texts(part: BaseModel) -> Iterator[str]:
    if isinstance(part, Issued):
        try:
            yield from _texts(job_then(part))
            for row in handed(part).rows:
                yield from (v for v in row.model_dump().values() if isinstance(v, str))
        except TextError:
            return
    for field in fields_of(type(part)):
        value: Any = getattr(part, field.name)
        if field.kind in (FieldKind.TEXT, FieldKind.LONG_TEXT):
            yield str(getattr(value, "value", value) or "")
        elif field.kind is FieldKind.TEXT_LIST:
            yield from value
        elif isinstance(value, BaseModel):
            yield from _texts(value)
        elif isinstance(value, tuple):
            for row in value:
                if isinstance(row, BaseModel):
                    yield from _texts(row)
