"""Every view, page and dialog writes numbers, days and units as the job's settings say, and no other way.

The examples are invented demo data. A quantity that a person typed keeps its unit where it is edited and where two that
were typed are compared; its decimals follow the number format there too.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path
from typing import Annotated

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from pydantic import BaseModel, TypeAdapter
from PySide6.QtCore import QLocale
from PySide6.QtWidgets import QCalendarWidget, QLabel, QWidget
from pytestqt.qtbot import QtBot

from estimator.acts.typed import value_from
from estimator.desk.doing.exchange_dialog import BulkDialog
from estimator.model.job import Job
from estimator.model.spec import fields_of
from estimator.shown.field_words import limits_words
from estimator.shown.figures import Figures
from estimator.store.pricebooks import shipped_price_book
from estimator.units import Measure, Quantity, UnitSystem
from tests.conftest import settle
from tests.days import STUDIED
from tests.desk.conftest import make_window
from tests.desk.hands import Hands
from tests.desk.looking import Told, told_everywhere, told_in
from tests.desk.test_propose import propose
from tests.layout.examples import gannet_quay, harrow_mill, tern_bank
from tests.random_jobs import jobs
from tests.written import Written, lived_with, names_in, printable, set_to

_AS_TYPED = re.compile(r"^(_Table |input |LineEdit \w*, completer|\w+ fieldHint)")
"""Where what was typed stands in its own unit, and the other system's beside it."""


def wrong_of(told: Iterable[Told], job: Job, *more: Job) -> list[str]:
    """What is not written as the job's settings say."""
    written = Written(job.terms.locale, job.units, names_in(job, *more, shipped_price_book()))
    return sorted(
        f"{whose}: {wrong} in {text[:300]!r}"
        for whose, text in told
        for wrong in written.wrong(text, typed=_AS_TYPED.match(whose) is not None)
    )


FORMATS = [
    (gannet_quay, "de_DE", UnitSystem.US),
    (gannet_quay, "en_IN", UnitSystem.METRIC),
    (harrow_mill, "fr_FR", UnitSystem.US),
    (harrow_mill, "en_US", UnitSystem.METRIC),
    (tern_bank, "de_DE", UnitSystem.US),
    (harrow_mill, "ar_EG", UnitSystem.METRIC),  # a language of other digits; figures are 0 to 9 in each
]


@pytest.mark.parametrize(("example", "locale", "units"), FORMATS)
def test_the_whole_desk_is_written_as_the_job_says(
    desk: Hands, example: object, locale: str, units: UnitSystem
) -> None:
    assert callable(example)
    desk.window.session.today = lambda: STUDIED
    job = lived_with(set_to(example(), locale, units))
    desk.window.session.open(job, None)
    told = told_everywhere(desk)
    assert wrong_of(told, job) == []
    assert len(told) > 1500
    assert any(re.search(r"\d,\d" if locale in ("de_DE", "fr_FR") else r"\d\.\d", text) for _, text in told)


@pytest.mark.parametrize(("example", "locale", "units"), FORMATS[:3])
def test_the_dialogs_are_written_as_the_job_says(
    desk: Hands, example: object, locale: str, units: UnitSystem
) -> None:
    assert callable(example)
    window = desk.window
    window.session.today = lambda: STUDIED
    job = set_to(example(), locale, units)
    window.session.open(job, None)
    dialog = propose(desk)
    told = set(told_in(dialog))
    dialog.reject()
    window.exchange.change_group()
    bulk = window.exchange.dialog
    assert isinstance(bulk, BulkDialog)
    bulk.percent.setText("3")
    told |= set(told_in(bulk))
    bulk.reject()
    assert wrong_of(told, job) == []


