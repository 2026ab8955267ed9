"""The conditions of a free air figure, in the units and the number format of the job.

The conditions are those of ISO 8778, DIN 1343 and the two usual readings of scfm (hydraulics/air.py, second-hand);
conversions computed by hand: 1 bar = 14.5038 psi, 14.5 psi = 0.99974 bar, 20 °C = 68 °F, 60 °F = 15.6 °C.
"""

from __future__ import annotations

import pytest

from estimator.documents.quote import write_quote
from estimator.model.choices import AirReference
from estimator.model.edit import with_value
from estimator.shown.air_words import free_air_at
from estimator.shown.figures import Figures
from estimator.store.pricebooks import shipped_price_book
from estimator.study import study
from estimator.units import UnitSystem
from tests.days import STUDIED
from tests.documents.studies import text_of
from tests.layout.examples import gannet_quay

_GERMAN = Figures("de_DE", "EUR", UnitSystem.METRIC)
_US = Figures("en_US", "USD", UnitSystem.US)


@pytest.mark.parametrize(
    ("reference", "german", "us"),
    [
        (
            AirReference.ANR,
            "ANR, ISO 8778: 1 bar absolute, 20 °C, 65 % humidity",
            "ANR, ISO 8778: 14.5038 psi absolute, 68 °F, 65 % humidity",
        ),
        (
            AirReference.SCFM_68F,
            "Standard air, 68 °F: 0,99974 bar absolute, 20 °C, dry",
            "Standard air, 68 °F: 14.5 psi absolute, 68 °F, dry",
        ),
        (
            AirReference.SCFM_60F,
            "Standard air, 60 °F: 1,01325 bar absolute, 15,6 °C, dry",
            "Standard air, 60 °F: 14.696 psi absolute, 60 °F, dry",
        ),
        (
            AirReference.NORMAL,
            "Normal, DIN 1343: 1,01325 bar absolute, 0 °C, dry",
            "Normal, DIN 1343: 14.6959 psi absolute, 32 °F, dry",
        ),
    ],
)
def test_conditions_are_told_in_the_units_of_the_job(reference: AirReference, german: str, us: str) -> None:
    assert free_air_at(reference, _GERMAN).replace("\u00a0", " ") == german
    assert free_air_at(reference, _US).replace("\u00a0", " ") == us


def test_the_paper_says_them_so() -> None:
    """“14.5 psia” stood on a German paper in bar, twice."""
    job = with_value(gannet_quay(), ("terms", "locale"), "de_DE")
    job = with_value(job, ("site", "air", "reference"), AirReference.SCFM_68F)
    text = text_of(write_quote(study(job, shipped_price_book(), STUDIED)))
    assert text.count("0,99974 bar absolute, 20 °C, dry") == 2
    assert "14.5 psi" not in text