# Unshrunk: a whole job takes minutes to make smaller.
@settings(
    max_examples=2,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
    phases=(Phase.explicit, Phase.reuse, Phase.generate),
)
@given(drawn=jobs(), locale=st.sampled_from(["de_DE", "en_IN", "fr_FR"]), units=st.sampled_from(UnitSystem))
def test_the_desk_of_a_random_job_is_written_as_the_job_says(
    home: Path, qtbot: QtBot, drawn: Job, locale: str, units: UnitSystem
) -> None:
    window, said = make_window()
    window.session.today = lambda: STUDIED
    window.show()
    job = set_to(printable(drawn), locale, units)
    window.session.open(job, None)
    told = told_everywhere(Hands(window, said, qtbot))
    window.close()
    window.deleteLater()
    settle()
    assert wrong_of(told, job) == []
    # What has no end or is no number is said in words.
    assert [text for _, text in told if re.search(r"∞|\b(?:inf|nan)\b", text)] == []


def test_a_calendar_speaks_the_language_of_the_days(desk: Hands) -> None:
    """It said March beside “31. März 2027”."""
    desk.window.session.open(set_to(Job(), "de_DE", UnitSystem.METRIC), None)
    calendar = desk.window.go_to_page("quote").findChildren(QCalendarWidget)[0]
    assert calendar.locale().language() is QLocale.Language.German


def test_the_walk_notices_what_is_written_otherwise(desk: Hands) -> None:
    window = QWidget(desk.window)
    QLabel("2.5 bar of 36,3 psi", window)
    window.setToolTip("since 2027-03-31")
    job = set_to(Job(), "de_DE", UnitSystem.METRIC)
    wrong = " ".join(wrong_of(told_in(window), job))
    for part in ("number of another format: '2.5'", "unit of the other system: '3 psi'", "day of a file"):
        assert part in wrong
    window.deleteLater()


@pytest.mark.parametrize(
    ("units", "locale", "limits"),
    [
        (UnitSystem.METRIC, "en_US", "“900 bar” is outside 0 bar to 16 bar."),
        # 16 bar = 232.06 psi (1 psi = 6894.757 Pa, NIST SP 811), rounded to the inside.
        (UnitSystem.US, "de_DE", "“900 bar” is outside 0 psi to 232 psi."),
    ],
)
def test_a_value_that_is_refused_is_told_its_limits_as_the_job_says(
    desk: Hands, units: UnitSystem, locale: str, limits: str
) -> None:
    """The limits were told in bar with a point, whatever the job's units are; changed units change the sentence."""
    job = Job()
    desk.window.session.open(job, None)
    editor = desk.editor("site", "water", "pressure")
    desk.put(editor, "900 bar")
    number = desk.editor("site", "use", "vehicles_per_hour")
    desk.put(number, "5000")
    desk.window.session.act("Units", job=set_to(desk.job, locale, units))
    told = editor.error.text().replace("\xa0", " ")
    assert told == f"✕ Water, Water pressure: {limits}"
    assert number.error.text().endswith("This must be at most 200.")
    listed = [line.cells[0].replace("\xa0", " ") for line in desk.window.findings.table.lines]
    assert any(limits in cell for cell in listed)


@pytest.mark.parametrize("units", UnitSystem)
def test_the_limits_told_of_a_field_are_taken_as_they_are_read(units: UnitSystem) -> None:
    """Each end of each field is typed as it is told: 0.5 m is no 1.6 ft, and 203 °F, which is 95 °C, was refused."""
    figures = Figures("de_DE", "EUR", units)
    seen = 0
    for model in models_below(Job):
        for field in fields_of(model):
            if field.dimension is None:
                continue
            low, high = limits_words(field, figures).split(" to ")
            takes: TypeAdapter[Quantity] = TypeAdapter(
                Annotated[Quantity, Measure(field.dimension, field.low, field.high)]
            )
            for end in (low, high):
                typed = value_from(model, field, end.replace("\xa0", " ").replace(".", ""), "de_DE")
                assert takes.validate_python(typed).text == typed, (field.name, end)
                seen += 1
    assert seen > 60


def models_below(model: type[BaseModel]) -> set[type[BaseModel]]:
    """A model and those of its groups and lists."""
    below = [f.model for f in fields_of(model) if f.model is not None]
    return {model}.union(*(models_below(part) for part in below))
